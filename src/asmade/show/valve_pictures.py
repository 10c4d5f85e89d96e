"""Pictures of a valve gear: the oval, port openings over the stroke, the polar diagram, the gear itself, its sweeps."""

from __future__ import annotations

import cmath
import math
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange, Unknown, near
from asmade.motion.bindings.valve_sweeps import envelopes
from asmade.motion.gears import gear, picture
from asmade.motion.valves.engine import ENDS, Side, first_sample
from asmade.motion.valves.events import events, usual_positions, valve_motion
from asmade.motion.valves.piston import Piston
from asmade.show.strokes import Circle, Label, Line, Polyline, Stroke, svg
from asmade.show.strokes.kinds import Anchor, Look, Stand
from asmade.verbs.valves import Gears

Array = NDArray[np.float64]
Point = tuple[float, float]

ANGLES: Final = 361
WIDE: Final = 100.0
"""Width of a diagram; its other measures are in the same unit."""
CURVES: Final[tuple[Look, ...]] = ("bold", "outline", "close", "thin", "hidden")
SHOWN: Final = (1.0, 0.5, 0.0)
SWEPT: Final = tuple(1.0 - at / 4 for at in range(9))
SIDE_WORDS: Final = {"R": "right side", "L": "left side"}


def write_picture(
    path: str | os.PathLike[str],
    gears: Gears,
    name: str,
    *,
    side: str = "R",
    positions: tuple[float, ...] = (),
    crank_deg: float = 60.0,
    width_px: float = 720.0,
) -> None:
    """Write one picture as SVG, drawn for a width; the text in it keeps its size in px at that width."""
    text = svg(strokes_of(gears, name, side=side, positions=positions, crank_deg=crank_deg), width_px=width_px,
               title=title_of(gears, name, side))  # fmt: skip
    Path(path).write_text(text, encoding="utf-8")


def title_of(gears: Gears, name: str, side: str) -> str:
    """What is seen, read aloud in place of the picture."""
    return f"{TITLES.get(name, name)}, {gears.title}, {SIDE_WORDS.get(side, side)}, {gears.which} sizes"


def strokes_of(
    gears: Gears, name: str, *, side: str = "R", positions: tuple[float, ...] = (), crank_deg: float = 60.0
) -> tuple[Stroke, ...]:
    """Strokes of a picture by its name; refuses one that there is not, and a side that is not R or L."""
    if name not in DRAWN:
        raise Unknown("picture", got=name, near=near(name, DRAWN), way_out=f"one of: {', '.join(DRAWN)}")
    if side not in SIDE_WORDS:
        raise Unknown("side of the engine", got=side, way_out="R or L, facing forward")
    if not math.isfinite(crank_deg):
        raise OutOfRange("crank angle", got=crank_deg, allowed="a number of degrees")
    one = gears.engine.right if side == "R" else gears.engine.left
    flip = 1.0 if side == "R" else -1.0
    head = f"{SIDE_WORDS[side]}, {gears.which} sizes"
    return DRAWN[name](one, positions, crank_deg, flip, head)


# ---------------------------------------------------------------------- diagrams
def oval(side: Side, positions: tuple[float, ...], _crank: float, _flip: float, head: str) -> tuple[Stroke, ...]:
    """Valve displacement against piston position: one closed curve for each reverser position.

    Beyond a dashed line the port of that end is open to steam.
    """
    shown = _shown(side, positions)
    crank = np.linspace(0.0, 2 * np.pi, ANGLES)
    across = 100.0 * (1.0 - _done(side, crank))
    curves = [valve_motion(side, crank, position) for position in shown]
    most = 1.12 * max(float(np.abs(curve).max()) for curve in curves)
    tall = 66.0
    up = _scale(-most, most, tall)
    strokes: list[Stroke] = [*_frame(tall), *_below(("back", "25", "50", "75", "front"), "piston, per cent of stroke")]
    strokes += _left(most, up, "valve ahead of its middle, mm")
    falls = bool(curves[0][int(across.argmin())] > curves[0][int(across.argmax())])
    for end, at in _steam_edges(side).items():
        strokes.append(Line(0.0, up(at), WIDE, up(at), "hidden"))
        free_right = (at > 0) == falls  # the corner that the oval leaves free
        x: float = WIDE - 1.0 if free_right else 1.0
        anchor: Anchor = "end" if free_right else "start"
        above = at > 0
        strokes.append(_corner(f"{end} port open", x, tall if above else 0.0, anchor, "below" if above else "above",
                               -3.0 if above else 3.0))  # fmt: skip
    for look, curve in zip(_looks(len(shown)), curves, strict=True):
        strokes.append(Polyline(_points(across, [up(v) for v in curve.tolist()]), look, closed=True))
    return (*strokes, *_key(shown, tall), *_head(head, "valve and piston", tall, shown))


def openings(side: Side, positions: tuple[float, ...], _crank: float, _flip: float, head: str) -> tuple[Stroke, ...]:
    """Port opening over the working stroke, front solid, back dashed; not more than the port is open."""
    shown = _shown(side, positions)
    found = events(side, shown, details=False)
    ports = [first_sample(port) for port in side.valve.ports()]
    most = 1.12 * max(*ports, 0.1)
    tall = 58.0
    up = _scale(0.0, most, tall)
    strokes: list[Stroke] = [*_frame(tall), *_below(("0", "25", "50", "75", "100"), "working stroke, per cent")]
    strokes += _left(most, up, "port open, mm", low=0.0)
    for port in sorted(set(ports)):
        strokes.append(Line(0.0, up(port), WIDE, up(port), "hidden"))
        strokes.append(Label("port wide open", WIDE - 1.0, up(port), 11.0, "end", "above", dy_px=1.0, paper=True))
    for position in shown:
        for end, look in enumerate(_ENDS_LOOK):
            across, open_ = _opening(side, position, end)
            open_to = int(np.flatnonzero(open_ > 0)[-1]) + 2 if (open_ > 0).any() else 0
            height = [up(v) for v in np.minimum(open_, ports[end]).tolist()]
            if open_to > 1:
                strokes.append(Polyline(_points(across[:open_to], height[:open_to]), look))
    feet = np.nan_to_num(np.where(found.opens, found.cutoff.per_cent, 0.0)[..., 0])
    low = 0.3 * most
    limbs = [min(_comes_down(*_opening(side, p, end), low) for end in (0, 1)) for p in shown]
    strokes += _feet([_Foot(float(ends.max()), limb, _at(p)) for ends, limb, p in zip(feet, limbs, shown, strict=True)],
                     up(low))  # fmt: skip
    return (*strokes, *_head(head, "port openings, front solid, back dashed", tall - 5.0, ()))


_ENDS_LOOK: Final[tuple[Look, Look]] = ("outline", "close")


@dataclass(frozen=True, slots=True)
class _Foot:
    """Where the curves of one position come down to the line, and to a height above it; its name."""

    on_line: float
    higher: float
    text: str


def _comes_down(across: Array, open_: Array, to: float) -> float:
    """Where a curve last stands as high as this; the whole width if it never does."""
    above = np.flatnonzero(open_ >= to)
    return float(across[above[-1]]) if above.size else WIDE


def _feet(feet: list[_Foot], height: float) -> list[Stroke]:
    """Each reverser position beside its curves: right of their foot, or under them where there is no room."""
    together: list[list[_Foot]] = []
    for foot in sorted(feet, key=lambda foot: foot.on_line):
        if together and foot.on_line - together[-1][-1].on_line < 14.0:
            together[-1].append(foot)
        else:
            together.append([foot])
    found: list[Stroke] = []
    for group in together:
        text, right = ", ".join(foot.text for foot in group), max(foot.on_line for foot in group)
        if right > 80.0:
            x, y = min(foot.higher for foot in group), height
            found.append(Label(text, x, y, 11.0, "end", "middle", figure=True, strong=True, dx_px=-8.0, paper=True))
        else:
            found.append(Label(text, right, 0.0, 11.0, "start", "above", figure=True, strong=True, dx_px=4.0,
                               dy_px=2.0, paper=True, over=_ENDS_LOOK if len(group) > 1 else ()))  # fmt: skip
    return found


def polar(side: Side, positions: tuple[float, ...], _crank: float, _flip: float, head: str) -> tuple[Stroke, ...]:
    """Polar valve diagram: along each crank, how far the valve stands from its middle; over the lap circle it is open.

    One reverser position: the first that is named, full forward where none is. Source of the form: Zeuner.
    """
    position = (positions or (1.0,))[0]
    found = events(side, (position,), details=False)
    crank = np.linspace(0.0, 2 * np.pi, ANGLES)
    sense = -1.0 if position < 0 else 1.0
    moved = valve_motion(side, sense * crank, position)
    most = float(np.abs(moved).max())
    per_mm = 46.0 / most
    strokes: list[Stroke] = [
        Circle(0.0, 0.0, 50.0, "thin"),
        Line(-53.0, 0.0, 53.0, 0.0, "centre"),
        Line(0.0, -53.0, 0.0, 53.0, "centre"),
    ]
    steam = [first_sample(lap) for lap in side.valve.laps()]
    exhaust = [first_sample(lap) for lap in side.valve.exhaust_laps()]
    strokes += [Circle(0.0, 0.0, lap * per_mm, "hidden") for lap in sorted({lap for lap in steam if lap > 0})]
    strokes += [Circle(0.0, 0.0, lap * per_mm, "soft") for lap in sorted({abs(lap) for lap in exhaust if lap})]
    for side_of_zero in (1.0, -1.0):
        loop = np.maximum(side_of_zero * moved, 0.0) * per_mm
        kept = loop > 0
        # from where the loop begins, so that it is drawn as one
        start = int(np.flatnonzero(kept & ~np.roll(kept, 1))[0]) if not kept.all() else 0
        order = np.roll(np.arange(ANGLES - 1), -start)
        order = order[kept[order]]
        points = [(float(loop[i] * math.cos(crank[i])), float(-loop[i] * math.sin(crank[i]))) for i in order]
        strokes.append(Polyline(((0.0, 0.0), *points), "bold", closed=True))
    dead = Piston.of(side.gear)
    turned = []
    for end, at in enumerate((dead.front_dead_centre, dead.back_dead_centre)):
        for what, letter in _LETTERS.items():
            angle = sense * float(at[0]) + float(getattr(found, what).crank_rad[0, end, 0])
            if math.isfinite(angle):
                turned.append((angle % (2 * math.pi), f"{letter}{end + 1}"))
    strokes += _rays(sorted(turned))
    strokes.append(Label("front", 61.0, 0.0, 11.0, "start"))
    strokes.append(Label("back", -61.0, 0.0, 11.0, "end"))
    foot = (
        "Crank turned the way it runs, clockwise on this picture. Lap circle dashed. a admission, c cut-off, "
        "r release, k compression; 1 front, 2 back."
    )
    caption = _caption(head, f"polar diagram at {_at(position)}", 0.0, 62.0, dy_px=0.0)
    return (*strokes, *_wrapped(foot, -60.0), *caption)


_LETTERS: Final = {"admission": "a", "cutoff": "c", "release": "r", "compression": "k"}
_CLOSE_RAD: Final = math.radians(9.0)


def _rays(turned: list[tuple[float, str]]) -> list[Stroke]:
    """The crank at each event: a line to the rim, its letter outside; events close together share one place."""
    found: list[Stroke] = []
    together: list[list[tuple[float, str]]] = []
    for angle, letter in turned:
        found.append(Line(0.0, 0.0, 50.0 * math.cos(angle), -50.0 * math.sin(angle), "soft"))
        if together and angle - together[-1][-1][0] < _CLOSE_RAD:
            together[-1].append((angle, letter))
        else:
            together.append([(angle, letter)])
    for group in together:
        middle = sum(angle for angle, _ in group) / len(group)
        x, y = 52.0 * math.cos(middle), -52.0 * math.sin(middle)
        side: Anchor = "start" if x > 4 else "end" if x < -4 else "middle"
        stand: Stand = "middle" if abs(x) > 20 else "above" if y > 0 else "below"
        found.append(_corner(" ".join(letter for _, letter in group), x, y, side, stand, 0.0))
    return found


# ---------------------------------------------------------------------- the gear itself
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
        if name in shown.fixed or (not slot and _length(points) < 1e-6):
            continue
        moved = tuple((flip * x, y) for x, y in points)
        arc = _arc(*((flip * x, y) for x, y in slot)) if slot else ()
        strokes += [Polyline(line, look) for line, look in ((arc, _SLOT), (moved, _LINE)) if len(line) > 1]
        names.append((name, (*arc[::24], *moved)))
        pins |= {(round(x, 6), round(y, 6)) for x, y in moved}
    for x, y in sorted(pins):
        strokes.append(Circle(x, y, 0.045 * radius, "outline", "paper"))
    strokes += _numbers(names, 0.34 * radius)
    low = min(y for stroke in strokes if isinstance(stroke, Polyline) for _, y in stroke.points)
    low = min(low, -radius)
    middle = 0.5 * sum(_span(strokes))
    strokes += _legend([name for name, _ in names], *_span(strokes), low)
    top = max(y for stroke in strokes if isinstance(stroke, Polyline) for _, y in stroke.points)
    return (*strokes, *_caption(head, f"crank {crank:.0f}°, reverser {_at(position)}", middle, top))


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
    strokes += _numbers(names, 0.34 * radius)
    low = min(y for stroke in strokes if isinstance(stroke, Polyline) for _, y in stroke.points)
    left, right = _span(strokes)
    strokes += _legend([name for name, _ in names], left, right, low)
    top = max(y for stroke in strokes if isinstance(stroke, Polyline) for _, y in stroke.points)
    return (*strokes, *_caption(head, "what the links sweep", 0.5 * (left + right), top))


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


def _numbers(names: list[tuple[str, tuple[Point, ...]]], apart: float) -> list[Stroke]:
    """A number on each link, moved along it until it is clear of those before."""
    taken: list[Point] = []
    found: list[Stroke] = []
    for number, (_, points) in enumerate(names, start=1):
        (x1, y1), (x2, y2) = _longest(points[:4])
        places = [(x1 + t * (x2 - x1), y1 + t * (y2 - y1)) for t in (0.5, 0.38, 0.62, 0.27, 0.73, 0.16, 0.84)]
        places += points[4::3]  # of a ring, anywhere on it
        place = max(places, key=lambda p: min([apart, *(math.dist(p, other) for other in taken)]))
        taken.append(place)
        found.append(Label(str(number), *place, 11.0, figure=True, strong=True, paper=True,
                           over=("outline", "bold", "thin")))  # fmt: skip
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


# ---------------------------------------------------------------------- what diagrams share
def _at(position: float) -> str:
    """A reverser position in figures."""
    return f"{position:+.2f}" if position else "0.00"


def _shown(side: Side, positions: tuple[float, ...]) -> tuple[float, ...]:
    return positions or usual_positions(side, SHOWN)


def _looks(count: int) -> tuple[Look, ...]:
    return tuple(CURVES[at % len(CURVES)] for at in range(count))


def _done(side: Side, crank: Array) -> Array:
    """Part of the stroke that the piston is from the front."""
    piston = Piston.of(side.gear)
    return np.asarray(piston.from_front(crank[:, None])[:, 0] / piston.stroke[0])


def _opening(side: Side, position: float, end: int) -> tuple[Array, Array]:
    """Per cent of the working stroke and opening to steam at one end; closed is nil."""
    piston = Piston.of(side.gear)
    dead = [float(piston.front_dead_centre[0]), float(piston.back_dead_centre[0])]
    sense = -1.0 if position < 0 else 1.0
    whole = (sense * (dead[1 - end] - dead[end])) % (2 * np.pi)
    crank = dead[end] + sense * np.linspace(0.0, whole, ANGLES)
    done = _done(side, crank)
    moved = side.valve.opening_senses()[end] * valve_motion(side, crank, position) - first_sample(
        side.valve.laps()[end]
    )
    return 100.0 * (done if end == 0 else 1.0 - done), np.maximum(moved, 0.0)


def _steam_edges(side: Side) -> dict[str, float]:
    """Valve displacement at which each port opens to steam."""
    return {
        end: sense * first_sample(lap)
        for end, sense, lap in zip(ENDS, side.valve.opening_senses(), side.valve.laps(), strict=True)
    }


def _scale(low: float, high: float, tall: float) -> Callable[[float], float]:
    return lambda value: tall * (value - low) / (high - low)


def _points(across: Array, up: list[float]) -> tuple[Point, ...]:
    return tuple(zip(across.tolist(), up, strict=True))


def _frame(tall: float) -> list[Stroke]:
    quarters: list[Stroke] = [Line(x, 0.0, x, tall, "soft") for x in (25.0, 50.0, 75.0)]
    return [*quarters, Polyline(((0.0, 0.0), (WIDE, 0.0), (WIDE, tall), (0.0, tall)), "thin", closed=True)]


def _below(ticks: tuple[str, ...], words: str) -> list[Stroke]:
    step = WIDE / (len(ticks) - 1)
    marks: list[Stroke] = [Label(t, at * step, 0.0, 11.0, stand="below", dy_px=-3.0) for at, t in enumerate(ticks)]
    return [*marks, Label(words, WIDE / 2, 0.0, 12.0, stand="below", dy_px=-19.0)]


def _left(most: float, up: Callable[[float], float], words: str, low: float | None = None) -> list[Stroke]:
    step = next(s for s in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if most / s <= 4.2)
    count = math.floor(most / step)
    first = 0 if low is not None else -count
    found: list[Stroke] = []
    for at in range(first, count + 1):
        found.append(Label(f"{at * step:g}", 0.0, up(at * step), 11.0, "end", dx_px=-4.0, figure=True))
        found.append(Line(0.0, up(at * step), WIDE, up(at * step), "soft"))
    middle = 0.5 * (up(most) + up(0.0 if low is not None else -most))
    return [*found, Label(words, 0.0, middle, 12.0, "middle", "above", turned=True, dx_px=-32.0)]


def _corner(text: str, x: float, y: float, anchor: Anchor, stand: Stand, dy_px: float) -> Label:
    return Label(text, x, y, 11.0, anchor, stand, dy_px=dy_px, paper=True)


def _key(shown: tuple[float, ...], tall: float) -> list[Stroke]:
    """Which line is which reverser position, three to a row above the diagram."""
    found: list[Stroke] = []
    for at, (look, position) in enumerate(zip(_looks(len(shown)), shown, strict=True)):
        row, column = divmod(at, 3)
        x, y = 34.0 * column, tall + 4.5 + 6.0 * row
        found += [Line(x, y, x + 9.0, y, look), Label(_at(position), x + 10.5, y, 11.0, "start", figure=True)]
    return found


def _head(head: str, text: str, tall: float, shown: tuple[float, ...]) -> list[Stroke]:
    top = tall + 8.0 + 6.0 * max(0, math.ceil(len(shown) / 3) - 1)
    return _caption(head, text, WIDE / 2, top, dy_px=2.0)


def _caption(head: str, text: str, middle: float, top: float, dy_px: float = 12.0) -> list[Stroke]:
    """What is seen, over the picture: which side and sizes, and above it what it shows."""
    return [
        Label(head, middle, top, 12.0, stand="above", dy_px=dy_px),
        Label(text, middle, top, 13.0, stand="above", dy_px=dy_px + 16.0, strong=True),
    ]


def _wrapped(text: str, y: float, width: int = 48) -> list[Stroke]:
    import textwrap  # noqa: PLC0415

    return [
        Label(line, 0.0, y, 11.0, stand="below", dy_px=-14.0 * at)
        for at, line in enumerate(textwrap.wrap(text, width, break_on_hyphens=False))
    ]


Drawing = Callable[[Side, tuple[float, ...], float, float, str], tuple[Stroke, ...]]
DRAWN: Final[Mapping[str, Drawing]] = {
    "oval": oval, "openings": openings, "polar": polar, "gear": gear_at, "sweeps": sweep,
}  # fmt: skip
TITLES: Final[Mapping[str, str]] = {
    "oval": "valve displacement against piston position", "openings": "port openings over the stroke",
    "polar": "polar valve diagram", "gear": "the gear", "sweeps": "what the links sweep",
}  # fmt: skip

__all__ = ["DRAWN", "gear_at", "openings", "oval", "polar", "strokes_of", "sweep", "title_of", "write_picture"]
