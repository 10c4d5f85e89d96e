"""Make the problem small before it is solved, without losing any best answer.

What no window can hold is dropped (reach of the others, and pairs or triples that never meet), what another candidate
beats everywhere is dropped, limits that cannot be broken are dropped, costs that are paid in any case or by one
variable only are folded in, and what then hangs together no more is solved apart.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import inf, isfinite
from typing import TYPE_CHECKING

import numpy as np

from asmade.reckon.choosing.problem import HOLD_MM

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from numpy.typing import NDArray

    from asmade.reckon.choosing.problem import Problem, Variable

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

SLACK_MM = HOLD_MM / 2
"""Rows are given half of what counts as held: 0.04 worked out as 0.0399999999 holds, and rounding has room."""

_SUMSET_LIMIT = 60_000
_ROUNDS = 40
_LEAST_PROGRESS_MM = 1e-3
_SAME_SIZE_MM = 1e-9


@dataclass(slots=True)
class Unknown:
    """One variable as the solver sees it: a list of choices (``sizes`` not empty) or a stretch from low to high.

    ``costs`` include the deviation; ``uses`` are indices of the resources (tools, things bought) of each choice.
    """

    variable: int
    sizes: Floats
    costs: Floats
    uses: list[frozenset[int]]
    picks: list[int | None]
    low: float
    high: float
    drawn: float | None
    weight: float

    @property
    def discrete(self) -> bool:
        """Whether it takes one of listed sizes."""
        return len(self.sizes) > 0

    @property
    def fixed(self) -> bool:
        """Whether its size is settled."""
        return self.low == self.high

    def keep(self, mask: Bools) -> None:
        """Keep only the choices of ``mask``; an empty rest is the caller's to notice beforehand."""
        kept = [int(i) for i in np.flatnonzero(mask)]
        self.sizes, self.costs = self.sizes[mask], self.costs[mask]
        self.uses = [self.uses[i] for i in kept]
        self.picks = [self.picks[i] for i in kept]
        self.low, self.high = float(self.sizes.min()), float(self.sizes.max())


@dataclass(slots=True)
class Row:
    """``low <= sum(coefficient * size) <= high`` over unknowns; ``equal`` marks two sizes that must be the same."""

    idx: tuple[int, ...]
    coef: tuple[float, ...]
    low: float
    high: float
    equal: bool = False


@dataclass(slots=True)
class Resource:
    """A tool or a thing to buy: its cost is paid once if anything uses it."""

    name: str
    cost: float


@dataclass(slots=True)
class Component:
    """A part of the problem that shares nothing with the rest: indices of unknowns, its rows, its resources."""

    unknowns: list[int]
    rows: list[Row]
    resources: list[int]


@dataclass(slots=True)
class Reduced:
    """The smaller problem. ``possible`` is False when reach alone shows that nothing satisfies all."""

    unknowns: list[Unknown]
    rows: list[Row]
    resources: list[Resource]
    constant: float = 0.0
    possible: bool = True
    components: list[Component] = field(default_factory=list)


def reduce_problem(problem: Problem) -> Reduced:
    """Return the reduced problem, with its components."""
    return reduce_again(_translate(problem))


def reduce_again(reduced: Reduced) -> Reduced:
    """Reduce as far as it goes, in place: what was dropped or settled since may let more go."""
    reduced.possible = reduced.possible and _propagate(reduced)
    if reduced.possible:
        _drop_idle_sides(reduced)
        _fold_costs(reduced)
        _drop_beaten(reduced)
        _drop_idle_sides(reduced)
        _fold_costs(reduced)
        reduced.components = list(_split(reduced))
    return reduced


def part_of(
    reduced: Reduced, free: Iterable[int], rows: Iterable[Row], keep: Mapping[int, Bools], paid: frozenset[int]
) -> tuple[Reduced, list[int]]:
    """Return a copy of a part that can be narrowed apart, and where its unknowns stand in the whole.

    Taken are the unknowns of ``free`` and of ``rows``; ``keep`` says which choices stay. Unknowns that are not free
    must keep one choice only; they cost nothing here. Resources of ``paid`` are used elsewhere in any case.
    """
    mine = set(free)
    rows = list(rows)
    home = sorted(mine | {i for row in rows for i in row.idx})
    place = {i: n for n, i in enumerate(home)}
    unknowns: list[Unknown] = []
    for i in home:
        whole = reduced.unknowns[i]
        unknown = replace(whole, uses=[u - paid for u in whole.uses], picks=list(whole.picks))
        if i in keep:
            unknown.keep(keep[i])
        if i not in mine:
            unknown.uses = [frozenset() for _ in unknown.uses]
            unknown.costs = np.zeros(len(unknown.sizes))
        unknowns.append(unknown)
    part = [replace(row, idx=tuple(place[i] for i in row.idx)) for row in rows]
    return Reduced(unknowns, part, reduced.resources), home


def touched_by(problem: Problem, variable: int) -> set[int]:
    """Return the variables a change of one could move (itself included), whichever of its candidates it takes."""
    reduced = _translate(problem)
    if not (reduced.possible and _propagate(reduced)):
        return set(range(len(problem.variables)))
    _drop_idle_sides(reduced)
    # costs are not looked at: a choice beaten while all is free may be the one that is forced later
    return next((set(c.unknowns) for c in _split(reduced) if variable in c.unknowns), {variable})


# ------------------------------------------------------------------ from the problem


def _translate(problem: Problem) -> Reduced:
    resources: list[Resource] = []
    number: dict[tuple[str, str], int] = {}
    for kind, costs in (("tool", problem.tool_cost), ("buy", problem.buy_cost)):
        for name, cost in costs.items():
            if cost > 0:
                number[kind, name] = len(resources)
                resources.append(Resource(name, cost))
    unknowns = [_unknown(i, v, number) for i, v in enumerate(problem.variables)]
    possible = all(u.low <= u.high + HOLD_MM for u in unknowns)
    index = {v.name: i for i, v in enumerate(problem.variables)}
    rows: list[Row] = []
    for window in problem.windows:
        terms: dict[int, float] = {}
        for name, coefficient in window.terms:
            terms[index[name]] = terms.get(index[name], 0.0) + coefficient
        terms = {i: a for i, a in terms.items() if a != 0.0}
        low = -inf if window.low is None else window.low - window.constant
        high = inf if window.high is None else window.high - window.constant
        if low > high + HOLD_MM:
            possible = False
        rows.append(Row(tuple(terms), tuple(terms.values()), low, high))
    for group in problem.groups:
        members = list(dict.fromkeys(index[name] for name in group.members))
        if group.within_mm == 0:
            pairs = list(pairwise(members))
        else:
            pairs = [(a, b) for k, a in enumerate(members) for b in members[k + 1 :]]
        rows += [Row(p, (1.0, -1.0), -group.within_mm, group.within_mm, group.within_mm == 0) for p in pairs]
    return Reduced(unknowns, rows, resources, possible=possible)


def _unknown(i: int, variable: Variable, number: dict[tuple[str, str], int]) -> Unknown:
    drawn, weight, locked = variable.drawn_mm, variable.weight, variable.locked_mm
    low = -inf if variable.low_mm is None else variable.low_mm
    high = inf if variable.high_mm is None else variable.high_mm
    chosen: list[tuple[float, float, frozenset[int], int | None]] = []
    for k, candidate in enumerate(variable.candidates):
        size = candidate.size_mm
        if locked is not None:
            if abs(size - locked) > HOLD_MM:
                continue
            size = locked
        elif not low - HOLD_MM <= size <= high + HOLD_MM:
            continue
        pairs = (("tool", candidate.tool), ("buy", candidate.buy))
        chosen.append((size, candidate.cost, frozenset(number[p] for p in pairs if p in number), k))
    if locked is not None and not chosen:
        chosen.append((locked, 0.0, frozenset(), None))
    sizes = np.array([c[0] for c in chosen], dtype=float)
    costs = np.array([c[1] for c in chosen], dtype=float)
    if drawn is not None:
        costs = costs + weight * np.abs(sizes - drawn)
    if len(sizes):
        low, high = float(sizes.min()), float(sizes.max())
    elif variable.candidates:
        low, high = inf, -inf  # every candidate lies outside the builder's limits
    elif low > high and low <= high + HOLD_MM:
        low = high
    return Unknown(i, sizes, costs, [c[2] for c in chosen], [c[3] for c in chosen], low, high, drawn, weight)


# ------------------------------------------------------------------ what cannot hold


def _reach(row: Row, unknowns: list[Unknown]) -> tuple[list[float], list[float]]:
    least, most = [], []
    for i, a in zip(row.idx, row.coef, strict=True):
        ends = a * unknowns[i].low, a * unknowns[i].high
        least.append(min(ends))
        most.append(max(ends))
    return least, most


def _less(total: float, infinite: int, part: float) -> float:
    """Return a sum without one of its parts, where some parts may be infinite (counted, not summed)."""
    if not isfinite(part):
        infinite -= 1
        part = 0.0
    return total - part if infinite == 0 else inf


def _propagate(reduced: Reduced) -> bool:
    """Drop all that the reach of the other sizes rules out, to a standstill; False when nothing is left somewhere."""
    unknowns, rows = reduced.unknowns, reduced.rows
    watching: list[list[int]] = [[] for _ in unknowns]
    for r, row in enumerate(rows):
        for i in row.idx:
            watching[i].append(r)
    waiting = dict.fromkeys(range(len(rows)))
    turns = 0
    while waiting and turns < _ROUNDS * len(rows):
        turns += 1
        r = next(iter(waiting))
        del waiting[r]
        changed = _narrow(rows[r], unknowns)
        if changed is None:
            return False
        for i in changed:
            waiting.update(dict.fromkeys(watching[i]))
    # should it have been cut short: what is settled must hold all the same, no later step looks at it again
    return all(_narrow(row, unknowns) is not None for row in rows if all(unknowns[i].fixed for i in row.idx))


def _narrow(row: Row, unknowns: list[Unknown]) -> list[int] | None:
    """Narrow the unknowns of one row; return which changed, or None when nothing of one is left."""
    least, most = _reach(row, unknowns)
    below = sum(x for x in least if isfinite(x))
    above = sum(x for x in most if isfinite(x))
    below_inf = sum(not isfinite(x) for x in least)
    above_inf = sum(not isfinite(x) for x in most)
    if (below_inf == 0 and below > row.high + HOLD_MM) or (above_inf == 0 and above < row.low - HOLD_MM):
        return None
    changed: list[int] = []
    for k, (i, a) in enumerate(zip(row.idx, row.coef, strict=True)):
        unknown = unknowns[i]
        most_left = row.high - _less(below, below_inf, least[k]) + HOLD_MM
        least_left = row.low + _less(-above, above_inf, -most[k]) - HOLD_MM
        if not isfinite(_less(below, below_inf, least[k])):
            most_left = inf
        if not isfinite(_less(-above, above_inf, -most[k])):
            least_left = -inf
        outcome = _limit(unknown, a, least_left, most_left)
        if outcome is None:
            return None
        if outcome:
            changed.append(i)
    if not changed and len(row.idx) >= 2:
        return _meet(row, unknowns)
    return changed


def _limit(unknown: Unknown, a: float, least: float, most: float) -> bool | None:
    """Hold ``least <= a * size <= most``; True when it changed, None when nothing is left."""
    if unknown.discrete:
        part = a * unknown.sizes
        mask = (part >= least) & (part <= most)
        if mask.all():
            return False
        if not mask.any():
            return None
        unknown.keep(mask)
        return True
    low, high = (least / a, most / a) if a > 0 else (most / a, least / a)
    if max(low, unknown.low) > min(high, unknown.high) + HOLD_MM:
        return None
    changed = False
    # a stretch is narrowed only by steps worth having: endless small ones never come to rest
    if low > unknown.low + _LEAST_PROGRESS_MM:
        unknown.low, changed = min(low, unknown.high), True
    if high < unknown.high - _LEAST_PROGRESS_MM:
        unknown.high, changed = max(high, unknown.low), True
    return changed


def _meet(row: Row, unknowns: list[Unknown]) -> list[int] | None:
    """Drop choices for which no choices of the row's other unknowns fill the window exactly (few unknowns only)."""
    loose = [k for k, i in enumerate(row.idx) if unknowns[i].discrete and not unknowns[i].fixed]
    if not loose:
        return []
    low, high = row.low - HOLD_MM, row.high + HOLD_MM
    least, most = _reach(row, unknowns)
    for k in range(len(row.idx)):
        if k not in loose:
            low, high = low - most[k], high - least[k]
    if low == -inf and high == inf:
        return []
    parts = [row.coef[k] * np.unique(unknowns[row.idx[k]].sizes) for k in loose]
    changed: list[int] = []
    for n, k in enumerate(loose):
        others = parts[:n] + parts[n + 1 :]
        count = 1
        for part in others:
            count *= len(part)
        if count > _SUMSET_LIMIT:
            continue
        sums = np.zeros(1)
        for part in others:
            sums = np.unique((sums[:, None] + part[None, :]).ravel())
        unknown = unknowns[row.idx[k]]
        mine = row.coef[k] * unknown.sizes
        first = np.searchsorted(sums, low - mine, "left")
        last = np.searchsorted(sums, high - mine, "right")
        mask = last > first
        if mask.all():
            continue
        if not mask.any():
            return None
        unknown.keep(mask)
        parts[n] = row.coef[k] * np.unique(unknown.sizes)
        changed.append(row.idx[k])
    return changed


# ------------------------------------------------------------------ what can be no better


def _drop_idle_sides(reduced: Reduced) -> None:
    """Take away sides of rows that no choice left can break, and rows without a side."""
    kept: list[Row] = []
    for row in reduced.rows:
        least, most = _reach(row, reduced.unknowns)
        if sum(least) >= row.low:
            row.low = -inf
        if sum(most) <= row.high:
            row.high = inf
        if row.low > -inf or row.high < inf:
            kept.append(row)
    reduced.rows = kept


def _fold_costs(reduced: Reduced) -> None:
    """Pay what is paid in any case, and give a resource that one unknown alone may use to its choices' own cost."""
    users: dict[int, list[int]] = {}
    paid: set[int] = set()
    for i, unknown in enumerate(reduced.unknowns):
        if unknown.uses:
            for resource in frozenset.union(*unknown.uses):
                users.setdefault(resource, []).append(i)
            paid |= frozenset.intersection(*unknown.uses)
    for resource in sorted(paid):
        reduced.constant += reduced.resources[resource].cost
        for i in users[resource]:
            unknown = reduced.unknowns[i]
            unknown.uses = [u - {resource} for u in unknown.uses]
    for resource, by in users.items():
        if len(by) == 1 and resource not in paid:
            unknown = reduced.unknowns[by[0]]
            unknown.costs = unknown.costs + reduced.resources[resource].cost * np.array(
                [resource in u for u in unknown.uses], dtype=float
            )
            unknown.uses = [u - {resource} for u in unknown.uses]


def _drop_beaten(reduced: Reduced) -> None:
    """Drop choices that another choice of the same unknown beats or equals in cost wherever they fit."""
    may_grow = [True] * len(reduced.unknowns)
    may_shrink = [True] * len(reduced.unknowns)
    for row in reduced.rows:
        for i, a in zip(row.idx, row.coef, strict=True):
            if row.high < inf:
                (may_grow if a > 0 else may_shrink)[i] = False
            if row.low > -inf:
                (may_shrink if a > 0 else may_grow)[i] = False
    for i, unknown in enumerate(reduced.unknowns):
        if len(unknown.sizes) > 1:
            beaten = _beaten(unknown, reduced.resources, may_grow[i], may_shrink[i])
            if beaten.any():
                unknown.keep(~beaten)


def _beaten(unknown: Unknown, resources: list[Resource], may_grow: bool, may_shrink: bool) -> Bools:
    kinds = sorted(set(unknown.uses), key=sorted)
    place = {u: k for k, u in enumerate(kinds)}
    extra = np.array([[sum(resources[x].cost for x in a - b) for b in kinds] for a in kinds])
    use = np.array([place[u] for u in unknown.uses])
    cost, size = unknown.costs, unknown.sizes
    worth = cost[:, None] + extra[use[:, None], use[None, :]]  # of a, should it stand in for b
    fits = np.abs(size[:, None] - size[None, :]) <= _SAME_SIZE_MM
    if may_grow:
        fits |= size[:, None] >= size[None, :]
    if may_shrink:
        fits |= size[:, None] <= size[None, :]
    beats = fits & (worth <= cost[None, :])
    np.fill_diagonal(beats, val=False)
    beaten: Bools = np.zeros(len(size), dtype=bool)
    for b in range(len(size)):
        # of two that beat each other one must stay: the one that beats may not itself be dropped
        beaten[b] = bool((beats[:, b] & ~beaten).any())
    return beaten


# ------------------------------------------------------------------ what hangs together


def _split(reduced: Reduced) -> Iterator[Component]:
    parent = list(range(len(reduced.unknowns)))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    def join(together: Iterable[int]) -> None:
        first: int | None = None
        for i in together:
            if first is None:
                first = root(i)
            else:
                parent[root(i)] = first

    loose = [len(u.sizes) != 1 for u in reduced.unknowns]
    for row in reduced.rows:
        join(i for i in row.idx if loose[i])
    users: dict[int, list[int]] = {}
    for i, unknown in enumerate(reduced.unknowns):
        for resource in frozenset().union(*unknown.uses) if unknown.uses else ():
            users.setdefault(resource, []).append(i)
    for by in users.values():
        join(by)
    parts: dict[int, Component] = {}
    for i in range(len(reduced.unknowns)):
        parts.setdefault(root(i), Component([], [], [])).unknowns.append(i)
    for row in reduced.rows:
        home = next((i for i in row.idx if loose[i]), None)
        if home is not None:
            parts[root(home)].rows.append(row)
    for resource, by in users.items():
        parts[root(by[0])].resources.append(resource)
    yield from parts.values()
