"""A turned part: outside view, half section or full section; diameters above, lengths in a chain below."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from asmade.book.forms.measures import Measure
from asmade.book.forms.turned import KIND, EndHole, Section, Turned
from asmade.show.sketches.along import Along, set_out
from asmade.show.sketches.chains import Span, chain, height_of
from asmade.show.sketches.drawing import Drawing, Written
from asmade.show.sketches.flags import POST_PX, Flag, raise_flags
from asmade.show.sketches.rows import Measured, rows_below
from asmade.show.sketches.subject import Subject
from asmade.show.strokes import Circle, Polyline
from asmade.show.strokes.kinds import Point
from asmade.verbs.sketch import written as figure_text

__all__ = ["KIND", "draw"]

_DRILL_POINT: Final = math.tan(math.radians(31))
"""Of a drill of 118 degrees: depth of its point for a radius of 1."""
_HIGH_PX: Final = 32.0
_MOST_HIGH: Final = 0.42
_MOST_HIGH_PX: Final = 190.0
_SIDE_PX: Final = 22.0
_AXIS_PX: Final = 9.0
_DATUM_PX: Final = 7.0


@dataclass(frozen=True, slots=True)
class _Step:
    """A section as it is drawn: from, to, radius in px and what it is."""

    section: Section
    start: float
    end: float
    start_mm: float
    end_mm: float
    radius: float
    chamfer_left: float
    chamfer_right: float


@dataclass(frozen=True, slots=True)
class _Bore:
    """A hole along the axis as it is drawn."""

    hole: EndHole
    start: float
    end: float
    radius: float
    major: float
    through: bool


def draw(subject: Subject, form: Turned) -> Drawing:
    """The one view that a turned part wants."""
    return _View(subject, form).drawn()


class _View:
    """One turned part being drawn; px, the axis at y = 0, the left end at x = 0."""

    def __init__(self, subject: Subject, form: Turned) -> None:
        self.subject, self.form = subject, form
        self.drawing = Drawing()
        lengths = [subject.mm(each.length, f"length of {each.name}") for each in form.sections]
        self.reaches = [self.reach(each) for each in form.sections]
        self.way: Along = set_out(
            lengths, room_px=subject.width_px - 2 * _SIDE_PX, high_mm=2 * max(self.reaches),
            wanted_high_px=_HIGH_PX, most_high_px=min(_MOST_HIGH * subject.width_px, _MOST_HIGH_PX),
            plain=[self.may_break(each) for each in form.sections],
        )  # fmt: skip
        self.scale = self.way.scale
        self.steps = self.stepped()
        self.bores = [self.bore(each) for each in form.end_holes]
        self.top = max(step.radius for step in self.steps)
        through = any(bore.through and not bore.hole.thread for bore in self.bores)
        plain = all(step.section.shape == "round" and not step.section.thread for step in self.steps)
        self.cut = "full" if through and plain else "half" if self.bores else ""

    def reach(self, section: Section) -> float:
        """Half its greatest width, mm."""
        if section.shape == "hexagon":
            return self.subject.mm(section.across_flats, f"{section.name} across flats") / math.sqrt(3)
        if section.shape == "square":
            return self.subject.mm(section.across_flats, f"{section.name} across flats") / math.sqrt(2)
        return self.subject.mm(section.diameter, f"diameter of {section.name}") / 2

    def may_break(self, section: Section) -> bool:
        """Whether nothing happens within it."""
        return section.shape == "round" and not section.thread and not self.form.cross_holes

    def stepped(self) -> list[_Step]:
        """Sections in px."""
        found = []
        for stretch, section, reach in zip(self.way.stretches, self.form.sections, self.reaches, strict=True):
            left, right = (
                0.0 if each is None else self.subject.mm(each, f"chamfer of {section.name}") * self.scale
                for each in (section.chamfer_left, section.chamfer_right)
            )
            found.append(
                _Step(section, stretch.start_px, stretch.end_px, stretch.start_mm, stretch.end_mm, reach * self.scale,
                      left, right)
            )  # fmt: skip
        return found

    def bore(self, hole: EndHole) -> _Bore:
        """A hole in px."""
        radius = self.subject.mm(hole.diameter, f"diameter of {hole.name}") / 2 * self.scale
        thread = self.subject.thread(hole.thread) if hole.thread else None
        major = thread.major_mm / 2 * self.scale if thread else radius
        whole = self.way.stretches[-1].end_mm
        depth = whole if hole.depth is None else self.subject.mm(hole.depth, f"depth of {hole.name}")
        ends = (0.0, depth) if hole.end == "left" else (whole - depth, whole)
        return _Bore(hole, self.way.px(ends[0]), self.way.px(ends[1]), radius, major, depth >= whole - 1e-9)

    # ---- outlines
    def upper(self) -> list[Point]:
        """The outer profile over the axis, from left to right."""
        points: list[Point] = []
        for step in self.steps:
            start, end, radius = step.start, step.end, step.radius
            cut = step.section.undercut
            groove: list[Point] = []
            if cut is not None:
                wide = self.subject.mm(cut.width, f"undercut of {step.section.name}, width") * self.scale
                low = self.subject.mm(cut.diameter, f"undercut of {step.section.name}, diameter") / 2 * self.scale
                groove = [(start, low), (start + wide, low), (start + wide, radius)]
                if cut.at == "right":
                    groove = [(end - wide, radius), (end - wide, low), (end, low)]
            if groove and cut is not None and cut.at == "left":
                points += groove
            elif step.chamfer_left:
                points += [(start, radius - step.chamfer_left), (start + step.chamfer_left, radius)]
            else:
                points.append((start, radius))
            points += self.groove(step)
            if groove and cut is not None and cut.at == "right":
                points += groove
            elif step.chamfer_right:
                points += [(end - step.chamfer_right, radius), (end, radius - step.chamfer_right)]
            else:
                points.append((end, radius))
        return points

    def groove(self, step: _Step) -> list[Point]:
        """Corners of a groove in the middle of a step, where it has one."""
        held = step.section.groove
        if held is None:
            return []
        wide = self.subject.mm(held.width, f"groove of {step.section.name}, width") * self.scale
        low = self.subject.mm(held.diameter, f"groove of {step.section.name}, diameter") / 2 * self.scale
        one, two = (step.start + step.end - wide) / 2, (step.start + step.end + wide) / 2
        return [(one, step.radius), (one, low), (two, low), (two, step.radius)]

    def radius_at(self, x: float) -> float:
        """Radius of the hollow at x: the widest hole there, 0 where the metal is whole."""
        return max((bore.radius for bore in self.bores if bore.start - 1e-9 <= x <= bore.end + 1e-9), default=0.0)

    def runs(self) -> list[tuple[float, float, bool, bool]]:
        """Stretches between breaks: from, to, and whether each end is a break."""
        places = [(0.0, False)]
        for start, end in self.way.breaks:
            places += [(start, True), (end, True)]
        places.append((self.way.length_px, False))
        return [(places[at][0], places[at + 1][0], places[at][1], places[at + 1][1]) for at in range(0, len(places), 2)]

    def hollow(self, start: float, end: float) -> list[Point]:
        """The inner profile over the axis from ``start`` to ``end``: steps of the holes and the points of drills."""
        marks = {start, end}
        marks |= {place for bore in self.bores for place in (bore.start, bore.end) if start < place < end}
        points: list[Point] = []
        for one, two in pairwise(sorted(marks)):
            radius = self.radius_at((one + two) / 2)
            points += [(one, radius), (two, radius)]
        return points

    def outlines(self) -> None:
        """Outline, section lining, shoulders, breaks."""
        profile = self.upper()
        for start, end, broken_start, broken_end in self.runs():
            over = _clipped(profile, start, end)
            under = [(x, -y) for x, y in over]
            for points, cut in ((over, self.cut != ""), (under, self.cut == "full")):
                self.drawing.path(points)
                if cut:
                    sign = 1.0 if points is over else -1.0
                    inner = [(x, sign * y) for x, y in reversed(self.hollow(start, end))]
                    self.drawing.hatch([*points, *inner])
            for x, broken, way in ((start, broken_start, -1.0), (end, broken_end, 1.0)):
                if broken:
                    self.break_line(x, over[0][1] if way < 0 else over[-1][1])
                else:
                    self.drawing.line(
                        x, over[0][1] if way < 0 else over[-1][1], x, -(over[0][1] if way < 0 else over[-1][1])
                    )
        low = 0.0 if self.cut == "half" else self.top
        if self.cut != "full":
            for before, after in pairwise(self.steps):
                radius = max(before.radius, after.radius)
                least = min(before.radius, after.radius)
                self.drawing.line(after.start, -radius, after.start, least if low else 0.0)
            for step in self.steps:
                self.chamfer_lines(step)
                self.groove_lines(step)
        self.drawing.line(-_AXIS_PX, 0.0, self.way.length_px + _AXIS_PX, 0.0, "centre")

    def chamfer_lines(self, step: _Step) -> None:
        """Where a chamfer begins, seen from outside."""
        for depth, x in (
            (step.chamfer_left, step.start + step.chamfer_left),
            (step.chamfer_right, step.end - step.chamfer_right),
        ):
            if depth:
                self.drawing.line(x, -step.radius, x, 0.0 if self.cut else step.radius)

    def groove_lines(self, step: _Step) -> None:
        """Edges of a groove and of an undercut, seen from outside."""
        corners = self.groove(step)
        marks = {corners[0][0], corners[2][0]} if corners else set()
        cut = step.section.undercut
        if cut is not None:
            wide = self.subject.mm(cut.width, f"undercut of {step.section.name}, width") * self.scale
            marks.add(step.start + wide if cut.at == "left" else step.end - wide)
        for x in marks:
            self.drawing.line(x, -step.radius, x, 0.0 if self.cut else step.radius)

    def break_line(self, x: float, radius: float) -> None:
        """A wavy line across: the part goes on, and is left out for its length."""
        swing = min(3.0, radius / 3)
        points = [(x + swing * math.sin(2 * math.pi * at / 12), radius - 2 * radius * at / 12) for at in range(13)]
        self.drawing.path(points, "thin")

    # ---- what is on and in it
    def flats(self) -> None:
        """Edges of a hexagon and a square, crossed diagonals on flats, the thin line of a thread."""
        for step in self.steps:
            section, low = step.section, -step.radius
            high = 0.0 if self.cut else step.radius
            if section.shape == "hexagon":
                for y in (-step.radius / 2, step.radius / 2):
                    if y < high:
                        self.drawing.line(step.start, y, step.end, y)
            elif section.shape in ("square", "two flats"):
                half = self.subject.mm(section.across_flats, f"{section.name} across flats") / 2 * self.scale
                if section.shape == "square":
                    if not self.cut:
                        self.drawing.line(step.start, 0.0, step.end, 0.0)
                    half = step.radius
                edge = min(half, high) if not self.cut else 0.0
                self.drawing.line(step.start, -half if section.shape == "two flats" else low, step.end, edge, "thin")
                self.drawing.line(step.start, edge, step.end, -half if section.shape == "two flats" else low, "thin")
            thread = self.subject.thread(section.thread) if section.thread else None
            if thread is not None:
                core = thread.core_mm / 2 * self.scale
                for y in (core, -core):
                    self.drawing.line(step.start, y, step.end, y, "thin")

    def holes(self) -> None:
        """Holes along the axis: outlines where cut, dashed where not; threads thin."""
        for bore in self.bores:
            signs = ((1.0, self.cut != ""), (-1.0, self.cut == "full"))
            for sign, seen in signs:
                if not seen:
                    continue
                self.drawing.line(bore.start, sign * bore.radius, bore.end, sign * bore.radius)
                if bore.hole.thread:
                    self.drawing.line(bore.start, sign * bore.major, bore.end, sign * bore.major, "thin")
            if not bore.through and not self.inside_another(bore):
                self.bottom(bore)

    def inside_another(self, bore: _Bore) -> bool:
        """Whether it ends in a larger or equal hole."""
        inner = bore.end if bore.hole.end == "left" else bore.start
        return any(
            other is not bore and other.start - 1e-9 <= inner <= other.end + 1e-9 and other.radius >= bore.radius
            for other in self.bores
        )

    def bottom(self, bore: _Bore) -> None:
        """The bottom of a blind hole, with the point of the drill over its depth."""
        way = 1.0 if bore.hole.end == "left" else -1.0
        inner = bore.end if way > 0 else bore.start
        low = -bore.radius if self.cut == "full" else 0.0
        self.drawing.line(inner, low, inner, bore.radius)
        if not any(other is not bore and other.start <= inner + way <= other.end for other in self.bores):
            tip = inner + way * bore.radius * _DRILL_POINT
            self.drawing.line(inner, bore.radius, tip, 0.0)
            if self.cut == "full":
                self.drawing.line(inner, -bore.radius, tip, 0.0)

    # ---- figures
    def drawn(self) -> Drawing:
        """All of it."""
        self.outlines()
        self.flats()
        self.holes()
        flags = [*self.diameters(), *self.hole_notes(), *self.cross_notes()]
        room = (-_SIDE_PX + 4.0, self.subject.width_px - _SIDE_PX - 4.0)
        spare = (self.subject.width_px - 2 * _SIDE_PX - self.way.length_px) / 2
        left, right = room[0] - spare, room[1] - spare
        raise_flags(self.drawing, flags, left=left, right=right, base=self.top + 4.0, up=True)
        self.lengths(left, right)
        return self.drawing

    def diameters(self) -> list[Flag]:
        """A flag on every step, and on its chamfers and undercut."""
        found: list[Flag] = []
        for step in self.steps:
            for text, share in self.step_texts(step):
                wide = step.end - step.start
                places = tuple(step.start + each * wide for each in (share, 0.3, 0.7, 0.15, 0.85))
                if any(start - 3 <= places[0] <= end + 3 for start, end in self.way.breaks):
                    places = (places[1], *places[2:])
                found.append(Flag(places[0], step.radius, text, places[1:]))
            found += self.edge_notes(step)
        return found

    def step_texts(self, step: _Step) -> list[tuple[Written, float]]:
        """What is written of a step across the axis, and at which share of its length."""
        section, subject = step.section, self.subject
        if section.thread:
            return [(subject.called(section.thread), 0.5)]
        found = []
        if section.diameter is not None:
            found.append((subject.text(section.diameter, head="Ø"), 0.5 if section.groove is None else 0.25))
        if section.across_flats is not None:
            sort = {"hexagon": " hex A/F", "square": " square", "two flats": " A/F"}[section.shape]
            found.append((subject.text(section.across_flats, tail=sort), 0.6))
        return found

    def edge_notes(self, step: _Step) -> list[Flag]:
        """Chamfers and undercut."""
        found: list[Flag] = []
        section, subject = step.section, self.subject
        sides = (
            (section.chamfer_left, step.start + step.chamfer_left / 2, step.chamfer_left),
            (section.chamfer_right, step.end - step.chamfer_right / 2, step.chamfer_right),
        )
        for measure, x, depth in sides:
            if measure is not None:
                found.append(Flag(x, step.radius - depth / 2, subject.text(measure, tail=" × 45°")))
        cut, held = section.undercut, section.groove
        if cut is not None:
            wide = subject.mm(cut.width, "undercut") * self.scale
            low = subject.mm(cut.diameter, "undercut") / 2 * self.scale
            x = step.start + wide / 2 if cut.at == "left" else step.end - wide / 2
            found.append(Flag(x, low, self.both(cut.width, cut.diameter, "undercut")))
        if held is not None:
            low = subject.mm(held.diameter, "groove") / 2 * self.scale
            found.append(Flag((step.start + step.end) / 2, low, self.both(held.width, held.diameter, "groove")))
        return found

    def both(self, width: Measure, diameter: Measure, what: str) -> Written:
        """Width and bottom diameter of an undercut or groove in one line."""
        one, two = self.subject.text(width), self.subject.text(diameter)
        return replace(one, lines=(f"{what} {'/'.join(one.lines)} × Ø{'/'.join(two.lines)}",))

    def hole_notes(self) -> list[Flag]:
        """Every hole along the axis with its depth, or right through."""
        found = []
        for bore in self.bores:
            subject, hole = self.subject, bore.hole
            tail = " through" if bore.through else ""
            if hole.depth is not None:
                depth = subject.text(hole.depth)
                tail = f" × {depth.lines[0]}" + (f"/{depth.lines[1]}" if len(depth.lines) > 1 else "") + " deep"
            if hole.thread:
                text = subject.called(hole.thread, tail=tail)
            elif hole.diameter is not None:
                text = subject.text(hole.diameter, head="Ø", tail=tail)
            else:
                continue
            wide = bore.end - bore.start
            shares = (0.25, 0.4, 0.6, 0.75, 0.12) if hole.end == "left" else (0.75, 0.6, 0.4, 0.25, 0.88)
            places = tuple(bore.start + share * wide for share in shares)
            found.append(Flag(places[0], bore.radius, text, places[1:]))
        return found

    def cross_notes(self) -> list[Flag]:
        """Cross holes, seen end on, with their flags."""
        found = []
        for cross in self.form.cross_holes:
            radius = self.subject.mm(cross.diameter, f"diameter of {cross.name}") / 2 * self.scale
            x = self.way.px(self.subject.any_mm(cross.from_left, f"{cross.name} from the left end"))
            self.drawing.cross(x, 0.0, radius)
            self.drawing.add(Circle(x, 0.0, radius, "outline"))
            if cross.diameter is not None:
                found.append(
                    Flag(x - 0.7 * radius, 0.7 * radius, self.subject.text(cross.diameter, head="Ø", tail=" cross"))
                )
        return found

    def lengths(self, left: float, right: float) -> None:
        """The chain of the sections, cross holes from the left end, the whole in brackets."""
        subject = self.subject
        edges: dict[float, float] = {}
        spans: list[Span] = []
        for step in self.steps:
            for x, depth in ((step.start, step.chamfer_left), (step.end, step.chamfer_right)):
                edges[x] = min(edges.get(x, 0.0), -(step.radius - depth))
            text = subject.text(step.section.length) if step.section.length is not None else None
            spans.append(Span(step.start, step.end, text))
        datum = self.datum()
        low = -self.top - (0.0 if datum is None else _DATUM_PX)
        crossing = self.cross_places()
        if crossing:
            low = rows_below(self.drawing, crossing, base=low, left=left, right=right, lines=tuple(edges))
        level = low - 6.0 - height_of([span.text for span in spans])
        short = chain(self.drawing, spans, edges, level)
        if datum is not None:
            low = -self.top - 3.0
            corners = ((datum, low), (datum, low - _DATUM_PX), (datum + 0.8 * _DATUM_PX, low - _DATUM_PX / 2))
            self.drawing.add(Polyline(corners, "thin", closed=True, fill="solid"))
        inside = (0.0 + 6.0, self.way.length_px - 6.0)
        reach = level
        several = len(self.steps) > 1
        if short:
            room = inside if several and self.fits(short, inside) else (left, right)
            reach = raise_flags(self.drawing, short, left=room[0], right=room[1], base=level, up=False)
            if several and room != inside:
                several = False
                self.whole_in_words()
        if several:
            whole = subject.matching(self.way.stretches[-1].end_mm)
            level = reach - 8.0 - whole.height_px
            ends = [Span(0.0, self.way.length_px, whole)]
            for flag in chain(
                self.drawing,
                ends,
                {0.0: level + 12.0, self.way.length_px: level + 12.0}
                | {0.0: edges[0.0], self.way.length_px: edges[self.way.length_px]},
                level,
            ):
                raise_flags(self.drawing, [flag], left=left, right=right, base=level, up=False)

    def cross_places(self) -> list[Measured]:
        """Where cross holes are: from a shoulder or end where a dimension says so, else from the left end.

        One in the middle of its section that no dimension places is told by its centre lines.
        """
        found: list[Measured] = []
        shoulders = [(0.0, 0.0), *((step.end_mm, step.end) for step in self.steps)]
        for cross in self.form.cross_holes:
            at = self.subject.any_mm(cross.from_left, f"{cross.name} from the left end")
            x, y = self.way.px(at), -self.top
            names = (
                (name, px)
                for name in self.subject.result.sizes
                if name in self.subject.result.lengths and name not in self.subject.shown
                for mm, px in shoulders
                if abs(abs(at - mm) - self.subject.result.sizes[name]) < 1e-4
            )
            name, px = next(names, ("", 0.0))
            if name:
                text = self.subject.figure(name)
            elif any(abs(at - (step.start_mm + step.end_mm) / 2) < 1e-4 for step in self.steps):
                continue
            else:
                text = self.subject.text(cross.from_left) if cross.from_left is not None else self.subject.sum_of(at)
            low, high = min(x, px), max(x, px)
            found.append(Measured(low, 0.0 if low == x else y, high, 0.0 if high == x else y, text))
        return found

    def datum(self) -> float | None:
        """Where the datum is that the form names, if its words say so without doubt: an end, or a shoulder."""
        words = self.form.datum.replace("_", " ").casefold()
        ends = (0.0, self.way.length_px)
        for before, after in pairwise(self.steps):
            names = [step.section.name.replace("_", " ").casefold() for step in (before, after)]
            if words in [f"shoulder between {one} and {two}" for one, two in (names, names[::-1])]:
                return after.start
        if words == "left shoulder" and len(self.steps) > 1:
            return self.steps[1].start
        if words == "shoulder" and len(self.steps) == 2:
            return self.steps[1].start
        known = {"left end": 0, "right end": 1}
        known |= {
            "across": {"inner face": 0, "outer face": 1},
            "along": {"rear end": 0, "back face": 0, "front face": 1},
            "up": {"foot": 0, "top": 1},
        }[self.form.axis]
        return ends[known[words]] if words in known else None

    def fits(self, flags: list[Flag], room: tuple[float, float]) -> bool:
        """Whether short lengths find room between the ends of the part."""
        widest = max(flag.text.width_px for flag in flags)
        return room[1] - room[0] >= widest + POST_PX * len(flags) + 4.0

    def whole(self) -> str:
        """Length from end to end, as written."""
        return figure_text(self.way.stretches[-1].end_mm)

    def whole_in_words(self) -> None:
        """Where its dimension line has no room."""
        self.subject.notes.append(f"over all ({self.whole()})")


def _clipped(points: list[Point], start: float, end: float) -> list[Point]:
    """The part of a profile, which goes rightwards, between two places."""
    found: list[Point] = []
    for (x1, y1), (x2, y2) in pairwise(points):
        if x2 < start - 1e-9 or x1 > end + 1e-9:
            continue
        for x, y in ((x1, y1), (x2, y2)):
            at = min(max(x, start), end)
            high = y if x2 - x1 < 1e-9 else y1 + (at - x1) / (x2 - x1) * (y2 - y1)
            if not found or found[-1] != (at, high):
                found.append((at, high))
    return found
