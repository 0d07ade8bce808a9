#!/bin/sh
# The tree is what was written:  sh tests/syntax/run.sh PROGRAM [--write]
#
# For NAME.trn (or NAME.trn.md) the dump of its tree is NAME.tree, to the byte. --write makes the dumps anew: read their
# difference before you commit it.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
write=${2:-}
folder=tests/syntax

for case in "$folder"/*.trn "$folder"/*.trn.md; do
    [ -f "$case" ] || continue
    stem=${case%.md} stem=${stem%.trn}
    tally_run verify --dump tree "$case"
    [ "$status" -lt 124 ] && [ "$status" -ne 99 ] || { tally_fail "$case" "exit status $status"; tail -n 20 "$scratch/err"; continue; }
    [ "$write" != --write ] || cp "$scratch/out" "$stem.tree"
    tally_same "$case" "$stem.tree" "$scratch/out"
done
tally_close
