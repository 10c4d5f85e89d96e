"""Fits: two classes at one size, recommended fits, and what the trade's words for fits ask for.

Clearance is hole less shaft, on diameter; negative clearance is interference ("tight by").
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from asmade.measure.errors import OutOfRange, Refused, Unknown, near
from asmade.measure.lengths import read_length
from asmade.standards import tables
from asmade.standards.limits import SOURCE, Limits, ToleranceClass, checked_nominal_mm, limits, parse_class

INCH_MM = Fraction(254, 10)

# ISO 286-1:1988 allowed the dash beside the stroke; drawings also part the two by a space
_CLASSES = r"(?P<first>[A-Za-z]{1,2}\d{1,2})(?:\s*[/-]\s*|\s+)(?P<second>[A-Za-z]{1,2}\d{1,2})"
_CALLOUT = re.compile(rf"(?P<size>.*[^\sA-Za-z]|.*(?:mm|in|inch|thou))\s*{_CLASSES}")
_TOLERANCED = re.compile(r"(?P<size>.*[^\sA-Za-z]|.*(?:mm|in|inch|thou))\s*(?P<one>[A-Za-z]{1,2}\d{1,2})")
_DIAMETER = re.compile(r"^(?:[øØ⌀φΦ]|dia(?:meter|m)?\b\.?)\s*", re.IGNORECASE)  # phi is often written for it
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


def parse_fit(text: str) -> Callout:
    """Read a fit such as ``25 H7/g6``; the nominal size as shops write it, a bare number being mm.

    Source: ISO 286-1:2010, 4.3 (designation of a fit: size, hole class, shaft class).
    Range: one hole and one shaft class, hole first, a stroke, dash or space between; a size without a mark is mm.
    Anchor: 52 H7/g6 is the standard's own example.

    >>> str(parse_fit("52 H7/g6")), parse_fit("5/8 in H7/g6").nominal_mm
    ('52 H7/g6', Fraction(127, 8))
    """
    found = _CALLOUT.fullmatch(text.strip())
    if not found:
        raise Refused("fit", got=text, reason="a size, a hole class and a shaft class are needed", way_out=_WRITE)
    first, second = parse_class(found["first"]), parse_class(found["second"])
    if first.is_hole == second.is_hole:
        both = "two holes" if first.is_hole else "two shafts"
        raise Refused("fit", got=text, reason=f"this names {both}", way_out=_WRITE)
    if second.is_hole:
        way_out = f"hole first: {found['size'].strip()} {second}/{first}"
        raise Refused("fit", got=text, reason="this names the shaft first", way_out=way_out)
    return Callout(_nominal(found["size"]), first, second)


def parse_size(text: str) -> tuple[Fraction, ToleranceClass]:
    """Read one toleranced size such as ``25 H7`` or ``5/8 in g6``: nominal size in mm (exact) and class.

    Source: ISO 286-1:2010, 4.2 (designation of a toleranced size).
    Range: as ``parse_fit``.
    Anchor: 32 H7 and 80 js15 are the standard's own examples.

    >>> parse_size("80 js15")[0], str(parse_size("80 js15")[1])
    (Fraction(80, 1), 'js15')
    """
    if both := _CALLOUT.fullmatch(text.strip()):
        way_out = f"one class at a time: {both['size'].strip()} {both['first']}"
        raise Refused("size with a class", got=text, reason="a fit names two", way_out=way_out)
    found = _TOLERANCED.fullmatch(text.strip())
    if not found:
        raise Refused(
            "size with a class", got=text, reason="a size and one class are needed", way_out="write it as 25 H7"
        )
    return _nominal(found["size"]), parse_class(found["one"])


def _nominal(size: str) -> Fraction:
    """Read the size as shops write it, a bare number being mm; the sign for a diameter may stand before it."""
    return read_length(_DIAMETER.sub("", size.strip()), unit="mm", thing="nominal size").mm


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
        found = fit(
            Callout(checked_nominal_mm(diameter_mm), *_hole_and_shaft(by_class["first"], by_class["second"], words))
        )
        low, high = found.clearance_min_um / 1000, found.clearance_max_um / 1000
        return Wanted(words.strip(), diameter, low, high, f"{SOURCE}, classes as named", found.kind)
    name = _SAME_WORD.get(name, name)
    known = fit_words()
    if name not in known:
        way_out = f"words known: {', '.join(known)}; or a fit by class such as H7/g6; or give least and most"
        raise Unknown("fit", got=words, near=near(name, known), way_out=way_out)
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
