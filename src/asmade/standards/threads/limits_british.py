"""Limits of Whitworth-form and BA threads, by the tolerance formulas of BS 84 and BS 93; all recalled."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange, Unknown
from asmade.standards.threads.bands import Band, ThreadLimits

if TYPE_CHECKING:
    from asmade.standards.threads.sizes import Thread

_BS_84 = "BS 84:1956, tolerance formulas, from memory, check before relying on it"
_BS_93 = "BS 93:1951, tolerance formulas, from memory, check before relying on it"
_SHARE_OF_T = {
    "close screw": 2 / 3,
    "medium screw": 1.0,
    "free screw": 1.5,
    "close nut": 2 / 3,
    "medium nut": 1.0,
    "normal nut": 1.5,
}
_BA_CLASSES = ("close screw", "normal screw", "nut")


def whitworth_effective_tolerance(major_in: float, tpi: float, engagement_in: float) -> float:
    """Tolerance T on effective diameter of a medium screw of Whitworth form, in inches.

        T = 0.002 D^(1/3) + 0.003 L^(1/2) + 0.005 P^(1/2)

    D = major diameter, L = length of engagement, P = pitch, all in inches. Close 2/3 T; free screw, normal nut 3/2 T.
    Source: BS 84:1956, from memory. Range: all above 0.
    Anchor by hand: 1/4 x 20, one diameter: 0.00126 + 0.00150 + 0.00112 = 0.00388 in.
    """
    for what, value in (
        ("major diameter", major_in),
        ("threads per inch", tpi),
        ("length of engagement", engagement_in),
    ):
        if not (math.isfinite(value) and value > 0):
            raise OutOfRange(what, got=value, allowed="above 0", source=_BS_84)
    return 0.002 * math.cbrt(major_in) + 0.003 * math.sqrt(engagement_in) + 0.005 / math.sqrt(tpi)


def whitworth_limits(thread: Thread, written: str) -> ThreadLimits:
    """Limits by close, medium or free screw and close, medium or normal nut; engagement of one diameter.

    Screw: effective - kT, major - (kT + 0.01 P^(1/2)), minor - (kT + 0.02 P^(1/2)), for close 0.013. Nut: effective
    + kT, minor + 0.2 P + 0.004 in at 26 per inch and finer, 0.005 at 25 to 22, 0.007 below. BS 84, from memory.
    """
    name = _class_name(thread, written, tuple(_SHARE_OF_T))
    root = math.sqrt(1 / thread.tpi)
    tolerance = (
        25.4
        * _SHARE_OF_T[name]
        * whitworth_effective_tolerance(thread.major_mm / 25.4, thread.tpi, thread.major_mm / 25.4)
    )
    if name.endswith("screw"):
        major = tolerance + 25.4 * 0.01 * root
        minor = tolerance + 25.4 * (0.013 if name == "close screw" else 0.02) * root
        return _screw(thread, name, (major, tolerance, minor), _BS_84)
    return _nut(thread, name, tolerance, 25.4 * (0.2 / thread.tpi + _nut_constant_in(thread.tpi)), _BS_84)


def ba_limits(thread: Thread, written: str) -> ThreadLimits:
    """Limits by close screw (0 to 10 BA), normal screw and nut (0 to 16 BA).

    Screw, mm: close 0.15 p on major, 0.08 p + 0.02 on effective, 0.16 p + 0.04 on minor; normal 0.20 p (11 BA and
    smaller 0.25 p), 0.10 p + 0.025, 0.20 p + 0.05. Nut: effective 0.12 p + 0.03, minor 0.375 p. An allowance for
    plating is not held. BS 93, from memory. Anchor by hand: 2 BA close screw, effective 0.0848 mm under 4.215.
    """
    name = _class_name(thread, written, _BA_CLASSES)
    number, p = int(thread.designation.split()[0]), thread.pitch_mm
    most = 10 if name == "close screw" else 16
    if number > most:
        raise OutOfRange(
            f"tolerance class {name}", got=thread.designation, allowed=f"0 to {most} BA", source=_BS_93,
            way_out="make it to its mate or a gauge",
        )  # fmt: skip
    if name == "nut":
        return _nut(thread, name, 0.12 * p + 0.03, 0.375 * p, _BS_93)
    if name == "close screw":
        return _screw(thread, name, (0.15 * p, 0.08 * p + 0.02, 0.16 * p + 0.04), _BS_93)
    return _screw(thread, name, ((0.20 if number <= 10 else 0.25) * p, 0.10 * p + 0.025, 0.20 * p + 0.05), _BS_93)


def _nut_constant_in(tpi: float) -> float:
    """Part of the nut's minor tolerance that does not grow with the pitch, by steps of pitch (BS 84)."""
    if tpi > 25.5:
        return 0.004
    return 0.005 if tpi > 21 else 0.007


def _screw(thread: Thread, name: str, tolerances: tuple[float, float, float], source: str) -> ThreadLimits:
    basic = (thread.major_mm, thread.effective_mm, thread.core_mm)
    major, effective, minor = (Band(size - width, size) for size, width in zip(basic, tolerances, strict=True))
    return ThreadLimits(thread, name, True, major, effective, minor, source)


def _nut(thread: Thread, name: str, effective: float, minor: float, source: str) -> ThreadLimits:
    return ThreadLimits(
        thread,
        name,
        False,
        Band(thread.major_mm, None),
        Band(thread.effective_mm, thread.effective_mm + effective),
        Band(thread.nut_minor_mm, thread.nut_minor_mm + minor),
        source,
    )


def _class_name(thread: Thread, written: str, known: tuple[str, ...]) -> str:
    name = " ".join(written.lower().split())
    if name not in known:
        raise Unknown(f"tolerance class of {thread.designation}", got=written, way_out=f"one of: {', '.join(known)}")
    return name
