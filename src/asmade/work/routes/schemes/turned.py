"""Scheme of a turned part: which end first, what is done at one setting, how the second end is held.

The thickest section stays in the middle: what lies to one side of it is turned at the first setting, the piece is
parted off (or was sawn), turned round and held by what is finished, and the other side follows. Bores that go right
through are made at the first setting, where the outside is, so that both run true to each other.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from asmade.book.forms.turned import EndHole, Turned
from asmade.measure.errors import OutOfRange
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.die_cut_thread import blank_mm
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.recipes.parted_blank import LEFT_MM
from asmade.work.routes.rack import Choice, bar_for
from asmade.work.routes.schemes.result import Scheme, dims, named, value
from asmade.work.routes.schemes.steps import Step, hole_recipe, step_of

KIND = "turned"
SAME_MM: Final = 0.02
"""Diameters nearer than this count as one."""
LONG: Final = 4.0
"""Length to diameter from which a piece is sawn to length first and not parted from a long overhang."""
THIN_MM: Final = 3.0
"""Thinner than this, with a bore, the second face is done on a mandrel."""
BEYOND_MM: Final = 5.0
"""Bar out of the chuck beyond the cut, for the parting tool and the chuck jaws."""


def scheme(form: Turned, bench: Bench, *, casting: Choice | None = None) -> Scheme:
    """Features of a turned part; ``casting`` where it is not cut from bar."""
    return _Turned(form, bench, casting).run()


class _Turned:
    def __init__(self, form: Turned, bench: Bench, casting: Choice | None) -> None:
        self.form, self.bench = form, bench
        self.steps = [step_of(section, bench) for section in form.sections]
        self.warnings: list[str] = []
        known = [s.diameter for s in self.steps if math.isfinite(s.diameter)]
        self.largest = max(known, default=math.nan)
        self.total = math.fsum(s.length for s in self.steps)
        self.peak = self._peak()
        top = self.steps[self.peak]
        self.stock = casting or bar_for(
            bench.shop,
            bench.part.material,
            bench.stuff,
            self.largest,
            as_bought=top.as_bought,
            length_mm=self.total,
            buys=bench.shop.buys,
        )
        self.cast = casting is not None
        self.bar = self.stock.size_mm
        self.kept = top.as_bought and math.isfinite(self.bar) and abs(self.bar - top.diameter) <= 0.1 + SAME_MM
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
        return max(plain, key=lambda i: (self.steps[i].as_bought, _or(self.steps[i].length, 0.0)))

    def _first(self) -> str:
        """The end that is finished at the first setting."""
        left, right = self.steps[: self.peak], self.steps[self.peak + 1 :]
        if bool(left) != bool(right):
            return "left" if left else "right"
        ends = [hole.end for hole in self.form.end_holes if hole.depth is not None]
        if not left and not right:
            return ends[0] if ends else "right"
        lengths = {end: math.fsum(_or(s.length, 0.0) for s in side) for end, side in (("left", left), ("right", right))}
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
        bore = self._bore()
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
        bore = self._bore()
        if self.thin and bore is not None:
            return (bore.name,)
        return (top.name,) if not self.long else (("blank",) if self.kept else (top.name,))

    def _bore(self) -> EndHole | None:
        return next((h for h in self.form.end_holes if h.depth is None and not h.thread), None)

    @property
    def thin(self) -> bool:
        """Whether the second face is done on a mandrel."""
        return len(self.steps) == 1 and math.isfinite(self.total) and self.total <= THIN_MM and self._bore() is not None

    # ---- features
    def run(self) -> Scheme:
        first, second = self.set_ups()
        features = [
            *self._blank(),
            *self._one_side(first, self.first, start=True),
            *self._top(first),
            *self._through(first),
            *self._part(first),
            *self._second_face(second),
            *self._one_side(second, self.second, start=False),
            *self._blind(first, second),
            *self._flats_and_cross(),
        ]
        claimed: frozenset[str] = frozenset().union(
            *(
                named(m)
                for s in self.form.sections
                for m in (s.diameter, s.length, s.across_flats, s.chamfer_left, s.chamfer_right)
            ),
            *(named(m) for s in self.form.sections if s.undercut for m in (s.undercut.width, s.undercut.diameter)),
            *(named(m) for h in self.form.end_holes for m in (h.diameter, h.depth)),
            *(named(m) for c in self.form.cross_holes for m in (c.diameter, c.from_left)),
            {"offset"} if self.bench.dim("offset") is not None else set(),
        )
        return Scheme(self.stock, tuple(features), tuple(self.warnings) + self.stock.warnings, claimed)

    def _blank(self) -> Iterator[Feature]:
        if not self.long:
            return
        bench = SetUp("0: blank", 0, "saw", f"{self.stock.name} in the saw", "the bar", f"saw|{self.stock.name}")
        yield Feature(
            "blank", "sawn blank", bench, {"length": self.total}, makes=("blank",), words=f"of {self.stock.name}"
        )

    def _one_side(self, setup: SetUp, end: str, *, start: bool) -> Iterator[Feature]:
        """The end's face (first setting only) and every section of the side, from the thickest outwards."""
        side = self.side(end)
        if start:
            yield Feature(f"{end} end", "faced end", setup, {"diameter": self.bar}, makes=(f"{end} end",))
            if self.centre:
                yield Feature(
                    f"{end} centre",
                    "drilled centre",
                    setup,
                    {"bar": self.bar},
                    needs=(f"{end} end",),
                    makes=(f"{end} centre",),
                )
        top = self.steps[self.peak]
        turned_first = () if self.kept or self.cast or top.section.shape in ("hexagon", "square") else (top.name,)
        now, needs = self.bar, (*turned_first, f"{end} end", *((f"{end} centre",) if start and self.centre else ()))
        if turned_first and math.isfinite(top.diameter):
            now = top.diameter
        base = needs
        for at, step in enumerate(side):
            rest = math.fsum(s.length for s in side[at:])
            beyond = max((s.diameter for s in side[at + 1 :] if math.isfinite(s.diameter)), default=0.0)
            neck = math.isfinite(step.diameter) and beyond > step.diameter + SAME_MM
            target = beyond if neck else step.diameter
            whole = dims(step.section.diameter, step.section.length)
            if at == 0 and not start:
                whole = tuple(dict.fromkeys((*whole[:1], *dims(self.steps[self.peak].section.length), *whole[1:])))
            threaded = bool(step.section.thread)
            if threaded:
                blank = blank_mm(self.bench.callout_of(step.section.thread))
                target = blank if math.isfinite(blank) else target
                if math.isfinite(target) and math.isfinite(self.bar) and self.bar < target - 0.05:
                    self.warnings.append(
                        f"{step.name}: the {self.bar:g} bar is too thin for the thread "
                        f"{self.bench.callout_of(step.section.thread)}, {target:.2f} over the crests: "
                        "choose the thread or the bar anew"
                    )
            figures = {
                "start": now,
                "diameter": target,
                "length": rest,
                "out": self.out,
                "shoulder": 1.0,
                "centre": float(start and self.centre),
            }
            counts = ""
            if at == 0 and not start and math.isfinite(self.steps[self.peak].length):
                own = self.steps[self.peak]
                counts = f"{own.name} {own.length:.3f} long to its shoulder: that is the size that counts"
            of = whole[0] if whole and not threaded else step.name
            yield Feature(
                of,
                "turned shoulder",
                setup,
                figures,
                () if threaded or neck else whole,
                needs,
                (f"{step.name} turned",) if threaded or neck else (step.name,),
                counts,
            )
            if neck:
                figures = {
                    "start": target,
                    "diameter": step.diameter,
                    "length": step.length,
                    "out": self.out,
                    "sticking": 1.0,
                }
                yield Feature(
                    f"{of} neck",
                    "turned shoulder",
                    setup,
                    figures,
                    whole,
                    (*needs, f"{step.name} turned"),
                    (step.name,),
                )
            yield from self._extras(setup, step, needs=(step.name,) if not threaded else (f"{step.name} turned",))
            if threaded:
                recipe = (
                    "screw-cut thread" if self.bench.made_by(step.section.thread) == "screw-cut" else "die-cut thread"
                )
                yield Feature(
                    step.section.thread,
                    recipe,
                    setup,
                    {"length": step.length},
                    (step.section.thread, *dims(step.section.length)),
                    (f"{step.name} turned",),
                    (step.name,),
                    callout=self.bench.callout_of(step.section.thread),
                )
            now, needs = target, (*base, f"{step.name} turned" if threaded or neck else step.name)

    def _extras(self, setup: SetUp, step: Step, needs: tuple[str, ...]) -> Iterator[Feature]:
        section = step.section
        if section.undercut is not None:
            figures = {
                "diameter": value(section.undercut.diameter, self.bench),
                "width": value(section.undercut.width, self.bench),
                "start": step.diameter,
            }
            yield Feature(
                f"{step.name} undercut",
                "undercut",
                setup,
                figures,
                dims(section.undercut.diameter, section.undercut.width),
                needs,
                (f"{step.name} undercut",),
            )
        for which, chamfer in (("left", section.chamfer_left), ("right", section.chamfer_right)):
            if chamfer is not None:
                yield Feature(
                    f"{step.name} {which} chamfer",
                    "chamfer",
                    setup,
                    {"size": value(chamfer, self.bench), "diameter": step.diameter},
                    dims(chamfer),
                    needs,
                    (f"{step.name} {which} chamfer",),
                )

    def _top(self, first: SetUp) -> Iterator[Feature]:
        """The thickest section: as bought, turned, or cut into flats from round."""
        top = self.steps[self.peak]
        whole = dims(top.section.diameter)
        if top.section.shape not in ("round", "two flats"):
            if math.isfinite(top.diameter) and not self.cast:
                yield Feature(
                    f"{top.name} round",
                    "turned shoulder",
                    first,
                    {"start": self.bar, "diameter": top.diameter, "length": self.out, "out": self.out},
                    (),
                    (f"{self.first} end",),
                    (top.name,),
                )
            return
        if self.kept:
            yield Feature(
                whole[0] if whole else top.name,
                "as-stock diameter",
                first,
                {"diameter": top.diameter},
                whole,
                makes=(top.name,),
            )
            return
        if top.section.thread:
            callout = self.bench.callout_of(top.section.thread)
            yield Feature(
                top.name,
                "turned shoulder",
                first,
                {"start": self.bar, "diameter": blank_mm(callout), "out": self.out, "length": self.out - BEYOND_MM},
                (),
                (f"{self.first} end",),
                (f"{top.name} turned",),
            )
            recipe = "screw-cut thread" if self.bench.made_by(top.section.thread) == "screw-cut" else "die-cut thread"
            yield Feature(
                top.section.thread,
                recipe,
                first,
                {"length": top.length},
                (top.section.thread,),
                (f"{top.name} turned",),
                (top.name,),
                callout=callout,
            )
            return
        bore = self._bore()
        figures = {
            "start": self.bar,
            "diameter": top.diameter,
            "out": self.out,
            "length": self.out - BEYOND_MM,
            "centre": float(self.centre),
            "bore": value(bore.diameter, self.bench) if bore and not self.offset else 0.0,
        }
        figures = {k: v for k, v in figures.items() if math.isfinite(v) or k != "bore"}
        centre = (f"{self.first} centre",) if self.centre else ()
        of = whole[0] if whole else top.name
        yield Feature(of, "turned shoulder", first, figures, whole, (f"{self.first} end", *centre), (top.name,))
        yield from self._extras(first, top, (top.name,))

    def _through(self, first: SetUp) -> Iterator[Feature]:
        """Holes right through, at the first setting; a bore out of the middle at a setting of its own."""
        for hole in self.form.end_holes:
            if hole.depth is not None:
                continue
            if self.offset and hole.name == "bore":
                top = self.steps[self.peak]
                held = f"by {top.name}, {top.diameter:.2f}, with packing under one jaw"
                over = SetUp(
                    "3: set over",
                    30,
                    "lathe",
                    held,
                    f"{top.name} and {self.first} face",
                    f"set over|{self.bench.part.name}",
                    (top.name, f"{self.first} end", f"{self.second} end"),
                    ("chuck", "packed chuck"),
                )
                yield Feature(
                    "offset",
                    "eccentric setting",
                    over,
                    {"offset": self.offset, "diameter": top.diameter},
                    ("offset",),
                    makes=("set over",),
                )
                yield from self._hole(hole, over, self.total, through=True, needs=("set over",))
            else:
                yield from self._hole(hole, first, self.total, through=True, needs=(f"{self.first} end",))

    def _blind(self, first: SetUp, second: SetUp) -> Iterator[Feature]:
        for hole in self.form.end_holes:
            if hole.depth is not None:
                setup = first if hole.end == self.first else second
                yield from self._hole(
                    hole, setup, value(hole.depth, self.bench), through=False, needs=(f"{hole.end} end",)
                )

    def _inside(self, hole: EndHole, depth: float, size: float) -> None:
        """Refuse a hole that is not smaller than the outside it lies in."""
        rest = depth
        for step in self.steps if hole.end == "left" else self.steps[::-1]:
            if not (math.isfinite(step.diameter) and math.isfinite(step.length) and math.isfinite(rest)) or rest <= 0:
                return
            if size >= step.diameter:
                raise OutOfRange(
                    f"{hole.name} of {self.bench.part.name}",
                    got=f"{size:.2f} mm",
                    allowed=f"smaller than {step.name}, {step.diameter:.2f} mm, in which it lies",
                    way_out="check both sizes, and from which end the hole goes in",
                )
            rest -= step.length

    def _hole(
        self, hole: EndHole, setup: SetUp, depth: float, *, through: bool, needs: tuple[str, ...]
    ) -> Iterator[Feature]:
        if hole.diameter is None:
            return
        own = dims(hole.diameter, hole.depth)
        if not own:
            return  # the inside of a tube, a sum of other sizes
        figures = {"diameter": value(hole.diameter, self.bench), "depth": depth, "through": float(through)}
        self._inside(hole, depth, figures["diameter"])
        recipe = hole_recipe(self.bench.made_by(own[0]), threaded=bool(hole.thread))
        callout = self.bench.callout_of(hole.thread) if hole.thread else ""
        name = hole.name if hole.thread else own[0]
        yield Feature(name, recipe, setup, figures, own, needs, (hole.name,), callout=callout)

    def _part(self, first: SetUp) -> Iterator[Feature]:
        if self.long or self.cast:
            return
        needs = [f"{self.first} end", *(s.name for s in self.side(self.first)), self.steps[self.peak].name]
        bores = [
            h.name
            for h in self.form.end_holes
            if h.depth is None and dims(h.diameter) and not (self.offset and h.name == "bore")
        ]
        blind = [h.name for h in self.form.end_holes if h.depth is not None and h.end == self.first]
        top = self.steps[self.peak]
        across = top.diameter if math.isfinite(top.diameter) else self.bar
        beyond = math.fsum(s.length for s in self.side(self.second))
        yield Feature(
            "blank",
            "parted blank",
            first,
            {"length": self.total, "diameter": self.bar if beyond else across},
            needs=tuple(dict.fromkeys((*needs, *bores, *blind))),
            makes=("blank",),
        )

    def _second_face(self, second: SetUp) -> Iterator[Feature]:
        top = self.steps[self.peak]
        side = self.side(self.second)
        own = () if side else dims(top.section.length)
        over = 2.0 - 0.5 if self.long else LEFT_MM
        start = self.total + over if not self.cast else math.nan
        figures = {
            "diameter": max(top.diameter, 1.0) if math.isfinite(top.diameter) else self.bar,
            "start": start,
            "length": self.total,
        }
        beyond = [s.length for s in self.side(self.first)]
        if not side and beyond and own and math.isfinite(top.length):
            figures |= {"start": top.length + over, "length": top.length}
        words = "over all" if side or not beyond else f"over {top.name}"
        bore = self._bore()
        needs = ("blank",) if not self.cast else (f"{self.first} end",)
        if self.thin and bore is not None:
            yield Feature(
                f"{self.second} end",
                "thin spacer on a mandrel",
                second,
                figures | {"bore": value(bore.diameter, self.bench)},
                own,
                needs,
                (f"{self.second} end",),
                words,
            )
            return
        yield Feature(f"{self.second} end", "faced end", second, figures, own, needs, (f"{self.second} end",), words)

    def _flats_and_cross(self) -> Iterator[Feature]:
        part = self.bench.part.name
        flats = [s for s in self.steps if s.section.shape != "round"]
        done = (f"{self.second} end",)
        for step in flats:
            count = {"hexagon": 6, "square": 4}.get(step.section.shape, 2)
            own = dims(step.section.across_flats)
            setup = SetUp(
                "4: flats",
                40,
                "mill",
                "in the dividing head or a hexagon/square collet block, held by a finished round, end out",
                "finished round",
                f"flats|{part}",
                (step.name, *done),
            )
            across = value(step.section.across_flats, self.bench)
            if math.isfinite(across):
                figures = {"count": float(count), "across": across, "bar": step.diameter, "length": step.length}
                yield Feature(
                    own[0] if own else f"{step.name} flats",
                    "flats from round",
                    setup,
                    figures,
                    own,
                    done,
                    (f"{step.name} flats",),
                )
        for cross in self.form.cross_holes:
            kind = "mill" if self.bench.machine("mill") else "drilling machine"
            setup = SetUp(
                "5: cross holes",
                50,
                kind,
                "in a vee block, clamped, end against a stop",
                f"{self.first} end and the round",
                f"vee block|{part}",
                (f"{self.first} end", f"{self.second} end"),
            )
            own = dims(cross.diameter, cross.from_left)
            size, at = value(cross.diameter, self.bench), value(cross.from_left, self.bench)
            through = self._round_at(at)
            figures = {"diameter": size, "depth": through, "through": 1.0, "from_left": at, "round": through}
            yield Feature(
                own[0] if own else cross.name,
                "cross hole",
                setup,
                figures,
                own,
                done,
                (cross.name,),
                words=self.bench.made_by(own[0]) if own else "",
            )

    def _round_at(self, at: float) -> float:
        end = 0.0
        for step in self.steps:
            end += step.length
            if at <= end:
                return step.diameter
        return self.largest


def _or(x: float, other: float) -> float:
    return x if math.isfinite(x) else other
