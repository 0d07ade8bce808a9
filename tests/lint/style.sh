#!/bin/sh
# What every file of the repository has in common.
cd "$(dirname "$0")/../.." || exit 2
top=".ci .gitattributes .github .gitignore .clang-format .editorconfig CMakeLists.txt DEVELOPERS.md LICENSE README.md docs examples grammar src stdlib tests"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

if ! git ls-files >"$work/all" 2>/dev/null || [ ! -s "$work/all" ]; then
    find . -type f ! -path './.git/*' ! -path './build*' | sed 's,^\./,,' | LC_ALL=C sort >"$work/all"
fi
while IFS= read -r file; do [ ! -f "$file" ] || printf '%s\n' "$file"; done <"$work/all" >"$work/files"
# Files whose odd bytes are their purpose, or that the program wrote, and pictures.
grep -vE '^tests/(message|syntax|spec|pathological|fuzz|golden|table)/.*\.(trn|md|expected|txt|html|verdicts|csv|command|bin)$|\.(png|svg|pdf)$' \
    "$work/files" >"$work/ours"

# each "what" GREP-OPTIONS PATTERN: lines of our files that match, with what is wrong about them.
each() {
    what=$1
    shift
    tr '\n' '\0' <"$work/ours" | xargs -0 grep -nHI "$@" -- /dev/null 2>/dev/null | cut -c 1-160 | sed "s/^/$what: /"
}
tab=$(printf '\t')
return=$(printf '\r')

found=$(
    each "tab" -F -e "$tab"
    each "carriage return" -F -e "$return"
    each "white space at the end of a line" -E -e ' +$'
    while IFS= read -r file; do
        [ ! -s "$file" ] || [ -z "$(tail -c 1 "$file")" ] || echo "no line end at the end of the file: $file"
    done <"$work/ours"

    sed 's,/.*,,' "$work/files" | LC_ALL=C sort -u | while IFS= read -r name; do
        case " $top " in *" $name "*) ;; *) echo "not one of the names of the top folder: $name" ;; esac
    done
    grep -E '^build|(^|/)(lexer|parser|standard)\.c$|(^|/)parser\.(h|out)$|\.(o|a|so|gcda|gcno|profraw)$' "$work/files" |
        sed 's/^/made by the build, but in git: /'

    # Words that only make sense on one machine, or that put work off.
    grep -v '^tests/lint/style\.sh$' "$work/ours" >"$work/prose" && mv "$work/prose" "$work/ours"
    each "a path of one machine" -E -e '(^|[^[:alnum:]_.])/(work|home|root|Users)/'
    each "the name of a package host" -iE -e '(deb\.debian\.org|pypi\.org|crates\.io|registry\.npmjs|proxy\.golang)'
    each "work put off" -wE -e '(TODO|FIXME|XXX|HACK|WIP)'
)
[ -z "$found" ] || { printf '%s\n' "$found"; exit 1; }
