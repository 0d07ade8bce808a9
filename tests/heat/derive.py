"""Heat, voltage and shared supplies, found by stepping and summing; see run.sh."""
import json
import math
import random
import sys

TOLERANCE = 1e-6  # of the size of the figure
BALANCE = 1e-9    # for energy, of the power that goes through
AIR_FACTS = "lowest-ambient = -40 °C\n  highest-ambient = 90 °C\n"


def number(draw, low, high):
    return float(f"{draw.uniform(low, high):.4g}")


# ---- two bodies, stepped through time --------------------------------------------------------------------------------------

class Bodies:
    """Rises of winding and housing above the air. Heat is a function of time, given for each piece of the cycle."""

    def __init__(self, to_housing, to_air, winding_time, housing_time):
        self.to_housing, self.to_air = to_housing, to_air
        self.winding_capacity, self.housing_capacity = winding_time / to_housing, housing_time / to_air

    def slope(self, state, winding_heat, housing_heat):
        winding, housing = state
        across = (winding - housing) / self.to_housing
        return ((winding_heat - across) / self.winding_capacity,
                (housing_heat + across - housing / self.to_air) / self.housing_capacity)

    def step(self, state, duration, heat, housing_heat, steps):
        """Runge and Kutta's fourth order; heat is a function of the time in this piece."""
        h = duration / steps
        for i in range(steps):
            t = i * h
            first, middle, last = heat(t), heat(t + h / 2), heat(t + h)
            a = self.slope(state, first, housing_heat)
            b = self.slope((state[0] + h / 2 * a[0], state[1] + h / 2 * a[1]), middle, housing_heat)
            c = self.slope((state[0] + h / 2 * b[0], state[1] + h / 2 * b[1]), middle, housing_heat)
            d = self.slope((state[0] + h * c[0], state[1] + h * c[1]), last, housing_heat)
            state = tuple(state[k] + h / 6 * (a[k] + 2 * b[k] + 2 * c[k] + d[k]) for k in (0, 1))
        return state

    def through(self, state, pieces, housing_heat, until=None):
        for duration, heat in pieces:
            part = duration if until is None else min(duration, until)
            if part > 0:
                state = self.step(state, part, heat, housing_heat, max(30, int(60 * part / min(duration, self.fast()))))
            if until is not None:
                until -= part
        return state

    def fast(self):
        return self.winding_capacity * self.to_housing

    def map_of(self, pieces, housing_heat):
        """One cycle from cold, and what it makes of a kelvin in either body."""
        start = self.through((0.0, 0.0), pieces, housing_heat)
        ends = [self.through(unit, pieces, housing_heat) for unit in ((1.0, 0.0), (0.0, 1.0))]
        return start, [[ends[j][i] - start[i] for j in (0, 1)] for i in (0, 1)]

    def settled(self, pieces, housing_heat):
        return fixed_point(*self.map_of(pieces, housing_heat))


def apply(mapping, state):
    start, matrix = mapping
    return tuple(start[i] + matrix[i][0] * state[0] + matrix[i][1] * state[1] for i in (0, 1))


def then(first, second):
    """The mapping that is first, then second."""
    start = apply(second, first[0])
    matrix = [[sum(second[1][i][k] * first[1][k][j] for k in (0, 1)) for j in (0, 1)] for i in (0, 1)]
    return start, matrix


def repeated(mapping, times):
    result = ((0.0, 0.0), [[1.0, 0.0], [0.0, 1.0]])
    for _ in range(times):
        result = then(result, mapping)
    return result


def fixed_point(start, matrix):
    a, b, c, d = 1 - matrix[0][0], -matrix[0][1], -matrix[1][0], 1 - matrix[1][1]
    det = a * d - b * c
    return ((d * start[0] - b * start[1]) / det, (a * start[1] - c * start[0]) / det)


# ---- windings in housings ----------------------------------------------------------------------------------------------------

HEAT_FORM = """form heat-case : two-bodies "Losses over time" {
  given motion : cycle of length "The times"
  given level  : power = 0 W varies with motion "Heat of the winding, less the ramp"
  given climb  : power-rate = 0 W/s varies with motion "Growth of a ramp"
  given begin  : time = 0 s varies with motion "Beginning of a ramp"
  given wh : thermal-resistance "winding to housing"
  given ha : thermal-resistance "housing to air"
  given wt : time "winding"
  given ht : time "housing"
  given other : power "Heat of the housing"
  let winding-to-housing : thermal-resistance = wh "as given"
  let housing-to-ambient : thermal-resistance = ha "as given"
  let winding-time : time = wt "as given"
  let housing-time : time = ht "as given"
  let copper-loss : power = level + climb * (motion.time - begin) "Heat of the winding"
  let mean-copper-loss : power = mean(copper-loss) "Its mean"
  let friction-heat : power = other "Heat of the housing"
}
"""


def heat_case(draw, name):
    wh, ha = number(draw, 0.5, 12), number(draw, 1, 25)
    wt, ht = number(draw, 3, 60), number(draw, 100, 1500)
    air, other = number(draw, -10, 45), number(draw, 0, 3)
    bodies, segments, pieces, begin = Bodies(wh, ha, wt, ht), [], [], 0.0
    for i in range(draw.randint(2, 5)):
        duration, level, climb = number(draw, 0.2, 12), number(draw, 0, 15), 0.0
        if draw.random() < 0.5:
            climb = number(draw, 0, 2)
        segments.append(f"  run 1 m/s for {duration} s {{ level = {level} W climb = {climb} W/s begin = {begin:.12g} s }}\n")
        pieces.append((duration, lambda t, level=level, climb=climb: level + climb * t))
        begin += duration
    cycle, duty, extra = begin, draw.choice(("S1", "S1", "S2", "S3")), ""
    one = bodies.map_of(pieces, other)
    checks = []
    if duty == "S1":
        state = fixed_point(*one)
        for i in range(2):
            t = float(f"{draw.uniform(0.02, 0.98) * cycle:.6g}")
            winding, housing = bodies.through(state, pieces, other, until=t)
            checks.append((f"winding-temperature at {t} s", "°C", air + winding))
            checks.append((f"housing-temperature at {t} s", "°C", air + housing))
    else:
        runs = draw.randint(1, 40)
        extra = f"  run-time = {runs * cycle:.12g} s\n"
        run = repeated(one, runs)
        state = run[0]
        if duty == "S3":
            rest_time = number(draw, 5, 3000)
            extra += f"  duty-period = {runs * cycle + rest_time:.15g} s\n"
            rest = bodies.map_of([(rest_time / 1024, lambda t: 0.0)], 0.0)
            for _ in range(10):
                rest = then(rest, rest)
            state = apply(run, fixed_point(*then(run, rest)))
        checks.append((f"winding-temperature at {cycle:.12g} s", "°C", air + state[0]))
        checks.append((f"housing-temperature at {cycle:.12g} s", "°C", air + state[1]))
    text = f"cycle {name}-loss progressive {{\n{''.join(segments)}}}\n"
    text += (f"heat-case {name} {{\n  ambient = {air} °C\n  duty = {duty}\n{extra}  motion = {name}-loss\n  wh = {wh} K/W\n  ha = {ha} K/W\n"
             f"  wt = {wt} s\n  ht = {ht} s\n  other = {other} W\n}}\n")
    return text, checks


def warm_case(draw, name):
    wh, ha = number(draw, 0.5, 12), number(draw, 1, 25)
    wt, ht = number(draw, 3, 60), number(draw, 100, 1500)
    air, limit = number(draw, 0, 40), number(draw, 90, 155)
    loss = float(f"{(limit - air) / (wh + ha) * draw.uniform(1.02, 12):.4g}")
    bodies, state, t, h = Bodies(wh, ha, wt, ht), (0.0, 0.0), 0.0, wt / 40
    heat = lambda _: loss
    while True:
        ahead = bodies.step(state, h, heat, 0.0, 4)
        if air + ahead[0] >= limit:
            break
        state, t = ahead, t + h
    low, high = 0.0, h
    for _ in range(60):
        middle = (low + high) / 2
        if air + bodies.step(state, middle, heat, 0.0, 4)[0] >= limit:
            high = middle
        else:
            low = middle
    text = (f"warm-up {name} {{\n  ambient = {air} °C\n  limit = {limit} °C\n  winding-to-housing = {wh} K/W\n  housing-to-ambient = {ha} K/W\n"
            f"  winding-time = {wt} s\n  housing-time = {ht} s\n  loss = {loss} W\n}}\n")
    return text, [("time-to-limit", "s", t + low)]


# ---- whole axes --------------------------------------------------------------------------------------------------------------

LAWS = {  # place and its first three derivatives over a unit stroke in unit time
    "cycloidal": (lambda x: 1 - math.cos(2 * math.pi * x),
                  lambda x: 2 * math.pi * math.sin(2 * math.pi * x),
                  lambda x: 4 * math.pi ** 2 * math.cos(2 * math.pi * x)),
    "polynomial-3-4-5": (lambda x: 30 * x ** 2 - 60 * x ** 3 + 30 * x ** 4,
                         lambda x: 60 * x - 180 * x ** 2 + 120 * x ** 3,
                         lambda x: 60 - 360 * x + 360 * x ** 2),
}
SLICES = 40
NODES = ((-0.9061798459386640, 0.2369268850561891), (-0.5384693101056831, 0.4786286704993665), (0.0, 0.5688888888888889),
         (0.5384693101056831, 0.4786286704993665), (0.9061798459386640, 0.2369268850561891))


class Segment:
    def __init__(self, duration, stroke=0.0, law=None):
        self.duration, self.stroke, self.law = duration, stroke, law

    def motion(self, t):
        """Speed, acceleration, jerk and the way it goes, at a time in the segment."""
        if self.law is None:
            return 0.0, 0.0, 0.0, 0
        x, T = t / self.duration, self.duration
        v, a, j = LAWS[self.law]
        return self.stroke * v(x) / T, self.stroke * a(x) / T ** 2, self.stroke * j(x) / T ** 3, (1 if self.stroke > 0 else -1)


def integral(segments, value):
    total = 0.0
    for segment in segments:
        h = segment.duration / SLICES
        for i in range(SLICES):
            total += h / 2 * sum(w * value(segment, h * (i + (1 + node) / 2)) for node, w in NODES)
    return total


def integral_of_positive(segments, value):
    """Of max(value, 0): slices are halved until halving changes nothing, down to where that no longer matters."""
    def gauss(segment, low, high):
        return (high - low) / 2 * sum(w * max(value(segment, low + (high - low) * (1 + node) / 2), 0.0) for node, w in NODES)

    def refined(segment, low, high, whole, depth):
        middle = (low + high) / 2
        left, right = gauss(segment, low, middle), gauss(segment, middle, high)
        if depth == 0 or abs(left + right - whole) < 1e-12:
            return left + right
        return refined(segment, low, middle, left, depth - 1) + refined(segment, middle, high, right, depth - 1)

    total = 0.0
    for segment in segments:
        count = 1 if segment.law is None and not hasattr(segment, "which") else 6 * SLICES
        h = segment.duration / count
        for i in range(count):
            total += refined(segment, i * h, (i + 1) * h, gauss(segment, i * h, (i + 1) * h), 26)
    return total


def greatest(segments, value):
    best = -math.inf
    for segment in segments:
        count = 60
        for i in range(count):
            low, high = segment.duration * i / count, segment.duration * (i + 1) / count
            for _ in range(40):  # golden sections; each slice has at most one hill
                a, b = low + 0.381966 * (high - low), low + 0.618034 * (high - low)
                if value(segment, a) < value(segment, b):
                    low = a
                else:
                    high = b
            best = max(best, value(segment, (low + high) / 2))
    return best


class Axis:
    def __init__(self, draw, name, cycle=None, parts=None):
        self.name = name
        self.cycle_name = f"{name}-cycle" if cycle is None else cycle[0]
        if cycle is None:
            cycle = (self.cycle_name, draw_cycle(draw))
        self.segments = cycle[1]
        self.duration = sum(s.duration for s in self.segments)
        self.table = number(draw, 2e-6, 3e-5)      # kg·m², of what turns
        self.drag = number(draw, 0, 8e-3)
        self.viscous = number(draw, 0, 2e-5)
        # motor
        self.resistance = number(draw, 0.5, 5)
        self.inductance = number(draw, 1e-4, 1e-3)
        self.constant = number(draw, 0.02, 0.06)
        self.rotor = number(draw, 5e-7, 5e-6)
        self.own_viscous = number(draw, 0, 5e-6)
        self.own_friction = number(draw, 0, 2e-3)
        self.wh, self.ha = number(draw, 1, 6), number(draw, 3, 14)
        self.wt, self.ht = number(draw, 8, 50), number(draw, 200, 1200)
        self.magnets = -number(draw, 0.03, 0.19) / 100
        self.mount = number(draw, 0.4, 1)
        self.air = number(draw, 0, 45)
        # drive
        self.efficiency = number(draw, 0.85, 0.98)
        self.idle = number(draw, 0, 2)
        self.frequency = number(draw, 2e4, 1e5)
        self.supply = parts
        self.lead = number(draw, 0.5, 6)

    def torque(self, segment, t):
        speed, acceleration, _, way = segment.motion(t)
        return ((self.table + self.rotor) * acceleration + (self.drag + self.own_friction) * way
                + (self.viscous + self.own_viscous) * speed)

    def torque_rate(self, segment, t):
        _, acceleration, jerk, _ = segment.motion(t)
        return (self.table + self.rotor) * jerk + (self.viscous + self.own_viscous) * acceleration

    def solve(self):
        mean_square = integral(self.segments, lambda s, t: self.torque(s, t) ** 2) / self.duration
        self.friction_heat = integral(self.segments, lambda s, t: s.motion(t)[0] * (
            self.own_friction * s.motion(t)[3] + self.own_viscous * s.motion(t)[0])) / self.duration
        self.ripple = 25.2 / (4 * self.frequency * self.inductance) / math.sqrt(12)
        copper = 1 / (235 + 25)
        winding = housing = self.air
        for _ in range(2000):
            self.warm_resistance = self.resistance * (1 + copper * (winding - 25))
            self.flux = 1 + self.magnets * (housing - 25)
            self.loss = self.warm_resistance * (mean_square / (self.constant * self.flux) ** 2 + self.ripple ** 2)
            housing = self.air + self.ha * self.mount * (self.loss + self.friction_heat)
            winding = housing + self.wh * self.loss
        self.winding = winding
        self.lead_resistance = 2 * self.lead * 26.0e-3 * (1 + 0.004 * 20)
        return self

    def current(self, segment, t):
        return self.torque(segment, t) / (self.constant * self.flux)

    def voltage(self, segment, t):
        return ((self.warm_resistance + self.lead_resistance) * self.current(segment, t) + self.constant * self.flux * segment.motion(t)[0]
                + self.inductance * self.torque_rate(segment, t) / (self.constant * self.flux))

    def power(self, segment, t):
        # what the inductance takes it gives back within the cycle, and is left out
        return ((self.warm_resistance + self.lead_resistance) * self.current(segment, t) ** 2 + self.torque(segment, t) * segment.motion(t)[0]
                + self.warm_resistance * self.ripple ** 2)

    def taken(self, segment, t):
        p = self.power(segment, t)
        return (p / self.efficiency if p > 0 else p * self.efficiency) + self.idle

    def heat(self, segment, t):
        return self.warm_resistance * (self.current(segment, t) ** 2 + self.ripple ** 2)

    def written(self):
        text = ""
        if self.cycle_name == f"{self.name}-cycle":
            text += write_cycle(self.cycle_name, self.segments)
        n = self.name
        text += f"lump {n}-lump {{\n  known = {self.table!r} kg·m²\n  mass = 1 kg\n}}\n"
        text += (f"turntable {n}-table {{\n  motion = {self.cycle_name}\n  bodies = {n}-lump\n  friction-torque = {self.drag!r} N·m\n"
                 f"  viscous-friction = {self.viscous!r} N·m/(rad/s)\n}}\n")
        text += (f"dc-motor {n}-motor {{\n  nominal-voltage = 24 V\n  resistance = {self.resistance!r} Ω\n  inductance = {self.inductance!r} H\n"
                 f"  torque-constant = {self.constant!r} N·m/A\n  rotor-inertia = {self.rotor!r} kg·m²\n  maximum-speed = 20000 rpm\n"
                 f"  viscous-friction = {self.own_viscous!r} N·m/(rad/s)\n"
                 f"  friction-torque = {self.own_friction!r} N·m\n"
                 f"  winding-to-housing = {self.wh!r} K/W\n  housing-to-ambient = {self.ha!r} K/W\n  winding-time-constant = {self.wt!r} s\n"
                 f"  housing-time-constant = {self.ht!r} s\n  greatest-winding-temperature = 155 °C\n"
                 f"  magnet-coefficient = {self.magnets!r} 1/K\n  {AIR_FACTS}}}\n")
        text += (f"drive {n}-drive {{\n  motor-types = brushed\n  lowest-supply = 10 V\n  highest-supply = 60 V\n  continuous-current = 5 A\n"
                 f"  peak-current = 10 A\n  peak-time = 1 s\n  safety-functions = STO\n  idle-power = {self.idle!r} W\n"
                 f"  efficiency = {self.efficiency!r}\n  switching-frequency = {self.frequency!r} Hz\n  {AIR_FACTS}}}\n")
        text += f"cable {n}-lead {{\n  length = {self.lead!r} m\n  area = 0.75 mm²\n}}\n"
        text += (f"axis {n} {{\n  stage = {n}-table\n  motor = {n}-motor\n  drive = {n}-drive\n  supply = random-supply\n  ambient = {self.air!r} °C\n"
                 f"  housing-path = {self.mount!r}\n  motor-cable = {n}-lead\n}}\n")
        return text

    def checks(self, draw):
        bodies = Bodies(self.wh, self.ha * self.mount, self.wt, self.ht * self.mount)
        pieces = [(s.duration, lambda t, s=s: self.heat(s, t)) for s in self.segments]
        state = bodies.settled(pieces, self.friction_heat)
        result = [("mean-winding-temperature", "°C", self.winding), ("mean-copper-loss", "W", self.loss)]
        moving = [i for i, s in enumerate(self.segments) if s.law]
        for _ in range(2):
            i = draw.choice(moving)
            inside = draw.uniform(0.05, 0.95) * self.segments[i].duration
            t = float(f"{sum(s.duration for s in self.segments[:i]) + inside:.7g}")
            inside = t - sum(s.duration for s in self.segments[:i])
            winding, housing = bodies.through(state, pieces, self.friction_heat, until=t)
            result += [(f"winding-temperature at {t} s", "°C", self.air + winding), (f"housing-temperature at {t} s", "°C", self.air + housing),
                       (f"voltage at {t} s", "V", self.voltage(self.segments[i], inside)),
                       (f"supply-power at {t} s", "W", self.taken(self.segments[i], inside))]
        mean = integral_of_positive(self.segments, self.power) / self.efficiency
        back = integral_of_positive(self.segments, lambda s, t: -self.power(s, t)) * self.efficiency
        result.append(("supply-power.mean", "W", (mean - back) / self.duration + self.idle))
        result.append(("returned-energy", "J", integral_of_positive(self.segments, lambda s, t: -self.taken(s, t))))
        return result


def draw_cycle(draw, duration=None):
    segments, place = [], 0.0
    for _ in range(draw.randint(1, 3)):
        time = number(draw, 0.15, 0.8)
        turns = number(draw, 0.5, 8) * time * 4 * draw.choice((-1, 1))
        segments.append(Segment(time, float(f"{turns:.5g}") * 2 * math.pi, draw.choice(sorted(LAWS))))
        segments.append(Segment(number(draw, 0.05, 1.5)))
    if duration is not None:
        rest = duration - sum(s.duration for s in segments)
        segments.append(Segment(float(f"{rest:.12g}")))
    return segments


def write_cycle(name, segments):
    text = f"cycle {name} progressive {{\n"
    for s in segments:
        text += f"  move {s.stroke / (2 * math.pi):.10g} rev in {s.duration!r} s by {s.law}\n" if s.law else f"  hold {s.duration!r} s\n"
    return text + "}\n"


LUMP = """form lump : body "A known moment of inertia" {
  given known : moment-of-inertia "As known"
  let inertia : moment-of-inertia = known "As known"
}
supply random-supply "Shared" {
  voltage = 24 V
  continuous-current = 20 A
  peak-current = 40 A
  peak-time = 1 s
  lowest-voltage = 22.8 V
  highest-voltage = 25.2 V
  cable-length = 2 m
  conductor-area = 1 mm²
  capacitance = 4.7 mF
  lowest-ambient = -40 °C
  highest-ambient = 90 °C
}
"""


def together(axes):
    """Several axes in step: each piece between two ends of anyone's segments is one slice of the common cycle."""
    ends = sorted({round(sum(s.duration for s in a.segments[:i]), 12) for a in axes for i in range(len(a.segments) + 1)})
    pieces = []
    for low, high in zip(ends, ends[1:]):
        if high - low < 1e-9:
            continue
        which = []
        for a in axes:
            begin = 0.0
            for s in a.segments:
                if begin - 1e-9 <= low < begin + s.duration - 1e-9:
                    which.append((a, s, low - begin))
                    break
                begin += s.duration
        piece = Segment(high - low)
        piece.which = which
        pieces.append(piece)
    return pieces


def shared_case(draw, name):
    duration = number(draw, 8, 10)
    axes = []
    text = ""
    for i in range(3):
        axis = Axis(draw, f"{name}-{'abc'[i]}", cycle=(f"{name}-{'abc'[i]}-cycle", draw_cycle(draw, duration))).solve()
        axes.append(axis)
        text += axis.written()
    text += f"shared-supply {name} {{\n  supply = random-supply\n  axes = {', '.join(a.name for a in axes)}\n  other-current = 0.3 A\n}}\n"
    pieces = together(axes)
    rest = 0.3 * 22.8
    total = lambda p, t: sum(a.taken(s, begin + t) for a, s, begin in p.which) + rest
    each = []
    for a in axes:
        mean = (integral_of_positive(a.segments, a.power) / a.efficiency - integral_of_positive(a.segments, lambda s, t: -a.power(s, t)) * a.efficiency)
        each.append(mean / a.duration + a.idle)
    peak = greatest(pieces, total)
    wire = 2 * 2 * 19.5e-3 * 1.08
    def reserve(p, t):
        bus = 22.8 - wire * max(total(p, t) / 22.8, 0)
        return -min(bus - abs(a.voltage(s, begin + t)) / 0.95 for a, s, begin in p.which)
    return text, [("mean-power", "W", sum(each) + rest), ("peak-power", "W", peak), ("peak-current", "A", peak / 22.8),
                  ("returned-energy", "J", integral_of_positive(pieces, lambda p, t: -total(p, t))),
                  ("voltage-reserve", "V", -greatest(pieces, reserve))]


# ---- cases ---------------------------------------------------------------------------------------------------------------------

def cases():
    draw = random.Random(60034)
    for i in range(140):
        name = f"heat{i}"
        yield (name,) + heat_case(draw, name) + (TOLERANCE,)
    for i in range(60):
        name = f"warm{i}"
        yield (name,) + warm_case(draw, name) + (TOLERANCE,)
    for i in range(40):
        name = f"axis{i}"
        axis = Axis(draw, name).solve()
        yield name, axis.written(), axis.checks(draw), TOLERANCE
    for i in range(12):
        name = f"bus{i}"
        yield (name,) + shared_case(draw, name) + (TOLERANCE,)


def quantities():
    """Name of the requirement, what it asks, its unit, and what was derived."""
    for name, text, checks, tolerance in cases():
        asked = []
        for i, (what, unit, value) in enumerate(checks):
            asked.append((f"{name}-r{i}", f"{name}.{what}", unit, value, tolerance, None))
        if name.startswith("axis"):
            balance = (f"{name}.power.mean - {name}.copper-loss.mean - {name}.friction-heat - mean({name}.motor-torque * {name}.speed)"
                       f" - {name}.lead-resistance * {name}.current.rms ^ 2")
            asked.append((f"{name}-balance", balance, "W", 0.0, BALANCE, f"{name}.copper-loss.mean"))
        yield text, asked


def write(path, expected):
    derived = []
    with open(path, "w", encoding="utf-8") as out:
        out.write('use "axis.trn"\nuse "thermal.trn"\nuse "shared-supply.trn"\n' + HEAT_FORM + LUMP)
        for text, asked in quantities():
            out.write(text)
            derived += asked
            for name, what, unit, _, _, _ in asked:
                out.write(f'requirement {name} {{\n  shall {what} <= 1e9 {unit}\n  from none "derived anew"\n  method analysis\n}}\n')
    with open(expected, "w", encoding="utf-8") as out:
        json.dump(derived, out)


def compare(path, expected):
    found = {}
    with open(expected, encoding="utf-8") as lines:
        derived = json.load(lines)
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            name, _, rest = line.strip().partition(": ")
            value = rest.split(", ")[-1].split(" ")
            if len(value) == 2 and value[0][-1:].isdigit():
                found[name] = (float(value[0]), value[1])
    passed = failed = 0
    worst = {}
    for name, what, unit, value, tolerance, size in derived:
        ours = found.get(name)
        scale = max(abs(value), 1e-3 if unit != "J" else 1e-2) if size is None else 1.0
        off = abs(ours[0] - value) / scale if ours is not None and ours[1] == unit else None
        if off is None or off > tolerance:
            failed += 1
            print(f"FAILED {name}, {what}: derived {value:.12g} {unit}, ours {ours}")
        else:
            passed += 1
            kind = name.rstrip("0123456789").rsplit("-", 1)[0].rstrip("0123456789-abc") if size is None else "balance"
            worst[kind] = max(worst.get(kind, 0.0), off)
    print("largest deviations: " + ", ".join(f"{kind} {off:.1e}" for kind, off in sorted(worst.items())))
    print(passed, failed)


if __name__ == "__main__":
    {"write": write, "compare": compare}[sys.argv[1]](sys.argv[2], sys.argv[3])
