"""Effective diameter of a screw by three wires: what a micrometer reads over them, and back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange

if TYPE_CHECKING:
    from asmade.standards.threads.sizes import Thread

_SOURCE = "NBS Handbook H28, three-wire measurement; BS 84 and BS 93 for the angles"


@dataclass(frozen=True, slots=True)
class OverWires:
    """What three wires of one size show on a screw of basic size."""

    thread: Thread
    wire_mm: float
    best_wire_mm: float  # touches the flanks at the effective diameter
    least_wire_mm: float  # thinner ones stay below the crests or touch the rounding of the root
    greatest_wire_mm: float  # thicker ones ride on the crests
    over_mm: float  # wires taken as lying square to the axis: how it is usually printed
    over_with_lead_mm: float  # with the correction for the lead angle: what a micrometer reads
    source: str = _SOURCE

    @property
    def lead_correction_mm(self) -> float:
        """By how much the micrometer reads more because the wires lie in a helix."""
        return self.over_with_lead_mm - self.over_mm


def best_wire(thread: Thread) -> float:
    """Wire that touches the flanks at the effective diameter, w = p / (2 cos(angle / 2)).

    Source: NBS Handbook H28. Range: threads of the tables. Anchors: 0.57735 p for 60 degrees, 0.56369 p for 55.
    """
    return thread.pitch_mm / (2 * math.cos(thread.form.half_angle_rad))


def wire_limits(thread: Thread) -> tuple[float, float]:
    """Thinnest and thickest wire that touches straight flanks and stands above the crests.

    Heights are counted from the sharp root of the groove. The wire touches at w cos^2 a / (2 sin a) and reaches to
    w (1 + 1 / sin a) / 2. Source: NBS Handbook H28. Range: threads of the tables.
    Anchor: 0.505182 p and 1.010363 p for 60 degrees with flat crests.
    """
    half, p, shape = thread.form.half_angle_rad, thread.pitch_mm, thread.form
    sine, cosine = math.sin(half), math.cos(half)
    crest = (shape.triangle - shape.crest_cut) * p
    rounded_end = (shape.triangle - shape.crest_radius * cosine**2 / sine) * p
    flank_end = rounded_end if shape.crest_radius else crest  # up to where the rounding begins, or to the flat
    flank_start = shape.root_radius * p * cosine**2 / sine
    touch = cosine**2 / (2 * sine)  # height of contact per wire diameter
    least = max(crest / (0.5 * (1 + 1 / sine)), flank_start / touch)
    return least, flank_end / touch


def over_wires(thread: Thread, wire_mm: float | None = None) -> OverWires:
    """Work out the measurement over three wires on a screw of basic effective diameter E.

        M  = E - (p / 2) cot a + w (1 + 1 / sin a)
        M' = M + (w / 2) tan^2 s cos a cot a,      tan s = p / (pi E)

    a = half of the thread angle, w = wire, s = lead angle; M without, M' with the correction for the lead.
    Units: mm. Without ``wire_mm`` the best wire is taken.

    Source: NBS Handbook H28.
    Range: wires within ``wire_limits``.
    Anchor: M = E + 3 w - 0.86603 p for 60 degrees; E + 3.1657 w - 0.9605 p for 55; E + 3.4829 w - 1.1363 p for 47 1/2.
    """
    best = best_wire(thread)
    least, greatest = wire_limits(thread)
    wire = _checked_wire(thread, best if wire_mm is None else wire_mm, least, greatest)
    over = thread.effective_mm + _rise(thread, wire)
    return OverWires(
        thread, wire, best, least, greatest, over, over + _lead_correction(thread, thread.effective_mm, wire)
    )


def effective_from_wires(thread: Thread, over_mm: float, wire_mm: float, *, lead: bool = True) -> float:
    """Return the effective diameter of a screw from a reading over three wires: ``over_wires`` turned round.

    With ``lead`` the correction is taken off too, solved for the diameter itself. Units: mm.

    Source: NBS Handbook H28.
    Range: wires within ``wire_limits``; a result from core to major diameter.
    Anchor: M6 over 0.57735 mm wires, 6.21651 mm without the lead: 5.35048 mm (by hand, E = M - 3 w + 0.86603 p).
    """
    wire = _checked_wire(thread, wire_mm, *wire_limits(thread))
    plain = over_mm - _rise(thread, wire)
    if not (math.isfinite(plain) and thread.core_mm <= plain <= thread.major_mm):
        low, high = (size + _rise(thread, wire) for size in (thread.core_mm, thread.major_mm))
        raise OutOfRange(
            f"reading over wires of {thread.designation}",
            got=f"{over_mm:g} mm",
            allowed=f"{low:.3f} to {high:.3f} mm with {wire:g} mm wires",
            source=_SOURCE,
            way_out="check the wire size and that the reading is over three wires",
        )
    effective = plain
    for _ in range(20 if lead else 0):  # a contraction: the correction hardly changes with the diameter
        effective = plain - _lead_correction(thread, effective, wire)
    return effective


def _rise(thread: Thread, wire: float) -> float:
    half = thread.form.half_angle_rad
    return wire * (1 + 1 / math.sin(half)) - 0.5 * thread.pitch_mm / math.tan(half)


def _lead_correction(thread: Thread, effective: float, wire: float) -> float:
    half = thread.form.half_angle_rad
    lead = thread.pitch_mm / (math.pi * effective)
    return 0.5 * wire * lead**2 * math.cos(half) / math.tan(half)


def _checked_wire(thread: Thread, wire: float, least: float, greatest: float) -> float:
    if not (math.isfinite(wire) and least <= wire <= greatest):
        raise OutOfRange(
            f"wire for {thread.designation}",
            got=f"{wire:g} mm",
            allowed=f"{least:.3f} to {greatest:.3f} mm",
            source=_SOURCE,
            way_out=f"best {best_wire(thread):.3f} mm; drill shanks of a size will do if they are alike",
        )
    return wire
