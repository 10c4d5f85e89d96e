"""A plate: its face with holes, openings and slots; dimensions between them; its thickness in words."""

from __future__ import annotations

from typing import Final

from asmade.book.forms.plate import KIND, Plate
from asmade.reckon.shapes.paths import rounded
from asmade.reckon.shapes.plate import face
from asmade.show.sketches.drawing import Drawing
from asmade.show.sketches.flags import Flag, raise_flags
from asmade.show.sketches.places import Between, Point, between, point
from asmade.show.sketches.rows import Measured, columns_left, columns_width, largest_scale, rows_below
from asmade.show.sketches.subject import Subject
from asmade.show.strokes import Circle

__all__ = ["KIND", "draw"]

_MOST_HIGH_PX: Final = 300.0
_SIDE_PX: Final = 30.0


def draw(subject: Subject, form: Plate) -> Drawing:
    """The face of the plate."""
    return _View(subject, form).drawn()


class _View:
    """One plate being drawn; px, the lower left corner of its box at (0, 0)."""

    def __init__(self, subject: Subject, form: Plate) -> None:
        self.subject, self.form = subject, form
        self.drawing = Drawing()
        self.face = face(form, lambda name: subject.result.sizes[name])
        xs, ys = [each.x for each in self.face.corners], [each.y for each in self.face.corners]
        self.box = (min(xs), min(ys), max(xs), max(ys))
        self.flags_of: list[tuple[float, float, float, str]] = []
        self.whole = self.over_all()
        radii = {each.radius.dimension for each in form.slots if each.radius is not None}
        subject.shown |= {name for name in radii if name}
        self.inner = between(subject, self.points(), self.box)
        self.long, self.high = self.box[2] - self.box[0], self.box[3] - self.box[1]
        upright = [each for each in (*self.whole, *self.inner) if each.axis == "y"]

        def side(scale: float) -> float:
            return columns_width([(each.length * scale, each.text) for each in upright]) + 10.0

        most = min((subject.width_px - _SIDE_PX) / self.long, min(0.8 * subject.width_px, _MOST_HIGH_PX) / self.high)
        self.scale = largest_scale(lambda s: self.long * s + side(s), subject.width_px - _SIDE_PX, most)
        self.side = side(self.scale)

    def over_all(self) -> list[Between]:
        """Length and height of the whole, where a dimension says them."""
        x0, y0, x1, y1 = self.box
        none: frozenset[str] = frozenset()
        low, right, top = (Point(x, y, none, none, corner=True) for x, y in ((x0, y0), (x1, y0), (x0, y1)))
        found = []
        for measure, end, axis in ((self.form.length, right, "x"), (self.form.height, top, "y")):
            if measure is None:
                text = self.subject.matching(end.x - low.x if axis == "x" else end.y - low.y)
            else:
                text = self.subject.text(measure)
            found.append(Between(low, end, axis, text))  # type: ignore[arg-type]
        return found

    def points(self) -> list[Point]:
        """Everything that is somewhere."""
        form, seen = self.form, self.face
        none: frozenset[str] = frozenset()
        found = [Point(0.0, 0.0, none, none, corner=True)]  # what positions are told from
        found += [
            point(disc.x, disc.y, (hole.x, hole.y)) for hole, (_, disc) in zip(form.holes, seen.holes, strict=True)
        ]
        for slot, cut in zip(form.slots, seen.slots, strict=True):
            found += [point(cut.x1, cut.y1, slot.first), point(cut.x2, cut.y2, slot.second)]
        for mark, (_, x, y) in zip(form.marks, seen.marks, strict=True):
            middle_x, low_y = (self.box[0] + self.box[2]) / 2, self.box[1]
            found.append(point(middle_x if x is None else x, low_y if y is None else y, (mark.x, mark.y)))
        for corner, at in zip(form.corners, seen.corners, strict=False):
            found.append(point(at.x, at.y, (corner.x, corner.y), corner=True))
        for opening, (_, corners) in zip(form.openings, seen.openings, strict=True):
            found += [
                point(at.x, at.y, (corner.x, corner.y), corner=True)
                for corner, at in zip(opening.corners, corners, strict=True)
            ]
        return found

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A place on the plate in px."""
        return (x - self.box[0]) * self.scale, (y - self.box[1]) * self.scale

    def drawn(self) -> Drawing:
        """All of it."""
        drawing = self.drawing
        drawing.outline(rounded(self.face.corners, "outline"), self.at, self.scale)
        for name, corners in self.face.openings:
            drawing.outline(rounded(corners, name), self.at, self.scale)
        flags = [*self.holes(), *self.slots()]
        wide, high = self.long * self.scale, self.high * self.scale
        spare = (self.subject.width_px - wide - self.side) / 2
        left, right = -self.side - spare + 6.0, wide + spare - 6.0
        raise_flags(drawing, flags, left=left, right=right, base=high + 8.0, up=True)
        self.origin()
        self.marks()
        level = [each for each in (*self.inner, *self.whole) if each.axis == "x"]
        rows_below(drawing, [self.px(each) for each in level], base=-2.0, left=left, right=right)
        upright = [each for each in (*self.inner, *self.whole) if each.axis == "y"]
        columns_left(drawing, [self.px(each) for each in upright], -4.0)
        self.in_words()
        return drawing

    def origin(self) -> None:
        """A cross where positions are told from, if dimensions start there and nothing else is there."""
        used = any(end.x == 0.0 and end.y == 0.0 for each in self.inner for end in (each.low, each.high))
        taken = any(abs(disc.x) < 1e-6 and abs(disc.y) < 1e-6 for _, disc in self.face.holes)
        if used and not taken:
            self.drawing.cross(*self.at(0.0, 0.0), 6.0)

    def marks(self) -> None:
        """Centre lines of what other places are told from."""
        wide, high = self.long * self.scale, self.high * self.scale
        for _, x, y in self.face.marks:
            if x is not None and y is not None:
                self.drawing.cross(*self.at(x, y), 6.0)
            elif x is not None:
                at = self.at(x, 0.0)[0]
                self.drawing.line(at, -5.0, at, high + 5.0, "centre")
            elif y is not None:
                at = self.at(0.0, y)[1]
                self.drawing.line(-5.0, at, wide + 5.0, at, "centre")

    def px(self, each: Between) -> Measured:
        """A dimension between two points in px."""
        return Measured(*self.at(each.low.x, each.low.y), *self.at(each.high.x, each.high.y), each.text)

    def holes(self) -> list[Flag]:
        """Holes with their centre lines; those alike share one flag that says how many."""
        subject, found = self.subject, []
        count: dict[str, int] = {}
        for hole in self.form.holes:
            key = hole.diameter.text if hole.diameter is not None else hole.name
            count[key] = count.get(key, 0) + 1
        for hole, (_, disc) in zip(self.form.holes, self.face.holes, strict=True):
            x, y = self.at(disc.x, disc.y)
            radius = disc.radius * self.scale
            self.drawing.add(Circle(x, y, radius, "outline"))
            self.drawing.cross(x, y, radius)
            if hole.diameter is None or hole.diameter.text not in count:
                continue
            many = count.pop(hole.diameter.text)
            times = f"{many} × " if many > 1 else ""
            if hole.thread:
                text = subject.plain(times + subject.called(hole.thread).lines[0])
            else:
                text = subject.text(hole.diameter, head=f"{times}Ø")
            found.append(Flag(x - 0.6 * radius, y + 0.8 * radius, text, (x + 0.6 * radius,)))
        return found

    def slots(self) -> list[Flag]:
        """Slots with their middle lines, width and radius."""
        subject, found = self.subject, []
        for slot, cut in zip(self.form.slots, self.face.slots, strict=True):
            self.drawing.outline(cut.path(), self.at, self.scale)
            for x, y in ((cut.x1, cut.y1), (cut.x2, cut.y2)):
                self.drawing.cross(*self.at(x, y), cut.width / 2 * self.scale)
            end = max(((cut.x1, cut.y1), (cut.x2, cut.y2)), key=lambda each: each[1])
            x, y = self.at(*end)
            if slot.width is not None:
                tail = " wide"
                if slot.radius is not None:
                    tail += f", R{subject.text(slot.radius).lines[0]}"
                found.append(Flag(x, y + cut.width / 2 * self.scale, subject.text(slot.width, tail=tail)))
        return found

    def in_words(self) -> None:
        """Thickness, and radii of rounded corners."""
        subject = self.subject
        if self.form.thickness is not None:
            thick = subject.text(self.form.thickness)
            mark = {"made": " made", "drawn": " (drawn)", "": ""}[thick.mark]
            subject.notes.insert(0, f"{' to '.join(reversed(thick.lines))} thick{mark}")
        radii = sorted({f"{each.radius:.4g}" for each in self.face.corners if each.radius}, key=float)
        if radii:
            subject.notes.append(f"corners rounded R{', R'.join(radii)}")
