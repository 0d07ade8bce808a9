#!/bin/sh
# Published standards, handbook tables and worked examples, worked again:  sh tests/published/run.sh PROGRAM
#
# Each document is a specification of its own. A `source` is a book, a clause is one printed value and ends in ": VALUE",
# and the requirement from that clause holds the computed value to it:  shall LOW <= … <= HIGH. The bounds lie evenly
# around the printed value and are no wider than half a unit of its last digit each way. Only a requirement that says
# because "…" may differ, where a source rounds on the way, or is wrong. All of that is checked here; then a table of
# source, given, published, ours and deviation is printed. One check is one value, and one the exit status of a document.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2

for document in tests/published/*.trn.md; do
    tally_run verify "$document"
    if [ "$status" -eq 0 ]; then tally_pass; else
        tally_fail "$document" "exit status $status"
        cat "$scratch/err"
        sed -n '/not met/,/^ *[a-z]*$/p; /open/p' "$scratch/out" | head -n 40
    fi
    tally_run verify "$document" --dump findings
    cp "$scratch/out" "$scratch/found"
    awk -v document="$document" -f tests/published/compare.awk "$scratch/found" "$document" >"$scratch/table"
    sed '$d' "$scratch/table"
    tally_add $(tail -n 1 "$scratch/table" | cut -f 1,2 | tr '\t' ' ')
    tail -n 1 "$scratch/table" | cut -f 3- >>"$scratch/sources"
done
awk -F '\t' '{ sources += $1; values += $2; examples += $3; widened += $4 }
    END { printf "\n%d published values in %d sources; %d whole worked examples; %d values with a reason for other bounds\n",
          values, sources, examples, widened }' "$scratch/sources"
tally_close
