"""The cutting list: pieces out of the bars in the rack and standard lengths to buy, with the least metal bought.

What counts, in this order: that every piece is cut; the least length bought; the least length of bars opened, so that
short ends are used up and long bars stay whole. Each cut takes the saw's kerf. A piece that ends exactly at the end of
its bar wants no cut.

Method: patterns (what is cut from one bar) are found by pricing against the linear programme until no better one is
left, which gives a bound that no cutting list can beat; whole numbers of the patterns are then chosen by HiGHS. Where
the two do not meet, every pattern that could still close the gap is added, which makes the answer exact. The gap that
is left (mostly none) is reported. Gilmore and Gomory 1961; enumeration by reduced cost is common in the trade of
integer programmes. Lengths are counted in tenths of a millimetre, pieces and kerf rounded up, bars down.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from asmade.measure.errors import OutOfRange, Refused
from asmade.work.checks import above_zero, not_below_zero, whole

if TYPE_CHECKING:
    from asmade.work.cutting import Solution

UNITS_PER_MM: Final = 10
KERF_MM: Final = 2.0
"""Of a power hacksaw or a parting tool: common practice, no source. Give your own."""
KEEP_MM: Final = 25.0
"""Off-cuts from here on go back into the rack: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Pieces to be cut: a name, the length of the blank (allowances and all), how many."""

    name: str
    length_mm: float
    count: int = 1


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar to cut from: in the rack so many, or to buy (``count`` None) as many as are wanted."""

    name: str
    length_mm: float
    count: int | None = None

    @property
    def to_buy(self) -> bool:
        """Whether it is not in the rack."""
        return self.count is None


@dataclass(frozen=True, slots=True)
class CutBar:
    """One bar with what is cut from it in order, what is left, and whether that is worth keeping."""

    bar: Bar
    pieces: tuple[tuple[str, float], ...]
    rest_mm: float
    kept: bool


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Every bar with its cuts, what to buy, what is left, what could not be cut, and how far it is proven."""

    bars: tuple[CutBar, ...]
    buy: tuple[tuple[Bar, int], ...]
    missing: tuple[tuple[str, float], ...]
    kerf_mm: float
    bought_mm: float
    bought_at_least_mm: float
    opened_mm: float
    opened_at_least_mm: float
    bought_proven: bool
    opened_proven: bool
    patterns: int

    @property
    def proven(self) -> bool:
        """Whether no list buys less, nor opens less of the rack for it."""
        return self.bought_proven and self.opened_proven

    @property
    def gap(self) -> float:
        """By what share a better list might still buy less; where that is proven, open less of the rack."""
        if not self.bought_proven:
            return (self.bought_mm - self.bought_at_least_mm) / self.bought_mm
        return 0.0 if self.opened_proven else (self.opened_mm - self.opened_at_least_mm) / self.opened_mm

    @property
    def pieces_mm(self) -> float:
        """Length of all pieces cut."""
        return sum(length for bar in self.bars for _, length in bar.pieces)

    @property
    def kept_mm(self) -> float:
        """Length of the off-cuts that go back into the rack."""
        return sum(bar.rest_mm for bar in self.bars if bar.kept)

    @property
    def scrap_mm(self) -> float:
        """Length lost: kerfs and ends too short to keep."""
        return sum(bar.bar.length_mm for bar in self.bars) - self.pieces_mm - self.kept_mm

    @property
    def words(self) -> str:
        """How far it is proven, in words."""
        if self.missing:
            return f"{len(self.missing)} pieces cannot be cut: there is not enough bar"
        if self.proven:
            return "proven: no list buys less, nor opens less of the rack for it"
        if self.bought_proven:
            return f"proven: no list buys less; of the rack at most {100 * self.gap:.2f} % less might be opened"
        return f"the best found; at most {100 * self.gap:.2f} % less might be bought"


def least_bars(wanted: Sequence[Wanted], bar_mm: float, kerf_mm: float) -> int:
    """A number of bars of one length that no cutting list can go below.

        ceil( sum of (length + kerf) / (bar + kerf) ),  and the pieces of which no two go on one bar

    Source: Martello and Toth, Knapsack Problems (the bounds L1 and its large-piece form), from memory.
    Range: pieces no longer than the bar. Anchor: three pieces of 60 on 100, kerf 0: 3, though 180/100 says 2 (by hand).
    """
    above_zero("bar", bar_mm)
    not_below_zero("kerf", kerf_mm)
    total = sum(each.count * (each.length_mm + kerf_mm) for each in wanted)
    big = sum(each.count for each in wanted if 2 * (each.length_mm + kerf_mm) > bar_mm + kerf_mm + 1e-9)
    return max(math.ceil(total / (bar_mm + kerf_mm) - 1e-9), big)


def cutting_list(
    wanted: Sequence[Wanted], bars: Sequence[Bar], *, kerf_mm: float = KERF_MM, keep_mm: float = KEEP_MM,
    bar_end_mm: float = 0.0, time_limit_s: float = 20.0,
) -> CutPlan:  # fmt: skip
    """The best cutting list, see the head of this module.

    ``bar_end_mm``: what of every bar cannot be used (held in the vice or the chuck). Pieces that go on no bar, or for
    which the rack does not reach, are returned as ``missing``, not refused. Raises ``Refused`` for nothing to cut or no
    bar at all, ``OutOfRange`` for lengths that cannot be.
    """
    not_below_zero("kerf", kerf_mm)
    not_below_zero("end of a bar that cannot be used", bar_end_mm)
    not_below_zero("off-cut worth keeping", keep_mm)
    if not wanted:
        raise Refused(
            "cutting list", got="nothing", reason="there is nothing to cut", way_out="name pieces and lengths"
        )
    if not bars:
        raise Refused("bars", got="none", reason="there is nothing to cut from",
                      way_out="enter what is in the rack as [[shop.stock]], or give lengths to buy")  # fmt: skip
    for piece in wanted:
        above_zero(f"length of {piece.name}", piece.length_mm)
        whole(f"number of {piece.name}", piece.count, 1, 10_000)
    for bar in bars:
        above_zero(f"length of {bar.name}", bar.length_mm)
        if bar.count is not None:
            whole(f"number of {bar.name}", bar.count, 0, 10_000)
        if bar_end_mm >= bar.length_mm:
            raise OutOfRange("end of a bar that cannot be used", got=f"{bar_end_mm:g} mm",
                             allowed=f"less than the bar, {bar.length_mm:g} mm")  # fmt: skip
    kerf = _up(kerf_mm)
    demand = dict.fromkeys(sorted({_up(w.length_mm) for w in wanted}, reverse=True), 0)
    for piece in wanted:
        demand[_up(piece.length_mm)] += piece.count
    rooms = [_down(bar.length_mm - bar_end_mm) for bar in bars]
    longest = max((room for room, bar in zip(rooms, bars, strict=True) if bar.count != 0), default=0)
    lengths = [length for length in demand if length <= longest]
    from asmade.work.cutting import solve  # noqa: PLC0415  # HiGHS and numpy are wanted only now

    found = solve(
        [length + kerf for length in lengths], [demand[length] for length in lengths],
        [room + kerf for room in rooms], [bar.count for bar in bars],
        [round(bar.length_mm * UNITS_PER_MM) for bar in bars], time_limit_s,
    )  # fmt: skip
    return _plan(wanted, bars, lengths, found, kerf_mm, keep_mm, bar_end_mm)


def _plan(
    wanted: Sequence[Wanted], bars: Sequence[Bar], lengths: Sequence[int], found: Solution, kerf_mm: float,
    keep_mm: float, bar_end_mm: float,
) -> CutPlan:  # fmt: skip
    """Give the pieces their names back, longest bar of each pattern first, and add up."""
    by_length: dict[int, list[tuple[str, float]]] = {}
    for piece in wanted:
        by_length.setdefault(_up(piece.length_mm), []).extend([(piece.name, piece.length_mm)] * piece.count)
    cut, bought = [], Counter[int]()
    for at, counts in found.cuts:
        pieces = []
        for length, count in zip(lengths, counts, strict=True):
            waiting = by_length[length]
            pieces += [waiting.pop(0) for _ in range(min(count, len(waiting)))]
        if not pieces:
            continue
        bar = bars[at]
        used = sum(length for _, length in pieces) + kerf_mm * len(pieces)
        rest = max(0.0, round(bar.length_mm - used, 6))
        cut.append(CutBar(bar, tuple(pieces), rest, kept=rest >= keep_mm + bar_end_mm))
        if bar.to_buy:
            bought[at] += 1
    cut.sort(key=lambda c: (c.bar.to_buy, c.bar.name, -len(c.pieces)))
    missing = tuple(piece for waiting in by_length.values() for piece in waiting)
    bought_mm = sum(bars[at].length_mm * count for at, count in bought.items())
    return CutPlan(
        tuple(cut), tuple((bars[at], count) for at, count in sorted(bought.items())), missing, kerf_mm, bought_mm,
        min(bought_mm, found.bought.at_least / UNITS_PER_MM), sum(c.bar.length_mm for c in cut if not c.bar.to_buy),
        found.opened.at_least / UNITS_PER_MM, found.bought.proven, found.opened.proven, found.patterns,
    )  # fmt: skip


def _up(length_mm: float) -> int:
    return math.ceil(round(length_mm * UNITS_PER_MM, 6))


def _down(length_mm: float) -> int:
    return math.floor(round(length_mm * UNITS_PER_MM, 6))
