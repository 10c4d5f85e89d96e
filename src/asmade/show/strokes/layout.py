"""From strokes to a picture of a width: mm and px brought together, text boxes measured, clashes named."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from asmade.measure.errors import OutOfRange, Refused
from asmade.show.strokes.kinds import Arc, Circle, Dimension, Hatch, Label, Leader, Line, Point, Polyline, Stand, Stroke
from asmade.show.strokes.text_width import ASCENT, DESCENT, width_of

_ARROW_PX = 8.0
_ARROW_SLIM = 0.32
_DOT_PX = 1.6
_STEPS = 40
_NEARLY = 0.02
_ROUND_STEPS = 48
_MAY_BE_COVERED = ("centre", "soft", "thin", "hidden")
"""Looks of strokes that a label on a white ground may stand on."""


@dataclass(frozen=True, slots=True)
class Box:
    """The box of a label, in px from the picture's upper left corner, y down."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Box, by_px: float = 0.5) -> bool:
        """Whether two boxes overlap by more than ``by_px`` both ways."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > by_px
            and min(self.bottom, other.bottom) - max(self.top, other.top) > by_px
        )


@dataclass(frozen=True, slots=True)
class Picture:
    """Strokes laid out for a width: only lines, polylines, circles, arcs and labels, places in mm.

    scale: px per mm. left, top: the mm of the upper left corner. width_px, height_px: of the whole.
    """

    strokes: tuple[Line | Polyline | Circle | Arc | Label, ...]
    scale: float
    left: float
    top: float
    width_px: float
    height_px: float

    @property
    def boxes(self) -> tuple[Box, ...]:
        """The box of every label."""
        return tuple(self._box(stroke) for stroke in self.strokes if isinstance(stroke, Label))

    def _box(self, label: Label) -> Box:
        x0, y0, x1, y1 = label_bounds(label, self.scale)
        return Box(label.text, *self._px(x0, y1), *self._px(x1, y0))

    def _px(self, x: float, y: float) -> Point:
        return (x - self.left) * self.scale, (self.top - y) * self.scale

    def clashes(self) -> tuple[str, ...]:
        """Labels that overlap one another, run over the edge, or stand on a line that they may not cross, in words."""
        found = []
        labels = [
            (place, label, self._box(label)) for place, label in enumerate(self.strokes) if isinstance(label, Label)
        ]
        for number, (_, _, box) in enumerate(labels):
            for _, _, other in labels[number + 1 :]:
                if box.overlaps(other):
                    found.append(f"{box.text!r} overlaps {other.text!r}")
            if (
                box.left < -0.5
                or box.top < -0.5
                or box.right > self.width_px + 0.5
                or box.bottom > self.height_px + 0.5
            ):
                found.append(f"{box.text!r} runs over the edge")
        for place, stroke in enumerate(self.strokes):
            if isinstance(stroke, Label):
                continue
            segments = [(*self._px(*a), *self._px(*b)) for a, b in segments_of(stroke)]
            for at, label, box in labels:
                covered = label.paper and at > place and stroke.look in _MAY_BE_COVERED
                if covered or stroke.look in label.over:
                    continue
                if any(_crosses(box, segment) for segment in segments):
                    found.append(f"{label.text!r} stands on a line ({stroke.look})")
        return tuple(found)


def lay_out(
    strokes: Iterable[Stroke], width_px: float, *, margin_px: float = 6.0, most_px_per_mm: float = math.inf
) -> Picture:
    """Lay strokes out so that all of them, text and arrows too, fill ``width_px``.

    The scale is the greatest at which everything fits: found by halving, since text does not grow with it.
    Raises ``OutOfRange`` where the text alone is wider than the picture, with the way out.
    """
    drawn = tuple(strokes)
    if not drawn:
        raise Refused("picture", got="no strokes", reason="there is nothing to draw")
    if not (math.isfinite(width_px) and width_px > 2 * margin_px):
        raise OutOfRange("width of a picture", got=width_px, allowed=f"more than {2 * margin_px:g} px")
    room = width_px - 2 * margin_px
    bare = _bounds(drawn, None)
    span = max(bare[2] - bare[0], room / 1e6)
    scale = min(room / span, most_px_per_mm)
    if _width(drawn, scale) > room:
        scale = _greatest_scale(drawn, room, scale)
    laid = tuple(resolved(drawn, scale))
    x0, y0, x1, y1 = _bounds(laid, scale)
    spare = (room - (x1 - x0) * scale) / 2
    return Picture(
        laid, scale, x0 - (margin_px + spare) / scale, y1 + margin_px / scale, width_px,
        (y1 - y0) * scale + 2 * margin_px,
    )  # fmt: skip


def _greatest_scale(strokes: Sequence[Stroke], room: float, most: float) -> float:
    """Greatest scale up to ``most`` at which all fits into ``room`` px.

    The width is convex in the scale: text that overhangs at both ends makes it wide again where the scale is small.
    """
    low, high = 0.0, most
    for _ in range(_STEPS):  # the scale of least width, by thirds
        one, two = low + (high - low) / 3, high - (high - low) / 3
        low, high = (low, two) if _width(strokes, one) <= _width(strokes, two) else (one, high)
    fits, too_much = high, most
    least = _width(strokes, fits)
    if least > room:
        raise OutOfRange(
            "width of a picture",
            got=f"{room:.0f} px inside its margins",
            allowed=f"{least:.0f} px or more",
            way_out="shorten its labels, or draw it for a wider page",
        )
    for _ in range(_STEPS):
        scale = (fits + too_much) / 2
        fits, too_much = (fits, scale) if _width(strokes, scale) > room else (scale, too_much)
    return fits


def _width(strokes: Sequence[Stroke], scale: float) -> float:
    x0, _, x1, _ = _bounds(tuple(resolved(strokes, scale)), scale)
    return (x1 - x0) * scale


def _bounds(strokes: Sequence[Stroke], scale: float | None) -> tuple[float, float, float, float]:
    """Least and greatest x and y in mm; without a scale, of what has a size in mm alone."""
    xs, ys = [], []
    for stroke in strokes:
        match stroke:
            case Label(x=x, y=y):
                x0, y0, x1, y1 = (x, y, x, y) if scale is None else label_bounds(stroke, scale)
            case Line(x1=a, y1=b, x2=c, y2=d) | Dimension(x1=a, y1=b, x2=c, y2=d) | Leader(x1=a, y1=b, x2=c, y2=d):
                x0, y0, x1, y1 = min(a, c), min(b, d), max(a, c), max(b, d)
            case Circle(x=x, y=y, radius=r):
                x0, y0, x1, y1 = x - r, y - r, x + r, y + r
            case Arc():
                points = _arc_points(stroke)
                x0, y0, x1, y1 = *map(min, zip(*points, strict=True)), *map(max, zip(*points, strict=True))
            case Polyline(points=points) | Hatch(points=points):
                x0, y0, x1, y1 = *map(min, zip(*points, strict=True)), *map(max, zip(*points, strict=True))
        xs += [x0, x1]
        ys += [y0, y1]
    return min(xs), min(ys), max(xs), max(ys)


def label_bounds(label: Label, scale: float) -> tuple[float, float, float, float]:
    """Box of a label in mm, y up: least x, least y, greatest x, greatest y."""
    long = width_of(label.text, label.size_px, figure=label.figure, strong=label.strong) / scale
    tall = (ASCENT + DESCENT) * label.size_px / scale
    along = {"start": 0.0, "middle": -long / 2, "end": -long}[label.anchor]
    up = {"middle": -tall / 2, "above": 0.0, "below": -tall}[label.stand]
    x, y = label.x + label.dx_px / scale, label.y + label.dy_px / scale
    if label.turned:  # written upwards: along runs up, over the line is to the left
        return x - up - tall, y + along, x - up, y + along + long
    return x + along, y + up, x + along + long, y + up + tall


def resolved(strokes: Iterable[Stroke], scale: float) -> Iterator[Line | Polyline | Circle | Arc | Label]:
    """Dimensions, leaders and hatches as the plain strokes that they are drawn with, at ``scale`` px per mm."""
    for stroke in strokes:
        match stroke:
            case Dimension():
                yield from _dimension(stroke, scale)
            case Leader():
                yield from _leader(stroke, scale)
            case Hatch():
                yield from _hatch(stroke, scale)
            case _:
                yield stroke


def _dimension(d: Dimension, scale: float) -> Iterator[Line | Polyline | Label]:
    """Extension lines a little off the points and past the line; arrows inside, or outside where they do not fit."""
    dx, dy = d.x2 - d.x1, d.y2 - d.y1
    if d.along == "x":
        ux, uy = math.copysign(1.0, dx), 0.0
    elif d.along == "y":
        ux, uy = 0.0, math.copysign(1.0, dy)
    else:
        straight = math.hypot(dx, dy)
        ux, uy = dx / straight, dy / straight
    nx, ny = -uy, ux
    side = math.copysign(1.0, d.away_px)
    base = max if side > 0 else min
    off = base(d.x1 * nx + d.y1 * ny, d.x2 * nx + d.y2 * ny) + d.away_px / scale

    def on_line(x: float, y: float) -> Point:
        along = x * ux + y * uy
        return along * ux + off * nx, along * uy + off * ny

    a, b = on_line(d.x1, d.y1), on_line(d.x2, d.y2)
    for (x, y), (px, py) in (((d.x1, d.y1), a), ((d.x2, d.y2), b)):
        start, end = 2.0 * side / scale, 4.0 * side / scale
        yield Line(x + start * nx, y + start * ny, px + end * nx, py + end * ny, d.look)
    span_px = math.hypot(b[0] - a[0], b[1] - a[1]) * scale
    inside = span_px >= 2 * _ARROW_PX + 4
    reach = _ARROW_PX / scale * (1 if inside else -1)
    tail = 0.0 if inside else 2 * _ARROW_PX / scale
    yield Line(a[0] - tail * ux, a[1] - tail * uy, b[0] + tail * ux, b[1] + tail * uy, d.look)
    yield _arrow(a, reach * ux, reach * uy, d)
    yield _arrow(b, -reach * ux, -reach * uy, d)
    yield _figure_of(d, (a, b), (ux, uy), span_px, beyond_px=4.0 + (0.0 if inside else 2 * _ARROW_PX))


def _figure_of(d: Dimension, ends: tuple[Point, Point], way: Point, span_px: float, *, beyond_px: float) -> Label:
    """The figure over the middle of the line if it fits there, else beyond its right or upper end.

    Written along a level or upright line; beside a slanting one it stays level, clear of the line.
    """
    (ux, uy), side = way, math.copysign(1.0, d.away_px)
    level, upright = abs(uy) < _NEARLY, abs(ux) < _NEARLY
    long, tall = width_of(d.text, d.size_px, figure=True), (ASCENT + DESCENT) * d.size_px
    along = long if level or upright else long * abs(ux) + tall * abs(uy)
    square = tall if level or upright else long * abs(uy) + tall * abs(ux)
    if along + 4 <= span_px:
        x, y = (ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2
        off = square / 2 + 3.0
        if level:
            dx, dy = 0.0, off
        elif upright:
            dx, dy = -off, 0.0
        else:
            dx, dy = -uy * side * off, ux * side * off
    else:
        end = max(ends) if not upright else max(ends, key=lambda point: point[1])
        out = 1.0 if end == ends[1] else -1.0
        x, y = end
        dx, dy = out * ux * (beyond_px + along / 2), out * uy * (beyond_px + along / 2)
    return Label(d.text, x, y, size_px=d.size_px, figure=True, strong=d.strong, turned=upright, dx_px=dx, dy_px=dy)


def _arrow(tip: Point, dx: float, dy: float, d: Dimension) -> Polyline:
    half = _ARROW_SLIM / 2
    return Polyline(
        (tip, (tip[0] + dx - half * dy, tip[1] + dy + half * dx), (tip[0] + dx + half * dy, tip[1] + dy - half * dx)),
        d.look, closed=True, fill="solid",
    )  # fmt: skip


def _leader(note: Leader, scale: float) -> Iterator[Line | Circle | Label]:
    x, y = note.x2 + note.dx_px / scale, note.y2 + note.dy_px / scale
    yield Circle(note.x1, note.y1, _DOT_PX / scale, note.look, "solid")
    yield Line(note.x1, note.y1, x, y, note.look)
    aside = {"start": 4.0, "middle": 0.0, "end": -4.0}[note.anchor]
    stand: Stand = "middle" if note.anchor != "middle" else "above" if y > note.y1 else "below"
    yield Label(note.text, x, y, size_px=note.size_px, anchor=note.anchor, stand=stand, figure=note.figure,
                strong=note.strong, dx_px=aside, look=note.look)  # fmt: skip


def _hatch(hatch: Hatch, scale: float) -> Iterator[Line]:
    """Parallel lines clipped to the outline, even and odd crossings in pairs; never more than a few hundred."""
    angle = math.radians(hatch.angle_deg)
    c, s = math.cos(angle), math.sin(angle)
    turned = [(x * c + y * s, y * c - x * s) for x, y in hatch.points]
    low, high = min(v for _, v in turned), max(v for _, v in turned)
    step = max(hatch.spacing_px / scale, (high - low) / 400)
    first = math.ceil(low / step - 0.5)
    for number in range(first, math.floor(high / step - 0.5) + 1):
        v = (number + 0.5) * step
        cuts = sorted(
            u1 + (v - v1) / (v2 - v1) * (u2 - u1)
            for (u1, v1), (u2, v2) in zip(turned, (*turned[1:], turned[0]), strict=True)
            if (v1 <= v) != (v2 <= v)
        )
        for start, end in zip(cuts[::2], cuts[1::2], strict=False):
            yield Line(start * c - v * s, start * s + v * c, end * c - v * s, end * s + v * c, "soft")


def _arc_points(arc: Arc) -> tuple[Point, ...]:
    count = max(4, math.ceil(_ROUND_STEPS * (arc.end_rad - arc.start_rad) / (2 * math.pi)))
    angles = [arc.start_rad + (arc.end_rad - arc.start_rad) * at / count for at in range(count + 1)]
    return tuple((arc.x + arc.radius * math.cos(angle), arc.y + arc.radius * math.sin(angle)) for angle in angles)


def segments_of(stroke: Line | Polyline | Circle | Arc) -> tuple[tuple[Point, Point], ...]:
    """The straights that a stroke is seen as, in mm."""
    match stroke:
        case Line(x1=x1, y1=y1, x2=x2, y2=y2):
            return (((x1, y1), (x2, y2)),)
        case Polyline():
            rings = [(*stroke.points, stroke.points[0]) if stroke.closed else stroke.points]
            rings += [(*ring, ring[0]) for ring in stroke.openings]
            return tuple(pair for ring in rings for pair in pairwise(ring))
        case Arc():
            points = _arc_points(stroke)
        case Circle(x=x, y=y, radius=r):
            points = tuple(
                (x + r * math.cos(2 * math.pi * at / _ROUND_STEPS), y + r * math.sin(2 * math.pi * at / _ROUND_STEPS))
                for at in range(_ROUND_STEPS + 1)
            )
    return tuple(pairwise(points))


def _crosses(box: Box, segment: tuple[float, float, float, float], inset_px: float = 1.0) -> bool:
    """Whether a segment runs through a box shrunk by ``inset_px`` (clipping by its four sides)."""
    x1, y1, x2, y2 = segment
    low, high = 0.0, 1.0
    sides = ((x1, x2 - x1, box.left, box.right), (y1, y2 - y1, box.top, box.bottom))
    for start, way, least, most in sides:
        least, most = least + inset_px, most - inset_px  # noqa: PLW2901  # the shrunk box
        if way == 0:
            if not least < start < most:
                return False
            continue
        one, two = (least - start) / way, (most - start) / way
        low, high = max(low, min(one, two)), min(high, max(one, two))
    return low < high


def shifted(strokes: Iterable[Stroke], dx: float, dy: float) -> tuple[Stroke, ...]:
    """The same strokes moved by (dx, dy) mm: to set several drawings beside one another."""

    def move(points: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple((x + dx, y + dy) for x, y in points)

    found: list[Stroke] = []
    for stroke in strokes:
        match stroke:
            case Line() | Dimension() | Leader():
                found.append(
                    replace(stroke, x1=stroke.x1 + dx, x2=stroke.x2 + dx, y1=stroke.y1 + dy, y2=stroke.y2 + dy)
                )
            case Polyline():
                found.append(
                    replace(stroke, points=move(stroke.points), openings=tuple(move(ring) for ring in stroke.openings))
                )
            case Hatch():
                found.append(replace(stroke, points=move(stroke.points)))
            case _:
                found.append(replace(stroke, x=stroke.x + dx, y=stroke.y + dy))
    return tuple(found)
