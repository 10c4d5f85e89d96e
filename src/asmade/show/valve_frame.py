"""What all diagrams of a valve gear share: frame, ticks, key and captions."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.motion.valves.engine import Side
from asmade.motion.valves.events import usual_positions
from asmade.show.strokes import Label, Line, Polyline, Stroke
from asmade.show.strokes.kinds import Anchor, Look, Stand

Array = NDArray[np.float64]
Point = tuple[float, float]

WIDE: Final = 100.0
"""Width of a diagram; its other measures are in the same unit."""
CURVES: Final[tuple[Look, ...]] = ("bold", "outline", "close", "thin", "hidden")
SHOWN: Final = (1.0, 0.5, 0.0)


def reverser(position: float) -> str:
    """A reverser position in figures."""
    return f"{position:+.2f}" if position else "0.00"


def shown_at(side: Side, positions: tuple[float, ...]) -> tuple[float, ...]:
    """The reverser positions asked for, or those usual for the gear."""
    return positions or usual_positions(side, SHOWN)


def looks(count: int) -> tuple[Look, ...]:
    """A look for each curve, over again after five."""
    return tuple(CURVES[at % len(CURVES)] for at in range(count))


def scale(low: float, high: float, tall: float) -> Callable[[float], float]:
    """From a value to its height in a diagram so tall."""
    return lambda value: tall * (value - low) / (high - low)


def points(across: Array, up: list[float]) -> tuple[Point, ...]:
    """Corners of a curve."""
    return tuple(zip(across.tolist(), up, strict=True))


def frame(tall: float) -> list[Stroke]:
    """The frame of a diagram, its quarters marked."""
    quarters: list[Stroke] = [Line(x, 0.0, x, tall, "soft") for x in (25.0, 50.0, 75.0)]
    return [*quarters, Polyline(((0.0, 0.0), (WIDE, 0.0), (WIDE, tall), (0.0, tall)), "thin", closed=True)]


def below(ticks: tuple[str, ...], words: str) -> list[Stroke]:
    """Ticks and words under a diagram."""
    step = WIDE / (len(ticks) - 1)
    marks: list[Stroke] = [Label(t, at * step, 0.0, 11.0, stand="below", dy_px=-3.0) for at, t in enumerate(ticks)]
    return [*marks, Label(words, WIDE / 2, 0.0, 12.0, stand="below", dy_px=-19.0)]


def left(most: float, up: Callable[[float], float], words: str, low: float | None = None) -> list[Stroke]:
    """Ticks and words at the left of a diagram, by round steps."""
    step = next(s for s in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if most / s <= 4.2)
    count = math.floor(most / step)
    first = 0 if low is not None else -count
    found: list[Stroke] = []
    for at in range(first, count + 1):
        found.append(Label(f"{at * step:g}", 0.0, up(at * step), 11.0, "end", dx_px=-4.0, figure=True))
        found.append(Line(0.0, up(at * step), WIDE, up(at * step), "soft"))
    middle = 0.5 * (up(most) + up(0.0 if low is not None else -most))
    return [*found, Label(words, 0.0, middle, 12.0, "middle", "above", turned=True, dx_px=-32.0)]


def corner(text: str, x: float, y: float, anchor: Anchor, stand: Stand, dy_px: float) -> Label:
    """Words in a corner or at a rim, on a white ground."""
    return Label(text, x, y, 11.0, anchor, stand, dy_px=dy_px, paper=True)


def key(shown: tuple[float, ...], tall: float) -> list[Stroke]:
    """Which line is which reverser position, three to a row above the diagram."""
    found: list[Stroke] = []
    for at, (look, position) in enumerate(zip(looks(len(shown)), shown, strict=True)):
        row, column = divmod(at, 3)
        x, y = 34.0 * column, tall + 4.5 + 6.0 * row
        found += [Line(x, y, x + 9.0, y, look), Label(reverser(position), x + 10.5, y, 11.0, "start", figure=True)]
    return found


def heading(head: str, text: str, tall: float, shown: tuple[float, ...]) -> list[Stroke]:
    """What is seen, above the key of a diagram."""
    top = tall + 8.0 + 6.0 * max(0, math.ceil(len(shown) / 3) - 1)
    return caption(head, text, WIDE / 2, top, dy_px=2.0)


def caption(head: str, text: str, middle: float, top: float, dy_px: float = 12.0) -> list[Stroke]:
    """What is seen, over the picture: which side and sizes, and above it what it shows."""
    return [
        Label(head, middle, top, 12.0, stand="above", dy_px=dy_px),
        Label(text, middle, top, 13.0, stand="above", dy_px=dy_px + 16.0, strong=True),
    ]


def wrapped(text: str, y: float, width: int = 48) -> list[Stroke]:
    """A note of several lines."""
    import textwrap  # noqa: PLC0415

    return [
        Label(line, 0.0, y, 11.0, stand="below", dy_px=-14.0 * at)
        for at, line in enumerate(textwrap.wrap(text, width, break_on_hyphens=False))
    ]
