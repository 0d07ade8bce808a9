# Compares what came of an example with what is expected; prints what is missing.
#   awk -f compare.awk expected values spoken errors     with -v status=N
# A line "path = value" is a whole line of `values`. Another line occurs in `spoken`, white space counting as one space,
# because the program breaks its lines. Each error and warning of the program must be expected.

function squeezed(text) { gsub(/[ \t\r]+/, " ", text); sub(/^ /, "", text); sub(/ $/, "", text); return text }

FILENAME == ARGV[1] { if (squeezed($0) != "") expected[++count] = squeezed($0); next }
FILENAME == ARGV[2] { values[squeezed($0)] = 1; next }
FILENAME == ARGV[3] { spoken = spoken " " squeezed($0); next }
FILENAME == ARGV[4] && /(^|: )(error|warning): / { errors[++error_count] = squeezed($0); next }

END {
    spoken = squeezed(spoken)
    due = 0
    for (i = 1; i <= count; i++) {
        line = expected[i]
        if (line ~ /^exit status [0-9]+$/) { due = substr(line, 13) + 0; continue }
        if (line ~ /^[^ ]+ = /) { if (!(line in values)) said(line) }
        else if (index(spoken, line) == 0) said(line)
    }
    for (k = 1; k <= error_count; k++) {
        known = 0
        for (i = 1; i <= count; i++) if (expected[i] ~ /(error|warning): / && index(errors[k], expected[i])) known = 1
        if (!known) print "  it is not said that this comes: " errors[k]
    }
    if (status + 0 != due) print "  the exit status is " status ", not " due
}

function said(line,   path, v) {
    print "  missing: " line
    path = line
    if (sub(/ = .*/, "", path)) for (v in values) if (index(v, path " = ") == 1) print "  instead: " v
}
