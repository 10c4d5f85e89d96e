"""Where things are on a face: dimensions of the part found between its points, the rest from the lower left corner.

A dimension belongs between two points where it stands in the sum that places one of them and their distance is its
size. What lies on the middle line of the face needs none: its centre line says it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final, Literal, TypeAlias

from asmade.book.forms.measures import Measure
from asmade.show.sketches.drawing import Written
from asmade.show.sketches.subject import Subject

_SAME_MM: Final = 1e-4
Axis: TypeAlias = Literal["x", "y"]


@dataclass(frozen=True, slots=True)
class Point:
    """A point of a face in mm, with the sums that place it; ``corner`` of the outline, else the middle of something."""

    x: float
    y: float
    of_x: frozenset[str]
    of_y: frozenset[str]
    corner: bool = False
    told: frozenset[Axis] = frozenset()

    def at(self, axis: Axis) -> float:
        """Its place along an axis."""
        return self.x if axis == "x" else self.y

    def dims(self, axis: Axis) -> frozenset[str]:
        """Dimensions in the sum that places it."""
        return self.of_x if axis == "x" else self.of_y


def point(x: float, y: float, of: tuple[Measure | None, Measure | None], *, corner: bool = False) -> Point:
    """A point with the sums that place it."""
    of_x, of_y = (frozenset(each.dims) if each is not None else frozenset() for each in of)
    return Point(x, y, of_x, of_y, corner)


@dataclass(frozen=True, slots=True)
class Between:
    """A dimension between two points along an axis, in mm, and its text."""

    low: Point
    high: Point
    axis: Axis
    text: Written

    @property
    def length(self) -> float:
        """How long, mm."""
        return self.high.at(self.axis) - self.low.at(self.axis)


def between(subject: Subject, points: Sequence[Point], box: tuple[float, float, float, float]) -> list[Between]:
    """Dimensions between the points of a face that lies in ``box`` (least x and y, greatest x and y, mm)."""
    found: list[Between] = []
    placed: dict[Axis, set[float]] = {"x": set(), "y": set()}
    matched: set[str] = set()
    for name, size in subject.result.sizes.items():
        if name in subject.shown or not abs(size) > _SAME_MM:
            continue
        best = _best(points, name, abs(size))
        if best is not None:
            low, high, axis = best
            text = subject.figure(name)
            matched.add(name)
            found.append(Between(low, high, axis, text))
            placed[axis] |= {round(low.at(axis), 4), round(high.at(axis), 4)}
    known = subject.shown | {name for name, size in subject.result.sizes.items() if abs(size) <= _SAME_MM}
    points = [replace(each, told=_told(each, known, matched)) for each in points]
    found += _from_corner(subject, points, "x", (box[0], box[2]), placed["x"])
    found += _from_corner(subject, points, "y", (box[1], box[3]), placed["y"])
    return found


def _told(each: Point, known: AbstractSet[str], matched: AbstractSet[str]) -> frozenset[Axis]:
    """Axes along which a point is told by others: all that its sum is of is written, some of it between points."""
    axes: tuple[Axis, ...] = ("x", "y")
    return frozenset(axis for axis in axes if each.dims(axis) & matched and each.dims(axis) <= known)


def _best(points: Sequence[Point], name: str, size: float) -> tuple[Point, Point, Axis] | None:
    """The nearest pair so far apart, middles before corners."""
    pairs: list[tuple[tuple[int, float], Point, Point, Axis]] = []
    for one, two in combinations(points, 2):
        for axis in ("x", "y"):
            apart = two.at(axis) - one.at(axis)
            if abs(abs(apart) - size) > _SAME_MM or name not in one.dims(axis) | two.dims(axis):
                continue
            other: Axis = "y" if axis == "x" else "x"
            rank = (int(one.corner) + int(two.corner), abs(one.at(other) - two.at(other)))
            low, high = (one, two) if apart > 0 else (two, one)
            pairs.append((rank, low, high, axis))
    if not pairs:
        return None
    _, low, high, axis = min(pairs, key=lambda each: each[0])
    return low, high, axis


def _from_corner(
    subject: Subject, points: Sequence[Point], axis: Axis, ends: tuple[float, float], placed: set[float]
) -> list[Between]:
    found: list[Between] = []
    middle = (ends[0] + ends[1]) / 2
    for each in points:
        at = each.at(axis)
        central = abs(at - middle) < _SAME_MM or min(abs(at - end) for end in ends) < _SAME_MM
        if each.corner or axis in each.told or central or round(at, 4) in placed:
            continue
        placed.add(round(at, 4))
        mirrored = round(2 * middle - at, 4)
        if mirrored in placed and _pair_stands(found, axis, mirrored):
            continue
        x, y = (ends[0], each.y) if axis == "x" else (each.x, ends[0])
        corner = Point(x, y, frozenset(), frozenset(), corner=True)
        found.append(Between(corner, each, axis, subject.sum_of(at - ends[0])))
    return found


def _pair_stands(found: Iterable[Between], axis: Axis, at: float) -> bool:
    """Whether its mirror image about the middle is dimensioned already from the corner."""
    return any(round(each.high.at(axis), 4) == at for each in found)
