"""Limits of one hole or shaft as the quick sums show them."""

from __future__ import annotations

from typing import Any

from asmade.standards.limits import Limits
from asmade.verbs.sums.result import inch, mm, um

COLUMNS = ("", "class", "upper µm", "lower µm", "least mm", "greatest mm", "least in", "greatest in")
FIGURES = (2, 3, 4, 5, 6, 7)


def row(found: Limits) -> tuple[str, ...]:
    """One line of a table of limits."""
    return (
        "hole" if found.tolerance_class.is_hole else "shaft",
        str(found.tolerance_class),
        um(found.upper_um),
        um(found.lower_um),
        mm(found.least_mm),
        mm(found.greatest_mm),
        inch(found.least_mm),
        inch(found.greatest_mm),
    )


def data(found: Limits) -> dict[str, Any]:
    """Plain data: deviations in µm and mm, limits of size in mm and inches."""
    return {
        "class": str(found.tolerance_class),
        "nominal_mm": float(found.nominal_mm),
        "upper_um": found.upper_um,
        "lower_um": found.lower_um,
        "tolerance_um": found.tolerance_um,
        "upper_mm": found.upper_um / 1000,
        "lower_mm": found.lower_um / 1000,
        "greatest_mm": found.greatest_mm,
        "least_mm": found.least_mm,
        "greatest_inch": found.greatest_mm / 25.4,
        "least_inch": found.least_mm / 25.4,
    }


def working(found: Limits) -> tuple[str, ...]:
    """How the two deviations come about."""
    letters = found.tolerance_class.letters
    hole = found.tolerance_class.is_hole
    upper, lower = ("ES", "EI") if hole else ("es", "ei")
    it = f"IT{found.tolerance_class.grade}"
    nominal = f"{float(found.nominal_mm):g} mm"
    tolerance = f"{found.tolerance_um:g}"
    if letters.lower() == "js":
        line = f"{upper} = +{it}/2 = {um(found.upper_um)}, {lower} = -{it}/2 = {um(found.lower_um)} µm"
    elif abs(found.upper_um) < abs(found.lower_um) or (found.upper_um == 0 and found.lower_um < 0):
        first, last = um(found.upper_um), um(found.lower_um)
        line = f"{upper} = {first}, {lower} = {upper} - {it} = {first} - {tolerance} = {last} µm"
    else:
        first, last = um(found.lower_um), um(found.upper_um)
        line = f"{lower} = {first}, {upper} = {lower} + {it} = {first} + {tolerance} = {last} µm"
    return (
        f"{found.tolerance_class} at {nominal}: {it} = {tolerance} µm; {line}",
        f"{'hole' if hole else 'shaft'} {mm(found.least_mm)} to {mm(found.greatest_mm)} mm",
    )
