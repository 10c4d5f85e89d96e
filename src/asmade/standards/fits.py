"""Fits: two classes at one size, the trade's words for fits, and the reverse from wanted room to classes and sizes.

Clearance is hole less shaft, on diameter; negative clearance is interference ("tight by").
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.standards import tables
from asmade.standards.limits import SOURCE, Limits, Size, ToleranceClass, limits, parse_class

INCH_MM = Fraction(254, 10)

_NUMBER = r"(?:\d+\s+)?\d+/\d+|\d+(?:\.\d+)?"
_CLASSES = r"(?P<first>[A-Za-z]{1,2}\d{1,2})\s*[/-]\s*(?P<second>[A-Za-z]{1,2}\d{1,2})"
_LENGTH = rf"[øØ⌀]?\s*(?P<size>{_NUMBER})\s*(?P<unit>mm|in|inch|\")?"
_CALLOUT = re.compile(rf"{_LENGTH}\s*{_CLASSES}")
_TOLERANCED = re.compile(rf"{_LENGTH}\s*(?P<one>[A-Za-z]{{1,2}}\d{{1,2}})")
_WRITE = "write it as 25 H7/g6, hole first; an inch size with its mark, 5/8 in H7/g6"


@dataclass(frozen=True, slots=True)
class Callout:
    """A fit as written on a drawing: nominal size (exact, mm), class of the hole, class of the shaft."""

    nominal_mm: Fraction
    hole: ToleranceClass
    shaft: ToleranceClass

    def __str__(self) -> str:
        return f"{float(self.nominal_mm):g} {self.hole}/{self.shaft}"


@dataclass(frozen=True, slots=True)
class Fit:
    """A hole and a shaft of one nominal size, with the clearance on diameter they lead to (negative = tight by)."""

    hole: Limits
    shaft: Limits
    clearance_max_um: float
    clearance_min_um: float

    @property
    def kind(self) -> str:
        """Clearance, transition or interference fit, as ISO 286-1 clause 3.3 defines them."""
        if self.clearance_min_um >= 0:
            return "clearance"
        return "transition" if self.clearance_max_um > 0 else "interference"


@dataclass(frozen=True, slots=True)
class Recommended:
    """A fit that the standards recommend, with the trade's word for it and what it is used for."""

    hole_basis: str
    shaft_basis: str
    words: str
    use: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """Clearance on diameter that a fit should have, in mm (negative = tight by), and who says so."""

    words: str
    diameter_mm: float
    least_mm: float
    most_mm: float
    source: str
    means: str = ""
    placeholder: bool = False  # a stand-in on the safe side, until the builder enters the product's own figures


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


def parse_fit(text: str) -> Callout:
    """Read a fit such as ``25 H7/g6``; the nominal size in mm, or in inches with the mark ``in`` or ``"``.

    Source: ISO 286-1:2010, 4.3 (designation of a fit: size, hole class, shaft class).
    Range: one hole and one shaft class, hole first; a size without a mark is mm.
    Anchor: 52 H7/g6 is the standard's own example.

    >>> str(parse_fit("52 H7/g6")), parse_fit("5/8 in H7/g6").nominal_mm
    ('52 H7/g6', Fraction(127, 8))
    """
    found = _CALLOUT.fullmatch(text.strip())
    if not found:
        raise Refused("fit", got=text, reason="a size, a hole class and a shaft class are needed", way_out=_WRITE)
    hole, shaft = parse_class(found["first"]), parse_class(found["second"])
    if not hole.is_hole or shaft.is_hole:
        both = "two holes" if hole.is_hole else ("two shafts" if not shaft.is_hole else "the shaft first")
        raise Refused("fit", got=text, reason=f"this names {both}", way_out=_WRITE)
    return Callout(_nominal(found["size"], found["unit"]), hole, shaft)


def parse_size(text: str) -> tuple[Fraction, ToleranceClass]:
    """Read one toleranced size such as ``25 H7`` or ``5/8 in g6``: nominal size in mm (exact) and class.

    Source: ISO 286-1:2010, 4.2 (designation of a toleranced size).
    Range: as ``parse_fit``.
    Anchor: 32 H7 and 80 js15 are the standard's own examples.

    >>> parse_size("80 js15")[0], str(parse_size("80 js15")[1])
    (Fraction(80, 1), 'js15')
    """
    found = _TOLERANCED.fullmatch(text.strip())
    if not found:
        raise Refused(
            "size with a class", got=text, reason="a size and one class are needed", way_out="write it as 25 H7"
        )
    return _nominal(found["size"], found["unit"]), parse_class(found["one"])


def _nominal(size: str, unit: str | None) -> Fraction:
    parts = size.split()
    try:
        value = sum((Fraction(part) for part in parts), Fraction(0))
    except ZeroDivisionError:
        raise Refused("nominal size", got=size, reason="the fraction divides by nothing") from None
    if unit in ("in", "inch", '"'):
        return value * INCH_MM
    if "/" in size:
        raise Refused(
            "nominal size", got=size, reason="a fraction without a mark could be mm or inches", way_out=_WRITE
        )
    return value


def _finite(nominal_mm: Size) -> Fraction:
    if not math.isfinite(nominal_mm):
        raise OutOfRange("nominal size", got=nominal_mm, allowed="over 0 up to 500 mm", source=SOURCE)
    return Fraction(nominal_mm)


def fit(callout: str | Callout) -> Fit:
    """Limits of hole and shaft and the clearance of a fit, in micrometres.

        greatest clearance = ES - ei,   least clearance = EI - es   (negative = interference)

    Source: ISO 286-1:2010, 3.3 and 3.4 (clearance, interference, fit), limits from its Tables 1 to 5.
    Range: as ``limits``; up to 500 mm.
    Anchor: 25 H7/g6: 41 and 7 um; 25 H7/p6: -1 and -35 um (from ISO 286-2 limits).

    >>> found = fit("25 H7/g6")
    >>> found.clearance_max_um, found.clearance_min_um, found.kind
    (41.0, 7.0, 'clearance')
    """
    wanted_fit = parse_fit(callout) if isinstance(callout, str) else callout
    hole = limits(wanted_fit.nominal_mm, wanted_fit.hole)
    shaft = limits(wanted_fit.nominal_mm, wanted_fit.shaft)
    return Fit(hole, shaft, hole.upper_um - shaft.lower_um, hole.lower_um - shaft.upper_um)


@cache
def recommended_fits() -> tuple[Recommended, ...]:
    """Recommended fits from slack to tight, each with the trade's word and use.

    Source: BS 4500A and 4500B (1970) selected fits; ISO 286-1:2010 preferred fits; words: common practice.
    Range: sizes up to 500 mm.
    Anchor: H7/g6 and H7/h6 are in both lists.

    >>> [found.words for found in recommended_fits() if found.hole_basis == "H7/g6"]
    ['close running']
    """
    rows = tables.load("fits_recommended").rows
    return tuple(Recommended(*(str(row[c]) for c in ("hole_basis", "shaft_basis", "words", "use"))) for row in rows)


def fit_words() -> tuple[str, ...]:
    """Every word that ``wanted`` knows.

    Source: table fits_words.
    Range: none.
    Anchor: none needed, it is a list of names.
    """
    return tuple(str(word) for word in tables.load("fits_words").column("word"))


def wanted(
    words: str,
    diameter_mm: float | Fraction,
    *,
    bonded_gap_mm: tuple[float, float] | None = None,
    bonded_source: str = "",
) -> Wanted:
    """Clearance on diameter that the words of the trade, or a fit by class (``H7/g6``), ask for.

        least, most = constant + per size * D    (rows of table fits_words)

    "bonded" takes ``bonded_gap_mm`` (least, most gap ON DIAMETER, from the product's data sheet, named by
    ``bonded_source``); without it a placeholder is given and marked as such.

    Source: an older model engineer's handbook, quoted second hand; common practice, no source; ISO 286-1 for classes.
    Range: words 0.8 to 100 mm, classes up to 500 mm.
    Anchor: normal running, 1 inch: figure 1 + 1.5 = 2.5 thou = 0.0635 mm, within least and most.

    >>> found = wanted("running", Fraction(254, 10))
    >>> round(found.least_mm, 5), round(found.most_mm, 5)
    (0.04953, 0.07938)
    """
    name = " ".join(words.lower().split()).removesuffix(" fit")
    diameter = float(diameter_mm)
    by_class = re.fullmatch(_CLASSES, words.strip())
    if by_class:
        found = fit(Callout(_finite(diameter_mm), *_hole_and_shaft(by_class["first"], by_class["second"], words)))
        low, high = found.clearance_min_um / 1000, found.clearance_max_um / 1000
        return Wanted(words.strip(), diameter, low, high, f"{SOURCE}, classes as named", found.kind)
    name = _SAME_WORD.get(name, name)
    known = fit_words()
    if name not in known:
        way_out = f"words known: {', '.join(known)}; or a fit by class such as H7/g6; or give least and most"
        raise Unknown("fit", got=words, near=tables.near(name, known), way_out=way_out)
    if not (math.isfinite(diameter) and 0.8 <= diameter <= 100):
        raise OutOfRange(
            f"diameter for the words {name!r}",
            got=f"{diameter:g} mm",
            allowed="0.8 to 100 mm",
            source="our reading of table fits_words",
            way_out="name a fit by class, or give least and most",
        )
    if name == "bonded" and bonded_gap_mm is not None:
        return _bonded_by_data_sheet(diameter, bonded_gap_mm, bonded_source)
    row = tables.load("fits_words").row(name)
    low, high = (_line(row[end], str(row["of"]), diameter) for end in ("least", "most"))
    return Wanted(name, diameter, low, high, str(row["source"]), str(row["means"]), placeholder=name == "bonded")


_SAME_WORD = {"normal running": "running", "easy": "easy running", "sliding": "slide", "shrunk": "shrink"}


def _hole_and_shaft(first: str, second: str, text: str) -> tuple[ToleranceClass, ToleranceClass]:
    hole, shaft = parse_class(first), parse_class(second)
    if not hole.is_hole or shaft.is_hole:
        raise Refused("fit", got=text, reason="hole class (capitals) first, then shaft class", way_out="H7/g6")
    return hole, shaft


def _bonded_by_data_sheet(diameter: float, gap_mm: tuple[float, float], source: str) -> Wanted:
    low, high = gap_mm
    if not (math.isfinite(low) and math.isfinite(high) and 0 <= low < high):
        raise OutOfRange(
            "gap for adhesive, on diameter", got=gap_mm, allowed="0 <= least < most", way_out="see the data sheet"
        )
    if not source:
        raise Refused("gap for adhesive", got=gap_mm, reason="name the data sheet it is taken from")
    return Wanted("bonded", diameter, low, high, source, "gap on diameter for a retaining adhesive")


def _line(pair: tables.Value, of: str, diameter: float) -> float:
    if not isinstance(pair, tuple) or len(pair) != 2:
        raise Refused("table fits_words", got=pair, reason="a constant and a figure per size are needed")
    constant, per_size = (tables.number(value) for value in pair)
    if of == "mm, D in mm":
        return constant + per_size * diameter
    if of == "thou, D in inches":
        return (constant * float(INCH_MM) + per_size * diameter) / 1000
    raise Refused("table fits_words", got=of, reason="units not known")


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


def reamer_for_hole_mm(hole_least_mm: float, hole_greatest_mm: float) -> Sizes:
    """Limits of the reamer that a toleranced hole needs, before rounding up to 0.001 mm.

        greatest = greatest hole - 0.15 IT,   least = greatest - 0.35 IT,   IT = width of the hole's tolerance

    What is left above the reamer is for what it cuts over its size.

    Source: ISO 522 (special tolerances for reamers); Sharma, A Textbook of Production Engineering, example 15.5.
    Range: sizes above 0; the tolerance of the hole above 0.
    Anchor: hole 55 +0.035/0: 55.02975 and 55.0175 (Sharma, example 15.5: 55.030 and 55.017).

    >>> found = reamer_for_hole_mm(55, 55.035)
    >>> round(found.greatest_mm, 5), round(found.least_mm, 5)
    (55.02975, 55.0175)
    """
    _check_sizes("hole", hole_least_mm, hole_greatest_mm)
    width = hole_greatest_mm - hole_least_mm
    if width <= 0:
        raise OutOfRange("tolerance of the hole", got=f"{width:g} mm", allowed="above 0 mm")
    greatest = hole_greatest_mm - 0.15 * width
    return Sizes(greatest - 0.35 * width, greatest)


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
    found = []
    for pair in _basis_pairs(basis):
        try:
            one = fit(Callout(_finite(nominal_mm), *pair))
        except OutOfRange:
            if not 0 < nominal_mm <= 500:
                raise
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
    rows = recommended_fits()
    at = 0 if kind == "hole" else 1
    names = {pair.split("/")[at] for row in rows for pair in (row.hole_basis, row.shaft_basis)}
    inside = []
    for name in names:
        try:
            one = limits(nominal_mm, name)
        except OutOfRange:
            if not 0 < nominal_mm <= 500:
                raise
            continue
        if one.least_mm <= least_mm + 1e-9 and greatest_mm - 1e-9 <= one.greatest_mm:
            inside.append(one)
    return tuple(sorted(inside, key=lambda one: (one.tolerance_um, str(one.tolerance_class))))
