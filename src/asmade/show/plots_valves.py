"""Valve diagrams of several sides or sizes laid over one another: the oval, port opening over the stroke, the polar."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.motion.valves.engine import ENDS, Side, first_sample
from asmade.motion.valves.events import events, valve_motion
from asmade.motion.valves.piston import Piston
from asmade.show.plots import TEXT_PX, Axes, Plot, ticks
from asmade.show.strokes import Circle, Label, Line, Polyline, Stroke
from asmade.show.strokes.kinds import Anchor, Look

Array = NDArray[np.float64]
ANGLES: Final = 181
LOOKS: Final[tuple[Look, ...]] = ("bold", "close", "thin", "hidden")
"""Of the curves in the order they are given."""
_LEFT = 50.0
_STROKE: Final = tuple((float(at), str(at)) for at in (0, 25, 50, 75, 100))


@dataclass(frozen=True, slots=True)
class Curve:
    """One side at one kind of sizes, by its name."""

    name: str
    side: Side


@dataclass(frozen=True, slots=True, eq=False)
class Opening:
    """Port opening of one end over its working stroke, never under nil.

    ``opening_mm``: at each per cent from 0 to 100; ``curve_per_cent``, ``curve_mm``: the same, evenly over the crank.
    """

    end: str
    opening_mm: Array
    curve_per_cent: Array
    curve_mm: Array


def opening_over_stroke(side: Side, position: float, end: int) -> Opening:
    """Opening to steam of one end, not more than the port is wide, at each per cent of its working stroke."""
    piston = Piston.of(side.gear)
    dead = [float(piston.front_dead_centre[0]), float(piston.back_dead_centre[0])]
    sense = -1.0 if position < 0 else 1.0
    whole = (sense * (dead[1 - end] - dead[end])) % (2 * np.pi)
    crank = dead[end] + sense * np.linspace(0.0, whole, 2 * ANGLES - 1)
    done = np.asarray(piston.from_front(crank[:, None])[:, 0] / piston.stroke[0])
    across = 100.0 * (done if end == 0 else 1.0 - done)
    senses, laps, ports = side.valve.opening_senses(), side.valve.laps(), side.valve.ports()
    moved = senses[end] * valve_motion(side, crank, position) - first_sample(laps[end])
    opened = np.clip(moved, 0.0, first_sample(ports[end]))
    return Opening(ENDS[end], np.interp(np.arange(101.0), across, opened), across, opened)


def oval_plot(curves: Sequence[Curve], position: float, width_px: float) -> Plot:
    """Valve against piston, a closed curve for each; beyond a dashed line the port of that end is open to steam."""
    crank = np.linspace(0.0, 2 * np.pi, ANGLES)
    across = [100.0 * (1.0 - _done(curve.side, crank)) for curve in curves]
    moved = [valve_motion(curve.side, crank, position) for curve in curves]
    most = 1.15 * max(float(np.nanmax(np.abs(each))) for each in moved)
    axes = Axes(_LEFT, 0.0, width_px - 12.0, 0.62 * (width_px - 62.0), 0.0, 100.0, -most, most)
    strokes: list[Stroke] = [axes.frame(), *axes.upwards(ticks(-most, most, 7))]
    strokes += axes.across([(0.0, "back"), (25.0, "25"), (50.0, "50"), (75.0, "75"), (100.0, "front")],
                           words="piston, per cent of stroke")  # fmt: skip
    strokes.append(Label("valve ahead of its middle, mm", axes.left, axes.top, TEXT_PX, "start", "above", dy_px=4.0))
    strokes += _edges(axes, curves[0].side, moved[0], across[0])
    for look, x, y in zip(LOOKS, across, moved, strict=False):
        if np.isfinite(y).all():
            strokes.append(Polyline(_points(axes, x, y), look, closed=True))
    return Plot(tuple(strokes))


def _edges(axes: Axes, side: Side, moved: Array, across: Array) -> list[Stroke]:
    """Where each port opens to steam, with its name in the corner that the oval leaves free."""
    found: list[Stroke] = []
    falls = bool(moved[int(across.argmin())] > moved[int(across.argmax())])
    for end, sense, lap in zip(ENDS, side.valve.opening_senses(), side.valve.laps(), strict=True):
        at = sense * first_sample(lap)
        if not axes.y_low < at < axes.y_high:
            continue
        found.append(Line(axes.left, axes.y(at), axes.right, axes.y(at), "hidden"))
        right = (at > 0) == falls
        x, anchor = (axes.right - 4.0, "end") if right else (axes.left + 4.0, "start")
        y, dy = (axes.top, -9.0) if at > 0 else (axes.bottom, 9.0)
        where: Anchor = "end" if anchor == "end" else "start"
        found.append(Label(f"{end} port open", x, y, TEXT_PX, where, dy_px=dy, paper=True))
    return found


def differences_plot(curves: Sequence[Curve], position: float, width_px: float) -> Plot:
    """How far each valve but the first stands ahead of the first's, over the turn of their own cranks."""
    crank = np.linspace(0.0, 2 * np.pi, ANGLES)
    moved = [valve_motion(curve.side, crank, position) for curve in curves]
    apart = [each - moved[0] for each in moved[1:]]
    most = max(0.05, 1.2 * max(float(np.nanmax(np.abs(each))) for each in apart))
    axes = Axes(_LEFT, 0.0, width_px - 12.0, 0.5 * (width_px - 62.0), 0.0, 360.0, -most, most)
    strokes: list[Stroke] = [axes.frame(), *axes.upwards(ticks(-most, most, 6))]
    strokes += axes.across([(float(a), f"{a}°") for a in (0, 90, 180, 270, 360)], words="crank past front dead centre")
    strokes.append(Label("valve ahead of the first, mm", axes.left, axes.top, TEXT_PX, "start", "above", dy_px=4.0))
    strokes.append(Line(axes.left, axes.y(0.0), axes.right, axes.y(0.0), "bold"))
    degrees = np.degrees(crank)
    strokes += [
        Polyline(_points(axes, degrees, each), look)
        for look, each in zip(LOOKS[1:], apart, strict=False)
        if np.isfinite(each).all()
    ]
    return Plot(tuple(strokes))


def openings_plot(curves: Sequence[Curve], position: float, end: int, width_px: float) -> Plot:
    """Opening of one end over its working stroke, a curve for each; a dashed line where the port is wide open."""
    found = [opening_over_stroke(curve.side, position, end) for curve in curves]
    port = first_sample(curves[0].side.valve.ports()[end])
    most = 1.15 * max(port, *(float(each.curve_mm.max()) for each in found), 0.1)
    axes = Axes(_LEFT, 0.0, width_px - 12.0, 0.5 * (width_px - 62.0), 0.0, 100.0, 0.0, most)
    strokes: list[Stroke] = [axes.frame(), *axes.upwards(ticks(0.0, most, 5))]
    strokes += axes.across(_STROKE, words="working stroke, per cent")
    strokes.append(Label(f"{ENDS[end]} port open, mm", axes.left, axes.top, TEXT_PX, "start", "above", dy_px=4.0))
    strokes.append(Line(axes.left, axes.y(port), axes.right, axes.y(port), "hidden"))
    for look, each in zip(LOOKS, found, strict=False):
        opened = each.curve_mm
        if np.isfinite(opened).all() and opened.max() > 0:
            last = min(int(np.flatnonzero(opened > 0)[-1]) + 2, opened.size)
            strokes.append(Polyline(_points(axes, each.curve_per_cent[:last:2], opened[:last:2]), look))
    return Plot(tuple(strokes), axes)


def polar_plot(curves: Sequence[Curve], position: float, width_px: float) -> Plot:
    """Along each crank how far the valve stands from its middle, two loops for each; over the lap circle it opens.

    Events of the first curve at the front end as rays: a admission, c cut-off, r release, k compression. The crank
    turns the way it runs, clockwise. Source of the form: Zeuner.
    """
    crank = np.linspace(0.0, 2 * np.pi, ANGLES)
    sense = -1.0 if position < 0 else 1.0
    moved = [valve_motion(curve.side, sense * crank, position) for curve in curves]
    most = max(float(np.nanmax(np.abs(each))) for each in moved)
    rim = 0.5 * (width_px - 100.0)
    per_mm = 0.94 * rim / most
    first = curves[0].side
    strokes: list[Stroke] = [
        Circle(0.0, 0.0, rim, "soft"), Line(-rim - 8.0, 0.0, rim + 8.0, 0.0, "soft"),
        Line(0.0, -rim - 8.0, 0.0, rim + 8.0, "soft"),
    ]  # fmt: skip
    laps = sorted({first_sample(each) for each in first.valve.laps()})
    strokes += [Circle(0.0, 0.0, lap * per_mm, "hidden") for lap in laps if lap > 0]
    for look, each in zip(LOOKS, moved, strict=False):
        if not np.isfinite(each).all():
            continue
        for sign in (1.0, -1.0):
            loop = np.maximum(sign * each, 0.0) * per_mm
            points = tuple((float(r * math.cos(a)), float(-r * math.sin(a))) for r, a in zip(loop, crank, strict=True))
            strokes.append(Polyline(points, look, closed=True))
    strokes += _rays(first, position, sense, rim)
    strokes.append(Label("front", rim + 24.0, -rim, TEXT_PX, "end"))
    strokes.append(Label("back", -rim - 24.0, -rim, TEXT_PX, "start"))
    return Plot(tuple(strokes))


_LETTERS: Final = {"admission": "a", "cutoff": "c", "release": "r", "compression": "k"}
_CLOSE_RAD: Final = math.radians(10.0)


def _rays(side: Side, position: float, sense: float, rim: float) -> list[Stroke]:
    found_events = events(side, (position,), details=False)
    dead = float(Piston.of(side.gear).front_dead_centre[0])
    turned = []
    for name, letter in _LETTERS.items():
        angle = sense * dead + float(getattr(found_events, name).crank_rad[0, 0, 0])
        if math.isfinite(angle):
            turned.append((angle % (2 * math.pi), letter))
    turned.sort()
    found: list[Stroke] = []
    for at, (angle, letter) in enumerate(turned):
        x, y = math.cos(angle), -math.sin(angle)
        found.append(Line(0.0, 0.0, rim * x, rim * y, "thin"))
        near = at > 0 and angle - turned[at - 1][0] < _CLOSE_RAD
        out = rim + (24.0 if near else 11.0)
        found.append(Label(letter, out * x, out * y, 12.0, figure=True, strong=True, paper=True))
    return found


def _done(side: Side, crank: Array) -> Array:
    piston = Piston.of(side.gear)
    return np.asarray(piston.from_front(crank[:, None])[:, 0] / piston.stroke[0])


def _points(axes: Axes, across: Array, up: Array) -> tuple[tuple[float, float], ...]:
    return tuple((axes.x(float(a)), axes.y(float(b))) for a, b in zip(across, up, strict=True))
