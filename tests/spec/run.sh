#!/bin/sh
# The examples of the language reference, and more of the same kind:  sh tests/spec/run.sh PROGRAM [PAGE…]
#
# Pages: docs/language/*.md, and tests/spec/*.md, which go further into corners than a reader of the reference
# has use for. How examples are written is told in docs/language/README.md.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
shift
[ "$#" -gt 0 ] || set -- docs/language/*.md tests/spec/*.md
tools="$PWD/tests/spec"
cuts="$scratch/cuts"
mkdir -p "$cuts"

for page in "$@"; do
    [ -f "$page" ] || continue
    awk -v out="$cuts" -v page="$page" -f "$tools/cut.awk" "$page" ||
        tally_fail "$page" "cannot be cut into examples"
done
if [ -s "$cuts/faults" ]; then
    while IFS= read -r fault; do tally_fail "$fault"; done <"$cuts/faults"
fi

# One example: sets $status; what the program says in $scratch/spoken, its values in $scratch/values.
run_example() {
    : >"$scratch/values"
    : >"$scratch/spoken"
    : >"$scratch/errors"
    if [ ! -f "$1/commands" ]; then
        tally_run verify --dump values example.trn
        cp "$scratch/out" "$scratch/values"
        tally_run verify --dump findings example.trn
        cp "$scratch/out" "$scratch/findings"
        tally_run verify example.trn
        cat "$scratch/out" "$scratch/err" "$scratch/findings" >"$scratch/spoken"
        cp "$scratch/err" "$scratch/errors"
        return
    fi
    while IFS= read -r command; do
        case "$command" in
        'trunnion '*) ;;
        *) tally_fail "$place" "this is not a command of the program: $command"; continue ;;
        esac
        set -f
        # shellcheck disable=SC2086
        set -- "$1" ${command#trunnion }
        set +f
        folder=$1
        shift
        tally_run "$@"
        set -- "$folder"
        cat "$scratch/out" >>"$scratch/values"
        cat "$scratch/out" "$scratch/err" >>"$scratch/spoken"
        cat "$scratch/err" >>"$scratch/errors"
    done <"$1/commands"
}

for example in "$cuts"/*/; do
    [ -d "$example" ] || continue
    example=${example%/}
    place=$(cat "$example/place")
    cd "$example/files" || exit 2
    run_example "$example"
    awk -v status="$status" -f "$tools/compare.awk" \
        "$example/expected" "$scratch/values" "$scratch/spoken" "$scratch/errors" >"$scratch/faults"
    if [ -s "$scratch/faults" ]; then
        tally_fail "$place"
        cat "$scratch/faults"
    else
        tally_pass
    fi
done
cd "$scratch" || exit 2
tally_close
