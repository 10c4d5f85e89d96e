"""Dimensions of a face drawn: level ones in rows under it, upright ones in columns to its left, short ones nearest.

Extension lines of the longer ones run through the rows and columns of the shorter: no text stands in their way.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from asmade.show.sketches.chains import ARROWS_PX, OFF_PX, PAST_PX, Span, chain, height_of
from asmade.show.sketches.drawing import Drawing, Written
from asmade.show.sketches.flags import Flag, raise_flags

_COLUMN_PX: Final = 9.0
_CLEAR_PX: Final = 3.0


@dataclass(frozen=True, slots=True)
class Measured:
    """A dimension from (x1, y1) to (x2, y2), px: level from left to right, or upright from below."""

    x1: float
    y1: float
    x2: float
    y2: float
    text: Written

    @property
    def fits(self) -> bool:
        """Whether its text has room over its level line."""
        return self.text.width_px + 4.0 <= self.x2 - self.x1


def rows_below(
    drawing: Drawing,
    spans: Sequence[Measured],
    *,
    base: float,
    left: float,
    right: float,
    lines: Sequence[float] = (),
) -> float:
    """Draw level dimensions under a face from ``base`` down; gives how low they reach.

    ``lines``: where extension lines of what comes further down run through.
    """
    low = base
    waiting = sorted(spans, key=lambda each: each.x2 - each.x1)
    while waiting:
        row: list[Measured] = []
        rest: list[Measured] = []
        for each in waiting:
            clear = all(each.x1 >= other.x2 - 1e-6 or each.x2 <= other.x1 + 1e-6 for other in row)
            together = not row or (row[0].fits and each.fits)
            (row if clear and together else rest).append(each)
        waiting = rest
        row.sort(key=lambda each: each.x1)
        ends = [*lines, *(x for each in waiting for x in (each.x1, each.x2))]
        level = low - 6.0 - height_of([each.text for each in row])
        edges: dict[float, float] = {}
        for each in row:
            for x, y in ((each.x1, each.y1), (each.x2, each.y2)):
                edges[x] = max(edges.get(x, y), y)
        middles = [clear_middle(each.x1, each.x2, each.text.width_px, ends) for each in row]
        chained = [Span(each.x1, each.x2, each.text, middle) for each, middle in zip(row, middles, strict=True)]
        for flag in chain(drawing, chained, edges, level):
            span = next(each for each in row if each.text is flag.text)
            level = min(level, _beside(drawing, flag, span, ends, level, (left, right)))
        low = level - 2.0
    return low


def _beside(
    drawing: Drawing, flag: Flag, span: Measured, ends: Sequence[float], level: float, room: tuple[float, float]
) -> float:
    """Set a text beside its arrows, on the nearer side where no extension line of another runs through it."""
    wide = flag.text.width_px + 2 * _CLEAR_PX
    places: list[tuple[float, float, float]] = []
    for way, start in ((1.0, span.x2 + ARROWS_PX), (-1.0, span.x1 - ARROWS_PX)):
        for tip in (start, *(end + way * (_CLEAR_PX + 1.0) for end in ends)):
            low, high = (tip, tip + wide) if way > 0 else (tip - wide, tip)
            inside = room[0] <= low and high <= room[1] and (tip - start) * way >= 0
            if inside and not any(low - _CLEAR_PX < end < high + _CLEAR_PX for end in ends):
                places.append(((tip - start) * way, way, tip))
    if not places:
        return raise_flags(drawing, [flag], left=room[0], right=room[1], base=level, up=False)
    _, way, tip = min(places)
    drawing.line(span.x2 if way > 0 else span.x1, level, tip, level, "thin")
    low = level - flag.text.height_px / 2
    drawing.text(flag.text, tip + way * _CLEAR_PX, low, "start" if way > 0 else "end")
    return low


def clear_middle(start: float, end: float, width: float, lines: Sequence[float]) -> float | None:
    """Where between start and end a text of that width stands clear of lines across, nearest the middle; else None."""
    half, middle = width / 2 + 2.0, (start + end) / 2
    places = [middle, *(line + way * (half + 1.0) for line in lines for way in (1.0, -1.0))]
    clear = [
        place
        for place in places
        if start + half <= place <= end - half and not any(abs(line - place) < half for line in lines)
    ]
    return min(clear, key=lambda place: abs(place - middle), default=None)


def columns_width(lengths: Sequence[tuple[float, Written]]) -> float:
    """Room that upright dimensions want at most beside a face: (length in px, text) each."""
    return sum(_COLUMN_PX + _room(text, length) for length, text in lengths) + 6.0


def largest_scale(width_of: Callable[[float], float], room: float, most: float) -> float:
    """The largest scale up to ``most``, in steps of 3 per cent, at which a face with its columns fits into ``room``.

    Texts that no longer fit along their lines want more room as a face grows smaller: what fits is tried, not solved.
    """
    scale = most
    while width_of(scale) > room and scale > most * 1e-4:
        scale *= 0.97
    return scale


def _room(text: Written, length: float) -> float:
    return text.height_px + 3.0 if text.width_px + 6.0 <= length else text.width_px + 8.0


def columns_left(drawing: Drawing, spans: Sequence[Measured], base: float) -> float:
    """Draw upright dimensions to the left of a face from ``base`` on; gives how far they reach."""
    at = base
    waiting = sorted(spans, key=lambda each: each.y2 - each.y1)
    while waiting:
        span = waiting.pop(0)
        crossing = [y for each in waiting for y in (each.y1, each.y2)]
        line, text = at - _COLUMN_PX, span.text
        for x, y in ((span.x1, span.y1), (span.x2, span.y2)):
            drawing.line(x - OFF_PX, y, line - PAST_PX, y, "thin")
        _upright_line(drawing, line, span.y1, span.y2)
        middle = clear_middle(span.y1, span.y2, text.width_px, crossing)
        if middle is not None:
            drawing.upwards(text, line - 2.5, middle)
            at = line - text.height_px - 3.0
        else:
            middle = _clear_height(span, crossing)
            drawing.line(line, min(span.y1, middle), line, max(span.y2, middle), "thin")
            drawing.text(text, line - PAST_PX - 2.0, middle - text.height_px / 2, "end")
            at = line - text.width_px - 8.0
    return at


def _upright_line(drawing: Drawing, line: float, low: float, high: float) -> None:
    inside = high - low >= ARROWS_PX
    over = 0.0 if inside else ARROWS_PX
    drawing.line(line, low - over, line, high + over, "thin")
    drawing.arrow(line, low, 0.0, -1.0 if inside else 1.0)
    drawing.arrow(line, high, 0.0, 1.0 if inside else -1.0)


def _clear_height(span: Measured, crossing: Sequence[float]) -> float:
    """At what height a level text beside an upright line is clear of every line that passes, nearest its middle."""
    lines = [*crossing, span.y1, span.y2]
    half, middle = span.text.height_px / 2 + 2.0, (span.y1 + span.y2) / 2
    places = [middle, *(line + way * (half + 1.0) for line in lines for way in (1.0, -1.0))]
    clear = [place for place in places if not any(abs(line - place) < half for line in lines)]
    return min(clear, key=lambda place: abs(place - middle))
