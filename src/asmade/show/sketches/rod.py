"""A rod: side elevation with its eyes, centres in a chain below it, and the rod from above with its widths."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from asmade.book.forms.rod import KIND, Eye, Rod
from asmade.show.sketches.along import Along, set_out
from asmade.show.sketches.chains import Span, chain, height_of
from asmade.show.sketches.drawing import Drawing
from asmade.show.sketches.flags import Flag, raise_flags
from asmade.show.sketches.subject import Subject
from asmade.show.strokes import Arc, Circle

__all__ = ["KIND", "draw"]

_HIGH_PX: Final = 42.0
_MOST_HIGH_PX: Final = 150.0
_SIDE_PX: Final = 16.0


@dataclass(frozen=True, slots=True)
class _Boss:
    """An eye as it is drawn, px."""

    eye: Eye
    x: float
    outside: float
    bore: float
    width: float


def draw(subject: Subject, form: Rod) -> Drawing:
    """Both views, front to the right."""
    return _View(subject, form).drawn()


class _View:
    """One rod being drawn; px, its line at y = 0, its rear end at x = 0."""

    def __init__(self, subject: Subject, form: Rod) -> None:
        self.subject, self.form = subject, form
        self.drawing = Drawing()
        places = [0.0]
        for eye in form.eyes[1:]:
            places.append(places[-1] - subject.mm(eye.behind, f"{eye.name} behind the eye before it"))
        radii = [subject.mm(eye.outside, f"outside of the {eye.name} eye") / 2 for eye in form.eyes]
        self.fore = subject.mm(form.depth_fore, "depth of the bar, fore")
        self.aft = subject.mm(form.depth_aft, "depth of the bar, aft")
        self.thick = subject.mm(form.thickness, "thickness of the bar")
        ends = sorted(zip(places, radii, strict=True))
        self.first = min(x - r for x, r in ends)
        lengths, plain, at = [], [], self.first
        for x, radius in ends:
            if x - radius > at + 1e-9:
                lengths.append(x - radius - at)
                plain.append(True)
                at = x - radius
            if x + radius > at:
                lengths.append(x + radius - at)
                plain.append(False)
                at = x + radius
        high = max(2 * max(radii), self.fore, self.aft)
        self.way: Along = set_out(
            lengths, room_px=subject.width_px - 2 * _SIDE_PX, high_mm=high, wanted_high_px=_HIGH_PX,
            most_high_px=min(0.3 * subject.width_px, _MOST_HIGH_PX), plain=plain,
        )  # fmt: skip
        scale = self.scale = self.way.scale
        self.bosses = [
            _Boss(eye, self.way.px(x - self.first), radius * scale,
                  subject.mm(eye.bore, f"bore of the {eye.name} eye") / 2 * scale,
                  subject.mm(eye.width, f"width of the {eye.name} eye") * scale)
            for eye, x, radius in sorted(zip(form.eyes, places, radii, strict=True), key=lambda each: each[1])
        ]  # fmt: skip
        self.top = max(*(boss.outside for boss in self.bosses), self.fore * scale / 2, self.aft * scale / 2)

    def half_depth(self, x: float) -> float:
        """Half the depth of the bar at x, px."""
        back, front = self.bosses[0].x, self.bosses[-1].x
        share = (x - back) / (front - back)
        return (self.aft + share * (self.fore - self.aft)) * self.scale / 2

    def gaps(self) -> list[tuple[float, float]]:
        """The bar between neighbouring bosses as it is seen: from the edge of one to the edge of the next."""
        return [
            (self.leaves(one, 1.0), self.leaves(two, -1.0))
            for one, two in pairwise(self.bosses)
            if self.leaves(one, 1.0) < self.leaves(two, -1.0)
        ]

    def leaves(self, boss: _Boss, way: float) -> float:
        """Where the edge of the bar leaves a boss (its middle where the bar is deeper than the boss)."""
        x = boss.x
        for _ in range(30):
            high = self.half_depth(x)
            x = boss.x + way * math.sqrt(max(0.0, boss.outside**2 - high**2))
        return x

    def seen(self, start: float, end: float) -> list[tuple[float, float]]:
        """What runs from start to end, without the gaps of breaks."""
        found, at = [], start
        for low, high in self.way.breaks:
            if start < low and high < end:
                found.append((at, low))
                at = high
        return [*found, (at, end)]

    def drawn(self) -> Drawing:
        """All of it."""
        spare = (self.subject.width_px - self.way.length_px) / 2
        left, right = -spare + 4.0, self.way.length_px + spare - 4.0
        self.elevation()
        raise_flags(self.drawing, self.eye_notes(), left=left, right=right, base=self.top + 4.0, up=True)
        low = self.centres(left, right)
        self.plan(low, left, right)
        return self.drawing

    def elevation(self) -> None:
        """Seen from outside."""
        drawing = self.drawing
        for at, boss in enumerate(self.bosses):
            open_ = []
            if at + 1 < len(self.bosses):
                open_.append(0.0)
            if at:
                open_.append(math.pi)
            self.rim(boss, open_)
            drawing.add(Circle(boss.x, 0.0, boss.bore, "outline"))
            drawing.line(boss.x, -boss.outside - 5.0, boss.x, boss.outside + 5.0, "centre")
        for start, end in self.gaps():
            for a, b in self.seen(start, end):
                for sign in (1.0, -1.0):
                    drawing.line(a, sign * self.half_depth(a), b, sign * self.half_depth(b))
        for low, high in self.way.breaks:
            for x in (low, high):
                self.break_line(x, self.half_depth(x), 0.0)
        self.flutes()
        drawing.line(-8.0, 0.0, self.way.length_px + 8.0, 0.0, "centre")

    def rim(self, boss: _Boss, open_: list[float]) -> None:
        """The rim of a boss, left out where the bar joins it."""
        half = {way: self.half_angle(boss, way) for way in open_}
        if not open_ or any(angle is None for angle in half.values()):
            self.drawing.add(Circle(boss.x, 0.0, boss.outside, "outline"))
            return
        marks = sorted((way, angle) for way, angle in half.items() if angle is not None)
        for at, (way, angle) in enumerate(marks):
            after, less = marks[(at + 1) % len(marks)]
            end = after + (2 * math.pi if at + 1 == len(marks) else 0.0) - less
            self.drawing.add(Arc(boss.x, 0.0, boss.outside, way + angle, end, "outline"))

    def half_angle(self, boss: _Boss, way: float) -> float | None:
        """Half the angle under which the bar joins a boss; None where the bar is as deep as the boss."""
        x = self.leaves(boss, 1.0 if way == 0.0 else -1.0)
        high = self.half_depth(x)
        return math.asin(high / boss.outside) if high < boss.outside - 1e-6 else None

    def flutes(self) -> None:
        """The flute, from boss to boss, where the bar has one."""
        if self.form.flute_height is None:
            return
        half = self.subject.mm(self.form.flute_height, "height of the flute") * self.scale / 2
        for start, end in self.gaps():
            inset = 4.0
            if end - start <= 2 * inset + 2 * half:
                continue
            a, b = start + inset + half, end - inset - half
            for x, y in self.seen(a, b):
                for sign in (1.0, -1.0):
                    self.drawing.line(x, sign * half, y, sign * half)
            self.drawing.add(Arc(a, 0.0, half, math.pi / 2, 3 * math.pi / 2, "outline"))
            self.drawing.add(Arc(b, 0.0, half, -math.pi / 2, math.pi / 2, "outline"))

    def break_line(self, x: float, half: float, middle: float) -> None:
        """A wavy line across the bar."""
        swing = min(3.0, half / 3)
        self.drawing.path(
            [(x + swing * math.sin(2 * math.pi * at / 12), middle + half - 2 * half * at / 12) for at in range(13)],
            "thin",
        )

    # ---- figures
    def eye_notes(self) -> list[Flag]:
        """Bore and outside of every eye, depth of the bar, height of the flute."""
        found: list[Flag] = []
        for boss in self.bosses:
            if boss.eye.bore is not None:
                found.append(
                    Flag(boss.x - 0.6 * boss.bore, 0.8 * boss.bore, self.subject.text(boss.eye.bore, head="Ø"))
                )
            if boss.eye.outside is not None:
                found.append(
                    Flag(boss.x + 0.6 * boss.outside, 0.8 * boss.outside, self.subject.text(boss.eye.outside, head="Ø"))
                )  # fmt: skip
        gaps = self.gaps()
        if gaps:
            start, end = max(gaps, key=lambda gap: gap[1] - gap[0])
            tapered = self.form.depth_fore != self.form.depth_aft
            depths = (
                [(self.form.depth_aft, 0.12), (self.form.depth_fore, 0.88)]
                if tapered
                else [(self.form.depth_fore, 0.3)]
            )
            for measure, share in depths:
                if measure is not None:
                    x = start + share * (end - start)
                    high = self.half_depth(x)
                    found.append(Flag(x, high, self.subject.text(measure), over=-high))
            if self.form.flute_height is not None:
                half = self.subject.mm(self.form.flute_height, "height of the flute") * self.scale / 2
                deep = ""
                if self.form.flute_depth is not None:
                    deep = f" × {self.subject.text(self.form.flute_depth).lines[0]} deep"
                text = self.subject.text(self.form.flute_height, head="flute ", tail=f"{deep}, both faces")
                found.append(Flag(start + 0.65 * (end - start), half, text))
        return found

    def centres(self, left: float, right: float) -> float:
        """Centres of the eyes in a chain below; gives how low it reaches."""
        spans: list[Span] = []
        edges: dict[float, float] = {}
        behind = {eye.eye.name: eye for eye in self.bosses}
        for one, two in pairwise(self.bosses):  # from the rear forwards: one is behind two
            measure = behind[one.eye.name].eye.behind
            spans.append(Span(one.x, two.x, self.subject.text(measure) if measure is not None else None))
            edges |= {boss.x: -boss.outside - 5.0 for boss in (one, two)}
        level = -self.top - 8.0 - height_of([span.text for span in spans])
        short = chain(self.drawing, spans, edges, level)
        return raise_flags(self.drawing, short, left=left, right=right, base=level, up=False) - 4.0

    def plan(self, top: float, left: float, right: float) -> None:
        """Seen from above: widths of the eyes and of the bar, below it as flags."""
        drawing = self.drawing
        widest = max([boss.width for boss in self.bosses] + [self.thick * self.scale])
        middle, half = top - 16.0 - widest / 2, self.thick * self.scale / 2
        flags = []
        for boss in self.bosses:
            x0, x1, wide = boss.x - boss.outside, boss.x + boss.outside, boss.width / 2
            corners = [(x0, middle - wide), (x1, middle - wide), (x1, middle + wide), (x0, middle + wide)]
            drawing.path(corners, closed=True)
            for sign in (1.0, -1.0):
                drawing.line(
                    boss.x + sign * boss.bore, middle - wide, boss.x + sign * boss.bore, middle + wide, "hidden"
                )
            drawing.line(boss.x, middle - wide - 5.0, boss.x, middle + wide + 5.0, "centre")
            if boss.eye.width is not None:
                flags.append(
                    Flag(boss.x + 0.5 * (boss.bore + boss.outside), middle - wide, self.subject.text(boss.eye.width),
                         over=middle + wide)
                )  # fmt: skip
        for one, two in pairwise(self.bosses):
            start, end = one.x + one.outside, two.x - two.outside
            if start >= end:
                continue
            for x, boss in ((start, one), (end, two)):
                for sign in (1.0, -1.0):  # the bar's end where it is thicker than the boss it runs into
                    if boss.width / 2 < half:
                        drawing.line(x, middle + sign * boss.width / 2, x, middle + sign * half)
            for sign in (1.0, -1.0):
                y = middle + sign * half
                for a, b in self.seen(start, end):
                    drawing.line(a, y, b, y)
                if self.form.flute_depth is not None:
                    deep = self.subject.mm(self.form.flute_depth, "depth of the flute") * self.scale
                    for a, b in self.seen(start + 4, end - 4):
                        drawing.line(a, y - sign * deep, b, y - sign * deep, "hidden")
        for low, high in self.way.breaks:
            for x in (low, high):
                self.break_line(x, half, middle)
        gaps = [(a.x + a.outside, b.x - b.outside) for a, b in pairwise(self.bosses)]
        start, end = max(gaps, key=lambda gap: gap[1] - gap[0])
        if self.form.thickness is not None and end > start:
            x = start + 0.3 * (end - start)
            flags.append(Flag(x, middle - half, self.subject.text(self.form.thickness), over=middle + half))
        raise_flags(drawing, flags, left=left, right=right, base=middle - widest / 2 - 8.0, up=False)
