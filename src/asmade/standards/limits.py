"""Limits of size by ISO 286: standard tolerances, fundamental deviations, limit deviations of any class.

Deviations are in micrometres from the nominal size, sizes in millimetres. A nominal size may be a float, an int or
an exact ``Fraction`` (an inch size is ``Fraction(254, 10)`` times its inches). Holes have capital letters (``H7``),
shafts small ones (``g6``).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange, Refused, Unknown, near
from asmade.standards import tables

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy as np
    import numpy.typing as npt

Size = float | Fraction

SOURCE = "ISO 286-1:2010"
SHAFT_LETTERS = (
    *("a", "b", "c", "cd", "d", "e", "ef", "f", "fg", "g", "h", "j", "js", "k", "m", "n"),
    *("p", "r", "s", "t", "u", "v", "x", "y", "z", "za", "zb", "zc"),
)
HOLE_LETTERS = tuple(s.upper() for s in SHAFT_LETTERS)
GRADES = ("01", "0", *(str(n) for n in range(1, 19)))
LARGEST_MM = 500
_PLACES = 9  # of a millimetre, to which a size in floats is taken

_CLEARANCE = frozenset(SHAFT_LETTERS[: SHAFT_LETTERS.index("h")])
_WAY_OUT = "give the two limits yourself"


@dataclass(frozen=True, slots=True)
class ToleranceClass:
    """A tolerance class: letters of the fundamental deviation and number of the grade, ``H7`` or ``g6``."""

    letters: str
    grade: str  # "01", "0", "1" to "18": "01" and "1" are different grades

    @property
    def is_hole(self) -> bool:
        """Capital letters mean a hole (or a slot), small ones a shaft (or a key)."""
        return self.letters.isupper()

    @property
    def rank(self) -> int:
        """Grade as a number that can be compared: IT01 is -1, IT0 is 0, IT7 is 7."""
        return -1 if self.grade == "01" else int(self.grade)

    def __str__(self) -> str:
        return f"{self.letters}{self.grade}"


@dataclass(frozen=True, slots=True)
class Limits:
    """Limit deviations of one class at one nominal size, in micrometres, and the sizes they lead to, in millimetres."""

    nominal_mm: Size
    tolerance_class: ToleranceClass
    upper_um: float
    lower_um: float

    @property
    def tolerance_um(self) -> float:
        """Width of the tolerance."""
        return self.upper_um - self.lower_um

    @property
    def greatest_mm(self) -> float:
        """Upper limit of size."""
        return float(self.nominal_mm) + self.upper_um / 1000

    @property
    def least_mm(self) -> float:
        """Lower limit of size."""
        return float(self.nominal_mm) + self.lower_um / 1000


def parse_class(text: str) -> ToleranceClass:
    """Read a tolerance class such as ``H7`` or ``js6``; capitals and small letters mean hole and shaft.

    Source: ISO 286-1:2010, 4.2 (designation).
    Range: letters A to ZC or a to zc without i, l, o, q, w; grades 01, 0, 1 to 18.
    Anchor: designation as in the standard.

    >>> str(parse_class("H7")), parse_class("H7").is_hole, parse_class("js6").is_hole
    ('H7', True, False)
    """
    match = re.fullmatch(r"([A-Za-z]{1,2})(01|\d{1,2})", text.strip())
    way_out = "write it as H7 for a hole or g6 for a shaft"
    if not match:
        raise Refused("tolerance class", got=text, reason="letters and a grade are needed", way_out=way_out)
    letters, grade = match.groups()
    if letters not in HOLE_LETTERS and letters not in SHAFT_LETTERS:
        known = HOLE_LETTERS if letters[0].isupper() else SHAFT_LETTERS
        alike = near(letters, known)
        raise Unknown("fundamental deviation of ISO 286", got=letters, near=alike, way_out=way_out)
    if grade not in GRADES:
        raise _no_such_grade(f"IT{grade}")
    return ToleranceClass(letters, grade)


def tolerance_um(nominal_mm: Size, grade: str | int) -> float:
    """Width of standard tolerance grade ``grade`` ("IT7", "7" or 7) at a nominal size, in micrometres.

    The rounded values of the table; the unit behind them is i = 0.45 D^(1/3) + 0.001 D, see ``tolerance_unit_um``.

    Source: ISO 286-1:2010, Table 1.
    Range: over 0 up to 500 mm; IT14 to IT18 over 1 mm only.
    Anchor: IT7 at 25 mm is 21 um (Table 1).

    >>> tolerance_um(25, "IT7"), tolerance_um(3, 6)
    (21.0, 6.0)
    """
    nominal_mm = _snapped(nominal_mm)
    name = str(grade).upper().removeprefix("IT")
    if name not in GRADES:
        raise _no_such_grade(grade)
    row = _step("iso286_it", nominal_mm)
    if nominal_mm <= 1 and name in GRADES[15:]:
        raise OutOfRange(
            f"nominal size for IT{name}",
            got=f"{float(nominal_mm):g} mm",
            allowed="over 1 mm",
            source="ISO 286-1 Table 1, footnote",
            way_out=_WAY_OUT,
        )
    return float(tables.number(row[f"IT{name}"]))


def tolerance_unit_um(over_mm: float, upto_mm: float) -> float:
    """Tolerance unit i of a range of nominal sizes, in micrometres.

        i = 0.45 D^(1/3) + 0.001 D,  D = sqrt(over * upto) in mm

    IT5 is 7 i, IT6 10 i, then 16, 25, 40, 64, 100 i and so on; ``tolerance_um`` has the rounded values.

    Source: ISO 286-1:1988, A.3 (basis of the system).
    Range: up to 500 mm, 0 < over < upto (for sizes up to 3 mm the standard takes over = 1).
    Anchor: 50 to 80 mm: i = 1.856 um (Sharma, A Textbook of Production Engineering, example 9.4).

    >>> round(tolerance_unit_um(50, 80), 3)
    1.856
    """
    if not 0 < over_mm < upto_mm <= LARGEST_MM:
        raise OutOfRange(
            "range of sizes", got=f"{over_mm} to {upto_mm} mm", allowed="0 < over < upto <= 500 mm", source=SOURCE
        )
    d = math.sqrt(over_mm * upto_mm)
    return float(0.45 * math.cbrt(d) + 0.001 * d)


_DEVIATION_FORMULAS: dict[str, Callable[[float], float]] = {
    "a": lambda d: 265 + 1.3 * d if d <= 120 else 3.5 * d,
    "b": lambda d: 140 + 0.85 * d if d <= 160 else 1.8 * d,
    "d": lambda d: 16 * d**0.44,
    "e": lambda d: 11 * d**0.41,
    "f": lambda d: 5.5 * d**0.41,
    "g": lambda d: 2.5 * d**0.34,
    "k": lambda d: 0.6 * math.cbrt(d),
    "n": lambda d: 5 * d**0.34,
}


def deviation_formula_um(letters: str, over_mm: float, upto_mm: float) -> float:
    """Size of a fundamental deviation before rounding, in micrometres without sign; the tables rule, not this.

        a 265 + 1.3 D (over 120 mm 3.5 D), b 140 + 0.85 D (over 160 mm 1.8 D), d 16 D^0.44, e 11 D^0.41,
        f 5.5 D^0.41, g 2.5 D^0.34, k 0.6 D^(1/3), n 5 D^0.34,   D = sqrt(over * upto)

    Source: ISO 286-1:1988, A.4 (formulas for fundamental deviations).
    Range: the letters above; 0 < over < upto <= 500 mm.
    Anchor: f, 50 to 80 mm: 30.1 um, tabulated 30 (Sharma, A Textbook of Production Engineering, example 9.4).

    >>> round(deviation_formula_um("f", 50, 80), 1)
    30.1
    """
    tolerance_unit_um(over_mm, upto_mm)  # refuses a range of sizes that is none
    if letters not in _DEVIATION_FORMULAS:
        known = tuple(_DEVIATION_FORMULAS)
        raise Unknown("fundamental deviation with a formula of its own", got=letters, near=known)
    return float(_DEVIATION_FORMULAS[letters](math.sqrt(over_mm * upto_mm)))


def fundamental_deviation_um(nominal_mm: Size, tolerance_class: str | ToleranceClass) -> float:
    """Deviation of the limit nearest to the nominal size, in micrometres, with its sign.

    Shafts a to h: the upper deviation es; j to zc: the lower deviation ei. Holes A to H: the lower deviation EI = -es;
    J to ZC: the upper deviation ES = -ei + delta, delta = ITn - IT(n-1) for K, M, N up to IT8 and P to ZC up to IT7,
    0 for coarser grades and sizes up to 3 mm. js and JS: half the tolerance, given as the upper deviation.

    Source: ISO 286-1:2010, Tables 2 to 5 with their footnotes.
    Range: up to 500 mm; a, b, A, B over 1 mm; cd, ef, fg up to 50 mm; j and J only as j5 to j7 and J6 to J8 (j8 up to
        3 mm); K over IT8 up to 3 mm only; N over IT8 over 1 mm; holes K to ZC from IT3.
    Anchor: g at 25 mm is -7 um; P7 at 12 mm is -18 + 7 = -11 um (Tables 3 and 4).

    >>> fundamental_deviation_um(25, "g6"), fundamental_deviation_um(12, "P7"), fundamental_deviation_um(60, "R7")
    (-7.0, -11.0, -30.0)
    """
    nominal_mm = _snapped(nominal_mm)
    wanted = parse_class(tolerance_class) if isinstance(tolerance_class, str) else tolerance_class
    letters = wanted.letters.lower()
    shaft_row = _step("iso286_shafts", nominal_mm)
    if letters in ("a", "b") and nominal_mm <= 1:
        raise _not_tabulated(wanted, nominal_mm, "over 1 mm")
    if letters == "js":
        return tolerance_um(nominal_mm, wanted.grade) / 2
    if letters == "h":
        return 0.0
    if letters == "j":
        return _deviation_j(nominal_mm, wanted)
    if letters in _CLEARANCE:
        value = shaft_row[letters]
        if value is None:
            raise _not_tabulated(wanted, nominal_mm, "up to 50 mm")
        deviation = float(tables.number(value))
        return -deviation if wanted.is_hole else deviation
    return _hole_k_to_zc(nominal_mm, wanted) if wanted.is_hole else _shaft_k_to_zc(nominal_mm, wanted)


def limits(nominal_mm: Size, tolerance_class: str | ToleranceClass) -> Limits:
    """Limit deviations of a hole or shaft class at a nominal size.

    The fundamental deviation gives the limit nearest to the nominal size, the grade the distance to the other.

    Source: ISO 286-1:2010, Tables 1 to 5; the results are those printed in ISO 286-2.
    Range: as ``fundamental_deviation_um`` and ``tolerance_um``; over 0 up to 500 mm.
    Anchor: 25 H7 +21/0, 25 g6 -7/-20, 30 K7 +6/-15 (ISO 286-2).

    >>> h7, g6, k7 = limits(25, "H7"), limits(25, "g6"), limits(30, "K7")
    >>> (h7.upper_um, h7.lower_um), (g6.upper_um, g6.lower_um), (k7.upper_um, k7.lower_um)
    ((21.0, 0.0), (-7.0, -20.0), (6.0, -15.0))
    """
    wanted = parse_class(tolerance_class) if isinstance(tolerance_class, str) else tolerance_class
    width = tolerance_um(nominal_mm, wanted.grade)
    nearest = fundamental_deviation_um(nominal_mm, wanted)
    if _nearest_is_lower(wanted):
        return Limits(nominal_mm, wanted, nearest + width, nearest)
    return Limits(nominal_mm, wanted, nearest, nearest - width)


def limits_many(
    nominals_mm: Sequence[float] | npt.NDArray[np.float64], tolerance_class: str | ToleranceClass
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Upper and lower deviations of one class at many nominal sizes, in micrometres, same shape as ``nominals_mm``.

    Source: as ``limits``, to which it is equal size by size.
    Range: as ``limits``; one size out of range refuses the whole and is named.
    Anchor: 6 and 25 mm H7: +12/0 and +21/0 (ISO 286-2).

    >>> upper, lower = limits_many([6, 25], "H7")
    >>> upper.tolist(), lower.tolist()
    ([12.0, 21.0], [0.0, 0.0])
    """
    import numpy as np  # noqa: PLC0415  # one size at a time needs no arrays, and quick sums start without them

    wanted = parse_class(tolerance_class) if isinstance(tolerance_class, str) else tolerance_class
    sizes = np.round(np.asarray(nominals_mm, dtype=np.float64), _PLACES)
    edges, upper, lower = _by_step(wanted)
    inside = (sizes > 0) & (sizes <= LARGEST_MM)
    if not inside.all():
        checked_nominal_mm(float(sizes[~inside].flat[0]))  # refuses, naming the size
    at = np.searchsorted(np.asarray(edges), sizes, side="left")
    found = np.asarray(upper)[at], np.asarray(lower)[at]
    missing = np.isnan(found[0])
    if missing.any():
        limits(float(sizes[missing].flat[0]), wanted)  # refuses, naming the size and the reason
    return found


@cache
def _by_step(wanted: ToleranceClass) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Upper ends of the steps and the deviations in each; NaN where the standard gives none."""
    edges = [1.0, *(float(tables.number(end)) for end in tables.load("iso286_shafts").column("upto"))]
    pairs = []
    for edge in edges:  # the end belongs to its step, so it stands for the whole of it
        try:
            found = limits(edge, wanted)
        except OutOfRange:
            pairs.append((math.nan, math.nan))
        else:
            pairs.append((found.upper_um, found.lower_um))
    return tuple(edges), tuple(p[0] for p in pairs), tuple(p[1] for p in pairs)


def _nearest_is_lower(wanted: ToleranceClass) -> bool:
    """Whether the fundamental deviation is the lower limit: holes A to H, shafts j to zc (not js)."""
    below = wanted.letters.lower() in _CLEARANCE or wanted.letters.lower() == "h"
    if wanted.letters.lower() == "js":
        return False
    return below == wanted.is_hole


def _deviation_j(nominal_mm: Size, wanted: ToleranceClass) -> float:
    row = _step("iso286_holes" if wanted.is_hole else "iso286_shafts", nominal_mm)
    value = row.get(str(wanted))
    if value is None:
        given = "J6, J7 and J8" if wanted.is_hole else "j5, j6 and j7, and j8 up to 3 mm"
        raise _not_tabulated(wanted, nominal_mm, f"{given}; JS or js is given for every grade")
    return float(tables.number(value))


def _shaft_k_to_zc(nominal_mm: Size, wanted: ToleranceClass) -> float:
    if wanted.letters == "k" and not 4 <= wanted.rank <= 7:
        return 0.0
    value = _step("iso286_shafts", nominal_mm)[wanted.letters]
    if value is None:
        raise _not_tabulated(wanted, nominal_mm, _first_size_of(wanted.letters))
    return float(tables.number(value))


def _hole_k_to_zc(nominal_mm: Size, wanted: ToleranceClass) -> float:
    letters, grade = wanted.letters.lower(), wanted.rank
    if letters == "n" and grade > 8:
        if nominal_mm <= 1:
            raise _not_tabulated(wanted, nominal_mm, "over 1 mm for grades above IT8")
        if nominal_mm > 3:
            return 0.0
    if letters == "k" and grade > 8 and nominal_mm > 3:
        raise _not_tabulated(wanted, nominal_mm, "grades up to IT8, or sizes up to 3 mm")
    if str(wanted) == "M6" and 250 < nominal_mm <= 315:
        return -9.0  # Table 3, footnote: special case, -9 instead of -11 as worked from delta
    value = _step("iso286_shafts", nominal_mm)[letters]
    if value is None:
        raise _not_tabulated(wanted, nominal_mm, _first_size_of(letters))
    return _delta(nominal_mm, wanted) - tables.number(value)


def _delta(nominal_mm: Size, wanted: ToleranceClass) -> float:
    """Delta of Table 3 for this class and size, 0 where none is added."""
    last = 8 if wanted.letters in ("K", "M", "N") else 7
    if nominal_mm <= 3 or wanted.rank > last:
        return 0.0
    if wanted.rank < 3:
        raise _not_tabulated(wanted, nominal_mm, "grades from IT3 for holes K to ZC over 3 mm")
    return float(tables.number(_step("iso286_holes", nominal_mm)[f"delta{wanted.grade}"]))


def _first_size_of(letters: str) -> str:
    table = tables.load("iso286_shafts")
    first = next(row["over"] for row in table.rows if row[letters] is not None)
    return f"over {first} mm"


def _no_such_grade(written: str | int) -> OutOfRange:
    return OutOfRange(
        "tolerance grade",
        got=written,
        allowed="IT01, IT0, IT1 to IT18",
        source=SOURCE,
        way_out="for work that fits, 5 (ground) to 11 (loose) are usual",
    )


def _not_tabulated(wanted: ToleranceClass, nominal_mm: Size, allowed: str) -> OutOfRange:
    return OutOfRange(
        f"class {wanted}",
        got=f"{float(nominal_mm):g} mm",
        allowed=f"what the standard gives: {allowed}",
        source=f"{SOURCE}, Tables 2 to 5",
        way_out=_WAY_OUT,
    )


def _step(table: str, nominal_mm: Size) -> tables.Row:
    _check_nominal(nominal_mm)
    return tables.load(table).step(nominal_mm)


def _snapped(nominal_mm: Size) -> Size:
    """Take off the last places of a float: a sum that came to 10.000000000000002 is 10, in the step that ends there."""
    return round(nominal_mm, _PLACES) if isinstance(nominal_mm, float) else nominal_mm


def checked_nominal_mm(nominal_mm: Size) -> Fraction:
    """Nominal size as an exact fraction, refused unless the standard covers it.

    Source: ISO 286-1:2010, Table 1 (this program goes to 500 mm).
    Range: over 0 up to 500 mm.
    Anchor: the table's own ends.

    >>> checked_nominal_mm(12.5)
    Fraction(25, 2)
    """
    snapped = _snapped(nominal_mm)
    _check_nominal(snapped)
    return Fraction(snapped)


def _check_nominal(nominal_mm: Size) -> None:
    if not (math.isfinite(nominal_mm) and 0 < nominal_mm <= LARGEST_MM):
        raise OutOfRange(
            "nominal size",
            got=f"{float(nominal_mm):g} mm",
            allowed="over 0 up to 500 mm",
            source=SOURCE,
            way_out=_WAY_OUT,
        )
