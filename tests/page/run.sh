#!/bin/sh
# What README.md, DEVELOPERS.md and the guide show is what the program says:  sh tests/page/run.sh PROGRAM [--write]
#
# In a `console` block, "$ COMMAND" is run by sh in a copy of the top folder, where build/trunnion is the program; the
# lines that follow are all it prints. A `trunnion` or `markdown` block stands, as it is, in a file under examples/.
# --write puts what the program says now into the pages: read the difference before you commit it.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
write=${2:-}
top=$(pwd)
set -- README.md DEVELOPERS.md docs/guide/*.md

copy="$scratch/top"
mkdir -p "$copy/build" "$scratch/pages" || exit 2
cp -R examples stdlib "$copy" || exit 2
ln -s "$program" "$copy/build/trunnion"
find examples -type f ! -name '*.sh' | LC_ALL=C sort | while IFS= read -r file; do cat "$file"; done >"$scratch/shown"
export LC_ALL=C.UTF-8
cd "$copy" || exit 2

for page in "$@"; do
    [ -f "$top/$page" ] || { tally_fail "$page" "is not there"; continue; }
    made="$scratch/pages/$(printf '%s' "$page" | tr / -)"
    : >"$scratch/faults"
    awk -v page="$page" -v faults="$scratch/faults" -v shown="$scratch/shown" -v script="$scratch/command" '
        function said(line, text) { print page ":" line ": " text >> faults }
        function run(command) {
            printf "%s\n", command > script
            close(script)
            fflush()
            system("timeout -k 2 20 sh \"" script "\" 2>&1 </dev/null")
        }
        BEGIN { while ((getline line < shown) > 0) all = all line "\n" }
        !inside && /^ *```/ {
            match($0, /`+/)
            fence = substr($0, RSTART, RLENGTH)
            word = substr($0, RSTART + RLENGTH)
            inside = 1; began = NR; content = ""; commands = 0
            print
            next
        }
        inside && substr($0, 1, length(fence)) == fence && $0 ~ /^`+$/ {
            if ((word == "trunnion" || word == "markdown") && !index(all, content)) said(began, "this is in no file under examples/")
            if (word == "console" && !commands) said(began, "no line of this block begins with \"$ \"")
            inside = 0
            print
            next
        }
        inside && word == "console" {
            if (substr($0, 1, 2) != "$ ") next
            print
            run(substr($0, 3))
            commands++
            next
        }
        inside { content = content $0 "\n" }
        { print }' "$top/$page" >"$made"
    if [ -s "$scratch/faults" ]; then
        while IFS= read -r fault; do tally_fail "$fault"; done <"$scratch/faults"
    fi
    [ "$write" != --write ] || cmp -s "$made" "$top/$page" || cp "$made" "$top/$page"
    tally_same "$page" "$top/$page" "$made"
done
cd "$top" || exit 2
tally_close
