"""The integer programme behind the cutting list: patterns by pricing, whole numbers of them by HiGHS, the gap closed.

Two aims, one after the other: the least length bought, then the least length of the rack opened for it. For each the
linear programme over all patterns gives a bound, raised to the next length that bars can come to at all; where whole
numbers do not meet it, every pattern that could still close the gap is added and the choice made again.

Everything is in whole units. ``sizes`` and ``rooms`` have the kerf in them: pieces s_j + kerf go on a bar while their
sum is at most its room + kerf.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, gcd, inf
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.reckon.choosing.engine import Model, run
from asmade.reckon.choosing.watch import Watch

Counts = tuple[int, ...]
Cuts = tuple[tuple[int, Counts], ...]
Array = NDArray[np.float64]
_MOST_PATTERNS: Final = 40_000
_NOT_WORTH: Final = 0.002
"""A gap below this share is reported, not chased: it is less than a saw cut in a metre."""


@dataclass(frozen=True, slots=True)
class Stage:
    """How far one aim is proven: its cost, what no list can go below, both in units of length."""

    cost: int
    at_least: int

    @property
    def proven(self) -> bool:
        """Whether nothing better is possible."""
        return self.cost <= self.at_least

    @property
    def gap(self) -> float:
        """By what share a better list might still be better."""
        return 0.0 if self.proven else (self.cost - self.at_least) / self.cost


@dataclass(frozen=True, slots=True)
class Solution:
    """Cuts as (bar, pieces of each size); how far what is bought, and what is opened of the rack, is proven."""

    cuts: tuple[tuple[int, Counts], ...]
    bought: Stage
    opened: Stage
    patterns: int


def solve(
    sizes: Sequence[int], demand: Sequence[int], rooms: Sequence[int], limits: Sequence[int | None],
    lengths: Sequence[int], time_limit_s: float,
) -> Solution:  # fmt: skip
    """Fewest pieces uncut, then least length bought, then least length of the rack opened for it.

    ``limits`` None: to buy, as many as are wanted. The third aim has what the second has left of the time.
    """
    bars = range(len(rooms))
    nothing = Stage(0, 0)
    if not sizes or not any(limit != 0 for limit in limits):
        return Solution((), nothing, nothing, 0)
    watch = Watch(time_limit_s)
    bought = [lengths[b] if limits[b] is None else 0 for b in bars]
    first = _Task(sizes, demand, rooms, limits, bought, watch)
    cuts, stage = first.best()
    spent = sum(bought[b] for b, _ in cuts)
    rack = [lengths[b] if limits[b] is not None else 0 for b in bars]
    if not any(rack[b] for b, _ in cuts):
        return Solution(cuts, first.of_bars(stage), nothing, len(first.patterns))
    left = [wanted - min(wanted, sum(counts[j] for _, counts in cuts)) for j, wanted in enumerate(demand)]
    second = _Task(
        sizes, [wanted - short for wanted, short in zip(demand, left, strict=True)], rooms,
        limits if spent else [0 if limit is None else limit for limit in limits], rack, watch, (bought, spent), first,
    )  # fmt: skip
    better, opened = second.best()
    if sum(rack[b] for b, _ in better) > sum(rack[b] for b, _ in cuts) or second.short(better):
        better, opened = cuts, Stage(sum(rack[b] for b, _ in cuts), opened.at_least)
    return Solution(better, first.of_bars(stage), opened, len(first.patterns) + len(second.patterns))


class _Task:
    """Patterns known so far, and the two programmes over them, for one cost of each bar.

    ``budget``: a second cost of each bar and what it may come to in all.
    """

    def __init__(
        self, sizes: Sequence[int], demand: Sequence[int], rooms: Sequence[int], limits: Sequence[int | None],
        costs: Sequence[int], watch: Watch, budget: tuple[Sequence[int], int] | None = None, like: _Task | None = None,
    ) -> None:  # fmt: skip
        self.sizes, self.demand, self.rooms, self.limits = sizes, demand, rooms, limits
        self.watch, self.budget = watch, budget
        self.usable = [b for b, limit in enumerate(limits) if limit != 0]
        self.unit = gcd(*(costs[b] for b in self.usable)) or 1
        self.costs = [cost // self.unit for cost in costs]
        pieces = sum(demand)
        self.great = 1 + sum(
            self.costs[b] * min(pieces, pieces if limits[b] is None else limits[b] or 0) for b in self.usable
        )
        """More than everything else can cost: what it costs to leave one piece uncut."""
        self.patterns: dict[tuple[int, Counts], None] = {}
        for b in self.usable:
            for j, size in enumerate(sizes):
                most = min(demand[j], rooms[b] // size)
                self._add(b, tuple(most if k == j else 0 for k in range(len(sizes))))
            self._add(b, self._filled(b))
        for b, counts in () if like is None else like.patterns:
            if b in self.usable:
                self._add(b, counts)

    def best(self) -> tuple[Cuts, Stage]:
        """Price, choose, and where the bound is not met add what could still close the gap and choose again."""
        bound, prices, rents = self.price()
        low = self._reachable(bound)
        for share in (1.0, 0.9, 1.1):
            self._add_one_after_another(prices, share)
        cuts, cost = self.choose(low)
        if cost - low > _NOT_WORTH * cost and self.add_all(prices, rents, cost - bound):
            cuts, cost, proven = self.choose_of_all(low, cost, cuts)
            low = cost if proven else low
        return cuts, Stage(cost * self.unit, low * self.unit)

    def _add_one_after_another(self, prices: Array, share: float) -> None:
        """Add the patterns of a whole list made by taking the most valuable of what is left, bar after bar.

        ``share``: prices to the power of this, so that long pieces come earlier or later. Whole lists made so hold the
        odd patterns that a last bar wants, which pricing alone does not look for.
        """
        left = list(self.demand)
        have = [len(left) * max(left) if limit is None else limit for limit in self.limits]
        worth = np.power(np.maximum(prices, 1e-9), share)
        while any(left) and not self.watch.over():
            open_to = [b for b in self.usable if have[b] > 0]
            if not open_to:
                return
            best = _MostValuable(self.sizes, left, worth, max(self.rooms[b] for b in open_to))
            offers = [(b, *best.for_room(self.rooms[b])) for b in open_to]
            b, counts, _ = max(offers, key=lambda offer: (offer[2] / (self.costs[offer[0]] or 0.1), -offer[0]))
            if not any(counts):
                return
            self._add(b, counts)
            have[b] -= 1
            left = [wanted - cut for wanted, cut in zip(left, counts, strict=True)]

    def short(self, cuts: Cuts) -> bool:
        """Whether some piece is left uncut."""
        return any(sum(counts[j] for _, counts in cuts) < wanted for j, wanted in enumerate(self.demand))

    def of_bars(self, stage: Stage) -> Stage:
        """The same without what pieces left uncut cost."""
        whole = self.great * self.unit
        return Stage(
            stage.cost % whole, min(stage.at_least % whole if stage.proven else stage.at_least, stage.cost % whole)
        )

    def _reachable(self, bound: float) -> int:
        """The least cost at or above a bound that any choice of bars can come to."""
        least = ceil(bound - 1e-6)
        if least <= 0:
            return 0
        if least >= self.great:  # pieces are left uncut
            return least
        most = least + max(self.costs)
        mask = (1 << (most + 1)) - 1
        sums = 1
        for b in self.usable:
            cost, limit = self.costs[b], self.limits[b]
            for _ in range((most // cost if limit is None else min(limit, most // cost)) if cost else 0):
                more = (sums | sums << cost) & mask
                if more == sums:
                    break
                sums = more
        above = sums >> least
        return least + (above & -above).bit_length() - 1 if above else least

    def _add(self, bar: int, counts: Counts) -> bool:
        """Keep a pattern that cuts something; whether it is new."""
        new = any(counts) and (bar, counts) not in self.patterns
        if new:
            self.patterns[bar, counts] = None
        return new

    def _filled(self, bar: int) -> Counts:
        """The largest pieces first, as many as go."""
        room, counts = self.rooms[bar], []
        for size, wanted in zip(self.sizes, self.demand, strict=True):
            counts.append(min(wanted, room // size))
            room -= counts[-1] * size
        return tuple(counts)

    def price(self) -> tuple[float, Array, Array]:
        """The linear programme's bound, and its prices of pieces and rents of bars.

        What is solved is its dual: most value for all pieces so that no pattern is worth more than its bar, and what a
        bar of which there are few is worth beyond its cost. Patterns are rows, added until none is broken.
        """
        kinds = len(self.sizes)
        while True:
            model = Model()
            for wanted in self.demand:
                model.column(-float(wanted), 0.0, float(self.great))
            for limit in self.limits:
                model.column(float(limit or 0), 0.0, 0.0 if limit is None else inf)
            second, most_spent = self.budget or ([0] * len(self.rooms), 0)
            model.column(float(most_spent), 0.0, 0.0 if self.budget is None else inf)
            for bar, counts in self.patterns:
                terms = {j: float(c) for j, c in enumerate(counts) if c}
                terms |= {kinds + bar: -1.0, kinds + len(self.rooms): -float(second[bar])}
                model.row(terms, -inf, float(self.costs[bar]))
            found = run(model, self.watch, relax=True)
            if found.x is None or found.end != "optimal":  # time is up: the empty bound is always true
                return 0.0, np.zeros(kinds), np.zeros(len(self.rooms))
            prices = found.x[:kinds]
            rents = found.x[kinds:-1] + found.x[-1] * np.array(second, dtype=float)
            best = _MostValuable(self.sizes, self.demand, prices, max(self.rooms[b] for b in self.usable))
            grown = False
            for b in self.usable:
                counts, value = best.for_room(self.rooms[b])
                if value > self.costs[b] + rents[b] + 1e-6:
                    grown |= self._add(b, counts)
            if not grown:
                return -found.objective, prices, rents

    def choose(self, low: int) -> tuple[Cuts, int]:
        """Whole numbers of the patterns at least cost, and that cost; ``low`` is known to bound it."""
        model, known = Model(), list(self.patterns)
        for bar, _ in known:
            model.column(float(self.costs[bar]), 0.0, inf, whole=True)
        for wanted in self.demand:
            model.column(float(self.great), 0.0, float(wanted), whole=True)
        for j, wanted in enumerate(self.demand):
            terms = {at: float(counts[j]) for at, (_, counts) in enumerate(known) if counts[j]}
            model.row(terms | {len(known) + j: 1.0}, float(wanted), inf)
        for b, limit in enumerate(self.limits):
            if limit is not None:
                model.row({at: 1.0 for at, (bar, _) in enumerate(known) if bar == b}, -inf, float(limit))
        if self.budget is not None:
            second, most = self.budget
            model.row({at: float(second[bar]) for at, (bar, _) in enumerate(known)}, -inf, float(most))
        model.row(dict(enumerate(model.cost)), float(low), inf)  # so that the first list that meets the bound ends it
        found = run(model, self.watch)
        self.bound = found.bound
        if found.x is None:
            return self._one_by_one()
        uses = np.rint(found.x).astype(int)
        cuts = tuple(known[at] for at in range(len(known)) for _ in range(uses[at]))
        return cuts, sum(self.costs[bar] for bar, _ in cuts) + self.great * int(uses[len(known) :].sum())

    def choose_of_all(self, low: int, cost: int, cuts: Cuts) -> tuple[Cuts, int, bool]:
        """The same once no pattern that could do better is missing: HiGHS's own bound then holds for every list."""
        found, its_cost = self.choose(low)
        if its_cost < cost:
            cuts, cost = found, its_cost
        return cuts, cost, cost <= ceil(self.bound - 1e-6)

    def _one_by_one(self) -> tuple[Cuts, int]:
        """Fill bar after bar with the largest pieces that go: when time was up before anything was found."""
        left, cuts = list(self.demand), []
        for b in sorted(self.usable, key=lambda at: (self.costs[at] / self.rooms[at], at)):
            limit = self.limits[b]
            if self.budget is not None and self.budget[0][b]:
                limit = 0  # what may be bought was worked out before: its list is kept instead
            while any(left) and (limit is None or limit > 0):
                room, counts = self.rooms[b], []
                for size, wanted in zip(self.sizes, left, strict=True):
                    counts.append(min(wanted, room // size))
                    room -= counts[-1] * size
                if not any(counts):
                    break
                cuts.append((b, tuple(counts)))
                left = [have - cut for have, cut in zip(left, counts, strict=True)]
                limit = None if limit is None else limit - 1
        return tuple(cuts), sum(self.costs[b] for b, _ in cuts) + self.great * sum(left)

    def add_all(self, prices: Array, rents: Array, gap: float) -> bool:
        """Add every pattern that a better list could hold: its cost is over its value by no more than the gap.

        False where there are too many, or time is up.
        """
        for b in self.usable:
            least = self.costs[b] + rents[b] - gap - 1e-6
            for counts in self._worth(self.rooms[b], prices, least):
                self._add(b, counts)
                if len(self.patterns) > _MOST_PATTERNS or self.watch.over():
                    return False
        return True

    def _worth(self, room: int, prices: Array, least: float) -> Iterator[Counts]:
        """Every pattern for a room that is worth at least so much, by trying the best for its length first."""
        order = sorted(range(len(self.sizes)), key=lambda j: -prices[j] / self.sizes[j])
        value = [float(prices[j]) for j in order]
        size = [self.sizes[j] for j in order]
        most = [self.demand[j] for j in order]
        counts = [0] * len(order)

        def go(at: int, left: int, worth: float) -> Iterator[Counts]:
            if at == len(order):
                if worth >= least:
                    by_kind = dict(zip(order, counts, strict=True))
                    yield tuple(by_kind[j] for j in range(len(order)))
                return
            if worth + left * value[at] / size[at] < least:  # even at the best price per length it does not reach
                return
            for count in range(min(most[at], left // size[at]), -1, -1):
                counts[at] = count
                yield from go(at + 1, left - count * size[at], worth + count * value[at])
            counts[at] = 0

        yield from go(0, room, 0.0)


class _MostValuable:
    """The most valuable pattern for every room at once: a bounded knapsack, pieces in lots of 1, 2, 4 ..."""

    def __init__(self, sizes: Sequence[int], demand: Sequence[int], prices: Array, most_room: int) -> None:
        self.unit = gcd(*sizes)
        self.kinds = len(sizes)
        self.lots = [
            (j, lot, lot * sizes[j] // self.unit)
            for j in range(len(sizes))
            for lot in _lots(min(demand[j], most_room // sizes[j]))
        ]
        width = most_room // self.unit + 1
        value = np.zeros(width)
        self.taken = np.zeros((len(self.lots), width), dtype=bool)
        for at, (j, lot, long) in enumerate(self.lots):
            with_it = value[:-long] + lot * prices[j]
            better = with_it > value[long:] + 1e-12
            self.taken[at, long:] = better
            value[long:] = np.where(better, with_it, value[long:])
        self.value = value

    def for_room(self, room: int) -> tuple[Counts, float]:
        """The pattern for a room, and its worth."""
        at = room // self.unit
        worth = float(self.value[at])
        counts = [0] * self.kinds
        for lot_at in range(len(self.lots) - 1, -1, -1):
            if self.taken[lot_at, at]:
                j, lot, long = self.lots[lot_at]
                counts[j] += lot
                at -= long
        return tuple(counts), worth


def _lots(count: int) -> Iterator[int]:
    """Lots that add up to any number up to ``count``, each used once: 1, 2, 4 ... and the rest."""
    lot = 1
    while count > 0:
        yield min(lot, count)
        count -= lot
        lot *= 2
