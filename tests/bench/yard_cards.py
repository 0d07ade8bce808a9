#!/usr/bin/env python3
"""A yardstick: the tables of make_library.py --csv read as somebody used to Python does:  yard_cards.py FOLDER

csv and float, the unit of a column taken from its head, one dictionary a card; and, as an audit would begin, the three rules of
a motor that a spreadsheet would hold: speed constant, stall current and mechanical time constant. Nothing else is judged."""
import csv
import glob
import math
import os
import sys
import time

FACTORS = {"mΩ": 1e-3, "mH": 1e-3, "µH": 1e-6, "mA": 1e-3, "mN·m/A": 1e-3, "mN·m": 1e-3, "g·cm²": 1e-7, "mm": 1e-3, "g": 1e-3, "ms": 1e-3, "%": 0.01,
           "rpm": math.pi / 30, "rpm/V": math.pi / 30, "rpm/(mN·m)": 1e3 * math.pi / 30, "deg": math.pi / 180, "kHz": 1e3}


def read(path):
    cards = []
    with open(path, encoding="utf-8", newline="") as file:
        rows = csv.reader(file)
        columns = []
        for head in next(rows):
            name, _, unit = head.partition(" [")
            columns.append((name, FACTORS.get(unit[:-1], 1.0)))
        for row in rows:
            card = {}
            for (name, factor), text in zip(columns, row):
                if text:
                    try:
                        card[name] = float(text) * factor
                    except ValueError:
                        card[name] = text
            cards.append(card)
    return cards


def off(stated, formula, share):
    return abs(stated / formula - 1) > share


def doubtful(card):
    count = 0
    k, r = card.get("torque-constant"), card.get("resistance")
    if "speed-constant" in card:
        count += off(card["speed-constant"], 1 / k, 0.03)
    if "stall-current" in card:
        count += off(card["stall-current"], card["nominal-voltage"] / r, 0.05)
    if "mechanical-time-constant" in card:
        count += off(card["mechanical-time-constant"], r * card["rotor-inertia"] / k ** 2, 0.08)
    return count


def main():
    least = 1e9
    for _ in range(3):
        begun = time.process_time()
        cards, found = 0, 0
        for path in sorted(glob.glob(os.path.join(sys.argv[1], "*.csv"))):
            read_ones = read(path)
            cards += len(read_ones)
            found += sum(doubtful(card) for card in read_ones)
        least = min(least, time.process_time() - begun)
    print("%-28s %10.4f s %12.0f cards/s   %d doubtful" % ("Python, csv and float", least, cards / least, found))


if __name__ == "__main__":
    main()
