"""Dimension lines along a view: chains below it, single ones below or beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from asmade.show.sketches.drawing import ARROW_PX, Drawing, Written
from asmade.show.sketches.flags import Flag

OFF_PX: Final = 2.0
PAST_PX: Final = 3.5
_FITS_PX: Final = 4.0
ARROWS_PX: Final = 2 * ARROW_PX + 4.0
_TAIL_PX: Final = 2 * ARROW_PX


@dataclass(frozen=True, slots=True)
class Span:
    """One dimension of a chain, from ``start`` to ``end`` along x; no text: the stretch is left out.

    ``middle``: where the middle of its text stands, where that is not the middle of the span.
    """

    start: float
    end: float
    text: Written | None
    middle: float | None = None


def height_of(texts: Sequence[Written | None]) -> float:
    """Room that the texts of a chain want over its line."""
    return max((text.height_px for text in texts if text is not None), default=0.0) + 5.0


def chain(drawing: Drawing, spans: Sequence[Span], edges: dict[float, float], level: float) -> list[Flag]:
    """Draw spans that follow one another on one line at ``level``; gives those too short for their text, as flags.

    ``edges``: from where on the view the extension line at a place starts.
    """
    said = [span for span in spans if span.text is not None]
    for at in sorted({place for span in said for place in (span.start, span.end)}):
        drawing.line(at, edges[at] - OFF_PX, at, level - PAST_PX, "thin")
    flags: list[Flag] = []
    for number, span in enumerate(said):
        before = said[number - 1] if number and said[number - 1].end == span.start else None
        after = said[number + 1] if number + 1 < len(said) and said[number + 1].start == span.end else None
        flags += _one(drawing, span, before, after, level)
    return flags


def _wide(span: Span | None) -> bool:
    return span is not None and span.end - span.start >= ARROWS_PX


def _one(drawing: Drawing, span: Span, before: Span | None, after: Span | None, level: float) -> list[Flag]:
    drawing.line(span.start, level, span.end, level, "thin")
    if _wide(span):
        drawing.arrow(span.start, level, -1.0, 0.0)
        drawing.arrow(span.end, level, 1.0, 0.0)
    else:
        for place, neighbour, way in ((span.start, before, 1.0), (span.end, after, -1.0)):
            if neighbour is None:
                drawing.line(place, level, place - way * _TAIL_PX, level, "thin")
                drawing.arrow(place, level, way, 0.0)
            elif not _wide(neighbour):
                drawing.dot(place, level)
    if span.text is None:
        return []
    if span.text.width_px + _FITS_PX <= span.end - span.start:
        at = (span.start + span.end) / 2 if span.middle is None else span.middle
        drawing.text(span.text, at, level + 2.5, "middle")
        return []
    middle, half = (span.start + span.end) / 2, (span.end - span.start) / 4
    return [Flag(middle, level, span.text, (middle + half, middle - half), dot=True)]


def upright(drawing: Drawing, low: float, high: float, edge: float, at: float, text: Written) -> None:
    """A dimension up and down at x = ``at``, its extension lines from ``edge``; the text stands beside it, level.

    Beyond the line as seen from the view; arrows from outside where they have no room inside.
    """
    out = 1.0 if at > edge else -1.0
    for y in (low, high):
        drawing.line(edge + out * OFF_PX, y, at + out * PAST_PX, y, "thin")
    if high - low >= ARROWS_PX:
        drawing.line(at, low, at, high, "thin")
        drawing.arrow(at, low, 0.0, -1.0)
        drawing.arrow(at, high, 0.0, 1.0)
    else:
        drawing.line(at, low - _TAIL_PX, at, high + _TAIL_PX, "thin")
        drawing.arrow(at, low, 0.0, 1.0)
        drawing.arrow(at, high, 0.0, -1.0)
    middle = (low + high) / 2 - text.height_px / 2
    if high - low < text.height_px + 2 * PAST_PX:  # it would stand between the extension lines' ends
        at += out * (PAST_PX - 1.0)
    drawing.text(text, at + out * 4.0, middle, "start" if out > 0 else "end")
