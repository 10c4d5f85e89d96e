"""Published stock sizes, delivery tolerances, bar masses and corners; recalled rows as a group of their own."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from asmade.measure.gauges import drill_not_above, drill_not_below, drills
from asmade.standards.reamers import reamer_limits_for_hole
from asmade.standards.stock import across_corners, across_flats, delivery, is_preferred, mass_per_metre_kg, stock_sizes

RECALLED = "from memory, not confirmed"
HERE = Path(__file__).parent
METRIC = ("metric",)


def rows(name):
    with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def inputs_of(row):
    return dict(pair.split("=", 1) for pair in row["inputs"].split(";"))


ROWS = [
    *rows("stock_sizes"),
    *rows("shop_corners"),
    *(r for r in rows("published_stock_threads") if r["category"].startswith(("bright", "bar mass"))),
]


def value(row):
    given, quantity = inputs_of(row), row["quantity"]
    if quantity.startswith("is a listed size"):
        return any(float(d.mm) == float(given["diameter_mm"]) for d in drills("metric"))
    if quantity.endswith("target"):
        pick = drill_not_above if quantity.startswith("largest") else drill_not_below
        return float(pick(Fraction(given["target_mm"]), series=METRIC).mm)
    if quantity.startswith("is a preferred size"):
        return is_preferred("round bar", given["diameter_mm"], "metric")
    if row["category"] == "inch round bar":
        return next(
            float(s.mm)
            for s in stock_sizes("round bar", "inch")
            if s.mm == Fraction(given["size_in"]) * Fraction(254, 10)
        )
    if quantity == "mass per metre":
        return mass_per_metre_kg(given["shape"], float(given["size_mm"]), float(given["density_kg_m3"]))
    if quantity == "across corners":
        return across_corners(given["shape"], float(given["across_flats"]))
    if quantity == "across flats":
        return across_flats(given["shape"], float(given["bar_diameter"]))
    if given.get("shape") == "flat":
        side = "width" if "width_mm" in given else "thickness"
        return delivery(given[f"{side}_mm"], f"flat {side}").lower_um
    size = given.get("nominal_mm") or given["upto_mm"]
    shape = {"h6": "ground bar", "h7": "ground bar", "h8": "ground bar", "h12": "hexagon bar"}.get(
        given["class"], "round bar"
    )
    return delivery(size, shape, given["class"]).lower_um


def check(row):
    found = value(row)
    assert abs(found - float(row["value"])) <= float(row["tolerance"]) + 1e-9, f"{row['source']}; here {found}"


@pytest.mark.parametrize("row", [r for r in ROWS if r["confirmed"] != RECALLED], ids=lambda r: r["id"])
def test_printed(row):
    check(row)


@pytest.mark.parametrize("row", [r for r in ROWS if r["confirmed"] == RECALLED], ids=lambda r: r["id"])
def test_recalled(row):
    check(row)


@pytest.mark.parametrize(
    "row", [r for r in rows("published_press_shrink_fits") if "reamer" in r["category"]], ids=lambda r: r["id"]
)
def test_reamer_for_a_hole(row):
    """Sharma, A Textbook of Production Engineering, example 15.5: Dmax - 0.15 IT, and 0.35 IT below."""
    given = inputs_of(row)
    found = reamer_limits_for_hole(float(given["hole_min_mm"]), float(given["hole_max_mm"]))
    ours = found.greatest_mm if row["quantity"].endswith("greatest") else found.least_mm
    assert abs(ours - float(row["value"])) <= float(row["tolerance"]) + 1e-9
