"""Slack left over a turn of the coupled wheels: a lane for each section, the tight places marked side by side."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.show.strokes import Circle, Label, Line, Polyline, Stroke
from asmade.show.width_stack import MARKS
from asmade.verbs.wheels import Held, Section, State, WheelsResult

_WIDE: Final = 80.0  # mm that a turn is wide
_HIGH: Final = 30.0  # mm that a lane is high
_STRIP: Final = 4.6  # mm for the mark of one side
_BETWEEN: Final = 17.0  # mm between lanes: strips and figures of the angles
_TICKS: Final = (0, 90, 180, 270, 360)
MOST_PX_PER_MM: Final = 7.0
"""Drawn no larger than this: on a desk it would fill the page. For ``lay_out`` and ``svg``."""


def slack_picture(result: WheelsResult) -> tuple[Stroke, ...]:
    """Strokes of the slack left in every section over the turn, boxes blocked (bold) and free (dashed).

    Below each lane a strip for each side shows where its rod holds with less than the slack wanted: filled where the
    rod is too long, open where it is too short, a bar where neither can be said.
    """
    profile = result.profile
    every = [profile.blocked] if profile.free is None else [profile.blocked, profile.free]
    known = np.concatenate([each[~np.isnan(each)] for each in every] + [np.array([0.0, result.wanted_mm])])
    low, high = float(known.min()), float(known.max())
    spare = 0.08 * max(high - low, 0.01)
    scale = _HIGH / (high - low + 2 * spare)
    strokes: list[Stroke] = []
    for at, section in enumerate(result.sections):
        lane = _Lane(result, at, section, -at * (_HIGH + 2 * _STRIP + _BETWEEN), low - spare, scale)
        strokes += lane.strokes()
    foot = -(len(result.sections) - 1) * (_HIGH + 2 * _STRIP + _BETWEEN) - 2 * _STRIP - 6
    strokes.append(Label("right crank past its front dead centre", _WIDE / 2, foot, stand="below",
                         dy_px=-16.0))  # fmt: skip
    words = "bold: boxes blocked" + ("" if profile.free is None else "; dashed: boxes free")
    strokes.append(Label(words, _WIDE / 2, foot, stand="below", dy_px=-32.0))
    if profile.held:
        strokes.append(Label("strips: rod long (filled) or short (open)", _WIDE / 2, foot, stand="below",
                             dy_px=-48.0))  # fmt: skip
    return tuple(strokes)


class _Lane:
    """One section: its curve, its lines, the strips of both sides."""

    def __init__(self, result: WheelsResult, at: int, section: Section, base: float, low: float, scale: float) -> None:
        self.result, self.at, self.section = result, at, section
        self.base, self.low, self.scale = base, low, scale

    def y(self, slack: float) -> float:
        return self.base + (slack - self.low) * self.scale

    @staticmethod
    def x(angle: float) -> float:
        return _WIDE * angle / (2 * math.pi)

    def strokes(self) -> list[Stroke]:
        top = self.base + _HIGH
        found: list[Stroke] = [
            Polyline(((0, self.base), (_WIDE, self.base), (_WIDE, top), (0, top)), "soft", closed=True),
            Label(self.title(), 0.0, top, anchor="start", stand="above", dy_px=4.0, strong=True),
        ]
        zero = self.y(0.0)
        found += [Line(0, zero, _WIDE, zero, "thin"), Label("0", 0.0, zero, anchor="end", dx_px=-4.0, figure=True)]
        if self.result.wanted_mm > 0:
            wanted = self.y(self.result.wanted_mm)
            figure = f"{self.result.wanted_mm:.3f}"
            found += [Line(0, wanted, _WIDE, wanted, "centre"),
                      Label(figure, _WIDE, wanted, size_px=11.0, anchor="start", dx_px=4.0, figure=True)]  # fmt: skip
        blocked = self.result.profile.blocked[self.at]
        if np.isnan(blocked).any():
            found.append(Label("not known", _WIDE / 2, self.base + _HIGH / 2, strong=True, paper=True))
            return found + self.strips()
        found += self.shade()
        if self.result.profile.free is not None and not np.isnan(self.result.profile.free[self.at]).any():
            found.append(self.curve(self.result.profile.free[self.at], "close"))
        found.append(self.curve(blocked, "bold"))
        return found + self.strips() + self.mark()

    def title(self) -> str:
        state = self.result.state(self.section)
        if state is None:
            return f"section {self.section.section}"
        mark = MARKS.get(state.verdict, "?")
        rod = f", {state.rods[0][0]}" if state.rods else ""
        at = f"{math.degrees(state.at_rad):.0f}°"
        return f"section {self.section.section}: {mark} {state.verdict}, {state.slack_mm:+.3f} mm at {at}{rod}"

    def curve(self, slack: NDArray[np.float64], look: str) -> Polyline:
        points = tuple(
            (self.x(float(a)), self.y(float(s))) for a, s in zip(self.result.profile.angles_rad, slack, strict=True)
        )
        return Polyline(points, "bold" if look == "bold" else "close")

    def asked(self) -> NDArray[np.float64]:
        profile = self.result.profile
        every = profile.blocked if self.result.boxes == "blocked" or profile.free is None else profile.free
        return np.asarray(every[self.at])

    def shade(self) -> list[Stroke]:
        """Filled between what is wanted and the curve, where there is less."""
        slack, angles, wanted = self.asked(), self.result.profile.angles_rad, self.result.wanted_mm
        found: list[Stroke] = []
        under = slack < wanted - 1e-9
        edges = np.flatnonzero(np.diff(np.concatenate([[0], under.astype(int), [0]])))
        for start, end in zip(edges[::2], edges[1::2], strict=True):
            some = range(start, end)
            if len(some) < 2:
                continue
            curve = [(self.x(float(angles[k])), self.y(float(slack[k]))) for k in some]
            level = [(curve[-1][0], self.y(wanted)), (curve[0][0], self.y(wanted))]
            found.append(Polyline((*curve, *level), "soft", closed=True, fill="deep"))
        return found

    def strips(self) -> list[Stroke]:
        found: list[Stroke] = []
        for row, side in enumerate(("L", "R")):
            top = self.base - 1.0 - row * _STRIP
            found.append(Label(side, 0.0, top - _STRIP / 2, size_px=11.0, anchor="end", dx_px=-4.0))
            found.append(Line(0, top - _STRIP / 2, _WIDE, top - _STRIP / 2, "soft"))
            for held in self.result.profile.held:
                if held.section == self.section.section and held.side == side:
                    found += self.bars(held, top)
        foot = self.base - 1.0 - 2 * _STRIP
        for tick in _TICKS:
            x = _WIDE * tick / 360
            found.append(Line(x, self.base, x, self.base - 1.0, "thin"))
            found.append(Label(f"{tick}°", x, foot, size_px=11.0, stand="below", dy_px=-2.0, figure=True))
        return found

    def bars(self, held: Held, top: float) -> list[Stroke]:
        ends = [(held.start_rad, held.end_rad)]
        if held.start_rad < 0:
            ends = [(0.0, held.end_rad), (2 * math.pi + held.start_rad, 2 * math.pi)]
        found: list[Stroke] = []
        for start, end in ends:
            left, right = self.x(start), self.x(min(end, 2 * math.pi))
            middle, half = top - _STRIP / 2, _STRIP * 0.36 if held.says != "tight" else _STRIP * 0.12
            box = ((left, middle - half), (right, middle - half), (right, middle + half), (left, middle + half))
            found.append(Polyline(box, "thin", closed=True, fill="paper" if held.says == "too short" else "solid"))
        return found

    def mark(self) -> list[Stroke]:
        """A dot at the tightest place, whose angle stands in the title."""
        state: State | None = self.result.state(self.section)
        if state is None:
            return []
        slack = float(np.interp(state.at_rad, self.result.profile.angles_rad, self.asked()))
        return [Circle(self.x(state.at_rad), self.y(slack), 0.7, "thin", "solid")]
