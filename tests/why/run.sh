#!/bin/sh
# Lines of numbers are program text, and come to the value they explain:  sh tests/why/run.sh PROGRAM
#
# In the HTML report of each example, every derived value opens to its numbers. Those are compiled again, as one side of a
# requirement with the value as the other, and the two are compared. A written number has no kind, so where only the
# kinds of angle told two quantities apart, the compiler refuses to compare them: a tenth of the lines at most.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2

find examples -name '*.trn.md' | LC_ALL=C sort >"$scratch/examples"
while IFS= read -r example; do
    tally_run report "$example" --format html --output "$scratch/report.html"
    : >"$scratch/known"
    # The value is that at the instant, where there is one. What is a range, a reduction or a fact only of the whole cycle,
    # and what stands right at a change of sign, cannot be read back.
    grep '^<tr id="[^"]*"><th scope="row">.*<details class="why"' "$scratch/report.html" |
        awk -v known="$scratch/known" '
            { if (match($0, /<p>= <code>[^<]*<\/code>/) == 0) next
              numbers = substr($0, RSTART + 11, RLENGTH - 18)
              value = $0; sub(/^.*<\/th><td[^>]*>/, "", value); sub(/<.*/, "", value)
              if (match($0, /<p>(peak|maximum|minimum) [^<]* at /)) {
                  value = substr($0, RSTART + 3, RLENGTH - 7); sub(/^[a-z]+ /, "", value); signal = 1
              }
              path = $0; sub(/^<tr id="/, "", path); sub(/".*/, "", path)
              gsub(/&lt;/, "<", numbers); gsub(/&gt;/, ">", numbers); gsub(/&amp;/, "\\&", numbers)
              if (value !~ /^-?[0-9.e-]+( [^ ]+)?$/) next
              if (numbers ~ /…|unknown|no value| to | at |"|&| in |sign\(0/) next
              if (numbers ~ /(peak|lag|rate|accumulate|sum|every|some|largest|smallest)\(/) next
              printf "%s\t%s\t%s\n", value, path, numbers >> known }'
    [ -s "$scratch/known" ] || continue
    awk -F '\t' '{ printf "requirement A-%d \"%s\" { shall %s >= %s  from none \"read back\" }\n", NR, $2, $3, $1 }' \
        "$scratch/known" >"$scratch/again.trn"
    tally_run verify --nominal "$scratch/again.trn"
    grep '(cannot-meet)$' "$scratch/err" | sed 's/.*again\.trn:\([0-9]*\)\..*/\1/' | LC_ALL=C sort -u >"$scratch/refused"
    if grep 'error:' "$scratch/err" | grep -qv '(cannot-meet)$'; then
        tally_fail "$example" "its numbers are not program text:"
        grep -v '(cannot-meet)$' "$scratch/err" | head -n 12
        continue
    fi
    awk -v list="$scratch/refused" 'BEGIN { while ((getline line < list) > 0) refused[line] = 1 } !(FNR in refused)' \
        "$scratch/again.trn" >"$scratch/rest.trn"
    tally_run verify --nominal --dump findings "$scratch/rest.trn"
    # Four digits stand in each number. A sum of nearly equal ones keeps fewer: half a unit in the fourth digit of each.
    awk -F '\t' '
        FNR == NR { value[FNR] = $1; path[FNR] = $2; numbers[FNR] = $3; next }
        { id = $0; sub(/^A-/, "", id); sub(/:.*/, "", id); id += 0
          found = $0; sub(/^[^,]*, /, "", found)
          split(found, f, " "); split(value[id], v, " ")
          read++
          gap = f[1] - v[1]; if (gap < 0) gap = -gap
          size = v[1] < 0 ? -v[1] : v[1]
          allowed = numbers[id] ~ / [-+] / ? 0.03 * size + 0.002 : 0.004 * size
          if (gap > allowed) print path[id] ": " numbers[id] " is " found ", not " value[id] }
        END { print read + 0 > "/dev/stderr" }' "$scratch/known" "$scratch/out" >"$scratch/wrong" 2>"$scratch/number"
    all=$(wc -l <"$scratch/known") read=$(cat "$scratch/number")
    if [ -s "$scratch/wrong" ]; then
        tally_fail "$example" "numbers that do not come to their value:"
        head -n 20 "$scratch/wrong"
    elif [ $((10 * read)) -lt $((9 * all)) ]; then
        tally_fail "$example" "only $read of $all lines of numbers could be read back"
    else
        tally_pass
    fi
    total=$((${total:-0} + read))
done <"$scratch/examples"
[ "${total:-0}" -ge 200 ] || tally_fail "all examples" "only ${total:-0} lines of numbers were read back"
tally_close
