"""Motion laws from their accelerations, and moves from what is stated of them. Nothing here is taken over from the standard library.

A law is a row of pieces of acceleration over a time of one, each a polynomial and a sine; speed and place follow by integration. What a
move states is met by trying (halving an interval), not by the library's closed forms."""
import math

import numpy as np

POWERS = 9  # places are polynomials of at most the eighth power, and a sine


def law(pieces):
    """Pieces (end, polynomial of the acceleration from the piece's own beginning, (amplitude, pace, phase) of a sine in it)."""
    rows, begin, place, speed = [], 0.0, 0.0, 0.0
    for end, polynomial, sine in pieces:
        h = end - begin
        if h <= 0:
            continue
        amplitude, pace, phase = sine if sine else (0.0, 1.0, 0.0)
        swing = -amplitude / pace**2
        row = [place - swing * math.sin(phase), speed - swing * pace * math.cos(phase)]
        row += [c / ((k + 1) * (k + 2)) for k, c in enumerate(polynomial)]
        row += [0.0] * (POWERS - len(row))
        rows.append([begin, end] + row + [swing, pace, phase])
        place = sum(c * h**k for k, c in enumerate(row)) + swing * math.sin(pace * h + phase)
        speed = sum(k * c * h ** (k - 1) for k, c in enumerate(row) if k) + swing * pace * math.cos(pace * h + phase)
        begin = end
    rows = np.array(rows)
    rows[:, 2:2 + POWERS] /= place
    rows[:, 2 + POWERS] /= place
    return rows


def shift(polynomial, by):
    """The polynomial of x + by."""
    result = np.zeros(1)
    for c in reversed(polynomial):
        result = np.polynomial.polynomial.polyadd(np.polynomial.polynomial.polymul(result, [by, 1.0]), [c])
    return list(result)


def steps(parts):
    """A law of constant jerk: parts (length, acceleration at its beginning, at its end)."""
    whole, end, pieces = sum(p[0] for p in parts), 0.0, []
    for length, first, last in parts:
        end += length / whole
        pieces.append((end, [first, (last - first) * whole / length if length else 0.0], None))
    return law(pieces)


def jerk_steps(ramp, flat, cruise):
    return steps([(ramp, 0, 1), (flat, 1, 1), (ramp, 1, 0), (cruise, 0, 0), (ramp, 0, -1), (flat, -1, -1), (ramp, -1, 0)])


PI = math.pi
SHAPES = {
    "triangular": steps([(1, 1, 1), (1, -1, -1)]),
    "harmonic": law([(1.0, [], (1.0, PI, PI / 2))]),
    "cycloidal": law([(1.0, [], (1.0, 2 * PI, 0.0))]),
    "modified-sine": law([(1 / 8, [], (1.0, 4 * PI, 0.0)), (7 / 8, [], (1.0, 4 * PI / 3, PI / 2)), (1.0, [], (1.0, 4 * PI, 3 * PI / 2))]),
    "modified-trapezoid": law([(1 / 8, [], (1.0, 4 * PI, 0.0)), (3 / 8, [1.0], None), (5 / 8, [], (1.0, 4 * PI, PI / 2)), (7 / 8, [-1.0], None),
                               (1.0, [], (1.0, 4 * PI, 3 * PI / 2))]),
    # the speeds of the polynomials are powers of t (1 - t)
    "polynomial-3-4-5": law([(1.0, list(np.polynomial.polynomial.polyder(np.polynomial.polynomial.polypow([0, 1, -1], 2))), None)]),
    "polynomial-4-5-6-7": law([(1.0, list(np.polynomial.polynomial.polyder(np.polynomial.polynomial.polypow([0, 1, -1], 3))), None)]),
}
JUMPING = ("triangular", "harmonic", "trapezoidal")  # laws whose acceleration jumps


def placed(rows, begin, time, stroke, offset):
    """A law's rows as a move of `stroke` in `time` that begins at `begin` and `offset`."""
    rows = rows.copy()
    rows[:, 0:2] = begin + rows[:, 0:2] * time
    rows[:, 2:2 + POWERS] *= stroke / time ** np.arange(POWERS)
    rows[:, 2] += offset
    rows[:, 2 + POWERS] *= stroke
    rows[:, 3 + POWERS] /= time
    return rows


def straight(begin, time, speed, offset):
    row = np.zeros(2 + POWERS + 3)
    row[0], row[1], row[2], row[3], row[3 + POWERS] = begin, begin + time, offset, speed, 1.0
    return row[np.newaxis]


def places(rows, which, u, order):
    """Taylor coefficients of the place, a time u from the beginning of the rows `which`."""
    result = []
    for k in range(order + 1):
        total = np.zeros(u.shape)
        for j in range(POWERS - 1, k - 1, -1):
            total = total * u + rows[which, 2 + j] * math.comb(j, k)
        swing, pace, phase = (rows[which, i + POWERS] for i in (2, 3, 4))
        result.append(total + swing * pace**k * np.sin(pace * u + phase + k * PI / 2) / math.factorial(k))
    return result


def greatest(rows, derivative):
    """The largest magnitude of a derivative of the place."""
    best = 0.0
    for i in range(len(rows)):
        h = rows[i, 1] - rows[i, 0]
        u = np.linspace(0.0, h, 401)
        a = places(rows, np.full(u.shape, i), u, derivative + 1)
        slope = a[derivative + 1]
        best = max(best, np.max(np.abs(a[derivative])) * math.factorial(derivative))
        for k in np.nonzero(slope[:-1] * slope[1:] < 0)[0]:
            low, high = u[k], u[k + 1]
            for _ in range(60):
                middle = (low + high) / 2
                if places(rows, np.array([i]), np.array([middle]), derivative + 1)[derivative + 1][0] * slope[k] > 0:
                    low = middle
                else:
                    high = middle
            best = max(best, abs(places(rows, np.array([i]), np.array([low]), derivative)[derivative][0]) * math.factorial(derivative))
    return best


def roughly(rows, derivative):
    """The same to a few per cent."""
    which = np.repeat(np.arange(len(rows)), 21)
    u = (rows[:, 1] - rows[:, 0])[which] * np.tile(np.linspace(0.0, 1.0, 21), len(rows))
    return np.max(np.abs(places(rows, which, u, derivative)[derivative])) * math.factorial(derivative)


def halved(low, high, too_small):
    for _ in range(200):
        middle = (low + high) / 2
        if too_small(middle):
            low = middle
        else:
            high = middle
    return (low + high) / 2


def trapezoid(time=None, speed=None, acceleration=None, deceleration=None, shares=None):
    """Time and law of a move by a stroke of one."""
    if time is not None and speed is None and acceleration is None:
        first, last = shares or (1 / 3, 1 / 3)
        v = 1 / (time * (1 - (first + last) / 2))
        up, down = first * time, last * time
    elif time is not None and speed is not None:
        v = min(speed, 2 / time)
        up = down = halved(0.0, time / 2, lambda ramp: v * (time - ramp) > 1)
    else:
        slowing = acceleration if deceleration is None else deceleration
        ramps = lambda v: v / acceleration + v / slowing
        if time is not None:
            v = halved(0.0, time / ramps(1.0), lambda v: v * (time - ramps(v) / 2) < 1)
        else:
            v = speed if speed * ramps(speed) / 2 <= 1 else halved(0.0, speed, lambda v: v * ramps(v) / 2 < 1)
            time = ramps(v) + (1 - v * ramps(v) / 2) / v
        up, down = v / acceleration, v / slowing
    cruise = max(time - up - down, 0.0)
    return time, steps([(up, 1 / up, 1 / up), (cruise, 0, 0), (down, -1 / down, -1 / down)])


def jerk_limited(time=None, speed=None, acceleration=None, jerk=None, shares=None):
    if time is not None:
        rise, ramp = shares or (1 / 3, 1 / 3)
        return time, jerk_steps(rise * ramp, rise * (1 - 2 * ramp), 1 - 2 * rise)

    def ramps(v):
        """Time in which the acceleration rises, and in which it stays, on the way to a speed."""
        ramp = min(math.sqrt(v / jerk), acceleration / jerk)
        return ramp, max(v / (ramp * jerk) - ramp, 0.0)

    covered = lambda v: v * (2 * ramps(v)[0] + ramps(v)[1])
    v = speed if covered(speed) <= 1 else halved(0.0, speed, lambda v: covered(v) < 1)
    ramp, flat = ramps(v)
    cruise = max((1 - covered(v)) / v, 0.0)
    return 4 * ramp + 2 * flat + cruise, jerk_steps(ramp, flat, cruise)


PEAKS = {name: [greatest(rows, k) for k in (1, 2, 3)] for name, rows in SHAPES.items()}


def shape(name, time=None, **limits):
    if time is None:
        kept = lambda t: all(PEAKS[name][k - 1] / t**k <= limit for what, limit in limits.items()
                             for k in ({"speed": 1, "acceleration": 2, "deceleration": 2, "jerk": 3}[what],))
        high = 1.0
        while not kept(high):
            high *= 2
        time = halved(0.0, high, lambda t: not kept(t))
    return time, SHAPES[name]


def solved(name, **stated):
    if name == "trapezoidal":
        return trapezoid(**stated)
    return jerk_limited(**stated) if name == "jerk-limited" else shape(name, **stated)
