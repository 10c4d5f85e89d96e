"""ISO 286: every row of the reference files, and further limits of ISO 286-2 recalled from memory as a group of their own."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from asmade.standards.fits import fit
from asmade.standards.limits import limits, limits_many, tolerance_um

HERE = Path(__file__).parent


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def given(row: dict[str, str]) -> dict[str, str]:
    return dict(pair.split("=") for pair in row["inputs"].split(";"))


def agrees(row: dict[str, str], found: float) -> bool:
    return abs(found - float(row["value"])) <= float(row["tolerance"]) + 1e-9


@pytest.mark.parametrize("row", rows("iso286_it_grades.csv"), ids=lambda row: row["id"])
def test_standard_tolerance(row: dict[str, str]) -> None:
    """ISO 286-1 (2010) Table 1."""
    put = given(row)
    assert agrees(row, tolerance_um(float(put["nominal_mm"]), put["grade"])), row
    # the whole step has one value: just over its lower end, and its upper end included
    for size in (float(put["over_mm"]) + 0.001, float(put["upto_mm"])):
        assert agrees(row, tolerance_um(size, put["grade"])), row


@pytest.mark.parametrize("row", rows("iso286_limits.csv"), ids=lambda row: row["id"])
def test_limit_deviation(row: dict[str, str]) -> None:
    """ISO 286-2 (2010) tables."""
    put = given(row)
    upper = row["quantity"].startswith("upper")
    for size in (float(put["nominal_mm"]), float(put["upto_mm"]), float(put["over_mm"]) + 0.001):
        found = limits(size, put["class"])
        many = limits_many([size], put["class"])
        assert agrees(row, found.upper_um if upper else found.lower_um), row
        assert agrees(row, float(many[0 if upper else 1][0])), row


@pytest.mark.parametrize("row", rows("iso286_fits.csv"), ids=lambda row: row["id"])
def test_clearance_of_fit(row: dict[str, str]) -> None:
    """ISO 286-1 clause 3, limits from ISO 286-2."""
    found = fit(row["item"])
    assert agrees(row, found.clearance_max_um if row["quantity"].startswith("max") else found.clearance_min_um), row


@pytest.mark.parametrize(
    ("size", "name", "upper", "lower"),
    [
        # holes of ISO 286-2, over 24 up to 30 mm
        (25, "A11", 430, 300),
        (25, "B11", 290, 160),
        (25, "C11", 240, 110),
        (25, "D9", 117, 65),
        (25, "E8", 73, 40),
        (25, "F7", 41, 20),
        (25, "G6", 20, 7),
        (25, "H11", 130, 0),
        (25, "H12", 210, 0),
        (25, "J6", 8, -5),
        (25, "J7", 12, -9),
        (25, "J8", 20, -13),
        (25, "JS6", 6.5, -6.5),
        (25, "K6", 2, -11),
        (25, "K8", 10, -23),
        (25, "M6", -4, -17),
        (25, "M7", 0, -21),
        (25, "M8", 4, -29),
        (25, "N6", -11, -24),
        (25, "N8", -3, -36),
        (25, "N9", 0, -52),
        (25, "P6", -18, -31),
        (25, "P8", -22, -55),
        (25, "P9", -22, -74),
        (25, "R6", -24, -37),
        (25, "S6", -31, -44),
        (25, "T7", -33, -54),
        (25, "U7", -40, -61),
        (25, "X7", -56, -77),
        # special cases: sizes up to 3 mm, keyways, the exception of M6 and the upper sizes
        (2, "K7", 0, -10),
        (2, "M7", -2, -12),
        (2, "N9", -4, -29),
        (2, "P9", -6, -31),
        (2, "X6", -20, -26),
        (8, "N9", 0, -36),
        (8, "P9", -15, -51),
        (8, "JS9", 18, -18),
        (8, "D10", 98, 40),
        (280, "M6", -9, -41),
        (280, "M7", 0, -52),
        (110, "E8", 126, 72),
        (450, "H7", 63, 0),
        (200, "H8", 72, 0),
        (130, "P7", -28, -68),
        # shafts
        (25, "a11", -300, -430),
        (25, "b11", -160, -290),
        (25, "c11", -110, -240),
        (25, "d10", -65, -149),
        (25, "e7", -40, -61),
        (25, "f6", -20, -33),
        (25, "g5", -7, -16),
        (25, "h11", 0, -130),
        (25, "j5", 5, -4),
        (25, "j6", 9, -4),
        (25, "j7", 13, -8),
        (25, "js7", 10.5, -10.5),
        (25, "k5", 11, 2),
        (25, "k8", 33, 0),
        (25, "m5", 17, 8),
        (25, "n5", 24, 15),
        (25, "p7", 43, 22),
        (25, "s7", 56, 35),
        (25, "t6", 54, 41),
        (25, "v6", 68, 55),
        (25, "x6", 77, 64),
        (25, "z6", 101, 88),
        (2, "j8", 8, -6),
        (2, "k6", 6, 0),
        (45, "c11", -130, -290),
        (5, "cd9", -46, -76),
        (8, "ef8", -18, -40),
        (8, "fg6", -8, -17),
        (90, "zc9", 672, 585),
        (450, "k6", 45, 5),
        (500, "r6", 172, 132),
    ],
)
def test_from_memory_of_iso_286_2(size: float, name: str, upper: float, lower: float) -> None:
    """Limits printed in ISO 286-2, from memory; a mismatch is a reason to look it up."""
    found = limits(size, name)
    assert (found.upper_um, found.lower_um) == (upper, lower)
