# Counting for the scripts in tests/*/run.sh, which read it with `.` from the top folder of the repository.
#
#   tally_pass                     one check held
#   tally_fail "which" ["why"]     one did not; says so
#   tally_add PASSED FAILED        so many more of each
#   tally_close                    prints "N passed, N failed" and ends the script, with 1 on any failure or on no check
#
# Also: $scratch, a temporary folder that is removed at the end; absolute PATH as the program's path; tally_run.

scratch=$(mktemp -d)
# The counts are a file, one line of passed and failed for each addition: a variable would be lost in a pipeline.
tally="$scratch/tally"
: >"$tally"
trap 'chmod -R u+rwx "$scratch" 2>/dev/null; rm -rf "$scratch"' EXIT
trap 'exit 130' INT TERM

# A sanitizer's finding has to differ from the exit statuses of the program.
export ASAN_OPTIONS="exitcode=99:detect_leaks=1:allocator_may_return_null=1"
export LSAN_OPTIONS="exitcode=99"
export UBSAN_OPTIONS="exitcode=99:print_stacktrace=1"

tally_add() { echo "$1 $2" >>"$tally"; }
tally_pass() { tally_add 1 0; }

tally_fail() {
    tally_add 0 1
    printf 'FAILED %s%s\n' "$1" "${2:+: $2}"
}

tally_close() {
    awk '{ passed += $1; failed += $2 }
        END { printf "%d passed, %d failed\n", passed, failed; exit failed || !passed }' "$tally"
    exit $?
}

# The program under test as an absolute path, so that a script may change folder.
tally_program() {
    [ -n "${1:-}" ] || { echo "usage: sh $0 PROGRAM" >&2; exit 2; }
    [ -x "$1" ] || { echo "There is no program at $1; build it first." >&2; exit 2; }
    printf '%s/%s\n' "$(cd "$(dirname "$1")" && pwd)" "$(basename "$1")"
}

# tally_run ARGUMENTS: runs $program for at most 10 s with its streams in $scratch/out and $scratch/err;
# sets $status (124: too slow; above 128: ended by a signal).
tally_run() {
    status=0
    timeout -k 2 10 "$program" "$@" >"$scratch/out" 2>"$scratch/err" </dev/null || status=$?
}

# tally_same "which" EXPECTED FOUND: one check, that two files have the same bytes; shows the difference.
tally_same() {
    if [ ! -f "$2" ]; then
        tally_fail "$1" "there is no $2 to compare with"
    elif cmp -s "$2" "$3"; then
        tally_pass
    else
        tally_fail "$1" "differs from $2 (- expected, + found)"
        diff -u "$2" "$3" | sed -e 1,2d | head -n 40
    fi
}
