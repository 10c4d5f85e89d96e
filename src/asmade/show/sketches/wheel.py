"""A wheel: its face with spokes, bosses and holes, and a section through axle and crank pin beside or below it."""

from __future__ import annotations

import math
from typing import Final

from asmade.book.forms.measures import Measure
from asmade.book.forms.wheel import KIND, Wheel
from asmade.show.sketches.chains import Span, chain, height_of, upright
from asmade.show.sketches.drawing import Drawing
from asmade.show.sketches.flags import Flag, raise_flags
from asmade.show.sketches.rows import Measured, columns_left
from asmade.show.sketches.subject import Subject
from asmade.show.strokes import Circle
from asmade.show.strokes.kinds import Point

__all__ = ["KIND", "draw"]

_MOST_HIGH_PX: Final = 230.0
_APART_PX: Final = 40.0


def draw(subject: Subject, form: Wheel) -> Drawing:
    """Face and section, side by side where there is room."""
    return _View(subject, form).drawn()


class _View:
    """One wheel being drawn; px, its middle at (0, 0) in each view, the crank pin upright over it."""

    def __init__(self, subject: Subject, form: Wheel) -> None:
        self.subject, self.form = subject, form
        mm = subject.mm
        flange = mm(form.flange, "diameter of the flange")
        widest = max(mm(form.boss_width, "width of the boss"), mm(form.tyre_width, "width of the tyre"))
        self.beside = subject.width_px >= 520.0
        room = (subject.width_px - 2 * 90.0 - _APART_PX) if self.beside else subject.width_px - 110.0
        self.scale = min(room / (flange + widest if self.beside else flange), _MOST_HIGH_PX / flange)
        s = self.scale
        self.flange, self.tread = flange / 2 * s, mm(form.tread, "diameter of the tread") / 2 * s
        self.thick, self.tyre = (
            mm(form.flange_thickness, "thickness of the flange") * s,
            mm(form.tyre_width, "width of the tyre") * s,
        )
        self.boss, self.boss_width = (
            mm(form.boss, "diameter of the boss") / 2 * s,
            mm(form.boss_width, "width of the boss") * s,
        )
        self.bore = mm(form.bore, "bore") / 2 * s
        self.rim = mm(form.rim, "depth of the rim") * s if form.rim is not None else self.tread - self.boss
        crank = form.crank_radius is not None
        self.crank = mm(form.crank_radius, "crank radius") * s if crank else 0.0
        self.pin_boss = mm(form.pin_boss, "diameter of the pin boss") / 2 * s if crank else 0.0
        self.pin = mm(form.pin_hole, "pin hole") / 2 * s if crank else 0.0
        self.pin_width = mm(form.pin_boss_width, "width of the pin boss") * s if crank else 0.0

    def drawn(self) -> Drawing:
        """Both views."""
        section, face = self.section(), self.face()
        whole = Drawing()
        whole.take(section)
        box, other = section.bounds, face.bounds
        if self.beside:
            whole.take(face, box[2] - other[0] + _APART_PX)
        else:
            whole.take(face, (box[0] + box[2]) / 2 - (other[0] + other[2]) / 2, box[1] - other[3] - 12.0)
        return whole

    # ---- the section
    def section(self) -> Drawing:
        """Cut through axle and crank pin, the back of the wheel to the left."""
        drawing = Drawing()
        inside = self.tread - self.rim
        for sign in (1.0, -1.0):
            rim = [(0.0, inside), (self.tyre, inside), (self.tyre, self.tread), (self.thick, self.tread),
                   (self.thick, self.flange), (0.0, self.flange)]  # fmt: skip
            self.cut(drawing, [(x, sign * y) for x, y in rim])
            boss = [(0.0, self.bore), (self.boss_width, self.bore), (self.boss_width, self.boss), (0.0, self.boss)]
            if sign > 0 and self.crank:
                self.upper_bosses(drawing)
            else:
                self.cut(drawing, [(x, sign * y) for x, y in boss])
            self.web(drawing, sign, inside)
        drawing.line(0.0, -self.bore, 0.0, self.bore)
        drawing.line(self.boss_width, -self.bore, self.boss_width, self.bore)
        drawing.line(-10.0, 0.0, max(self.boss_width, self.tyre) + 10.0, 0.0, "centre")
        if self.crank:
            drawing.line(-6.0, self.crank, max(self.pin_width, self.tyre) + 10.0, self.crank, "centre")
        self.section_figures(drawing)
        return drawing

    def cut(self, drawing: Drawing, points: list[Point]) -> None:
        """Cut metal: outline and section lining."""
        drawing.path(points, closed=True)
        drawing.hatch(points)

    def upper_bosses(self, drawing: Drawing) -> None:
        """Boss and pin boss, run into one another where they meet."""
        low, high = self.crank - self.pin_boss, self.crank + self.pin_boss
        if low < self.boss:
            step = [(0.0, self.bore), (self.boss_width, self.bore), (self.boss_width, self.boss)]
            if abs(self.pin_width - self.boss_width) > 1e-6:
                step.append((self.pin_width, self.boss))
            self.cut(drawing, [*step, (self.pin_width, self.crank - self.pin), (0.0, self.crank - self.pin)])
        else:
            self.cut(
                drawing,
                [(0.0, self.bore), (self.boss_width, self.bore), (self.boss_width, self.boss), (0.0, self.boss)],
            )
            self.cut(
                drawing,
                [
                    (0.0, low),
                    (self.pin_width, low),
                    (self.pin_width, self.crank - self.pin),
                    (0.0, self.crank - self.pin),
                ],
            )
        self.cut(
            drawing,
            [
                (0.0, self.crank + self.pin),
                (self.pin_width, self.crank + self.pin),
                (self.pin_width, high),
                (0.0, high),
            ],
        )
        for x in (0.0, self.pin_width):
            drawing.line(x, self.crank - self.pin, x, self.crank + self.pin)

    def web(self, drawing: Drawing, sign: float, inside: float) -> None:
        """Spokes are not cut by custom; a plain web is."""
        start = max(self.boss, self.crank + self.pin_boss) if sign > 0 else self.boss
        if start >= inside:
            return
        if self.form.spokes is None:
            self.cut(
                drawing,
                [(0.0, sign * start), (self.tyre, sign * start), (self.tyre, sign * inside), (0.0, sign * inside)],
            )
            return
        thick = self.subject.mm(self.form.spoke_thickness, "thickness of a spoke") * self.scale
        middle = min(self.tyre, self.boss_width) / 2
        for x in (middle - thick / 2, middle + thick / 2):
            drawing.line(x, sign * start, x, sign * inside)

    def section_figures(self, drawing: Drawing) -> None:
        """Diameters to the left, widths below in two lines, the crank radius to the right."""
        form, subject = self.form, self.subject
        round_ones = [
            Measured(0.0, -half, 0.0, half, subject.text(measure, head="Ø"))
            for half, measure in ((self.tread, form.tread), (self.flange, form.flange))
            if measure is not None
        ]
        columns_left(drawing, round_ones, -6.0)
        level = -self.flange - 6.0
        rows: list[list[tuple[float, Measure | None, float]]] = [
            [(self.thick, form.flange_thickness, self.flange)], [(self.tyre, form.tyre_width, self.tread)],
            [(self.boss_width, form.boss_width, self.boss)],
        ]  # fmt: skip
        for row in rows:
            for end, measure, edge in row:
                if measure is None:
                    continue
                text = subject.text(measure)
                level -= height_of([text]) + 4.0
                start = -self.flange if row is rows[0] else level + 14.0
                for flag in chain(drawing, [Span(0.0, end, text)], {0.0: start, end: -edge}, level):
                    drawing.line(flag.x, level, end + 18.0, level, "thin")
                    drawing.text(flag.text, end + 20.0, level - flag.text.height_px / 2)
        if self.crank and form.crank_radius is not None:
            edge = max(self.boss_width, self.pin_width) + 8.0
            upright(drawing, 0.0, self.crank, edge, edge + 12.0, subject.text(form.crank_radius))

    # ---- the face
    def face(self) -> Drawing:
        """Seen from outside, the crank pin up."""
        drawing = Drawing()
        inside = self.tread - self.rim
        for radius in (self.flange, self.tread):
            drawing.add(Circle(0.0, 0.0, radius, "outline"))
        if self.form.spokes is not None:
            drawing.add(Circle(0.0, 0.0, inside, "outline"))
            self.spokes(drawing, inside)
        drawing.add(Circle(0.0, 0.0, self.boss, "outline"), Circle(0.0, 0.0, self.bore, "outline"))
        if self.crank:
            drawing.add(Circle(0.0, self.crank, self.pin_boss, "outline"), Circle(0.0, self.crank, self.pin, "outline"))
            drawing.line(-self.pin_boss - 4, self.crank, self.pin_boss + 4, self.crank, "centre")
        drawing.line(-self.flange - 6, 0.0, self.flange + 6, 0.0, "centre")
        drawing.line(0.0, -self.flange - 6, 0.0, self.flange + 6, "centre")
        half = self.subject.width_px / 2 - 10.0 if not self.beside else self.flange + 80.0
        raise_flags(drawing, self.face_notes(), left=-half, right=half, base=self.flange + 8.0, up=True)
        return drawing

    def spokes(self, drawing: Drawing, inside: float) -> None:
        """Two edges to each spoke, from what it stands on to the rim; the first under the crank pin."""
        wide = self.subject.mm(self.form.spoke_width, "width of a spoke") / 2 * self.scale
        count = self.form.spokes or 0
        for number in range(count):
            angle = math.pi / 2 + 2 * math.pi * number / count
            along, square = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))
            for sign in (1.0, -1.0):
                out = math.sqrt(max(0.0, inside**2 - wide**2))
                start = self.leaves(along, square, sign * wide)
                if start < out:
                    drawing.line(
                        start * along[0] + sign * wide * square[0], start * along[1] + sign * wide * square[1],
                        out * along[0] + sign * wide * square[0], out * along[1] + sign * wide * square[1],
                    )  # fmt: skip

    def leaves(self, along: Point, square: Point, aside: float) -> float:
        """How far out an edge of a spoke comes out of the bosses."""
        found = math.sqrt(max(0.0, self.boss**2 - aside**2))
        if self.crank:
            px, py = aside * square[0], aside * square[1] - self.crank  # from the pin to the edge's start
            b, c = px * along[0] + py * along[1], px * px + py * py - self.pin_boss**2
            if b * b - c > 0:
                far = -b + math.sqrt(b * b - c)
                near = -b - math.sqrt(b * b - c)
                if near <= found or near < self.boss:
                    found = max(found, far)
        return found

    def face_notes(self) -> list[Flag]:
        """Bore, boss, pin hole, pin boss, rim, spokes."""
        form, subject = self.form, self.subject
        found: list[Flag] = []

        def round_(measure: Measure | None, radius: float, y: float, degrees: float, tail: str = "") -> None:
            if measure is not None and radius:
                angle, text = math.radians(degrees), subject.text(measure, head="Ø", tail=tail)
                found.append(Flag(radius * math.cos(angle), y + radius * math.sin(angle), text))

        round_(form.bore, self.bore, 0.0, 155.0)
        round_(form.boss, self.boss, 0.0, 158.0, " boss")
        round_(form.pin_hole, self.pin, self.crank, 45.0)
        round_(form.pin_boss, self.pin_boss, self.crank, 20.0, " boss")
        if form.rim is not None and form.spokes is not None:
            subject.notes.append(f"rim {subject.text(form.rim).lines[0]} deep")
        if form.spokes is not None and form.spoke_width is not None:
            tail = ""
            if form.spoke_thickness is not None:
                tail = f" × {subject.text(form.spoke_thickness).lines[0]}"
            words = subject.text(form.spoke_width).lines[0]
            subject.notes.append(f"{form.spokes} spokes {words}{tail}")
        return found
