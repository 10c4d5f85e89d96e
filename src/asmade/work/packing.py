"""Packing under one jaw of a three-jaw chuck to turn an eccentric.

Three jaws that move together stand at one distance r from the spindle's axis. Packing of thickness t under one of
them moves the work by e towards the other two. The packed jaw gives r = R - e + t, R the radius of the work. The
others, 120 degrees round, touch either

- along a flat face square to their travel: r = R + e / 2, so t = 1.5 e exactly, whatever the size of the work; or
- with a narrow jaw, at a point on the jaw's middle line: r^2 - r e + e^2 = R^2, so
  r = (e + sqrt(D^2 - 3 e^2)) / 2 and t = 1.5 e - (D - sqrt(D^2 - 3 e^2)) / 2, a little less.

Real jaws lie between the two.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from asmade.measure.errors import OutOfRange
from asmade.work.checks import above_zero, between

_MOST: Final = 0.25
_WAY_OUT: Final = "use a four-jaw chuck, a faceplate or a fixture: the jaws no longer hold it safely"


@dataclass(frozen=True, slots=True)
class Packing:
    """Packing for an eccentric: by the rule (flat jaws), for narrow jaws, and what an indicator reads over a turn."""

    offset_mm: float
    diameter_mm: float
    flat_jaws_mm: float
    narrow_jaws_mm: float
    indicator_mm: float

    @property
    def rule_over_mm(self) -> float:
        """By how much the rule of 1.5 times is more than narrow jaws want."""
        return self.flat_jaws_mm - self.narrow_jaws_mm


def packing_mm(offset_mm: float, diameter_mm: float) -> float:
    """Packing under one narrow jaw of three for an offset, the exact form, mm.

        t = 1.5 e - (D - sqrt(D^2 - 3 e^2)) / 2

    Source: geometry, in the head of this module.
    Range: offset above 0, up to a quarter of the diameter (our limit).
    Anchor: 25 mm round, 3 mm offset: 4.2270 mm, by the rule 4.5 (by hand).
    """
    _possible(offset_mm, diameter_mm)
    return 1.5 * offset_mm - (diameter_mm - math.sqrt(diameter_mm**2 - 3 * offset_mm**2)) / 2


def rule_mm(offset_mm: float) -> float:
    """Packing by the rule, exact for jaws with flat faces: 1.5 times the offset.

    Source: geometry, in the head of this module; the rule itself is common practice. Range: above 0.
    Anchor: 3 mm offset: 4.5 mm.
    """
    return 1.5 * above_zero("offset", offset_mm)


def offset_mm(packing: float, diameter_mm: float) -> float:
    """Offset that a packing under one narrow jaw gives, mm.

        e = (3 c - sqrt(12 R^2 - 3 c^2)) / 6,   c = R + t

    Source: `packing_mm`, solved for the offset. Range: as there. Anchor: 4.2270 mm under 25 mm round: 3 mm (by hand).
    """
    above_zero("packing", packing)
    most = packing_mm(_MOST * above_zero("diameter", diameter_mm), diameter_mm)
    if packing > most + 1e-12:
        raise OutOfRange(
            "packing", got=f"{packing:g} mm", allowed=f"up to {most:.3f} mm under {diameter_mm:g} mm", way_out=_WAY_OUT
        )
    reach = diameter_mm / 2 + packing
    return (3 * reach - math.sqrt(3 * diameter_mm**2 - 3 * reach**2)) / 6


def for_offset(offset: float, diameter_mm: float) -> Packing:
    """Everything for an offset: the packing both ways, and the indicator's reading over a turn, twice the offset."""
    return Packing(offset, diameter_mm, rule_mm(offset), packing_mm(offset, diameter_mm), 2 * offset)


def _possible(offset: float, diameter_mm: float) -> None:
    above_zero("diameter", diameter_mm)
    between("offset", offset, 0, _MOST * diameter_mm + 1e-12, way_out=_WAY_OUT)
