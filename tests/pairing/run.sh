#!/bin/sh
# Does each rule of an axis speak up?  sh tests/pairing/run.sh PROGRAM
#
# NAME.trn is a specification whose rules are all met, one field to a line. A line of NAME.cases changes or adds one field of one
# filled-in form, or leaves it out, and names the rules that must then not be met, or not be followed. Several changes are
# parted by " ; ":
#
#   THING FIELD = VALUE : AXIS.RULE, …        THING - FIELD : AXIS.RULE, …        THING FIELD = VALUE : refused
#
# Refused is what leaves a range that the library says (out-of-validity, exit status 2). Otherwise exactly these have to speak up. One check is one line.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2

# spoken FILE: the rules that are not met, at risk, open, or recommendations not followed, one a line.
spoken() {
    tally_run verify "$1"
    sed -n 's/^\(NOT MET\|AT RISK\|OPEN\|  advice\) .*[ ]\([A-Za-z][A-Za-z0-9-]*\.[a-z0-9-]*\)\( .*\)*$/\2/p' "$scratch/out" | LC_ALL=C sort
}

for good in tests/pairing/*.trn; do
    spoken "$good" >"$scratch/spoken"
    if [ "$status" -eq 0 ] && [ ! -s "$scratch/spoken" ]; then tally_pass; else
        tally_fail "$good" "should have nothing to say, and ends with exit status $status"
        head -n 20 "$scratch/err" "$scratch/spoken"
    fi
    while IFS= read -r line; do
        case "$line" in '' | '--'*) continue ;; esac
        change=${line% : *}
        printf '%s\n' "${line##* : }" | tr -d ' ' | tr ',' '\n' | LC_ALL=C sort >"$scratch/expected"
        cp "$good" "$scratch/changed.trn"
        printf '%s\n' "$change" | sed 's/ ; /\n/g' >"$scratch/changes"
        while IFS= read -r one; do
            mv "$scratch/changed.trn" "$scratch/before.trn"
            printf '%s\n' "$one" | awk -v before="$scratch/before.trn" '
                { thing = $1; name = $2; out = 0; if (name == "-") { name = $3; out = 1 } else { sub(/^[^ ]+ /, ""); field = $0 } }
                END {
                    while ((getline text < before) > 0) {
                        split(text, word, " ")
                        if (inside && word[1] == name) { done = 1; continue }
                        if (inside && text ~ /^}/) { if (!out) { print "  " field; done = 1 } inside = 0 }
                        print text
                        if (word[2] == thing && text ~ /\{$/) inside = 1
                    }
                    exit !done
                }' >"$scratch/changed.trn" || tally_fail "$one" "cannot be put into $good"
        done <"$scratch/changes"
        spoken "$scratch/changed.trn" >"$scratch/spoken"
        if [ "$(cat "$scratch/expected")" = refused ]; then
            if [ "$status" -eq 2 ] && grep -q out-of-validity "$scratch/err"; then tally_pass; else
                tally_fail "$change" "is not refused (exit status $status)"
            fi
            continue
        fi
        if [ "$status" -lt 2 ] && cmp -s "$scratch/expected" "$scratch/spoken"; then tally_pass; else
            tally_fail "$change" "exit status $status; expected: $(tr '\n' ' ' <"$scratch/expected"); spoken up: $(tr '\n' ' ' <"$scratch/spoken")"
            head -n 5 "$scratch/err"
        fi
    done <"${good%.trn}.cases"
done
tally_close
