"""Cutting lists: time and gap on made-up shops of growing size, against first fit and against the bound.

python bench/cutlist.py    prints JSON: seconds, what is bought, what first fit would buy, a numpy floor of the run
"""

from __future__ import annotations

import json
import random
import time

import numpy as np

from asmade.work.cutlist import Bar, Wanted, cutting_list

SOLD = (Bar("buy 333 mm", 333), Bar("buy 1000 mm", 1000))
RACK = (Bar("end", 140, 3), Bar("half", 480, 1))
KERF = 2.0


def pieces(kinds, seed):
    draw = random.Random(seed)
    return [Wanted(f"p{k}", round(draw.uniform(8, 120), 1), draw.randint(1, 6)) for k in range(kinds)]


def first_fit(wanted):
    """Longest first, each on the first bar it goes on; a new metre when none: what is done by hand."""
    room, opened = [], []
    for bar in RACK:
        room += [bar.length_mm + KERF] * bar.count
    have = len(room)
    for length in sorted((w.length_mm for w in wanted for _ in range(w.count)), reverse=True):
        for k, left in enumerate(room):
            if length + KERF <= left:
                room[k] -= length + KERF
                break
        else:
            room.append(1000 + KERF - length - KERF)
            opened.append(1000)
    return sum(opened), len(room) - have


def floor():
    start = time.perf_counter()
    np.sort(np.random.default_rng(1).random(1_000_000))
    return time.perf_counter() - start


def main():
    unit = floor()
    found = []
    for kinds in (3, 6, 10, 15):
        for seed in range(3):
            wanted = pieces(kinds, seed)
            start = time.perf_counter()
            plan = cutting_list(wanted, [*RACK, *SOLD], kerf_mm=KERF, time_limit_s=10)
            seconds = time.perf_counter() - start
            by_hand, _ = first_fit(wanted)
            found.append(
                {
                    "kinds": kinds,
                    "pieces": sum(w.count for w in wanted),
                    "seconds": round(seconds, 3),
                    "to_numpy_floor": round(seconds / unit, 1),
                    "bought_mm": plan.bought_mm,
                    "at_least_mm": plan.bought_at_least_mm,
                    "first_fit_mm": by_hand,
                    "bought_proven": plan.bought_proven,
                    "opened_proven": plan.opened_proven,
                    "patterns": plan.patterns,
                }
            )
    print(json.dumps({"floor_s": round(unit, 4), "floor": "sort of a million floats", "runs": found}, indent=2))


if __name__ == "__main__":
    main()
