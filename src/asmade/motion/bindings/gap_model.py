"""Least gap of one side of a book, over all its bodies or of one pair, as a function of the sizes of the book."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Final

import numpy as np

from asmade.book.address import Address
from asmade.measure.errors import AsmadeError
from asmade.motion.bindings.gaps import Array, Body, Get, Side, bodies_apart, pairs_between
from asmade.motion.gaps.findings import GapFinding, Sizes, find_gaps, least_gap
from asmade.motion.gaps.scene import Pair, Scene
from asmade.motion.gaps.sweep import across, closing
from asmade.reckon.requirement import Row

ANGLES: Final = 180
"""Crank angles of a turn for the check; the tightest place is looked at again between its neighbours."""
OF_EACH: Final = 90
"""Crank angles at each reverser position, where a link of the valve gear is in the pair."""
ABOUT_MM: Final = 2.0
"""At other sizes only pairs are asked that are within this of the nearest at the sizes first looked at."""
KEPT: Final = 8
Wanted = Callable[[str, str], float]


@dataclass(frozen=True, slots=True)
class Looked:
    """The nearest pair at given sizes, its finding, and the bodies that could be looked at; None where none could."""

    finding: GapFinding | None
    bodies: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...]
    near: tuple[Pair, ...]
    fault: str = ""


def known_bodies(side: Side, bodies: tuple[Body, ...], get: Get) -> tuple[tuple[Body, ...], list[tuple[str, str]]]:
    """Bodies all of whose sizes are known and make a shape; the others with the reason."""
    known, out = [], []
    freedoms = {a: get(a) for a in side.reads_of(()) if math.isnan(get(a))}
    for body in bodies:
        missing = [str(a) for a in body.reads if math.isnan(get(a))]
        if missing:
            out.append((body.name, f"not known: {', '.join(missing[:4])}"))
            continue
        try:
            elements = body.make(get, side.angles((body,), 8, 8))
        except AsmadeError as fault:
            out.append((body.name, fault.message))
            continue
        plays = {name for element in elements for name in element.plays}
        unknown = [n for n, node, _ in side.freedoms if n in plays and _reads_any(node, freedoms)]
        if unknown:
            out.append((body.name, f"not known: {', '.join(unknown)}"))
            continue
        known.append(body)
    return tuple(known), out


def _reads_any(node: Any, sizes: Mapping[Address, float]) -> bool:
    from asmade.book.grammar import addresses  # noqa: PLC0415

    return any(address in sizes for address in addresses(node))


def scene_model(side: Side, bodies: tuple[Body, ...]) -> Callable[[Mapping[str, float], Array], Scene]:
    """A model for the sums of gaps: sizes by the text of their addresses."""
    texts: dict[Address, str] = {}

    def model(sizes: Mapping[str, float], angles: Array) -> Scene:
        def get(address: Address) -> float:
            text = texts.get(address)
            if text is None:
                text = texts[address] = str(address)
            return sizes[text]

        return side.scene(bodies, get, angles)

    return model


@dataclass(frozen=True, slots=True)
class Together:
    """Pairs that are looked at in one scene: over a turn, or over a turn at every reverser position."""

    scene: Scene
    pairs: tuple[Pair, ...]


def looked_together(
    side: Side, duos: Iterable[tuple[Body, Body]], get: Get, wanted: Wanted, *, angles: int, of_each: int
) -> tuple[Together, ...]:
    """Every two layers of bodies that are to keep apart; those with a link of the valve gear by themselves."""
    found = []
    every = tuple(duos)
    for geared in (False, True):
        some = [two for two in every if (two[0].geared or two[1].geared) == geared]
        if not some:
            continue
        bodies = tuple({body.name: body for two in some for body in two}.values())
        scene = side.scene(bodies, get, side.angles(bodies, angles, of_each))
        pairs = tuple(p for a, b in some for p in pairs_between(scene, a, b, wanted(a.name, b.name)))
        found.append(Together(scene, pairs))
    return tuple(found)


def duos_of(bodies: Iterable[Body]) -> Iterator[tuple[Body, Body]]:
    """Every two bodies that are to keep apart."""
    return (two for two in combinations(bodies, 2) if bodies_apart(*two))


def least_margins(
    scene: Scene, pairs: tuple[Pair, ...], about_mm: float, *, up_to_mm: float = -math.inf
) -> list[float]:
    """Least gap less the wanted one of each pair; inf where that need not be told.

    Told is what may be within ``about_mm`` of the least of all, or not more than ``up_to_mm``.

    In space a gap is no less than that across: pairs far apart across the engine need not be turned round.
    """
    named = {element.name: element for element in scene.elements}
    duos = [(named[pair.one], named[pair.other]) for pair in pairs]
    apart = [
        max(0.0, across(one, other) - closing(scene, one, other)) - pair.wanted_mm
        for pair, (one, other) in zip(pairs, duos, strict=True)
    ]
    found = [math.inf] * len(pairs)
    least = math.inf
    for number in np.argsort(apart, kind="stable"):
        if apart[number] > max(least + about_mm, up_to_mm):
            break
        found[number] = least_gap(scene, *duos[number]).gap_mm - pairs[number].wanted_mm
        least = min(least, found[number])
    return found


class Model:
    """One side: all bodies, or the two of one pair."""

    def __init__(self, side: Side, bodies: tuple[Body, ...], wanted: Wanted, least_mm: float) -> None:
        """wanted: gap wanted between two bodies by name; least_mm: what the value is measured against."""
        self.side, self.bodies, self.wanted, self.least_mm = side, bodies, wanted, least_mm
        self.reads = side.reads_of(bodies) if bodies else ()
        self.geared = any(body.geared for body in bodies)
        self._looked: OrderedDict[tuple[float, ...], Looked] = OrderedDict()

    def value(self, get: Get) -> float:
        """Least gap, by as much more or less as its pair wants less or more than ``least_mm``; NaN if there is none."""
        first = next(iter(self._looked.values()), None)
        if first is not None and first.finding is not None and self._key(get) not in self._looked:
            return self._of(first.near, get)
        return self._value(self.look(get))

    @property
    def latest(self) -> Looked | None:
        """What was looked at last."""
        return next(reversed(self._looked.values()), None)

    def _value(self, looked: Looked) -> float:
        found = looked.finding
        return math.nan if found is None else found.least.gap_mm + self.least_mm - found.pair.wanted_mm

    def _key(self, get: Get) -> tuple[float, ...]:
        return tuple(get(address) for address in self.reads)

    def _of(self, pairs: tuple[Pair, ...], get: Get) -> float:
        """The same of some pairs only."""
        named = {pair.one.partition(",")[0] for pair in pairs} | {pair.other.partition(",")[0] for pair in pairs}
        bodies = tuple(body for body in self.bodies if body.name in named)
        try:
            scene = self.side.scene(bodies, get, self.side.angles(bodies, ANGLES, OF_EACH))
            gaps = [least_gap(scene, scene.element(p.one), scene.element(p.other)).gap_mm - p.wanted_mm for p in pairs]
        except AsmadeError:
            return math.nan
        return min(gaps) + self.least_mm

    def look(self, get: Get) -> Looked:
        """The nearest pair at given sizes, with its rates."""
        key = self._key(get)
        found = self._looked.get(key)
        if found is None:
            found = self._looked[key] = self._search(get)
            if len(self._looked) > KEPT:
                self._looked.popitem(last=False)
        return found

    def _search(self, get: Get) -> Looked:
        bodies, out = known_bodies(self.side, self.bodies, get)
        names = tuple(body.name for body in bodies)
        try:
            parts = looked_together(self.side, duos_of(bodies), get, self.wanted, angles=ANGLES, of_each=OF_EACH)
            pairs = tuple(pair for part in parts for pair in part.pairs)
            if not pairs:
                return Looked(None, names, tuple(out), (), "no two bodies can be looked at")
            margins = [margin for part in parts for margin in least_margins(part.scene, part.pairs, ABOUT_MM)]
            at = int(np.argmin(margins))
            near = tuple(p for p, m in zip(pairs, margins, strict=True) if m < margins[at] + ABOUT_MM)
            two = tuple(body for body in bodies if body.name in (pairs[at].one.partition(",")[0],
                                                                 pairs[at].other.partition(",")[0]))  # fmt: skip
            best = {str(address): float(get(address)) for address in self.side.reads_of(two)}
            turned = self.side.angles(two, ANGLES, OF_EACH)
            (finding,) = find_gaps(scene_model(self.side, two), Sizes(best), [pairs[at]], angles=turned)
        except AsmadeError as fault:
            return Looked(None, names, tuple(out), (), fault.message)
        return Looked(finding, names, tuple(out), near)

    def row(self, get: Get) -> Row:
        """Linearised at given sizes: exact where the gap lies across the engine, else by the rates there."""
        looked = self.look(get)
        found = looked.finding
        if found is None:
            return Row(dict.fromkeys(self.reads, 0.0), math.nan, exact=False)
        by_text = {str(address): address for address in self.reads}
        rates = {by_text[name]: rate for name, rate in found.rates.items()}
        value = self._value(looked)
        constant = value - math.fsum(rate * float(get(address)) for address, rate in rates.items())
        return Row(rates, constant, exact=found.least.where == "across")

    def values(self, sizes: Callable[[Address], Any], count: int) -> Array:
        """Of many sets of sizes: by the rates at the sizes looked at last, else at their mean.

        A spread of some hundredths changes the rates of a gap by next to nothing.
        """
        columns = {a: np.broadcast_to(np.asarray(sizes(a)), count) for a in self.reads}
        at = dict(zip(self.reads, next(reversed(self._looked)), strict=True)) if self._looked else {}
        row = self.row(lambda address: at[address] if at else float(columns[address].mean()))
        total = np.full(count, row.constant)
        for address, rate in row.terms.items():
            total += rate * columns[address]
        return total
