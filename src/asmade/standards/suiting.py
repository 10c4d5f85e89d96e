"""The reverse of fits: sizes made to suit a mate as measured, and the classes that come nearest to what is wanted.

Clearance is hole less shaft, on diameter; negative clearance is interference ("tight by").
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from asmade.measure.errors import OutOfRange, Unknown
from asmade.standards.fits import Callout, Fit, fit, recommended_fits
from asmade.standards.limits import (
    HOLE_LETTERS,
    SHAFT_LETTERS,
    Limits,
    Size,
    ToleranceClass,
    checked_nominal_mm,
    limits,
)

_FUZZ_MM = 1e-9  # floats of equal sizes may differ in their last places
_RARE = ("cd", "ef", "fg")  # for clocks and fine mechanisms


@dataclass(frozen=True, slots=True)
class Sizes:
    """Limits of size in mm for a part that is made to suit another, already made or limited."""

    least_mm: float
    greatest_mm: float


@dataclass(frozen=True, slots=True)
class Candidate:
    """A fit found for a wanted range of clearance; ``inside`` = it can never leave that range."""

    fit: Fit
    inside: bool
    outside_um: float  # how far its range of clearance reaches out of the wanted one, both ends added

    @property
    def name(self) -> str:
        """Hole and shaft class as a drawing shows them."""
        return f"{self.fit.hole.tolerance_class}/{self.fit.shaft.tolerance_class}"


def shaft_to_suit(hole_least_mm: float, hole_greatest_mm: float, least_mm: float, most_mm: float) -> Sizes:
    """Limits of a shaft made to suit a hole (measured, with its uncertainty, or limited) for a wanted clearance.

        greatest shaft = least hole - least clearance,   least shaft = greatest hole - most clearance

    Source: ISO 286-1:2010, 3.3 (definition of clearance), solved for the shaft.
    Range: sizes above 0; the spread of the hole must be less than the width of the wanted clearance.
    Anchor: hole 12.004, clearance 0.02 to 0.04: shaft 11.964 to 11.984 (by hand).

    >>> suited = shaft_to_suit(12.004, 12.004, 0.02, 0.04)
    >>> round(suited.least_mm, 6), round(suited.greatest_mm, 6)
    (11.964, 11.984)
    """
    _check_suit("hole", hole_least_mm, hole_greatest_mm, least_mm, most_mm)
    return _suited("shaft", hole_greatest_mm - most_mm, hole_least_mm - least_mm)


def hole_to_suit(shaft_least_mm: float, shaft_greatest_mm: float, least_mm: float, most_mm: float) -> Sizes:
    """Limits of a hole made to suit a shaft (measured, with its uncertainty, or limited) for a wanted clearance.

        least hole = greatest shaft + least clearance,   greatest hole = least shaft + most clearance

    Source: ISO 286-1:2010, 3.3 (definition of clearance), solved for the hole.
    Range: sizes above 0; the spread of the shaft must be less than the width of the wanted clearance.
    Anchor: shaft 11.975 to 11.980, clearance 0.02 to 0.04: hole 12.000 to 12.015 (by hand).

    >>> suited = hole_to_suit(11.975, 11.980, 0.02, 0.04)
    >>> round(suited.least_mm, 6), round(suited.greatest_mm, 6)
    (12.0, 12.015)
    """
    _check_suit("shaft", shaft_least_mm, shaft_greatest_mm, least_mm, most_mm)
    return _suited("hole", shaft_greatest_mm + least_mm, shaft_least_mm + most_mm)


def clearance_of_sizes_mm(
    hole_least_mm: float, hole_greatest_mm: float, shaft_least_mm: float, shaft_greatest_mm: float
) -> tuple[float, float]:
    """Least and greatest clearance of a hole and a shaft from their limits of size, in mm (negative = tight by).

        least = least hole - greatest shaft,   greatest = greatest hole - least shaft

    Source: ISO 286-1:2010, 3.3 (definitions); Sharma, A Textbook of Production Engineering, chapter 9.
    Range: sizes above 0, least not above greatest.
    Anchor: hole 37.50 to 37.52, shaft 37.45 to 37.47: least 0.03 mm (Sharma, chapter 9).

    >>> [round(value, 6) for value in clearance_of_sizes_mm(37.50, 37.52, 37.45, 37.47)]
    [0.03, 0.07]
    """
    _check_sizes("hole", hole_least_mm, hole_greatest_mm)
    _check_sizes("shaft", shaft_least_mm, shaft_greatest_mm)
    return hole_least_mm - shaft_greatest_mm, hole_greatest_mm - shaft_least_mm


def _check_sizes(what: str, least_size: float, greatest_size: float) -> None:
    if not (math.isfinite(least_size) and math.isfinite(greatest_size) and 0 < least_size <= greatest_size):
        raise OutOfRange(f"size of the {what}", got=(least_size, greatest_size), allowed="0 < least <= greatest")


def _check_suit(what: str, least_size: float, greatest_size: float, least_mm: float, most_mm: float) -> None:
    _check_sizes(what, least_size, greatest_size)
    if not (math.isfinite(least_mm) and math.isfinite(most_mm) and least_mm < most_mm):
        raise OutOfRange("wanted clearance", got=(least_mm, most_mm), allowed="least < most")


def _suited(what: str, low: float, high: float) -> Sizes:
    if not 0 < low <= high:
        raise OutOfRange(
            f"{what} to suit",
            got=f"{low:.4f} to {high:.4f} mm",
            allowed="sizes above 0, least below greatest",
            way_out="the mate is not known closely enough: measure it better, or allow a wider clearance",
        )
    return Sizes(low, high)


def classes_for_clearance(
    nominal_mm: Size, least_mm: float, most_mm: float, *, basis: str = "hole", most_found: int = 5
) -> tuple[Candidate, ...]:
    """Fits of the hole-basis or shaft-basis system for a wanted range of clearance, best first.

    First those that never leave the range, widest tolerance first (easiest to make); after them, or if there are
    none, those that leave it least. Holes H6 to H11 with shafts one grade finer or the same grade; ``basis="shaft"``
    turns this round.

    Source: ISO 286-1:2010, clause 3.3 and its advice to pair a hole with a shaft one grade finer or equal.
    Range: nominal up to 500 mm, least < most.
    Anchor: 25 mm, 0.007 to 0.041 mm: H7/g6 is inside (its own limits).

    >>> [c.name for c in classes_for_clearance(25, 0.007, 0.041)][:1]
    ['H7/g6']
    """
    if not (math.isfinite(least_mm) and math.isfinite(most_mm) and least_mm < most_mm):
        raise OutOfRange("wanted clearance", got=(least_mm, most_mm), allowed="least < most")
    if basis not in ("hole", "shaft"):
        raise Unknown("basis of fits", got=basis, near=("hole", "shaft"))
    nominal = checked_nominal_mm(nominal_mm)
    found = []
    for pair in _basis_pairs(basis):
        try:
            one = fit(Callout(nominal, *pair))
        except OutOfRange:
            continue  # the standard gives no such class at this size
        low, high = max(0.0, 1000 * least_mm - one.clearance_min_um), max(0.0, one.clearance_max_um - 1000 * most_mm)
        out = round(low + high, 6)
        found.append(Candidate(one, out == 0, out))
    found.sort(key=lambda c: (not c.inside, c.outside_um, c.fit.clearance_min_um - c.fit.clearance_max_um))
    return tuple(found[:most_found])


@cache
def _basis_pairs(basis: str) -> tuple[tuple[ToleranceClass, ToleranceClass], ...]:
    letters = ("a", "b", "c", "d", "e", "f", "g", "h", "js", "k", "m", "n", "p", "r", "s", "t", "u", "x", "z")
    pairs = []
    for grade in range(6, 12):
        for letter in letters:
            for finer in (0, 1):
                if grade == 11 and finer:
                    continue
                hole, shaft = ("H", letter) if basis == "hole" else (letter.upper(), "h")
                pairs.append((ToleranceClass(hole, str(grade)), ToleranceClass(shaft, str(grade - finer))))
    return tuple(pairs)


def class_of(nominal_mm: Size, least_mm: float, greatest_mm: float, *, kind: str) -> tuple[Limits, ...]:
    """Classes of the recommended fits whose limits take in sizes as measured (least to greatest), tightest first.

    ``kind`` is "hole" or "shaft".

    Source: limits from ISO 286-1:2010; the classes are those of table fits_recommended.
    Range: nominal up to 500 mm; an empty result means that no recommended class takes the sizes in.
    Anchor: hole 25.003 to 25.018 lies within H7 (0 to +21 um) and not within H6 (0 to +13).

    >>> [str(found.tolerance_class) for found in class_of(25, 25.003, 25.018, kind="hole")][:1]
    ['H7']
    """
    if kind not in ("hole", "shaft"):
        raise Unknown("kind of part", got=kind, near=("hole", "shaft"))
    _check_sizes(kind, least_mm, greatest_mm)
    nominal = checked_nominal_mm(nominal_mm)
    rows = recommended_fits()
    at = 0 if kind == "hole" else 1
    names = {pair.split("/")[at] for row in rows for pair in (row.hole_basis, row.shaft_basis)}
    inside = []
    for name in names:
        try:
            one = limits(nominal, name)
        except OutOfRange:
            continue
        if one.least_mm <= least_mm + _FUZZ_MM and greatest_mm - _FUZZ_MM <= one.greatest_mm:
            inside.append(one)
    return tuple(sorted(inside, key=lambda one: (one.tolerance_um, str(one.tolerance_class))))


def classes_within(nominal_mm: Size, least_mm: float, greatest_mm: float, *, kind: str) -> tuple[Limits, ...]:
    """Classes, IT5 to IT11, whose limits lie wholly within two sizes (a part made to suit, say), widest first.

    Deviations cd, ef and fg, meant for clocks and fine mechanisms, are left out.

    ``kind`` is "hole" or "shaft". Empty: no class is narrow enough there; work to the two sizes themselves.

    Source: limits from ISO 286-1:2010.
    Range: nominal up to 500 mm, 0 < least < greatest.
    Anchor: shaft for a hole of 12.004 with 0.020 to 0.060 clearance is 11.944 to 11.984: f8 (-16/-43) lies within.

    >>> [str(found.tolerance_class) for found in classes_within(12, 11.944, 11.984, kind="shaft")][:2]
    ['f8', 'e7']
    """
    if kind not in ("hole", "shaft"):
        raise Unknown("kind of part", got=kind, near=("hole", "shaft"))
    _check_sizes(kind, least_mm, greatest_mm)
    nominal = checked_nominal_mm(nominal_mm)
    inside = []
    for letters in HOLE_LETTERS if kind == "hole" else SHAFT_LETTERS:
        if letters.lower() in _RARE:
            continue
        for grade in range(5, 12):
            try:
                one = limits(nominal, ToleranceClass(letters, str(grade)))
            except OutOfRange:
                continue  # the standard gives no such class at this size
            if least_mm - _FUZZ_MM <= one.least_mm and one.greatest_mm <= greatest_mm + _FUZZ_MM:
                inside.append(one)
    middle = (least_mm + greatest_mm) / 2
    return tuple(sorted(inside, key=lambda one: (-one.tolerance_um, abs(one.least_mm + one.greatest_mm - 2 * middle))))
