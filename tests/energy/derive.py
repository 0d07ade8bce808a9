"""Chains from a supply to a load, drawn at random, and the work of each load by hand; see run.sh.

Cycles are closed: what moves comes back, and stands at both ends. So whatever the supply gives and does not get back has
become heat, or work done at the load. That work is force times way here, summed up by hand."""
import math
import random
import sys

CASES = 260
PARTS = 5
TOLERANCE = 1e-9
GRAVITY = 9.80665
LAWS = ("trapezoidal", "jerk-limited", "triangular", "harmonic", "cycloidal", "modified-sine", "modified-trapezoid",
        "polynomial-3-4-5", "polynomial-4-5-6-7")
SURROUNDINGS = "lowest-ambient = -40 °C\n  highest-ambient = 90 °C\n"


def some(draw, low, high):
    return float(f"{draw.uniform(low, high):.4g}")


def maybe(draw, value):
    return value if draw.random() < 0.5 else 0.0


class Cycle:
    """Moves and holds, with what is set during each. `moves` has the way and the settings of each piece."""

    def __init__(self, draw, name, unit, size, inputs, closed):
        self.name, self.moves, place, lines = name, [], 0.0, []
        self.low = self.high = 0.0
        for i in range(draw.randint(2, 4)):
            stroke = float(f"{draw.choice((-1, 1)) * some(draw, 0.1, 1) * size:.6g}")
            self.piece(draw, lines, stroke, unit, inputs)
            place += stroke
            self.low, self.high = min(self.low, place), max(self.high, place)
        if closed and place:
            self.piece(draw, lines, -float(f"{place:.12g}"), unit, inputs)
        self.text = f"cycle {name}{'' if closed else ' progressive'} {{\n{''.join(lines)}}}\n"

    def piece(self, draw, lines, stroke, unit, inputs):
        for hold in (False, True):
            if hold and draw.random() < 0.5:
                continue
            settings = {}
            for name, (low, high, what) in inputs.items():
                if draw.random() < 0.4:
                    settings[name] = some(draw, low, high)
            braces = "".join(f" {name} = {value!r} {inputs[name][2]}" for name, value in settings.items())
            braces = f" {{{braces} }}" if braces else ""
            if hold:
                lines.append(f"  hold {some(draw, 0.05, 0.8)!r} s{braces}\n")
            else:
                lines.append(f"  move {stroke:.12g} {unit} in {some(draw, 0.3, 1.5)!r} s by {draw.choice(LAWS)}{braces}\n")
                self.moves.append((stroke, settings))


def filled(form, name, **fields):
    return f"{form} {name} {{\n" + "".join(f"  {key.replace('_', '-')} = {value}\n" for key, value in fields.items()) + "}\n"


# ---- loads: text, whether it turns, its cycle, work done and friction by hand (None: not by hand) ----------------------------

def make_slide(draw, name):
    cycle = Cycle(draw, name + "-c", "m", 0.6, {"thrust": (-80, 80, "N"), "payload": (0, 4, "kg")}, True)
    mass, counter, slope = some(draw, 0.5, 9), maybe(draw, some(draw, 0, 5)), maybe(draw, some(draw, -90, 90))
    coefficient, guide, thrust, payload = maybe(draw, some(draw, 0, 0.2)), some(draw, 0, 20), maybe(draw, some(draw, -20, 40)), maybe(draw, some(draw, 0, 2))
    text = cycle.text + filled("slide", name, motion=cycle.name, mass=f"{mass!r} kg", counterweight=f"{counter!r} kg", slope=f"{slope!r} deg",
                               friction_coefficient=repr(coefficient), guide_friction=f"{guide!r} N", thrust=f"{thrust!r} N",
                               payload=f"{payload!r} kg")
    work = friction = 0.0
    for way, settings in cycle.moves:
        carried = mass + settings.get("payload", payload)
        work += way * (settings.get("thrust", thrust) + GRAVITY * (carried * math.sin(math.radians(slope)) - counter))
        friction += abs(way) * (guide + coefficient * carried * GRAVITY * abs(math.cos(math.radians(slope))))
    return text, False, cycle, work, friction


def make_conveyor(draw, name):
    cycle = Cycle(draw, name + "-c", "m", 4, {"goods": (0, 40, "kg"), "thrust": (-50, 50, "N")}, draw.random() < 0.5)
    length, slope, density = some(draw, 2, 9), maybe(draw, some(draw, -20, 20)), some(draw, 0.5, 4)
    coefficient, other, rollers, bed = some(draw, 0.01, 0.3), some(draw, 0, 30), some(draw, 0, 9), draw.random() < 0.5
    text = cycle.text + filled("conveyor", name, motion=cycle.name, support="bed" if bed else "rollers", length=f"{length!r} m",
                               slope=f"{slope!r} deg", belt_density=f"{density!r} kg/m", friction_coefficient=repr(coefficient),
                               other_resistance=f"{other!r} N", roller_mass=f"{rollers!r} kg")
    work = friction = 0.0
    lean = math.radians(slope)
    for way, settings in cycle.moves:
        goods, thrust = settings.get("goods", 0.0), settings.get("thrust", 0.0)
        work += way * (goods * GRAVITY * math.sin(lean) + thrust)
        pressing = (density * length + goods) * math.cos(lean) if bed else rollers + (2 * density * length + goods) * math.cos(lean)
        friction += abs(way) * (coefficient * GRAVITY * pressing + other)
    return text, False, cycle, work, friction


def make_turntable(draw, name):
    cycle = Cycle(draw, name + "-c", "rad", 12, {"process-torque": (-3, 3, "N·m")}, draw.random() < 0.5)
    bearing, process, radius, mass = some(draw, 0, 0.5), maybe(draw, some(draw, -1, 1)), some(draw, 0.05, 0.3), some(draw, 0.5, 6)
    text = cycle.text + filled("disc", name + "-d", diameter=f"{2 * radius!r} m", mass=f"{mass!r} kg")
    text += filled("turntable", name, motion=cycle.name, bodies=name + "-d", friction_torque=f"{bearing!r} N·m", process_torque=f"{process!r} N·m")
    work = sum(way * settings.get("process-torque", process) for way, settings in cycle.moves)
    return text, True, cycle, work, sum(abs(way) * bearing for way, _ in cycle.moves)


def make_arm(draw, name):
    cycle = Cycle(draw, name + "-c", "rad", 3, {"payload": (0, 2, "kg"), "process-torque": (-3, 3, "N·m")}, True)
    mass, centre, reach, start, tilt = some(draw, 0.3, 3), some(draw, 0, 0.4), some(draw, 0, 0.6), some(draw, -180, 180), some(draw, -90, 90)
    counter, back, bearing = maybe(draw, some(draw, 0, 4)), some(draw, 0, 0.3), some(draw, 0, 0.5)
    text = cycle.text + filled("rod", name + "-r", mass=f"{mass!r} kg", length=f"{2 * centre + 0.1!r} m")
    text += filled("arm", name, motion=cycle.name, body=name + "-r", centre_distance=f"{centre!r} m", payload_distance=f"{reach!r} m",
                   counterweight=f"{counter!r} kg", counterweight_distance=f"{back!r} m", start_angle=f"{start!r} deg",
                   axis_slope=f"{tilt!r} deg", friction_torque=f"{bearing!r} N·m")
    work = place = 0.0
    for way, settings in cycle.moves:
        rise = math.sin(math.radians(start) + place + way) - math.sin(math.radians(start) + place)
        lifted = mass * centre + settings.get("payload", 0.0) * reach - counter * back
        work += GRAVITY * math.cos(math.radians(tilt)) * lifted * rise + way * settings.get("process-torque", 0.0)
        place += way
    return text, True, cycle, work, sum(abs(way) * bearing for way, _ in cycle.moves)


def make_crank(draw, name):
    """Comes back to where it was, so that weights and a steady push do no work on the whole."""
    cycle = Cycle(draw, name + "-c", "rad", 5, {}, True)
    radius = some(draw, 0.02, 0.1)
    text = cycle.text + filled("crank", name, motion=cycle.name, radius=f"{radius!r} m", rod_length=f"{radius * some(draw, 2.5, 5)!r} m",
                               offset=f"{radius * some(draw, -0.5, 0.5)!r} m", slope=f"{some(draw, -90, 90)!r} deg", mass=f"{some(draw, 0.2, 5)!r} kg",
                               rod_mass=f"{some(draw, 0, 1)!r} kg", crank_inertia=f"{some(draw, 1e-4, 1e-2)!r} kg·m²",
                               crank_unbalance=f"{some(draw, -0.02, 0.02)!r} kg·m", friction_coefficient=repr(maybe(draw, some(draw, 0, 0.2))),
                               guide_friction=f"{some(draw, 0, 9)!r} N", viscous_friction=f"{some(draw, 0, 5)!r} N·s/m",
                               friction_torque=f"{some(draw, 0, 0.3)!r} N·m", thrust=f"{some(draw, -40, 40)!r} N")
    return text, True, cycle, 0.0, None


def make_eccentric(draw, name):
    cycle = Cycle(draw, name + "-c", "rad", 5, {}, True)
    offset = some(draw, 0.005, 0.03)
    text = cycle.text + filled("disc", name + "-d", diameter=f"{offset * 3!r} m", mass=f"{some(draw, 0.1, 2)!r} kg")
    text += filled("eccentric", name, motion=cycle.name, disc=name + "-d", diameter=f"{offset * 3!r} m", eccentricity=f"{offset!r} m",
                   mass=f"{some(draw, 0.1, 2)!r} kg", slope=f"{some(draw, -90, 90)!r} deg", spring_preload=f"{some(draw, 50, 400)!r} N",
                   spring_rate=f"{some(draw, 0, 3000)!r} N/m", face_friction=repr(some(draw, 0, 0.15)), guide_friction=f"{some(draw, 0, 5)!r} N",
                   friction_torque=f"{some(draw, 0, 0.3)!r} N·m", thrust=f"{some(draw, -20, 20)!r} N")
    return text, True, cycle, 0.0, None


LOADS = (make_slide, make_slide, make_slide, make_conveyor, make_turntable, make_arm, make_crank, make_eccentric)


# ---- stages ------------------------------------------------------------------------------------------------------------------------

def losses(draw):
    fields = {"efficiency": repr(some(draw, 0.3, 1)), "drag_torque": f"{maybe(draw, some(draw, 0, 0.05))!r} N·m"}
    if draw.random() < 0.3:
        fields["backdriving_efficiency"] = repr(draw.choice((0.0, some(draw, 0.1, 1))))
    return fields


def own(draw):
    return {"own_inertia": f"{some(draw, 1e-6, 1e-4)!r} kg·m²"}


def to_a_line(draw, name, load, cycle, short):
    kinds = ["screw", "ball-screw", "sliding-screw", "rack-pinion", "belt-drive", "rope-drum", "friction-wheel", "drive-pulley"]
    if short:
        kinds += ["crank-drive", "rocker", "cam"]
    kind = draw.choice(kinds)
    reach = max(abs(cycle.low), abs(cycle.high))
    fields = {"load": load}
    if kind in ("screw", "ball-screw", "sliding-screw"):
        fields.update(lead=f"{some(draw, 2, 40)!r} mm/rev", **own(draw))
        if kind == "sliding-screw":
            fields.update(pitch_diameter=f"{some(draw, 12, 30)!r} mm", friction_coefficient=repr(some(draw, 0.02, 0.3)),
                          drag_torque=f"{maybe(draw, some(draw, 0, 0.1))!r} N·m")
        else:
            fields.update(losses(draw))
    else:
        fields.update(losses(draw))
        if kind == "belt-drive":
            fields.update(pitch_diameter=f"{some(draw, 20, 90)!r} mm", pulley_inertia="1 kg·cm²", belt_density="0.1 kg/m", belt_length="9 m")
        else:
            fields.update(own(draw))
        if kind == "rack-pinion":
            fields.update(pitch_diameter=f"{some(draw, 20, 90)!r} mm")
        elif kind == "rope-drum":
            fields.update(diameter=f"{some(draw, 40, 200)!r} mm", parts=draw.randint(1, 3))
        elif kind == "friction-wheel":
            fields.update(diameter=f"{some(draw, 40, 200)!r} mm", pressing_force="900 N", friction_coefficient="0.4", rolling_lever="0.1 mm")
        elif kind == "drive-pulley":
            fields.update(diameter=f"{some(draw, 100, 300)!r} mm", friction_coefficient="0.3", slack_tension="200 N")
        elif kind == "crank-drive":
            span = cycle.high - cycle.low
            radius = span * some(draw, 0.6, 1.2)
            rod = radius * some(draw, 2.5, 5)
            fields.update(radius=f"{radius!r} m", rod_length=f"{rod!r} m", zero_reach=f"{rod - (cycle.high + cycle.low) / 2!r} m")
        elif kind == "rocker":
            fields.update(arm_distance=f"{reach * some(draw, 0.7, 2)!r} m")
        elif kind == "cam":
            fields.update(base_radius=f"{reach * 2!r} m", spring_preload=f"{some(draw, 0, 200)!r} N", spring_rate=f"{some(draw, 0, 500)!r} N/m")
    return filled(kind, name, **fields), kind


def to_a_turn(draw, name, load):
    kind = draw.choice(("gear-stage", "spur-pair", "planetary-stage", "worm-stage", "belt-pair", "coupling-stage", "shaft", "gearhead-stage"))
    fields, text = {"load": load}, ""
    if kind == "gear-stage":
        fields.update(ratio=repr(some(draw, 0.7, 8)), **own(draw), **losses(draw))
    elif kind == "spur-pair":
        fields.update(pinion_teeth=draw.randint(12, 30), wheel_teeth=draw.randint(20, 90), module="1 mm", pinion_inertia="1e-6 kg·m²",
                      wheel_inertia="1e-4 kg·m²", **losses(draw))
    elif kind == "planetary-stage":
        fields.update(sun_teeth=18, ring_teeth=draw.choice((54, 72, 90)), **own(draw), **losses(draw))
    elif kind == "worm-stage":
        fields.update(starts=draw.randint(1, 4), wheel_teeth=draw.randint(30, 60), lead_angle=f"{some(draw, 2, 25)!r} deg",
                      friction_coefficient=repr(some(draw, 0.01, 0.12)), **own(draw))
    elif kind == "belt-pair":
        fields.update(input_diameter="40 mm", output_diameter=f"{some(draw, 40, 160)!r} mm", centre_distance="300 mm", belt_density="0.05 kg/m",
                      **losses(draw))
    elif kind == "coupling-stage":
        text = filled("coupling", name + "-part", type="bellows", rated_torque="5 N·m", maximum_speed="9000 rpm", inertia="1e-6 kg·m²")
        fields.update(coupling=name + "-part")
    elif kind == "shaft":
        fields.update(diameter=f"{some(draw, 6, 20)!r} mm", length="200 mm", drag_torque=f"{some(draw, 0, 0.05)!r} N·m")
    else:
        text = filled("gearhead", name + "-part", ratio=repr(some(draw, 3, 12)), efficiency=repr(some(draw, 0.45, 0.97)), continuous_torque="9 N·m",
                      intermittent_torque="18 N·m", continuous_input_speed="6000 rpm", inertia="1e-6 kg·m²", drag_torque=f"{some(draw, 0, 0.01)!r} N·m",
                      backlash="0.5 deg")
        fields.update(gearhead=name + "-part")
    return text + filled(kind, name, **fields), kind


# ---- motors, drives ------------------------------------------------------------------------------------------------------------------

THERMAL = ("  winding-to-housing = 0.001 K/W\n  housing-to-ambient = 0.002 K/W\n  winding-time-constant = 30 s\n  housing-time-constant = 900 s\n"
           "  greatest-winding-temperature = 155 °C\n  nominal-voltage = 48 V\n  " + SURROUNDINGS)


def make_drive(draw, name, motor):
    text = (f"drive {name} {{\n  motor-types = {motor}\n  lowest-supply = 10 V\n  highest-supply = 90 V\n  continuous-current = 5 A\n  peak-current = 10 A\n"
            f"  peak-time = 1 s\n  safety-functions = STO\n  idle-power = {maybe(draw, some(draw, 0, 6))!r} W\n  efficiency = {some(draw, 0.7, 1)!r}\n  {SURROUNDINGS}")
    if draw.random() < 0.4:
        text += f"  switching-frequency = {some(draw, 20, 90)!r} kHz\n"
    if motor == "brushless":
        text += f"  commutations = {draw.choice(('block', 'sine', 'field-oriented'))}\n  currents-refer-to = {draw.choice(('dc-equivalent', 'amplitude', 'effective'))}\n"
    return text + "}\n"


def make_motor(draw, name, kind):
    text = f"{kind} {name} {{\n  resistance = {some(draw, 0.05, 0.5)!r} Ω\n{THERMAL}"
    if draw.random() < 0.6:
        text += f"  inductance = {some(draw, 0.1, 2)!r} mH\n"
    if kind == "linear-motor":
        return text + (f"  force-constant = {some(draw, 20, 60)!r} N/A\n  pole-pitch = 16 mm\n  moving-mass = {some(draw, 0.2, 2)!r} kg\n  peak-force = 90 kN\n"
                       f"  maximum-speed = 9 m/s\n  friction-force = {some(draw, 0, 5)!r} N\n  viscous-friction = {some(draw, 0, 5)!r} N·s/m\n"
                       f"  attraction-force = {maybe(draw, some(draw, 0, 500))!r} N\n  magnet-coefficient = {-some(draw, 0, 0.15)!r} %/K\n}}\n")
    text += f"  rotor-inertia = {some(draw, 1e-6, 1e-3)!r} kg·m²\n"
    if kind == "stepper-motor":
        return text + ("  step-angle = 1.8 deg\n  holding-torque = 90 N·m\n  maximum-speed = 90000 rpm\n  continuous-current = 4 A\n"
                       "  pull-out = table { 0 rpm: 80 N·m; 9e7 rpm: 1 N·m }\n}\n")
    text += (f"  torque-constant = {some(draw, 0.1, 0.6)!r} N·m/A\n  maximum-speed = 20000 rpm\n  friction-torque = {some(draw, 0, 0.1)!r} N·m\n"
             f"  viscous-friction = {some(draw, 0, 1e-4)!r} N·m/(rad/s)\n  magnet-coefficient = {-some(draw, 0, 0.15)!r} %/K\n")
    if kind == "brushless-motor":
        text += (f"  pole-pairs = {draw.randint(1, 8)}\n  constants-refer-to = {draw.choice(('dc-equivalent', 'amplitude', 'effective'))}\n"
                 f"  constants-hold-for = {draw.choice(('block', 'sine'))}\n  emf = {draw.choice(('sinusoidal', 'trapezoidal'))}\n")
    return text + "}\n"


def case(draw, name):
    """Text, what the chain is, and the work and the friction of the load by hand."""
    maker = draw.choice(LOADS)
    text, turns, cycle, work, friction = maker(draw, name + "-l")
    chain, head = [maker.__name__[5:]], name + "-l"
    direct = maker is make_slide and draw.random() < 0.2
    if not direct:
        if not turns:
            more, kind = to_a_line(draw, name + "-s", head, cycle, maker is make_slide)
            text, head = text + more, name + "-s"
            chain.append(kind)
        for i in range(draw.randint(0, 3)):
            more, kind = to_a_turn(draw, f"{name}-{i}", head)
            text, head = text + more, f"{name}-{i}"
            chain.append(kind)
    fields = {"drive": name + "-d", "motor": name + "-m", "supply": "mains", "ambient": f"{some(draw, 0, 40)!r} °C"}
    if draw.random() < 0.4:
        text += filled("cable", name + "-w", length=f"{some(draw, 1, 9)!r} m", area="1.5 mm²")
        fields["motor_cable"] = name + "-w"
    if direct:
        fields.update(load=head, guide_coefficient=repr(some(draw, 0, 0.05)))
        text += make_motor(draw, name + "-m", "linear-motor") + make_drive(draw, name + "-d", "brushless") + filled("linear-axis", name, **fields)
        mechanics, lost = head, f"{head}.lost + {name}.guide-loss"
        chain.append("linear-axis")
    else:
        kind = draw.choice(("dc-motor", "brushless-motor", "brushless-motor", "stepper-motor"))
        fields["stage"] = head
        if draw.random() < 0.3:
            text += filled("holding-brake", name + "-b", static_torque="9 N·m", inertia="1e-5 kg·m²", voltage="24 V", power=f"{some(draw, 2, 12)!r} W",
                           engage_time="20 ms", release_time="30 ms", stop_energy="90 J")
            fields["brake"] = name + "-b"
        types = {"dc-motor": "brushed", "brushless-motor": "brushless", "stepper-motor": "stepping"}
        text += make_motor(draw, name + "-m", kind) + make_drive(draw, name + "-d", types[kind])
        text += filled("stepper-axis" if kind == "stepper-motor" else "axis", name, **fields)
        lost = f"{head}.lost"
        chain.append(kind)
    asked = [f"integral(max({name}.supply-power, 0 W))", f"{name}.returned-energy",
             f"integral({name}.drive-loss + {name}.copper-loss + {name}.lead-loss + {name}.moving-loss + {name}.holding-power + {lost})",
             f"integral({name}-l.loss)", f"minimum({lost})", f"minimum({name}.drive-loss)"]
    return text, chain, work, friction, asked


USED = ("axis", "linear-axis", "stepper-axis", "loads", "transmissions", "screws", "couplings")
MAINS = ("supply mains {\n  voltage = 48 V\n  continuous-current = 20 A\n  capacitance = 4.7 mF\n  cable-length = 2 m\n  " + SURROUNDINGS + "}\n")


def cases():
    draw = random.Random(1842)
    for i in range(CASES):
        yield (f"e{i}",) + case(draw, f"e{i}")


def write(path, part):
    """One of PARTS files, so that each is short work for the program, also under sanitizers."""
    with open(path, "w", encoding="utf-8") as out:
        out.write("".join(f'use "{name}.trn"\n' for name in USED) + MAINS)
        for i, (name, text, _, _, _, asked) in enumerate(cases()):
            if i % PARTS != part:
                continue
            out.write(text)
            for i, what in enumerate(asked):
                out.write(f'requirement {name}-r{i} {{\n  shall {what} <= 1e12 {"J" if i < 4 else "W"}\n  from none "derived anew"\n  method analysis\n}}\n')


def compare(path):
    found = {}
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            name, _, rest = line.strip().partition(": ")
            value = rest.split(", ")[-1].split(" ")
            if len(value) == 2 and value[1] in ("J", "W"):
                found[name] = float(value[0])
    passed = failed = fed_back = 0
    worst, kinds = 0.0, set()
    for name, _, chain, work, friction, asked in cases():
        values = [found.get(f"{name}-r{i}") for i in range(len(asked))]
        what = f"{name}, {' < '.join(chain)}"
        kinds.update(chain)
        if None in values:
            failed += 1
            print(f"FAILED {what}: has no value; found {values}")
            continue
        given, back, lost, load_lost, least, least_drive = values
        fed_back += back > 0
        checks = [("supply gives as much as is lost, worked and fed back", abs(given - back - lost - work) / given),
                  ("no part makes energy", max(0.0, -least / given, -least_drive / given))]
        if friction is not None:
            checks.append(("friction of the load", abs(load_lost - friction) / max(friction, 1e-6)))
        for check, off in checks:
            if off <= TOLERANCE:
                passed += 1
                worst = max(worst, off)
            else:
                failed += 1
                print(f"FAILED {what}: {check}, off by {off:.2e}; given {given}, back {back}, lost {lost}, worked {work:.12g}, friction {load_lost} {friction}")
    print(f"{CASES} chains of {len(kinds)} kinds of parts, {fed_back} of them feed energy back; largest deviation {worst:.1e}")
    print(passed, failed)


if __name__ == "__main__":
    if sys.argv[1] == "write":
        write(sys.argv[2], int(sys.argv[3]))
    else:
        compare(sys.argv[2])
