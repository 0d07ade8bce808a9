#!/bin/sh
# Are formulas refused outside their range?  sh tests/refusal/run.sh PROGRAM
#
# NAME.trn is a specification without a mistake, one field to a line. A line of NAME.cases is a filled-in form of it and a field
# with a value out of range:  THING FIELD = VALUE. With that field put in, and the stated one left out, the program has to
# say that a range of the library is left (out-of-validity), and end with exit status 2. A line of law.moves is one segment that
# cannot be; it has to be refused with one message, out-of-validity, contradiction or segment-time. One check is one line.
# At the end, each `needs` of the library has to have been said once: another check each.
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
        cat "$scratch/err" >>"$scratch/said"
        if [ "$status" -eq 2 ] && grep -q "out-of-validity" "$scratch/err"; then tally_pass; else
            tally_fail "$thing $field" "is not refused (exit status $status)"
            head -n 4 "$scratch/err"
        fi
    done <"${good%.trn}.cases"
done

while IFS= read -r segment; do
    printf 'cycle wrong progressive {\n  %s\n  move 1 m in 1 s\n}\n' "$segment" >"$scratch/wrong.trn"
    tally_run verify "$scratch/wrong.trn"
    law=${segment##* by }
    law=${law%%(*} # the form that is filled in here; a hold and a run have none
    sed "s|wrong\.segment-1|${law%% *}-law|" "$scratch/err" >>"$scratch/said"
    if [ "$status" -eq 2 ] && [ "$(grep -c 'error: ' "$scratch/err")" -eq 1 ] &&
        grep -qE '\((out-of-validity|contradiction|segment-time)\)$' "$scratch/err"; then tally_pass; else
        tally_fail "$segment" "is not refused with one message (exit status $status)"
        head -n 8 "$scratch/err"
    fi
done <tests/refusal/law.moves

# Which `needs` have been said? "error: THING.MEMBER is …, and needs …", or for truths "error: THING: what is valid (contradiction)".
awk '
    FILENAME ~ /stdlib/ {
        if ($1 == "form") { form = $2; base[form] = $3 == ":" ? $4 : ""; if (!(form "-law" in of)) of[form "-law"] = form }
        if ($1 ~ /^(given|maybe|let)$/) member = $2
        if ($1 == "needs") {
            last = form SUBSEP member
            due[last] = FILENAME ": " form "." member
            words[last] = $0
            sub(/^ *needs /, "", words[last])
        }
        if ($1 == "valid" && last != "") { text = $0; sub(/^[^"]*"/, "", text); sub(/"$/, "", text); valid[last] = text; last = "" }
        next
    }
    FILENAME ~ /\.trn$/ { if (/^[a-z].*\{/) of[$2] = $1; next }
    / error: / {
        sub(/^.* error: /, "")
        thing = $1
        sub(/[.:].*/, "", thing)
        said = $0
        if (!sub(/^.* and needs /, "", said)) sub(/^[^ ]* /, "", said)
        sub(/ \([a-z-]*\)$/, "", said)
        for (form = of[thing]; form != ""; form = base[form]) {
            for (key in due) if (index(key, form SUBSEP) == 1 && (words[key] == said || valid[key] == said)) delete due[key]
        }
    }
    END { for (key in due) print due[key] }' stdlib/*.trn tests/refusal/*.trn "$scratch/said" | LC_ALL=C sort >"$scratch/unsaid"
while IFS= read -r which; do tally_fail "$which" "no case leaves this range"; done <"$scratch/unsaid"
tally_add $(($(grep -c '^ *needs ' stdlib/*.trn | awk -F: '{ sum += $2 } END { print sum }') - $(wc -l <"$scratch/unsaid"))) 0
tally_close
