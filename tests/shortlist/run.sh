#!/bin/sh
# Sets of parts worked out by hand:  sh tests/shortlist/run.sh PROGRAM
#
# A hoist has to turn a load of 10 N·m ± 1 N·m. Its margins are (T·r - load) / (T·r), for the motor's torque T and the gearhead's ratio r,
# and (limit - load) / limit of the gearhead; the smaller one counts. In percent, at 10 N·m and at 11 N·m:
#
#              T         Bog: r 5, limit 12 N·m   Dell: r 10, limit 10.5 N·m   Fen: r 20, limit 40 N·m
#   Crow     1 N·m       5 < 10, no               0          11 > 10           50 %       45 %
#   Heron    2 N·m       0       11 > 10          4.8 %      11 > 10.5         75 %       72.5 %
#   Tern   0.4 N·m       2, no                    4, no                        8, no
#   Swan     5 N·m       16.7 %  8.3 %            4.8 %      11 > 10.5         75 %       72.5 %
#
# So 8 of 12 work at nominal values, and 4 over the bounds. Masses: Crow 100 g, Heron 300 g, Tern 50 g, Swan does not say; Bog 200 g, Dell 300 g, Fen 500 g.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
cd "$scratch" || exit 2

cat >parts.trn <<'END'
form motor "Motor" { given torque : torque  maybe mass : mass  maybe width : length }
form slow-motor : motor "Motor for slow work"
{ given brushes : truth = no }
form gear "Gearhead" { given ratio : ratio  given limit : torque  given mass : mass }
form hoist "Hoist" {
  given motor : motor
  given gear  : gear
  given load  : torque
  maybe width : length
  rule torque "The motor turns the load" { shall load <= motor.torque * gear.ratio  cites "worked by hand" }
  rule limit "The gearhead stands the load" { shall load <= gear.limit  cites "worked by hand" }
  rule width "The motor goes between the rails" { when stated(width) and stated(motor.width)  shall motor.width <= width  cites "worked by hand" }
  rule quiet "The gearhead is not driven too fast" { should gear.ratio <= 15  cites "worked by hand" }
}
motor Crow { torque = 1 N·m  mass = 100 g  width = 20 mm }
motor Heron { torque = 2 N·m  mass = 300 g  width = 30 mm }
motor Tern { torque = 0.4 N·m  mass = 50 g }
slow-motor Swan { torque = 5 N·m  width = 40 mm }
gear Bog { ratio = 5  limit = 12 N·m  mass = 200 g }
gear Dell { ratio = 10  limit = 10.5 N·m  mass = 300 g }
gear Fen { ratio = 20  limit = 40 N·m  mass = 500 g }
END
cat >hoist.trn <<'END'
use "parts.trn"
hoist lift { motor = any motor  gear = any gear  load = 10 N·m ± 1 N·m }
END

# ends NAME STATUS: the status of the last run.
ends() {
    if [ "$status" -eq "$2" ]; then tally_pass; else tally_fail "$1" "ends with $status and not with $2"; cat "$scratch/out" "$scratch/err"; fi
}
# sets NAME: the rows of a CSV, without their margins, are those on the standard input.
sets() {
    cat >"$scratch/due"
    tr -d '\r' <"$scratch/out" | sed -e 1d >"$scratch/rows"
    tally_same "$1" "$scratch/due" "$scratch/rows"
}
# says NAME WORDS: the last run said so; white space counts as one space.
says() {
    tr -s ' \n' '  ' <"$scratch/out" >"$scratch/line"
    if grep -qF -- "$2" "$scratch/line"; then tally_pass; else tally_fail "$1" "does not say: $2"; cat "$scratch/out"; fi
}
csv() { tally_run shortlist --format csv "$@"; }

csv hoist.trn lift
ends 'over bounds' 0
sets 'over bounds, by margin' <<'END'
1,Heron,Fen,72 %,lift.torque
2,Swan,Fen,72 %,lift.limit
3,Crow,Fen,45 %,lift.torque
4,Swan,Bog,8.3 %,lift.limit
END
csv hoist.trn lift --nominal
sets 'at nominal values' <<'END'
1,Heron,Fen,75 %,lift.torque
2,Swan,Fen,75 %,lift.limit
3,Crow,Fen,50 %,lift.torque
4,Swan,Bog,17 %,lift.limit
5,Heron,Dell,4.8 %,lift.limit
6,Swan,Dell,4.8 %,lift.limit
7,Crow,Dell,0.0 %,lift.torque
8,Heron,Bog,0.0 %,lift.torque
END
csv hoist.trn lift --by mass
sets 'by mass; what is not known comes last' <<'END'
1,Crow,Fen,600 g,45 %,lift.torque
2,Heron,Fen,800 g,72 %,lift.torque
3,Swan,Fen,,72 %,lift.limit
4,Swan,Bog,,8.3 %,lift.limit
END
csv hoist.trn lift --by 'motor.torque * gear.ratio' --most 3
sets 'by an expression' <<'END'
1,Crow,Fen,20 N·m,45 %,lift.torque
2,Swan,Bog,25 N·m,8.3 %,lift.limit
3,Heron,Fen,40 N·m,72 %,lift.torque
END
csv hoist.trn lift --by 'lift.gear.mass' --most 1
sets 'by a path of the specification' <<'END'
1,Swan,Bog,200 g,8.3 %,lift.limit
END

tally_run shortlist hoist.trn lift
says 'the sum' 'lift has 2 open slots, and its libraries have 12 sets of parts for it. 8 sets work at nominal values, and 4 over all bounds.'
says 'advice' 'Advice that is not followed 1 lift.quiet 2 lift.quiet 3 lift.quiet'
# Torque at nominal values: Crow and Bog, Tern three times. Over its bounds, too: Crow and Dell, Heron and Bog. The nearest misses by (11 - 10) / 10.
says 'what sets fall to' '6 lift.torque nearest Crow, Dell: 11 N·m, at most 10 N·m; off by 10 %'
says 'and to' '3 lift.limit nearest Heron, Dell: 11 N·m, at most 10.5 N·m; off by 4.8 %'
says 'the nearest' 'Nearest to working Heron and Dell lift.limit: 11 N·m, at most 10.5 N·m; off by 4.8 % Swan and Dell lift.limit'

# ---- cards by themselves ----
sed 's/any motor/any motor where width <= 35 mm/; s/any gear /any gear where mass < 500 g and ratio > 5/' hoist.trn >where.trn
csv where.trn lift --nominal
sets 'where' <<'END'
1,Heron,Dell,4.8 %,lift.limit
2,Crow,Dell,0.0 %,lift.torque
END
tally_run shortlist where.trn lift --nominal
# Swan is too wide by 5 mm of 35 mm; Tern does not say.
says 'cards ruled out' '2 lift.motor.where nearest Swan: 40 mm, at most 35 mm; off by 14 % not known of 1: Tern.width is not stated'
says 'a gearhead with a margin of nought' 'lift.gear, any gear where mass < 500 g and ratio > 5: 2 of 3'
sed 's/any motor/any slow-motor/' hoist.trn >slow.trn
csv slow.trn lift --nominal
sets 'only what descends from the form' <<'END'
1,Swan,Fen,75 %,lift.limit
2,Swan,Bog,17 %,lift.limit
3,Swan,Dell,4.8 %,lift.limit
END
# Tern does not say its width, and so the rule does not apply to it; it turns nothing all the same.
sed 's/load = /width = 25 mm  load = /' hoist.trn >narrow.trn
csv narrow.trn lift
sets 'a rule that applies where a fact is stated' <<'END'
1,Crow,Fen,20 %,lift.width
END
tally_run shortlist narrow.trn lift
says 'cards that a rule rules out' 'lift.motor, any motor: 2 of 4 2 lift.width nearest Heron: 30 mm, at most 25 mm; off by 20 %'

# A card that would end every check says nothing of the specification.
{ cat parts.trn; echo 'motor Auk { torque = 3 mm }'; echo 'motor Rail { mass = 1 kg }'; } >faulty.trn
sed 's/parts/faulty/' hoist.trn >faulty-hoist.trn
csv faulty-hoist.trn lift --most 1
ends 'faulty cards' 0
sets 'faulty cards' <<'END'
1,Heron,Fen,72 %,lift.torque
END
tally_run shortlist faulty-hoist.trn lift
says 'faulty cards' '2 with mistakes of their own, Auk the first'

# ---- what no choice changes, what is conceded, what does not fit ----
cat hoist.trn - >fixed.trn <<'END'
hoist other { motor = Tern  gear = Fen  load = 10 N·m }
requirement L-1 "It holds a little more" { shall lift.gear.limit >= 41 N·m  from none "an example" }
concession C-1 "Until the new gearhead is there" { covers L-1  by "M. Okafor"  because "Nobody is under it."  until "2027-03-31" }
END
csv fixed.trn lift --on 2026-11-25
ends 'something else is not met' 1
sets 'a conceded requirement rules nothing out' <<'END'
1,Heron,Fen,72 %,lift.torque
2,Swan,Fen,72 %,lift.limit
3,Crow,Fen,45 %,lift.torque
4,Swan,Bog,8.3 %,lift.limit
END
tally_run shortlist fixed.trn lift --on 2026-11-25
says 'what no choice changes comes first' 'Whatever is chosen not met other.torque: The motor turns the load lift has'
csv fixed.trn lift --on 2027-04-01
ends 'no set works' 1
sets 'the concession has lapsed' </dev/null
tally_run shortlist fixed.trn lift --on 2027-04-01
says 'no set works' 'No set works.'
says 'what they fall to' '3 L-1 nearest Fen: 40 N·m, at least 41 N·m; off by 2.4 %'

# The gearhead is named, so its limit does not rest on the choice, and Swan has (100 - 10) / 100.
cat >pair.trn <<'END'
use "parts.trn"
form portal { given left : hoist  given right : hoist  rule alike "Both have one motor" { shall left.motor.torque = right.motor.torque  cites "worked by hand" } }
hoist one { motor = any motor  gear = Fen  load = 10 N·m }
hoist two { motor = any motor  gear = Fen  load = 10 N·m }
portal frame { left = one  right = two }
END
csv pair.trn frame
sets 'slots of parts that the thing holds' <<'END'
1,Swan,Swan,90 %,one.torque
2,Heron,Heron,75 %,one.torque
3,Crow,Crow,50 %,one.torque
END
csv pair.trn one
sets 'what waits for another slot rules nothing out' <<'END'
1,Swan,90 %,one.torque
2,Heron,75 %,one.torque
3,Crow,50 %,one.torque
END
tally_run shortlist pair.trn one
says 'and is told' '1 requirement or rule rests on open slots of other things too'

# ---- writing ----
cp hoist.trn written.trn
tally_run shortlist written.trn lift --write
ends 'writes' 0
sed 's/any motor/Heron/; s/any gear/Fen/' hoist.trn >"$scratch/due"
tally_same 'writes the best' "$scratch/due" written.trn
says 'tells what it wrote' 'written.trn:2: lift.motor = Heron written.trn:2: lift.gear = Fen'
tally_run verify written.trn
ends 'what is written is met' 0
for wrong in --pick=5 --pick=0; do
    cp hoist.trn written.trn
    tally_run shortlist written.trn lift --write $wrong
    ends "$wrong" 2
    tally_same "$wrong writes nothing" hoist.trn written.trn
done
chmod 555 . && chmod 444 written.trn
if [ -w written.trn ]; then tally_pass; else # not as root
    tally_run shortlist written.trn lift --write
    ends 'a file that cannot be written' 3
    tally_same 'it is as it was' hoist.trn written.trn
fi
chmod 755 . && chmod 644 written.trn

# ---- odd files ----
: >empty.trn
tally_run shortlist empty.trn lift
ends 'an empty file' 2
head -c 45 hoist.trn >torn.trn
tally_run shortlist torn.trn lift
ends 'a torn file' 2
printf 'use "parts.trn"\nhoist lift { motor = any motor where  gear = Fen  load = 10 N·m }\n' >no-condition.trn
tally_run shortlist no-condition.trn lift
ends 'a condition that is missing' 2
printf 'form loop { given next : loop }\nloop a { next = any loop }\nloop b { next = a }\nloop c { next = c }\n' >loop.trn
tally_run shortlist loop.trn b
if [ "$status" -le 2 ]; then tally_pass; else tally_fail 'things that hold themselves' "status $status"; fi

# A search that takes long ends when it is asked to, and says so. 160⁵ sets, of which hardly anything can be said together.
{
    cat parts.trn
    echo 'form three { given a : motor  given b : motor  given c : motor  given d : motor  given e : motor  let t : torque = a.torque + b.torque * 1.01 + c.torque * 1.0203 + d.torque * 1.030405 + e.torque * 1.04  rule r "r" { shall sin(t / 0.0013 N·m) >= 0.99999 cites "c" } }'
    i=0
    while [ $i -lt 160 ]; do echo "motor Wren-$i { torque = $i N·m }"; i=$((i + 1)); done
} >many.trn
printf 'use "many.trn"\nthree lift { a = any motor  b = any motor  c = any motor  d = any motor  e = any motor }\n' >long.trn
cp long.trn kept.trn
for signal in INT TERM; do
    status=0
    timeout --preserve-status -s "$signal" -k 20 1 "$program" shortlist long.trn lift --write >"$scratch/out" 2>"$scratch/err" </dev/null || status=$?
    ends "$signal" 2
    says "$signal" 'STOPPED: this is a part of the answer, after'
    says "$signal names one of many" ', for one: '
    tally_same "$signal writes nothing" kept.trn long.trn
done
tally_close
