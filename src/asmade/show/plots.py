"""Plots: axes with figures that can be read, laid out in px for a width, with a mark that a page may move along."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from asmade.measure.errors import OutOfRange
from asmade.show.strokes import Label, Line, Picture, Polyline, Stroke, lay_out, svg

TEXT_PX: Final = 11.5
SIDE_PX: Final = 6.0
"""Left free at the edges of a plot, see ``lay_out``."""


@dataclass(frozen=True, slots=True)
class Axes:
    """A frame in px (y up) and the values at its edges."""

    left: float
    bottom: float
    right: float
    top: float
    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def __post_init__(self) -> None:
        """Refuse axes of no length."""
        if not (self.right > self.left and self.top > self.bottom):
            raise OutOfRange("frame of a plot", got=(self.right - self.left, self.top - self.bottom),
                             allowed="more than 0 px wide and high")  # fmt: skip
        if not (self.x_high > self.x_low and self.y_high > self.y_low):
            raise OutOfRange("axis of a plot", got=(self.x_high - self.x_low, self.y_high - self.y_low),
                             allowed="more than nothing from end to end")  # fmt: skip

    def x(self, value: float) -> float:
        """Where a value stands across."""
        return self.left + (self.right - self.left) * (value - self.x_low) / (self.x_high - self.x_low)

    def y(self, value: float) -> float:
        """Where a value stands up."""
        return self.bottom + (self.top - self.bottom) * (value - self.y_low) / (self.y_high - self.y_low)

    def frame(self) -> Stroke:
        """Its outline."""
        corners = ((self.left, self.bottom), (self.right, self.bottom), (self.right, self.top), (self.left, self.top))
        return Polyline(corners, "soft", closed=True)

    def across(self, ticks: Sequence[tuple[float, str]], *, words: str = "", lines: bool = True) -> list[Stroke]:
        """Figures under the frame, and what they are."""
        found: list[Stroke] = []
        for value, text in ticks:
            x = self.x(value)
            if lines and self.x_low < value < self.x_high:
                found.append(Line(x, self.bottom, x, self.top, "soft"))
            found.append(Line(x, self.bottom, x, self.bottom - 4.0, "thin"))
            found.append(Label(text, x, self.bottom - 8.0, TEXT_PX, stand="below", figure=True))
        if words:
            found.append(Label(words, (self.left + self.right) / 2, self.bottom - 25.0, 12.0, stand="below"))
        return found

    def upwards(self, ticks: Sequence[tuple[float, str]], *, words: str = "", lines: bool = True) -> list[Stroke]:
        """Figures beside the frame, and what they are."""
        found: list[Stroke] = []
        for value, text in ticks:
            y = self.y(value)
            if lines and self.y_low < value < self.y_high:
                found.append(Line(self.left, y, self.right, y, "soft"))
            found.append(Label(text, self.left - 5.0, y, TEXT_PX, "end", figure=True))
        if words:
            long = max((len(text) for _, text in ticks), default=0)
            found.append(Label(words, self.left - 11.0 - 6.8 * long, (self.bottom + self.top) / 2, 12.0, stand="above",
                               turned=True))  # fmt: skip
        return found


def ticks(low: float, high: float, most: int = 6) -> tuple[tuple[float, str], ...]:
    """Round values from ``low`` to ``high``, at most so many, with as many figures as their step needs.

    Steps are 1, 2 or 5 times a power of ten.
    """
    if not (math.isfinite(low) and math.isfinite(high) and high > low) or most < 2:
        raise OutOfRange("ticks", got=(low, high, most), allowed="two ends, the second greater, and 2 or more")
    rough = (high - low) / most
    power = math.floor(math.log10(rough))
    step = next(k * 10.0**power for k in (1.0, 2.0, 5.0, 10.0) if k * 10.0**power >= rough * (1 - 1e-9))
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple((at * step, f"{at * step + 0.0:.{places}f}") for at in range(first, last + 1))


@dataclass(frozen=True, slots=True)
class Plot:
    """Strokes in px, and between which places (px) a mark over a turn, or a stroke, goes."""

    strokes: tuple[Stroke, ...]
    mark: Axes | None = None


def plot_svg(plot: Plot, *, width_px: float, title: str, at: float | None = None) -> str:
    """SVG text of a plot; with a mark at ``at`` (0 to 1 of its way across) that a page may move."""
    picture: Picture = lay_out(plot.strokes, width_px, margin_px=SIDE_PX, most_px_per_mm=1.0)
    text = svg(picture, title=title)
    if plot.mark is None or at is None:
        return text
    from_, to = plot.mark.left, plot.mark.right
    x = from_ + (to - from_) * at
    mark = (
        f'<g class="cursor" data-from="{from_:.2f}" data-to="{to:.2f}" transform="translate({x:.2f} 0)">'
        f'<path d="M0 {-plot.mark.top:.2f}V{-plot.mark.bottom:.2f}" stroke="#000" stroke-width="1.5" '
        f'vector-effect="non-scaling-stroke"/></g>'
    )
    return text.replace("</svg>", f"{mark}</svg>")
