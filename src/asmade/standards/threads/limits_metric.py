"""Limits of ISO metric threads, ISO 965-1."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange, Unknown
from asmade.standards.tables import Row, load, number
from asmade.standards.threads.bands import Band, ThreadLimits

if TYPE_CHECKING:
    from asmade.standards.threads.sizes import Thread

_METRIC_CLASS = re.compile(r"(?P<flank>[3-9])(?P<flank_at>[efghGH])(?:(?P<crest>[3-9])(?P<crest_at>[efghGH]))?")
_ISO_965 = "ISO 965-1:1998, from memory, check before relying on it"


def metric_limits(thread: Thread, written: str) -> ThreadLimits:
    """Limits by a class such as 6g, 6H or 5g6g; see ``thread_limits``."""
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
