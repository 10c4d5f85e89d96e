"""A block: from the side, from above, and from its end where something goes along it."""

from __future__ import annotations

from typing import Final

from asmade.book.forms.block import FACES, KIND, Block
from asmade.book.forms.measures import Hole, Measure
from asmade.reckon.shapes.block import channel_box
from asmade.reckon.shapes.body import Taken
from asmade.show.sketches.channels import View, draw_block
from asmade.show.sketches.drawing import Drawing
from asmade.show.sketches.flags import Flag, raise_flags
from asmade.show.sketches.places import Point, between, point
from asmade.show.sketches.rows import Measured, columns_left, columns_width, largest_scale, rows_below
from asmade.show.sketches.subject import Subject
from asmade.show.strokes import Circle

__all__ = ["KIND", "draw"]

_MOST_HIGH_PX: Final = 150.0
_MOST_BOTH_PX: Final = 260.0
_APART_PX: Final = 26.0


def draw(subject: Subject, form: Block) -> Drawing:
    """All views, each under or beside the side view as it is seen."""
    return _View(subject, form).drawn()


class _View:
    """One block being drawn; px, the middle of its side at (0, 0)."""

    def __init__(self, subject: Subject, form: Block) -> None:
        self.subject, self.form = subject, form
        self.drawing = Drawing()
        self.said: set[str] = set()
        self.mm = (
            subject.mm(form.length, "length"), subject.mm(form.height, "height"), subject.mm(form.width, "width")
        )  # fmt: skip
        long, high, wide = self.mm
        flanged = form.flange is not None
        self.flange = subject.mm(form.flange, "flange") if flanged else 0.0
        self.over = subject.mm(form.flange_over, "flange beyond the body") if flanged else 0.0
        taken = Taken(form.part, lambda name: subject.result.sizes[name])
        self.channels = [(each, channel_box(taken, each, self.mm)) for each in form.channels]
        self.ended = any(each.way == "along" for each in form.holes) or any(e.runs == "along" for e in form.channels)
        sides = [] if form.height is None else [(high, subject.text(form.height))]
        plans = [] if form.width is None else [(wide, subject.text(form.width))]
        plans += [] if form.flange is None else [(self.flange, subject.text(form.flange))]
        for channel in form.channels:
            of = {"across": sides, "up": plans}.get(channel.runs)
            for measure in (channel.width, channel.depth):
                if of is not None and measure is not None:
                    of.append((subject.mm(measure, channel.name), subject.text(measure)))
        if form.length is not None:
            subject.text(form.length)  # written on the views: nothing else is told by it
        self.places = between(subject, self.points("across"), (-long / 2, -high / 2, long / 2, high / 2))
        self.at_end = []
        if self.ended:
            found = between(subject, self.points("along"), (-wide / 2, -high / 2, wide / 2, high / 2))
            self.at_end = [each for each in found if each.axis == "x"]
        sides += [(each.length, each.text) for each in self.places if each.axis == "y"]
        whole = long + 2 * self.over + (wide if self.ended else 0.0)
        room = subject.width_px - 30.0 - (_APART_PX if self.ended else 0.0)
        self.scale = largest_scale(
            lambda s: whole * s + max(columns_width([(mm * s, text) for mm, text in each]) for each in (sides, plans)),
            room, min(_MOST_HIGH_PX / high, _MOST_BOTH_PX / (high + wide)),
        )  # fmt: skip
        self.long, self.high, self.wide = (size * self.scale for size in self.mm)

    def points(self, way: str) -> list[Point]:
        """Middles of the holes that are seen end on, the middle they are told from, and (of an end) the corners."""
        long, high, wide = self.mm
        none: frozenset[str] = frozenset()
        found = [Point(0.0, 0.0, none, none, corner=True)]
        found += [
            point(self.subject.any_mm(hole.x, f"{hole.name}, x"), self.subject.any_mm(hole.y, f"{hole.name}, y"),
                  (hole.x, hole.y))
            for hole in self.form.holes
            if hole.way == way
        ]  # fmt: skip
        half = (wide if way == "along" else long) / 2
        found += [Point(x * half, y * high / 2, none, none, corner=True) for x in (-1, 1) for y in (-1, 1)]
        return found

    def drawn(self) -> Drawing:
        """All of it."""
        subject, drawing, s = self.subject, self.drawing, self.scale
        x, y = self.long / 2, self.high / 2
        whole = self.long + 2 * self.over * self.scale + (_APART_PX + self.wide if self.ended else 0.0)
        left, right = whole / 2 - x - subject.width_px / 2 + 4.0, whole / 2 - x + subject.width_px / 2 - 4.0
        side = View(0, 1, "outer", 0.0, 0.0, s)
        draw_block(drawing, side, self.mm, self.channels)
        level, upright = self.of_channels(side)
        flags = self.bores("across", (0.0, 0.0))
        over = self.over * s
        for way in (1.0, -1.0) if over else ():
            out = [(way * x, y), (way * (x + over), y), (way * (x + over), -y), (way * x, -y)]
            drawing.path(out)
        self.hidden("along", level=True, at=(0.0, 0.0), of="y", span=(-x, x))
        self.hidden("up", level=False, at=(0.0, 0.0), of="x", span=(y, -y))
        if self.ended:
            middle = x + over + _APART_PX + self.wide / 2
            end = View(2, 1, "front", middle, 0.0, s)
            draw_block(drawing, end, self.mm, self.channels)
            level += self.of_channels(end)[0]
            flags += self.bores("along", (middle, 0.0))
        raise_flags(drawing, flags, left=left, right=right, base=y + 8.0, up=True)
        inner = [
            Measured(each.low.x * s, each.low.y * s, each.high.x * s, each.high.y * s, each.text)
            for each in self.places
            if each.axis == "y"
        ]
        inner += upright
        if self.form.height is not None:
            inner.append(Measured(-x, -y, -x, y, subject.text(self.form.height)))
        columns_left(drawing, inner, -x - over - 4.0)
        low = rows_below(drawing, [*level, *self.level(x, y)], base=-y - 2.0, left=left, right=right)
        self.plan(low - 14.0)
        return drawing

    def of_channels(self, view: View) -> tuple[list[Measured], list[Measured]]:
        """Width and depth of the channels that a view sees end on: level ones, and upright ones to its left."""
        level: list[Measured] = []
        upright: list[Measured] = []
        half = [size / 2 for size in self.mm]
        left, low, *_ = view.box((tuple(-each for each in half), tuple(half)))
        for channel, corners in self.channels:
            if channel.runs != view.normal:
                continue
            x0, y0, x1, y1 = view.box(corners)
            into_level = ("along", "up", "across").index(FACES[channel.face]) == view.level
            for measure, is_level in ((channel.width, not into_level), (channel.depth, into_level)):
                if measure is None or (measure.dimension or measure.text) in self.said:
                    continue
                self.said.add(measure.dimension or measure.text)
                text = self.subject.text(measure)
                if is_level:
                    level.append(Measured(x0, low, x1, low, text))
                elif view.seen == "front":  # there is no room to the left of the end
                    words = channel.name.replace("_", " ")
                    self.subject.notes.append(f"{words} {text.lines[0].strip('()')} deep")
                else:
                    upright.append(Measured(left, y0, left, y1, text))
        return level, upright

    def level(self, x: float, y: float) -> list[Measured]:
        """Level dimensions under the side view and the end."""
        s = self.scale
        found = [
            Measured(each.low.x * s, each.low.y * s, each.high.x * s, each.high.y * s, each.text)
            for each in self.places
            if each.axis == "x"
        ]
        away = x + self.over * s + _APART_PX + self.wide / 2
        found += [
            Measured(away + each.low.x * s, each.low.y * s, away + each.high.x * s, each.high.y * s, each.text)
            for each in self.at_end
        ]
        if self.form.length is not None:
            found.append(Measured(-x, -y, x, -y, self.subject.text(self.form.length)))
        return found

    def bores(self, way: str, middle: tuple[float, float]) -> list[Flag]:
        """Holes seen end on in the view about ``middle``, with their flags."""
        found = []
        for hole in self.form.holes:
            if hole.way != way:
                continue
            bore = Circle(middle[0] + self.px(hole.x, hole), middle[1] + self.px(hole.y, hole), self.radius(hole))
            self.drawing.add(bore)
            self.drawing.cross(bore.x, bore.y, bore.radius)
            if hole.diameter is not None:
                deep = self.deep(hole)
                text = (
                    self.subject.called(hole.thread, tail=deep)
                    if hole.thread
                    else self.subject.text(hole.diameter, head="Ø", tail=deep)
                )
                found.append(Flag(bore.x - 0.6 * bore.radius, bore.y + 0.8 * bore.radius, text))
        return found

    def px(self, measure: Measure | None, hole: Hole) -> float:
        """A place of a hole from the middle, px."""
        return self.subject.any_mm(measure, f"place of {hole.name}") * self.scale

    def radius(self, hole: Hole) -> float:
        """Radius of a hole, px."""
        return self.subject.mm(hole.diameter, f"diameter of {hole.name}") / 2 * self.scale

    def hidden(self, way: str, *, level: bool, at: tuple[float, float], of: str, span: tuple[float, float]) -> None:
        """Holes of one way seen from beside: dashed edges from ``span``'s first end, as deep as they go."""
        for hole in self.form.holes:
            if hole.way != way:
                continue
            middle, radius = self.px(hole.x if of == "x" else hole.y, hole), self.radius(hole)
            end = span[1]
            if hole.depth is not None:
                deep = self.subject.mm(hole.depth, f"depth of {hole.name}") * self.scale
                end = span[0] + (deep if span[1] > span[0] else -deep)
            for edge in (middle - radius, middle + radius):
                if level:
                    self.drawing.line(at[0] + span[0], at[1] + edge, at[0] + end, at[1] + edge, "hidden")
                else:
                    self.drawing.line(at[0] + edge, at[1] + span[0], at[0] + edge, at[1] + end, "hidden")
            over = 5.0 if span[1] > span[0] else -5.0
            if level:
                self.drawing.line(at[0] + span[0] - over, at[1] + middle, at[0] + end + over, at[1] + middle, "centre")
            else:
                self.drawing.line(at[0] + middle, at[1] + span[0] - over, at[0] + middle, at[1] + end + over, "centre")
            if hole.depth is not None:
                one, two = middle - radius, middle + radius
                if level:
                    self.drawing.line(at[0] + end, at[1] + one, at[0] + end, at[1] + two, "hidden")
                else:
                    self.drawing.line(at[0] + one, at[1] + end, at[0] + two, at[1] + end, "hidden")

    def deep(self, hole: Hole) -> str:
        """How deep a hole is, where it does not go through."""
        return "" if hole.depth is None else f" × {self.subject.text(hole.depth).lines[0]} deep"

    def plan(self, top: float) -> None:
        """Seen from above, outward down."""
        drawing, x = self.drawing, self.long / 2
        holes = [hole for hole in self.form.holes if hole.way == "up"]
        if holes:  # their flags stand over the view
            top -= 40.0 + 16.0 * (len(holes) > 2)
        middle = top - self.wide / 2
        low = top - self.wide
        thick, over = self.flange * self.scale, self.over * self.scale
        body = [(x, top), (-x, top), (-x, low + thick), (-x - over, low + thick), (-x - over, low), (x + over, low),
                (x + over, low + thick), (x, low + thick)]  # fmt: skip
        seen = View(0, 2, "top", 0.0, middle, self.scale, down=True)
        if over:
            drawing.path(body, closed=True)
        else:
            draw_block(drawing, seen, self.mm, self.channels)
        level, upright = self.of_channels(seen)
        self.hidden("across", level=False, at=(0.0, middle), of="x", span=(self.wide / 2, -self.wide / 2))
        self.hidden("along", level=True, at=(0.0, middle), of="x", span=(-x, x))
        flags = self.bores("up", (0.0, middle))
        raise_flags(drawing, flags, left=-x - 20.0, right=x + 60.0, base=top + 8.0, up=True)
        if self.form.width is not None:
            upright.append(Measured(-x - over, low, -x, top, self.subject.text(self.form.width)))
        if self.form.flange is not None:
            upright.append(Measured(-x - over, low, -x - over, low + thick, self.subject.text(self.form.flange)))
        columns_left(drawing, upright, -x - over - 4.0)
        if self.form.flange_over is not None:
            text = self.subject.text(self.form.flange_over)
            level.append(Measured(x, low, x + over, low, text))
        rows_below(drawing, level, base=low - 2.0, left=-x - 90.0, right=x + 110.0)
