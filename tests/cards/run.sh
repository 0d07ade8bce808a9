#!/bin/sh
# Do the part cards of the jar handler agree with themselves?  sh tests/cards/run.sh PROGRAM
#
# Every file of the part library is verified alone, then all together: exit status 0, and each card is named in what is said.
# Then misprints: a figure of a card that follows from its others is made ten times as large, one at a time, and has to be
# found out: exit status 1 or 2, with a finding about that card. One check is one card, or one misprint.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2

parts=examples/jar-handler/parts
# What the rest of a card knows too.
fields="speed-constant voltage-constant motor-constant no-load-speed stall-current stall-torque speed-torque-slope
    mechanical-time-constant continuous-current continuous-torque continuous-force nominal-speed counts resolution ratio"

# well_said "which" FILE…: verifies; a check for each card.
well_said() {
    which=$1
    shift
    tally_run verify "$@"
    if [ "$status" -ne 0 ]; then
        tally_fail "$which" "exit status $status"
        grep -hE -A 3 'error|NOT MET|AT RISK|OPEN' "$scratch/out" "$scratch/err" | head -n 20
        return
    fi
    # A form, a name, a title, and the brace on one line: a card. One that nothing can be said about is not listed.
    sed -n 's/^\([a-z-]*\) \([A-Z][A-Za-z0-9-]*\) ".*{$/\2/p' "$@" >"$scratch/cards"
    [ -s "$scratch/cards" ] || tally_fail "$which" "there is no card in it"
    while IFS= read -r card; do
        if "$program" verify --dump values "$@" 2>/dev/null </dev/null | grep -q "^$card\."; then tally_pass; else
            tally_fail "$which" "$card has no values"
        fi
    done <"$scratch/cards"
}

for file in "$parts"/*.trn; do well_said "$file" "$file"; done
tally_run verify "$parts"/*.trn
if [ "$status" -eq 0 ]; then tally_pass; else tally_fail "all cards together" "exit status $status"; fi

mkdir "$scratch/parts"
for file in "$parts"/*.trn; do
    for field in $fields; do
        # Line and card of each such figure.
        awk -v field="$field" '/^[a-z]/ && / \{$/ { card = $2 }  $1 == field { print NR, card }' "$file" >"$scratch/lines"
        while read -r line card; do
            # A ratio without tooth counts has nothing that could contradict it.
            [ "$field" != ratio ] || awk -v card="$card" '$2 == card { on = 1 } on && $1 == "sun-teeth" { found = 1 }
                on && /^}/ { exit } END { exit !found }' "$file" || continue
            # Neither have the counts of an encoder that tells no lines.
            [ "$field" != counts ] || awk -v card="$card" '$2 == card { on = 1 } on && $1 == "lines" { found = 1 }
                on && /^}/ { exit } END { exit !found }' "$file" || continue
            sed "${line}s/\(= *[0-9.]*[0-9]\)/\1e1/" "$file" >"$scratch/parts/card.trn"
            tally_run verify "$scratch/parts/card.trn"
            if { [ "$status" -eq 1 ] || [ "$status" -eq 2 ]; } &&
                cat "$scratch/out" "$scratch/err" | grep -qE "(NOT MET|AT RISK).* $card\\.|error: $card\\."; then tally_pass; else
                tally_fail "$file:$line" "$field of $card made ten times as large is not found out (exit status $status)"
            fi
        done <"$scratch/lines"
    done
done
tally_close
