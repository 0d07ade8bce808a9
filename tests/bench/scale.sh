#!/bin/sh
# Many cards, many axes, many sets of parts, beside what somebody would write for himself:  sh tests/bench/scale.sh PROGRAM FOLDER
#
# FOLDER holds bench_process; run.sh calls this. Makes all its input in a folder of its own. CARDS=N, AXES=N and MOTORS=N set
# the largest sizes (100000, 10000, 1000), RUNS=N the runs of each process (5). Python rows are left out where Python or numpy
# are missing. Nothing here passes or fails.
cd "$(dirname "$0")/../.." || exit 2
[ $# -eq 2 ] || { echo "usage: sh tests/bench/scale.sh PROGRAM FOLDER" >&2; exit 2; }
program=$1
tools=$2
cards=${CARDS:-100000}
axes=${AXES:-10000}
motors=${MOTORS:-1000}
runs=${RUNS:-5}
bench=tests/bench
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export LC_ALL=C PYTHONDONTWRITEBYTECODE=1

python=""
for one in python3 /usr/bin/python3; do
    command -v "$one" >/dev/null 2>&1 || continue
    [ -n "$python" ] || python=$one
    "$one" -c "import numpy" 2>/dev/null && { numpy=$one; break; }
done
[ -n "$python" ] || { echo "Python is missing; the libraries are made by it, so nothing is measured here"; exit 0; }
for yard in choice axes cards; do
    "${CC:-cc}" -std=c11 -D_POSIX_C_SOURCE=200809L -O2 -o "$work/yard_$yard" "$bench/yard_$yard.c" -lm || exit 1
done
has() { "$program" --help 2>/dev/null | grep -q "trunnion $1 "; }

# timed N PROGRAM ARGUMENTS…: sets median, least and worked (ms) and memory (kB); false when it could not be measured.
timed() {
    times=$("$tools/bench_process" "$@") || return 1
    # shellcheck disable=SC2086
    set -- $times
    least=$2 worked=$3 memory=$4
}
# row "what" COUNT: a line of the tables over size. What is told of each is from the smaller of wall and processor time, less the
# start-up: a busy machine makes the one too long, two threads the other. Sets `rate`, how many a second.
row() {
    rate=$(awk -v n="$2" -v least="$least" -v worked="$worked" -v start="$start" 'BEGIN {
        took = (least < worked ? least : worked) - start; print (took > 0 ? 1e3 * n / took : 0) }')
    awk -v what="$1" -v n="$2" -v least="$least" -v worked="$worked" -v memory="$memory" -v own="$own" -v rate="$rate" 'BEGIN {
        kb = (memory > own && n > 1) ? (memory - own) / n : 0; told = (n > 1 && rate > 0)
        printf "%-30s %9d %11.1f %11.1f %11s %11s %10s\n", what, n, least, worked,
            told ? sprintf("%.2f", 1e6 / rate) : "", told ? sprintf("%.0f", rate) : "", kb ? sprintf("%.2f", kb) : ""
    }'
}
# beside RATE: lines that tell how many a second ("… 540000 axes/s …"), and at their end how many times RATE that is.
beside() {
    awk -v ours="$1" '{ for (i = NF; i > 1; i--) if ($i ~ /^(cards|axes|sets)\/s$/) quick = $(i - 1); times = ours > 0 ? quick / ours : 0
        printf "%s   (%s times ours)\n", $0, sprintf(times < 10 ? "%.2g" : "%.0f", times) }'
}
title() { printf '\n%-30s %9s %11s %11s %11s %11s %10s\n' "$1" "how many" "least ms" "processor" "µs each" "a second" "kB each"; }

printf 'choice lid { shut ajar }\n' >"$work/tiny.trn"
timed 20 "$program" verify "$work/tiny.trn" || exit 1
start=$(awk -v least="$least" -v worked="$worked" 'BEGIN { print (least < worked ? least : worked) }') own=$memory
echo "start-up, taken off where something is told of each: $start ms, $own kB"

# ---- cards
title "cards, audited (a dozen figures)"
size=1
while [ "$size" -le "$cards" ]; do
    "$python" $bench/make_library.py --sparse --motors "$size" --output "$work/cards-$size.trn"
    times=$([ "$size" -lt 1000 ] && echo 20 || echo "$runs")
    timed "$times" "$program" audit "$work/cards-$size.trn" && row "audit, .trn" "$size" && audited=$rate
    size=$((size * 10))
done
size=$((size / 10))
"$python" $bench/make_library.py --motors "$((size / 2))" --gearheads "$((size * 3 / 10))" --drives "$((size / 10))" --feedback "$((size / 20))" \
    --brakes "$((size / 20))" --output "$work/mixed.trn"
timed "$runs" "$program" audit "$work/mixed.trn" && row "audit, all forms, full sheets" "$size"
"$python" $bench/make_library.py --motors "$((size / 2))" --gearheads "$((size * 3 / 10))" --drives "$((size / 10))" --feedback "$((size / 20))" \
    --brakes "$((size / 20))" --misprints 0.02 --output "$work/spoilt.trn"
timed "$runs" "$program" audit "$work/spoilt.trn" && row "  the same, 2 in 100 misprinted" "$size"
printf 'use "cards-%s.trn"\nchoice lid { shut ajar }\n' "$size" >"$work/user.trn"
timed "$runs" "$program" verify "$work/user.trn" && row "loaded, and not asked about" "$size"
"$python" $bench/make_library.py --sparse --motors "$size" --csv "$work/csv"
printf 'use "motors.trn"\nuse "csv/motors-brushed.csv" as dc-motor\nuse "csv/motors-brushless.csv" as brushless-motor\n' >"$work/tables.trn"
printf 'use "tables.trn"\nchoice lid { shut ajar }\n' >"$work/reader.trn"
if "$program" verify "$work/reader.trn" >/dev/null 2>&1; then
    timed "$runs" "$program" audit "$work/tables.trn" && row "audit of tables (CSV)" "$size"
    timed "$runs" "$program" verify "$work/reader.trn" && row "tables loaded, and not asked" "$size"
fi
"$work/yard_cards" "$work/cards-$size.trn" | beside "$audited"
"$python" $bench/yard_cards.py "$work/csv" | beside "$audited"
[ ! -x "$tools/bench_reading" ] || "$tools/bench_reading" "$size" | tail -n 2 | beside "$audited"

# ---- axes
title "axes, 40 sets of parts"
size=1
while [ "$size" -le "$axes" ]; do
    "$python" $bench/make_axes.py "$size" "$work/axes.trn" --sets 40 --table "$work/axes.csv"
    times=$([ "$size" -lt 1000 ] && echo 10 || echo "$((runs < 3 ? runs : 3))")
    timed "$times" "$program" verify --nominal "$work/axes.trn" && row "verify --nominal" "$size" && verified=$rate
    size=$((size * 10))
done
"$python" $bench/make_axes.py "$((axes < 1000 ? axes : 1000))" "$work/few.trn" --table "$work/few.csv"
timed 2 "$program" verify --nominal "$work/few.trn" && row "  parts drawn freely" "$((axes < 1000 ? axes : 1000))"
"$work/yard_axes" "$work/axes.csv" | beside "$verified"
if [ -n "$numpy" ]; then "$numpy" $bench/yard_axes.py "$work/few.csv" | beside "$verified"; else echo "numpy is missing; its row is left out"; fi

# ---- sets of parts
if has shortlist; then
    title "motors, with 200 gearheads and 20 drives"
    least=0
    size=10
    while [ "$size" -le "$motors" ]; do
        "$python" $bench/make_choice.py "$work/choice" --motors "$size"
        timed "$(awk -v ms="${least:-0}" -v runs="$runs" 'BEGIN { print (ms > 1000 ? 1 : runs < 3 ? runs : 3) }')" "$program" shortlist --nominal "$work/choice/choice.trn" hatch && row "shortlist --nominal" "$size"
        size=$((size * 10))
    done
    timeout 20 "$program" shortlist --nominal "$work/choice/choice.trn" hatch | sed '/^$/,$d'
    covered=$(awk -v motors="$rate" 'BEGIN { print motors * 4000 }')
    echo "sets covered: $covered a second"
fi
"$python" $bench/make_choice.py "$work/choice" --motors "$motors"
"$work/yard_choice" "$work/choice" | beside "${covered:-0}"
if [ -n "$numpy" ]; then "$numpy" $bench/yard_choice.py "$work/choice" | beside "${covered:-0}"; else echo "numpy is missing; its rows are left out"; fi
