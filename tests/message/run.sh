#!/bin/sh
# Every message, as its reader meets it:  sh tests/message/run.sh PROGRAM [--write]
#
# tests/message/NAME/ is for the message called NAME:
#   wrong*.trn, wrong*.trn.md   a specification with the mistake; wrong*.expected holds what `verify` says
#   right*.trn, right*.trn.md   the same put right; right*.expected, where there is one, holds what is said of that
#   wrong*.command, right*.command   instead, where the mistake is on the command line: the arguments, in one line
# Other files there are for `use`. make.sh, where there is one, makes what is too large or too odd to keep, in a copy of the folder.
# The examples of the pages docs/messages/NAME.md are run as well: the first block gives the message as shown, the last is right.
# --write makes the expected files anew: read their difference before you commit it.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
write=${2:-}
folder=tests/message

# Runs one case in its folder; the answer in $scratch/answer: the exit status, then the messages, then the rest.
answer() {
    case "$1" in
    *.command) set -f; set -- $(cat "$1"); set +f; tally_run "$@" ;;
    *) tally_run verify "$1" ;;
    esac
    {
        echo "exit $status"
        cat "$scratch/err"
        if [ -s "$scratch/out" ]; then
            echo "on standard output:"
            cat "$scratch/out"
        fi
    } >"$scratch/answer"
}

for path in "$folder"/*/; do
    [ -d "$path" ] || continue
    name=$(basename "$path")
    cd "$path" || exit 2
    back=$OLDPWD home=$PWD
    if [ -f make.sh ]; then
        rm -rf "$scratch/made"
        cp -R . "$scratch/made" && cd "$scratch/made" && sh make.sh || exit 2
    fi
    wrongs=0 rights=0
    for case in wrong*.trn wrong*.trn.md wrong*.command; do
        [ -f "$case" ] || continue
        wrongs=$((wrongs + 1))
        stem=${case%.md} stem=${stem%.trn} stem=${stem%.command}
        answer "$case"
        if [ "$status" -gt 3 ]; then
            tally_fail "$name/$case" "exit status $status"
            tail -n 20 "$scratch/err"
        elif ! grep -qF "($name)" "$scratch/err"; then
            tally_fail "$name/$case" "does not give the message ($name)"
            head -n 10 "$scratch/answer"
        else
            [ "$write" != --write ] || cp "$scratch/answer" "$home/$stem.expected"
            tally_same "$name/$case" "$home/$stem.expected" "$scratch/answer"
        fi
    done
    for case in right*.trn right*.trn.md right*.command; do
        [ -f "$case" ] || continue
        rights=$((rights + 1))
        stem=${case%.md} stem=${stem%.trn} stem=${stem%.command}
        answer "$case"
        if [ "$status" -gt 1 ]; then
            tally_fail "$name/$case" "is put right, but gives exit status $status"
            head -n 10 "$scratch/answer"
        elif grep -qF "($name)" "$scratch/err"; then
            tally_fail "$name/$case" "still gives the message"
            head -n 10 "$scratch/answer"
        elif [ -f "$home/$stem.expected" ]; then
            [ "$write" != --write ] || cp "$scratch/answer" "$home/$stem.expected"
            tally_same "$name/$case" "$home/$stem.expected" "$scratch/answer"
        else
            tally_pass
        fi
    done
    for expected in wrong*.expected right*.expected; do
        [ -f "$expected" ] || continue
        stem=${expected%.expected}
        [ -f "$stem.trn" ] || [ -f "$stem.trn.md" ] || [ -f "$stem.command" ] ||
            tally_fail "$name/$expected" "belongs to no case"
    done
    [ "$wrongs" -gt 0 ] || tally_fail "$name" "has no wrong* case"
    [ "$rights" -gt 0 ] || tally_fail "$name" "has no right* case"
    cd "$back" || exit 2
done

# The pages. Their examples are run in a copy of the folder of the message; what needs files that are too odd for a page is
# compared with the cases of that folder instead.
pages="$PWD/$folder/page.awk"

# page_run NAME WHICH: the commands of the mistake or of the correction; all messages in $scratch/said, the status in $status.
page_run() {
    cd "$scratch/page/$2" || exit 2
    : >"$scratch/said"
    while IFS= read -r command; do
        case "$command" in
        'trunnion '*) ;;
        *) tally_fail "$1" "this is not a command of the program: $command"; continue ;;
        esac
        set -f
        # shellcheck disable=SC2086
        tally_run ${command#trunnion }
        set +f
        cat "$scratch/err" >>"$scratch/said"
    done <"$scratch/page/$2.commands"
    cd "$OLDPWD" || exit 2
}

for page in docs/messages/*.md; do
    name=$(basename "$page" .md)
    [ -f "$page" ] && [ "$name" != README ] && [ -d "$folder/$name" ] || continue
    rm -rf "$scratch/page"
    mkdir -p "$scratch/page/wrong" "$scratch/page/right"
    cp -R "$folder/$name/." "$scratch/page/wrong"
    cp -R "$folder/$name/." "$scratch/page/right"
    awk -v out="$scratch/page" -v name="$name" -f "$pages" "$page"
    if [ -s "$scratch/page/faults" ]; then
        while IFS= read -r fault; do tally_fail "$page" "$fault"; done <"$scratch/page/faults"
        continue
    fi
    if ! grep -qF "($name)" "$scratch/page/shown"; then
        tally_fail "$page" "does not show its message"
    elif [ -s "$scratch/page/wrong.commands" ]; then
        page_run "$page" wrong
        tally_same "$page" "$scratch/page/shown" "$scratch/said"
        page_run "$page" right
        if [ "$status" -gt 1 ] || grep -qF "($name)" "$scratch/said"; then
            tally_fail "$page" "its correction is not right"
            head -n 10 "$scratch/said"
        else
            tally_pass
        fi
    elif awk 'FILENAME != last { last = FILENAME; whole = whole "\n" }
            FNR == NR { shown = shown $0 "\n"; next }
            { whole = whole $0 "\n" }
            END { exit !index(whole, "\n" shown) }' "$scratch/page/shown" "$folder/$name/"wrong*.expected; then
        tally_pass
    else
        tally_fail "$page" "shows what none of $folder/$name/wrong*.expected says"
        cat "$scratch/page/shown"
    fi
done
tally_close
