"""Published and formula rows of four-bar and slider-crank positions, each by the planar kernel."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from asmade.motion.linkage import LEFT, RIGHT, bearing, half_turn, solve, turn
from asmade.motion.valves.harmonic import stroke_done
from asmade.motion.valves.piston import mid_stroke, rod_angle

ROWS = list(csv.DictReader((Path(__file__).parent / "linkages.csv").read_text(encoding="utf-8").splitlines()))


def four_bar(d, crank, position, assembly):
    """Ground link along x from the crank pivot; both branches."""
    pin, ground = d["crank"] * turn(crank), d["ground"] + 0j
    out = {}
    for branch, side in (("open", LEFT), ("crossed", RIGHT)):
        joint = assembly.dyad(pin, d["coupler"], ground, d["rocker"], side, ("coupler", "rocker"))
        out |= {f"theta3 {branch}": bearing(joint - pin), f"theta4 {branch}": bearing(joint - ground)}
    return out


def freudenstein(d, crank, position, assembly):
    """R1 cos(a) - R2 cos(p) + R3 - cos(a - p) = 0 as a closed loop in the half-angle of p."""

    def chain(half):
        arm = half_turn(half)
        between = turn(crank).conjugate() * arm
        gap = d["R1"] * turn(crank).real - d["R2"] * arm.real + d["R3"] - between.real
        return gap, {"phi": bearing(arm)}

    return assembly.close(chain, lambda: np.full((1, 1, 1), 0.2), scale=0.1 * d["R1"], links=("input", "output"))


def given(row):
    pairs = (pair.split("=", 1) for pair in row["inputs"].split(";"))
    put = {}
    for name, value in pairs:
        try:
            put[name] = float(value)
        except ValueError:
            put[name] = value
    return put


def found(row):
    put = given(row)
    match row["category"]:
        case "four-bar published" | "four-bar formula":
            lengths = {name: put[name] for name in ("crank", "coupler", "rocker", "ground")}
            motion = solve(four_bar, lengths, np.radians(put["theta2_deg"]), joints=True)
            if row["quantity"] == "angle between coupler and rocker":
                return np.degrees(motion.joints["coupler", "rocker"].item())
            return np.degrees(motion.place(row["quantity"]).item())
        case "Freudenstein published":
            motion = solve(freudenstein, {k: put[k] for k in ("R1", "R2", "R3")}, np.radians(put["alpha_deg"]))
            return np.degrees(motion.place("phi").item())
        case "slider-crank position":
            return stroke_done(np.radians(put["crank_deg"]), put["rod_to_crank"])
        case "slider-crank obliquity":
            return np.degrees(rod_angle(1.0, put["rod_to_crank"]))
        case "slider-crank mid stroke":
            return np.degrees(mid_stroke(1.0, put["rod_to_crank"]))
    raise AssertionError(row)


@pytest.mark.parametrize("row", ROWS, ids=[row["id"] for row in ROWS])
def test_row(row):
    assert found(row) == pytest.approx(float(row["value"]), abs=float(row["tolerance"])), row["source"]
