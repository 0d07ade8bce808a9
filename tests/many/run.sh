#!/bin/sh
# Does what is drawn by the hundred come out right?  sh tests/many/run.sh PROGRAM
#
# The makers of tests/bench draw libraries and axes (always the same ones). A library without misprints is clean, card by card; of
# one with misprints, only the cards that have them are spoken of, and most of those whose wrong figure the card states a second
# time. Axes get the verdicts that formulas with plain numbers give, which share no line with the program.
# Left out, with a word, where there is no python3.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
export PYTHONDONTWRITEBYTECODE=1

if ! command -v python3 >/dev/null 2>&1; then
    echo "python3 is not installed; left out"
    tally_pass
    tally_close
    exit
fi

for seed in 1 2 3; do
    python3 tests/bench/make_library.py --seed $seed --motors 240 --gearheads 120 --drives 60 --feedback 30 --brakes 30 --output "$scratch/clean.trn"
    tally_run audit "$scratch/clean.trn"
    if [ "$status" -eq 0 ] && grep -q '^480 cards: 480 clean$' "$scratch/out"; then tally_pass; else
        tally_fail "clean library $seed" "exit $status; $(tail -n 1 "$scratch/out")"
    fi
done

python3 tests/bench/make_library.py --motors 1600 --gearheads 100 --drives 50 --misprints 0.2 --misprints-list "$scratch/list" --output "$scratch/spoilt.trn"
tally_run audit "$scratch/spoilt.trn"
sed -n 's/^.*spoilt\.trn:[0-9]* \([A-Za-z]*-[-0-9]*\), .*/\1/p' "$scratch/out" | sort -u >"$scratch/spoken"
cut -d ' ' -f 1 "$scratch/list" | sort -u >"$scratch/wrong"
innocent=$(comm -23 "$scratch/spoken" "$scratch/wrong" | tr '\n' ' ')
if [ -z "$innocent" ] && [ -s "$scratch/spoken" ]; then tally_pass; else tally_fail "spoilt library" "spoken of without a misprint: $innocent"; fi
# Figures that a card of a full data sheet states twice over.
grep -E '^(Pipit|Curlew)-[-0-9]* (resistance|torque-constant|speed-constant|stall-current|stall-torque|rotor-inertia|mechanical-time-constant) (ten|tenth) ' \
    "$scratch/list" | cut -d ' ' -f 1 | sort -u >"$scratch/certain"
missed=$(comm -13 "$scratch/spoken" "$scratch/certain" | tr '\n' ' ')
if [ -z "$missed" ] && [ "$(wc -l <"$scratch/certain")" -ge 5 ]; then tally_pass; else tally_fail "spoilt library" "not found: $missed"; fi

"${CC:-cc}" -std=c11 -D_POSIX_C_SOURCE=200809L -O1 -o "$scratch/yard" tests/bench/yard_axes.c -lm || exit 2
for seed in 1 2; do
    python3 tests/bench/make_axes.py 60 "$scratch/axes.trn" --table "$scratch/axes.csv" --seed $seed --motors 60 --misses 0.6
    "$scratch/yard" "$scratch/axes.csv" each |
        awk '{ for (i = 1; i <= 10; i++) print "A" NR "-" i ": " (substr($0, i, 1) == "1" ? "met" : "not met") }' | sort >"$scratch/expected"
    tally_run verify --nominal --dump findings "$scratch/axes.trn"
    sed -n 's/^\(A[0-9]*-[0-9]*: [a-z ]*[a-z]\).*/\1/p' "$scratch/out" | sort >"$scratch/found"
    tally_same "verdicts of axes, seed $seed" "$scratch/expected" "$scratch/found"
done
tally_close
