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

# block PAGE N: the text of its Nth fenced block, whatever it is called; `text` blocks count apart, as N = text.
block() {
    awk -v wanted="$2" '
        /^```/ && !fence { fence = $0; sub(/[a-z].*/, "", fence); kind = substr($0, length(fence) + 1)
                           here = kind == "text" ? "text" : ++count; next }
        fence && $0 == fence { fence = ""; next }
        fence && here == wanted' "$1"
}

for page in docs/messages/*.md; do
    [ -f "$page" ] || continue
    name=$(basename "$page" .md)
    case "$(grep -m 1 '^```' "$page")" in
    '```trunnion') example=example.trn ;;
    '````markdown') example=example.trn.md ;;
    *) continue ;; # the mistake is not in one file, or not to be seen
    esac
    block "$page" 1 >"$scratch/$example"
    block "$page" text >"$scratch/shown"
    cd "$scratch" || exit 2
    tally_run verify "$example"
    cp err said
    cd "$OLDPWD" || exit 2
    if grep -qF "($name)" "$scratch/shown"; then
        tally_same "$page" "$scratch/shown" "$scratch/said"
    else
        tally_fail "$page" "does not show its message"
    fi
    block "$page" 2 >"$scratch/$example"
    cd "$scratch" || exit 2
    tally_run verify "$example"
    cd "$OLDPWD" || exit 2
    if [ "$status" -gt 1 ] || grep -qF "($name)" "$scratch/err" || [ ! -s "$scratch/$example" ]; then
        tally_fail "$page" "its second example is not right"
        head -n 10 "$scratch/err"
    else
        tally_pass
    fi
done
tally_close
