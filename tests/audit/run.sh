#!/bin/sh
# Is a library fit to be trusted, and does the audit say so?  sh tests/audit/run.sh PROGRAM [--write]
#
# cards.trn holds cards that are in order. A line of misprints.cases changes, adds or leaves out one field of one of them, as
# in tests/pairing/, and says what the audit must then find on that card, and on no other; all of it, in any order:
#
#   CARD FIELD = VALUE : KIND NAME [“likely”] ; KIND NAME …        CARD - FIELD : …        CARD FIELD = VALUE : mistake NAME
#
# The words in quotes have to stand in what the audit takes for likely. A mistake is a message, with exit status 2; remarks
# leave the exit status at 0. One check is one line. Then: the demo's library is in order to the byte; each of its figures that
# others repeat is made ten times as large and found by name, and no figure is blamed for another's slip; odd
# files.
# --write makes the kept files anew; read the difference.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
write=${2:-}
cards=tests/audit/cards.trn
parts=examples/jar-handler/parts

# rows FILE: "card kind name likely" for each finding, parted by bars.
rows() {
    tally_run audit "$1" --format csv
    tr -d '\r' <"$scratch/out" | awk '
        { n = 0; text = ""; quoted = 0
          for (i = 1; i <= length($0); i++) {
              c = substr($0, i, 1)
              if (c == "\"") quoted = !quoted
              else if (c == "," && !quoted) { field[++n] = text; text = "" }
              else text = text c
          }
          field[++n] = text
          if (NR > 1) print field[3] "|" field[5] " " field[6] "|" field[10] }'
}

rows "$cards" >"$scratch/rows"
if [ "$status" -eq 0 ] && [ ! -s "$scratch/rows" ]; then tally_pass; else
    tally_fail "$cards" "should be in order, and ends with exit status $status"
    cat "$scratch/err" "$scratch/rows"
fi

# changed "CHANGE": cards.trn with it, into $scratch/changed.trn.
changed() {
    printf '%s\n' "$1" | awk -v before="$cards" '
        { card = $1; name = $2; out = 0; if (name == "-") { name = $3; out = 1 } else { sub(/^[^ ]+ /, ""); field = $0 } }
        END {
            while ((getline text < before) > 0) {
                split(text, word, " ")
                if (inside && word[1] == name) { done = 1; continue }
                if (inside && text ~ /^}/) { if (!out) { print "  " field; done = 1 } inside = 0 }
                print text
                if (word[2] == card && text ~ /\{$/) inside = 1
            }
            exit !done
        }' >"$scratch/changed.trn" || tally_fail "$1" "cannot be put into $cards"
}

# judged LINE CARD: $scratch/rows against what the line says must be found.
judged() {
    printf '%s\n' "${1##* : }" | sed 's/ ; /\n/g' >"$scratch/due"
    found=$(cut -d'|' -f1 "$scratch/rows" | LC_ALL=C sort -u)
    [ "$found" = "$2" ] || { echo "found on: $found"; return; }
    [ "$(wc -l <"$scratch/due")" -eq "$(wc -l <"$scratch/rows")" ] || { echo "so many findings are not due"; return; }
    while IFS= read -r due; do
        what=$(printf '%s\n' "$due" | sed 's/ *".*//')
        likely=$(printf '%s\n' "$due" | sed -n 's/.*"\(.*\)".*/\1/p')
        if [ -n "$likely" ]; then grep -F "|$what|" "$scratch/rows" | cut -d'|' -f3 | grep -qF "$likely" || echo "not found: $due"
        else grep -qxF "$2|$what|" "$scratch/rows" || echo "not found: $due"; fi
    done <"$scratch/due"
}

for cases in tests/audit/*.cases; do
    while IFS= read -r line; do
        case "$line" in '' | '--'*) continue ;; esac
        change=${line% : *} card=${line%% *}
        changed "$change"
        rows "$scratch/changed.trn" >"$scratch/rows"
        case "$line" in
        *' : mistake '*)
            if [ "$status" -eq 2 ] && grep -qF "(${line##* : mistake })" "$scratch/err"; then tally_pass; else
                tally_fail "$change" "exit status $status, and $(cat "$scratch/err")"
            fi
            continue
            ;;
        *' : remark '*) wanted=0 ;;
        *) wanted=1 ;;
        esac
        trouble=$(judged "$line" "$card")
        [ "$status" -eq "$wanted" ] || trouble="$trouble exit status $status"
        if [ -z "$trouble" ]; then tally_pass; else
            tally_fail "$change" "$trouble"
            sed 's/^/    /' "$scratch/rows" "$scratch/err"
        fi
    done <"$cases"
done

# kept "which" FILE ARGUMENTS: what an audit prints, to the byte but for the carriage returns of a table.
kept() {
    which=$1 golden=tests/audit/$2
    shift 2
    tally_run audit "$@"
    { echo "exit $status"; cat "$scratch/out" "$scratch/err"; } | tr -d '\r' >"$scratch/kept"
    [ "$write" != --write ] || cp "$scratch/kept" "$golden"
    tally_same "$which" "$golden" "$scratch/kept"
}

kept "the demo's library" parts.expected "$parts"/*.trn
kept "what the demo's library leaves out" missing.expected --missing "$parts"/rook-motors.trn
kept "several misprints" several.expected tests/audit/several.trn
kept "misprints in a table" table.expected tests/audit/table.trn
kept "several misprints, as a table" several.csv.expected tests/audit/several.trn --format csv

# Misprints in the demo: each figure that a card also says otherwise, ten times as large.
fields="speed-constant voltage-constant motor-constant no-load-speed stall-current stall-torque speed-torque-slope
    mechanical-time-constant continuous-current continuous-torque continuous-force nominal-speed resistance torque-constant"
for file in "$parts"/*-motors.trn; do
    for field in $fields; do
        awk -v field="$field" '/^[a-z]/ && / \{$/ { card = $2 }  $1 == field { print NR, card }' "$file" >"$scratch/lines"
        while read -r line card; do
            sed "${line}s/\(= *[0-9.]*[0-9]\)/\1e1/" "$file" >"$scratch/part.trn"
            rows "$scratch/part.trn" >"$scratch/rows"
            if [ "$status" -eq 1 ] && grep -q "^$card|\(culprit\|suspect\|agreement\) $field|.*10 times too much" "$scratch/rows"; then tally_pass; else
                tally_fail "$file:$line" "$field of $card made ten times as large is not named (exit status $status)"
                sed 's/^/    /' "$scratch/rows"
            fi
        done <"$scratch/lines"
    done
done

# Every number of every card of the demo, one at a time, times each of these: the figure that is named as likely wrong is the one
# that is, and where several are named, it is among them. One check is one file and factor.
for file in "$parts"/*.trn; do
    for times in 10 0.1 1000 6.2832 1.4142 1.3; do
        awk -v times="$times" -v map="$scratch/spoilt.map" '
            /^use / { print }
            /^[a-z]/ && / \{$/ { inside = 1; n = 0 }
            inside { line[++n] = $0 }
            /^}/ && inside {
                inside = 0
                for (i = 2; i < n; i++) {
                    if (line[i] !~ /^  [a-z-]+ += [0-9.]+ /) continue
                    split(line[i], word, " ")
                    head = line[1]
                    split(head, name, " ")
                    own = name[2] "-v" ++count
                    sub(name[2], own, head)
                    print own "|" word[1] > map
                    print head
                    for (k = 2; k <= n; k++) {
                        if (k != i) { print line[k]; continue }
                        rest = line[k]
                        sub(/^  [a-z-]+ += [0-9.]+ /, "", rest)
                        sub(/ *±.*/, "", rest)
                        printf "  %s = %.5g %s\n", word[1], word[3] * times, rest
                    }
                }
            }' "$file" >"$scratch/spoilt.trn"
        rows "$scratch/spoilt.trn" >"$scratch/rows"
        awk -F'|' -v file="$file" -v times="$times" -v right="$scratch/right" '
            NR == FNR { field[$1] = $2; next }
            { split($2, word, " ") }
            word[1] == "culprit" || (word[1] == "agreement" && $3 != "") {
                if (word[2] == field[$1]) print >> right
                else { print $1 ": " field[$1] " is wrong, and " word[2] " is named"; bad = 1 }
            }
            word[1] == "suspect" { some[$1] = some[$1] " " word[2] " " }
            END {
                for (card in some) if (!index(some[card], " " field[card] " ")) { print card ": " field[card] " is not among" some[card]; bad = 1 }
                exit bad
            }' "$scratch/spoilt.map" "$scratch/rows" >"$scratch/blame" && { tally_pass; continue; }
        tally_fail "$file, times $times" "$(head -n 5 "$scratch/blame")"
    done
done
right=$(wc -l <"$scratch/right")
if [ "$right" -gt 1000 ]; then tally_pass; else tally_fail "wrong figures" "only $right are named"; fi

# Odd files: status, and a last line.
odd() {
    tally_run audit "$2"
    if [ "$status" -eq "$3" ] && [ "$(tail -n 1 "$scratch/out")" = "$4" ]; then tally_pass; else
        tally_fail "$1" "exit status $status, and: $(tail -n 1 "$scratch/out")"
    fi
}
: >"$scratch/empty.trn"
odd "an empty file" "$scratch/empty.trn" 2 "no cards"
echo 'use "motors.trn"' >"$scratch/bare.trn"
odd "a library without cards" "$scratch/bare.trn" 0 "no cards"
head -c 700 "$cards" >"$scratch/torn.trn"
odd "a torn file" "$scratch/torn.trn" 2 "1 card: 0 clean, 1 with findings, 1 with mistakes"
printf 'owl One { mass = 1 kg }\n' >"$scratch/unknown.trn"
odd "a form that is not there" "$scratch/unknown.trn" 2 "1 card: 0 clean, 1 with mistakes"
odd "no file" "$scratch/nowhere.trn" 3 "no cards"

# Torn anywhere, it is still an audit: no crash, no hang, and a sum at the end.
bytes=$(wc -c <tests/audit/several.trn)
for part in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19; do
    head -c $((bytes * part / 20 + part)) tests/audit/several.trn >"$scratch/torn.trn"
    tally_run audit "$scratch/torn.trn"
    if [ "$status" -le 2 ] && tail -n 1 "$scratch/out" | grep -qE '^(no cards|[0-9]+ cards?: )'; then tally_pass; else
        tally_fail "torn after $part/20" "exit status $status"
    fi
done

# More findings than are shown: the sum says all the same how many, and the table has them all.
{
    echo 'form jar "A jar" { given volume : volume  given mass : mass  given density : density = mass / volume within 1 % }'
    awk 'BEGIN { for (i = 1; i <= 1500; i++) printf "jar J%d { volume = 1 L  mass = 1 kg  density = 2 kg/L }\n", i }'
} >"$scratch/many.trn"
odd "very many findings" "$scratch/many.trn" 1 "1500 cards: 0 clean, 1500 with findings"
if grep -q 'more are not shown here' "$scratch/out"; then tally_pass; else tally_fail "very many findings" "it does not say that there are more"; fi
rows "$scratch/many.trn" >"$scratch/rows"
if [ "$(grep -c 'agreement density' "$scratch/rows")" -eq 1500 ]; then tally_pass; else tally_fail "very many findings" "the table has not all of them"; fi
tally_close
