#!/bin/sh
# Are formulas refused outside their range?  sh tests/refusal/run.sh PROGRAM
#
# NAME.trn is a specification without a mistake, one field to a line. A line of NAME.cases is a filled-in form of it and a field
# with a value out of range:  THING FIELD = VALUE. With that field put in, and the stated one left out, the program has to
# say that a range of the library is left (out-of-validity), and end with exit status 2. One check is one line.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2

for good in tests/refusal/*.trn; do
    tally_run verify "$good"
    if [ "$status" -lt 2 ]; then tally_pass; else
        tally_fail "$good" "exit status $status"
        head -n 20 "$scratch/err"
    fi
    while read -r thing field; do
        case "$thing" in '' | '#') continue ;; esac
        awk -v thing="$thing" -v field="$field" '
            BEGIN { name = field; sub(/ =.*/, "", name) }
            inside && $1 == name { next }
            inside && /^}/ { print "  " field; inside = 0; done = 1 }
            { print }
            $2 == thing && /\{/ { inside = 1 }
            END { exit !done }' "$good" >"$scratch/wrong.trn" || tally_fail "$thing $field" "there is no $thing in $good"
        tally_run verify "$scratch/wrong.trn"
        if [ "$status" -eq 2 ] && grep -q "out-of-validity" "$scratch/err"; then tally_pass; else
            tally_fail "$thing $field" "is not refused (exit status $status)"
            head -n 4 "$scratch/err"
        fi
    done <"${good%.trn}.cases"
done
tally_close
