"""Slack left over a turn of the coupled wheels: a lane for each section, with the sides whose rods hold under it."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.show.plots import TEXT_PX, Axes, Plot, ticks
from asmade.show.strokes import Circle, Label, Line, Polyline, Stroke
from asmade.show.width_stack import MARKS
from asmade.verbs.wheels import Held, Section, WheelsResult

Array = NDArray[np.float64]
SIDES: Final = ("R", "L")
ANGLES: Final = (0, 90, 180, 270, 360)
_STRIP = 15.0
_HEAD = 22.0
_FOOT = 24.0
_LEFT = 50.0


def slack_plot(result: WheelsResult, width_px: float) -> Plot:
    """Strokes in px: blocked bold, free dashed, what is wanted a chain line; less than that is filled.

    Under each lane a strip for each side, where its rod holds with less slack than wanted: filled where the rod is too
    long, open where it is too short, a thin bar where neither can be said.
    """
    profile = result.profile
    every = [profile.blocked] if profile.free is None else [profile.blocked, profile.free]
    known = np.concatenate([each[~np.isnan(each)] for each in every] + [np.array([0.0, result.wanted_mm])])
    low, high = float(known.min()), float(known.max())
    spare = 0.1 * max(high - low, 0.01)
    tall = 0.17 * width_px if width_px > 400 else 0.42 * width_px
    lane = _HEAD + tall + len(SIDES) * _STRIP + _FOOT
    strokes: list[Stroke] = []
    right, last = width_px - 12.0, None
    for at, section in enumerate(result.sections):
        bottom = -at * lane
        last = Axes(_LEFT, bottom, right, bottom + tall, 0.0, 360.0, low - spare, high + spare)
        strokes += _lane(result, at, section, last)
    if last is None:
        return Plot((Label("no sections", 0.0, 0.0),))
    foot = last.bottom - len(SIDES) * _STRIP - _FOOT
    words = "right crank past its front dead centre, forward running" if width_px > 400 else "right crank"
    strokes.append(Label(words, (_LEFT + right) / 2, foot, 12.0, stand="below"))
    whole = Axes(_LEFT, last.bottom - len(SIDES) * _STRIP, right, tall, 0.0, 360.0, 0.0, 1.0)
    return Plot(tuple(strokes), whole)


def _lane(result: WheelsResult, at: int, section: Section, axes: Axes) -> list[Stroke]:
    found: list[Stroke] = [axes.frame()]
    found += axes.upwards(ticks(axes.y_low, axes.y_high, 4))
    found += [Line(axes.x(a), axes.bottom, axes.x(a), axes.top, "soft") for a in ANGLES[1:-1]]
    found.append(
        Label(
            _title(result, section, short=axes.right < 400),
            axes.left,
            axes.top,
            12.0,
            "start",
            "above",
            dy_px=5.0,
            strong=True,
        )
    )
    found.append(Line(axes.left, axes.y(0.0), axes.right, axes.y(0.0), "thin"))
    blocked = result.profile.blocked[at]
    free = result.profile.free[at] if result.profile.free is not None else None
    if np.isnan(blocked).any():
        found.append(Label("not known", (axes.left + axes.right) / 2, (axes.bottom + axes.top) / 2, paper=True))
    else:
        angles = np.degrees(result.profile.angles_rad)
        known_free = free if free is not None and not np.isnan(free).any() else None
        asked = known_free if result.boxes == "free" and known_free is not None else blocked
        found += _less(axes, angles, asked, result.wanted_mm)
        if known_free is not None:
            found.append(_curve(axes, angles, known_free, bold=False))
        found.append(_curve(axes, angles, blocked, bold=True))
        state = result.state(section)
        if state is not None:
            x = math.degrees(state.at_rad)
            found.append(Circle(axes.x(x), axes.y(float(np.interp(x, angles, asked))), 3.0, "thin", "solid"))
    if result.wanted_mm > 0:
        found.append(Line(axes.left, axes.y(result.wanted_mm), axes.right, axes.y(result.wanted_mm), "centre"))
    return found + _strips(result, section, axes)


def _title(result: WheelsResult, section: Section, *, short: bool) -> str:
    state = result.state(section)
    if state is None:
        return f"section {section.section}"
    verdict = f"{MARKS.get(state.verdict, '?')} {state.verdict}"
    at = f"{math.degrees(state.at_rad):.0f}°"
    if short:
        return f"{section.section}: {verdict}, {state.slack_mm:+.3f} at {at}"
    return f"section {section.section}: {verdict}, {state.slack_mm:+.3f} mm at {at}"


def _curve(axes: Axes, angles: Array, slack: Array, *, bold: bool) -> Polyline:
    points = tuple((axes.x(float(a)), axes.y(float(s))) for a, s in zip(angles[::2], slack[::2], strict=True))
    return Polyline(points, "bold" if bold else "close")


def _less(axes: Axes, angles: Array, slack: Array, wanted: float) -> list[Stroke]:
    """Filled between what is wanted and the curve, where there is less."""
    under = slack < wanted - 1e-9
    edges = np.flatnonzero(np.diff(np.concatenate([[0], under.astype(int), [0]])))
    found: list[Stroke] = []
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        if end - start < 2:
            continue
        curve = [(axes.x(float(angles[k])), axes.y(float(slack[k]))) for k in range(start, end)]
        level = [(curve[-1][0], axes.y(wanted)), (curve[0][0], axes.y(wanted))]
        found.append(Polyline((*curve, *level), "soft", closed=True, fill="deep"))
    return found


def _strips(result: WheelsResult, section: Section, axes: Axes) -> list[Stroke]:
    found: list[Stroke] = []
    for row, side in enumerate(SIDES):
        middle = axes.bottom - 3.0 - _STRIP * (row + 0.5)
        found.append(Label(f"rod {side}", axes.left - 5.0, middle, TEXT_PX, "end"))
        found.append(Line(axes.left, middle, axes.right, middle, "soft"))
        for held in result.profile.held:
            if held.section == section.section and held.side == side:
                found += _bars(held, axes, middle)
    foot = axes.bottom - 3.0 - len(SIDES) * _STRIP
    for angle in ANGLES:
        found.append(Line(axes.x(angle), axes.bottom, axes.x(angle), axes.bottom - 3.0, "thin"))
        found.append(Label(f"{angle}°", axes.x(angle), foot, TEXT_PX, stand="below", dy_px=-1.0, figure=True))
    return found


def _bars(held: Held, axes: Axes, middle: float) -> list[Stroke]:
    start, end = math.degrees(held.start_rad), math.degrees(held.end_rad)
    ends = [(start, end)] if start >= 0 else [(0.0, end), (360.0 + start, 360.0)]
    half = _STRIP * (0.32 if held.says != "tight" else 0.12)
    found: list[Stroke] = []
    for one, two in ends:
        left, right = axes.x(one), axes.x(min(two, 360.0))
        box = ((left, middle - half), (right, middle - half), (right, middle + half), (left, middle + half))
        found.append(Polyline(box, "thin", closed=True, fill="paper" if held.says == "too short" else "solid"))
    return found
