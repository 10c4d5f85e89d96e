"""Layout of a turned part on its bar: what is thickest, which end comes first, how each end is held."""

from __future__ import annotations

import math
from typing import Final

from asmade.book.forms.turned import EndHole, Turned
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import SetUp
from asmade.work.recipes.parted_blank import LEFT_MM
from asmade.work.routes.rack import Choice, bar_for, shaped_bar
from asmade.work.routes.schemes.result import value
from asmade.work.routes.schemes.steps import Step, step_of

SAME_MM: Final = 0.02
"""Diameters nearer than this count as one."""
LONG: Final = 4.0
"""Length to diameter from which a piece is sawn to length first and not parted from a long overhang."""
THIN_MM: Final = 3.0
"""Thinner than this, with a bore, the second face is done on a mandrel."""
BEYOND_MM: Final = 5.0
"""Bar out of the chuck beyond the cut, for the parting tool and the chuck jaws."""


class Layout:
    """Where everything of a turned part lies: the thickest section, which side is first, the bar, how it is held."""

    def __init__(self, form: Turned, bench: Bench, casting: Choice | None) -> None:
        """Lay a part out on the bar nearest in the rack, or on its casting."""
        self.form, self.bench = form, bench
        self.steps = [step_of(section, bench) for section in form.sections]
        self.warnings: list[str] = []
        known = [s.diameter for s in self.steps if math.isfinite(s.diameter)]
        self.largest = max(known, default=math.nan)
        self.total = math.fsum(s.length for s in self.steps)
        self.peak = self._peak()
        top = self.steps[self.peak]
        flats = top.as_bought and top.section.shape in ("hexagon", "square")
        across = value(top.section.across_flats, bench) if flats else math.nan
        shaped = shaped_bar(bench.shop, bench.part.material, bench.stuff, top.section.shape, across) if flats else None
        self.stock = (
            casting
            or shaped
            or bar_for(
                bench.shop,
                bench.part.material,
                bench.stuff,
                self.largest,
                as_bought=top.as_bought and not flats,
                length_mm=self.total,
                buys=bench.shop.buys,
            )
        )
        if flats and shaped is None and casting is None:
            self.warnings.append(
                f"no {top.section.shape} bar {across:.2f} across flats in the rack: it is milled from round as planned "
                "here, or buy it"
            )
        self.cast = casting is not None
        self.shaped = shaped is not None and casting is None
        """Whether it is cut from hexagon or square bar whose own flats stay."""
        self.bar = top.diameter if self.shaped else self.stock.size_mm
        near = math.isfinite(self.bar) and abs(self.bar - top.diameter) <= 0.1 + SAME_MM
        self.kept = self.shaped or (top.as_bought and not flats and near)
        self.first = self._first()
        self.offset = self._offset()
        slender = self.total / self.bar if math.isfinite(self.total) and math.isfinite(self.bar) else 0.0
        self.long = slender > LONG and not self.cast
        lathe = bench.machine("lathe")
        hole = lathe.spindle_bore_mm if lathe else None
        self.through_spindle = hole is not None and self.bar < hole
        if lathe and lathe.centre_height_mm and self.largest > 2 * lathe.centre_height_mm:
            self.warnings.append(
                f"{self.largest:.0f} mm does not swing over a centre height of {lathe.centre_height_mm:g}"
            )

    # ---- what lies where
    def _peak(self) -> int:
        near = [
            i for i, s in enumerate(self.steps) if math.isfinite(s.diameter) and s.diameter >= self.largest - SAME_MM
        ]
        if not near:
            return 0
        plain = [i for i in near if not self.steps[i].section.thread] or near
        return max(plain, key=lambda i: (self.steps[i].as_bought, or_else(self.steps[i].length, 0.0)))

    def _first(self) -> str:
        """The end that is finished at the first setting."""
        left, right = self.steps[: self.peak], self.steps[self.peak + 1 :]
        if bool(left) != bool(right):
            return "left" if left else "right"
        ends = [hole.end for hole in self.form.end_holes if hole.depth is not None]
        if not left and not right:
            return ends[0] if ends else "right"
        lengths = {
            end: math.fsum(or_else(s.length, 0.0) for s in side) for end, side in (("left", left), ("right", right))
        }
        return "left" if lengths["left"] >= lengths["right"] else "right"

    def _offset(self) -> float:
        found = self.bench.dim("offset")
        if found is None or found.kind not in ("position", "length"):
            return 0.0
        at = self.bench.size("offset")
        return abs(at) if math.isfinite(at) and abs(at) > 0.004 else 0.0

    def side(self, end: str) -> list[Step]:
        """Sections of a side, from the thickest outwards."""
        return self.steps[: self.peak][::-1] if end == "left" else self.steps[self.peak + 1 :]

    @property
    def second(self) -> str:
        """The other end."""
        return "right" if self.first == "left" else "left"

    # ---- set-ups
    def set_ups(self) -> tuple[SetUp, SetUp]:
        """The first setting and the second."""
        name = f"{self.stock.name}" if not self.cast else "the casting"
        reach = math.fsum(s.length for s in self.side(self.first))
        reach += 0.0 if self.long and self.kept else self.steps[self.peak].length + LEFT_MM + 2.5
        self.out = reach + BEYOND_MM
        self.beyond = math.fsum(s.length for s in self.side(self.second)) + BEYOND_MM
        far = f", {self.out:.0f} out" if math.isfinite(self.out) else ""
        traits = ["chuck"] + (["bar through spindle"] if self.through_spindle and self.long else [])
        self.centre = bool(math.isfinite(self.out) and self.out / self.bar > LONG and not self.cast)
        if self.cast:
            held = f"the casting by its outside in the four-jaw chuck, {self.first} end out, set to run true over all"
            first_alike = f"four-jaw|{self.bench.part.name}|first"
        else:
            how = "in a collet, or the four-jaw set true within 0.01" if self.kept else "in the three-jaw chuck"
            held = f"{name} {how}{far}, {self.first} end out"
            if self.long and self.through_spindle:
                held += ", the rest through the spindle"
            if self.centre:
                held += "; running centre in the end as soon as it is centred"
            first_alike = f"lathe|{self.stock.name}|{'collet' if self.kept else 'chuck'}"
        first = SetUp(
            f"1: {self.first} end",
            10,
            "lathe",
            held,
            "the bar's own outside" if not self.cast else "the casting's outside",
            first_alike,
            traits=tuple(traits),
            locates_from=("blank",) if self.long else (),
        )
        return first, self._second_set_up()

    def _second_set_up(self) -> SetUp:
        part, top = self.bench.part.name, self.steps[self.peak]
        by = f"{top.name}, {top.diameter:.2f}" if math.isfinite(top.diameter) else top.name
        bore = self.bore()
        if self.thin and bore is not None:
            held, datum, alike = (
                f"on a stub mandrel through {bore.name}, finished face against its shoulder",
                f"{self.first} face and {bore.name}",
                f"mandrel|{part}",
            )
            traits: tuple[str, ...] = ("mandrel",)
        else:
            how = (
                "in a collet or the four-jaw set true within 0.01"
                if self.kept
                else "in soft jaws bored to it, or a split bush"
            )
            held = f"turned round, held by {by} {how}, {self.second} end out"
            if math.isfinite(self.out) and self.long and self.through_spindle:
                held += ", the rest through the spindle"
            datum, alike, traits = f"{self.first} face and {by}", f"second|{part}", ("chuck",)
        return SetUp(
            f"2: {self.second} end", 20, "lathe", held, datum, alike, (f"{self.first} end", *self._locates()), traits
        )

    def _locates(self) -> tuple[str, ...]:
        top = self.steps[self.peak]
        bore = self.bore()
        if self.thin and bore is not None:
            return (bore.name,)
        return (top.name,) if not self.long else (("blank",) if self.kept else (top.name,))

    def bore(self) -> EndHole | None:
        """The plain hole that goes right through, if there is one."""
        return next((h for h in self.form.end_holes if h.depth is None and not h.thread), None)

    @property
    def thin(self) -> bool:
        """Whether the second face is done on a mandrel."""
        return len(self.steps) == 1 and math.isfinite(self.total) and self.total <= THIN_MM and self.bore() is not None


def or_else(x: float, other: float) -> float:
    """A length, or another where it is not known.

    Source: definition. Range: any. Anchor: NaN and 0: 0.
    """
    return x if math.isfinite(x) else other
