#!/usr/bin/env python3
"""A yardstick: the axes of yard_axes.c as somebody used to Python writes them:  yard_axes.py TABLE

1,000 samples of the cycle of each axis in numpy, one axis after the other; plain numbers in SI. Reading is counted."""
import csv
import math
import sys
import time
from types import SimpleNamespace

import numpy as np

SAMPLES = 1000


def motion(a):
    whole = a.out + a.stay + a.back + a.rest
    t = (np.arange(SAMPLES) + 0.5) * whole / SAMPLES
    speed, acceleration = np.zeros(SAMPLES), np.zeros(SAMPLES)
    for start, time_, way in ((0, a.out, a.stroke), (a.out + a.stay, a.back, -a.stroke)):
        now = (t >= start) & (t < start + time_)
        u = (t[now] - start) / time_
        if a.cycloidal:
            speed[now] = way / time_ * (1 - np.cos(2 * np.pi * u))
            acceleration[now] = 2 * np.pi * way / time_ ** 2 * np.sin(2 * np.pi * u)
        else:
            speed[now] = 1.5 * way / time_ * np.clip(np.minimum(3 * u, 3 * (1 - u)), 0, 1)
            acceleration[now] = 4.5 * way / time_ ** 2 * np.select([u < 1 / 3, u < 2 / 3], [1, 0], -1)
    return whole, speed, acceleration


def passed(torque, power, efficiency):
    return np.where(power > 0, torque / efficiency, np.where(power < 0, torque * max(2 - 1 / efficiency, 0), torque))


def judge(a):
    whole, v, rise = motion(a)
    turn, direction = a.ratio / a.travel, np.sign(v)
    force = a.mass * rise + a.pull + a.friction * direction
    torque = passed(force * a.travel, force * v, a.efficiency) + a.inertia * rise / a.travel + a.drag * direction
    torque = passed(torque / a.ratio, torque * v, a.gear_efficiency) + (a.gear_inertia + a.rotor) * rise * turn + a.gear_drag * direction
    current = (torque + a.motor_friction * direction) / a.constant
    squares, slip = np.mean(current ** 2), np.mean(a.motor_friction * np.abs(v * turn))
    ripple = a.highest / (4 * a.frequency * a.inductance) / (2 * math.sqrt(3)) if a.inductance else 0
    loss, warm, magnets = 0.0, a.resistance, 1.0
    for _ in range(30):
        before, loss = loss, warm * (squares / magnets ** 2 + ripple ** 2)
        housing = a.ambient + a.outer * (loss + slip)
        winding = a.ambient + loss * (a.inner + a.outer) + a.outer * slip
        magnets, warm = 1 + a.magnet * (housing - 25), a.resistance * (1 + (winding - 25) / 260)
        if abs(loss - before) < 1e-9 * loss:
            break
    current = current / magnets
    emf = a.constant * magnets * v * turn
    volts = np.hypot(warm * current + emf, a.poles * v * turn * a.inductance * current)
    taken = emf * current + warm * (current ** 2 + ripple ** 2)
    power = np.mean(np.where(taken > 0, taken / a.drive_efficiency, taken * a.drive_efficiency)) + a.idle + a.holding
    return sum((whole <= a.most_time, np.max(np.abs(v)) <= a.most_speed, np.max(np.abs(rise)) <= a.most_acceleration,
                np.max(np.abs(v * turn)) <= a.most_turning, np.max(np.abs(torque)) <= a.most_torque,
                math.sqrt(squares) / magnets <= a.most_current, winding <= a.most_winding, power <= a.most_power,
                housing <= a.most_housing, bool(np.all(volts <= a.usable * a.lowest - a.bridge * np.abs(current)))))


def main():
    begun = time.process_time()
    count = met = 0
    with open(sys.argv[1], encoding="utf-8") as table:
        for row in csv.DictReader(table):
            met += int(judge(SimpleNamespace(**{name: float(text) for name, text in row.items()})))
            count += 1
    took = time.process_time() - begun
    print("%-28s %12.0f axes/s with reading   %d of %d met" % ("numpy, 1,000 samples", count / took, met, 10 * count))


if __name__ == "__main__":
    main()
