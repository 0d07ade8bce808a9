#!/usr/bin/env python3
"""An axis whose motor, gearhead and drive are still to be chosen:  make_choice.py FOLDER [--motors N --gearheads N --drives N]

Writes choice.trn, the axis with its open slots and its requirements; parts.trn, the library to choose from (1,000 motors,
200 gearheads and 20 drives unless told otherwise: 4 million sets); and the same numbers in SI as motors.txt, gearheads.txt,
drives.txt and task.txt for the programs that stand beside ours here. Some tens of sets do. The same options give the same bytes.
"""
import argparse
import math
import os

from make_library import make_cards, write_cards

# The task, in SI. The requirements below say the same.
STROKE, OUT, STAY, BACK, REST = 0.380, 0.60, 0.8, 0.75, 1.1
MASS, FRICTION, TEETH, BELT_EFFICIENCY, PULLEY = 3.4, 6.0, 24, 0.95, 5.4e-6
VOLTAGE, AMBIENT = 24.0, 35.0
LIMITS = dict(diameter=0.026, power=6.5, housing=55.0, winding=95.0, current=0.60, turning=7000 * math.pi / 30, gear_diameter=0.032, play=0.0002)

TEXT = """\
use "axis.trn"
use "transmissions.trn"
use "parts.trn"

cycle passing "Hatch open, a tray, hatch shut" {
  move  380 mm in 0.60 s by trapezoidal as open
  hold  0.8 s as tray
  move -380 mm in 0.75 s by trapezoidal as shut
  hold  1.1 s as rest
}
slide pane "Pane in its frame" {
  motion         = passing
  mass           = 3.4 kg
  guide-friction = 6 N
}
belt-drive pane-belt "Toothed belt, 3 mm pitch" {
  load           = pane
  tooth-pitch    = 3 mm
  pulley-teeth   = 24
  pulley-inertia = 54 g·cm²
  own-inertia    = 54 g·cm²
  efficiency     = 95 %
}
gearhead-stage pane-gear "Gearhead on the motor" {
  load     = pane-belt
  gearhead = any gearhead
  ambient  = 35 °C
}
supply Rowan-24 "Strong supply, 24 V" {
  voltage            = 24 V
  continuous-current = 20 A
  takes-back         = yes
}
axis hatch "Sliding hatch" {
  stage             = pane-gear
  motor             = any motor
  drive             = any drive
  supply            = Rowan-24
  ambient           = 35 °C
  greatest-diameter = 26 mm
}

requirement HATCH-1 "The hatch is open within 0.7 s" {
  shall passing.open.duration <= 0.7 s  from none "Asked for by the keeper of the vault."  method analysis
}
requirement HATCH-2 "The opening is wide enough" {
  shall passing.stroke >= 370 mm  from none "Asked for by the keeper of the vault."  method analysis
}
requirement HATCH-3 "The pane may be touched while it moves" {
  shall peak(pane.speed) <= 1 m/s  from none "Asked for by the keeper of the vault."  method analysis
}
requirement HATCH-4 "It is not heard in the reading room" {
  shall peak(hatch.speed) <= 7000 rpm  from none "Asked for by the librarian."  method analysis
}
requirement HATCH-5 "It takes no more than 6.5 W" {
  shall mean(hatch.supply-power) <= 6.5 W  from none "The buffer is sized for two hours."  method analysis
}
requirement HATCH-6 "The motor may be touched" {
  shall peak(hatch.housing-temperature) <= 55 °C  from none "It is within reach."  method analysis
}
requirement HATCH-7 "The winding keeps a reserve" {
  shall peak(hatch.winding-temperature) <= 95 °C  from none "Motors are to last."  method analysis
}
requirement HATCH-8 "The cable stands the current" {
  shall rms(hatch.current) <= 0.60 A  from none "The cable is already there."  method analysis
}
requirement HATCH-9 "The gearhead fits its place" {
  shall pane-gear.gearhead.diameter <= 32 mm  from none "The frame is 34 mm wide."  method analysis
}
requirement HATCH-10 "The pane has little play" {
  shall pane-gear.gearhead.backlash * pane-belt.travel <= 0.2 mm  from none "The brushes must meet."  method analysis
}
"""


def numbers(path, cards, row):
    with open(path, "w", encoding="utf-8") as out:
        for card in cards:
            out.write(card.name + " " + " ".join("%.9g" % x for x in row(card)) + "\n")


def words(card, field):
    return next((text for name, text, unit in card.fields if name == field), "")


def motor_row(card):
    s = card.si
    factor = math.sqrt(1.5) if words(card, "constants-refer-to") == "effective" else 1
    brushless = card.form == "brushless-motor"
    return (brushless, not brushless or words(card, "hall-switches") == "yes", s["resistance"], s["torque-constant"] / factor,
            s["torque-constant"] * s["no-load-current"], s["rotor-inertia"], s["maximum-speed"], s["diameter"], s["winding-to-housing"],
            s["housing-to-ambient"], s["greatest-winding-temperature"], s.get("inductance", 0), s.get("pole-pairs", 0))


def gearhead_row(card):
    s = card.si
    return (s["ratio"], s["efficiency"], s["continuous-torque"], s["intermittent-torque"], s["continuous-input-speed"],
            s["intermittent-input-speed"], s["inertia"], s.get("drag-torque", 0), s["backlash"], s["diameter"])


def drive_row(card):
    s = card.si
    types = [word.strip() for word in words(card, "motor-types").split(",")]
    return ("brushed" in types, "brushless" in types, s["lowest-supply"], s["highest-supply"], s["usable-share"], s["bridge-resistance"],
            s["continuous-current"], s["peak-current"], s["peak-time"], s["idle-power"], s["efficiency"], s["switching-frequency"])


def main():
    options = argparse.ArgumentParser(description="Makes an axis with open slots, and a library to fill them.")
    options.add_argument("folder")
    options.add_argument("--motors", type=int, default=1000)
    options.add_argument("--gearheads", type=int, default=200)
    options.add_argument("--drives", type=int, default=20)
    options.add_argument("--seed", type=int, default=1)
    chosen = options.parse_args()
    os.makedirs(chosen.folder, exist_ok=True)
    cards, _ = make_cards(dict(motors=chosen.motors, gearheads=chosen.gearheads, drives=chosen.drives), chosen.seed)
    to = lambda name: os.path.join(chosen.folder, name)
    write_cards(to("parts.trn"), cards)
    with open(to("choice.trn"), "w", encoding="utf-8", newline="\n") as out:
        out.write(TEXT)
    numbers(to("motors.txt"), [c for c in cards if "motor" in c.form], motor_row)
    numbers(to("gearheads.txt"), [c for c in cards if c.form == "gearhead"], gearhead_row)
    numbers(to("drives.txt"), [c for c in cards if c.form == "drive"], drive_row)
    with open(to("task.txt"), "w", encoding="utf-8") as out:
        for name, value in (("stroke", STROKE), ("out", OUT), ("stay", STAY), ("back", BACK), ("rest", REST), ("mass", MASS), ("friction", FRICTION),
                            ("travel", 3e-3 * TEETH / (2 * math.pi)), ("belt_efficiency", BELT_EFFICIENCY), ("pulley", PULLEY),
                            ("lowest", 0.95 * VOLTAGE), ("highest", 1.05 * VOLTAGE), ("ambient", AMBIENT),
                            *(("most_" + name, value) for name, value in LIMITS.items())):
            out.write("%s %.9g\n" % (name, value))


if __name__ == "__main__":
    main()
