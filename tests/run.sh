#!/bin/sh
# All tests, on a bare Debian 12:  sh tests/run.sh
#
# Installs what is missing, builds with gcc into build/ and with clang and its sanitizers into build-sanitize/ (any
# warning stops either), runs the unit tests and every tests/*/run.sh on both, some of them on a release by clang in
# build-clang/ too, then the lints. The last line is
# "N passed, N failed"; the exit status is 0 only when nothing failed and something ran.
# FRESH=1 builds from nothing.
cd "$(dirname "$0")/.." || exit 2
export LC_ALL=C.UTF-8

passed=0
failed=0
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
trap 'exit 130' INT TERM

finish() {
    echo
    printf '%d passed, %d failed\n' "$passed" "$failed"
    [ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
    exit $?
}

# said "what" SECONDS: one line about a step that is over.
said() { printf '%-44s %4d passed %4d failed %4d s\n' "$1" "$step_passed" "$step_failed" "$2"; }

# step "what" COMMAND…: runs a script that closes with "N passed, N failed"; shows the rest only when something failed.
step() {
    what=$1
    shift
    begun=$(date +%s)
    status=0
    "$@" >"$work/log" 2>&1 </dev/null || status=$?
    closing=$(tail -n 1 "$work/log")
    step_passed=$(printf '%s\n' "$closing" | sed -n 's/^\([0-9]*\) passed, [0-9]* failed$/\1/p')
    step_failed=$(printf '%s\n' "$closing" | sed -n 's/^[0-9]* passed, \([0-9]*\) failed$/\1/p')
    if [ -z "$step_passed" ]; then
        step_passed=0 step_failed=1
        echo "$what broke off with exit status $status:"
        tail -n 40 "$work/log"
    else
        [ "$status" -eq 0 ] || [ "$step_failed" -gt 0 ] || step_failed=1
        sed '$d' "$work/log" | tail -n 200
    fi
    passed=$((passed + step_passed)) failed=$((failed + step_failed))
    said "$what" $(($(date +%s) - begun))
}

# unit "what" PROGRAM: the unit tests; criterion's last line has the counts.
unit() {
    begun=$(date +%s)
    status=0
    if [ -x "$2" ]; then
        timeout -k 5 300 "$2" >"$work/log" 2>&1 </dev/null || status=$?
    else
        echo "there is no $2" >"$work/log"
        status=127
    fi
    counts=$(sed -n 's/.*Synthesis: Tested: [0-9]* | Passing: \([0-9]*\) | Failing: \([0-9]*\) | Crashing: \([0-9]*\).*/\1 \2 \3/p' \
        "$work/log" | tail -n 1)
    set -- "$1" ${counts:-0 1 0}
    step_passed=$2 step_failed=$(($3 + $4))
    # Criterion doesn't look at what a test's process says after the test: a leak.
    leaks=$(grep -c 'ERROR: LeakSanitizer' "$work/log")
    [ "$leaks" -le "$step_passed" ] || leaks=$step_passed
    step_passed=$((step_passed - leaks)) step_failed=$((step_failed + leaks))
    # A sanitizer can end the program after the counting.
    [ "$status" -eq 0 ] || [ "$step_failed" -gt 0 ] || step_failed=1
    [ "$step_passed" -gt 0 ] || [ "$step_failed" -gt 0 ] || step_failed=1
    if [ "$step_failed" -gt 0 ]; then
        grep -v 'Synthesis:' "$work/log" | tail -n 80
    fi
    passed=$((passed + step_passed)) failed=$((failed + step_failed))
    said "$1" $(($(date +%s) - begun))
}

# build FOLDER OPTIONS…: configures and builds; a failure counts as one.
build() {
    folder=$1
    shift
    begun=$(date +%s)
    [ -z "${FRESH:-}" ] || rm -rf "$folder"
    step_passed=1 step_failed=0
    if ! { cmake -B "$folder" -DTRUNNION_WERROR=ON "$@" &&
        cmake --build "$folder" --parallel "$(nproc)" -- -k; } >"$work/log" 2>&1 </dev/null; then
        step_passed=0 step_failed=1
        # The first error is what is to be mended; the rest often follows from it.
        { grep -nE -A 12 '(error|Error|undefined reference)' "$work/log" || tail -n 40 "$work/log"; } | head -n 60
    fi
    passed=$((passed + step_passed)) failed=$((failed + step_failed))
    said "build in $folder/" $(($(date +%s) - begun))
    [ "$step_failed" -eq 0 ]
}

if ! sh tests/install.sh test; then
    failed=1
    finish
fi

export ASAN_OPTIONS="exitcode=99:detect_leaks=1:allocator_may_return_null=1"
export LSAN_OPTIONS="exitcode=99"
export UBSAN_OPTIONS="exitcode=99:print_stacktrace=1"

good=""
if CC=gcc build build -DCMAKE_BUILD_TYPE=Release; then good="build"; fi
if CC=clang build build-sanitize -DCMAKE_BUILD_TYPE=Release -DTRUNNION_SANITIZE=ON; then
    good="$good build-sanitize"
fi
# What is released may be built by either compiler, and they do not make the same of a program.
if CC=clang build build-clang -DCMAKE_BUILD_TYPE=Release; then
    unit "unit tests of build-clang/" build-clang/unit_tests
    for name in spec golden; do step "tests/$name on build-clang/" sh "tests/$name/run.sh" build-clang/trunnion; done
fi

for folder in $good; do
    unit "unit tests of $folder/" "$folder/unit_tests"
done
for script in tests/*/run.sh; do
    name=$(basename "$(dirname "$script")")
    case "$name" in bench | fuzz) continue ;; esac # those are run by hand
    for folder in $good; do
        step "tests/$name on $folder/" sh "$script" "$folder/trunnion"
    done
done
for script in tests/lint/*.sh; do
    step_passed=1 step_failed=0
    begun=$(date +%s)
    sh "$script" >"$work/log" 2>&1 </dev/null || { step_passed=0 step_failed=1; head -n 60 "$work/log"; }
    passed=$((passed + step_passed)) failed=$((failed + step_failed))
    said "$script" $(($(date +%s) - begun))
done
finish
