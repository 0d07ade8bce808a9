# Cuts a page of docs/messages/ into its example and the same put right:  awk -v out=FOLDER -f page.awk PAGE
#
#   wrong/, right/      the files of each; right/ has those of wrong/ too, where the page does not give them anew
#   wrong.commands      the commands that give the message, one a line
#   right.commands      those that do not
#   shown               the message as the page shows it
#   faults              what is wrong with the page itself
#
# A block called `trunnion` is example.trn, one called `markdown` example.trn.md; a path behind the word is the file's name.
# The message stands in a `text` block, or behind its commands in a `console` block. Blocks before it are the mistake, those
# after it the correction. Other commands for the correction stand in a `sh` block.

function fault(text) { print text >> (out "/faults") }

function store(folder, path, text,   under) {
    under = path
    if (sub(/\/[^\/]*$/, "", under)) system("mkdir -p '" out "/" folder "/" under "'")
    printf "%s", text > (out "/" folder "/" path)
    close(out "/" folder "/" path)
}

function keep(path, text) {
    if (!done) store("wrong", path, text)
    store("right", path, text)
    count[done ? "right" : "wrong"]++
    if (path ~ /^example\./) example = path
}

function finish(   words, n, lines, i) {
    n = split(info, words, " ")
    if (n == 2) keep(words[2], content)
    else if (words[1] == "trunnion") keep("example.trn", content)
    else if (words[1] == "markdown") keep("example.trn.md", content)
    else if (words[1] == "sh") right = right content
    else if (words[1] == "text" || words[1] == "console") {
        if (done) fault("shows two messages")
        done = 1
        if (words[1] == "text") { shown = content; return }
        n = split(content, lines, "\n")
        for (i = 1; i < n; i++) {
            if (lines[i] ~ /^\$ /) wrong = wrong substr(lines[i], 3) "\n"
            else shown = shown lines[i] "\n"
        }
    } else if (n) fault("has a block called " info)
}

!inside && /^```/ {
    match($0, /^`+/)
    fence = substr($0, 1, RLENGTH)
    info = substr($0, RLENGTH + 1)
    inside = 1; content = ""
    next
}
inside && $0 == fence { inside = 0; finish(); next }
inside { content = content $0 "\n" }
!inside && /^# / && !title { title = $0 }
END {
    if (title != "# " name) fault("is not called # " name)
    if (!done) fault("does not show its message")
    if (wrong == "" && example != "") wrong = "trunnion verify " example "\n"
    if (right == "") right = wrong
    else count["right"]++
    if (wrong != "" && !count["right"]) fault("does not show the correction")
    printf "%s", wrong > (out "/wrong.commands")
    printf "%s", right > (out "/right.commands")
    printf "%s", shown > (out "/shown")
}
