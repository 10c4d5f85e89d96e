"""The gear itself: its links at a crank angle and a reverser position, and what they sweep."""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Final

from asmade.motion.bindings.valve_sweeps import envelopes
from asmade.motion.gears import gear, picture
from asmade.motion.valves.engine import Side, first_sample
from asmade.motion.valves.events import usual_positions
from asmade.show.strokes import Circle, Label, Line, Polyline, Stroke
from asmade.show.strokes.kinds import Look
from asmade.show.valve_frame import Point, caption, reverser

SHORT: Final = 0.06
"""A link shorter than this part of the whole picture has its number beyond its end."""
SWEPT: Final = tuple(1.0 - step / 4 for step in range(9))
_SLOT: Final[Look] = "bold"
_LINE: Final[Look] = "outline"


def gear_at(side: Side, positions: tuple[float, ...], crank: float, flip: float, head: str) -> tuple[Stroke, ...]:
    """The gear at one crank angle and reverser position, its links numbered, their names below."""
    kind = gear(side.gear.gear)
    position = (positions or (1.0,))[0]
    shown = picture(kind, kind.move(side.gear, math.radians(crank), position))
    radius = first_sample(side.gear["crank_radius"])
    strokes: list[Stroke] = [Circle(0.0, shown.points["axle"][1], radius, "centre")]
    strokes += _lines_of_motion(side, flip)
    names, pins = [], set()
    for name, points in shown.lines.items():
        slot = shown.slots.get(name, ())
        if name in shown.fixed:
            pins.add((round(flip * points[0][0], 6), round(points[0][1], 6)))
        if name in shown.fixed or (not slot and _length(points) < 1e-6):
            continue
        moved = tuple((flip * x, y) for x, y in points)
        arc = _arc(*((flip * x, y) for x, y in slot)) if slot else ()
        strokes += [Polyline(line, look) for line, look in ((arc, _SLOT), (moved, _LINE)) if len(line) > 1]
        names.append((name, (*arc[::24], *moved)))
        pins |= {(round(x, 6), round(y, 6)) for x, y in moved}
    for x, y in sorted(pins):
        strokes.append(Circle(x, y, 0.045 * radius, "outline", "paper"))
    left, right = _span(strokes)
    strokes += _numbers(names, 0.34 * radius, right - left)
    low = min(y for stroke in strokes if isinstance(stroke, Polyline) for _, y in stroke.points)
    strokes += _legend([name for name, _ in names], left, right, min(low, -radius))
    top = max(y for stroke in strokes if isinstance(stroke, Polyline) for _, y in stroke.points)
    middle, top = 0.5 * (left + right), max(top, radius)
    return (*strokes, *caption(head, f"crank {crank:.0f}°, reverser {reverser(position)}", middle, top))


def sweep(side: Side, positions: tuple[float, ...], _crank: float, flip: float, head: str) -> tuple[Stroke, ...]:
    """What the middle line of each link sweeps in a whole turn at all positions; names below."""
    found = envelopes(side, positions or usual_positions(side, SWEPT))
    strokes: list[Stroke] = [*_lines_of_motion(side, flip)]
    names = []
    for each in found:
        if each.link == "crank":
            continue
        look = _SWEEP_LOOK.get(each.link, "thin")
        rings = [tuple((flip * x, y) for x, y in ring) for ring in (*each.outlines, *each.holes)]
        strokes += [Polyline(ring, look, closed=True) for ring in rings]
        names.append((each.link, (*_middle_of(rings[0]), *rings[0])))
    radius = first_sample(side.gear["crank_radius"])
    left, right = _span(strokes)
    strokes += _numbers(names, 0.34 * radius, 0.0)
    low = min(y for stroke in strokes if isinstance(stroke, Polyline) for _, y in stroke.points)
    strokes += _legend([name for name, _ in names], left, right, low)
    top = max(y for stroke in strokes if isinstance(stroke, Polyline) for _, y in stroke.points)
    return (*strokes, *caption(head, "what the links sweep", 0.5 * (left + right), top))


_SWEEP_LOOK: Final[Mapping[str, Look]] = {
    "expansion link": "bold",
    "radius rod": "outline",
    "connecting rod": "outline",
}


def _middle_of(ring: tuple[Point, ...]) -> tuple[Point, ...]:
    """Two points of a ring between which its number is put: its ends along its longer way."""
    wide = max(x for x, _ in ring) - min(x for x, _ in ring)
    tall = max(y for _, y in ring) - min(y for _, y in ring)
    axis = 0 if wide >= tall else 1
    return (min(ring, key=lambda p: p[axis]), max(ring, key=lambda p: p[axis]))


def _arc(top: Point, bottom: Point, centre: Point) -> tuple[Point, ...]:
    """From end to end of a slot about its centre."""
    middle, one, two = complex(*centre), complex(*top), complex(*bottom)
    whole = cmath.phase((two - middle) / (one - middle))
    places = [middle + (one - middle) * cmath.exp(1j * whole * at / 24) for at in range(25)]
    return tuple((place.real, place.imag) for place in places)


def _lines_of_motion(side: Side, flip: float) -> list[Stroke]:
    """Cylinder line and spindle line, and a mark for the axle."""
    g = side.gear
    rod, radius = first_sample(g["connecting_rod"]), first_sample(g["crank_radius"])
    slope, height = first_sample(g["cylinder_incline"]), first_sample(g["cylinder_line_y"])
    far = rod + 1.6 * radius
    strokes: list[Stroke] = [
        Line(-1.2 * radius * flip, height - 1.2 * radius * math.tan(slope), far * flip, height + far * math.tan(slope),
             "centre"),
        Circle(0.0, first_sample(g["axle_rise"]), 0.12 * radius, "outline", "deep"),
    ]  # fmt: skip
    if "spindle_y" in g.sizes:
        x, y, incline = (first_sample(g[name]) for name in ("spindle_x", "spindle_y", "spindle_incline"))
        for_ = 1.3 * radius
        strokes.append(
            Line(
                (x - for_) * flip,
                y - for_ * math.tan(incline),
                (x + for_) * flip,
                y + for_ * math.tan(incline),
                "centre",
            )
        )
    return strokes


def _numbers(names: list[tuple[str, tuple[Point, ...]]], apart: float, whole: float) -> list[Stroke]:
    """A number on each link, moved along it until it is clear of those before; of a short one beyond its end."""
    taken: list[Point] = []
    found: list[Stroke] = []
    for number, (_, points) in enumerate(names, start=1):
        (x1, y1), (x2, y2) = _longest(points[:4])
        length = math.hypot(x2 - x1, y2 - y1)
        beyond = length < SHORT * whole
        if beyond:
            place, ahead = (x2, y2), ((x2 - x1) / length, (y2 - y1) / length)
        else:
            places = [(x1 + t * (x2 - x1), y1 + t * (y2 - y1)) for t in (0.5, 0.38, 0.62, 0.27, 0.73, 0.16, 0.84)]
            places += points[4::3]  # of a ring, anywhere on it
            place, ahead = (
                max(places, key=lambda p: min([apart, *(math.dist(p, other) for other in taken)])),
                (0.0, 0.0),
            )
        taken.append(place)
        found.append(Label(str(number), *place, 11.0, figure=True, strong=True, paper=not beyond, dx_px=9.0 * ahead[0],
                           dy_px=9.0 * ahead[1], over=("outline", "bold", "thin", "centre")))  # fmt: skip
    return found


def _legend(names: list[str], left: float, right: float, low: float) -> list[Stroke]:
    """Names by number, in two columns below the picture."""
    rows = math.ceil(len(names) / 2)
    found: list[Stroke] = []
    for at, name in enumerate(names):
        column, row = divmod(at, rows)
        x = left if column == 0 else left + 0.5 * (right - left)
        found.append(Label(f"{at + 1} {name}", x, low, 12.0, "start", "below", dy_px=-12.0 - 16.0 * row))
    return found


def _span(strokes: list[Stroke]) -> tuple[float, float]:
    xs = [x for stroke in strokes if isinstance(stroke, Polyline) for x, _ in stroke.points]
    xs += [x for stroke in strokes if isinstance(stroke, Line) for x in (stroke.x1, stroke.x2)]
    return min(xs), max(xs)


def _longest(points: tuple[Point, ...]) -> tuple[Point, Point]:
    return max(pairwise(points), key=lambda pair: math.dist(*pair))


def _length(points: tuple[Point, ...]) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(points))
