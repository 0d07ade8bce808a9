#!/bin/sh
# Is energy conserved?  sh tests/energy/run.sh PROGRAM
#
# derive.py draws chains from a supply to a load at random (always the same ones): loads of every kind, up to four stages,
# motors with and without brushes, stepping and linear ones, drives with their losses. Their cycles are closed. For each chain,
# what the supply gives is the work of the load, what becomes heat and what is fed back, to 1e-9 of it; no part makes
# energy at any instant; and the friction of the load is what force times way makes by hand.
# Left out, with a word, where there is no python3.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2

if ! command -v python3 >/dev/null 2>&1; then
    echo "python3 is not installed; left out"
    tally_pass
    tally_close
    exit
fi
for part in 0 1 2 3 4; do
    python3 tests/energy/derive.py write "$scratch/random.trn" $part
    tally_run verify "$scratch/random.trn" --dump findings
    cat "$scratch/out" >>"$scratch/found"
    [ -s "$scratch/err" ] && head -n 20 "$scratch/err"
done
python3 tests/energy/derive.py compare "$scratch/found" >"$scratch/table"
sed '$d' "$scratch/table"
tally_add $(tail -n 1 "$scratch/table")
tally_close
