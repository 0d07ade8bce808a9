#!/usr/bin/env python3
"""A yardstick: the loops of yard_choice.c as somebody used to numpy writes them:  yard_choice.py FOLDER

Once plain, with every formula over all sets of motor, gearhead and drive (a motor at a time, so that it fits into memory), and
once with what does not depend on the drive worked out before. The same closed formulas, the same sets."""
import sys
import time

import numpy as np

MOTOR = "brushless commutated resistance constant friction inertia highest diameter inner outer limit inductance poles".split()
GEARHEAD = "ratio efficiency lasting peak lasting_speed peak_speed inertia drag backlash diameter".split()
DRIVE = "brushed brushless lowest highest usable bridge lasting peak peak_time idle efficiency frequency".split()


class Table:
    def __init__(self, path, names, shape):
        rows = np.array([[float(x) for x in line.split()[1:]] for line in open(path, encoding="utf-8")])
        for i, name in enumerate(names):
            setattr(self, name, rows[:, i].reshape(shape))
        self.count = len(rows)


def passed(torque, power, efficiency):
    return np.where(power > 0, torque / efficiency, torque * np.maximum(2 - 1 / efficiency, 0))


class Task:
    def __init__(self, path):
        for line in open(path, encoding="utf-8"):
            name, value = line.split()
            setattr(self, name, float(value))
        self.whole = self.out + self.stay + self.back + self.rest
        self.pieces = []
        for time_, way in ((self.out, self.stroke), (self.back, -self.stroke)):
            for i, steep in enumerate((4.5, 0.0, -4.5)):
                direction = 1 if way > 0 else -1
                rise, top = steep * way / time_ ** 2, 1.5 * way / time_
                force = self.mass * rise + self.friction * direction
                torque = float(passed(force * self.travel, force * top, self.belt_efficiency)) + self.pulley * rise / self.travel
                self.pieces.append((time_ / 3, direction, abs(top / self.travel), 1.0 if i == 1 else 0.5, rise / self.travel, torque))
        turned = sum(w * s * share for w, _, s, share, _, _ in self.pieces)
        self.cubic = (sum(abs(t) ** 3 * w * s * share for w, _, s, share, _, t in self.pieces) / turned) ** (1 / 3)
        self.mean_speed = turned / self.whole


def gear_does(t, g):
    peak, top = max(abs(p[5]) for p in t.pieces), max(p[2] for p in t.pieces)
    return ((peak <= g.peak) & (t.cubic <= g.lasting) & (top * g.ratio <= g.peak_speed) & (t.mean_speed * g.ratio <= g.lasting_speed)
            & (g.diameter <= t.most_gear_diameter) & (g.backlash * t.travel <= t.most_play))


def current_of(t, m, g):
    pieces, peak, squares, slip, emf = [], 0, 0, 0, 0
    for weight, direction, speed, share, rise, load in t.pieces:
        torque = (passed(load / g.ratio, load * direction, g.efficiency) + (g.inertia + m.inertia) * rise * g.ratio
                  + (g.drag + m.friction) * direction)
        current, mean = torque / m.constant, speed * g.ratio * share
        pieces.append((current, speed * g.ratio, direction, weight))
        peak = np.maximum(peak, np.abs(current))
        squares = squares + current ** 2 * weight
        slip = slip + m.friction * mean * weight
        emf = emf + torque * direction * mean * weight
    return pieces, peak, squares / t.whole, slip / t.whole, emf / t.whole, max(p[2] for p in t.pieces) * g.ratio


def motor_does(t, m, c):
    return (c[5] <= m.highest) & (c[5] <= t.most_turning) & (m.diameter <= t.most_diameter) & (m.commutated > 0) & (np.sqrt(c[2]) <= t.most_current)


def drive_does(t, m, d, c):
    pieces, peak, squares, slip, emf, _ = c
    with np.errstate(divide="ignore", invalid="ignore"):
        ripple = np.where(m.inductance > 0, t.highest / (4 * d.frequency * m.inductance) / (2 * np.sqrt(3)), 0)
    cold, paths = m.resistance * (squares + ripple ** 2), m.inner + m.outer
    rise = cold / 260
    winding = (t.ambient + m.outer * slip + paths * cold * (1 - 25 / 260)) / (1 - paths * rise)
    loss = (winding - t.ambient - m.outer * slip) / paths
    housing = t.ambient + m.outer * (loss + slip)
    warm, magnets = m.resistance * (1 + (winding - 25) / 260), 1 - 0.001 * (housing - 25)
    does = ((np.where(m.brushless > 0, d.brushless, d.brushed) > 0) & (t.lowest >= d.lowest) & (t.highest <= d.highest)
            & (paths * rise < 1) & (winding <= t.most_winding) & (winding <= m.limit) & (housing <= t.most_housing)
            & (peak / magnets <= d.peak) & (np.sqrt(squares) / magnets <= np.minimum(d.lasting, t.most_current)))
    over = 0
    for current, speed, direction, weight in pieces:
        now = current / magnets
        volts, cross = warm * now * direction + m.constant * magnets * speed, m.poles * speed * m.inductance * now
        does &= np.sqrt(volts ** 2 + cross ** 2) + d.bridge * np.abs(now) <= d.usable * t.lowest
        over = over + np.maximum(now ** 2 - d.lasting ** 2, 0) * weight
    return (does & (over <= (d.peak ** 2 - d.lasting ** 2) * d.peak_time)
            & (np.maximum(emf + loss, 0) / d.efficiency + d.idle <= t.most_power))


def shaped(table, change):
    """The table with its columns in another shape."""
    other = object.__new__(Table)
    for name, value in vars(table).items():
        setattr(other, name, change(value) if isinstance(value, np.ndarray) else value)
    return other


def naive(t, motors, gearheads, drives):
    found, grid = 0, np.zeros((gearheads.count, drives.count))
    whole = shaped(gearheads, lambda column: column.reshape(-1, 1) + grid)
    with np.errstate(all="ignore"):
        for i in range(motors.count):
            m = shaped(motors, lambda column: column[i] + grid)
            c = current_of(t, m, whole)
            found += int(np.count_nonzero(gear_does(t, whole) & motor_does(t, m, c) & drive_does(t, m, drives, c)))
    return found


def hoisted(t, motors, gearheads, drives):
    with np.errstate(all="ignore"):
        fits = gear_does(t, gearheads)
        g, m = shaped(gearheads, lambda column: column[fits].reshape(1, -1)), shaped(motors, lambda column: column.reshape(-1, 1))
        c = current_of(t, m, g)
        i, j = np.nonzero(motor_does(t, m, c))
        pick = lambda column: np.broadcast_to(column, c[1].shape)[i, j].reshape(-1, 1)
        left = shaped(motors, lambda column: column[i].reshape(-1, 1))
        rows = [(pick(current), pick(speed), direction, weight) for current, speed, direction, weight in c[0]]
        return int(np.count_nonzero(drive_does(t, left, drives, (rows, *map(pick, c[1:])))))


def main():
    folder = sys.argv[1]
    task = Task(folder + "/task.txt")
    motors, gearheads = Table(folder + "/motors.txt", MOTOR, (-1,)), Table(folder + "/gearheads.txt", GEARHEAD, (-1,))
    drives = Table(folder + "/drives.txt", DRIVE, (1, -1))
    for what, search, runs in (("numpy, plain", naive, 1), ("numpy, hoisted", hoisted, 5)):
        least = 1e9
        for _ in range(runs):
            begun = time.process_time()
            found = search(task, motors, gearheads, drives)
            least = min(least, time.process_time() - begun)
        sets = motors.count * gearheads.count * drives.count
        print("%-28s %10.4f s %12.4g sets/s   %d do" % (what, least, sets / least, found))


if __name__ == "__main__":
    main()
