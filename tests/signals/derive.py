"""Random cycles, moves and formulas, written as a specification and worked out a second way; see run.sh."""
import math
import os
import random
import sys

import numpy as np

import engine as e
import laws

FORMULAS, MOVES, PARTS = 260, 260, 4
TOLERANCE = 1e-8
LAWS = list(laws.SHAPES) + ["trapezoidal", "jerk-limited"]


def some(draw, low, high, digits=4):
    return float(f"{draw.uniform(low, high):.{digits}g}")


# ---- moves ---------------------------------------------------------------------------------------------------------------------

def draw_move(draw, name=None, stroke=None, simple=False):
    """What a move states, as text; its law, time and stroke."""
    name = name or draw.choice(LAWS)
    stroke = stroke or draw.choice((-1, 1)) * some(draw, 0.02, 2)
    size, text, stated, options = abs(stroke), "", {}, ""
    way = draw.random()
    time = some(draw, 0.2, 3)
    v, a = size / time, size / time**2
    if name == "trapezoidal":
        limits = draw.choice(((), ("speed",), ("acceleration",), ("acceleration", "deceleration"), ("speed", "acceleration"),
                              ("speed", "acceleration", "deceleration"))) if not simple else ()
        if limits[:2] != ("speed", "acceleration"):
            stated["time"] = time
        drawn = {"speed": some(draw, 1.02, 2.6) * v, "acceleration": some(draw, 4.1, 20) * a, "deceleration": some(draw, 4.1, 20) * a}
        if limits[:2] == ("speed", "acceleration"):
            drawn = {"speed": some(draw, 0.3, 4) * v, "acceleration": some(draw, 1, 20) * a, "deceleration": some(draw, 1, 20) * a}
        stated.update({what: float(f"{drawn[what]:.6g}") for what in limits})
        if not limits and way < 0.5:
            stated["shares"] = (some(draw, 0.05, 0.5), some(draw, 0.05, 0.5))
            options = "(acceleration-share = {}, deceleration-share = {})".format(*map(repr, stated["shares"]))
    elif name == "jerk-limited":
        if way < 0.3 or simple:
            stated["time"] = time
        elif way < 0.5:
            stated.update(time=time, shares=(some(draw, 0.05, 0.5), some(draw, 0.05, 0.5)))
            options = "(acceleration-share = {}, ramp-share = {})".format(*map(repr, stated["shares"]))
        else:
            stated = {"speed": float(f"{some(draw, 0.3, 5) * v:.6g}"), "acceleration": float(f"{some(draw, 1, 20) * a:.6g}"),
                      "jerk": float(f"{some(draw, 5, 200) * a / time:.6g}")}
    elif way < 0.4 or simple:
        stated["time"] = time
    else:
        kinds = ["speed", "acceleration", "deceleration"] + ([] if name in laws.JUMPING else ["jerk"])
        for what in draw.sample(kinds, draw.randint(1, len(kinds))):
            scale = {"speed": v, "acceleration": a, "deceleration": a, "jerk": a / time}[what]
            stated[what] = float(f"{some(draw, 0.3, 60) * scale:.6g}")
    units = {"speed": "m/s", "acceleration": "m/s²", "deceleration": "m/s²", "jerk": "m/s³"}
    for what, value in stated.items():
        if what == "time":
            text += f" in {value!r} s"
        elif what != "shares":
            text += f" {what} {value!r} {units[what]}"
    took, rows = laws.solved(name, **{what: value if what in ("time", "shares") else value / size for what, value in stated.items()})
    return f"move {stroke!r} m{text} by {name}{options}", rows, took, stroke


def move_case(draw, name, law):
    written, law_rows, time, stroke = draw_move(draw, law)
    rows = laws.placed(law_rows, 0.0, time, stroke, 0.0)
    jumping = written.split(" by ")[1].split("(")[0] in laws.JUMPING
    text = f"cycle {name} progressive {{\n  {written}\n}}\n"
    speed, acceleration = e.Motion(rows, 1), e.Motion(rows, 2)
    v, a, j = (laws.greatest(rows, k) for k in (1, 2, 3))
    checks = [(f"{name}.duration", "s", time, time), (f"{name}.first.peak-speed", "m/s", v, v), (f"{name}.first.peak-acceleration", "m/s²", a, a),
              (f"{name}.speed.rms", "m/s", math.sqrt(e.integral(speed, 2) / time), v),
              (f"{name}.acceleration.rms", "m/s²", math.sqrt(e.integral(acceleration, 2) / time), a)]
    if not jumping:
        checks.append((f"{name}.first.peak-jerk", "m/s³", j, j))
    for _ in range(2):
        t = float(f"{draw.uniform(0.02, 0.98) * time:.6g}")
        checks += [(f"{name}.position at {t!r} s", "m", e.at(e.Motion(rows, 0), t), abs(stroke)), (f"{name}.speed at {t!r} s", "m/s", e.at(speed, t), v),
                   (f"{name}.acceleration at {t!r} s", "m/s²", e.at(acceleration, t), a)]
    return text, checks


# Peak of speed, acceleration and jerk, root mean square of speed and of acceleration, for a stroke of one in a time of one.
PI = math.pi
COEFFICIENTS = {
    "trapezoidal": (1.5, 4.5, None, math.sqrt(5 / 4), math.sqrt(27 / 2)),
    "jerk-limited": (1.5, 6.75, 60.75, None, math.sqrt(135 / 8)),
    "triangular": (2.0, 4.0, None, 2 / math.sqrt(3), 4.0),
    "harmonic": (PI / 2, PI**2 / 2, None, PI / math.sqrt(8), PI**2 / math.sqrt(8)),
    "cycloidal": (2.0, 2 * PI, 4 * PI**2, math.sqrt(3 / 2), math.sqrt(2) * PI),
    "modified-sine": (4 * PI / (4 + PI), 4 * PI**2 / (4 + PI), 16 * PI**3 / (4 + PI), None, math.sqrt(8) * PI**2 / (4 + PI)),
    "modified-trapezoid": (2.0, 8 * PI / (2 + PI), 32 * PI**2 / (2 + PI), None, math.sqrt(48) * PI / (2 + PI)),
    "polynomial-3-4-5": (15 / 8, 10 / math.sqrt(3), 60.0, math.sqrt(10 / 7), math.sqrt(120 / 7)),
    "polynomial-4-5-6-7": (35 / 16, 84 / math.sqrt(125), 52.5, math.sqrt(700 / 429), math.sqrt(280 / 11)),
}


def coefficient_case(name, law):
    text = f"cycle {name} progressive {{\n  move 1 m in 1 s by {law}\n}}\n"
    asked = ((f"{name}.speed.peak", "m/s"), (f"{name}.acceleration.peak", "m/s²"), (f"{name}.jerk.peak", "m/s³"), (f"{name}.speed.rms", "m/s"),
             (f"{name}.acceleration.rms", "m/s²"))
    return text, [(what, unit, value, value) for (what, unit), value in zip(asked, COEFFICIENTS[law]) if value is not None]


# ---- cycles --------------------------------------------------------------------------------------------------------------------

def draw_cycle(draw, name, folder):
    """Text; rows of the motion; the input `push` as steps (begin, value or None)."""
    if draw.random() < 0.15:
        return table_cycle(draw, name, folder)
    lines, rows, begin, place, pushes = [], [], 0.0, 0.0, []
    for i in range(draw.randint(2, 6)):
        kind = draw.random() if i else 0.0
        push = some(draw, -3, 3) if i == 0 or draw.random() < 0.4 else None
        braces = f" {{ push = {push!r} }}" if push is not None else ""
        pushes.append((begin, push))
        if kind < 0.65:
            written, law_rows, time, stroke = draw_move(draw)
            rows.append(laws.placed(law_rows, begin, time, stroke, place))
            place += stroke
            lines.append(f"  {written}{braces}\n")
        else:
            time = some(draw, 0.05, 2)
            speed = some(draw, -2, 2) if kind > 0.85 else 0.0
            rows.append(laws.straight(begin, time, speed, place))
            place += speed * time
            lines.append(f"  run {speed!r} m/s for {time!r} s{braces}\n" if kind > 0.85 else f"  hold {time!r} s{braces}\n")
        begin += time
    return f"cycle {name} progressive {{\n{''.join(lines)}}}\n", np.concatenate(rows), pushes


def table_cycle(draw, name, folder):
    """The spline that repeats, from all its equations at once."""
    n = draw.randint(5, 14)
    times = [0.0]
    for _ in range(n):
        times.append(float(f"{times[-1] + draw.uniform(0.05, 0.4):.6g}"))
    y = [0.0] + [some(draw, -1, 1) for _ in range(n - 1)] + [0.0]
    pushes = [(t, some(draw, -3, 3)) for t in times[:-1]]
    # unknown: b, c, d of each piece y + b u + c u² + d u³
    h, matrix, right = np.diff(times), np.zeros((3 * n, 3 * n)), np.zeros(3 * n)
    for i in range(n):
        b, c, d = 3 * i, 3 * i + 1, 3 * i + 2
        after = 3 * ((i + 1) % n)
        matrix[b, [b, c, d]] = h[i], h[i] ** 2, h[i] ** 3
        right[b] = y[i + 1] - y[i]
        matrix[c, [b, c, d, after]] = 1, 2 * h[i], 3 * h[i] ** 2, -1
        matrix[d, [c, d, after + 1]] = 2, 6 * h[i], -2
    solution = np.linalg.solve(matrix, right)
    rows = []
    for i in range(n):
        row = laws.straight(times[i], h[i], 0.0, y[i])
        row[0, 1] = times[i + 1]
        row[0, 3:6] = solution[3 * i:3 * i + 3]
        rows.append(row)
    with open(os.path.join(folder, name + ".csv"), "w", encoding="utf-8", newline="") as out:
        out.write("time [s],position [m],push [1]\r\n")
        out.writelines(f"{t!r},{p!r},{push!r}\r\n" for t, p, push in zip(times, y, [p for _, p in pushes] + [pushes[-1][1]]))
    return f'cycle {name} from "{name}.csv"\n', np.concatenate(rows), pushes


# ---- formulas ------------------------------------------------------------------------------------------------------------------

class Maker:
    """Formulas as text, and as a node that is worked out here."""

    def __init__(self, draw, rows, pushes):
        self.draw, self.rows = draw, rows
        self.duration = rows[-1, 1]
        self.idle = some(draw, -2, 2)
        times = [t for t, _ in pushes] + [self.duration]
        self.push = e.Step(times, [self.idle if p is None else p for _, p in pushes])
        self.scales = [float(f"{max(laws.roughly(rows, k) if k else 1.0, 0.1):.3g}") for k in range(4)]

    def constant(self, low=-2.0, high=2.0):
        x = some(self.draw, low, high)
        return repr(x), e.Constant(x, self.duration)

    def leaf(self, changing=False):
        kind = self.draw.randint(0, 3 if changing else 6)
        if kind < 3:
            name, unit = (("position", "m"), ("speed", "m/s"), ("acceleration", "m/s²"))[kind]
            scale = self.scales[kind]
            return f"motion.{name} / {scale!r} {unit}", e.Quotient(e.Motion(self.rows, kind), e.Constant(scale, self.duration))
        if kind == 3:
            scale = float(f"{self.duration:.3g}")
            return f"motion.time / {scale!r} s", e.Quotient(e.Time(duration=self.duration), e.Constant(scale, self.duration))
        if kind == 4 or kind == 5:
            return "push", self.push
        return self.constant()

    def make(self, depth):
        if depth == 0:
            return self.leaf()
        kind = self.draw.choice(("+", "-", "*", "*", "/", "abs", "sign", "sqrt", "exp", "sin", "cos", "if", "if", "min", "max", "lag", "rate", "accumulate", "cube"))
        x = self.make(depth - 1)
        if kind in "+-*":
            y = self.make(self.draw.randint(0, depth - 1))
            node = e.Product(x[1], y[1]) if kind == "*" else e.Sum(x[1], y[1], 1 if kind == "+" else -1)
            return f"({x[0]}) {kind} ({y[0]})", node
        if kind == "/":
            y = self.make(self.draw.randint(0, depth - 1))
            return f"({x[0]}) / (1.5 + ({y[0]}) ^ 2)", e.Quotient(x[1], e.Sum(e.Constant(1.5, self.duration), e.Product(y[1], y[1]), 1))
        if kind == "abs":
            c = self.constant(-0.7, 0.7)
            return f"abs({x[0]} - {c[0]})", e.Magnitude(e.Sum(x[1], c[1], -1))
        if kind == "sign":
            c, y = self.constant(-0.7, 0.7), self.leaf()
            return f"sign({x[0]} - {c[0]}) * ({y[0]})", e.Product(e.Sign(e.Sum(x[1], c[1], -1)), y[1])
        if kind == "sqrt":
            c = self.constant(0.3, 2)
            return f"sqrt({c[0]} + ({x[0]}) ^ 2)", e.Root(e.Sum(c[1], e.Product(x[1], x[1]), 1))
        if kind == "exp":
            s = e.Sine(x[1])
            return f"exp(sin({x[0]}))", e.Exponential(s)
        if kind == "sin":
            return f"sin({x[0]})", e.Sine(x[1])
        if kind == "cos":
            return f"cos({x[0]})", e.Sine(e.Sum(x[1], e.Constant(math.pi / 2, self.duration), 1))
        if kind == "cube":
            return f"({x[0]}) ^ 3", e.Product(x[1], e.Product(x[1], x[1]))
        if kind == "if":
            c, y, z = self.constant(-0.7, 0.7), self.make(self.draw.randint(0, depth - 1)), self.leaf()
            return f"(if {x[0]} > {c[0]} then {y[0]} else {z[0]})", e.Switch(e.Sum(x[1], c[1], -1), y[1], z[1])
        if kind in ("min", "max"):
            c, y = self.constant(-0.5, 0.5), self.leaf()
            above = e.Sum(e.Sum(x[1], y[1], -1), c[1], 1)
            shifted = e.Sum(y[1], c[1], -1)
            pair = (x[1], shifted) if kind == "max" else (shifted, x[1])
            return f"{kind}({x[0]}, {y[0]} - {c[0]})", e.Switch(above, *pair)
        if kind in ("lag", "accumulate"):  # of something that changes
            y = self.leaf(True)
            x = (f"({x[0]}) + 0.3 * ({y[0]})", e.Sum(x[1], e.Product(y[1], e.Constant(0.3, self.duration)), 1))
        if kind == "lag":
            tau = float(f"{self.duration * 10 ** self.draw.uniform(-1.7, 1):.3g}")
            return f"lag({x[0]}, {tau!r} s)", e.Running(x[1], tau)
        if kind == "rate":
            scale = float(f"{self.duration / 10:.3g}")
            return f"rate({x[0]}) * {scale!r} s", e.Product(e.Rate(x[1]), e.Constant(scale, self.duration))
        scale = float(f"{self.duration:.3g}")
        return f"accumulate({x[0]}) / {scale!r} s", e.Quotient(e.Running(x[1]), e.Constant(scale, self.duration))


def formula_case(draw, name, folder):
    text, rows, pushes = draw_cycle(draw, name + "-c", folder)
    maker = Maker(draw, rows, pushes)
    while True:
        formula, node = maker.make(draw.randint(2, 4))
        added, leaf = maker.leaf(True)  # so that it changes over the cycle
        formula, node = f"{formula} + 0.25 * ({added})", e.Sum(node, e.Product(e.Constant(0.25, maker.duration), leaf), 1)
        low, high = e.extremes(node)
        size = max(abs(low), abs(high))
        if 1e-3 < size < 1e5:
            break
    middle = float(f"{low + (high - low) * draw.uniform(0.1, 0.9):.5g}")
    instant = float(f"{draw.uniform(0, 1) * maker.duration:.6g}")
    mean = e.integral(node) / maker.duration
    derived = {"peak(value)": size, "minimum(value)": low, "maximum(value)": high, "mean(value)": mean,
               "rms(value)": math.sqrt(e.integral(node, 2) / maker.duration), "integral(value) / 1 s": mean * maker.duration}
    asked = [(what, derived[what], size * (maker.duration if what.startswith("integral") else 1)) for what in draw.sample(sorted(derived), 4)]
    if np.min(np.abs(node.breaks() - instant)) > 1e-5 * maker.duration:
        asked.append((f"value at {instant!r} s", e.at(node, instant), size))
    level = e.Sum(node, e.Constant(middle, maker.duration), -1)
    asked.append((f"share(value > {middle!r})", e.share_above(level), 1.0))
    text += f"form {name}-form {{\n  given motion : cycle of length\n  given push : number = {maker.idle!r} varies with motion\n  let value : number = {formula}\n"
    checks = []
    for i, (what, value, scale) in enumerate(asked):
        text += f"  let a{i} : number = {what}\n"
        checks.append((f"{name}.a{i}", "", value, scale))
    return text + f"}}\n{name}-form {name} {{ motion = {name}-c }}\n", checks, formula


# ---- both ----------------------------------------------------------------------------------------------------------------------

def cases(folder, part):
    number = 0
    for law in LAWS:
        number += 1
        if number % PARTS == part:
            yield (f"k{number}",) + coefficient_case(f"k{number}", law) + (law,)
    for i in range(MOVES):
        if i % PARTS == part:
            draw = random.Random(f"move {i}")
            yield (f"m{i}",) + move_case(draw, f"m{i}", LAWS[i % len(LAWS)]) + ("",)
    for i in range(FORMULAS):
        if i % PARTS == part:
            draw = random.Random(f"formula {i}")
            yield (f"f{i}",) + formula_case(draw, f"f{i}", folder)


def write(path, part):
    """The specification, and beside it what is expected of it."""
    folder = os.path.dirname(path)
    with open(path, "w", encoding="utf-8") as out, open(path + ".expected", "w", encoding="utf-8") as expected:
        for name, text, checks, note in cases(folder, part):
            out.write(text)
            for i, (what, unit, value, scale) in enumerate(checks):
                out.write(f'requirement {name}-r{i} {{\n  shall {what} <= 1e12 {unit}\n  from none "derived anew"\n  method analysis\n}}\n')
                expected.write(f"{name}-r{i}\t{what}\t{unit}\t{value:.17g}\t{scale:.17g}\t{note}\n")


def compare(expected, found_path):
    found = {}
    with open(found_path, encoding="utf-8") as lines:
        for line in lines:
            name, _, rest = line.strip().partition(": ")
            value = rest.split(", ")[-1].split(" ")
            try:
                found[name] = (float(value[0]), value[1] if len(value) > 1 else "")
            except ValueError:
                pass
    passed = failed = 0
    worst = {}
    with open(expected, encoding="utf-8") as lines:
        for line in lines:
            name, what, unit, value, scale, note = line.rstrip("\n").split("\t")
            value, scale = float(value), float(scale)
            ours = found.get(name)
            off = abs(ours[0] - value) / scale if ours is not None and ours[1] == unit else None
            if off is None or off > TOLERANCE:
                failed += 1
                print(f"FAILED {name}, {what}: derived {value:.12g} {unit}, ours {ours}{'; off by %.1e' % off if off is not None else ''}; {note}")
            else:
                passed += 1
                worst[name[0]] = max(worst.get(name[0], 0.0), off)
    names = {"k": "coefficients", "m": "moves", "f": "formulas"}
    print("largest deviations: " + ", ".join(f"{names[k]} {off:.1e}" for k, off in sorted(worst.items())))
    print(passed, failed)


if __name__ == "__main__":
    if sys.argv[1] == "write":
        write(sys.argv[2], int(sys.argv[3]))
    else:
        compare(sys.argv[2], sys.argv[3])
