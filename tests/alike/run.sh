#!/bin/sh
# Axes of one shape share a program: does each get the verdicts that it gets alone?  sh tests/alike/run.sh PROGRAM
#
# The same 24 axes are checked twice: as plain program text, where those that are alike are judged by one program, and as a
# literate file, where each is compiled for itself. Everything that is said and printed has to be the same but for the file's
# name. Then one or two of them are changed: too slow, too heavy, without a value, wrong, open, with bounds, with an exponent.
cd "$(dirname "$0")/../.." || exit 2
. tests/tally.sh
program=$(tally_program "${1:-}") || exit 2
cp -R examples/jar-handler/parts "$scratch/parts"
cd "$scratch" || exit 2

# axes COUNT: program text of so many.
axes() {
awk -v count="$1" 'BEGIN {
    print "use \"axis.trn\"\nuse \"parts/*.trn\"\n"
    print "form tray \"A tray\" { given width : length  given depth : length = 2 * width within 60 %  given count : count  let area : area = width * depth ^ 2 / 1 m  let half : number = if count = 4 then 1 else 2 }"
    for (i = 1; i <= count; i++) {
        stroke = 250 + 7 * (i % 20); time = 1.3 + 0.01 * (i % 12)
        print "cycle exchange-" i " \"Cycle " i "\" {"
        print "  move -" stroke " mm in " time " s by " (i % 2 ? "cycloidal" : "trapezoidal") " as lower { payload = " 0.5 + 0.01 * (i % 30) " kg }"
        print "  hold 1.2 s as press { payload = 0.6 kg  thrust = -" 8 + i % 16 / 4 " N }"
        print "  move " stroke " mm in " time + 0.2 " s by cycloidal as raise"
        print "  hold " 4 + i % 50 / 10 " s\n}"
        print "slide carriage-" i " { motion = exchange-" i "  mass = " 1.5 + i % 25 / 50 " kg  slope = 90 deg  guide-friction = 4 N  payload = 0.2 kg }"
        print "tray tray-" i " { width = " i + 10 " mm  depth = " 2 * (i + 10) " mm  count = " (i == 5 ? 3 : 4) " }"
        print "screw screw-" i " \"Screw " i "\" { load = carriage-" i "  lead = 5 mm/rev  efficiency = " 80 + i % 24 / 2 " %  diameter = 10 mm  length = 400 mm }"
        print "axis axis-" i " \"Axis " i "\" { stage = screw-" i "  motor = Rook-26  brake = Sloe-8  drive = Heron-2  supply = Alder-24  ambient = " 20 + i % 12 " °C }"
        print "requirement R-" i "-1 \"Quick\" { shall exchange-" i ".lower.duration <= 1.45 s  from none \"a test\" }"
        print "requirement R-" i "-2 \"Cool\" { shall peak(axis-" i ".housing-temperature) <= 70 °C  should axis-" i ".motor-torque.rms <= 20 mN·m  from none \"a test\" }"
        print "requirement R-" i "-3 \"Room\" { shall tray-" i ".area >= 0.05 cm² and tray-" i ".half <= 1.5  from none \"a test\" }\n"
    }
}'
}
axes 24 >plain.txt

# both "which" SED: the axes after an edit, checked in both ways.
both() {
    { echo '-- Axes'; sed -e "$2" plain.txt; echo '-- End'; } >axes.trn
    { echo '```trunnion'; sed -e "$2" plain.txt; echo '```'; } >axes.trn.md
    for how in --nominal --accept=open; do
        tally_run verify $how axes.trn
        alike=$status
        cp out alike.out
        sed 's/^axes\.trn:/FILE:/' err >alike.err
        tally_run verify $how axes.trn.md
        sed 's/^axes\.trn\.md:/FILE:/' err >alone.err
        if [ "$alike" -eq "$status" ]; then tally_pass; else tally_fail "$1 $how" "ends with $alike, and alone with $status"; fi
        sort out >alone.sorted # things inside others come in another order
        sort alike.out >alike.sorted
        tally_same "$1 $how, what is printed" alone.sorted alike.sorted
        tally_same "$1 $how, what is said" alone.err alike.err
    done
}

both "as they are" ''
both "advice that is not followed by any" 's/diameter = 10 mm/diameter = 10 mm  own-inertia = 900 g·cm²/'
both "advice that is not followed by one" 's/efficiency = 82 %/efficiency = 82 %  own-inertia = 900 g·cm²/'
both "advice of the axis itself" 's/should axis-\([0-9]*\).motor-torque.rms <= 20 mN·m/should axis-\1.motor-torque.rms <= 2 mN·m/'
both "one is too slow" 's/in 1.36 s/in 1.66 s/'
both "one is too heavy" 's/mass = 1.54 kg/mass = 9 kg/'
both "one has no stroke" 's/-264 mm/0 mm/; s/264 mm/0 mm/'
both "one does not come back" 's/-271 mm/-270 mm/'
both "one has a time below nought" 's/hold 4.3 s/hold -4.3 s/'
both "one has a value outside its range" 's/efficiency = 82 %/efficiency = 120 %/'
both "one has a word that is misspelt" 's/ambient = 24/ambeint = 24/'
both "one has another unit" 's/guide-friction = 4 N  payload = 0.2 kg }/guide-friction = 4 N }/'
both "a tray that contradicts itself" 's/depth = 30 mm/depth = 300 mm/'
both "a count that the program was made for" 's/count = 4 }/count = 6 }/'
both "bounds on one" 's/mass = 1.56 kg/mass = 1.56 kg ± 2 %/'
both "bounds on all" 's/slope = 90 deg/slope = 85 deg to 90 deg/'
both "a motor of one of them in the file" 's/^use "axis.trn"/use "axis.trn" holding-brake Haw-0 { static-torque = 50 mN·m  voltage = 24 V  power = 3 W  engage-time = 12 ms  release-time = 20 ms  stop-energy = 3 J }/; s/Sloe-8/Haw-0/'

# So many that what holds is only counted.
axes 200 | sed 's/in 1.36 s/in 1.66 s/' >many.trn
tally_run verify --nominal many.trn
cp out many.out
{ echo '```trunnion'; cat many.trn; echo '```'; } >many.trn.md
tally_run verify --nominal many.trn.md
if [ "$status" -ne 2 ] && [ -s out ]; then tally_pass; else tally_fail "many" "ends with $status"; head -n 5 err; fi
tally_same "many" out many.out
if grep -q 'counted' out && grep -q 'NOT MET.*R-6-1' out; then tally_pass; else tally_fail "many" "what does not hold is not listed"; fi

tally_close
