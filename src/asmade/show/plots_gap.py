"""The gap of one pair over a turn of the crank."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from asmade.show.plots import TEXT_PX, Axes, Plot, ticks
from asmade.show.strokes import Circle, Label, Line, Polyline, Stroke
from asmade.verbs.gap_turn import GapTurn
from asmade.verbs.gaps import NEAR_MM, PairResult

ANGLES: Final = (0, 90, 180, 270, 360)
_LEFT = 50.0


def gap_plot(pair: PairResult, turn: GapTurn, width_px: float) -> Plot:
    """Strokes in px: the gap up to a few mm more than wanted, what is wanted a chain line, the least one a dot."""
    wanted, least = pair.finding.pair.wanted_mm, float(turn.gap_mm.min())
    high = max(wanted, least) + NEAR_MM * 0.6
    low = min(0.0, least - 0.2)
    wide = width_px > 400
    axes = Axes(_LEFT, 0.0, width_px - 12.0, 0.2 * width_px if wide else 0.45 * width_px, 0.0, 360.0, low, high)
    strokes: list[Stroke] = [axes.frame()]
    strokes += axes.upwards(ticks(low, high, 5))
    words = "crank of this side past its front dead centre, forward running" if wide else "crank of this side"
    strokes += axes.across([(a, f"{a}°") for a in ANGLES], words=words)
    strokes.append(Label("gap, mm", axes.left, axes.top, TEXT_PX, "start", "above", dy_px=4.0))
    strokes.append(Line(axes.left, axes.y(wanted), axes.right, axes.y(wanted), "centre"))
    strokes += _curves(axes, turn, high)
    at = math.degrees(pair.finding.least.at_rad) % 360
    strokes.append(Circle(axes.x(at), axes.y(float(np.interp(at, turn.angles_deg, turn.gap_mm))), 3.0, "thin", "solid"))
    return Plot(tuple(strokes), axes)


def _curves(axes: Axes, turn: GapTurn, high: float) -> list[Stroke]:
    """Unbroken stretches of the curve that are low enough to be shown."""
    shown = turn.gap_mm <= high
    edges = np.flatnonzero(np.diff(np.concatenate([[0], shown.astype(int), [0]])))
    found: list[Stroke] = []
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        if end - start < 2:
            continue
        points = tuple((axes.x(float(turn.angles_deg[k])), axes.y(float(turn.gap_mm[k]))) for k in range(start, end))
        found.append(Polyline(points, "bold"))
    return found
