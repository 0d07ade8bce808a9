#!/bin/sh
# Libraries become tables and come back:  sh tests/table/run.sh PROGRAM
#
# Of each library: `tabulate`, then a library that uses the tables as `tabulate` says. It holds the same things, node by node but
# for the order of fields; every value and verdict is the same; and its tables have the same bytes.
#   nasty.trn        what a table could lose; not one of its forms is in the standard library
#   tables/          tables as they come: written by hand, by spreadsheets, and torn
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
top=$PWD

# things FILE OUT: what is in the named file, one line for each thing.
things() {
    tally_run verify "$1" --dump tree
    awk -f "$top/tests/table/norm.awk" "$scratch/out" | LC_ALL=C sort >"$2"
}

# round NAME FILE…: the files lie in the current folder.
round() {
    name=$1
    shift
    rm -rf "$scratch/one" "$scratch/two"
    mkdir "$scratch/one" "$scratch/two"
    tally_run tabulate "$@" --output "$scratch/one"
    if [ "$status" -ne 0 ]; then
        tally_fail "$name" "tabulate gives $status"
        head -n 10 "$scratch/err"
        return
    fi
    { cat "$scratch/extra"; sed -n 's/^    use /use /p' "$scratch/out"; } >"$scratch/one/back.trn"
    cp "$scratch/beside"/* "$scratch/one/" 2>/dev/null
    : >"$scratch/before"
    for file in "$@"; do
        things "$file" "$scratch/some"
        cat "$scratch/some" >>"$scratch/before"
    done
    LC_ALL=C sort -o "$scratch/before" "$scratch/before"
    [ -s "$scratch/before" ] || tally_fail "$name" "has no things"
    for what in values findings; do
        tally_run verify "$@" --dump $what
        LC_ALL=C sort "$scratch/out" >"$scratch/$what"
        cp "$scratch/err" "$scratch/$what.err"
    done
    cd "$scratch/one" || exit 2
    things back.trn "$scratch/after"
    tally_same "$name: things" "$scratch/before" "$scratch/after"
    for what in values findings; do
        tally_run verify back.trn --dump $what
        LC_ALL=C sort "$scratch/out" >"$scratch/found"
        tally_same "$name: $what" "$scratch/$what" "$scratch/found"
        # The same is said, of other places.
        sed -n 's/.*: \(error\|warning\|note\): .*(\([a-z-]*\))$/\2/p' "$scratch/$what.err" | LC_ALL=C sort >"$scratch/said"
        sed -n 's/.*: \(error\|warning\|note\): .*(\([a-z-]*\))$/\2/p' "$scratch/err" | LC_ALL=C sort >"$scratch/said-again"
        tally_same "$name: messages" "$scratch/said" "$scratch/said-again"
    done
    tally_run tabulate back.trn --output "$scratch/two"
    [ "$status" -eq 0 ] || tally_fail "$name" "tabulate of the tables gives $status"
    for table in *.csv; do
        [ -f "$scratch/beside/$table" ] || tally_same "$name: $table again" "$table" "$scratch/two/$table"
    done
    cd "$top" || exit 2
}

: >"$scratch/extra"
mkdir "$scratch/beside"
round parts examples/jar-handler/parts/*.trn

# Its forms stay behind, and so does the table that a cell names.
sed '/^lid Flat/,$d' tests/table/nasty.trn >"$scratch/beside/forms.trn"
cp tests/table/stiffness.csv "$scratch/beside/"
echo 'use "forms.trn"' >"$scratch/extra"
round nasty tests/table/nasty.trn

tally_close
