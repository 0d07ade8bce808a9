#!/bin/sh
# Libraries become tables and come back:  sh tests/table/run.sh PROGRAM
#
# Of each library: `tabulate`, then a library that uses the tables as `tabulate` says. It holds the same things, node by node but
# for the order of fields; every value and verdict is the same; and its tables have the same bytes.
#   nasty.trn        what a table could lose; not one of its forms is in the standard library
#   wrong/NAME.csv   tables as they come, from a spreadsheet or torn, as springs of wrong/spring.trn; wrong/NAME.expected: what is
#                    said, and what was read all the same. With --write those are made anew: read their difference.
# Also: a table is read like a library that says the same, to the last digit; and what `tabulate` refuses.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
write=${2:-}
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

# Mistakes, and what is read all the same.
for table in tests/table/wrong/*.csv; do
    stem=${table%.csv} name=$(basename "$table" .csv)
    rm -rf "$scratch/wrong"
    mkdir "$scratch/wrong"
    cp tests/table/wrong/spring.trn "$table" "$scratch/wrong/"
    printf 'use "spring.trn"\nuse "%s.csv" as spring\n' "$name" >"$scratch/wrong/library.trn"
    cd "$scratch/wrong" || exit 2
    tally_run verify library.trn
    { echo "exit $status"; cat "$scratch/err"; } >"$scratch/answer"
    tally_run verify library.trn --dump tree
    sed '/^use/,$d' "$scratch/out" >>"$scratch/answer"
    cd "$top" || exit 2
    [ "$write" != --write ] || cp "$scratch/answer" "$stem.expected"
    tally_same "wrong/$name" "$stem.expected" "$scratch/answer"
done

# Numbers of a table are those of a library, to the last bit: differences of the two are 0.
awk 'BEGIN {
    srand(7)
    for (i = 0; i < 400; i++) {
        s = ""
        n = 1 + int(rand() * 17)
        for (k = 0; k < n; k++) s = s int(rand() * 10)
        if (rand() < 0.6) { s = s "."; n = 1 + int(rand() * 12); for (k = 0; k < n; k++) s = s int(rand() * 10) }
        if (rand() < 0.2) s = s "e" int(rand() * 40 - 20)
        if (rand() < 0.3) s = "-" s
        print s
    }
}' >"$scratch/numbers"
{
    echo 'form thing "A thing" { given size : length  given same : length  let off : length = size - same }'
    echo 'use "numbers.csv" as thing'
} >"$scratch/numbers.trn"
{ echo 'name,size [mm],same'; awk '{ printf "N-%d,%s,%s mm\n", NR, $0, $0 }' "$scratch/numbers"; } >"$scratch/numbers.csv"
tally_run verify "$scratch/numbers.trn" --dump values
if [ "$(grep -c '\.off = 0 mm$' "$scratch/out")" = 400 ]; then tally_pass
else
    tally_fail "numbers" "some are not the same"
    grep '\.off' "$scratch/out" | grep -v ' = 0 mm$' | head
fi

# Limits, and what use finds. say NAME TEXT: it is said of library.trn, within 10 s.
say() {
    tally_run verify library.trn
    if [ "$status" -eq 2 ] && grep -qF -- "$2" "$scratch/err"; then tally_pass; else
        tally_fail "$1" "is not said: $2"
        head -n 5 "$scratch/err"
    fi
}
rm -rf "$scratch/limits" && mkdir -p "$scratch/limits/parts" && cd "$scratch/limits" || exit 2
cp "$top/tests/table/wrong/spring.trn" .
echo 'use "spring.trn" use "parts/*.csv" as spring' >library.trn
awk 'BEGIN { printf "name"; for (i = 1; i < 2003; i++) printf ",c%d", i; print "" }' >parts/wide.csv
say "too many columns" "parts/wide.csv has too many columns (table-size)"
awk 'BEGIN { print "name,rate [N/mm]"; for (i = 1; i <= 150; i++) print "S-" i ",=" }' >parts/wide.csv
say "too many mistakes" "(too-many-errors)"
[ "$(grep -c '(table-cell)' "$scratch/err")" = 100 ] && tally_pass || tally_fail "too many mistakes" "are not 100"
printf 'name,rate [N/mm]\nS-1,1\n' >parts/wide.csv
printf 'name,rate [N/mm]\nS-2,2\n' >parts/also.csv
printf 'name,rate [N/mm]\nS-3,3\n' >parts/not.txt
tally_run verify library.trn --dump values
sed -n 's/\.rate = / /p' "$scratch/out" | tr '\n' ';' >"$scratch/found"
printf 'S-2 2 N/mm;S-1 1 N/mm;' >"$scratch/due"
tally_same "all tables of a folder, in the order of their names" "$scratch/due" "$scratch/found"
# A specification uses what it leads to; a library is checked with its tables.
printf '# S\n\n```trunnion\nuse "library.trn"\n```\n' >spec.trn.md
printf 'name,rate [N/mm],force [N]\nS-1,,1\n' >parts/wide.csv
say "a library and its table" "S-1 does not say its rate"
tally_run verify spec.trn.md
if [ "$status" -eq 0 ] && [ ! -s "$scratch/err" ]; then tally_pass; else tally_fail "a specification and a table" "gives $status"; fi
cd "$top" || exit 2

# What tabulate refuses: nothing is written.
refuse() { # NAME MESSAGE STATUS ARGUMENTS
    name=$1 message=$2 due=$3
    shift 3
    tally_run tabulate "$@"
    if [ "$status" -ne "$due" ] || ! grep -q "($message)" "$scratch/err" || [ -s "$scratch/out" ]; then
        tally_fail "$name" "gives $status"
        cat "$scratch/err" "$scratch/out" | head -n 10
    else tally_pass; fi
}
rm -rf "$scratch/out-of" && mkdir "$scratch/out-of"
printf 'form a "A" { given x : length  let y : length = x }\na one { x = 1 mm }\n' >"$scratch/good.trn"
printf 'use "good.trn"\na two { x = 1 mm  z = 2 mm }\n' >"$scratch/field.trn"
printf 'use "good.trn"\na two { x = 1 mm  y = 2 mm }\n' >"$scratch/derived.trn"
printf 'use "good.trn"\na two { x = 1 mm  x = 2 mm }\n' >"$scratch/twice.trn"
printf 'use "good.trn"\nb two { x = 1 mm }\n' >"$scratch/form.trn"
printf 'use "good.trn"\na two { x = = 1 mm }\n' >"$scratch/unread.trn"
refuse "an unknown field" unknown-field 2 "$scratch/field.trn" "$scratch/good.trn" --output "$scratch/out-of"
refuse "a derived field" derived-stated 2 "$scratch/derived.trn" --output "$scratch/out-of"
refuse "a field twice" field-twice 2 "$scratch/twice.trn" --output "$scratch/out-of"
refuse "an unknown form" unknown-form 2 "$scratch/form.trn" --output "$scratch/out-of"
refuse "an unread card" unexpected 2 "$scratch/unread.trn" --output "$scratch/out-of"
refuse "no folder" not-written 3 "$scratch/good.trn" --output "$scratch/nowhere"
[ -z "$(ls "$scratch/out-of")" ] && tally_pass || tally_fail "refused" "something was written all the same"
# Its own tables are not written over.
tally_run tabulate "$scratch/good.trn" --output "$scratch"
printf 'use "good.trn"\nuse "a.csv" as a\n' >"$scratch/own.trn"
sed '/^a one/d' "$scratch/good.trn" >"$scratch/some" && cp "$scratch/some" "$scratch/good.trn"
refuse "its own table" not-written 3 "$scratch/own.trn" --output "$scratch"

tally_close
