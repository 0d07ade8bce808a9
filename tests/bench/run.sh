#!/bin/sh
# What things cost on this machine; nothing here passes or fails:  sh tests/bench/run.sh PROGRAM FOLDER
#
# FOLDER holds the built bench_* programs. `cmake --build build --target bench` builds and runs it all.
# RUNS=N sets the runs of each process (100).
cd "$(dirname "$0")/../.." || exit 2
[ $# -eq 2 ] || { echo "usage: sh tests/bench/run.sh PROGRAM FOLDER" >&2; exit 2; }
program=$1
tools=$2
runs=${RUNS:-100}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
export LC_ALL=C

printf '#include <stdio.h>\nint main(void) { return puts("hello") < 0; }\n' >"$scratch/hello.c"
"${CC:-cc}" -O2 -o "$scratch/hello" "$scratch/hello.c" || exit 1
printf 'choice lid { shut ajar }\n' >"$scratch/tiny.trn"

hello=""
# process "what" COMMAND…: one row; the last column is in hellos, for another machine to compare with.
process() {
    what=$1
    shift
    times=$("$tools/bench_process" "$runs" "$@") || { printf '%-52s could not be measured\n' "$what"; return; }
    [ -n "$hello" ] || hello=${times% *}
    printf '%s %s\n' "$times" "$hello" | awk -v what="$what" '{ printf "%-52s %9.3f %9.3f %9.1f\n", what, $1, $2, $1 / $3 }'
}

printf '%-52s %9s %9s %9s\n' "a whole process, $runs runs" "median ms" "least ms" "hellos"
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

for tool in "$tools"/bench_*; do
    case "$tool" in *bench_process | *"bench_*") continue ;; esac
    echo
    echo "$(basename "$tool")"
    "$tool"
done
