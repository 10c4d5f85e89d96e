"""How long a bonded joint takes, from the product's data sheet as the builder typed it in: nothing is assumed.

Fields of ``[shop.adhesive.NAME]`` that are read, all optional: ``working_minutes`` (until it grips),
``handling_hours``, ``machining_hours``, ``full_cure_hours``, ``reference_c`` (for which these hold), ``gap_slows`` (a
curve: pairs of gap on diameter and how many times longer it takes). What is not typed in is *not known*.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from asmade.book.model import Adhesive
from asmade.measure.errors import OutOfRange, Refused
from asmade.measure.lengths import read_length

What = Literal["worked", "handled", "machined", "loaded"]
SHEET: Final[tuple[tuple[What, str, float], ...]] = (
    ("worked", "working_minutes", 1 / 60),
    ("handled", "handling_hours", 1.0),
    ("machined", "machining_hours", 1.0),
    ("loaded", "full_cure_hours", 1.0),
)
WORDS: Final = {
    "worked": "can be moved until it grips",
    "handled": "may be handled after",
    "machined": "may be machined after",
    "loaded": "may be loaded after",
}
ASK: Final = "not known: see the product's data sheet"


@dataclass(frozen=True, slots=True)
class Time:
    """One time of a joint: hours from joining (None = not known) and what that rests on."""

    what: What
    hours: float | None
    words: str


def cure_times(
    adhesive: Adhesive | None, *, at_c: float | None = None, gap_mm: float | None = None
) -> tuple[Time, ...]:
    """Times of a joint with a product, at a temperature and a gap on diameter where these are known.

        t = t_sheet * 2.5^((t_ref - t)/10) * factor of the gap's curve

    Warmth shortens the working time, but neither cold nor a wide gap is counted on to lengthen it. Where the
    temperature is known but ``reference_c`` is not, or the gap lies off the curve, the time is not known.

    Source: the product's data sheet, as typed in; temperature by `joints.bonded.cure_time_factor`.
    Range: 5 to 40 C; gaps within the typed curve.
    Errors: Refused for a field that is no number above 0.
    Anchor: 24 h at 22 C becomes 72 h at 10 C (TM 5-3820-256-24-5).
    """
    if adhesive is None:
        return tuple(Time(what, None, ASK) for what, _, _ in SHEET)
    return tuple(_times(adhesive, at_c, gap_mm))


def _times(adhesive: Adhesive, at_c: float | None, gap_mm: float | None) -> Iterator[Time]:
    reference = _number(adhesive, "reference_c")
    for what, field, unit in SHEET:
        said = _number(adhesive, field)
        if said is None:
            yield Time(what, None, f"{ASK} ({field} is not entered)")
            continue
        hours, words = (
            said * unit,
            [f"{said:g} {'min' if what == 'worked' else 'h'} by the data sheet of {adhesive.name}"],
        )
        factor, why = _warmth(at_c, reference)
        if factor is None:
            yield Time(what, None, f"not known {why}; {words[0]}")
            continue
        words.append(why)
        if what == "worked":
            if factor > 1:
                words[-1] = f"{why}: not counted on to lengthen it"
            factor = min(1.0, factor)
        else:
            slower, said_of_gap = _slower(adhesive, gap_mm)
            if slower is None:
                yield Time(what, None, f"not known: {said_of_gap}; {words[0]}")
                continue
            factor *= slower
            words.append(said_of_gap)
        yield Time(what, hours * factor, "; ".join(words))


def _warmth(at_c: float | None, reference: float | None) -> tuple[float | None, str]:
    from asmade.reckon.joints.bonded import cure_time_factor  # noqa: PLC0415  # reads tables, wanted only here

    if at_c is None:
        return 1.0, "at the data sheet's own temperature: colder takes longer"
    if reference is None:
        return None, f"at {at_c:g} C: the temperature of the data sheet's times is not entered (reference_c)"
    try:
        factor = cure_time_factor(at_c, reference)
    except OutOfRange as outside:
        return None, f"at {at_c:g} C: {outside.message}"
    return factor, f"at {at_c:g} C, {factor:.2f} times that at {reference:g} C"


def _slower(adhesive: Adhesive, gap_mm: float | None) -> tuple[float | None, str]:
    """How many times longer it takes at a gap, by the curve typed in; 1 with a word of warning where there is none."""
    curve = adhesive.fields.get("gap_slows")
    where = f'shop.adhesive."{adhesive.name}".gap_slows'
    if curve is None:
        return 1.0, "a wide gap takes longer, and so do stainless steel, plating and other passive metals"
    if not isinstance(curve, list | tuple) or len(curve) < 2:
        raise Refused(where, got=curve, reason="it is a curve of two points or more",
                      way_out='write gap_slows = [["0.05 mm", 1], ["0.10 mm", 2]]')  # fmt: skip
    points = [_point(each, where) for each in curve]
    if any(b[0] <= a[0] for a, b in pairwise(points)):
        raise Refused(where, got=curve, reason="its gaps do not rise", way_out="order the points by their gap")
    if gap_mm is None:
        return None, "the gap has not been measured"
    for (g0, f0), (g1, f1) in pairwise(points):
        if g0 <= gap_mm <= g1:
            factor = f0 + (f1 - f0) * (gap_mm - g0) / (g1 - g0)
            return factor, f"{factor:.2f} times longer at a gap of {gap_mm:.3f} mm, by the data sheet's curve"
    return None, f"a gap of {gap_mm:.3f} mm lies off the data sheet's curve ({points[0][0]:g} to {points[-1][0]:g} mm)"


def _point(point: object, where: str) -> tuple[float, float]:
    if not isinstance(point, list | tuple) or len(point) != 2:
        raise Refused(where, got=point, reason="a point is a gap on diameter and a factor", way_out='["0.10 mm", 2]')
    gap, factor = point
    if isinstance(factor, bool) or not isinstance(factor, int | float) or not (math.isfinite(factor) and factor > 0):
        raise Refused(where, got=factor, reason="the factor is no number above 0")
    return float(read_length(str(gap), unit="mm", thing=where).mm), float(factor)


def _number(adhesive: Adhesive, field: str) -> float | None:
    value = adhesive.fields.get(field)
    if value is None or value == "":
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not (math.isfinite(value) and value > 0):
        raise Refused(f'shop.adhesive."{adhesive.name}".{field}', got=value, reason="it is no number above 0",
                      way_out=f"write {field} = 24, or leave it out until the data sheet is at hand")  # fmt: skip
    return float(value)
