"""Mandrels: where a bore grips on a tapered one, how a plain one is made to suit, how small a mandrel may be."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from asmade.measure.errors import OutOfRange
from asmade.work.checks import above_zero, finite, within

USUAL_TAPER: Final = 0.0005
"""0.006 in a foot, 1 in 2000 on diameter: Machinery's Handbook, from memory."""
SLIDING_MM: Final = (0.005, 0.015)
"""What a plain mandrel with a nut is less than the bore: common practice, no source."""


@dataclass(frozen=True, slots=True)
class PlainMandrel:
    """A plain mandrel to suit a measured bore: its spigot, and by how much the work may stand out of true."""

    least_mm: float
    greatest_mm: float
    length_mm: float
    runout_mm: float


def grip_at_mm(bore_mm: float, small_end_mm: float, taper: float = USUAL_TAPER) -> float:
    """How far from the small end of a tapered mandrel a bore grips, mm: (bore - small end) / taper.

    Source: geometry. Range: bore not below the small end, taper above 0 up to 0.01 on diameter.
    Anchor: bore 12.02 on a mandrel 12.00 at its small end, 1 in 2000: 40 mm (by hand).
    """
    within("taper of the mandrel", taper, 1e-6, 0.01, "")
    above_zero("small end", small_end_mm)
    if finite("bore", bore_mm) < small_end_mm:
        raise OutOfRange("bore", got=f"{bore_mm:g} mm", allowed=f"not below the small end, {small_end_mm:g} mm",
                         way_out="take the next smaller mandrel")  # fmt: skip
    return (bore_mm - small_end_mm) / taper


def tapered_ends_mm(bore_mm: float, work_mm: float, taper: float = USUAL_TAPER) -> tuple[float, float]:
    """Ends of a tapered mandrel on which work of a length sits about its middle: small, large, mm.

    The mandrel is three times as long as the work (our rule), and the bore is met a third of the way along.

    Source: geometry; the proportions are ours. Range: above 0. Anchor: bore 12, work 20 mm, 1:2000: 11.99 to 12.02 mm.
    """
    within("taper of the mandrel", taper, 1e-6, 0.01, "")
    above_zero("bore", bore_mm)
    long = above_zero("length of the work", work_mm)
    return bore_mm - long * taper, bore_mm + 2 * long * taper


def tilt_mm(work_mm: float, taper: float = USUAL_TAPER) -> float:
    """Clearance on diameter at the loose end of work on a tapered mandrel: L x taper. It may tilt by so much.

    Source: geometry. Range: above 0. Anchor: 20 mm on 1:2000: 0.01 mm.
    """
    return above_zero("length of the work", work_mm) * within("taper of the mandrel", taper, 1e-6, 0.01, "")


def plain_mandrel(bore_mm: float, work_mm: float) -> PlainMandrel:
    """A plain spigot turned where it stands, for thin or short work held by a nut and washer.

    The spigot is shorter than the work, or the nut clamps the mandrel; work can run out by the whole clearance.

    Source: common practice, no source. Range: work over 0.2 mm, bore above 0.
    """
    above_zero("bore", bore_mm)
    if finite("length of the work", work_mm) <= 0.2:
        raise OutOfRange("length of the work", got=f"{work_mm:g} mm", allowed="over 0.2 mm",
                         way_out="stick so thin a washer to a faced disc, or stack several")  # fmt: skip
    least, greatest = bore_mm - SLIDING_MM[1], bore_mm - SLIDING_MM[0]
    if least <= 0:
        raise OutOfRange("bore", got=f"{bore_mm:g} mm", allowed=f"over {SLIDING_MM[1]:g} mm")
    return PlainMandrel(least, greatest, max(0.5 * work_mm, work_mm - 0.5), SLIDING_MM[1])


def least_mandrel_mm(torque_nm: float, shear_mpa: float) -> float:
    """Least diameter of a mandrel that carries the torque of the cut, mm: (16 M / (pi tau))^(1/3).

    Source: torsion of a round bar, Shigley. Range: above 0. Anchor: 5 N m at 60 MPa: 7.515 mm (by hand).
    """
    above_zero("torque", torque_nm, "N m")
    return float((16 * torque_nm * 1000 / (math.pi * above_zero("shear stress", shear_mpa, "MPa"))) ** (1 / 3))
