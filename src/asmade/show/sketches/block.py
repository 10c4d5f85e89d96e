"""A block: from the side with its bores, and from above."""

from __future__ import annotations

from typing import Final

from asmade.book.forms.block import KIND, Block
from asmade.book.forms.measures import Hole
from asmade.show.sketches.chains import Span, chain, height_of, upright
from asmade.show.sketches.drawing import Drawing
from asmade.show.sketches.flags import Flag, raise_flags
from asmade.show.sketches.subject import Subject
from asmade.show.strokes import Circle

__all__ = ["KIND", "draw"]

_MOST_HIGH_PX: Final = 150.0
_MOST_BOTH_PX: Final = 260.0


def draw(subject: Subject, form: Block) -> Drawing:
    """Both views, one under the other."""
    return _View(subject, form).drawn()


class _View:
    """One block being drawn; px, the middle of its side at (0, 0)."""

    def __init__(self, subject: Subject, form: Block) -> None:
        self.subject, self.form = subject, form
        self.drawing = Drawing()
        long, high, wide = (
            subject.mm(form.length, "length"), subject.mm(form.height, "height"), subject.mm(form.width, "width")
        )  # fmt: skip
        texts = [subject.text(each).width_px for each in (form.height, form.width) if each is not None]
        self.side = max(texts, default=0.0) + 26.0
        room = subject.width_px - 2 * self.side
        self.scale = min(room / long, _MOST_HIGH_PX / high, _MOST_BOTH_PX / (high + wide))
        self.long, self.high, self.wide = long * self.scale, high * self.scale, wide * self.scale

    def drawn(self) -> Drawing:
        """All of it."""
        subject, drawing = self.subject, self.drawing
        x, y = self.long / 2, self.high / 2
        left, right = -subject.width_px / 2 + 4.0, subject.width_px / 2 - 4.0
        drawing.path([(-x, -y), (x, -y), (x, y), (-x, y)], closed=True)
        flags = []
        bores = []
        for hole in self.form.holes:
            bore = Circle(
                subject.any_mm(hole.x, f"{hole.name}, x") * self.scale,
                subject.any_mm(hole.y, f"{hole.name}, y") * self.scale,
                subject.mm(hole.diameter, f"diameter of {hole.name}") / 2 * self.scale,
            )
            bores.append((hole, bore))
            drawing.add(bore)
            drawing.cross(bore.x, bore.y, bore.radius)
            if hole.diameter is not None:
                text = (
                    subject.called(hole.thread)
                    if hole.thread
                    else subject.text(hole.diameter, head="Ø", tail=self.deep(hole))
                )
                flags.append(Flag(bore.x - 0.6 * bore.radius, bore.y + 0.8 * bore.radius, text))
        raise_flags(drawing, flags, left=left, right=right, base=y + 6.0, up=True)
        low = -y - 4.0
        if self.form.height is not None:
            upright(drawing, -y, y, -x, -x - 14.0, subject.text(self.form.height))
        if self.form.length is not None:
            text = subject.text(self.form.length)
            level = -y - 8.0 - height_of([text])
            short = chain(drawing, [Span(-x, x, text)], {-x: -y, x: -y}, level)
            low = raise_flags(drawing, short, left=left, right=right, base=level, up=False) - 4.0
        self.plan(low - 14.0, bores)
        return drawing

    def deep(self, hole: Hole) -> str:
        """How deep a hole is, where it does not go through."""
        return "" if hole.depth is None else f" × {self.subject.text(hole.depth).lines[0]} deep"

    def plan(self, top: float, bores: list[tuple[Hole, Circle]]) -> None:
        """Seen from above, outward down."""
        drawing, x, low = self.drawing, self.long / 2, top - self.wide
        drawing.path([(-x, low), (x, low), (x, top), (-x, top)], closed=True)
        for hole, bore in bores:
            deep = (
                self.wide if hole.depth is None else self.subject.mm(hole.depth, f"depth of {hole.name}") * self.scale
            )
            for sign in (1.0, -1.0):
                drawing.line(bore.x + sign * bore.radius, top, bore.x + sign * bore.radius, top - deep, "hidden")
            if hole.depth is not None:
                drawing.line(bore.x - bore.radius, top - deep, bore.x + bore.radius, top - deep, "hidden")
            drawing.line(bore.x, top + 5.0, bore.x, low - 5.0, "centre")
        if self.form.width is not None:
            upright(drawing, low, top, -x, -x - 14.0, self.subject.text(self.form.width))
