"""Rates of the valve-gear sums, printed as JSON with ratios to peers in the same run.

Peers: `scipy.optimize.root` on the constraint equations, one position at a time (what a general solver costs), and
a bare numpy closed form of the same number of circle-circle meetings (a floor: no unknown to search for).
"""

from __future__ import annotations

import json
import math
import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import root

from asmade.motion.gears import Sizes, gear, gears
from asmade.motion.valves.best import best_setting, default_adjusts
from asmade.motion.valves.engine import Side, Valve
from asmade.motion.valves.events import events
from asmade.motion.valves.sensitivities import sensitivities
from asmade.motion.valves.setting import set_valve

KIND = gear("walschaerts")
CRANK = np.arange(720) * (2 * np.pi / 720)
REVERSER = np.linspace(1, -1, 21)


def least_s(run: Callable[[], object], repeat: int = 9) -> float:
    """Least processor time of a run, s: what the sum costs, whatever else the machine is doing; it runs on one core."""
    run()
    times = []
    for _ in range(repeat):
        start = time.process_time()
        run()
        times.append(time.process_time() - start)
    return min(times)


def general_solver_rate(sizes: Sizes, count: int = 200) -> float:
    """Positions a second of a general root finder on seven unknowns, started from the place before."""
    d = sizes.sizes
    crank = np.linspace(0, 2 * np.pi, count, endpoint=False)
    motion = KIND.move(sizes, crank, 0.6)
    arm = motion.place("lifting arm pin")[0, 0, 0]
    hanger = complex(d["hanger_along"], d["hanger_above"])
    whole = d["lever_bottom"] + d["lever_top"]
    line = complex(d["spindle_x"], d["spindle_y"])
    middle = complex(d["slot_offset"] + d["slot_radius"], d["slot_rise"])
    trunnion = complex(d["link_x"], d["link_y"])

    def gaps(x: np.ndarray, union: complex, swing: complex) -> list[float]:
        lever, lifting, die = complex(x[1], x[2]), complex(x[3], x[4]), complex(x[5], x[6])
        spindle = line + x[0]
        radius_pin = spindle + (lever - spindle) / whole * d["lever_top"]
        on_rod = lifting - die - (radius_pin - die) / d["radius_rod"] * hanger
        return [
            abs(lever - spindle) - whole,
            abs(lever - union) - d["union_link"],
            abs(radius_pin - die) - d["radius_rod"],
            on_rod.real,
            on_rod.imag,
            abs(lifting - arm) - d["hanger"],
            abs(die - trunnion - swing * middle) - d["slot_radius"],
        ]

    def vector(index: int) -> np.ndarray:
        places = [motion.place(name)[0, index, 0] for name in ("union lever pin", "lifting pin", "die pin")]
        return np.array([motion.place("valve")[0, index, 0], *(v for p in places for v in (p.real, p.imag))])

    unions, swings = motion.place("union crosshead pin")[0, :, 0], motion.place("swing")[0, :, 0]
    x, start, worst = vector(0), time.perf_counter(), 0.0
    for index in range(count):
        found = root(gaps, x, args=(unions[index], swings[index]), tol=1e-12)
        x = found.x
        worst = max(worst, float(np.abs(x - vector(index)).max()))
    rate = count / (time.perf_counter() - start)
    if worst > 1e-6:
        sys.exit(f"the general solver and ours disagree by {worst:g} mm: the comparison is void")
    return rate


def bare_rate(count: int = 21 * 720) -> float:
    """Positions a second of five circle-circle meetings in bare numpy, float64 x and y: the floor."""
    rng = np.random.default_rng(0)
    x, y = rng.uniform(90, 110, count), rng.uniform(-10, 10, count)

    def five() -> np.ndarray:
        px, py = x, y
        for reach, other in ((60.0, 70.0), (65.0, 60.0), (60.0, 75.0), (70.0, 60.0), (62.0, 66.0)):
            square = px * px + py * py
            part = 0.5 + (reach**2 - other**2) / (2 * square)
            height = np.sqrt(np.maximum(reach**2 / square - part * part, 0.0))
            px, py = 60 + part * px - height * py, part * py + height * px
        return px

    return count / least_s(five)


def bests() -> tuple[Side, Side]:
    """The worked example set for equal leads, and the same with made sizes a little out."""
    valve = Valve.alike("outside", lap=2.78, exhaust_lap=0.0, port=3.57)
    drawn = set_valve(Side(KIND.example(), valve))
    rng = np.random.default_rng(1)
    names = ("lever_top", "eccentric_rod", "radius_rod", "union_link", "foot_drop", "link_x", "drop_ahead")
    return drawn, drawn.with_sizes({name: drawn.size(name) + rng.normal(0, 0.12) for name in names})


def many_gears(count: int = 2000) -> Side:
    """As many gears, every length with a spread of 0.05 mm, every angle of 0.2 degrees."""
    rng, example = np.random.default_rng(2), KIND.example()
    spread = {size.name: math.radians(0.2) if size.kind == "angle" else 0.05 for size in KIND.sizes}
    varied = {name: value + rng.normal(0, spread[name], count) for name, value in example.sizes.items()}
    return set_valve(Side(example.with_sizes(varied), Valve.alike("outside", lap=2.78, exhaust_lap=0.0, port=3.57)))


def main() -> None:
    example = KIND.example()
    positions = REVERSER.size * CRANK.size
    ours = positions / least_s(lambda: KIND.move(example, CRANK, REVERSER))
    both = example.with_sizes({"eccentric_rod": np.array([107.95, 108.05])})
    general, bare = general_solver_rate(example), bare_rate()
    drawn, made = bests()
    adjusts = tuple(a for a in default_adjusts(made) if a.name in ("mid", "eccentric_rod", "return_crank_angle"))
    gears_many = many_gears()
    result = {
        "positions_per_s": round(ours),
        "residual_mm": KIND.move(example, CRANK, REVERSER).worst_gap_mm,
        "general_solver_per_s": round(general),
        "times_general_solver": round(ours / general),
        "bare_numpy_per_s": round(bare),
        "part_of_bare_numpy": round(ours / bare, 3),
        "other_gears_per_s": {
            name: round(len(places) * CRANK.size / least_s(lambda k=kind, p=places: k.move(k.example(), CRANK, p)))
            for name, kind in gears().items()
            for places in [kind.reverser or tuple(REVERSER)]
        },
        "full_map_21_x_720_both_sides_ms": round(1e3 * least_s(lambda: KIND.move(both, CRANK, REVERSER)), 1),
        "all_events_of_9_positions_ms": round(1e3 * least_s(lambda: events(drawn)), 1),
        "all_sensitivities_of_9_positions_ms": round(1e3 * least_s(lambda: sensitivities(drawn)), 1),
        "best_setting_ms": round(1e3 * least_s(lambda: best_setting(made, adjusts), 3), 1),
        "monte_carlo_2000_gears_full_gear_s": round(least_s(lambda: events(gears_many, (1.0,)), 1), 3),
        "monte_carlo_2000_gears_9_positions_s": round(least_s(lambda: events(gears_many, details=False), 1), 3),
    }
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
