#!/usr/bin/env python3
"""Part libraries of any size, for measuring:  make_library.py [--motors N] [--gearheads N] … --output FILE

The cards are invented and agree with themselves: a motor's figures follow from its size, its heat path and one
working point, so that redundant figures and rules hold after rounding to three digits. Series differ in what they
state and in which units. With --misprints some cards get one figure ten times too large or small, or with two digits
swapped, and --misprints-list names them. The same options give the same bytes.

    --motors N --gearheads N --drives N --feedback N --brakes N     how many cards of each (0)
    --output FILE      cards for `use`, FILE ending in .trn
    --csv FOLDER       instead: motors-brushed.csv, motors-brushless.csv, gearheads.csv, drives.csv, …
    --misprints SHARE  share of the cards with a wrong figure (0)
    --misprints-list FILE
    --seed N           another library of the same kind (1)
    --sparse           motors of those series alone that state no more than a dozen figures or so
    --no-use           leave out the `use` lines at the top
"""
import argparse
import csv
import math
import os
import random

RPM = math.pi / 30
OZF_IN = 0.27801385095 * 0.0254

# What a unit is in SI. A temperature stays in degrees Celsius.
UNITS = {
    "V": 1, "Ω": 1, "mΩ": 1e-3, "H": 1, "mH": 1e-3, "µH": 1e-6, "A": 1, "mA": 1e-3, "W": 1, "s": 1, "ms": 1e-3, "min": 60, "h": 3600,
    "N·m/A": 1, "mN·m/A": 1e-3, "ozf·in/A": OZF_IN, "N·m": 1, "mN·m": 1e-3, "ozf·in": OZF_IN, "kg·m²": 1, "kg·cm²": 1e-4,
    "g·cm²": 1e-7, "ozf·in·s²": OZF_IN, "rpm": RPM, "rev/min": RPM, "m": 1, "mm": 1e-3, "in": 0.0254, "kg": 1, "g": 1e-3,
    "oz": 0.45359237 / 16, "lb": 0.45359237, "K/W": 1, "°C/W": 1, "°C": 1, "rpm/V": RPM, "rpm/(mN·m)": RPM * 1e3, "deg": math.pi / 180,
    "arcmin": math.pi / 10800, "N": 1, "lbf": 4.4482216152605, "kHz": 1e3, "%": 0.01, "J": 1, "µN·m/(rad/s)": 1e-6, "V/(rad/s)": 1,
    "N·m/rad": 1, "count/rev": 1 / (2 * math.pi), "": 1,
}

METRIC = dict(voltage="V", resistance="Ω", inductance="mH", constant="mN·m/A", small="mA", current="A", inertia="g·cm²", speed="rpm",
              length="mm", mass="g", path="K/W", short="s", long="s", torque="mN·m", instant="ms", angle="deg", force="N", gear="N·m")
STRONG = dict(METRIC, constant="N·m/A", inertia="kg·cm²", mass="kg", long="min", torque="N·m", small="A", speed="rev/min", inductance="µH", angle="arcmin")
INCHES = dict(METRIC, constant="ozf·in/A", inertia="ozf·in·s²", length="in", mass="oz", path="°C/W", long="min", torque="ozf·in",
              small="A", resistance="mΩ", force="lbf", gear="ozf·in")


def digits(value, count=3):
    """As a data sheet prints it."""
    if value == 0:
        return "0"
    power = math.floor(math.log10(abs(value)))
    if power < -4:
        return "%.*e" % (count - 1, value)
    text = "%.*f" % (max(count - 1 - power, 0), round(value, count - 1 - power))
    return text


class Card:
    """One part: its fields in the order of the data sheet, (name, text of the number or word, unit or None for a word)."""

    def __init__(self, form, name, title, units):
        self.form, self.name, self.title, self.units = form, name, title, units
        self.fields = []
        self.si = {}

    def say(self, field, value, kind, count=3):
        """kind: a row of the units above, or a unit itself."""
        unit = self.units.get(kind, kind)
        text = digits(value / UNITS[unit], count)
        self.fields.append((field, text, unit))
        self.si[field] = float(text) * UNITS[unit]
        return self.si[field]

    def word(self, field, text):
        self.fields.append((field, text, None))


def usual_power(size):
    return 300 * (size / 60) ** 2.4


MOTORS = [
    # series, form, units, build, what it states
    ("Dunlin", "dc-motor", METRIC, "coreless", "sparse"),
    ("Pipit", "dc-motor", METRIC, "coreless", "full"),
    ("Curlew", "brushless-motor", METRIC, "slotless", "full"),
    ("Godwit", "dc-motor", STRONG, "iron-core", "sparse"),
    ("Teal", "brushless-motor", METRIC, "slotted", "sparse"),
    ("Redshank", "dc-motor", METRIC, None, "middle"),
    ("Lapwing", "brushless-motor", STRONG, "slotted", "effective"),
    ("Brambling", "dc-motor", INCHES, None, "middle"),
]
SIZES = [6, 8, 10, 12, 13, 16, 20, 22, 24, 26, 30, 32, 35, 38, 42, 45, 50, 56, 60]


def make_motor(rng, number, units=None, sparse=False):
    rows = [row for row in MOTORS if row[4] == "sparse"] if sparse else MOTORS
    series, form, own_units, build, style = rows[number % len(rows)]
    size = rng.choice(SIZES)
    d = size * 1e-3
    stretch = rng.uniform(0.65, 1.3)
    length = d * 1.7 * stretch
    mass = math.pi / 4 * d * d * length * rng.uniform(4200, 5200)
    # heat: the housing gives 15 W/(m²·K) to the air
    area = math.pi * d * length + math.pi * d * d / 2
    outer = 1 / (15 * area)
    inner = outer * rng.uniform(0.25, 0.45)
    limit = rng.choice([100, 125, 125, 155])
    capacity = mass * 450 * rng.uniform(0.7, 1.2)
    # the working point
    power = min(max(usual_power(size) * stretch * rng.uniform(0.7, 1.15), 1), 300)
    rated_speed = 15000 * (size / 6) ** -0.55 * rng.uniform(0.7, 1.3) * RPM
    torque = power / rated_speed
    friction = torque * rng.uniform(0.02, 0.06)
    loss = (limit - 25) / (inner + outer) / (1 + (limit - 25) / 260)
    slope = loss / (torque + friction) ** 2  # R/k²: speed lost per torque
    free_speed = rated_speed + slope * torque
    voltage = rng.choice([3, 6, 12] if size <= 10 else [6, 12, 18, 24] if size <= 22 else [12, 24, 36, 48])
    constant = voltage / (free_speed + slope * friction)
    resistance = slope * constant ** 2
    current = (torque + friction) / constant
    free_current = friction / constant
    factor = math.sqrt(1.5) if style == "effective" else 1
    inertia = rng.uniform(4e-3, 14e-3) / slope

    card = Card(form, "%s-%d-%d-%05d" % (series, size, voltage, number + 1),
                "Motor %s, %d mm, %d V" % ("with brushes" if form == "dc-motor" else "without brushes", size, voltage), units or own_units)
    say = card.say
    say("nominal-voltage", voltage, "voltage", 2)
    say("resistance", resistance, "resistance")
    if style != "sparse":
        say("inductance", resistance * rng.uniform(0.04e-3, 0.25e-3), "inductance")
    say("torque-constant", constant * factor, "constant")
    if style in ("full", "middle"):
        say("speed-constant", 1 / constant, "rpm/V")
    say("no-load-current", free_current / factor, "small")
    if style in ("full", "middle", "effective"):
        say("no-load-speed", free_speed, "speed")
    if style == "full":
        say("stall-current", voltage / resistance, "current")
        say("stall-torque", constant * voltage / resistance - friction, "torque")
        say("speed-torque-slope", slope, "rpm/(mN·m)")
        say("greatest-efficiency", (1 - math.sqrt(free_current * resistance / voltage)) ** 2, "%")
    say("rotor-inertia", inertia, "inertia")
    if style == "full":
        say("mechanical-time-constant", slope * inertia, "instant")
    highest = say("maximum-speed", free_speed * rng.uniform(1.15, 1.5), "speed", 2)
    if style != "sparse":
        say("continuous-current", current / factor, "current")
    if style in ("full", "effective"):
        say("continuous-torque", torque, "torque")
        say("nominal-speed", rated_speed, "speed")
    if style == "middle":
        say("rated-power", power, "W", 2)
    say("diameter", d, "length")
    if style != "middle":
        say("length", length, "length")
    if style != "sparse" or number % 3:
        say("mass", mass, "mass")
    if style == "effective":
        card.word("constants-refer-to", "effective")
    if form == "brushless-motor":
        say("pole-pairs", 1 if build == "slotless" else rng.choice([2, 4] if highest < 28000 * RPM else [1, 2]), "", 1)
        card.word("hall-switches", "yes" if number % 5 else "no")
    elif build and style == "full":
        card.word("brushes", "precious-metal" if current < 0.6 else "graphite")
    if build and style == "full":
        card.word("build", build)
    say("winding-to-housing", inner, "path")
    say("housing-to-ambient", outer, "path")
    say("winding-time-constant", 0.08 * capacity * inner, "short")
    say("housing-time-constant", 0.92 * capacity * outer, "long")
    say("greatest-winding-temperature", limit, "°C")
    if style == "full":
        card.fields += [("lowest-ambient", "-30", "°C"), ("highest-ambient", "85", "°C")]
    return card


GEARHEADS = [("Marsh", METRIC, True), ("Tarn", METRIC, False), ("Mere", STRONG, True), ("Carr", INCHES, False)]
TEETH = [(12, 36), (15, 57), (15, 63), (18, 54), (12, 60), (18, 72), (24, 66)]


def make_gearhead(rng, number, units=None, sparse=False):
    series, own_units, teeth = GEARHEADS[number % len(GEARHEADS)]
    size = rng.choice(SIZES[2:])
    stages = rng.choice([1, 1, 2, 2, 3])
    sun, ring = rng.choice(TEETH)
    ratio = (1 + ring / sun) ** stages
    torque = 0.10 * (size / 16) ** 2.8 * (1, 1.6, 2.2)[stages - 1] * rng.uniform(0.8, 1.2)
    speed = 8000 * (size / 16) ** -0.3 * RPM
    card = Card("gearhead", "%s-%d-%d-%05d" % (series, size, round(ratio), number + 1),
                "Planetary gearhead, %d mm, %d to 1" % (size, round(ratio)), units or own_units)
    say = card.say
    say("ratio", ratio, "", 6)
    if teeth:
        say("sun-teeth", sun, "", 2)
        say("ring-teeth", ring, "", 2)
    say("stages", stages, "", 1)
    say("efficiency", rng.uniform(0.88, 0.93) ** stages, "%", 2)
    say("continuous-torque", torque, "gear", 2)
    say("intermittent-torque", torque * rng.uniform(1.35, 1.6), "gear", 2)
    say("continuous-input-speed", speed, "speed", 2)
    say("intermittent-input-speed", speed * 1.3, "speed", 2)
    say("inertia", 0.4e-7 * (size / 22) ** 4 * rng.uniform(0.7, 1.3), "inertia", 2)
    if number % 2:
        say("drag-torque", 0.3e-3 * (size / 22) ** 2, "torque", 2)
    say("backlash", rng.uniform(0.6, 1.4) * UNITS["deg"], "angle", 2)
    say("radial-load", 70 * (size / 22) ** 1.8, "force", 2)
    say("axial-load", 60 * (size / 22) ** 1.8, "force", 2)
    say("mass", 0.068 * (size / 22) ** 2.5 * (0.8 + 0.2 * stages), "mass", 2)
    say("diameter", size * 1e-3, "length")
    return card


DRIVES = [("Dotterel", "brushed, brushless"), ("Whimbrel", "brushed, brushless"), ("Ruff", "brushed"), ("Sanderling", "brushless")]


def make_drive(rng, number, units=None, sparse=False):
    series, types = DRIVES[number % len(DRIVES)]
    current = rng.choice([0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20])
    peak = current * rng.choice([1.5, 2, 2.5])
    highest = rng.choice([30, 42, 52, 56])
    card = Card("drive", "%s-%d-%d-%05d" % (series, round(peak), highest, number + 1), "Drive, %s A peak, up to %d V" % (digits(peak, 2), highest), METRIC)
    say = card.say
    card.word("motor-types", types)
    say("lowest-supply", rng.choice([8, 10, 11, 12]), "voltage", 2)
    say("highest-supply", highest, "voltage", 2)
    say("usable-share", rng.choice([0.92, 0.95, 0.97]), "%", 2)
    say("bridge-resistance", 0.2 / (1 + current) * rng.uniform(0.8, 1.2), "resistance", 2)
    say("continuous-current", current, "current", 2)
    say("peak-current", peak, "current")
    say("peak-time", rng.choice([1, 2, 3, 5]), "s", 1)
    say("idle-power", 1.2 + 0.15 * current, "W", 2)
    say("efficiency", rng.choice([0.92, 0.94, 0.95, 0.96]), "%", 2)
    say("switching-frequency", rng.choice([20, 40, 50, 60, 80]) * 1e3, "kHz", 2)
    if number % 3 == 0:
        card.word("derating", "table { 0 °C: 100 %; 40 °C: 100 %; 60 °C: 70 % }")
    say("highest-ambient", 55, "°C", 2)
    say("mass", 0.02 + 0.012 * current, "mass", 2)
    card.word("safety-functions", "STO, SBC" if number % 2 else "STO")
    if number % 2:
        say("brake-current", 0.5 + current / 20, "current", 2)
    card.word("buses", rng.choice(["CANopen", "EtherCAT", "CANopen, EtherCAT"]))
    return card


def make_feedback(rng, number, units=None, sparse=False):
    speed = rng.choice([6000, 8000, 10000, 12000, 15000, 20000]) * RPM
    if number % 2:
        bits = rng.choice([12, 13, 14, 17])
        card = Card("feedback", "Garnet-%d-%05d" % (bits, number + 1), "Single-turn encoder, %d bit" % bits, METRIC)
        card.word("type", "absolute-single-turn")
        card.word("interface", rng.choice(["SSI", "BiSS-C", "SPI"]))
        card.say("counts", 2 ** bits / (2 * math.pi), "count/rev", 6)
        card.say("accuracy", max(360 / 2 ** bits, rng.uniform(0.05, 0.5)) * UNITS["deg"], "deg", 2)
    else:
        lines = rng.choice([64, 128, 256, 500, 512, 1000, 1024])
        card = Card("feedback", "Jasper-%d-%05d" % (lines, number + 1), "Incremental encoder, %d lines" % lines, METRIC)
        card.word("type", "incremental")
        card.word("interface", rng.choice(["quadrature", "quadrature-RS-422"]))
        card.word("index", "yes")
        card.say("lines", lines, "", 4)
        card.say("frequency-limit", lines * speed / (2 * math.pi) * rng.uniform(1.1, 1.8), "kHz", 2)
    card.say("inertia", rng.uniform(0.02e-7, 1.5e-7), "inertia", 2)
    card.say("maximum-speed", speed, "speed", 3)
    card.say("supply-voltage", 5, "voltage", 1)
    card.say("supply-current", rng.uniform(8e-3, 60e-3), "small", 2)
    card.say("mass", rng.uniform(3e-3, 40e-3), "mass", 2)
    card.fields += [("lowest-ambient", "-40", "°C"), ("highest-ambient", "100", "°C")]
    return card


def make_brake(rng, number, units=None, sparse=False):
    size = rng.choice([16, 22, 26, 32, 42, 60])
    torque = 0.045 * (size / 22) ** 3 * rng.uniform(0.8, 1.2)
    card = Card("holding-brake", "Juniper-%d-%05d" % (size, number + 1), "Spring-applied brake, %d mm" % size, METRIC)
    say = card.say
    say("static-torque", torque, "torque", 2)
    say("inertia", 1.2e-7 * (size / 22) ** 4, "inertia", 2)
    say("voltage", 24, "voltage", 2)
    say("power", 3 * (size / 22) ** 1.6, "W", 2)
    say("engage-time", 0.012 * (size / 22) ** 0.7, "instant", 2)
    say("release-time", 0.025 * (size / 22) ** 0.7, "instant", 2)
    say("stop-energy", 3 * (size / 22) ** 3, "J", 2)
    say("maximum-speed", 8000 * (size / 22) ** -0.4 * RPM, "speed", 2)
    say("mass", 0.04 * (size / 22) ** 2.5, "mass", 2)
    card.fields += [("lowest-ambient", "-25", "°C"), ("highest-ambient", "70", "°C")]
    return card


MAKERS = [("motors", make_motor), ("gearheads", make_gearhead), ("drives", make_drive), ("feedback", make_feedback), ("brakes", make_brake)]
FILES = {"dc-motor": "motors-brushed", "brushless-motor": "motors-brushless", "gearhead": "gearheads", "drive": "drives",
         "feedback": "feedback", "holding-brake": "brakes"}
NEEDS = {"dc-motor": "motors.trn", "brushless-motor": "motors.trn", "gearhead": "gearheads.trn", "drive": "drives.trn",
         "feedback": "feedback.trn", "holding-brake": "brakes.trn"}


def misprint(rng, card):
    """One figure ten times too large or small, or with two digits swapped; says which."""
    places = [i for i, (_, _, unit) in enumerate(card.fields) if unit is not None]
    rng.shuffle(places)
    for i in places:
        field, text, unit = card.fields[i]
        if float(text) == 0:
            continue
        how = rng.choice(["ten", "tenth", "swapped"])
        if how == "swapped":
            at = [k for k in range(len(text) - 1) if text[k].isdigit() and text[k + 1].isdigit() and text[k] != text[k + 1]
                  and not (k == 0 and text[1] == "0")]
            if not at or "e" in text:
                continue
            k = rng.choice(at)
            wrong = text[:k] + text[k + 1] + text[k] + text[k + 2:]
        else:
            wrong = digits(float(text) * (10 if how == "ten" else 0.1), 4)
            wrong = wrong.rstrip("0").rstrip(".") if "." in wrong and "e" not in wrong else wrong
        card.fields[i] = (field, wrong, unit)
        return "%s %s %s %s %s" % (card.name, field, how, text, wrong)
    return None


def make_cards(counts, seed=1, misprints=0.0, one_unit=False, sparse=False):
    """The cards of all forms, and what was spoilt. One series of random numbers for each form: more motors leave the drives as they are."""
    cards, spoilt = [], []
    for kind, make in MAKERS:
        rng = random.Random("%s %d" % (kind, seed))
        wrong = random.Random("misprints of %s %d" % (kind, seed))
        for number in range(counts.get(kind, 0)):
            card = make(rng, number, METRIC if one_unit else None, sparse)
            if wrong.random() < misprints:
                what = misprint(wrong, card)
                if what:
                    spoilt.append(what)
            cards.append(card)
    return cards, spoilt


def card_text(card):
    lines = ['%s %s "%s" {\n' % (card.form, card.name, card.title)]
    for field, text, unit in card.fields:
        lines.append("  %-28s = %s%s\n" % (field, text, " " + unit if unit else ""))
    lines.append("}\n")
    return "".join(lines)


def write_cards(path, cards, use=True):
    with open(path, "w", encoding="utf-8", newline="\n") as out:
        if use:
            for name in sorted({NEEDS[card.form] for card in cards}):
                out.write('use "%s"\n' % name)
        for card in cards:
            out.write("\n" + card_text(card))


def write_csv(folder, cards):
    """One table for each form; a column is a field in one unit, empty where a card leaves it out."""
    os.makedirs(folder, exist_ok=True)
    for form in FILES:
        own = [card for card in cards if card.form == form]
        if not own:
            continue
        columns = {}
        for card in own:
            for field, _, unit in card.fields:
                columns.setdefault(field, unit)
        with open(os.path.join(folder, FILES[form] + ".csv"), "w", encoding="utf-8", newline="") as out:
            rows = csv.writer(out, lineterminator="\r\n")
            rows.writerow(["name", "title"] + ["%s [%s]" % (field, unit) if unit else field for field, unit in columns.items()])
            for card in own:
                stated = {field: text for field, text, _ in card.fields}
                rows.writerow([card.name, card.title] + [stated.get(field, "") for field in columns])


def main():
    options = argparse.ArgumentParser(description="Makes part libraries of any size.")
    for kind, _ in MAKERS:
        options.add_argument("--" + kind, type=int, default=0)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--misprints", type=float, default=0.0)
    options.add_argument("--misprints-list")
    options.add_argument("--output")
    options.add_argument("--csv")
    options.add_argument("--sparse", action="store_true")
    options.add_argument("--no-use", action="store_true")
    chosen = options.parse_args()
    if not chosen.output and not chosen.csv:
        options.error("--output FILE or --csv FOLDER is missing")
    cards, spoilt = make_cards(vars(chosen), chosen.seed, chosen.misprints, bool(chosen.csv), chosen.sparse)
    if chosen.csv:
        write_csv(chosen.csv, cards)
    if chosen.output:
        write_cards(chosen.output, cards, not chosen.no_use)
    if chosen.misprints_list:
        with open(chosen.misprints_list, "w", encoding="utf-8") as out:
            out.writelines(line + "\n" for line in spoilt)


if __name__ == "__main__":
    main()
