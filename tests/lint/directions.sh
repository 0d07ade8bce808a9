#!/bin/sh
# Which file may include which: a folder of src/ sees itself and those before it; a file's own header comes first.
# And what only one place may do: touch the outside world, know UTF-8, read CommonMark.
cd "$(dirname "$0")/../.." || exit 2
order="base text message syntax quantity meaning plan compute verdict library choose report command server"

found=$(
    for folder in src/*/; do
        folder=$(basename "$folder")
        case " $order " in *" $folder "*) ;; *) echo "src/$folder/ is not in the list of tests/lint/directions.sh" ;; esac
    done

    for file in src/*/*.[ch] src/*/*.def src/*.c; do
        [ -f "$file" ] || continue
        folder=$(basename "$(dirname "$file")")
        [ "$folder" != src ] || folder=""
        own=${file#src/} own=${own%.c}.h
        [ "${file%.c}" != "$file" ] && [ -f "src/$own" ] || own=""
        awk -v order="$order" -v folder="$folder" -v own="$own" -v file="$file" '
            BEGIN { n = split(order, list, " "); for (i = 1; i <= n; i++) rank[list[i]] = i }
            /^[ \t]*#[ \t]*include/ {
                target = $0
                sub(/^[^<"]*/, "", target)
                if (own != "" && !seen++ && target !~ "^\"" own "\"")
                    printf "%s:%d: its own header, \"%s\", comes first\n", file, FNR, own
                if (target !~ /^"/) next
                target = substr(target, 2)
                sub(/".*/, "", target)
                # Made by the build out of grammar/, for the stage that reads.
                if (folder == "syntax" && (target == "parser.h" || target ~ /^grammar\//)) next
                # A plan names the operations that signals have; it runs none of them.
                if (folder == "plan" && target == "compute/signal.h") next
                # Who asked may call the whole pipeline.
                if (folder == "command" && target == "pipeline.h") next
                slash = index(target, "/")
                if (!slash) { if (folder != "" || target != "pipeline.h")
                    printf "%s:%d: \"%s\" is not a path from src/\n", file, FNR, target; next }
                to = substr(target, 1, slash - 1)
                if (folder != "" && !(to in rank)) printf "%s:%d: there is no folder %s\n", file, FNR, to
                else if (folder != "" && rank[to] > rank[folder])
                    printf "%s:%d: %s may not know of %s, which comes after it\n", file, FNR, folder, to
            }' "$file"
    done

    # only "what" PATTERN WHERE: the pattern may occur in files whose path matches WHERE, nowhere else.
    only() {
        grep -nE "$2" src/*.c src/*/*.[ch] grammar/*.re grammar/*.y 2>/dev/null |
            grep -vE "^($3)" | sed "s|\$|   -- $1|"
    }
    grep -nE '(^|[^_[:alnum:]])signal_[a-z_]+\(' src/plan/*.c | sed 's|$|   -- a plan runs no signals|'
    only "the outside world is src/base/world.c" \
        '(^|[^_[:alnum:]])(printf|fprintf|vfprintf|puts|fputs|putchar|fopen|open|fread|fwrite|getenv|time|clock|clock_gettime|setlocale|system|rand)\(' \
        'src/base/world\.c|src/base/world_[a-z]+\.c'
    only "no stage ends the program" '(^|[^_[:alnum:]])(exit|_exit|abort|quick_exit)\(' 'src/main\.c|src/base/arena\.c'
    only "utf8proc is src/text/utf8.c's" 'include *<utf8proc' 'src/text/utf8\.c'
    only "cmark-gfm is src/text/'s" 'include *<cmark' 'src/text/'
)
[ -z "$found" ] || { printf '%s\n' "$found"; exit 1; }
