"""A drawing in px: strokes whose places are px at the width shown, y up, and the texts of dimensions with their marks.

Everything about a sketch but its outlines has its size in px (text, arrows, gaps), so the whole is set out in px; the
one scale of the metal comes in where outlines are made. Texts are measured when they are set.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from asmade.reckon.shapes.paths import Path, arc_of
from asmade.show.strokes import Arc, Circle, Hatch, Label, Line, Picture, Polyline, Stroke, shifted, width_of
from asmade.show.strokes.kinds import Look, Point
from asmade.show.strokes.layout import label_bounds, resolved, segments_of
from asmade.verbs.sketch import Figure

Mark: TypeAlias = Literal["", "made", "drawn"]
ARROW_PX: Final = 7.0
ARROW_SLIM: Final = 0.30
_LEAD_PX: Final = 1.0
_FRAME_PX: Final = 3.0
_RING_PX: Final = 2.6
_RING_ROOM_PX: Final = 8.0
MARGIN_PX: Final = 6.0


@dataclass(frozen=True, slots=True)
class Written:
    """The text of a dimension: one line or two, framed if it was measured, with a ring before it if only drawn.

    ``head`` stands before the first line (a diameter sign, a thread's call), ``tail`` after the last.
    """

    lines: tuple[str, ...]
    size_px: float
    mark: Mark = ""
    plain: bool = False

    @property
    def width_px(self) -> float:
        """Width with frame or ring."""
        text = max(width_of(line, self.size_px, figure=not self.plain) for line in self.lines)
        return text + {"": 0.0, "made": 2 * _FRAME_PX, "drawn": _RING_ROOM_PX}[self.mark]

    @property
    def height_px(self) -> float:
        """Height with its frame."""
        return len(self.lines) * (self.size_px + _LEAD_PX) - _LEAD_PX + (2.0 if self.mark == "made" else 0.0)


def written(figure: Figure, size_px: float, *, head: str = "", tail: str = "") -> Written:
    """The figure of a dimension with a sign before it and words after; both limits stand under one another."""
    lines = [*figure.lines]
    pad = " " * len(head)
    lines = [(head if at == 0 else pad) + line for at, line in enumerate(lines)]
    lines[-1] += tail
    mark: Mark = "made" if figure.made else "drawn" if figure.drawn_only else ""
    return Written(tuple(lines), size_px, mark)


class Drawing:
    """Strokes gathered for one view or a whole sketch, px, y up."""

    def __init__(self) -> None:
        """Start empty."""
        self.strokes: list[Stroke] = []

    def add(self, *strokes: Stroke) -> None:
        """Add strokes as they are."""
        self.strokes += strokes

    def line(self, x1: float, y1: float, x2: float, y2: float, look: Look = "outline") -> None:
        """A straight line; one of no length is left out."""
        if math.hypot(x2 - x1, y2 - y1) > 1e-6:
            self.strokes.append(Line(x1, y1, x2, y2, look))

    def path(self, points: Sequence[Point], look: Look = "outline", *, closed: bool = False) -> None:
        """Straight lines from corner to corner."""
        if len(points) > 1:
            self.strokes.append(Polyline(tuple(points), look, closed=closed))

    def hatch(self, points: Sequence[Point], spacing_px: float = 5.0) -> None:
        """Section lining of an outline."""
        if len(points) > 2:
            self.strokes.append(Hatch(tuple(points), spacing_px))

    def arrow(self, x: float, y: float, dx: float, dy: float, look: Look = "thin") -> None:
        """An arrowhead with its tip at (x, y), pointing along (dx, dy), a unit vector."""
        half = ARROW_SLIM / 2 * ARROW_PX
        back = (x - dx * ARROW_PX, y - dy * ARROW_PX)
        corners = ((x, y), (back[0] - half * dy, back[1] + half * dx), (back[0] + half * dy, back[1] - half * dx))
        self.strokes.append(Polyline(corners, look, closed=True, fill="solid"))

    def dot(self, x: float, y: float) -> None:
        """A dot, where two short dimensions of a chain meet and arrows have no room."""
        self.strokes.append(Circle(x, y, 1.6, "thin", "solid"))

    def cross(self, x: float, y: float, reach: float) -> None:
        """Centre lines of a hole, a little past its edge."""
        over = reach + 5.0
        self.strokes.append(Line(x - over, y, x + over, y, "centre"))
        self.strokes.append(Line(x, y - over, x, y + over, "centre"))

    def text(self, what: Written, x: float, y: float, anchor: Literal["start", "middle", "end"] = "start") -> None:
        """Set a text with the lower edge of its box at ``y`` and its left edge, middle or right edge at ``x``."""
        wide, tall = what.width_px, what.height_px
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        inner = left + {"": 0.0, "made": _FRAME_PX, "drawn": _RING_ROOM_PX}[what.mark]
        foot = y + (1.0 if what.mark == "made" else 0.0)
        for at, line in enumerate(reversed(what.lines)):
            place = foot + at * (what.size_px + _LEAD_PX)
            shift = (len(line) - len(line.lstrip())) * width_of(" ", what.size_px, figure=not what.plain)
            self.strokes.append(
                Label(line.strip(), inner + shift, place, size_px=what.size_px, anchor="start", stand="above",
                      figure=not what.plain)
            )  # fmt: skip
        if what.mark == "made":
            self.strokes.append(
                Polyline(((left, y), (left + wide, y), (left + wide, y + tall), (left, y + tall)), "thin", closed=True)
            )
        elif what.mark == "drawn":
            high = y + (len(what.lines) - 1) * (what.size_px + _LEAD_PX) + 0.5 * what.size_px
            self.strokes.append(Circle(left + _RING_PX + 0.6, high, _RING_PX, "thin"))

    def upwards(self, what: Written, x: float, y: float) -> None:
        """Set a text written upwards, the right edge of its box at ``x``, its middle at ``y``."""
        wide, tall = what.width_px, what.height_px
        low = y - wide / 2
        inner = low + {"": 0.0, "made": _FRAME_PX, "drawn": _RING_ROOM_PX}[what.mark]
        foot = x - (1.0 if what.mark == "made" else 0.0)
        for at, line in enumerate(reversed(what.lines)):
            shift = (len(line) - len(line.lstrip())) * width_of(" ", what.size_px, figure=not what.plain)
            self.strokes.append(
                Label(line.strip(), foot - at * (what.size_px + _LEAD_PX), inner + shift, size_px=what.size_px,
                      anchor="start", stand="above", figure=not what.plain, turned=True)
            )  # fmt: skip
        if what.mark == "made":
            corners = ((x - tall, low), (x, low), (x, low + wide), (x - tall, low + wide))
            self.strokes.append(Polyline(corners, "thin", closed=True))
        elif what.mark == "drawn":
            across = x - (len(what.lines) - 1) * (what.size_px + _LEAD_PX) - 0.5 * what.size_px
            self.strokes.append(Circle(across, low + _RING_PX + 0.6, _RING_PX, "thin"))

    def outline(self, path: Path, place: Callable[[float, float], Point], scale: float) -> None:
        """A closed path of straights and arcs in mm; ``place`` gives the px of a place, ``scale`` px per mm."""
        for at, one in enumerate(path):
            two = path[(at + 1) % len(path)]
            if not one.bulge:
                self.line(*place(one.x, one.y), *place(two.x, two.y))
                continue
            x, y, radius, start, turn = arc_of(one, two)
            low = start if turn > 0 else start + turn
            self.strokes.append(Arc(*place(x, y), radius * scale, low, low + abs(turn), "outline"))

    def take(self, other: Drawing, dx: float = 0.0, dy: float = 0.0) -> None:
        """Add another drawing, moved."""
        self.strokes += shifted(other.strokes, dx, dy)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y."""
        return bounds(resolved(self.strokes, 1.0))

    def picture(self, width_px: float) -> Picture:
        """The picture, its left edge at 0 and its right one at ``width_px``, as high as it comes out."""
        laid = tuple(resolved(self.strokes, 1.0))
        _, low, _, high = bounds(laid)
        return Picture(laid, 1.0, 0.0, high + MARGIN_PX, width_px, high - low + 2 * MARGIN_PX)


def bounds(strokes: Iterable[Stroke]) -> tuple[float, float, float, float]:
    """Box of plain strokes in px."""
    points = list(_corners(strokes))
    if not points:
        return 0.0, 0.0, 0.0, 0.0
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _corners(strokes: Iterable[Stroke]) -> Iterator[Point]:
    for stroke in strokes:
        if isinstance(stroke, Label):
            x0, y0, x1, y1 = label_bounds(stroke, 1.0)
            yield x0, y0
            yield x1, y1
        else:
            for one, two in segments_of(stroke):  # type: ignore[arg-type]  # resolved: nothing but plain strokes
                yield one
                yield two
