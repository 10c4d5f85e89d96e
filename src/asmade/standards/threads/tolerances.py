"""Limits of size of metric and Unified threads: screw and nut, by tolerance class."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange, Unknown
from asmade.standards.tables import Row, load, number

if TYPE_CHECKING:
    from asmade.standards.threads.sizes import Thread

_METRIC_CLASS = re.compile(r"(?P<flank>[3-9])(?P<flank_at>[efghGH])(?:(?P<crest>[3-9])(?P<crest_at>[efghGH]))?")
_INCH_CLASSES = {"1A": 1.5, "2A": 1.0, "3A": 0.75, "1B": 1.95, "2B": 1.3, "3B": 0.975}
_ISO_965 = "ISO 965-1:1998"
_B1_1 = "ASME B1.1-2003, tolerance formulas, from memory, check before relying on it"


@dataclass(frozen=True, slots=True)
class Band:
    """Limits of one diameter in mm; ``None`` where the standard sets no limit."""

    low_mm: float | None
    high_mm: float | None


@dataclass(frozen=True, slots=True)
class ThreadLimits:
    """Limits of size of a screw or nut of one tolerance class."""

    thread: Thread
    tolerance_class: str
    is_screw: bool
    major: Band
    effective: Band
    minor: Band  # of a screw: the root, at a rounding of p / 8 at least; of a nut: the hole to be tapped
    source: str


def thread_limits(thread: Thread, tolerance_class: str) -> ThreadLimits:
    """Return limits of major, effective and minor diameter of a screw or nut.

    Metric: 6g, 6H, 6h, 5g6g, 4h ... (ISO 965-1: the first figure and letter for the flanks, the second for the
    crests); small letters are screws, capitals nuts. Unified: 1A to 3A and 1B to 3B (ASME B1.1, length of engagement
    one diameter). BA and Whitworth tolerances are not held: raises ``Unknown`` and says so.

    Units: mm. Range: metric M1 to M90 and the pitches ISO 965-1 tabulates for the diameter. Anchors: M6 6g 5.794 to
    5.974, effective 5.212 to 5.324; 6H effective 5.350 to 5.500, minor 4.917 to 5.153 (ISO 965-2).
    """
    if thread.series == "M":
        return _metric(thread, tolerance_class)
    if thread.series in ("UNC", "UNF", "UNEF"):
        return _unified(thread, tolerance_class)
    raise Unknown(
        f"tolerance class of {thread.designation}",
        got=tolerance_class,
        way_out=f"limits are held for metric and Unified threads; make a {thread.series} thread to its mate or a gauge",
    )


def _metric(thread: Thread, written: str) -> ThreadLimits:
    found = _METRIC_CLASS.fullmatch(written.strip())
    if found is None:
        raise Unknown("tolerance class of a metric thread", got=written, way_out="write it as 6g, 6H or 5g6g")
    flank, at = int(found["flank"]), found["flank_at"]
    crest, crest_at = int(found["crest"] or flank), found["crest_at"] or at
    is_screw = at.islower()
    if is_screw != crest_at.islower():
        raise Unknown(
            "tolerance class of a metric thread",
            got=written,
            way_out="small letters (screw) and capitals (nut) do not mix",
        )
    crests = _crest_row(thread)
    if is_screw:
        return _metric_screw(thread, written, crests, (flank, at), (crest, crest_at))
    return _metric_nut(thread, written, crests, (flank, at), (crest, crest_at))


def _metric_screw(
    thread: Thread, written: str, crests: Row, flank: tuple[int, str], crest: tuple[int, str]
) -> ThreadLimits:
    """Upper limits lie es below basic, lower ones a tolerance lower; the root by the least rounding p / 8."""
    flank_es, crest_es = (_below_basic(thread, crests, letter) for letter in (flank[1], crest[1]))
    top = thread.major_mm - crest_es
    effective_top = thread.effective_mm - flank_es
    effective_bottom = effective_top - _flank_tolerance(thread, f"Td2_{flank[0]}")
    bottom = top - _grade(crests, f"Td{crest[0]}", thread)
    # ISO 965-1: least root rounding R = p / 8 makes the root deepest, d3 = d2 - H + 2 R
    root_bottom = effective_bottom - (thread.form.triangle - 0.25) * thread.pitch_mm
    return ThreadLimits(
        thread,
        written,
        True,
        Band(bottom, top),
        Band(effective_bottom, effective_top),
        Band(root_bottom, thread.core_mm - flank_es),
        _ISO_965,
    )


def _metric_nut(
    thread: Thread, written: str, crests: Row, flank: tuple[int, str], crest: tuple[int, str]
) -> ThreadLimits:
    """Lower limits lie EI above basic, upper ones a tolerance higher; the major has no upper limit."""
    flank_ei, crest_ei = (
        0.0 if letter == "H" else _below_basic(thread, crests, letter.lower()) for letter in (flank[1], crest[1])
    )
    effective = thread.effective_mm + flank_ei
    minor = thread.nut_minor_mm + crest_ei
    return ThreadLimits(
        thread,
        written,
        False,
        Band(thread.major_mm + flank_ei, None),
        Band(effective, effective + _flank_tolerance(thread, f"TD2_{flank[0]}")),
        Band(minor, minor + _grade(crests, f"TD1_{crest[0]}", thread)),
        _ISO_965,
    )


def _crest_row(thread: Thread) -> Row:
    for row in load("metric_thread_crests").rows:
        if math.isclose(number(row["pitch"]), thread.pitch_mm):
            return row
    raise OutOfRange(
        f"pitch of {thread.designation}",
        got=f"{thread.pitch_mm:g} mm",
        allowed="the pitches of ISO 965-1",
        source=_ISO_965,
    )


def _below_basic(thread: Thread, crests: Row, letter: str) -> float:
    return 0.0 if letter == "h" else _grade(crests, letter, thread)


def _grade(row: Row, column: str, thread: Thread) -> float:
    value = row.get(column)
    if value is None:
        raise OutOfRange(
            f"tolerance of {thread.designation}",
            got=column.replace("_", ", grade "),
            allowed="the grades ISO 965-1 gives for this pitch",
            source=_ISO_965,
            way_out="6g and 6H are usual; below 0.35 mm pitch 5h and 5H or 4H",
        )
    return 0.001 * number(value)


def _flank_tolerance(thread: Thread, column: str) -> float:
    for row in load("metric_thread_flanks").rows:
        over, upto = number(row["over"]), number(row["upto"])
        if over < thread.major_mm <= upto and math.isclose(number(row["pitch"]), thread.pitch_mm):
            return _grade(row, column, thread)
    raise OutOfRange(
        f"limits of {thread.designation}",
        got=f"{thread.major_mm:g} mm with pitch {thread.pitch_mm:g} mm",
        allowed="M1 to M90 with the pitches ISO 965-1 tabulates for the diameter",
        source=_ISO_965,
        way_out="make it to its mate or to a gauge",
    )


def unified_effective_tolerance(major_in: float, tpi: float, engagement_in: float) -> float:
    """Tolerance on effective diameter of class 2A in inches.

        Td2 = 0.0015 D^(1/3) + 0.0015 LE^(1/2) + 0.015 P^(2/3)

    D = major diameter, LE = length of engagement, P = pitch, all in inches. The other classes are multiples: 1A 1.5,
    3A 0.75, 1B 1.95, 2B 1.3, 3B 0.975. Source: ASME B1.1. Anchor: 1/4-20 UNC 0.0037 in.
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


def _unified(thread: Thread, written: str) -> ThreadLimits:
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
