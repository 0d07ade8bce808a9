#!/bin/sh
# The table of messages, the pages, the uses and the tests tell of the same messages.
cd "$(dirname "$0")/../.." || exit 2
table=src/message/catalogue.def
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# A row may go over several lines; its first is MESSAGE(ID, "name", …
sed -e '/^ *\/\*/d' -e '/^ *\*/d' "$table" | tr '\n' ' ' | grep -oE 'MESSAGE\([A-Z0-9_]+, *"[^"]*"' |
    sed 's/MESSAGE(\([A-Z0-9_]*\), *"\([^"]*\)"/\1 \2/' >"$work/rows"
cut -d' ' -f2 "$work/rows" | LC_ALL=C sort >"$work/names"
# Every word in capitals of the sources, once: quicker than a search for each row.
cat src/*.c src/*/*.c src/*/*.h grammar/*.re grammar/*.y 2>/dev/null | grep -oE '[A-Z][A-Z0-9_]+' | sed 's/^MESSAGE_//' |
    LC_ALL=C sort -u >"$work/words"

found=$(
    [ -s "$work/rows" ] || echo "$table has no rows"
    uniq -d "$work/names" | sed "s|^|$table: two rows called |"
    while read -r id name; do
        case "$name" in *[!a-z0-9-]* | "") echo "$table: the name of $id is not made of small letters and hyphens: $name" ;; esac
        [ -s "docs/messages/$name.md" ] || echo "$name: no page docs/messages/$name.md"
        grep -qxF "$id" "$work/words" || echo "$name: never said in src/ or grammar/ ($id)"
        if ! grep -qF "($name)" "tests/message/$name/"wrong*.expected 2>/dev/null; then
            echo "$name: no test in tests/message/$name/ gives it"
        fi
    done <"$work/rows"
    for page in docs/messages/*.md; do
        name=$(basename "$page" .md)
        [ -f "$page" ] && [ "$name" != README ] || continue
        grep -qxF "$name" "$work/names" || echo "$page: there is no such message"
    done
    for folder in tests/message/*/; do
        name=$(basename "$folder")
        [ -d "$folder" ] || continue
        grep -qxF "$name" "$work/names" || echo "$folder: there is no such message"
    done
)
[ -z "$found" ] || { printf '%s\n' "$found"; exit 1; }
