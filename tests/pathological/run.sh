#!/bin/sh
# Whatever it is given, the program ends by itself, soon, and with a status from 0 to 3:
#   sh tests/pathological/run.sh PROGRAM
#
# First files and folders that are strange on purpose, then torn copies of every example and of the standard library
# (torn.c). TORN=N sets the copies of each file (else 3,000 in all); KEEP=FOLDER is where copies that break the program are kept.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
keep=${KEEP:-${TMPDIR:-/tmp}/trunnion-torn-$$}
here=$(pwd)

"${CC:-cc}" -std=c11 -D_POSIX_C_SOURCE=200809L -O1 -Wall -Wextra -o "$scratch/torn" tests/pathological/torn.c || {
    tally_fail "torn.c" "does not compile"
    tally_close
}
mkdir "$scratch/odd"
cd "$scratch/odd" || exit 2

# ends "which" STATUSES: the last run's status is one of them, given as a bracket's content ("0-3").
ends() {
    case "$status" in
    [$2]) tally_pass ;;
    124) tally_fail "$1" "not done after 10 s" ;;
    *)
        tally_fail "$1" "exit status $status, where it should be one of $2"
        grep -E 'ERROR:|runtime error|ssertion|^ +#' "$scratch/err" | head -n 12
        ;;
    esac
}

# on "which" STATUSES [FILE]: verify FILE, or odd.trn, which is what standard input holds.
on() {
    [ -n "${3:-}" ] || cat >odd.trn
    tally_run verify "${3:-odd.trn}"
    ends "$1" "$2"
}

# repeat N TEXT: no line ends but those in TEXT, as \n.
repeat() { awk -v n="$1" -v text="$2" 'BEGIN { for (i = 0; i < n; i++) printf "%s", text }'; }
# formula: a form with one derived member, whose formula is standard input.
formula() { printf 'form f "A form" { let x : length = '; cat; printf ' }\nf a { }\n'; }

# ---- Files that are hardly files -----------------------------------------------------------------------------------

: >empty.trn
on "empty file" 0-2 empty.trn
cp empty.trn empty.trn.md
on "empty literate file" 0-2 empty.trn.md
on "no such file" 3 missing.trn
on "a path through a file" 3 empty.trn/x.trn
mkdir folder.trn
on "a folder" 3 folder.trn
mkfifo pipe.trn
on "a pipe that nobody writes to" 3 pipe.trn
ln -s loop.trn loop.trn
on "a link to itself" 3 loop.trn
on "an endless device" 23 /dev/zero
on "an empty path" 23 ""
if [ "$(id -u)" -ne 0 ]; then
    echo 'choice c { a b }' >secret.trn
    chmod 000 secret.trn
    on "a file that may not be read" 3 secret.trn
fi
on "a name of 300 letters" 23 "$(repeat 300 a).trn"
printf 'choice c { a b }\n' >fine.trn
tally_run verify fine.trn fine.trn
ends "the same file twice" 0-2
tally_run
ends "no arguments" 0-3
tally_run verify
ends "verify without a file" 23
tally_run frobnicate fine.trn
ends "a command there is not" 23
tally_run verify fine.trn --frobnicate
ends "an option there is not" 23
tally_run verify fine.trn --accept
ends "an option without its word" 23
tally_run report fine.trn --output
ends "an output without its path" 23
tally_run report fine.trn --format pigeon --output x
ends "a format there is not" 23
tally_run report fine.trn --format text --output no/such/folder/x.txt
ends "an output in no folder" 3
tally_run report fine.trn --format text --output folder.trn
ends "an output that is a folder" 3

# A full disk and a closed stream: what could not be said was not said.
status=0
timeout -k 2 10 "$program" --help >/dev/full 2>"$scratch/err" </dev/null || status=$?
ends "help onto a full disk" 3
status=0
timeout -k 2 10 "$program" --version >&- 2>"$scratch/err" </dev/null || status=$?
ends "version onto a closed stream" 3
status=0
timeout -k 2 10 "$program" verify missing.trn >/dev/null 2>&- </dev/null || status=$?
ends "a message onto a closed stream" 3

# ---- Bytes ---------------------------------------------------------------------------------------------------------

printf '\000\000\000' | on "zero bytes" 2
printf 'choice c { a\000b }\n' | on "a zero byte in a name" 2
printf '\377\376c\000h\000' | on "UTF-16" 2
printf '\357\273\277choice c { a b }\n' | on "a byte order mark" 0-2
printf 'choice c { \342\200\256a b }\n' | on "a control character that turns the reading direction" 2
printf 'choice c { \303' | on "a letter cut in half" 2
printf 'choice c "not closed' | on "a text that is not closed" 2
printf 'choice c { a b }\r\nchoice d { a b }\r' | on "line ends of other machines" 0-2
repeat 1000000 a | on "a name of a megabyte" 0-2
{ printf 'choice c { '; repeat 200000 'word '; printf '}'; } | on "a line of a megabyte" 0-2
{ printf 'choice c "'; repeat 1000000 x; printf '" { a b }\n'; } | on "a text of a megabyte" 0-2
{ printf -- '-- '; repeat 1000000 x; } | on "a comment of a megabyte" 0-2
repeat 1000000 '\n' | on "a million empty lines" 0-2
repeat 200000 '" ' | on "two hundred thousand quotes" 2
{ printf 'choice c { e'; repeat 200000 "$(printf '\314\201')"; printf ' }\n'; } | on "a letter with 200,000 accents" 0-2

# ---- Nesting -------------------------------------------------------------------------------------------------------

for depth in 100 1000 200000; do
    { repeat $depth '('; printf '1 m'; repeat $depth ')'; } | formula | on "$depth parentheses" 0-2
    { repeat $depth '('; printf '1 m'; } | formula | on "$depth open parentheses" 2
    { repeat $depth '- '; printf '1 m'; } | formula | on "$depth signs" 0-2
    { repeat $depth 'not '; printf 'yes'; } | formula | on "$depth negations" 0-2
    { repeat $depth 'if yes then '; printf '1 m'; } | formula | on "$depth times if" 2
    { repeat $depth 'if yes then 1 m else '; printf '1 m'; } | formula | on "$depth times else" 0-2
    { printf '1 m'; repeat $depth ' + 1 m'; } | formula | on "$depth terms" 0-2
    { printf '2'; repeat $depth ' ^ 2'; } | formula | on "$depth powers" 0-2
    { repeat $depth 'sqrt('; printf '1 m'; repeat $depth ')'; } | formula | on "$depth calls" 0-2
    { printf 'a'; repeat $depth '.a'; } | formula | on "a path of $depth names" 0-2
    { printf 'f a { '; repeat $depth 'x = f { '; repeat $depth '} '; printf '}\n'; } | on "$depth things in things" 0-2
    { printf 'f a { '; repeat $depth 'x = f { '; } | on "$depth open things" 2
    repeat $depth '}' | on "$depth closing braces" 2
    { printf 'unit u = 1 '; repeat $depth '('; printf 'm'; repeat $depth ')'; printf '\n'; } | on "a unit in $depth parentheses" 0-2
    { printf 'form f { let x : length = 1 '; repeat $depth 'm·'; printf 'm }\n'; } | on "a unit of $depth factors" 0-2
done
awk 'BEGIN { for (i = 1; i < 20000; i++) printf "form f%d : f%d { }\n", i, i - 1; print "form f0 { }" }' |
    on "forms that descend 20,000 deep" 0-2
awk 'BEGIN { print "form f {"; for (i = 1; i < 20000; i++) printf "let x%d : length = x%d + 1 m\n", i, i - 1;
    print "let x0 : length = 1 m }\nf a { }" }' | on "facts that follow 20,000 deep" 0-2
awk 'BEGIN { print "form f {"; for (i = 0; i < 40; i++) printf "let x%d : length = x%d + x%d\n", i, i + 1, i + 1;
    print "let x40 : length = 1 m }\nf a { }" }' | on "facts that double forty times" 0-2
awk 'BEGIN { for (i = 0; i < 20000; i++) printf "choice c { a b }\n" }' | on "the same name 20,000 times" 2
awk 'BEGIN { for (i = 0; i < 20000; i++) printf "form form form\n" }' | on "20,000 mistakes" 2

# ---- Circles and paths ---------------------------------------------------------------------------------------------

printf 'form f : f { }\nf a { }\n' | on "a form that descends from itself" 2
printf 'form f : g { }\nform g : f { }\nf a { }\n' | on "two forms that descend from each other" 2
printf 'form f { let x : length = x }\nf a { }\n' | on "a fact that follows from itself" 2
printf 'form f { given x : f }\nf a { x = a }\n' | on "a thing that holds itself" 0-2
printf 'form f { given x : f }\nf a { x = b }\nf b { x = a }\n' | on "two things that hold each other" 0-2
printf 'unit a = 1 b\nunit b = 1 a\n' | on "two units made of each other" 0-2
echo 'use "self.trn"' >self.trn
on "a file that uses itself" 0-2 self.trn
echo 'use "two.trn"' >one.trn
echo 'use "one.trn"' >two.trn
on "two files that use each other" 0-2 one.trn
for path in ../../../../../../etc/passwd /etc/passwd "" . .. / '*' '**' '../*' '[' '\\' folder.trn pipe.trn loop.trn \
    "$(repeat 5000 a)" "$(repeat 2000 ../)x.trn"; do
    printf 'use "%s"\n' "$path" | on "use of $(printf '%s' "$path" | cut -c 1-40)" 0-3
done

# ---- Numbers -------------------------------------------------------------------------------------------------------

for number in 1e308 1e309 1e-400 1e999999999999 "$(repeat 100000 9)" "0.$(repeat 100000 0)1" 1. .5 1e 1e+ 1..2 0x10 ; do
    printf '%s m' "$number" | formula | on "the number $(printf '%s' "$number" | cut -c 1-20)" 0-2
done
for formula in '1 m / 0' '0 / 0' '(0 - 1) ^ 0.5' 'sqrt(0 m^2 - 1 m^2)' '1e300 * 1e300 * 1 m' '1 m^99999999999' '2 ^ 1e9' '1 m ± 1e400 %' \
    '2 m to 1 m' '1 m to 2 m nominal 3 m' '1 m at 2 m'; do
    printf '%s' "$formula" | formula | on "$formula" 0-2
done

# ---- Literate files ------------------------------------------------------------------------------------------------

# prose "which" STATUSES: standard input as a literate file.
prose() {
    cat >odd.trn.md
    on "$1" "$2" odd.trn.md
}
printf '```trunnion\nchoice c { a b }\n' | prose "a fence that is not closed" 0-2
printf '> ```trunnion\n> choice c { a b }\n> ```\n' | prose "a fence in a quotation" 0-2
printf -- '- - - ```trunnion\n      choice c { a b }\n      ```\n' | prose "a fence in a list in a list" 0-2
repeat 20000 '> ' | prose "20,000 quotations deep" 0-2
repeat 20000 '- ' | prose "20,000 lists deep" 0-2
repeat 100000 '[' | prose "100,000 brackets" 0-2
repeat 50000 '[a](#b' | prose "50,000 open links" 0-2
repeat 50000 '*a_ ' | prose "50,000 stresses" 0-2
{ printf '[1 m](#'; repeat 50000 'a.'; printf ')\n'; } | prose "a path of 50,000 names" 0-2
{ printf '['; repeat 50000 '9'; printf ' m](#knock.stroke)\n\n```trunnion\ncycle knock { move 1 m in 1 s  move -1 m in 1 s }\n```\n'; } | prose "a figure of 50,000 digits" 2
{ repeat 20000 '[1 m](#knock.stroked) '; printf '\n\n```trunnion\ncycle knock { move 1 m in 1 s  move -1 m in 1 s }\n```\n'; } | prose "20,000 figures from nowhere" 2
{ repeat 20000 '[2&nbsp;m](#k&#110;ock.stroke) '; printf '\n\n```trunnion\ncycle knock { move 1 m in 1 s  move -1 m in 1 s }\n```\n'; } | prose "20,000 figures in entities" 2
repeat 20000 '# Same

' | prose "20,000 headings of the same words" 0-2
repeat 20000 '[1 m](#a.b) ' | prose "20,000 quoted figures" 0-2
{ printf '|'; repeat 5000 'a|'; printf '\n|'; repeat 5000 '-|'; printf '\n'; repeat 500 '|x\n'; } | prose "a table of 5,000 columns" 0-2
awk 'BEGIN { for (i = 0; i < 20000; i++) printf "```trunnion\nchoice c%d { a b }\n```\n", i }' | prose "20,000 blocks" 0-2

# ---- Torn files ----------------------------------------------------------------------------------------------------

cd "$scratch" || exit 2
cp -R "$here/examples" "$here/stdlib" "$scratch" || exit 2
find examples stdlib -name '*.trn.md' -o -name '*.trn' | LC_ALL=C sort >files
count=$(wc -l <files)
copies=${TORN:-$((count ? 3000 / count : 0))}
seed=1
while IFS= read -r file; do
    "$scratch/torn" "$program" "$file" "$copies" "$seed" "$keep-$(basename "$file")" >torn.log 2>&1 </dev/null
    closing=$(tail -n 1 torn.log)
    case "$closing" in
    *" passed, 0 failed") tally_pass ;; # a file counts once, however often it was torn
    *)
        sed '$d' torn.log
        tally_fail "$copies torn copies of $file" "$closing"
        ;;
    esac
    seed=$((seed + 1))
done <files
[ "$seed" -gt 1 ] || tally_fail "torn copies" "there are no files to tear"
tally_close
