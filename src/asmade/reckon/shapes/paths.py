"""Closed paths of straights and arcs, kept exact: rounded outlines, slots, the outline of a rod; and paths beside them.

An arc is told by its bulge, as drawing-exchange files have it: the tangent of a quarter of its angle, anticlockwise
positive, 0 for a straight. Paths go round anticlockwise. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.shapes.pieces import SAGITTA_MM, Array, arc_steps

_NOTHING: Final = 1e-9
_QUARTER: Final = math.tan(math.pi / 8)
"""Bulge of a quarter turn; a half turn has 1."""


@dataclass(frozen=True, slots=True)
class Vertex:
    """A corner, and the bulge of the way from it to the next."""

    x: float
    y: float
    bulge: float = 0.0


Path = tuple[Vertex, ...]


@dataclass(frozen=True, slots=True)
class Rounded:
    """A corner of an outline and the radius it is rounded with, 0 for a sharp one."""

    x: float
    y: float
    radius: float = 0.0


def circle(x: float, y: float, radius: float) -> Path:
    """A full circle as two half turns."""
    return (Vertex(x - radius, y, 1.0), Vertex(x + radius, y, 1.0))


def rounded(corners: Sequence[Rounded], name: str) -> Path:
    """An outline with its corners rounded; refuses a radius that its sides are too short for."""
    corners = _anticlockwise(corners)
    count = len(corners)
    takes = [_take(corners[at - 1], corners[at], corners[(at + 1) % count]) for at in range(count)]
    found: list[Vertex] = []
    for at, corner in enumerate(corners):
        before, after = corners[at - 1], corners[(at + 1) % count]
        for other, number in ((before, at - 1), (after, (at + 1) % count)):
            long = math.hypot(other.x - corner.x, other.y - corner.y)
            if takes[at][0] + takes[number][0] > long + 1e-6:
                raise OutOfRange(
                    f"radius of a corner of {name}", got=corner.radius or other.radius,
                    allowed=f"what its side of {long:g} mm has room for", way_out="a smaller radius, or a longer side",
                )  # fmt: skip
        length, turn = takes[at]
        if corner.radius <= 0:
            found.append(Vertex(corner.x, corner.y))
            continue
        start, end = _towards(corner, before, length), _towards(corner, after, length)
        found += [Vertex(*start, math.tan(turn / 4)), Vertex(*end)]
    return _without_repeats(found)


def _take(before: Rounded, corner: Rounded, after: Rounded) -> tuple[float, float]:
    """How much of each side rounding a corner takes, and by what angle the way turns there (left positive)."""
    turn = _turn(before, corner, after)
    return abs(corner.radius * math.tan(turn / 2)), turn


def _turn(before: Rounded, corner: Rounded, after: Rounded) -> float:
    one = complex(corner.x - before.x, corner.y - before.y)
    two = complex(after.x - corner.x, after.y - corner.y)
    if abs(one) < _NOTHING or abs(two) < _NOTHING:
        return 0.0
    found = two / one
    return math.atan2(found.imag, found.real)


def _towards(corner: Rounded, other: Rounded, length: float) -> tuple[float, float]:
    whole = math.hypot(other.x - corner.x, other.y - corner.y)
    share = length / whole if whole > _NOTHING else 0.0
    return corner.x + share * (other.x - corner.x), corner.y + share * (other.y - corner.y)


def _anticlockwise(corners: Sequence[Rounded]) -> tuple[Rounded, ...]:
    area = sum(one.x * two.y - two.x * one.y for one, two in zip(corners, (*corners[1:], corners[0]), strict=True))
    return tuple(corners) if area >= 0 else tuple(reversed(corners))


def _without_repeats(vertices: Sequence[Vertex]) -> Path:
    """Vertices where two fall together run into one (a side that rounding takes up wholly)."""
    found: list[Vertex] = []
    for vertex in vertices:
        if found and math.hypot(vertex.x - found[-1].x, vertex.y - found[-1].y) < 1e-7:
            found[-1] = Vertex(vertex.x, vertex.y, vertex.bulge or found[-1].bulge)
        else:
            found.append(vertex)
    if len(found) > 1 and math.hypot(found[0].x - found[-1].x, found[0].y - found[-1].y) < 1e-7:
        last = found.pop()
        found[0] = Vertex(found[0].x, found[0].y, found[0].bulge or last.bulge)
    return tuple(found)


def parallel(corners: Sequence[Rounded], out_mm: float) -> tuple[Rounded, ...]:
    """The corners of the outline that lies ``out_mm`` outside (inside if negative): every point that far from it.

    Outward corners are rounded by their radius and the distance, inward ones by what the distance leaves of it.
    Raises ``Refused`` where a side vanishes: the outline is too fine for the distance.
    """
    corners = _anticlockwise(corners)
    count = len(corners)
    found = []
    for at, corner in enumerate(corners):
        before, after = corners[at - 1], corners[(at + 1) % count]
        turn = _turn(before, corner, after)
        one = _normal(before, corner)
        reach = out_mm * math.tan(turn / 2)
        along = (-one[1], one[0])  # the way on, a quarter turn left of the outward normal
        x = corner.x + out_mm * one[0] + reach * along[0]
        y = corner.y + out_mm * one[1] + reach * along[1]
        outward = turn > 0
        radius = corner.radius + out_mm if outward else corner.radius - out_mm
        found.append(Rounded(x, y, max(0.0, radius)))
    for at, corner in enumerate(corners):
        after = corners[(at + 1) % count]
        here, there = found[at], found[(at + 1) % count]
        if (there.x - here.x) * (after.x - corner.x) + (there.y - here.y) * (after.y - corner.y) <= 0:
            raise Refused("parallel outline", got=f"{out_mm:g} mm", reason="a side of it vanishes at that distance",
                          way_out="a smaller allowance, or draw it coarser")  # fmt: skip
    return tuple(found)


def _normal(one: Rounded, two: Rounded) -> tuple[float, float]:
    """Outward normal of the side from one to two."""
    dx, dy = two.x - one.x, two.y - one.y
    long = math.hypot(dx, dy)
    return dy / long, -dx / long


def slot(x1: float, y1: float, x2: float, y2: float, width: float, radius: float | None = None) -> Path:
    """A slot with round ends about its middle line; ``radius``: the middle line is an arc with its centre to the left.

    Anchor: a straight slot 10 mm between the middles of its ends and 4 wide has 40 + 4 pi mm2.
    """
    long, half = math.hypot(x2 - x1, y2 - y1), width / 2
    if width <= 0 or long <= 0:
        raise OutOfRange("slot", got=(long, width), allowed="longer and wider than 0 mm")
    if radius is None:
        nx, ny = half * (y2 - y1) / long, -half * (x2 - x1) / long
        return (
            Vertex(x1 + nx, y1 + ny), Vertex(x2 + nx, y2 + ny, 1.0), Vertex(x2 - nx, y2 - ny),
            Vertex(x1 - nx, y1 - ny, 1.0),
        )  # fmt: skip
    if radius <= half or long > 2 * radius:
        raise OutOfRange(
            "radius of a curved slot", got=radius, allowed=f"more than {max(half, long / 2):g} mm",
            way_out="a larger radius, or a shorter slot",
        )  # fmt: skip
    angle = 2 * math.asin(long / (2 * radius))
    off = math.sqrt(radius**2 - (long / 2) ** 2)
    cx, cy = (x1 + x2) / 2 - off * (y2 - y1) / long, (y1 + y2) / 2 + off * (x2 - x1) / long
    bulge = math.tan(angle / 4)

    def at(x: float, y: float, out: float) -> tuple[float, float]:
        share = (radius + out) / radius
        return cx + share * (x - cx), cy + share * (y - cy)

    return (
        Vertex(*at(x1, y1, half), bulge), Vertex(*at(x2, y2, half), 1.0), Vertex(*at(x2, y2, -half), -bulge),
        Vertex(*at(x1, y1, -half), 1.0),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Piece:
    """What bounds a rod above over a stretch: a disc, or (radius 0) the bar's edge y = high + slope x."""

    x: float
    radius: float
    high: float = 0.0
    slope: float = 0.0

    def y(self, x: float) -> float:
        if self.radius:
            return math.sqrt(max(0.0, self.radius**2 - (x - self.x) ** 2))
        return self.high + self.slope * x


def rod_outline(
    discs: Sequence[tuple[float, float]], half_depth: tuple[float, float], out_mm: float = 0.0
) -> Path:  # fmt: skip
    """Outline of bosses in a line, (x, radius) each, and the bar from the first to the last, moved out by ``out_mm``.

    half_depth: half the depth of the bar at the rearmost and the foremost middle. The line is the x axis.
    """
    ordered = sorted(discs)
    back, front = ordered[0][0], ordered[-1][0]
    slope = (half_depth[1] - half_depth[0]) / (front - back)
    lift = out_mm * math.sqrt(1 + slope * slope)
    bar = _Piece(0.0, 0.0, half_depth[0] - slope * back + lift, slope)
    bar_ends = (back - out_mm, front + out_mm)
    pieces = [_Piece(x, radius + out_mm) for x, radius in ordered]
    marks = {bar_ends[0], bar_ends[1]}
    for piece in pieces:
        marks |= {piece.x - piece.radius, piece.x + piece.radius, *_meets_bar(piece, bar)}
    for at, one in enumerate(pieces):
        for two in pieces[at + 1 :]:
            apart = two.x - one.x
            if apart > _NOTHING:
                marks.add(one.x + (apart**2 + one.radius**2 - two.radius**2) / (2 * apart))
    upper = _upper(sorted(marks), pieces, bar, bar_ends)
    right = [(x, y, -bulge) for x, y, bulge in upper]  # from left to right over the top an arc goes clockwise
    top = [Vertex(x, y, bulge) for x, y, bulge in right]
    return _round_both(top)


def _meets_bar(disc: _Piece, bar: _Piece) -> tuple[float, ...]:
    a, b = 1 + bar.slope**2, bar.slope * bar.high - disc.x
    c = disc.x**2 + bar.high**2 - disc.radius**2
    inside = b * b - a * c
    if inside <= 0:
        return ()
    root = math.sqrt(inside)
    return (-b - root) / a, (-b + root) / a


def _upper(
    marks: Sequence[float], pieces: Sequence[_Piece], bar: _Piece, ends: tuple[float, float]
) -> list[tuple[float, float, float]]:
    """Upper boundary from left to right: corners with the bulge of the way on (positive here: as an arc over)."""
    runs: list[tuple[_Piece, float, float]] = []
    for one, two in pairwise(marks):
        if two - one < _NOTHING:
            continue
        middle = (one + two) / 2
        over = [piece for piece in pieces if abs(middle - piece.x) < piece.radius]
        if ends[0] < middle < ends[1]:
            over.append(bar)
        if not over:
            continue
        best = max(over, key=lambda piece: piece.y(middle))
        if runs and runs[-1][0] is best:
            runs[-1] = (best, runs[-1][1], two)
        else:
            runs.append((best, one, two))
    found: list[tuple[float, float, float]] = []
    for piece, start, end in runs:
        bulge = 0.0
        if piece.radius:
            from_, to = (
                math.acos(_unit((start - piece.x) / piece.radius)),
                math.acos(_unit((end - piece.x) / piece.radius)),
            )
            bulge = math.tan((from_ - to) / 4)
        found += [(start, piece.y(start), bulge), (end, piece.y(end), 0.0)]
    return found


def _unit(value: float) -> float:
    return min(1.0, max(-1.0, value))


def _round_both(top: Sequence[Vertex]) -> Path:
    """The whole ring from its upper half, anticlockwise: below from left to right, above back."""
    below = [Vertex(each.x, -each.y, -each.bulge) for each in top]
    back = zip(reversed(top[:-1]), reversed(top[1:]), strict=True)
    above = [Vertex(after.x, after.y, -before.bulge) for before, after in back]
    last = top[0]
    return _without_repeats([*below[:-1], Vertex(below[-1].x, below[-1].y), *above, Vertex(last.x, last.y)])


def ring(path: Path, sagitta_mm: float = SAGITTA_MM) -> Array:
    """A path as a polygon, (N, 2), that departs from its arcs by no more than ``sagitta_mm``."""
    points: list[tuple[float, float]] = []
    for at, vertex in enumerate(path):
        points.append((vertex.x, vertex.y))
        after = path[(at + 1) % len(path)]
        if vertex.bulge:
            points += _on_arc(vertex, after, sagitta_mm)
    return np.array(points, dtype=np.float64)


def _on_arc(one: Vertex, two: Vertex, sagitta_mm: float) -> list[tuple[float, float]]:
    cx, cy, radius, start, turn = arc_of(one, two)
    count = arc_steps(radius, abs(turn), sagitta_mm)
    out = radius * 2 / (1 + math.cos(0.5 * abs(turn) / count))
    return [
        (cx + out * math.cos(start + turn * at / count), cy + out * math.sin(start + turn * at / count))
        for at in range(1, count)
    ]


def arc_of(one: Vertex, two: Vertex) -> tuple[float, float, float, float, float]:
    """Centre x and y, radius, angle at the start and turn (anticlockwise positive) of the arc from one to two."""
    turn = 4 * math.atan(one.bulge)
    dx, dy = two.x - one.x, two.y - one.y
    long = math.hypot(dx, dy)
    radius = long / (2 * abs(math.sin(turn / 2)))
    off = long / 2 / math.tan(turn / 2)
    cx, cy = (one.x + two.x) / 2 - off * dy / long, (one.y + two.y) / 2 + off * dx / long
    return cx, cy, radius, math.atan2(one.y - cy, one.x - cx), turn
