#!/bin/sh
# Every example's verdicts and reports, byte for byte:  sh tests/golden/run.sh PROGRAM [--write]
#
# Verdicts (exit status, standard output, messages) and both reports are made twice, the second time among people who
# write 0,5 and live in another time zone: the bytes are the same. And they are what was kept and read: the verdicts of
# every example in tests/golden/…/NAME.verdicts, the reports of those small enough to be read line by line in NAME.txt and
# NAME.html (an empty file asks for one to be kept). --write makes the kept files anew: read the difference, then commit.
# Concessions are judged by one date, so that no file here grows old.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
write=${2:-}

# A locale with a decimal comma, where the machine has one or can make one for us.
comma=$(locale -a 2>/dev/null | grep -iE '^(de|fr|it|es|nl|pl)_.*utf-?8$' | head -n 1)
if [ -z "$comma" ] && localedef -i de_DE -f UTF-8 "$scratch/de_DE.UTF-8" >/dev/null 2>&1; then
    comma=de_DE.UTF-8
    export LOCPATH="$scratch"
fi
[ -n "$comma" ] || echo "No locale with a decimal comma here; the second pass runs in C.UTF-8."

made="$scratch/made"
# make_all EXAMPLE STEM: verdicts and reports of one example, into $made.
make_all() {
    mkdir -p "$(dirname "$made/$2")"
    tally_run verify --on 2026-11-25 "$1"
    { echo "exit $status"; cat "$scratch/out" "$scratch/err"; } >"$made/$2.verdicts"
    verdict=$status
    for format in text html; do
        ending=$format
        [ "$format" != text ] || ending=txt
        rm -f "$made/$2.$ending"
        tally_run report --on 2026-11-25 "$1" --format "$format" --output "$made/$2.$ending"
        [ "$status" -eq "$verdict" ] ||
            tally_fail "$1 as $format" "report gives exit status $status where verify gives $verdict"
        [ -f "$made/$2.$ending" ] || : >"$made/$2.$ending"
    done
}

find examples -name '*.trn.md' | LC_ALL=C sort >"$scratch/examples"
while IFS= read -r example; do
    stem=${example#examples/} stem=${stem%.trn.md}
    for people in C "${comma:-C.UTF-8}"; do
        if [ "$people" = C ]; then zone=UTC; else zone=Asia/Kathmandu; fi
        export LC_ALL="$people" TZ="$zone"
        make_all "$example" "$stem"
        export LC_ALL=C
        for ending in verdicts txt html; do
            golden=tests/golden/$stem.$ending
            if [ "$people" != C ]; then
                tally_same "$example, $ending in $people" "$scratch/first.$ending" "$made/$stem.$ending"
                continue
            fi
            cp "$made/$stem.$ending" "$scratch/first.$ending"
            [ -f "$golden" ] || [ "$ending" = verdicts ] || continue
            if [ "$write" = --write ]; then
                mkdir -p "$(dirname "$golden")"
                cp "$made/$stem.$ending" "$golden"
            fi
            tally_same "$example, $ending" "$golden" "$made/$stem.$ending"
        done
    done
    if grep -qE '/(home|root|tmp|usr)/' "$made/$stem.html" "$made/$stem.txt"; then
        tally_fail "$example" "its report names a folder of this machine"
    fi
done <"$scratch/examples"

find tests/golden -name '*.verdicts' | LC_ALL=C sort >"$scratch/goldens"
while IFS= read -r golden; do
    stem=${golden#tests/golden/} stem=${stem%.verdicts}
    [ -f "examples/$stem.trn.md" ] || tally_fail "$golden" "its example is gone"
done <"$scratch/goldens"
tally_close
