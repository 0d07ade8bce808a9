#!/bin/sh
# Motion and signals, worked out a second way:  sh tests/signals/run.sh PROGRAM
#
# derive.py draws moves, cycles and formulas at random (always the same ones), writes them as specifications and works them
# out with numpy. laws.py integrates the motion laws from their accelerations and meets by trial what a move states; engine.py
# follows formulas by their Taylor coefficients, sums by fine Gauss-Legendre slices and searches for crossings. Nothing is
# taken over from the library or the compiler. Every figure is one check, and has to agree to 1e-8. The coefficients of each law,
# with its root mean squares, are compared with their closed forms.
# Left out, with a word, where there is no python3 with numpy.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2

python=""
for candidate in /usr/bin/python3 python3; do # numpy is a package of Debian's own python3
    if [ -z "$python" ] && "$candidate" -c 'import numpy' 2>/dev/null; then python=$candidate; fi
done
if [ -z "$python" ]; then
    echo "python3 with numpy is not installed; left out"
    tally_pass
    tally_close
    exit
fi
for part in 0 1 2 3; do
    "$python" -B tests/signals/derive.py write "$scratch/random$part.trn" $part &
    [ $part = 1 ] && wait
done
wait
for part in 0 1 2 3; do
    tally_run verify "$scratch/random$part.trn" --dump findings
    cp "$scratch/out" "$scratch/found"
    [ -s "$scratch/err" ] && head -n 20 "$scratch/err"
    "$python" -B tests/signals/derive.py compare "$scratch/random$part.trn.expected" "$scratch/found" >"$scratch/table"
    sed '$d' "$scratch/table"
    tally_add $(tail -n 1 "$scratch/table")
done
tally_close
