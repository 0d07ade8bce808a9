# Reads what `--dump findings` says of a document, then the document; prints the table of run.sh, and a last line:
# passed, failed, sources, values, worked examples, widened (tabs between).

function quoted(line,    from, rest) { # the first text in quotes
    from = index(line, "\"")
    rest = substr(line, from + 1)
    return substr(rest, 1, length(rest) - index_last(rest))
}
function index_last(text,    i) { # bytes from the last quote to the end
    for (i = length(text); i > 0; i--) if (substr(text, i, 1) == "\"") return length(text) - i + 1
    return 0
}
function after_colon(text,    n, part) { n = split(text, part, ": "); return n > 1 ? part[n] : "" }
function before_colon(text,    tail) { tail = after_colon(text); return substr(text, 1, length(text) - length(tail) - 2) }
function number_of(text,    part) { split(text, part, " "); return part[1] }
function unit_of(text,    at) { at = index(text, " "); return at ? substr(text, at + 1) : "" }
# Half a unit of the last digit of a printed number: 0.43 -> 0.005, 1.58e-4 -> 0.5e-6, 3000 -> 0.5.
function half_unit(number,    mantissa, exponent, at) {
    mantissa = number
    exponent = 0
    at = index(number, "e")
    if (at) { mantissa = substr(number, 1, at - 1); exponent = substr(number, at + 1) + 0 }
    at = index(mantissa, ".")
    return 0.5 * 10 ^ (exponent - (at ? length(mantissa) - at : 0))
}
function abs(x) { return x < 0 ? -x : x }
function fail(why) { failed++; bad = 1; printf "FAILED %s, %s: %s\n", document, id, why }

FNR == NR { # ID: verdict, number unit, worst number unit
    at = index($0, ": ")
    said = substr($0, at + 2)
    comma = index(said, ", ")
    verdict[substr($0, 1, at - 1)] = comma ? substr(said, 1, comma - 1) : said
    found = comma ? substr(said, comma + 2) : ""
    comma = index(found, ", worst ")
    ours[substr($0, 1, at - 1)] = comma ? substr(found, 1, comma - 1) : found
    if (comma) worst[substr($0, 1, at - 1)] = substr(found, comma + 8)
    next
}
/^# / { printf "\n%s\n", substr($0, 3) }
/^## Worked example/ { examples++ }
/^source / { source = $2; sources++; title[source] = quoted($0); printf "  %s: %s\n", source, title[source] }
/^  §/ { clause[source " " $1] = quoted($0) }
/^requirement / { id = $2; what = quoted($0); low = ""; high = ""; from = ""; because = 0 }
/^  shall/ {
    line = $0
    sub(/^  shall +/, "", line)
    count = split(line, part, " <= ")
    low = part[1]
    high = part[count]
    if (count != 3) fail("needs the shape  shall LOW <= … <= HIGH")
}
/^  from/ { from = $2 " " $3 }
/^  because/ { because = 1 }
/^}/ && id != "" {
    bad = 0
    printed = after_colon(clause[from])
    if (what ~ /^Worst/) ours[id] = worst[id]
    value = number_of(printed) + 0
    if (printed == "") fail("its clause does not end in \": VALUE\"")
    else if (unit_of(low) != unit_of(printed) || unit_of(high) != unit_of(printed)) fail("its bounds are not in the printed unit")
    middle = (number_of(low) + number_of(high)) / 2
    width = (number_of(high) - number_of(low)) / 2
    scale = abs(value) + width
    if (width <= 0) fail("its bounds are not in order")
    if (because) widened++
    else if (abs(middle - value) > 1e-9 * scale) fail("its bounds do not lie evenly around " printed)
    else if (width > half_unit(number_of(printed)) * (1 + 1e-6)) fail("its bounds are wider than the last digit of " printed)
    if (verdict[id] != "met") fail("published " printed ", ours " ours[id] ", " (verdict[id] == "" ? "not judged" : verdict[id]))
    found = number_of(ours[id]) + 0
    if (!bad && what ~ /^Worst/ && abs(found - value) > half_unit(number_of(printed)) * (1 + 1e-6)) fail("the worst case is " ours[id] ", published " printed)
    if (!bad) passed++
    off = value != 0 ? sprintf("%+.2g %%", 100 * (found - value) / value) : sprintf("%+.2g", found)
    printf "    %-14s %s; given %s; published %s; ours %.6g%s; deviation %s%s\n",
        from, what, before_colon(clause[from]), printed, found, unit_of(ours[id]) == "" ? "" : " " unit_of(ours[id]), off,
        because ? " (see the document)" : ""
    values++
    id = ""
}
END { printf "%d\t%d\t%d\t%d\t%d\t%d\n", passed, failed, sources, values, examples, widened }
