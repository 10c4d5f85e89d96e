"""The running gear in side view at one crank angle, as seen from outside, with the nearest pair marked."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gaps import Element, Scene
from asmade.motion.gaps.nearest import nearest_points, outlines_at
from asmade.reckon.shapes import Disc
from asmade.show.strokes import Circle, Label, Leader, Line, Polyline, Stroke
from asmade.show.strokes.kinds import Look
from asmade.show.wheel_dress import Dress
from asmade.show.width_stack import MARKS, Verdict


@dataclass(frozen=True, slots=True)
class MarkedPair:
    """Two elements to be marked: the gap as written (``0.31, wants 0.60``) and the verdict."""

    one: str
    other: str
    figure: str
    verdict: Verdict


def side_view(
    scene: Scene,
    at: int,
    *,
    side: Literal["L", "R"] = "R",
    marked: MarkedPair | None = None,
    made: Collection[str] = (),
    dress: Mapping[str, Dress] | None = None,
    rail_y_mm: float | None = None,
) -> tuple[Stroke, ...]:
    """Strokes of every element at the crank angle with index ``at``; inner ones first, so outer ones hide them.

    The right-hand side is seen with the front to the right, the left-hand side with the front to the left.
    made: names of elements drawn solid, the others thin. dress: strokes that go round with an element, in its own axes
    (see `wheel_dress`); they stand where it stands. Raises ``Unknown`` for a pair that is not there.
    """
    if not 0 <= at < scene.crank_rad.size:
        raise OutOfRange("number of a crank angle", got=at, allowed=f"0 to {scene.crank_rad.size - 1}")
    if side not in ("L", "R"):
        raise Unknown("side of the engine", got=side, way_out="L or R, facing forward")
    flip = 1.0 if side == "R" else -1.0
    pair = () if marked is None else (marked.one, marked.other)
    for name in pair:
        scene.element(name)
    strokes: list[Stroke] = []
    for element in sorted(scene.elements, key=lambda each: each.outer_mm):
        look: Look = "outline" if element.name in made else "thin"
        strokes += _body(element, at, flip, "bold" if element.name in pair else look)
        strokes += [_carried(stroke, element, at, flip) for stroke in (dress or {}).get(element.name, ())]
    points = [(x, y) for stroke in strokes if isinstance(stroke, Polyline) for x, y in stroke.points]
    points += [
        (stroke.x + s * stroke.radius, stroke.y + s * stroke.radius)
        for stroke in strokes
        if isinstance(stroke, Circle)
        for s in (-1, 1)
    ]
    low, high = min(y for _, y in points), max(y for _, y in points)
    if rail_y_mm is not None:
        left, right = min(x for x, _ in points), max(x for x, _ in points)
        strokes.append(Line(left, rail_y_mm, right, rail_y_mm, "outline"))
        low = min(low, rail_y_mm)
    if marked is not None:
        strokes += _mark(scene, at, flip, marked, high, points)
    degrees = math.degrees(float(scene.crank_rad[at])) % 360
    strokes.append(_caption(f"crank {degrees:.0f}° past front dead centre", points, low))
    return tuple(strokes)


def _body(element: Element, at: int, flip: float, look: Look) -> list[Stroke]:
    if len(element.pieces) == 1 and isinstance(element.pieces[0], Disc):
        disc = element.pieces[0]
        middle = element.poses.place[at] + element.poses.along[at] * complex(disc.x, disc.y)
        return [Circle(flip * float(middle.real), float(middle.imag), disc.radius, look, "paper")]
    return [
        Polyline(
            tuple((flip * float(x), float(y)) for x, y in ring),
            look,
            closed=True,
            fill="paper",
            openings=tuple(tuple((flip * float(x), float(y)) for x, y in hole) for hole in holes),
        )
        for ring, holes in outlines_at(element, at)
    ]


def _carried(stroke: Circle | Polyline, element: Element, at: int, flip: float) -> Circle | Polyline:
    place, along = complex(element.poses.place[at]), complex(element.poses.along[at])

    def moved(x: float, y: float) -> tuple[float, float]:
        there = place + along * complex(x, y)
        return flip * there.real, there.imag

    if isinstance(stroke, Circle):
        x, y = moved(stroke.x, stroke.y)
        return replace(stroke, x=x, y=y)
    return replace(stroke, points=tuple(moved(x, y) for x, y in stroke.points),
                   openings=tuple(tuple(moved(x, y) for x, y in ring) for ring in stroke.openings))  # fmt: skip


def _mark(
    scene: Scene, at: int, flip: float, marked: MarkedPair, high: float, points: list[tuple[float, float]]
) -> list[Stroke]:
    """The nearest points joined by a bold line; names and figure above the whole, a line from there to them."""
    near = nearest_points(scene, marked.one, marked.other, at)
    (ax, ay), (bx, by) = near.one, near.other
    found: list[Stroke] = []
    if (ax, ay) != (bx, by):
        found.append(Line(flip * ax, ay, flip * bx, by, "fail"))
    middle = (min(x for x, _ in points) + max(x for x, _ in points)) / 2
    found.append(
        Leader(
            flip * (ax + bx) / 2,
            (ay + by) / 2,
            middle,
            high,
            f"{MARKS[marked.verdict]} {marked.figure}",
            dy_px=14.0,
            strong=True,
            anchor="middle",
        )
    )
    found.append(Label(f"{marked.one} to {marked.other}", middle, high, stand="above", dy_px=14.0 + 15.0))
    return found


def _caption(text: str, points: list[tuple[float, float]], low: float) -> Stroke:
    return Label(text, (min(x for x, _ in points) + max(x for x, _ in points)) / 2, low, stand="below", dy_px=-6.0)
