#!/bin/sh
# Every member of the library says what it is, and every formula where it comes from.
#
# A form, a choice, a `given`, a `maybe` and a `let` has a text that says what it is. Every rule, caution and table cites a source.
# So does a formula that multiplies, divides, raises to a power, differentiates, integrates or takes a root or an angle.
# What only passes on, adds, compares or chooses is plain arithmetic and needs none. `cites "definition"` stands where the formula is
# what its text says in words, such as a ratio.
cd "$(dirname "$0")/../.." || exit 2

found=$(LC_ALL=C awk '
    # The text without what stands in quotes; an empty pair of quotes is left.
    function unquoted(text,   result, i, c, inside) {
        gsub(/\\"/, "", text)
        for (i = 1; i <= length(text); i++) {
            c = substr(text, i, 1)
            if (c == "\"") { inside = !inside; if (!inside) result = result "\"\"" }
            else if (!inside) result = result c
        }
        return result
    }
    function complain(what) { printf "%s:%d: %s%s %s\n", path, line, form == "" ? "" : form ".", name, what }
    function judge(   bare, documented, formula) {
        bare = unquoted(record)
        record = ""
        if (kind == "form" || kind == "choice") {
            if (bare !~ /""/) complain("does not say what it is")
            return
        }
        if (kind == "rule" || kind == "caution") {
            if (bare !~ /cites/) complain("cites nothing")
            return
        }
        documented = bare
        gsub(/(valid|cites)[ \n]+("" *)+/, "", documented)
        if (documented !~ /""/) complain("does not say what it is")
        if (bare !~ /=/ || bare ~ /cites/) return
        formula = bare
        sub(/^[^=]*=[ \n]*/, "", formula)
        sub(/(""|within|varies with|settles from|needs|valid).*$/, "", formula)
        gsub(/[0-9.]+(e[-+]?[0-9]+)? +[A-Za-z%\200-\377][^ ,;)]*/, "0", formula) # quantities, such as 5 mm/rev
        if (formula ~ /^table/) complain("is a table and cites nothing")
        else if (formula ~ /[*^]| \/ |(sqrt|cbrt|exp|ln|a?sin|a?cos|a?tan2?|rate|accumulate|lag|integral|rms|mean)\(/)
            complain("computes something and cites nothing")
    }
    function begin(what, called) { kind = what; name = called; line = FNR; path = FILENAME }
    FNR == 1 { if (record != "") judge(); form = "" }
    { text = $0; sub(/^ *--.*$/, "", text) }
    /^(form|choice) / {
        if (record != "") judge()
        form = ""
        begin($1, $2)
        record = text
        judge()
        form = $1 == "form" ? $2 : ""
        members += $1 == "form"
        next
    }
    /^[a-z]/ { if (record != "") judge(); form = "" }
    form != "" && /^  (given|maybe|let|rule|caution) / { if (record != "") judge(); begin($1, $2); members++; record = " " }
    /^}/ { if (record != "") judge(); form = "" }
    record != "" { record = record text "\n" }
    END {
        if (record != "") judge()
        if (members < 500) print "stdlib/: only " members + 0 " members were found; this script no longer understands the library"
    }' stdlib/*.trn)
[ -z "$found" ] || { printf '%s\n' "$found"; exit 1; }
