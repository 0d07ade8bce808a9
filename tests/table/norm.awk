# A dump of trees without the order of things, of fields, and of titles: a line for each thing, its fields sorted.
function flush_thing(    i, j, t) {
    if (thing == "") return
    for (i = 2; i <= fields; i++) {
        t = field[i]
        for (j = i - 1; j >= 1 && field[j] > t; j--) field[j + 1] = field[j]
        field[j + 1] = t
    }
    for (i = 1; i <= fields; i++) thing = thing "\n" field[i]
    gsub(/\n/, "\001", thing)
    print thing
    thing = ""; fields = 0
}
/^filled / { flush_thing(); thing = $0; next }
/^[^ ]/ { flush_thing(); next } # what is no card
thing == "" { next }
/^  [^ ]/ { field[++fields] = $0; next }
{ field[fields] = field[fields] "\n" $0 }
END { flush_thing() }
