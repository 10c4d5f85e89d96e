"""Standard reamers, and to what size a reamer is made for a hole of a class."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange, Refused, Unknown, near
from asmade.standards.limits import limits
from asmade.standards.stock import SYSTEMS, System
from asmade.standards.tables import load, number

if TYPE_CHECKING:
    from collections.abc import Iterable

_INCH = Fraction(254, 10)
_SOURCE = "ISO 522 (DIN 1420): limits of reamers for holes of ISO classes"


@dataclass(frozen=True, slots=True)
class Reamer:
    """A reamer as sold."""

    kind: str  # "hand reamer" or "machine reamer"
    system: System
    name: str
    mm: Fraction
    first_choice: bool

    @property
    def size_mm(self) -> float:
        """Stated size."""
        return float(self.mm)


@dataclass(frozen=True, slots=True)
class NearReamer:
    """A reamer near a wanted hole; ``over_mm`` is reamer less wanted."""

    reamer: Reamer
    over_mm: float


@dataclass(frozen=True, slots=True)
class ReamerLimits:
    """Between which sizes the reamer itself is made so that its holes fall into a class."""

    hole_class: str
    least_mm: float
    greatest_mm: float
    source: str = _SOURCE


def reamers(kind: str | None = None, system: System | None = None) -> tuple[Reamer, ...]:
    """Standard reamers of a ``kind`` ("hand reamer", "machine reamer") and system, smallest first; None = all.

    None are made to gauge numbers, so SWG and BWG give none.

    Source: ISO 236-1, ISO 521 (metric); as sold (inch); from memory. Raises ``Unknown`` with near names.
    """
    every = _every()
    kinds = tuple(dict.fromkeys(reamer.kind for reamer in every))
    if kind is not None and kind not in kinds:
        raise Unknown("kind of reamer", got=kind, near=near(kind, kinds), way_out=" or ".join(kinds))
    if system is not None and system not in SYSTEMS:
        raise Unknown("system of sizes", got=system, near=SYSTEMS)
    return tuple(r for r in every if kind in (None, r.kind) and system in (None, r.system))


def nearest_reamers(
    size_mm: Fraction | float,
    *,
    kind: str | None = None,
    system: System | None = None,
    have: Iterable[Reamer] | None = None,
    most: int = 3,
) -> tuple[NearReamer, ...]:
    """Return the reamers nearest to a wanted hole in mm, nearest first; of two equally near the first choice.

    ``have``: those in the drawer (None = standard ones). Example: for 5/8 in (15.875 mm) of metric hand reamers 16 mm.
    """
    if not (math.isfinite(size_mm) and size_mm > 0):
        raise OutOfRange("hole to be reamed", got=f"{float(size_mm):g} mm", allowed="above 0 mm")
    if most < 1:
        raise Refused("number of reamers", got=most, reason="at least one must be asked for")
    wanted = Fraction(str(size_mm)) if isinstance(size_mm, float) else Fraction(size_mm)
    offered = reamers(kind, system) if have is None else tuple(have)
    ranked = sorted(offered, key=lambda r: (abs(r.mm - wanted), not r.first_choice, r.kind, r.mm))
    return tuple(NearReamer(reamer, float(reamer.mm - wanted)) for reamer in ranked[:most])


def reamer_limits(nominal_mm: float, hole_class: str = "H7") -> ReamerLimits:
    """Limits of a new reamer for a hole of ``hole_class``.

        greatest = hole greatest - 0.15 IT,    least = greatest - 0.35 IT

    IT = tolerance of the hole; both shares are rounded up to whole micrometres, as the standard does. Units: mm.

    Source: ISO 522 (DIN 1420).
    Range: over 0 to 500 mm, hole classes of ISO 286.
    Anchor: 10 H7 (IT 15 um): 10.006 to 10.012 mm (DIN 1420, from memory).
    """
    hole = limits(nominal_mm, hole_class)
    if not hole.tolerance_class.is_hole:
        raise Refused("hole class", got=hole_class, reason="small letters are shafts", way_out="write it as H7")
    top_um = hole.upper_um - _whole_microns_up(0.15 * hole.tolerance_um)
    bottom_um = top_um - _whole_microns_up(0.35 * hole.tolerance_um)
    return ReamerLimits(hole_class, nominal_mm + bottom_um / 1000, nominal_mm + top_um / 1000)


def reamer_limits_for_hole(least_mm: float, greatest_mm: float) -> ReamerLimits:
    """Limits of a reamer for a hole between two limits of its own: the rule of ``reamer_limits``, not rounded.

    Source: ISO 522 (DIN 1420).
    Range: limits above 0, the least below the greatest.
    Anchor: hole 55.000 to 55.035 mm: 55.0175 to 55.02975, printed as 55.017 and 55.030 (Sharma, A Textbook of
    Production Engineering, example 15.5).
    """
    if not (math.isfinite(least_mm) and math.isfinite(greatest_mm) and 0 < least_mm < greatest_mm):
        raise OutOfRange(
            "limits of a hole",
            got=f"{least_mm:g} to {greatest_mm:g} mm",
            allowed="above 0, the least below the greatest",
        )
    width = greatest_mm - least_mm
    top = greatest_mm - 0.15 * width
    return ReamerLimits("as given", top - 0.35 * width, top)


def _whole_microns_up(value_um: float) -> int:
    return math.ceil(value_um - 1e-6)


@cache
def _every() -> tuple[Reamer, ...]:
    found = []
    for row in load("reamers").rows:
        text, first = str(row["size"]), number(row["preference"]) == 1
        if row["system"] == "metric":
            found.append(Reamer(str(row["kind"]), "metric", f"{text} mm", Fraction(text), first))
        else:
            inches = sum((Fraction(part) for part in text.split()), Fraction(0))
            found.append(Reamer(str(row["kind"]), "inch", f"{text} in", inches * _INCH, first))
    return tuple(sorted(found, key=lambda reamer: reamer.mm))
