# Cuts a page into its examples: one folder for each, under `out`.
#
#   NNNN/files/…    what the example consists of; its program text is example.trn
#   NNNN/commands   lines "trunnion …", when the page gives its own
#   NNNN/expected   what has to come of it
#   NNNN/place      page and line
#
# What the fences mean is told in docs/language/README.md. Faults of the page itself go to `out`/faults.

function fault(line, text) { print page ":" line ": " text >> (out "/faults") }

function store(path, text) {
    if (!(path in files)) order[++paths] = path
    files[path] = files[path] text
}

function forget(   p) {
    for (p in files) delete files[p]
    paths = 0
    open_block = commands = ""
    unchecked = 0
}

function folder_of(path) {
    return match(path, /\/[^\/]*$/) ? substr(path, 1, RSTART - 1) : ""
}

function emit(   i, base, path, folder) {
    if (!unchecked && commands == "") { fault(began, "there is nothing before this block that it could be the result of"); return }
    base = sprintf("%s/%s-%04d", out, stem, ++count)
    system("mkdir -p '" base "/files'")
    for (i = 1; i <= paths; i++) {
        path = order[i]
        folder = folder_of(path)
        if (folder != "") system("mkdir -p '" base "/files/" folder "'")
        printf "%s", files[path] > (base "/files/" path)
        close(base "/files/" path)
    }
    printf "%s", content > (base "/expected")
    printf "%s:%d\n", page, began > (base "/place")
    close(base "/expected"); close(base "/place")
    if (commands != "") { printf "%s", commands > (base "/commands"); close(base "/commands") }
    # What is shown as a mistake is not part of what follows.
    if (content ~ /(^|\n)exit status 2(\n|$)/) files["example.trn"] = before
    before = files["example.trn"]
    commands = ""
    unchecked = 0
}

function finish_block(   words, n) {
    n = split(info, words, /[ \t]+/)
    if (words[1] == "trunnion" && n >= 2 && words[2] == "new") {
        if (unchecked) fault(began, "the example before this one is not checked")
        forget(); before = ""
        store("example.trn", content); unchecked = began
    } else if (words[1] == "trunnion" && n >= 2) { store(words[2], content); unchecked = began
    } else if (words[1] == "trunnion") { store("example.trn", content); unchecked = began
    } else if ((words[1] == "markdown" || words[1] == "text" || words[1] == "csv") && n >= 2) { store(words[2], content); unchecked = began
    } else if (words[1] == "text") emit()
    else if (words[1] == "sh") commands = content
}

BEGIN { stem = page; gsub(/[^A-Za-z0-9]+/, "-", stem); before = "" }

!inside && /^ ? ? ?(```+|~~~+)/ {
    match($0, /(```+|~~~+)/)
    fence = substr($0, RSTART, RLENGTH)
    info = substr($0, RSTART + RLENGTH)
    sub(/^[ \t]+/, "", info); sub(/[ \t\r]+$/, "", info)
    inside = 1; content = ""; began = NR
    next
}
inside {
    line = $0
    sub(/^ ? ? ?/, "", line); sub(/[ \t\r]+$/, "", line)
    if (substr(line, 1, length(fence)) == fence && line ~ ("^" substr(fence, 1, 1) "+$")) { inside = 0; finish_block(); next }
    content = content $0 "\n"
}
END {
    if (inside) fault(began, "this block is never closed")
    if (unchecked) fault(unchecked, "this example is not checked")
}
