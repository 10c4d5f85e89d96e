"""Printed examples of press and shrink fits, of limits, and of reamers: every row of the reference file."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from asmade.reckon.joints import lame
from asmade.reckon.joints.rules import forced_fit_factor, full_size_rule
from asmade.standards.limits import deviation_formula_um, tolerance_unit_um
from asmade.standards.reamers import reamer_limits_for_hole
from asmade.standards.suiting import clearance_of_sizes_mm, shaft_to_suit

Put = dict[str, float]


def compound(at: str) -> Callable[[Put], float]:
    """Stress of the compound cylinder: shrinkage of its parts plus fluid pressure on the whole."""

    def stress(put: Put) -> float:
        a, b, c = put["inner_r_mm"], put["interface_r_mm"], put["outer_r_mm"]
        r = {"inner": a, "interface": b, "outer": c}[at.rsplit(" ", maxsplit=1)[-1]]
        shrink, fluid = put["shrink_pressure_MPa"], put["internal_pressure_MPa"]
        if at.startswith("in the outer"):
            of_shrinking = lame.hoop_at(r, b, c, inside_mpa=shrink)
        else:
            of_shrinking = lame.hoop_at(r, a, b, outside_mpa=shrink)
        return float(of_shrinking + lame.hoop_at(r, a, c, inside_mpa=fluid))

    return stress


def suited(put: Put) -> tuple[float, float]:
    width, least = put["tolerance_mm"], put["least_interference_mm"]
    hole = put["basic_mm"], put["basic_mm"] + width
    found = shaft_to_suit(*hole, -least - 2 * width, -least)
    return found.least_mm, found.greatest_mm


def reamer(put: Put) -> tuple[float, float]:
    found = reamer_limits_for_hole(put["hole_min_mm"], put["hole_max_mm"])
    return found.least_mm, found.greatest_mm


def clearances(put: Put) -> tuple[float, float]:
    return clearance_of_sizes_mm(put["hole_min_mm"], put["hole_max_mm"], put["shaft_min_mm"], put["shaft_max_mm"])


SUMS: dict[str, Callable[[Put], float]] = {
    "shrinkage allowance": lambda put: full_size_rule("tyre shrinkage", put["centre_diameter_in"]).value,
    "pressing force P = 15 D + 15": lambda put: full_size_rule("crank pin pressing force", put["diameter_in"]).value,
    "interference": lambda put: full_size_rule("axle interference", put["axle_diameter_in"]).value,
    "pressing force, lower": lambda put: full_size_rule("axle pressing force, least", put["axle_diameter_in"]).value,
    "pressing force, upper": lambda put: full_size_rule("axle pressing force, most", put["axle_diameter_in"]).value,
    "pressure factor F": lambda put: forced_fit_factor(put["shaft_diameter_in"]),
    "hoop stress at inner surface": compound("in the inner tube, at inner"),
    "hoop stress, inner tube at interface": compound("in the inner tube, at interface"),
    "hoop stress, outer tube at interface": compound("in the outer tube, at interface"),
    "hoop stress at outer surface": compound("in the outer tube, at outer"),
    "hole tolerance": lambda put: put["hole_max_mm"] - put["hole_min_mm"],
    "shaft tolerance": lambda put: put["shaft_max_mm"] - put["shaft_min_mm"],
    "allowance (least clearance)": lambda put: clearances(put)[0],
    "shaft low limit": lambda put: suited(put)[0],
    "shaft high limit": lambda put: suited(put)[1],
    "tolerance unit i": lambda put: tolerance_unit_um(put["size_from_mm"], put["size_to_mm"]),
    "fundamental deviation f": lambda put: deviation_formula_um("f", put["size_from_mm"], put["size_to_mm"]),
    "reamer diameter, greatest": lambda put: reamer(put)[1],
    "reamer diameter, least": lambda put: reamer(put)[0],
}


def rows() -> list[dict[str, str]]:
    with (Path(__file__).parent / "published_press_shrink_fits.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["id"])
def test_printed_value(row: dict[str, str]) -> None:
    """Sources stand in each row."""
    put = {key: float(value) for key, value in (pair.split("=") for pair in row["inputs"].split(";"))}
    found = SUMS[row["quantity"]](put)
    assert abs(found - float(row["value"])) <= float(row["tolerance"]) + 1e-9, (found, row)
