"""Findings for pairs: least gap over the turn, where, at the worst of the freedoms and of the spreads, shares, rates.

The sums take a *model*: a function from sizes by name (mm, rad) and crank angles to a `Scene`. So every size that the
scene is made from, whether of an outline, a motion or a width stack, has its rate, and a corner of the sizes can be
built and turned right round.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal, TypeAlias

import numpy as np

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.gaps.between import Indices
from asmade.motion.gaps.poses import Array
from asmade.motion.gaps.scene import Element, Pair, Scene
from asmade.motion.gaps.sweep import Where, across, closing, sweep, together, where
from asmade.reckon.shapes import Polygon

Model: TypeAlias = Callable[[Mapping[str, float], Array], Scene]
Verdict: TypeAlias = Literal["holds", "close", "fails"]

_STEP = 1e-4
"""Half step of the difference quotients, mm (rad)."""
_FINE = 17
"""Angles looked at again between the neighbours of the tightest one."""
_EVEN_MM = 1e-6
"""Gaps this near to the least count as the same: an even stretch is named from its beginning to its end."""
_NO_RATE = 1e-7
"""Less than this is rounding of the difference quotients."""
_EVEN_STEP = 1e-3 * _STEP
_NONE: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Sizes:
    """Best sizes by name (mm, rad), with the spreads of those that have one.

    sigma: standard deviation. reach: how far it may be off in the worst case. freedoms: sizes that are no sizes but
    move (an axle's rise and fall, a box's play), with their way to either side of the best value: taken at their
    worst, never at random. moves: names that stand for what moves several sizes at once (a cause of the book), each
    with the sizes it moves and by how much; their rates follow from those of the sizes.
    """

    best: Mapping[str, float]
    sigma: Mapping[str, float] = field(default_factory=lambda: _NONE)
    reach: Mapping[str, float] = field(default_factory=lambda: _NONE)
    freedoms: Mapping[str, float] = field(default_factory=lambda: _NONE)
    moves: Mapping[str, Mapping[str, float]] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        """Refuse what is not known, spreads of nothing, and negative spreads."""
        for name, value in self.best.items():
            if not math.isfinite(value):
                raise Refused(name, got=value, reason="its size is not known", way_out="enter it or leave the pair out")
        for what in ("sigma", "reach", "freedoms"):
            for name, value in getattr(self, what).items():
                if name not in self.best:
                    raise Unknown(f"{what} of a size", got=name, way_out="give its best size too")
                if not math.isfinite(value) or value < 0:
                    raise OutOfRange(f"{what} of {name}", got=value, allowed="0 or more")


@dataclass(frozen=True, slots=True)
class Least:
    """The least gap of a pair over the turn: how much, at which crank angle and until which it stays so, and which."""

    gap_mm: float
    at_rad: float
    until_rad: float
    where: Where
    across_mm: float
    plane_mm: float


@dataclass(frozen=True, slots=True)
class GapFinding:
    """What holds for one pair.

    least: with every freedom at its worst. middle_mm: the same with every freedom in its middle. worst: with every
    size at the end of its reach that harms most as well. rates: change of the least gap per mm (rad) of each size.
    shares: size and per cent of the spread, greatest first. chance: that the gap is less than wanted (normal spreads,
    linear). margin_mm: least gap less wanted.
    """

    pair: Pair
    verdict: Verdict
    least: Least
    middle_mm: float
    worst: Least
    rates: Mapping[str, float]
    shares: tuple[tuple[str, float], ...]
    deviation_mm: float
    chance: float

    @property
    def margin_mm(self) -> float:
        """Least gap less the wanted one."""
        return self.least.gap_mm - self.pair.wanted_mm


def even_angles(count: int = 720) -> Array:
    """Crank angles evenly over a turn, from the front dead centre."""
    if count < 8:
        raise OutOfRange("crank angles over a turn", got=count, allowed="8 or more")
    return np.linspace(0.0, 2 * np.pi, count, endpoint=False)


def least_gap(scene: Scene, one: Element, other: Element, *, freedoms: bool = True) -> Least:
    """Least gap of two elements over the angles of a scene; ``freedoms``: sideways ones at their worst."""
    gap_across = across(one, other) - (closing(scene, one, other) if freedoms else 0.0)
    found = sweep(one, other, depth=gap_across <= 0, keep_mm=_EVEN_MM)
    return _least(scene.crank_rad, found.plane_mm, gap_across)


def _least(angles: Array, plane_mm: Array, across_mm: float) -> Least:
    gaps = together(plane_mm, across_mm)
    low = np.flatnonzero(gaps <= gaps.min() + _EVEN_MM)
    first, last = _stretch(low, gaps.size)
    plane = float(plane_mm[first])
    return Least(float(gaps[low].min()), float(angles[first]), float(angles[last]),
                 where(plane, across_mm), across_mm, plane)  # fmt: skip


def _stretch(low: Indices, count: int) -> tuple[int, int]:
    """First and last of the first unbroken stretch of indices going round; it may begin before the turn's end."""
    marked = np.zeros(count, dtype=bool)
    marked[low] = True
    if marked.all():
        return 0, count - 1
    starts = np.flatnonzero(marked & ~np.roll(marked, 1))
    first = int(starts[0])
    last = first
    while marked[(last + 1) % count]:
        last = (last + 1) % count
    return first, last


def find_gaps(
    model: Model, sizes: Sizes, pairs: Sequence[Pair], *, angles: int | Array = 720
) -> tuple[GapFinding, ...]:
    """Findings for ``pairs`` in the order given; ``angles`` even crank angles, refined about each least gap.

    Angles may be given themselves, evenly over one turn or several: a turn each for every reverser position.

    Worst cases: every freedom and then every size goes to the end of its reach that closes the gap at the tightest
    angle; that engine is built and turned right round, once more from where it is then tightest. So a figure given
    is one that can happen. Raises what the model raises, ``Unknown`` for an element that is not there.
    """
    turned = even_angles(angles) if isinstance(angles, int) else angles
    return _Search(model, sizes, tuple(pairs), turned).run() if pairs else ()


def near_pairs(scene: Scene, pairs: Sequence[Pair], within_mm: float) -> tuple[Pair, ...]:
    """The pairs whose least gap, sideways freedoms at their worst, is less than the wanted one and ``within_mm`` more.

    Of a whole engine most pairs are nowhere near one another: this leaves those that are worth a finding.
    """
    return tuple(
        pair
        for pair in pairs
        if least_gap(scene, scene.element(pair.one), scene.element(pair.other)).gap_mm < pair.wanted_mm + within_mm
    )


def nearest_of_bodies(scene: Scene, findings: Sequence[GapFinding]) -> tuple[GapFinding, ...]:
    """Of all layers of every two bodies the pair with the least margin, least margin first."""
    found: dict[frozenset[str], GapFinding] = {}
    for finding in findings:
        bodies = frozenset((scene.element(finding.pair.one).body, scene.element(finding.pair.other).body))
        if bodies not in found or finding.margin_mm < found[bodies].margin_mm:
            found[bodies] = finding
    return tuple(sorted(found.values(), key=lambda finding: finding.margin_mm))


class _Search:
    """One pass over all pairs; the rates of all pairs come from the same models."""

    def __init__(self, model: Model, sizes: Sizes, pairs: tuple[Pair, ...], angles: Array) -> None:
        self.model, self.sizes, self.pairs, self.angles = model, sizes, pairs, angles
        self.scene = model(sizes.best, angles)
        self.free = {name: way for name, way in sizes.freedoms.items() if way > 0}
        self.spread = {name: way for name, way in sizes.reach.items() if way > 0 and name not in self.free}

    def run(self) -> tuple[GapFinding, ...]:
        middle, tight = [], []
        for pair in self.pairs:
            one, other = self.scene.element(pair.one), self.scene.element(pair.other)
            tight.append(self._refined(pair, least_gap(self.scene, one, other), self.sizes.best))
            middle.append(tight[-1].gap_mm if not closing(self.scene, one, other)
                          else least_gap(self.scene, one, other, freedoms=False).gap_mm)  # fmt: skip
        rates = self._rates(tight)
        if self.free:
            tight = self._corners(tight, rates, {}, self.free)
            rates = self._rates(tight)
        worst = self._corners(tight, rates, self.free, self.spread) if self.spread else tight
        return tuple(self._finding(*each) for each in zip(self.pairs, tight, middle, worst, rates, strict=True))

    def _finding(self, pair: Pair, tight: Least, middle: float, worst: Least, rates: Mapping[str, float]) -> GapFinding:
        variances = {
            name: (rate * self.sizes.sigma.get(name, 0.0)) ** 2 for name, rate in rates.items() if name not in self.free
        }
        total = math.fsum(variances.values())
        deviation = math.sqrt(total)
        short = pair.wanted_mm - tight.gap_mm
        chance = float(short > 0) if deviation == 0 else 0.5 * math.erfc(-short / deviation / math.sqrt(2))
        shares = sorted(
            ((name, 100 * part / total) for name, part in variances.items() if total and part > 1e-9 * total),
            key=lambda share: -share[1],
        )
        verdict: Verdict = "fails" if short > 0 else "close" if worst.gap_mm < pair.wanted_mm else "holds"
        return GapFinding(pair, verdict, tight, middle, worst, rates, tuple(shares), deviation, chance)

    def _refined(self, pair: Pair, found: Least, sizes: Mapping[str, float]) -> Least:
        """Look again between the neighbours of the tightest angle, unless the gap is even there."""
        if found.where == "across" or found.until_rad != found.at_rad:
            return found
        step = float(self.angles[1] - self.angles[0])
        near = np.linspace(found.at_rad - step, found.at_rad + step, _FINE)
        scene = self.model(sizes, near)
        fine = least_gap(scene, scene.element(pair.one), scene.element(pair.other))
        if fine.gap_mm >= found.gap_mm:
            return found
        whole = 2 * math.pi * round((float(self.angles[-1]) + step) / (2 * math.pi))
        return Least(
            fine.gap_mm, fine.at_rad % whole, fine.until_rad % whole, fine.where, fine.across_mm, fine.plane_mm
        )

    # ------------------------------------------------------------------ rates
    def _rates(self, tight: Sequence[Least]) -> list[dict[str, float]]:
        """Rate of each pair's gap at its tightest angle to every size, by differences about the best sizes.

        Where the gap closes whichever way a size goes (a rod between two bars) it is the steeper of the two ways.
        """
        angles = np.array([each.at_rad for each in tight])
        still = _Still(self.model(self.sizes.best, angles), self.pairs)
        found: list[dict[str, float]] = [{} for _ in tight]
        for name, value in self.sizes.best.items():
            if name in self.sizes.moves:
                continue
            high = self.model({**self.sizes.best, name: value + _STEP}, angles)
            touched = still.touched_by(high)
            if not touched:
                continue
            low = self.model({**self.sizes.best, name: value - _STEP}, angles)
            for column in touched:
                up, down = still.gap(high, column), still.gap(low, column)
                lost_up, lost_down = still.gaps[column] - up, still.gaps[column] - down
                if lost_up > _EVEN_STEP and lost_down > _EVEN_STEP:
                    rate = -lost_up / _STEP if lost_up >= lost_down else lost_down / _STEP
                else:
                    rate = (up - down) / (2 * _STEP)
                if abs(rate) > _NO_RATE:
                    found[column][name] = rate
        for name, moved in self.sizes.moves.items():
            for row in found:
                rate = math.fsum(row.get(size, 0.0) * by for size, by in moved.items())
                if abs(rate) > _NO_RATE:
                    row[name] = rate
        return found

    # ------------------------------------------------------------------ corners
    def _pulled(self, rates: Sequence[Mapping[str, float]], ways: Mapping[str, float]) -> list[dict[str, float]]:
        """For each pair, the sizes of ``ways`` at the end that closes its gap."""
        return [
            {name: self.sizes.best[name] - math.copysign(way, row[name]) for name, way in ways.items() if name in row}
            for row in rates
        ]

    def _corners(
        self, tight: Sequence[Least], rates: Sequence[Mapping[str, float]],
        held: Mapping[str, float], ways: Mapping[str, float],
    ) -> list[Least]:  # fmt: skip
        """Least gap of each pair with ``held`` and ``ways`` pulled to their unkind ends, from two tightest places."""
        both = {**held, **ways}
        found = list(tight)
        corners: list[dict[str, float]] = self._pulled(rates, both)
        again = []
        for number, corner in enumerate(corners):
            if not corner:
                continue
            there = self._built(number, corner)
            if there.gap_mm < found[number].gap_mm:
                found[number] = there
            if _apart(there.at_rad, tight[number].at_rad) > math.radians(3) and there.where != "across":
                again.append(number)
        if again:
            other = self._rates([found[n] if n in again else tight[n] for n in range(len(tight))])
            for number in again:
                corner = self._pulled([other[number]], both)[0]
                if corner and corner != corners[number]:
                    there = self._built(number, corner)
                    if there.gap_mm < found[number].gap_mm:
                        found[number] = there
        return found

    def _built(self, number: int, corner: Mapping[str, float]) -> Least:
        """The pair in an engine with ``corner`` in place of its best sizes, turned right round."""
        pair, sizes = self.pairs[number], {**self.sizes.best, **corner}
        scene = self.model(sizes, self.angles)
        return self._refined(pair, least_gap(scene, scene.element(pair.one), scene.element(pair.other)), sizes)


class _Still:
    """Every pair at its own tightest angle, at best sizes: to tell what a changed size changes."""

    def __init__(self, scene: Scene, pairs: Sequence[Pair]) -> None:
        self.pairs = pairs
        self.sideways = dict(scene.sideways)
        self.plane = {each.name: _plane_of(each) for each in scene.elements}
        self.across = {each.name: _across_of(each) for each in scene.elements}
        self.distances = [_distance_at(scene, pair, column) for column, pair in enumerate(pairs)]
        self.gaps = [_gap(scene, pair, distance) for pair, distance in zip(pairs, self.distances, strict=True)]

    def touched_by(self, scene: Scene) -> list[int]:
        """Numbers of the pairs in which a changed scene changes anything."""
        changed = {each.name for each in scene.elements if _across_of(each) != self.across[each.name]}
        changed |= self._moved(scene)
        freer = {name for name, way in scene.sideways.items() if way != self.sideways.get(name)}
        if freer:
            changed |= {each.name for each in scene.elements if freer & set(each.plays)}
        return [n for n, pair in enumerate(self.pairs) if pair.one in changed or pair.other in changed]

    def gap(self, scene: Scene, column: int) -> float:
        """A pair's gap in a changed scene; its distance in the plane is worked out only if that may have changed."""
        pair = self.pairs[column]
        kept = all(_plane_of(scene.element(name)) == self.plane[name] for name in (pair.one, pair.other))
        return _gap(scene, pair, self.distances[column] if kept else _distance_at(scene, pair, column))

    def _moved(self, scene: Scene) -> set[str]:
        return {each.name for each in scene.elements if _plane_of(each) != self.plane[each.name]}


def _distance_at(scene: Scene, pair: Pair, column: int) -> float:
    only = np.array([column])
    one, other = (
        Element(each.name, each.body, each.pieces, each.poses.at(only), each.inner_mm, each.outer_mm)
        for each in (scene.element(pair.one), scene.element(pair.other))
    )
    return float(sweep(one, other, depth=True).plane_mm[0])


def _gap(scene: Scene, pair: Pair, distance_mm: float) -> float:
    one, other = scene.element(pair.one), scene.element(pair.other)
    return float(together(np.array([distance_mm]), across(one, other) - closing(scene, one, other))[0])


def _plane_of(element: Element) -> tuple[object, ...]:
    """All that an element's distances in the plane depend on, to compare."""
    outline = tuple(
        (piece.ring.tobytes(), *(hole.tobytes() for hole in piece.holes)) if isinstance(piece, Polygon) else piece
        for piece in element.pieces
    )
    return outline, element.poses.place.tobytes(), element.poses.along.tobytes()


def _across_of(element: Element) -> tuple[object, ...]:
    return element.inner_mm, element.outer_mm, tuple(element.plays.items())


def _apart(one_rad: float, other_rad: float) -> float:
    return abs((one_rad - other_rad + math.pi) % (2 * math.pi) - math.pi)
