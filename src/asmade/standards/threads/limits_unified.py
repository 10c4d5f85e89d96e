"""Limits of Unified threads, ASME B1.1."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange, Unknown
from asmade.standards.threads.bands import Band, ThreadLimits

if TYPE_CHECKING:
    from asmade.standards.threads.sizes import Thread

_INCH_CLASSES = {"1A": 1.5, "2A": 1.0, "3A": 0.75, "1B": 1.95, "2B": 1.3, "3B": 0.975}
_B1_1 = "ASME B1.1-2003, tolerance formulas, from memory, check before relying on it"


def unified_effective_tolerance(major_in: float, tpi: float, engagement_in: float) -> float:
    """Tolerance on effective diameter of class 2A in inches.

        Td2 = 0.0015 D^(1/3) + 0.0015 LE^(1/2) + 0.015 P^(2/3)

    D = major diameter, LE = length of engagement, P = pitch, all in inches. The other classes are multiples: 1A 1.5,
    3A 0.75, 1B 1.95, 2B 1.3, 3B 0.975. Source: ASME B1.1. Range: all above 0. Anchor: 1/4-20 UNC 0.0037 in.
    """
    for what, value in (
        ("major diameter", major_in),
        ("threads per inch", tpi),
        ("length of engagement", engagement_in),
    ):
        if not (math.isfinite(value) and value > 0):
            raise OutOfRange(what, got=value, allowed="above 0", source=_B1_1)
    size, length, pitch = math.cbrt(major_in), math.sqrt(engagement_in), math.cbrt(1 / tpi) ** 2
    return 0.0015 * size + 0.0015 * length + 0.015 * pitch


def unified_limits(thread: Thread, written: str) -> ThreadLimits:
    """Limits by a class 1A to 3A (screw) or 1B to 3B (nut); see ``thread_limits``."""
    name = written.strip().upper()
    if name not in _INCH_CLASSES:
        raise Unknown("tolerance class of a Unified thread", got=written, near=tuple(_INCH_CLASSES))
    major, pitch = thread.major_mm / 25.4, thread.pitch_mm / 25.4
    # UNC and UNF are worked for an engagement of one diameter, UNEF for nine pitches
    length = 9 * pitch if thread.series == "UNEF" else major
    base = unified_effective_tolerance(major, 1 / pitch, length)
    tolerance = base * _INCH_CLASSES[name]
    if name.endswith("A"):
        return _unified_screw(thread, written, base, tolerance)
    minor_low = thread.nut_minor_mm / 25.4
    minor_high = minor_low + _unified_minor_tolerance(major, pitch, tight=name == "3B")
    return ThreadLimits(
        thread,
        written,
        False,
        Band(thread.major_mm, None),
        Band(thread.effective_mm, thread.effective_mm + 25.4 * tolerance),
        Band(thread.nut_minor_mm, 25.4 * minor_high),
        _B1_1,
    )


def _unified_screw(thread: Thread, written: str, base: float, tolerance: float) -> ThreadLimits:
    name = written.strip().upper()
    allowance = 0.0 if name == "3A" else 25.4 * 0.3 * base
    crest = (0.090 if name == "1A" else 0.060) * (thread.pitch_mm / 25.4) ** (2 / 3)
    top = thread.major_mm - allowance
    effective = thread.effective_mm - allowance
    return ThreadLimits(
        thread,
        written,
        True,
        Band(top - 25.4 * crest, top),
        Band(effective - 25.4 * tolerance, effective),
        Band(None, thread.core_mm - allowance),
        _B1_1,
    )


def _unified_minor_tolerance(major: float, pitch: float, *, tight: bool) -> float:
    """Tolerance on minor diameter of the nut in inches, ASME B1.1: 1B and 2B, or ``tight`` 3B; from memory."""
    by_size: float = 0.05 * pitch ** (2 / 3) + 0.03 * pitch / major - 0.002
    if tight:
        least = 0.23 * pitch - 1.5 * pitch**2 if pitch < 1 / 12.5 else 0.12 * pitch  # 13 per inch and finer
        return min(max(by_size, least), 0.394 * pitch)
    least = 0.25 * pitch - 0.4 * pitch**2 if pitch <= 0.25 else 0.15 * pitch
    return min(max(by_size, least), 0.394 * pitch) if major < 0.25 else least
