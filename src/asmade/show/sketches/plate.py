"""A plate: its outline with holes and openings, dimensions from its lower left corner, its thickness in words."""

from __future__ import annotations

from typing import Final

from asmade.book.forms.plate import KIND, Plate
from asmade.show.sketches.chains import Span, chain, height_of, upright
from asmade.show.sketches.drawing import Drawing
from asmade.show.sketches.flags import Flag, raise_flags
from asmade.show.sketches.subject import Subject
from asmade.show.strokes import Circle
from asmade.show.strokes.kinds import Point

__all__ = ["KIND", "draw"]

_MOST_HIGH_PX: Final = 300.0


def draw(subject: Subject, form: Plate) -> Drawing:
    """The face of the plate."""
    return _View(subject, form).drawn()


class _View:
    """One plate being drawn; px, its lower left corner at (0, 0)."""

    def __init__(self, subject: Subject, form: Plate) -> None:
        self.subject, self.form = subject, form
        self.drawing = Drawing()
        if form.corners:
            corners = [(subject.any_mm(x, "corner"), subject.any_mm(y, "corner")) for x, y in form.corners]
        else:
            length, height = subject.mm(form.length, "length"), subject.mm(form.height, "height")
            corners = [(0.0, 0.0), (length, 0.0), (length, height), (0.0, height)]
        self.left, self.low = min(x for x, _ in corners), min(y for _, y in corners)
        self.long, self.high = max(x for x, _ in corners) - self.left, max(y for _, y in corners) - self.low
        self.side = subject.text(form.height).width_px + 24.0 if form.height is not None else 70.0
        room = subject.width_px - self.side - 30.0
        self.scale = min(room / self.long, min(0.8 * subject.width_px, _MOST_HIGH_PX) / self.high)
        self.corners = [self.at(x, y) for x, y in corners]

    def at(self, x: float, y: float) -> Point:
        """A place on the plate in px."""
        return (x - self.left) * self.scale, (y - self.low) * self.scale

    def drawn(self) -> Drawing:
        """All of it."""
        subject, drawing = self.subject, self.drawing
        drawing.path(self.corners, closed=True)
        for opening in self.form.openings:
            ring = [
                self.at(subject.any_mm(x, opening.name), subject.any_mm(y, opening.name)) for x, y in opening.corners
            ]
            drawing.path(ring, closed=True)
        wide, high = self.long * self.scale, self.high * self.scale
        flags: list[Flag] = []
        places: dict[float, str] = {}
        for hole in self.form.holes:
            x, y = self.at(subject.any_mm(hole.x, f"{hole.name}, x"), subject.any_mm(hole.y, f"{hole.name}, y"))
            radius = subject.mm(hole.diameter, f"diameter of {hole.name}") / 2 * self.scale
            drawing.add(Circle(x, y, radius, "outline"))
            drawing.cross(x, y, radius)
            if hole.thread:
                text = subject.called(hole.thread)
            elif hole.diameter is not None:
                text = subject.text(hole.diameter, head="Ø")
            else:
                continue
            flags.append(Flag(x - 0.6 * radius, y + 0.8 * radius, text))
            places[x] = f"{x / self.scale:.2f}"
        spare = (subject.width_px - wide - self.side) / 2
        left, right = -self.side - spare + 6.0, wide + spare - 6.0
        raise_flags(drawing, flags, left=left, right=right, base=high + 4.0, up=True)
        self.lengths(left, right)
        if self.form.height is not None:
            upright(drawing, 0.0, high, 0.0, -14.0, subject.text(self.form.height))
        if self.form.thickness is not None:
            thick = subject.text(self.form.thickness)
            mark = {"made": " made", "drawn": " (drawn)", "": ""}[thick.mark]
            subject.notes.insert(0, f"{' to '.join(reversed(thick.lines))} thick{mark}")
        return drawing

    def lengths(self, left: float, right: float) -> None:
        """The length below."""
        if self.form.length is None:
            return
        text = self.subject.text(self.form.length)
        level = -8.0 - height_of([text])
        wide = self.long * self.scale
        short = chain(self.drawing, [Span(0.0, wide, text)], {0.0: 0.0, wide: 0.0}, level)
        raise_flags(self.drawing, short, left=left, right=right, base=level, up=False)
