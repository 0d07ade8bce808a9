#!/bin/sh
# Heat, voltage and shared supplies, calculated a second way:  sh tests/heat/run.sh PROGRAM
#
# derive.py draws cases at random (always the same ones) and writes them as a specification: windings in housings in S1, S2
# and S3, times from cold to a limit, whole axes, and supplies shared by three axes. It finds the same figures by stepping
# the heat balance of the two bodies through time and by summing over fine slices of the cycle, without any formula of the
# library. Each figure is one check, and has to agree to 1e-6; that energy is conserved, to 1e-9.
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
python3 tests/heat/derive.py write "$scratch/random.trn" "$scratch/derived"
tally_run verify "$scratch/random.trn" --dump findings
cp "$scratch/out" "$scratch/found"
[ -s "$scratch/err" ] && head -n 20 "$scratch/err"
python3 tests/heat/derive.py compare "$scratch/found" "$scratch/derived" >"$scratch/table"
sed '$d' "$scratch/table"
tally_add $(tail -n 1 "$scratch/table")
tally_close
