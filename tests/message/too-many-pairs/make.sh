# 1001 jars and 1000 shelves; and 10 jars and 1000 shelves
awk 'BEGIN {
    head = "use \"pairings.trn\"\nform jar \"A jar\" { given mass : mass \"Mass\" }\nform shelf \"A shelf\" { given load : mass \"Load\" }\n" \
        "form jar-on-shelf : pairing \"Jars on shelves\" {\n  given jar : jar \"Jar\"\n  given shelf : shelf \"Shelf\"\n" \
        "  rule bears \"It bears\" { shall jar.mass <= shelf.load  cites \"common practice\" }\n}\n"
    for (i = 1; i <= 1000; i++) shelves = shelves "shelf shelf-" i " { load = 9 kg }\n"
    for (i = 1; i <= 1001; i++) jars = jars "jar jar-" i " { mass = 1 kg }\n"
    for (i = 1; i <= 10; i++) few = few "jar jar-" i " { mass = 1 kg }\n"
    printf "%s%s%s", head, shelves, jars > "many.trn"
    printf "%s%s%s", head, shelves, few > "few.trn"
}'
