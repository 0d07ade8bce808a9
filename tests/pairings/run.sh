#!/bin/sh
# Does each rule of a pair speak up, and does the table say what the rules say?  sh tests/pairings/run.sh PROGRAM [--write]
#
# parts.trn holds one card of each kind, all of which go together. A line of parts.cases changes, adds or leaves out fields (several
# changes parted by " ; "), and names the pairs that are then not plainly fine, each with its mark and the rules that are against it:
#
#   CARD FIELD = VALUE : ROW COLUMN MARK RULE …, …        CARD - FIELD : …        nothing behind the colon: all are still fine
#
# by-hand.trn holds more cards, with the verdict of every pair worked out in its head; own.trn holds pairings of its own. What is
# said of them, and of the parts of the jar handler, is kept beside; --write makes it anew: read the difference.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
write=${2:-}
folder=tests/pairings

# against FILE: ROW COLUMN MARK RULE … of every pair that is not plainly fine, one a line.
against() {
    tally_run pairings "$1" --format csv
    awk '
        # The fields of a line of CSV.
        function split_line(line, field,   count, i, c, inside, text) {
            for (i = 1; i <= length(line); i++) {
                c = substr(line, i, 1)
                if (c == "\"") inside = !inside
                else if (c == "," && !inside) { field[++count] = text; text = "" }
                else text = text c
            }
            field[++count] = text
            return count
        }
        NR == 1 { next }
        {
            if (split_line($0, field) != 7) print "not seven fields: " $0
            if (field[4] == "works") { if (field[5] != "") print "works, and yet: " $0; next }
            mark = field[4] == "works with a remark" ? "but" : field[4] == "does not work" ? "no" : "?"
            rules = ""
            count = split(field[5], reasons, / \| /)
            for (i = 1; i <= count; i++) { sub(/ .*/, "", reasons[i]); rules = rules " " reasons[i] }
            print field[2] " " field[3] " " mark rules
        }' "$scratch/out" | LC_ALL=C sort
}

against $folder/parts.trn >"$scratch/spoken"
if [ "$status" -eq 0 ] && [ ! -s "$scratch/spoken" ] && [ "$(wc -l <"$scratch/out")" -eq 8 ]; then tally_pass; else
    tally_fail "$folder/parts.trn" "should have seven pairs that work, and ends with exit status $status"
    head -n 20 "$scratch/err" "$scratch/spoken"
fi
: >"$scratch/seen"
while IFS= read -r line; do
    case "$line" in '' | '--'*) continue ;; esac
    change=${line%% :*}
    printf '%s\n' "${line#*:}" | tr ',' '\n' | sed 's/^ *//; /^$/d' | LC_ALL=C sort >"$scratch/expected"
    cut -d' ' -f1-2,4- "$scratch/expected" >>"$scratch/seen"
    cp $folder/parts.trn "$scratch/changed.trn"
    printf '%s\n' "$change" | sed 's/ ; /\n/g' >"$scratch/changes"
    while IFS= read -r one; do
        mv "$scratch/changed.trn" "$scratch/before.trn"
        printf '%s\n' "$one" | awk -v before="$scratch/before.trn" '
            { thing = $1; name = $2; out = 0; if (name == "-") { name = $3; out = 1 } else { sub(/^[^ ]+ /, ""); field = $0 } }
            END {
                while ((getline text < before) > 0) {
                    split(text, word, " ")
                    if (inside && word[1] == name) { done = 1; if (!out) print "  " field; continue }
                    if (inside && text ~ /^}/) { if (!out && !done) { print "  " field; done = 1 } inside = 0 }
                    print text
                    if (word[2] == thing && text ~ /\{$/) inside = 1
                }
                exit !done
            }' >"$scratch/changed.trn" || tally_fail "$one" "cannot be put into $folder/parts.trn"
    done <"$scratch/changes"
    against "$scratch/changed.trn" >"$scratch/spoken"
    if [ "$status" -eq 0 ] && [ ! -s "$scratch/err" ] && cmp -s "$scratch/expected" "$scratch/spoken"; then tally_pass; else
        tally_fail "$change" "exit status $status; expected: $(tr '\n' ',' <"$scratch/expected") spoken up: $(tr '\n' ',' <"$scratch/spoken")"
        head -n 5 "$scratch/err"
    fi
done <$folder/parts.cases

# Every rule of stdlib/pairings.trn is broken by some case.
grep -oE '^  rule [a-z-]+' stdlib/pairings.trn | sed 's/  rule //' | LC_ALL=C sort -u | while IFS= read -r rule; do
    grep -qE "(^| )$rule( |$)" "$scratch/seen" || echo "$rule"
done >"$scratch/unseen"
if [ -s "$scratch/unseen" ]; then tally_fail "stdlib/pairings.trn" "no case breaks $(tr '\n' ' ' <"$scratch/unseen")"; else tally_pass; fi

# The rules that an axis has too say the same there.
rule_text() { awk -v rule="  rule $2 " 'substr($0, 1, length(rule)) == rule { on = 1 } on { gsub(/ +/, " "); print } on && /^ *}/ { exit }' "$1"; }
for rule in pair-type pair-resolution pair-connector; do
    rule_text stdlib/driven-axis.trn "$rule" >"$scratch/axis"
    rule_text stdlib/pairings.trn "$rule" >"$scratch/pair"
    if [ -s "$scratch/axis" ]; then tally_same "$rule" "$scratch/axis" "$scratch/pair"; else tally_fail "$rule" "is no rule of an axis any more"; fi
done

# ---- tables

# look NAME ARGUMENT …: the whole answer is that of the kept file NAME.
look() {
    kept=$folder/$1
    shift
    tally_run pairings "$@"
    { cat "$scratch/out" "$scratch/err"; [ "$status" -eq 0 ] || echo "exit $status"; } >"$scratch/answer"
    [ "$write" != --write ] || cp "$scratch/answer" "$kept"
    tally_same "$kept" "$kept" "$scratch/answer"
    if LC_ALL=C.UTF-8 awk 'length($0) > 80 { exit 1 }' "$scratch/out"; then tally_pass; else
        case "$kept" in *.txt) tally_fail "$kept" "is wider than 80 columns" ;; esac
    fi
}
look by-hand.txt $folder/by-hand.trn --reasons all
look by-hand.csv $folder/by-hand.trn --format csv
look by-hand.html $folder/by-hand.trn --format html
look by-hand-one.txt $folder/by-hand.trn --reasons Teal-rms,Pipit-quiet
look by-hand-one.html $folder/by-hand.trn --reasons Teal-rms,Pipit-quiet --format html
look own.txt $folder/own.trn
look own-why.txt $folder/own.trn --form shed-with-rack --reasons all
look own-where.txt $folder/own.trn --form shed-with-rack --where "rack.load >= 40 kg" --where "shed.height >= rack.height + 10 cm"
look own-none.txt $folder/own.trn --where "rack.load > 1 t"
look own-over.txt $folder/own.trn --where "crate.width > 30 cm"
look demo.txt examples/jar-handler/parts/*.trn
look demo.csv examples/jar-handler/parts/*.trn --format csv

# A pair is judged as a filled-in pairing is: the same rules speak up when `verify` is asked.
{
    for file in examples/jar-handler/parts/*.trn; do sed '/^use /d' "$file"; done
    awk -F, 'NR > 1 { printf "%s pair-%d { %s = %s  %s = %s }\n", $1, NR, first[$1], $2, second[$1], $3 }
        BEGIN {
            split("motor-with-drive linear-motor-with-drive stepper-with-drive motor-with-feedback motor-with-gearhead feedback-with-drive linear-feedback-with-drive", forms, " ")
            for (i in forms) { first[forms[i]] = forms[i] ~ /^(linear-)?feedback/ ? "feedback" : "motor"; second[forms[i]] = forms[i]; sub(/.*-with-/, "", second[forms[i]]) }
        }' $folder/demo.csv
    for used in pairings brakes supplies; do echo "use \"$used.trn\""; done
} >"$scratch/filled.trn"
tally_run verify --nominal "$scratch/filled.trn"
sed -n 's/^\(NOT MET\|OPEN\|  advice\) .*[ ]pair-\([0-9]*\.[a-z-]*\)\( .*\)*$/\2/p' "$scratch/out" | LC_ALL=C sort >"$scratch/filled"
awk '
    { line = $0; sub(/^[^,]*,[^,]*,[^,]*,[^,]*,/, "", line); gsub(/^"/, "", line) }
    NR > 1 { count = split(line, reasons, / \| /); for (i = 1; i <= count; i++) if (reasons[i] ~ /^[a-z-]+ (fails|remark|unknown)/) { sub(/ .*/, "", reasons[i]); print NR "." reasons[i] } }' \
    $folder/demo.csv | LC_ALL=C sort >"$scratch/paired"
if [ "$(wc -l <"$scratch/paired")" -gt 500 ]; then tally_same "verify of filled-in pairings" "$scratch/paired" "$scratch/filled"; else
    tally_fail "verify of filled-in pairings" "only $(wc -l <"$scratch/paired") rules speak up"
fi

# Side by side as one by one: where no reasons are asked for, pairs are judged many at once, else each by itself.
table_of() { grep -E '^ +([^ ].*)?  (yes|but|no|\?|[0-9]+)$' "$scratch/out" | grep -v ' with '; }
both_ways() {
    tally_run pairings "$@"
    { echo "exit $status"; table_of; cat "$scratch/err"; } >"$scratch/many"
    tally_run pairings "$@" --reasons all
    { echo "exit $status"; table_of; cat "$scratch/err"; } >"$scratch/each"
    if [ "$(grep -cE '  (yes|but|no|\?)' "$scratch/each")" -lt 6 ]; then tally_fail "pairings $*" "has no table"; else
        tally_same "pairings $*, side by side" "$scratch/each" "$scratch/many"
    fi
}
both_ways examples/jar-handler/parts/*.trn
both_ways $folder/by-hand.trn
both_ways $folder/own.trn
# Cards with mistakes, by a formula, with tables, out of range: each is among cards that are fine.
{
    cat $folder/by-hand.trn
    sed -n '/^dc-motor/,/^}/p' $folder/by-hand.trn | sed 's/Teal-brushed/Teal-formula/; s/resistance = 1 Ω/resistance = 24 V \/ 24 A/'
    sed -n '/^dc-motor/,/^}/p' $folder/by-hand.trn | sed 's/Teal-brushed/Teal-below/; s/resistance = 1 Ω/resistance = -1 Ω/'
    sed -n '/^dc-motor/,/^}/p' $folder/by-hand.trn | sed 's/Teal-brushed/Teal-lacking/; /resistance = 1 Ω/d'
    sed -n '/^dc-motor/,/^}/p' $folder/by-hand.trn | sed 's/Teal-brushed/Teal-cold/; s/greatest-winding-temperature = 125/greatest-winding-temperature = 20/'
    sed -n '/^drive Pipit-quiet/,/^}/p' $folder/by-hand.trn | sed 's/Pipit-quiet/Pipit-zero/; s/switching-frequency = 50 kHz/switching-frequency = 0 Hz/'
    sed -n '/^drive Pipit-quiet/,/^}/p' $folder/by-hand.trn | sed 's/Pipit-quiet/Pipit-table/; s/peak-time = 2 s/peak-time = 2 s  derating = table { 0 °C: 100 %; 60 °C: 50 % }/'
} >"$scratch/mixed.trn"
both_ways "$scratch/mixed.trn"
for seed in 1 2 3; do
    python3 tests/bench/make_library.py --motors 70 --gearheads 9 --drives 8 --feedback 6 --misprints 0.3 --seed $seed --output "$scratch/made-$seed.trn"
    both_ways "$scratch/made-$seed.trn"
done

# A rule of the house beside those of the standard library: a form that builds on one of its pairings has a table of its own.
{
    cat $folder/by-hand.trn
    printf 'use "pairings.trn"\nform house-pair : motor-with-drive "Motors at drives, as our house has them" {\n'
    printf '  rule house-current "The drive has 3 A" {\n    shall drive.continuous-current >= 3 A\n    cites "common practice"\n  }\n}\n'
} >"$scratch/house.trn"
tally_run pairings "$scratch/house.trn" --format csv
grep '^house-pair,' "$scratch/out" | cut -d, -f2-4 >"$scratch/house"
cat >"$scratch/expected" <<'END'
Teal-brushed,Pipit-bare,works
Teal-brushed,Pipit-amp,does not work
Teal-brushed,Pipit-quiet,does not work
Teal-hall,Pipit-bare,does not work
Teal-hall,Pipit-amp,works with a remark
Teal-hall,Pipit-quiet,does not work
Teal-rms,Pipit-bare,does not work
Teal-rms,Pipit-amp,works with a remark
Teal-rms,Pipit-quiet,does not work
END
tally_same "a rule of the house" "$scratch/expected" "$scratch/house"
grep '^motor-with-drive,' "$scratch/out" >"$scratch/rest"
sed 1d $folder/by-hand.csv >"$scratch/expected"
tally_same "the pairing it builds on" "$scratch/expected" "$scratch/rest"

# A file of one's own that is called pairings.trn stands for that of the standard library.
mkdir "$scratch/replaced"
printf 'form pairing "Two parts" { }\n' >"$scratch/replaced/pairings.trn"
cp $folder/own.trn "$scratch/replaced"
tally_run pairings "$scratch/replaced/own.trn"
tally_same "a pairings.trn of one's own" $folder/own.txt "$scratch/out"

# A table wider than the screen: each column is in one block, under a number that the key names.
{
    printf 'use "pairings.trn"\nform pot "A pot" { given mass : mass "Mass" }\nform bench "A bench" { given load : mass "Load" }\n'
    printf 'form pot-on-bench : pairing "Pots" { given pot : pot "Pot" given bench : bench "Bench"\n'
    printf 'rule bears "It bears" { shall pot.mass <= bench.load cites "common practice" } }\n'
    for i in $(seq 1 7); do echo "pot pot-$i { mass = $i kg }"; done
    for i in $(seq 1 120); do echo "bench long-bench-number-$i { load = $((i % 9)) kg }"; done
} >"$scratch/wide.trn"
tally_run pairings "$scratch/wide.trn"
if [ "$status" -eq 0 ] && LC_ALL=C.UTF-8 awk '
    length($0) > 80 { print "wide: " $0; bad = 1 }
    head && /^  pot-/ { for (i = 1; i <= shown; i++) if ($(i + 1) != (substr($1, 5) + 0 <= number[i] % 9 ? "yes" : "no")) { print "wrong: " $0; bad = 1 } }
    /^ +[0-9]+ +[0-9]+ / && !/bench/ { head = 1; shown = 0; for (i = 1; i <= NF && $i ~ /^[0-9]+$/; i++) { number[++shown] = $i; seen[$i]++ } }
    /long-bench-number/ { for (i = 1; i < NF; i += 2) if ($(i + 1) == "long-bench-number-" $i) named[$i]++ }
    END { for (i = 1; i <= 120; i++) if (seen[i] != 1 || named[i] != 1) { print "column " i ": " seen[i] + 0 ", named " named[i] + 0; bad = 1 } exit bad }' "$scratch/out" >"$scratch/faults"; then
    tally_pass
else
    tally_fail "a wide table" "exit status $status"
    head -n 10 "$scratch/faults"
fi

# The same bytes among people who write 0,5; and what is asked for twice is answered the same way.
tally_run pairings $folder/by-hand.trn --format csv
cp "$scratch/out" "$scratch/first"
comma=$(locale -a 2>/dev/null | grep -iE '^(de|fr|it|es|nl|pl)_.*utf-?8$' | head -n 1)
export LC_ALL="${comma:-C.UTF-8}"
tally_run pairings $folder/by-hand.trn --format csv
export LC_ALL=C
tally_same "another locale" "$scratch/first" "$scratch/out"

# ends STATUS WORDS ARGUMENT …: the exit status, and words among the messages.
ends() {
    wanted=$1 words=$2
    shift 2
    tally_run pairings "$@"
    if [ "$status" -eq "$wanted" ] && grep -qF -- "$words" "$scratch/err"; then tally_pass; else
        tally_fail "pairings $*" "exit status $status, not $wanted; or not said: $words"
        head -n 5 "$scratch/err"
    fi
}
head -c 700 $folder/by-hand.trn >"$scratch/torn.trn"
sed 's/resistance = 1 Ω/resistence = 1 Ω/' $folder/by-hand.trn >"$scratch/misspelt.trn"
sed '0,/resistance = 1 Ω/s//resistance = -1 Ω/' $folder/by-hand.trn >"$scratch/range.trn"
sed 's/^dc-motor/dc-moter/' $folder/by-hand.trn >"$scratch/form.trn"
: >"$scratch/empty.trn"
ends 2 "(no-program)" "$scratch/empty.trn"
ends 3 "it is not there" "$scratch/nothing.trn"
ends 2 "no field called resistence" "$scratch/misspelt.trn"
ends 2 "(out-of-validity)" "$scratch/range.trn"
ends 2 "(unknown-form)" "$scratch/form.trn"
ends 2 "error" "$scratch/torn.trn"
ends 2 "--where takes" $folder/own.trn --where ""
ends 2 "(option-value)" $folder/own.trn --reasons one
ends 2 "(option-value)" $folder/own.trn --reasons one,
ends 2 "(option-value)" $folder/own.trn --format pdf
ends 2 "(option-without-use)" $folder/own.trn --accept open
ends 2 "UTF-8" $folder/own.trn --where "$(printf 'rack.load > \377')"
ends 3 "one of the files that are checked" $folder/own.trn --output $folder/own.trn
ends 3 "its folder is not there" $folder/own.trn --output "$scratch/none/pairs.csv"
tally_run pairings $folder/by-hand.trn --output "$scratch/pairs.csv"
tally_same "the ending of --output" $folder/by-hand.csv "$scratch/pairs.csv"
tally_close
