"""A coil spring: its coils from the side, outside diameter above, free length below, wire and coils in words."""

from __future__ import annotations

import math
from typing import Final

from asmade.book.forms.spring import KIND, Spring
from asmade.show.sketches.chains import Span, chain, height_of
from asmade.show.sketches.drawing import Drawing
from asmade.show.sketches.flags import Flag, raise_flags
from asmade.show.sketches.subject import Subject
from asmade.show.strokes import Polyline
from asmade.show.strokes.kinds import Look, Point

__all__ = ["KIND", "draw"]

_MOST_HIGH_PX: Final = 110.0


def draw(subject: Subject, form: Spring) -> Drawing:
    """The coils seen from the side, lying along."""
    wire, outside = subject.mm(form.wire, "diameter of the wire"), subject.mm(form.outside, "outside")
    length, coils = subject.mm(form.free_length, "free length"), form.coils or 1
    room = subject.width_px - 120.0
    scale = min(room / length, _MOST_HIGH_PX / outside)
    drawing = Drawing()
    radius, thin = (outside - wire) / 2 * scale, wire / 2 * scale
    pitch = (length - wire) * scale / max(coils - 0.5, 0.5)
    for turn in range(coils - 1):  # the far half of each coil first, what is near stands before it
        top = thin + (turn + 0.5) * pitch
        _band(drawing, (top, radius), (top + pitch / 2, -radius), thin, "thin")
    for turn in range(coils):
        foot = thin + turn * pitch
        _band(drawing, (foot, -radius), (foot + pitch / 2, radius), thin, "outline")
    wide, high = length * scale, outside / 2 * scale
    drawing.line(-8.0, 0.0, wide + 8.0, 0.0, "centre")
    left, right = -(subject.width_px - wide) / 2 + 6.0, wide + (subject.width_px - wide) / 2 - 6.0
    flags = []
    if form.outside is not None:
        flags.append(Flag(thin + pitch / 2, high, subject.text(form.outside, head="Ø"), over=-high))
    if form.wire is not None:
        x = thin + (coils // 2) * pitch + pitch / 2
        flags.append(Flag(x, high, subject.text(form.wire, head="wire Ø")))
    raise_flags(drawing, flags, left=left, right=right, base=high + 4.0, up=True)
    if form.free_length is not None:
        text = subject.text(form.free_length)
        level = -high - 16.0 - height_of([text])
        short = chain(drawing, [Span(0.0, wide, text)], {0.0: -high, wide: -high}, level)
        raise_flags(drawing, short, left=left, right=right, base=level, up=False)
    subject.notes.append(f"{coils} coils")
    return drawing


def _band(drawing: Drawing, foot: Point, top: Point, half: float, look: Look) -> None:
    """A length of wire from foot to top: two edges and round ends."""
    dx, dy = top[0] - foot[0], top[1] - foot[1]
    long = math.hypot(dx, dy)
    nx, ny = -dy / long * half, dx / long * half
    points = [(foot[0] + nx, foot[1] + ny), (top[0] + nx, top[1] + ny)]
    turn = math.atan2(ny, nx)
    points += [(top[0] + half * math.cos(turn - a), top[1] + half * math.sin(turn - a)) for a in _HALF]
    points += [(foot[0] - nx, foot[1] - ny)]
    points += [(foot[0] - half * math.cos(turn - a), foot[1] - half * math.sin(turn - a)) for a in _HALF]
    drawing.add(Polyline(tuple(points), look, closed=True, fill="paper"))


_HALF: Final = tuple(math.pi * at / 8 for at in range(1, 8))
