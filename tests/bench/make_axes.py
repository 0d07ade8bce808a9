#!/usr/bin/env python3
"""Many different axes in one text file:  make_axes.py COUNT FILE [--table FILE] [--parts FILE] [--seed N] [--motors N] [--sets N] [--misses SHARE]

Slides on screws or on belts behind a gearhead, level or sloping and then with a brake, and turntables behind a gearhead;
each with its own cycle, load, limits and ten requirements, no two numbers alike but by chance. Motors, gearheads, drives and
brakes come from the library of make_library.py and are written into the same file, or into --parts. One axis in forty, or --misses,
misses a requirement by a tenth; the others meet all of theirs. The same options give the same bytes.

--sets N lets only so many sets of motor, gearhead and drive occur, as where a plant has its preferred parts; without it any motor may
meet any gearhead. --table writes the same axes as plain numbers in SI, a row for each: what the programs that stand beside ours here read.
"""
import argparse
import math
import random

from make_library import RPM, card_text, digits, make_cards

GRAVITY = 9.80665
# height of the speed and of the acceleration over stroke/time and stroke/time²
LAWS = {"trapezoidal": (1.5, 4.5), "cycloidal": (2.0, 2 * math.pi)}
COLUMNS = ("cycloidal stroke out back stay rest mass pull friction travel efficiency inertia drag ratio gear_efficiency gear_inertia gear_drag "
           "rotor motor_friction constant resistance inductance poles magnet inner outer winding_time housing_time "
           "usable bridge drive_efficiency idle frequency lowest highest holding ambient "
           "most_time most_speed most_acceleration most_turning most_torque most_current most_winding most_power most_housing").split()


def round3(value, count=3):
    return float(digits(value, count))


def moments(axis, per_move):
    """(weight in s, speed, acceleration) over one cycle, of the load."""
    high, steep = LAWS["cycloidal" if axis["cycloidal"] else "trapezoidal"]
    for time, way in ((axis["out"], axis["stroke"]), (axis["back"], -axis["stroke"])):
        speed, rise = way / time * high, way / time ** 2 * steep
        for i in range(per_move):
            u = (i + 0.5) / per_move
            if axis["cycloidal"]:
                yield time / per_move, speed / 2 * (1 - math.cos(2 * math.pi * u)), rise * math.sin(2 * math.pi * u)
            elif u < 1 / 3:
                yield time / per_move, speed * 3 * u, rise
            elif u < 2 / 3:
                yield time / per_move, speed, 0.0
            else:
                yield time / per_move, speed * 3 * (1 - u), -rise
    yield axis["stay"] + axis["rest"], 0.0, 0.0


def sign(x):
    return (x > 0) - (x < 0)


def passed(torque, power, efficiency):
    if power > 0:
        return torque / efficiency
    if power < 0:
        return torque * max(2 - 1 / efficiency, 0)
    return torque


def judge(axis, per_move=24):
    """What the requirements ask about, as make_axes itself needs it to draw sensible axes."""
    found = dict(time=axis["out"] + axis["back"] + axis["stay"] + axis["rest"], speed=0, acceleration=0, turning=0, torque=0, gear=0)
    points, whole, squares, torque_squares, slip = [], 0.0, 0.0, 0.0, 0.0
    turn = axis["ratio"] / axis["travel"]
    for weight, v, a in moments(axis, per_move):
        force = axis["mass"] * a + axis["pull"] + axis["friction"] * sign(v)
        torque = passed(force * axis["travel"], force * v, axis["efficiency"])
        torque += axis["inertia"] * a / axis["travel"] + axis["drag"] * sign(v)
        found["gear"] = max(found["gear"], abs(torque))
        power = torque * v / axis["travel"]
        torque = passed(torque / axis["ratio"], power, axis["gear_efficiency"]) + axis["gear_inertia"] * a * turn + axis["gear_drag"] * sign(v)
        torque += axis["rotor"] * a * turn
        current = (torque + axis["motor_friction"] * sign(v)) / axis["constant"]
        found["speed"], found["acceleration"] = max(found["speed"], abs(v)), max(found["acceleration"], abs(a))
        found["turning"], found["torque"] = max(found["turning"], abs(v * turn)), max(found["torque"], abs(torque))
        whole += weight
        squares += weight * current * current
        torque_squares += weight * torque * torque
        slip += weight * axis["motor_friction"] * abs(v * turn)
        points.append((weight, v * turn, current))
    ripple = axis["highest"] / (4 * axis["frequency"] * axis["inductance"]) / (2 * math.sqrt(3)) if axis["inductance"] and axis["frequency"] else 0
    squares, slip = squares / whole, slip / whole
    loss = 0.0
    for _ in range(40):
        housing = axis["ambient"] + axis["outer"] * (loss + slip)
        winding = axis["ambient"] + loss * (axis["inner"] + axis["outer"]) + axis["outer"] * slip
        magnets = 1 + axis["magnet"] * (housing - 25)
        warm = axis["resistance"] * (1 + (winding - 25) / 260)
        loss = warm * (squares / magnets ** 2 + ripple ** 2)
        if winding > 400:
            break
    load = axis["mass"] * axis["travel"] ** 2 + axis["inertia"]
    found["ratio"] = (load / axis["ratio"] ** 2 + axis["gear_inertia"]) / axis["rotor"]
    found.update(winding=winding, housing=housing, current=math.sqrt(squares) / magnets, torque_mean=math.sqrt(torque_squares / whole),
                 peak=max(abs(i) for _, _, i in points) / magnets)
    power, room = 0.0, 1e9
    for weight, turning, current in points:
        current /= magnets
        emf = axis["constant"] * turning * magnets
        volts = warm * current + emf
        cross = axis["poles"] * turning * axis["inductance"] * current
        room = min(room, axis["usable"] * axis["lowest"] - axis["bridge"] * abs(current) - math.hypot(volts, cross))
        taken = emf * current + warm * (current ** 2 + ripple ** 2)
        power += weight * (max(taken, 0) / axis["drive_efficiency"] + min(taken, 0) * axis["drive_efficiency"])
    found.update(power=power / whole + axis["idle"] + axis["holding"], room=room)
    return found


class Parts:
    """The library, and who of it goes with whom."""

    def __init__(self, seed, motors):
        cards, _ = make_cards(dict(motors=motors, gearheads=max(motors // 2, 20), drives=max(motors // 3, 40), brakes=20), seed)
        self.cards = cards
        of = lambda *forms: [card for card in cards if card.form in forms]
        self.motors = [m for m in of("dc-motor", "brushless-motor") if m.si["nominal-voltage"] >= 12 and m.si["diameter"] >= 0.012
                       and (m.form == "dc-motor" or ("hall-switches", "yes", None) in m.fields)]
        self.gearheads, self.drives, self.brakes = of("gearhead"), of("drive"), of("holding-brake")

    def drive_for(self, motor, current, falls):
        voltage = motor.si["nominal-voltage"]
        kind = "brushed" if motor.form == "dc-motor" else "brushless"
        fits = [d for d in self.drives if d.si["continuous-current"] >= 1.15 * current and d.si["highest-supply"] >= 1.05 * voltage
                and d.si["lowest-supply"] <= 0.9 * voltage and kind in [w.strip() for w in dict((f, t) for f, t, _ in d.fields)["motor-types"].split(",")]
                and (not motor.si.get("inductance") or 1.1 * voltage / (4 * d.si["switching-frequency"] * motor.si["inductance"]) <= 0.95 * current)
                and (not falls or "brake-current" in d.si) and not any(f == "derating" for f, _, _ in d.fields)]
        return min(fits, key=lambda d: d.si["peak-current"], default=None)


def draw(rng, parts, known=None):
    """One axis: its numbers and its parts, or None when these parts do not go together. `known`: another axis, whose parts it has."""
    motor = known["motor"] if known else rng.choice(parts.motors)
    m = motor.si
    factor = math.sqrt(1.5) if ("constants-refer-to", "effective", None) in motor.fields else 1
    constant, voltage = m["torque-constant"] / factor, m["nominal-voltage"]
    friction = constant * m["no-load-current"] * factor
    limit, paths = m["greatest-winding-temperature"], m["winding-to-housing"] + m["housing-to-ambient"]
    steady = math.sqrt((limit - 25) / (paths * m["resistance"] * (1 + (limit - 25) / 260)))
    kind = known["kind"] if known else rng.choice(["screw", "screw", "belt", "turntable", "slope" if voltage == 24 else "screw"])
    drive = parts.drive_for(motor, steady, kind == "slope")
    if drive is None:
        return None
    jammed = min(drive.si["peak-current"], 1.05 * voltage / m["resistance"]) ** 2 * m["resistance"] * (1 + (limit - 25) / 260)
    if 30 + jammed * m["winding-to-housing"] * (1 - math.exp(-drive.si["peak-time"] / m["winding-time-constant"])) > 0.95 * limit:
        return None  # it would burn while the drive pushes
    axis = dict(cycloidal=int(rng.random() < 0.35), mass=0.0, pull=0.0, friction=0.0, inertia=0.0, drag=0.0, efficiency=1.0, travel=1.0,
                ratio=1.0, gear_efficiency=1.0, gear_inertia=0.0, gear_drag=0.0, rotor=m["rotor-inertia"], motor_friction=friction,
                constant=constant, resistance=m["resistance"], inductance=m.get("inductance", 0.0),
                poles=m.get("pole-pairs", 0.0), magnet=-0.001, inner=m["winding-to-housing"], outer=m["housing-to-ambient"],
                winding_time=m["winding-time-constant"], housing_time=m["housing-time-constant"], usable=drive.si["usable-share"],
                bridge=drive.si["bridge-resistance"], drive_efficiency=drive.si["efficiency"], idle=drive.si["idle-power"],
                frequency=drive.si["switching-frequency"], lowest=0.95 * voltage, highest=1.05 * voltage, holding=0.0,
                ambient=float(rng.randint(20, 35)))
    chosen = dict(kind=kind, motor=motor, drive=drive, gearhead=None, brake=None, slope=0)
    fastest = min(m["maximum-speed"], 0.9 * voltage / constant) * rng.uniform(0.35, 0.65)
    if kind in ("screw", "slope"):
        chosen["lead"], chosen["diameter"] = rng.choice([2, 4, 5, 8, 10]), rng.choice([8, 10, 12, 16])
        chosen["length"] = rng.randint(150, 600)
        fastest = min(fastest, 0.9 * 70000 / chosen["diameter"] * RPM)
        axis["travel"] = chosen["lead"] * 1e-3 / (2 * math.pi)
        axis["efficiency"], axis["drag"] = rng.randint(84, 92) / 100, round3(rng.uniform(0.01, 0.04) * constant * steady)
        axis["inertia"] = math.pi / 32 * 7850 * chosen["length"] * 1e-3 * (chosen["diameter"] * 1e-3) ** 4
        axis["stroke"] = round(rng.uniform(0.3, 0.85) * chosen["length"]) * 1e-3
        axis["friction"] = round3(rng.uniform(0.03, 0.10) * constant * steady / axis["travel"], 2)
    else:
        fits = [g for g in parts.gearheads if g.si["continuous-input-speed"] >= 0.5 * fastest and g.si["ratio"] > 3
                and g.si["continuous-torque"] >= 0.7 * constant * steady * g.si["ratio"]]
        if not fits:
            return None
        gearhead = chosen["gearhead"] = known["gearhead"] if known else rng.choice(fits)
        g = gearhead.si
        fastest = min(fastest, 0.9 * g["continuous-input-speed"])
        axis.update(ratio=g["ratio"], gear_efficiency=g["efficiency"], gear_inertia=g["inertia"], gear_drag=g.get("drag-torque", 0.0))
        torque = constant * steady * g["ratio"]
        if kind == "belt":
            chosen["teeth"] = rng.randint(16, 40)
            radius = 3e-3 * chosen["teeth"] / (2 * math.pi)
            axis["travel"], axis["efficiency"] = radius, rng.randint(92, 97) / 100
            chosen["pulley"] = axis["inertia"] = round3(2800 * math.pi / 2 * 0.012 * radius ** 4)
            axis["stroke"] = rng.randint(100, 900) * 1e-3
            axis["friction"] = round3(rng.uniform(0.03, 0.10) * torque / radius, 2)
        else:
            chosen["plate"] = rng.randint(80, 500)
            axis["stroke"] = rng.randint(20, 180) * math.pi / 180
            axis["friction"] = round3(rng.uniform(0.02, 0.08) * torque, 2)
    # a motion that the rotor alone leaves room for
    high, steep = LAWS["cycloidal" if axis["cycloidal"] else "trapezoidal"]
    top = fastest / axis["ratio"] * axis["travel"]
    time = high * axis["stroke"] / top
    axis["out"], axis["back"] = round3(time), round3(time * rng.uniform(1.0, 1.3))
    axis["stay"], axis["rest"] = round3(rng.uniform(0.2, 1.5)), round3(rng.uniform(0.2, 2.5))
    if kind == "slope":
        chosen["slope"] = rng.choice([30, 45, 60, 90])

    def load(share):
        """The axis with a load of this share of what the torque of the motor could hold up or turn."""
        whole = constant * steady * axis["ratio"] / axis["travel"]
        mass = whole * share / (GRAVITY if kind == "slope" else (axis["stroke"] * steep / axis["out"] ** 2))
        if kind == "turntable":
            chosen["mass"] = round3(mass * 8 / (chosen["plate"] * 1e-3) ** 2)
            axis["mass"] = chosen["mass"] * (chosen["plate"] * 1e-3) ** 2 / 8
        else:
            axis["mass"] = round3(mass)
        axis["pull"] = axis["mass"] * GRAVITY * math.sin(chosen["slope"] * math.pi / 180)
        if kind == "slope":
            torque = axis["pull"] * axis["travel"]
            fits = [b for b in parts.brakes if b.si["static-torque"] >= 2.2 * torque]
            brake = min(fits, key=lambda b: b.si["static-torque"], default=None)
            if brake is None:
                return None
            chosen["brake"] = brake
            axis["holding"], axis["rotor"] = brake.si["power"], m["rotor-inertia"] + brake.si["inertia"]
        found = judge(axis, 18)
        fits = (found["torque_mean"] <= 0.9 * constant * steady * math.sqrt((limit - axis["ambient"]) / (limit - 25)) - friction
                and found["peak"] <= 0.95 * drive.si["peak-current"] and found["current"] <= 0.95 * drive.si["continuous-current"]
                and found["winding"] <= limit - 5 and found["room"] > 0
                and (chosen["gearhead"] is None or found["gear"] <= 0.95 * chosen["gearhead"].si["continuous-torque"]))
        return found if fits else None

    share = rng.uniform(0.5, 1.6)
    for _ in range(9):
        if load(share):
            return axis, chosen, judge(axis, 60)
        share *= 0.65
        axis["out"], axis["back"] = round3(axis["out"] * 1.12), round3(axis["back"] * 1.12)
    return None


LIMITS = [
    # requirement, column, what is found, unit, in SI, its formula; `load`, `stage`, `axis` and `cycle` stand for their names
    ("The cycle repeats in time", "most_time", "time", "s", 1, "{cycle}.duration"),
    ("The load is no faster than it may be", "most_speed", "speed", None, None, "peak({load}.speed)"),
    ("The load is not shaken", "most_acceleration", "acceleration", None, None, "peak({load}.acceleration)"),
    ("The motor is not heard", "most_turning", "turning", "rpm", RPM, "peak({axis}.speed)"),
    ("The coupling stands the torque", "most_torque", "torque", "mN·m", 1e-3, "peak({axis}.motor-torque)"),
    ("The cable stands the current", "most_current", "current", "A", 1, "rms({axis}.current)"),
    ("The winding keeps a reserve", "most_winding", "winding", "°C", 1, "peak({axis}.winding-temperature)"),
    ("The supply is shared", "most_power", "power", "W", 1, "mean({axis}.supply-power)"),
    ("The housing does not warm the load", "most_housing", "housing", "°C", 1, "peak({axis}.housing-temperature)"),
]


def axis_text(number, axis, chosen, found, rng, misses):
    """The axis as a user would write it; fills in its limits."""
    kind, names = chosen["kind"], {}
    for name in ("cycle", "load", "stage", "axis", "plate", "pulley"):
        names[name] = "%s-%d" % (name, number)
    turning = kind == "turntable"
    stroke = "%g deg" % round(axis["stroke"] * 180 / math.pi) if turning else "%g mm" % round(axis["stroke"] * 1e3)
    law = "cycloidal" if axis["cycloidal"] else "trapezoidal"
    out = ['\ncycle %s "There and back" {' % names["cycle"],
           "  move  %s in %s s by %s as out" % (stroke, digits(axis["out"]), law), "  hold  %s s as stay" % digits(axis["stay"]),
           "  move -%s in %s s by %s as back" % (stroke, digits(axis["back"]), law), "  hold  %s s as rest" % digits(axis["rest"]), "}"]
    if turning:
        out += ['disc %s "Plate" { diameter = %d mm  mass = %s kg }' % (names["plate"], chosen["plate"], digits(chosen["mass"])),
                'turntable %s "Table" {' % names["load"], "  motion          = " + names["cycle"], "  bodies          = " + names["plate"],
                "  friction-torque = %s N·m" % digits(axis["friction"], 2), "}"]
    else:
        out += ['slide %s "Carriage" {' % names["load"], "  motion         = " + names["cycle"], "  mass           = %s kg" % digits(axis["mass"]),
                "  guide-friction = %s N" % digits(axis["friction"], 2)]
        out += ["  slope          = %d deg" % chosen["slope"]] if chosen["slope"] else []
        out += ["}"]
    if kind in ("screw", "slope"):
        out += ['screw %s "Ball screw" {' % names["stage"], "  load        = " + names["load"], "  lead        = %d mm/rev" % chosen["lead"],
                "  efficiency  = %d %%" % round(axis["efficiency"] * 100), "  drag-torque = %s mN·m" % digits(axis["drag"] * 1e3),
                "  diameter    = %d mm" % chosen["diameter"], "  length      = %d mm" % chosen["length"], "}"]
    else:
        load = names["load"]
        if kind == "belt":
            load = names["pulley"]
            out += ['belt-drive %s "Toothed belt" {' % names["pulley"], "  load           = " + names["load"], "  tooth-pitch    = 3 mm",
                    "  pulley-teeth   = %d" % chosen["teeth"], "  own-inertia    = %s g·cm²" % digits(axis["inertia"] * 1e7),
                    "  pulley-inertia = %s g·cm²" % digits(axis["inertia"] * 1e7), "  efficiency     = %d %%" % round(axis["efficiency"] * 100), "}"]
        out += ['gearhead-stage %s "Gearhead on the motor" {' % names["stage"], "  load     = " + load, "  gearhead = " + chosen["gearhead"].name, "}"]
    out += ['axis %s "One of many" {' % names["axis"], "  stage   = " + names["stage"], "  motor   = " + chosen["motor"].name,
            "  drive   = " + chosen["drive"].name, "  supply  = Rowan-%d" % round(axis["lowest"] / 0.95), "  ambient = %d °C" % axis["ambient"]]
    out += ["  inertia-limit = %d" % max(10, math.ceil(1.1 * found["ratio"]))]
    out += ["  brake   = " + chosen["brake"].name] if chosen["brake"] else []
    out += ["}"]
    missed = rng.randrange(len(LIMITS)) if rng.random() < misses else None
    for i, (title, column, what, unit, size, formula) in enumerate(LIMITS):
        if unit is None:
            unit, size = {("speed", False): ("m/s", 1), ("speed", True): ("rpm", RPM), ("acceleration", False): ("m/s²", 1),
                          ("acceleration", True): ("rad/s²", 1)}[(what, turning)]
        start = axis["ambient"] if unit == "°C" else 0
        wanted = start + (found[what] - start) * (0.9 if i == missed else rng.uniform(1.06, 1.5))
        text = digits(wanted / size)
        axis[column] = float(text) * size
        out += ['requirement A%d-%d "%s" { shall %s <= %s %s  from none "Drawn at random."  method analysis }'
                % (number, i + 1, title, formula.format(**names), text, unit)]
    out += ['requirement A%d-10 "The lowest supply is enough" { shall %s.terminal-voltage <= %s.available-voltage  from none "Drawn at random."  method analysis }'
            % (number, names["axis"], names["axis"])]
    return "\n".join(out) + "\n"


def make_axes(count, seed=1, motors=120, misses=0.025, sets=0):
    """(text of each axis, its numbers), and the parts."""
    parts, rng, made, known = Parts(seed, motors), random.Random("axes %d" % seed), [], []
    while len(known) < sets:
        drawn = draw(rng, parts)
        known += [drawn[1]] if drawn else []
    while len(made) < count:
        drawn = draw(rng, parts, rng.choice(known) if known else None)
        if drawn:
            text = axis_text(len(made) + 1, *drawn, rng, misses)
            made.append((text, drawn[0]))
    return made, parts


def supplies():
    return "".join('\nsupply Rowan-%d "Strong supply, %d V" {\n  voltage = %d V\n  continuous-current = 60 A\n  takes-back = yes\n}\n' % (v, v, v)
                   for v in (12, 18, 24, 36, 48))


def main():
    options = argparse.ArgumentParser(description="Makes many different axes.")
    options.add_argument("count", type=int)
    options.add_argument("file")
    options.add_argument("--table")
    options.add_argument("--parts")
    options.add_argument("--motors", type=int, default=120)
    options.add_argument("--sets", type=int, default=0)
    options.add_argument("--misses", type=float, default=0.025)
    options.add_argument("--seed", type=int, default=1)
    chosen = options.parse_args()
    made, parts = make_axes(chosen.count, chosen.seed, chosen.motors, chosen.misses, chosen.sets)
    library = "".join("\n" + card_text(card) for card in parts.cards) + supplies()
    uses = 'use "axis.trn"\nuse "transmissions.trn"\n'
    with open(chosen.file, "w", encoding="utf-8", newline="\n") as out:
        out.write(uses)
        out.write('use "%s"\n' % chosen.parts if chosen.parts else library)
        out.writelines(text for text, _ in made)
    if chosen.parts:
        with open(chosen.parts, "w", encoding="utf-8", newline="\n") as out:
            out.write(uses + library)
    if chosen.table:
        with open(chosen.table, "w", encoding="utf-8", newline="\n") as out:
            out.write(",".join(COLUMNS) + "\n")
            for _, axis in made:
                out.write(",".join("%.9g" % axis[name] for name in COLUMNS) + "\n")


if __name__ == "__main__":
    main()
