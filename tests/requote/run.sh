#!/bin/sh
# Stale figures written anew:  sh tests/requote/run.sh PROGRAM
#
# What has to come of a file is asked to the byte, in every kind of paragraph and with every line end; a second run changes nothing.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
cd "$scratch" || exit 2

# ends NAME EXPECTED: the status of the last run.
ends() {
    if [ "$status" -eq "$2" ]; then tally_pass; else tally_fail "$1" "ends with $status and not with $2"; head -n 10 "$scratch/err"; fi
}

cat >program.md <<'EOF'
```trunnion
choice lid { ground  clamped }
form jar { given mass : mass  maybe height : length  given closed : lid  given sealed : truth  given label : text }
jar seed-jar { mass = 620 g ± 20 g  closed = ground  sealed = yes  label = "Papaver [2*]" }
cycle exchange { move -320 mm in 1.4 s as lower  hold 1 s  move 320 mm in 1.4 s as raise }
requirement LIFT-1 "It is quick" { shall exchange.lower.duration <= 1.5 s  from none "an example" }
```
EOF

# Each line before and after; what stands in both is left as it is.
cat >pairs <<'EOF'
# By [315 mm](#exchange.stroke), `[315 mm](#exchange.stroke)`|# By [320 mm](#exchange.stroke), `[315 mm](#exchange.stroke)`
|
Größe µ [**0.3** m](#exchange.stroke)  and [**0.4** m](#exchange.stroke)|Größe µ [**0.3** m](#exchange.stroke)  and [**0.3** m](#exchange.stroke)
  in [1.50 s](#exchange.lower.duration) [1.500 s](<#exchange.lower.duration> "t")|  in [1.40 s](#exchange.lower.duration) [1.400 s](<#exchange.lower.duration> "t")
at up to [0.25 m/s](#exchange.speed.peak), [Not|at up to [0.34 m/s](#exchange.speed.peak), [Met](#LIFT-1).
met](#LIFT-1).|
|
- [x](#exchange), [315](#exchange.stroke)|- [x](#exchange), [315](#exchange.stroke)
      [0.30&nbsp;m](#exchange.stroke); [-620 g](#seed-jar.mass)|      [0.32&nbsp;m](#exchange.stroke); [620 g](#seed-jar.mass)
|
> [6.1e2 g](#seed-jar.mass), [620 g +- 30 g](#seed-jar.mass)|> [6.2e2 g](#seed-jar.mass), [620 g ± 20 g](#seed-jar.mass)
> - [clamped](#seed-jar.closed) [No](#seed-jar.sealed) ["Rosa"](#seed-jar.label)|> - [ground](#seed-jar.closed) [Yes](#seed-jar.sealed) ["Papaver \[2\*\]"](#seed-jar.label)
|
\| a [1 g](#seed-jar.mass) \| b \|| \| a [620 g](#seed-jar.mass) \| b \|
\| --- \| --- \|| \| --- \| --- \|
\| \\\| [2 kg](#seed-jar.mass) \| [0.6 kg][m] [0.5 kg][m] \|| \| \\\| [1 kg](#seed-jar.mass) \| [0.6 kg][m] [0.6 kg][m] \|
|
[m]: #seed-jar.mass|[m]: #seed-jar.mass
|
EOF
awk -F'|' -v before=before.md -v after=after.md '
    {
        gsub(/\\\\\\\|/, "\001"); gsub(/\\\|/, "\002")
        left = $1; right = $2
        sub(/^ \002/, "\002", right)
        gsub(/\001/, "\\|", left); gsub(/\001/, "\\|", right); gsub(/\002/, "|", left); gsub(/\002/, "|", right)
        print left > before
        if (left !~ /^met\]/) print right > after
    }' pairs
cat program.md >>before.md
cat program.md >>after.md

# with NAME SED: both files so changed, in each kind of line end.
with() {
    sed "$2" before.md >a.trn.md
    sed "$2" after.md >wanted
    tally_run requote a.trn.md
    cp "$scratch/out" told
    ends "$1: [315](…) has no unit" 2
    tally_same "$1" wanted a.trn.md
    if grep -q 'figure-kind' "$scratch/err" && ! grep -q 'stale-figure' "$scratch/err"; then tally_pass
    else tally_fail "$1: what is left is not what is told"; fi
    cp a.trn.md once
    tally_run requote a.trn.md
    tally_same "$1, again" once a.trn.md
    sed -i 's/\[315\](#exchange.stroke)/[0.315 m](#exchange.stroke)/' a.trn.md
    tally_run requote a.trn.md
    ends "$1: all can be put right" 0
    tally_run requote a.trn.md
    ends "$1: all is fresh" 0
    if [ "$(cat "$scratch/out")" = "every quoted figure is fresh" ] && [ ! -s "$scratch/err" ]; then tally_pass
    else tally_fail "$1: it does not say that all is fresh"; fi
    tally_run verify a.trn.md
    ends "$1: it verifies" 0
}
return=$(printf '\r')
with "line ends LF" ''
with "line ends CR LF" "s/\$/$return/"
printf '\357\273\277' >bom && sed -i "1s/^/$(cat bom)/" before.md after.md
with "a byte-order mark" ''

if grep -qF 'a.trn.md:1.7: 315 mm → 320 mm' told && grep -qF 'a.trn.md:5.45: Not met → Met' told; then tally_pass
else tally_fail "the changes are not told"; cat told; fi

# Without a line end at the end of the file, and with a file that is used and not named.
mkdir -p used
printf '[3 s](#knock.duration)\n\n```trunnion\ncycle knock { move 1 mm in 1 s  move -1 mm in 1 s }\n```' >used/part.trn.md
cp used/part.trn.md kept
printf '```trunnion\nuse "used/part.trn.md"\n```\n\n[3 s](#knock.duration)' >b.trn.md
printf '```trunnion\nuse "used/part.trn.md"\n```\n\n[2 s](#knock.duration)' >wanted
tally_run requote b.trn.md
ends "a file that uses another" 0
tally_same "no line end at the end" wanted b.trn.md
tally_same "a used file is not written" kept used/part.trn.md
tally_run requote b.trn.md used/part.trn.md
if [ "$(tail -n 1 "$scratch/out")" = "1 figure written anew in 1 file" ]; then tally_pass; else tally_fail "a used file that is named is written"; fi

# A link stays a link, a mode a mode, and a file that may not be written is left, and told.
printf '[3 s](#knock.duration)\n\n```trunnion\ncycle knock { move 1 mm in 1 s  move -1 mm in 1 s }\n```\n' >real.trn.md
sed 's/3 s/2 s/' real.trn.md >wanted
chmod 640 real.trn.md
cp real.trn.md stale
ln -s real.trn.md link.trn.md
tally_run requote link.trn.md
tally_same "a file behind a link" wanted real.trn.md
if [ -L link.trn.md ] && [ "$(stat -c %a real.trn.md)" = 640 ]; then tally_pass; else tally_fail "the link or the mode is gone"; fi
if [ "$(id -u)" -ne 0 ]; then
    cp stale real.trn.md
    chmod 440 real.trn.md
    tally_run requote real.trn.md
    ends "a file that may not be written" 3
    if grep -q 'was not written' "$scratch/err" && grep -q 'stale-figure' "$scratch/err"; then tally_pass; else tally_fail "it is not told that a file was not written"; fi
    chmod 640 real.trn.md
fi
tally_run requote missing.trn.md
ends "a file that is not there" 3
tally_run requote
ends "no file" 2
tally_run requote --format html real.trn.md
ends "an option of another command" 2
tally_close
