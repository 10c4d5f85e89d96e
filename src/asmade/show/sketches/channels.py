"""Channels of a block in its three views: notches where they are seen end on, edges seen or hidden elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from asmade.book.forms.block import FACES, Channel
from asmade.show.sketches.drawing import Drawing
from asmade.show.strokes.kinds import Look

_AXES: Final = ("along", "up", "across")
Corners = tuple[tuple[float, ...], tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class View:
    """A view of a block: which axis (along, up, across by number) lies level, which upright, and which face is seen.

    ``down``: the upright axis runs down the page. (x, y): where the block's middle is, px.
    """

    level: int
    upright: int
    seen: str
    x: float
    y: float
    scale: float
    down: bool = False

    @property
    def normal(self) -> str:
        """The axis that is looked along."""
        return _AXES[3 - self.level - self.upright]

    def box(self, corners: Corners) -> tuple[float, float, float, float]:
        """A box as it is seen: least x and y, greatest x and y, px."""
        (low, high), sign = corners, -1.0 if self.down else 1.0
        ys = sorted(self.y + sign * each[self.upright] * self.scale for each in (low, high))
        return self.x + low[self.level] * self.scale, ys[0], self.x + high[self.level] * self.scale, ys[1]


def draw_block(
    drawing: Drawing, view: View, size: tuple[float, float, float], channels: Sequence[tuple[Channel, Corners]]
) -> None:
    """The outline of a block in a view with its channels."""
    whole = view.box((tuple(-each / 2 for each in size), tuple(each / 2 for each in size)))
    gaps: list[tuple[float, float, float, float]] = []
    for channel, corners in channels:
        box = view.box(corners)
        if channel.runs == view.normal:
            gaps.append(box)
            _notch(drawing, box, whole)
        elif FACES[channel.face] == view.normal:
            look: Look = "outline" if channel.face == view.seen else "hidden"
            _edges(drawing, box, look, level=_AXES[view.level] == channel.runs)
        else:
            _floor(drawing, box, whole)
    x0, y0, x1, y1 = whole
    for y in (y0, y1):
        _side(
            drawing, (x0, x1), [(a, c) for a, b, c, d in gaps if abs((b if y == y0 else d) - y) < 1e-6], y, level=True
        )
    for x in (x0, x1):
        _side(
            drawing, (y0, y1), [(b, d) for a, b, c, d in gaps if abs((a if x == x0 else c) - x) < 1e-6], x, level=False
        )


def _side(
    drawing: Drawing, span: tuple[float, float], gaps: Sequence[tuple[float, float]], at: float, *, level: bool
) -> None:
    start = span[0]
    for low, high in (*sorted(gaps), (span[1], span[1])):
        if level:
            drawing.line(start, at, low, at)
        else:
            drawing.line(at, start, at, low)
        start = high


def _notch(drawing: Drawing, box: tuple[float, float, float, float], whole: tuple[float, float, float, float]) -> None:
    """The sides of a channel seen end on, but the open one."""
    x0, y0, x1, y1 = box
    for y, edge in ((y0, whole[1]), (y1, whole[3])):
        if abs(y - edge) > 1e-6:
            drawing.line(x0, y, x1, y)
    for x, edge in ((x0, whole[0]), (x1, whole[2])):
        if abs(x - edge) > 1e-6:
            drawing.line(x, y0, x, y1)


def _edges(drawing: Drawing, box: tuple[float, float, float, float], look: Look, *, level: bool) -> None:
    x0, y0, x1, y1 = box
    for at in (0, 1):
        if level:
            drawing.line(x0, (y0, y1)[at], x1, (y0, y1)[at], look)
        else:
            drawing.line((x0, x1)[at], y0, (x0, x1)[at], y1, look)


def _floor(drawing: Drawing, box: tuple[float, float, float, float], whole: tuple[float, float, float, float]) -> None:
    """The bottom of a channel behind metal."""
    x0, y0, x1, y1 = box
    if abs(y0 - whole[1]) < 1e-6 and abs(y1 - whole[3]) < 1e-6:
        drawing.line(*((x0, y0, x0, y1) if abs(x1 - whole[2]) < 1e-6 else (x1, y0, x1, y1)), "hidden")
    else:
        drawing.line(*((x0, y0, x1, y0) if abs(y1 - whole[3]) < 1e-6 else (x0, y1, x1, y1)), "hidden")
