"""Diagrams of what a valve does: the oval, port openings over the stroke, the polar diagram."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from asmade.motion.valves.engine import ENDS, Side, first_sample
from asmade.motion.valves.events import events, valve_motion
from asmade.motion.valves.piston import Piston
from asmade.show.strokes import Circle, Label, Line, Polyline, Stroke
from asmade.show.strokes.kinds import Anchor, Look, Stand
from asmade.show.valve_frame import (
    WIDE,
    Array,
    below,
    caption,
    corner,
    frame,
    heading,
    key,
    left,
    looks,
    points,
    reverser,
    scale,
    shown_at,
    wrapped,
)

ANGLES: Final = 361


def oval(side: Side, positions: tuple[float, ...], _crank: float, _flip: float, head: str) -> tuple[Stroke, ...]:
    """Valve displacement against piston position: one closed curve for each reverser position.

    Beyond a dashed line the port of that end is open to steam.
    """
    shown = shown_at(side, positions)
    crank = np.linspace(0.0, 2 * np.pi, ANGLES)
    across = 100.0 * (1.0 - _done(side, crank))
    curves = [valve_motion(side, crank, position) for position in shown]
    most = 1.12 * max(float(np.abs(curve).max()) for curve in curves)
    tall = 66.0
    up = scale(-most, most, tall)
    strokes: list[Stroke] = [*frame(tall), *below(("back", "25", "50", "75", "front"), "piston, per cent of stroke")]
    strokes += left(most, up, "valve ahead of its middle, mm")
    falls = bool(curves[0][int(across.argmin())] > curves[0][int(across.argmax())])
    for end, at in _steam_edges(side).items():
        strokes.append(Line(0.0, up(at), WIDE, up(at), "hidden"))
        free_right = (at > 0) == falls  # the corner that the oval leaves free
        x: float = WIDE - 1.0 if free_right else 1.0
        anchor: Anchor = "end" if free_right else "start"
        above = at > 0
        strokes.append(corner(f"{end} port open", x, tall if above else 0.0, anchor, "below" if above else "above",
                               -3.0 if above else 3.0))  # fmt: skip
    for look, curve in zip(looks(len(shown)), curves, strict=True):
        strokes.append(Polyline(points(across, [up(v) for v in curve.tolist()]), look, closed=True))
    return (*strokes, *key(shown, tall), *heading(head, "valve and piston", tall, shown))


def openings(side: Side, positions: tuple[float, ...], _crank: float, _flip: float, head: str) -> tuple[Stroke, ...]:
    """Port opening over the working stroke, front solid, back dashed; not more than the port is open."""
    shown = shown_at(side, positions)
    found = events(side, shown, details=False)
    ports = [first_sample(port) for port in side.valve.ports()]
    most = 1.12 * max(*ports, 0.1)
    tall = 58.0
    up = scale(0.0, most, tall)
    strokes: list[Stroke] = [*frame(tall), *below(("0", "25", "50", "75", "100"), "working stroke, per cent")]
    strokes += left(most, up, "port open, mm", low=0.0)
    for port in sorted(set(ports)):
        strokes.append(Line(0.0, up(port), WIDE, up(port), "hidden"))
        strokes.append(Label("port wide open", WIDE - 1.0, up(port), 11.0, "end", "above", dy_px=1.0, paper=True))
    for position in shown:
        for end, look in enumerate(_ENDS_LOOK):
            across, open_ = _opening(side, position, end)
            open_to = int(np.flatnonzero(open_ > 0)[-1]) + 2 if (open_ > 0).any() else 0
            height = [up(v) for v in np.minimum(open_, ports[end]).tolist()]
            if open_to > 1:
                strokes.append(Polyline(points(across[:open_to], height[:open_to]), look))
    feet = np.nan_to_num(np.where(found.opens, found.cutoff.per_cent, 0.0)[..., 0])
    low = 0.3 * most
    limbs = [min(_comes_down(*_opening(side, p, end), low) for end in (0, 1)) for p in shown]
    named = [_Foot(float(e.max()), limb, reverser(p)) for e, limb, p in zip(feet, limbs, shown, strict=True)]
    strokes += _feet(named, up(low))
    return (*strokes, *heading(head, "port openings, front solid, back dashed", tall - 5.0, ()))


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
    above = caption(head, f"polar diagram at {reverser(position)}", 0.0, 62.0, dy_px=0.0)
    return (*strokes, *wrapped(foot, -60.0), *above)


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
        found.append(corner(" ".join(letter for _, letter in group), x, y, side, stand, 0.0))
    return found


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
