"""Scheme of a block: squared up face by face from the bar, slots at the setting they are true to, bores last.

Faces of the bar that stay as bought are not touched: they are what the rest is squared to. An axlebox (a block with a
bore across it and a flange) is made in pairs: both boxes of an axle at one setting, so that both bores lie alike. Slide
bars (a gap that is fabricated, not cut) are made upper and lower together and packed to the crosshead.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from asmade.book.forms.block import Block
from asmade.book.forms.measures import Measure
from asmade.work.recipes.bench import Bench, plain_name
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.rack import CLEAN_MM, Choice, Side, section_for
from asmade.work.routes.schemes.loose import holes_of_part, slots_of_part
from asmade.work.routes.schemes.result import Scheme, dims, named, value

KIND = "block"
SAWN_OVER_MM = 2.0
"""On the length, for both ends: common practice, no source."""
CAST_OVER_MM = 3.0
"""On each size of a casting, both faces together, where nothing is said: common practice, no source."""
STAYS = "stock as is"
FACES = {
    "width": ("first face", "second face"),
    "height": ("first edge", "second edge"),
    "length": ("first side", "second side"),
}
"""What the two faces of a size are called."""
WAYS = {
    "across": ("width", "middle of length and height"),
    "along": ("length", "middle of width and height (x outwards, y up)"),
    "up": ("height", "middle of length and width (x forwards, y outwards)"),
}
"""Through which size a bore goes, and from where it is measured, by the way it goes."""
CORED = (
    "where it is cast with a core, go straight to boring; take a light facing cut over the end before it is moved, so "
    "that this end is square to the bore"
)
SMALL_BORE_MM = 8.0
FACEPLATE_FROM_MM = 16.0
"""From here on a bore along a casting is bored on the faceplate, not on a small mill: common practice, no source."""


def scheme(
    form: Block, bench: Bench, *, casting: Choice | None = None, allowed: Mapping[str, float] | None = None
) -> Scheme:
    """Features of a block; ``allowed``: what a casting has over on ``width``, ``height``, ``length``, by its name."""
    return _Block(form, bench, casting, allowed or {}).run()


class _Block:
    def __init__(self, form: Block, bench: Bench, casting: Choice | None, allowed: Mapping[str, float]) -> None:
        self.form, self.bench, self.allowed = form, bench, allowed
        self.part = bench.part.name
        self.measures: dict[str, Measure] = {
            name: m
            for name, m in (("width", form.width), ("height", form.height), ("length", form.length))
            if m is not None
        }
        self.size = {name: value(m, bench) for name, m in self.measures.items()}
        self.box = any(h.name == "bore" for h in form.holes) and "flange" in bench.part.dims and "length" in self.size
        self.bars = self._slide_bars()
        self.warnings: list[str] = []
        self.start: dict[str, float] = {}
        self.stock = casting or self._from_bar()
        self.cast = casting is not None
        if self.cast:
            self._from_casting()
        pair = "both boxes of an axle together, marked as a pair, " if self.box else ""
        self.together = "upper and lower bar together, " if self.bars else pair
        self.true: tuple[str, ...] = ()
        """Faces of the bar that stay and that the rest is squared to."""
        self.squared = ""
        """The first clean face, to which the rest is squared where none of the bar's own stays."""

    # ---- what it is cut from
    def stays(self, name: str) -> bool:
        """Whether the bar's own faces stay, as far as the part says."""
        own = dims(self.measures[name])
        return not (own and self.bench.made_by(own[0]) != STAYS) and bool(own)

    def _from_bar(self) -> Choice:
        """The bar runs along the largest size that is cut; the two others are its section."""
        cut = [name for name in self.size if not self.stays(name)]
        along = max(cut or list(self.size) or ["length"], key=lambda n: _or(self.size.get(n, math.nan), 0.0))
        others = [name for name in self.size if name != along]
        sides = [Side(self.size[name], stays=self.stays(name)) for name in others]
        sides += [Side(math.nan)] * (2 - len(sides))
        found = section_for(
            self.bench.shop, self.bench.part.material, self.bench.stuff, sides[0], sides[1],
            ("flat", "flat bar", "square bar", "plate", "sheet"),
        )  # fmt: skip
        for name, bar in zip(others, (found.first_mm, found.second_mm), strict=False):
            self.start[name] = bar
        self.along = along
        if math.isfinite(self.size.get(along, math.nan)):
            self.start[along] = self.size[along] + SAWN_OVER_MM
        self.warnings += found.choice.warnings
        return found.choice

    def _from_casting(self) -> None:
        self.along = ""
        for name, size in self.size.items():
            self.start[name] = size + self.allowed.get(name, CAST_OVER_MM)
        unsaid = [name for name in self.size if name not in self.allowed]
        if unsaid:
            self.warnings.append(
                f"the casting's allowance on {', '.join(unsaid)} is not said (machined = {{ {unsaid[0]} = "
                f'"3 mm" }} in its form): {CAST_OVER_MM:g} on both faces together is assumed for the passes; measure'
            )

    def _slide_bars(self) -> str:
        """The dimension that is the gap of a pair of slide bars; empty where it is no such pair."""
        gaps = (
            n for n, d in self.bench.part.dims.items() if d.kind == "slot" and self.bench.made_by(n) == "fabricated"
        )
        return next(gaps, "")

    # ---- features
    def run(self) -> Scheme:
        """All features of the block."""
        features = [*self._blank(), *self._faces()]
        claimed = frozenset().union(
            *(named(m) for m in self.measures.values()),
            *(named(h.diameter) | named(h.x) | named(h.y) | named(h.depth) for h in self.form.holes),
            {self.bars} if self.bars else set(),
        )
        for more in (self._slots(claimed), self._bores(claimed), self._bars()):
            made = list(more)
            features += made
            claimed |= {d for f in made for d in f.dims}
        return Scheme(self.stock, tuple(features), tuple(self.warnings), claimed)

    def _blank(self) -> Iterator[Feature]:
        if self.cast:
            look = SetUp(
                "0: on the bench", 0, "by hand", "on the surface plate", "the casting as it came", f"bench|{self.part}"
            )
            yield Feature("casting", "casting looked at", look, self.size, makes=("blank",))
            return
        saw = SetUp("0: blank", 0, "saw", f"{self.stock.name} in the saw", "the bar", f"saw|{self.stock.name}")
        figures = {"length": self.size.get(self.along, math.nan), "allowance": SAWN_OVER_MM}
        count = "two blanks, " if self.bars else ""
        yield Feature("blank", "sawn blank", saw, figures, makes=("blank",), words=f"{count}of {self.stock.name}")

    def _kept(self, name: str) -> bool:
        """Whether a size is left as the bar has it: it was to stay, and the bar in the rack is of that size."""
        bar, size = self.start.get(name, math.nan), self.size[name]
        return not self.cast and self.stays(name) and (not math.isfinite(bar) or abs(bar - size) <= CLEAN_MM / 10)

    def _faces(self) -> Iterator[Feature]:
        kept = [name for name in self.measures if self._kept(name)]
        for name in kept:
            own = dims(self.measures[name])
            hand = SetUp(
                "1: as bought", 5, "by hand", "on the surface plate", "the bar", f"bench|{self.part}", ("blank",)
            )
            yield Feature(own[0], "as-stock diameter", hand, {"diameter": self.size[name]}, own, makes=(name,))
            self.true = (*self.true, name)
        cut = [name for name in ("width", "height", "length") if name in self.measures and name not in kept]
        # the section is squared before the ends, whatever the sizes are called
        cut.sort(key=lambda name: name == self.along)
        settings: list[tuple[int, Feature]] = []
        for at, name in enumerate(cut):
            settings += self._two_faces(at, name, last=name == self.along or at == 2)
        for _, feature in sorted(settings, key=lambda pair: pair[0]):
            yield feature

    def _two_faces(self, at: int, name: str, *, last: bool) -> Iterator[tuple[int, Feature]]:
        """The first face of a size, clean, and the second, to size; ends at one setting, turned end for end."""
        size, start = self.size[name], self.start.get(name, math.nan)
        first = min(CLEAN_MM / 2, (start - size) / 2) if math.isfinite(start) and math.isfinite(size) else math.nan
        one, two = ("ends", "ends") if last else FACES[name]
        clean = "first end clean" if last else f"{one} clean"
        square = self.true[-1:] or ((self.squared,) if self.squared else ("blank",))
        self.squared = self.squared or clean
        raw = "the marked lines of the casting" if self.cast else "the sawn faces"
        shown = raw if square == ("blank",) else square[0].removesuffix(" clean")
        if last:
            held = f"along the vice, {shown} against the fixed jaw, the end out beyond the jaws"
        elif at == 0:
            held = "in the vice on parallels, soft rod on the rough side"
        else:
            held = f"in the vice, {shown} against the fixed jaw, round rod at the moving one"
        order = 50 if last else 10 + 10 * at
        set_one = SetUp(
            f"{order // 10}: {one}", order, "mill", f"{self.together}{held}", shown, f"vice|{self.part}|{one}", square,
            words=("turned end for end against the same stop for the second",) if last else (),
        )  # fmt: skip
        start_face = "first end" if last else one
        yield (
            order,
            Feature(start_face, "milled faces", set_one, {"first": 1.0}, makes=(clean,), words=f"the {start_face}"),
        )
        own = dims(self.measures[name])
        order = 50 if last else 40 - 10 * at
        set_two = set_one if last else SetUp(
            f"{order // 10}: {two}", order, "mill",
            f"{self.together}in the vice, {one} down on parallels, tapped down till they do not move", one,
            f"vice|{self.part}|{two}", (clean, *square),
        )  # fmt: skip
        figures = {"size": size, "start": start - first if math.isfinite(first) else math.nan}
        words = f"the {plain_name(own[0]) if own else name}, second {'end' if last else 'face'},"
        called = own[0] if own else name if name not in self.bench.part.dims else f"{name} over all"
        feature = Feature(called, "milled faces", set_two, figures, own, (clean,), (name,), words)
        yield order, feature

    def _locates(self) -> tuple[str, ...]:
        """What later set-ups locate from: the size made last."""
        last = [n for n in ("length", "height", "width") if n in self.measures]
        return (last[0],) if last else ("blank",)

    def _slots(self, claimed: frozenset[str]) -> Iterator[Feature]:
        by = self._locates()
        setup = SetUp(
            "6: slots", 60, "mill", f"{self.together}in the vice against a stop, {by[0]} down", by[0],
            f"vice|{self.part}|slots", tuple(self.measures) or by,
        )  # fmt: skip
        yield from slots_of_part(self.bench, setup, claimed)
        if self.box:
            flange = self.bench.size("flange")
            across = self.size.get("width", math.nan)
            figures = {"size": flange, "start": min(flange + 3.0, across), "across": across}
            yield Feature("flange", "axlebox pair", setup, figures, ("flange",), makes=("flange",))

    def _bores(self, claimed: frozenset[str]) -> Iterator[Feature]:
        bench = self.bench
        setups: dict[tuple[str, bool], SetUp] = {}
        for hole in self.form.holes:
            own = dims(hole.diameter, hole.x, hole.y)
            if hole.diameter is None:
                continue
            size, way = value(hole.diameter, bench), hole.way or "across"
            process = bench.made_by(own[0]) if own else "bored" if size >= SMALL_BORE_MM else "drilled"
            turned = self.cast and way == "along" and process == "bored" and size >= FACEPLATE_FROM_MM
            setup = setups.setdefault((way, turned), self._bore_at(way, len(setups), turned=turned))
            through = self.size.get(WAYS[way][0], math.nan) * (2 if self.box else 1)
            figures = {
                "diameter": size,
                "depth": value(hole.depth, bench) if hole.depth else through,
                "through": float(hole.depth is None),
                "x": value(hole.x, bench),
                "y": value(hole.y, bench),
            }
            callout = bench.callout_of(hole.thread) if hole.thread else ""
            yield Feature(
                own[0] if own else hole.name, "placed hole", setup, figures, own, (), (hole.name,), process, callout
            )
        yield from holes_of_part(bench, self._bore_at("across", 0, turned=False), claimed)

    def _bore_at(self, way: str, number: int, *, turned: bool) -> SetUp:
        """Where bores that go one way through the block are made."""
        by = self._locates()
        _, axes = WAYS[way]
        needs, order = tuple(self.measures) or by, 70 + number
        if self.box:
            return SetUp(
                "7: bores", order, "lathe",
                "four-jaw chuck, both boxes of an axle clamped together, outer faces out; set to a button or a plug at "
                "the marked middle", axes, f"bores|{self.part}", needs, ("chuck",),
                ("both boxes of an axle at one setting, so that both bores lie alike",),
            )  # fmt: skip
        if turned:
            return SetUp(
                f"7: bore {way}", order, "lathe",
                "on an angle plate on the faceplate, its bolting face against the plate, clamped and balanced; set by "
                "its marked lines at both ends", axes, f"faceplate|{self.part}", needs, ("faceplate", "heavy"),
                (CORED,),
            )  # fmt: skip
        how = {"across": f"{by[0]} against the fixed jaw or an angle plate, clamped",
               "along": "on end against an angle plate, clamped, square to the table both ways",
               "up": "bottom down on parallels, in the vice or clamped"}[way]  # fmt: skip
        return SetUp(f"7: bores {way}" if number else "7: bores", order, "mill", how, axes,
                     f"bores {way}|{self.part}", needs)  # fmt: skip

    def _bars(self) -> Iterator[Feature]:
        if not self.bars:
            return
        setup = SetUp(
            "8: on the engine", 80, "by hand", "both bars on their brackets, crosshead and piston rod in place",
            "the line of the cylinder", f"slide bars|{self.part}", tuple(self.measures),
            words=("the bars are packed to the crosshead as it came out, not the crosshead to the bars",),
        )  # fmt: skip
        figures = {
            "gap": self.bench.size(self.bars),
            "length": self.size.get("length", math.nan),
            "width": self.size.get("width", math.nan),
        }
        yield Feature(self.bars, "slide bar", setup, figures, (self.bars,), makes=(self.bars,))


def _or(x: float, other: float) -> float:
    return x if math.isfinite(x) else other
