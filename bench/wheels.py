"""Coupled wheels: rates of the three ways to the slack, as ratios to scipy's linprog and to a numpy floor in one run.

Prints JSON. ``python bench/wheels.py`` takes about ten seconds on one core. All chassis are drawn at random.
"""

from __future__ import annotations

import json
import time

import numpy as np
from scipy.optimize import linprog

from asmade.motion.wheels.chassis import Chassis
from asmade.motion.wheels.closed_form import least_blocked_slack
from asmade.motion.wheels.cures import find_cures
from asmade.motion.wheels.diagnosis import diagnose, fault_library
from asmade.motion.wheels.exact import solve_exact
from asmade.motion.wheels.eyes import eyes_slack
from asmade.motion.wheels.findings import find_sections
from asmade.motion.wheels.geometry import turn_angles
from asmade.motion.wheels.programme import batch_of, linear_lines, place_t, solve_linear
from asmade.motion.wheels.rings import rings_slack
from asmade.motion.wheels.spreads import Spreads
from asmade.motion.wheels.trials import Fitted, observe

USUAL = {"axle_x": 0.01, "crank_radius": 0.008, "quarter": 0.0006, "centres": 0.01, "bore": 0.003}
ANGLES = np.linspace(0, 2 * np.pi, 360, endpoint=False)


def drawn(axles, meetings=None):
    return Chassis.as_drawn(
        axle_x=120.0 - 115.0 * np.arange(axles),
        crank_radius=24.0,
        bush_clearance=0.06,
        pin=8.0,
        box_play=0.08,
        meetings=meetings,
        knuckle_reach=15.0,
        knuckle_clearance=0.03,
    )


def spreads_of(chassis, times=1.0):
    own = {field: times * size for field, size in USUAL.items()}
    return Spreads.of(chassis.layout, own, reach_in_deviations=2.0, eccentricity=0.004)


def seconds(call, repeats=3):
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def floor_rate():
    """Numpy's own pace: one multiply, add and square root over as many numbers, out of cache."""
    one, two = np.random.default_rng(1).random((2, 4_000_000))

    def pass_over():
        np.sqrt(one * two + one)

    return 4e6 / seconds(pass_over)


def linprog_rate(chassis, count=60):
    wide, each = batch_of(chassis, ANGLES[:: 360 // count])
    lines = linear_lines(wide, each)
    per_t, _ = place_t(lines, chassis.layout, None, 0.0, eased=True)
    limits = lines.room - lines.miss
    cost = [*np.zeros(lines.matrix.shape[2]), -1.0]
    start = time.perf_counter()
    for row in range(count):
        linprog(cost, np.c_[lines.matrix[row], per_t], limits[row], bounds=(None, None))
    return count / (time.perf_counter() - start)


def closed_form():
    out = {}
    for axles in (3, 4, 5):
        chassis = drawn(axles)
        many = spreads_of(chassis).draw(chassis, 10_000, 1)
        took = seconds(lambda many=many: least_blocked_slack(many, ANGLES))
        peer = linprog_rate(chassis.with_boxes("blocked"))
        out[f"{axles} axles"] = {
            "seconds_10000_chassis_360_angles": round(took, 3),
            "million_section_angles_per_s": round((axles - 1) * 3.6 / took, 1),
            "times_linprog_per_angle": round(3.6e6 / took / peer),
        }
    return out


def programmes():
    out = {}
    for name, axles, meetings in (
        ("3 axles, separate rods, boxes free", 3, None),
        ("3 axles, knuckle joint, boxes free", 3, ("knuckle ahead",)),
        ("5 axles, two knuckle joints, boxes free", 5, ("knuckle ahead", "separate", "knuckle behind")),
        ("3 axles, rod over three pins, boxes free", 3, ("rigid",)),
    ):
        chassis = drawn(axles, meetings)
        rigid = chassis.layout.has_rigid
        many = spreads_of(chassis).draw(chassis, 20 if rigid else 100, 2)
        problems = many.samples * 360
        took = seconds(lambda many=many, rigid=rigid: eyes_slack(*batch_of(many, ANGLES)) if rigid
                       else rings_slack(many, ANGLES))  # fmt: skip
        peer = linprog_rate(chassis)
        out[name] = {
            "microseconds_per_angle": round(1e6 * took / problems, 2),
            "times_linprog_per_angle": round(problems / took / peer),
        }
    return out


def linearising():
    """Greatest difference of linear and exact slack (um), and how many verdicts it turns, by size of the errors."""
    out = {}
    chassis = drawn(3)
    angles = turn_angles(chassis, 24)
    for times in (1, 2, 4, 8):
        many = spreads_of(chassis, times).draw(chassis, 40, 3).with_boxes("blocked")
        linear, exact = solve_linear(many, angles).slack, solve_exact(many, angles).slack
        out[f"{times} x usual"] = {
            "greatest_um": round(1000 * float(np.abs(linear - exact).max()), 2),
            "typical_um": round(1000 * float(np.sqrt(np.mean((linear - exact) ** 2))), 3),
            "verdicts_turned_per_thousand": round(1000 * float(np.mean((linear < 0) != (exact < 0))), 2),
        }
    return out


def whole():
    out = {}
    for name, meetings, samples in (
        ("separate", ("separate",), 1000),
        ("knuckle joint", ("knuckle ahead",), 1000),
        ("over three pins", ("rigid",), 300),
    ):
        chassis = drawn(3, meetings)
        spreads = spreads_of(chassis)
        one = spreads.draw(chassis, 1, 5)
        out[f"findings, {name}, {samples} draws"] = round(
            seconds(
                lambda one=one, spreads=spreads, samples=samples: find_sections(
                    one, spreads, wanted_mm=0.0, samples=samples, seed=1
                ),
                1,
            ),
            3,
        )
    chassis = drawn(3)
    built = spreads_of(chassis, 4.0).draw(chassis, 1, 6)
    out["cures"] = round(seconds(lambda: find_cures(built, wanted_mm=0.02, boxes="blocked")), 3)
    fitted = (Fitted((0,), "both", "blocked"), Fitted((1,), "both", "blocked"))
    start = time.perf_counter()
    library = fault_library(chassis, spreads_of(chassis), fitted, per_cause=400, seed=1)
    out["fault library of 6400 builds"] = round(time.perf_counter() - start, 3)
    trials = [observe(built, each, look=True) for each in fitted]
    out["one diagnosis"] = round(seconds(lambda: diagnose(library, trials, measuring={"centres": 0.01})), 4)
    return out


if __name__ == "__main__":
    floor = floor_rate()
    report = {
        "numpy_floor_million_per_s": round(floor / 1e6),
        "closed_form": closed_form(),
        "programmes": programmes(),
        "linearising": linearising(),
        "seconds": whole(),
    }
    rate = report["closed_form"]["3 axles"]["million_section_angles_per_s"]
    report["closed_form_share_of_floor"] = round(rate / report["numpy_floor_million_per_s"], 3)
    print(json.dumps(report, indent=1))
