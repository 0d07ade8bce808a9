#!/bin/sh
# What things cost on this machine; nothing here passes or fails:  sh tests/bench/run.sh PROGRAM FOLDER
#
# FOLDER holds the built bench_* programs. `cmake --build build --target bench` builds and runs it all.
# RUNS=N sets the runs of each process (100). ONLY=processes, ONLY=programs or ONLY=scale does a part of it; scale.sh tells
# how to make that smaller.
cd "$(dirname "$0")/../.." || exit 2
[ $# -eq 2 ] || { echo "usage: sh tests/bench/run.sh PROGRAM FOLDER" >&2; exit 2; }
program=$1
tools=$2
runs=${RUNS:-100}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
export LC_ALL=C

hello=""
# process "what" COMMAND…: one row; hellos are for another machine to compare with.
process() {
    what=$1
    shift
    times=$("$tools/bench_process" "$runs" "$@") || { printf '%-52s could not be measured\n' "$what"; return; }
    [ -n "$hello" ] || hello=${times%% *}
    printf '%s %s\n' "$times" "$hello" |
        awk -v what="$what" '{ printf "%-52s %9.3f %9.3f %9.3f %9.1f %7.1f\n", what, $1, $2, $3, $1 / $5, $4 / 1024 }'
}

processes() {
    printf '#include <stdio.h>\nint main(void) { return puts("hello") < 0; }\n' >"$scratch/hello.c"
    "${CC:-cc}" -O2 -o "$scratch/hello" "$scratch/hello.c" || exit 1
    printf 'choice lid { shut ajar }\n' >"$scratch/tiny.trn"
    printf '%-52s %9s %9s %9s %9s %7s\n' "a whole process, $runs runs" "median ms" "least ms" "processor" "hellos" "MB"
    process "hello in C" "$scratch/hello"
    process "trunnion --version" "$program" --version
    process "verify one line (the standard library's cost)" "$program" verify "$scratch/tiny.trn"
    find examples -name '*.trn.md' | sort >"$scratch/examples"
    while IFS= read -r example; do
        process "verify ${example#examples/}" "$program" verify "$example"
        process "  the same with --nominal" "$program" verify "$example" --nominal
    done <"$scratch/examples"
    if [ -f examples/jar-handler/lift.trn.md ]; then
        for format in text html; do
            process "report jar-handler/lift.trn.md as $format" "$program" report examples/jar-handler/lift.trn.md \
                --format $format --output "$scratch/report"
        done
    fi
    set -- examples/jar-handler/parts/*.trn
    [ ! -f "$1" ] || process "audit the $# libraries of the jar handler" "$program" audit "$@"
}

programs() {
    for tool in "$tools"/bench_*; do
        case "$tool" in *bench_process | *"bench_*") continue ;; esac
        printf '\n%s\n' "$(basename "$tool")"
        "$tool"
    done
}

echo "load before: $(cut -d ' ' -f 1-3 /proc/loadavg 2>/dev/null)"
case "${ONLY:-all}" in all | processes) processes ;; esac
case "${ONLY:-all}" in all | programs) programs ;; esac
case "${ONLY:-all}" in all | scale)
    echo
    env ${RUNS:+RUNS="$RUNS"} sh tests/bench/scale.sh "$program" "$tools"
    ;;
esac
echo "load after: $(cut -d ' ' -f 1-3 /proc/loadavg 2>/dev/null)"
