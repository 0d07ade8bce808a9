#!/bin/sh
# What changes with the angle, calculated a second way:  sh tests/dynamics/run.sh PROGRAM
#
# derive.py draws 240 cranks, eccentrics, arms, linkages, cams and winders at random (always the same ones), writes them as a
# specification, and derives their torques with mpmath and 30 digits from where each mass is and from the change of
# energy, without any formula of the library. Each torque at each instant is one check, and has to agree to 1e-9.
# Left out, with a word, where python3-mpmath is not installed.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2

# figures worked out on paper: all have to be met, rules of the library as well
tally_run verify tests/dynamics/by-hand.trn.md --dump findings
met=$(grep -c ': met' "$scratch/out")
tally_add "$met" 0
if [ "$status" -ne 0 ] || [ "$met" -lt 40 ]; then
    tally_fail tests/dynamics/by-hand.trn.md "exit status $status"
    head -n 20 "$scratch/err"
    grep -v -e ': met' -e 'not applicable' "$scratch/out"
fi

if ! python3 -c 'import mpmath' 2>/dev/null; then
    echo "python3-mpmath is not installed; left out"
    tally_pass
    tally_close
    exit
fi
python3 tests/dynamics/derive.py write "$scratch/random.trn"
tally_run verify "$scratch/random.trn" --dump findings
cp "$scratch/out" "$scratch/found"
[ -s "$scratch/err" ] && head -n 20 "$scratch/err"
python3 tests/dynamics/derive.py compare "$scratch/found" >"$scratch/table"
sed '$d' "$scratch/table"
tally_add $(tail -n 1 "$scratch/table")
tally_close
