"""Published properties of materials: every row of the copied table, recalled rows as a group of their own."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from asmade.standards.materials import material

RECALLED = "from memory, not confirmed"
QUANTITY = {
    "Rp0.2 min": "proof_least",
    "Rm min": "tensile_least",
    "Rm max": "tensile_most",
    "A5 min": "elongation_least",
    "A min": "elongation_least",
    "density": "density",
    "Youngs modulus": "youngs_modulus",
    "Youngs modulus low": "youngs_modulus_low",
    "Youngs modulus high": "youngs_modulus_high",
    "Youngs modulus (annealed)": "youngs_modulus",
    "Poisson ratio": "poisson_ratio",
    "annealed hardness max": "brinell_most",
    "Rm hot rolled min": "tensile_least",
    "Rm hot rolled max": "tensile_most",
    "Rm min separately cast": "tensile_least",
    "Rm max separately cast": "tensile_most",
    "anticipated Rm in casting": "tensile_in_wall",
    "compressive strength": "compressive",
    "0.1% proof low": "proof01_low",
    "Rm min continuous cast": "tensile_least",
    "Rp0.2 min continuous cast": "proof_least",
    "Rp0.2 range low (3-20 mm flat)": "proof_range_low",
}


def rows():
    with (Path(__file__).parent / "materials.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def condition_and_size(condition):
    """Read "+C 10-16 mm", "extruded bar 20<D<=150 mm", "GC": our name of the condition and a size inside the range."""
    if condition == "GC":
        return "continuously cast GC", None
    if found := re.fullmatch(r"(.*?) ?(\d+)-(\d+) mm", condition):
        return found[1] or "wall", (int(found[2]) + int(found[3])) / 2
    found = re.fullmatch(r"(extruded bar|profile) (?:(\d+)<)?[Dt]<=(\d+) mm", condition)
    return found[1], int(found[3])


def ours(row):
    inputs = dict(pair.split("=", 1) for pair in row["inputs"].split(";") if "=" in pair)
    quantity = row["quantity"]
    name = "expansion" if quantity.startswith("thermal expansion") else QUANTITY[quantity]
    condition, size = None, None
    if "condition" in inputs:
        given = row["inputs"].split("condition=", 1)[1]
        condition, size = condition_and_size(given)
    elif found := re.search(r"expansion (\d+-\d+)C", quantity):
        condition = f"{found[1]} C"
    return material(inputs["material"]).value(name, condition=condition, size_mm=size)


def check(row):
    found = ours(row)
    assert found.unit == row["unit"]
    assert abs(found.value - float(row["value"])) <= float(row["tolerance"]) + 1e-9, f"{row['source']}; here {found}"


@pytest.mark.parametrize("row", [r for r in rows() if r["confirmed"] != RECALLED], ids=lambda r: r["id"])
def test_printed(row):
    check(row)


@pytest.mark.parametrize("row", [r for r in rows() if r["confirmed"] == RECALLED], ids=lambda r: r["id"])
def test_recalled(row):
    """At present all agree, which is no proof: both are recalled. Each such value says so in its source."""
    check(row)
    assert ours(row).recalled
