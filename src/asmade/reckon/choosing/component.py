"""Solve one component: straight away when it is small, else from a first set through better ones to the proof."""

from __future__ import annotations

import random
from collections import deque
from dataclasses import dataclass
from math import fsum, inf
from typing import TYPE_CHECKING

import numpy as np

from asmade.reckon.choosing.compose import Settled, compose, offer, rounded, settle
from asmade.reckon.choosing.engine import run
from asmade.reckon.choosing.problem import relative_gap
from asmade.reckon.choosing.reduce import Component, part_of, reduce_again
from asmade.reckon.choosing.seek import seek

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from asmade.reckon.choosing.compose import Composed
    from asmade.reckon.choosing.engine import Outcome
    from asmade.reckon.choosing.reduce import Reduced, Row
    from asmade.reckon.choosing.watch import Watch

SMALL = 400
"""Choices up to which a component is solved straight away."""

_WIDE = 2000
_SEEK_STEPS = 20_000
_SEEK_TIMES = 4
_ROUND_SIZES = 30.0
_ROUND_GROWS = 1.1
_ROUND_SHRINKS = 0.8
_ROUND_NODES = 100
_ROUND_S = 2.0
_GIVE_UP_AFTER = 40
_STRAIGHT_SHARE = 0.4
_IMPROVE_SHARE = 0.65
_IMPROVE_SHARE_NEAR = 0.15
_NEAR = 0.02
_TIGHTEN_TIMES = 4
_WORTH_AGAIN = 0.95
_PRICED_OUT = 1e-6
_CLOSE = 1e-7


@dataclass(frozen=True, slots=True)
class Part:
    """What came out for one component: the set found (None: none), the bound, whether it is impossible."""

    settled: Settled | None
    bound: float
    impossible: bool = False


def least_cost(reduced: Reduced, component: Component) -> float:
    """Return a bound at no effort: every unknown at its cheapest."""
    return fsum(float(reduced.unknowns[i].costs.min()) for i in component.unknowns if reduced.unknowns[i].discrete)


def solve_component(
    reduced: Reduced, component: Component, watch: Watch, share_s: float, first: Mapping[int, float]
) -> Part:
    """Return the best set of a component found in its share of the time, with its bound."""
    choices = sum(len(reduced.unknowns[i].sizes) for i in component.unknowns)
    words = f"{len(component.unknowns)} sizes that hang together"
    if choices <= SMALL:
        return solve_straight(reduced, component, watch, share_s, first, words=words)
    made = compose(reduced, component)
    relaxed = run(made.model, watch, relax=True)
    if relaxed.end == "infeasible":
        return Part(None, inf, impossible=True)
    if relaxed.x is None:
        return Part(None, least_cost(reduced, component))
    ends = watch.seconds + share_s
    bound = relaxed.bound + made.constant
    best = _first_set(reduced, component, made, relaxed, watch, first)
    if best is not None:
        watch.tell(best.objective, bound, words)
        if best.objective - bound <= _CLOSE:
            return Part(best, best.objective)
    # most problems are no harder than this; what is still open then needs the long way
    begin = first if best is None else best.sizes
    part = solve_straight(reduced, component, watch, _STRAIGHT_SHARE * share_s, begin, words=words)
    bound = max(bound, part.bound)
    if part.settled is not None and (best is None or part.settled.objective < best.objective):
        best = part.settled
    if part.impossible or (best is not None and best.objective - bound <= _CLOSE) or watch.over():
        return Part(best, bound, part.impossible)
    if best is None:
        left = max(0.0, ends - watch.seconds)
        part = solve_straight(reduced, component, watch, left, first, wide=True, words=words)
        return Part(part.settled, max(part.bound, bound), part.impossible)
    # where the gap is small already the proof needs the time, where it is large better sets are to be had
    improve = _IMPROVE_SHARE if relative_gap(best.objective, bound) > _NEAR else _IMPROVE_SHARE_NEAR
    until = watch.seconds + improve * (ends - watch.seconds)
    best = _improve(reduced, component, best, watch, until, bound)
    proof = _prove(reduced, component, best, (made, relaxed), watch, ends)
    assert proof.settled is not None  # noqa: S101  # it began with a set
    return Part(proof.settled, min(proof.settled.objective, max(proof.bound, bound)))


def solve_straight(
    reduced: Reduced,
    component: Component,
    watch: Watch,
    share_s: float,
    first: Mapping[int, float],
    *,
    node_limit: int | None = None,
    wide: bool = False,
    words: str = "",
) -> Part:
    """Return what one mixed-integer run finds and proves; ``wide`` writes out larger tables."""
    made = compose(reduced, component, most_combinations=_WIDE) if wide else compose(reduced, component)
    if made.model.columns == 0:
        settled = settle(reduced, component, {}, watch)
        return Part(None, inf, impossible=True) if settled is None else Part(settled, settled.objective)
    begin = offer(made, reduced, first)
    until = watch.seconds + share_s
    while True:
        left = max(0.0, until - watch.seconds)
        ran = run(made.model, watch, time_limit_s=left, node_limit=node_limit, start=begin, words=words)
        if ran.end == "infeasible":
            return Part(None, inf, impossible=True)
        bound = ran.bound + made.constant
        if ran.x is None:
            return Part(None, bound)
        chosen = rounded(made, reduced, ran.x)
        settled = settle(reduced, component, chosen, watch)
        if settled is not None:
            return Part(settled, min(bound, settled.objective))
        if not chosen:
            return Part(None, bound)
        # the solver's rounding let through a set that does not hold exactly: rule it out and go on
        made.model.row({made.choices[i] + k: 1.0 for i, k in chosen.items()}, -inf, len(chosen) - 1.0)


def _first_set(
    reduced: Reduced,
    component: Component,
    made: Composed,
    relaxed: Outcome,
    watch: Watch,
    first: Mapping[int, float],
) -> Settled | None:
    """Return a first set that holds: the one offered, or one sought from the fractions of the linear programme."""
    offered = _offered(reduced, component, first)
    if offered is not None:
        settled = settle(reduced, component, offered, watch)
        if settled is not None:
            return settled
    assert relaxed.x is not None  # noqa: S101  # the caller has looked
    begin = rounded(made, reduced, relaxed.x)
    for seed in range(_SEEK_TIMES):
        chosen = seek(reduced, component, begin, watch, steps=_SEEK_STEPS, seed=seed)
        if chosen is not None:
            settled = settle(reduced, component, chosen, watch)
            if settled is not None:
                return settled
    return None


def _offered(reduced: Reduced, component: Component, first: Mapping[int, float]) -> dict[int, int] | None:
    chosen: dict[int, int] = {}
    for i in component.unknowns:
        unknown = reduced.unknowns[i]
        if not unknown.discrete:
            continue
        near = np.flatnonzero(np.abs(unknown.sizes - first.get(i, inf)) <= _CLOSE)
        if len(near) == 0:
            return None
        chosen[i] = int(near[np.argmin(unknown.costs[near])])
    return chosen


# ------------------------------------------------------------------ better sets, neighbourhood by neighbourhood


def _improve(
    reduced: Reduced, component: Component, best: Settled, watch: Watch, until: float, bound: float
) -> Settled:
    """Free some sizes that hang together at a time, choose them anew, keep what is better."""
    rows_of: dict[int, list[int]] = {i: [] for i in component.unknowns}
    for r, row in enumerate(component.rows):
        for i in row.idx:
            if i in rows_of:
                rows_of[i].append(r)
    dice = random.Random(1)  # noqa: S311  # repeatable on purpose
    idle, many = 0, _ROUND_SIZES
    while idle < _GIVE_UP_AFTER and watch.seconds < until and not watch.over():
        if best.objective - bound <= _CLOSE:
            break
        free = _neighbours(reduced, component, rows_of, dice, int(many))
        better, finished = _choose_anew(reduced, component, best, free, rows_of, watch)
        idle += 1
        many = min(len(rows_of), many * _ROUND_GROWS) if finished else max(_ROUND_SIZES / 2, many * _ROUND_SHRINKS)
        if better is not None and better.objective < best.objective - _CLOSE:
            best, idle = better, 0
            watch.tell(best.objective, bound, "better sizes, some at a time")
    return best


def _neighbours(
    reduced: Reduced, component: Component, rows_of: Mapping[int, list[int]], dice: random.Random, many: int
) -> set[int]:
    """Return unknowns around a random one, or the users of a random resource and some around them."""
    loose = [i for i in component.unknowns if len(reduced.unknowns[i].sizes) != 1]
    begin = [dice.choice(loose)]
    if component.resources and dice.random() < 0.3:
        wanted = dice.choice(component.resources)
        begin = [i for i in loose if any(wanted in u for u in reduced.unknowns[i].uses)]
        dice.shuffle(begin)
    free: set[int] = set()
    waiting, seen = deque(begin), set(begin)
    while waiting and len(free) < many:
        i = waiting.popleft()
        free.add(i)
        rows = list(rows_of[i])
        dice.shuffle(rows)
        for r in rows:
            for j in component.rows[r].idx:
                if j in rows_of and j not in seen and len(reduced.unknowns[j].sizes) != 1:
                    seen.add(j)
                    waiting.append(j)
    return free


def _choose_anew(
    reduced: Reduced,
    component: Component,
    best: Settled,
    free: set[int],
    rows_of: Mapping[int, list[int]],
    watch: Watch,
) -> tuple[Settled | None, bool]:
    """Return the best set with these sizes freed, and whether no better one exists among them."""
    rows: dict[int, Row] = {}
    waiting = list(free)
    while waiting:  # stretches of the rows touched move along, and so their other rows count too
        for r in rows_of[waiting.pop()]:
            if r in rows:
                continue
            rows[r] = component.rows[r]
            more = {j for j in component.rows[r].idx if not reduced.unknowns[j].discrete} - free
            free |= more
            waiting += more
    chosen = _indices(reduced, component, best)
    paid: frozenset[int] = frozenset().union(*(reduced.unknowns[i].uses[k] for i, k in chosen.items() if i not in free))
    keep = {
        i: np.arange(len(reduced.unknowns[i].sizes)) == chosen[i]
        for row in rows.values()
        for i in row.idx
        if i not in free and i in chosen
    }
    part, home = part_of(reduced, sorted(free), rows.values(), keep, paid)
    known = {n: best.sizes[i] for n, i in enumerate(home) if i in best.sizes}
    found, finished = _solve_part(part, watch, known)
    if found is None:
        return None, finished
    sizes = dict(best.sizes) | {home[n]: size for n, size in found.sizes.items() if home[n] in free}
    picks = dict(best.picks) | {home[n]: pick for n, pick in found.picks.items() if home[n] in free}
    return Settled(picks, sizes, _cost(reduced, component, picks, sizes)), finished


def _solve_part(part: Reduced, watch: Watch, known: Mapping[int, float]) -> tuple[Settled | None, bool]:
    reduce_again(part)
    if not part.possible:
        return None, True
    finished = True
    sizes: dict[int, float] = {}
    picks: dict[int, int | None] = {}
    for component in part.components:
        answer = solve_straight(part, component, watch, _ROUND_S, known, node_limit=_ROUND_NODES)
        if answer.settled is None:
            return None, False
        finished = finished and answer.settled.objective - answer.bound <= 10 * _CLOSE
        sizes |= answer.settled.sizes
        picks |= answer.settled.picks
    return Settled(picks, sizes, 0.0), finished


def _indices(reduced: Reduced, component: Component, settled: Settled) -> dict[int, int]:
    unknowns = reduced.unknowns
    return {i: unknowns[i].picks.index(settled.picks[i]) for i in component.unknowns if unknowns[i].discrete}


def _cost(reduced: Reduced, component: Component, picks: Mapping[int, int | None], sizes: Mapping[int, float]) -> float:
    parts: list[float] = []
    used: set[int] = set()
    for i in component.unknowns:
        unknown = reduced.unknowns[i]
        if unknown.discrete:
            k = unknown.picks.index(picks[i])
            parts.append(float(unknown.costs[k]))
            used |= unknown.uses[k]
        elif unknown.drawn is not None:
            parts.append(unknown.weight * abs(sizes[i] - unknown.drawn))
    return fsum(parts + [reduced.resources[r].cost for r in used])


# ------------------------------------------------------------------ the proof


def _prove(
    reduced: Reduced,
    component: Component,
    best: Settled,
    relaxed: tuple[Composed, Outcome],
    watch: Watch,
    ends: float,
) -> Part:
    """Drop the choices that can be in no better set, again and again, and search what is left for one."""
    made, ran = relaxed
    bound = ran.bound + made.constant
    keep = {i: np.ones(len(reduced.unknowns[i].sizes), dtype=bool) for row in component.rows for i in row.idx}
    keep |= {i: np.ones(len(reduced.unknowns[i].sizes), dtype=bool) for i in component.unknowns}
    keep = {i: mask for i, mask in keep.items() if len(mask)}
    _price_out(reduced, keep, list(range(len(reduced.unknowns))), reduced, relaxed, best.objective - bound)
    for _ in range(_TIGHTEN_TIMES):
        left = sum(int(mask.sum()) for mask in keep.values())
        if not all(mask.any() for mask in keep.values()):
            return Part(best, best.objective)
        part, home = part_of(reduced, component.unknowns, component.rows, keep, frozenset())
        if not reduce_again(part).possible:
            return Part(best, best.objective)
        programmes = [(made, run(made.model, watch, relax=True)) for made in _wide(part)]
        if any(ran.end == "infeasible" for _, ran in programmes):
            return Part(best, best.objective)
        if any(ran.x is None for _, ran in programmes):
            return Part(best, bound)
        now = fsum([part.constant, *(made.constant + ran.bound for made, ran in programmes)])
        bound = max(bound, now)
        for programme in programmes:
            _price_out(reduced, keep, home, part, programme, best.objective - now)
        if sum(int(mask.sum()) for mask in keep.values()) > _WORTH_AGAIN * left:
            break
    if not all(mask.any() for mask in keep.values()):
        return Part(best, best.objective)
    part, home = part_of(reduced, component.unknowns, component.rows, keep, frozenset())
    return _search_rest(reduced, component, best, (part, home), watch, ends, bound)


def _wide(part: Reduced) -> list[Composed]:
    return [compose(part, sub, most_combinations=_WIDE) for sub in part.components]


def _price_out(
    reduced: Reduced,
    keep: dict[int, NDArray[np.bool_]],
    home: list[int],
    part: Reduced,
    programme: tuple[Composed, Outcome],
    room: float,
) -> None:
    """Take out of ``keep`` the choices that the linear programme prices beyond the best set known.

    Any set with a certain choice costs at least the bound plus that choice's reduced cost plus, for each table the
    unknown is in, the least reduced cost among the combinations with that choice (weak duality: all others are >= 0).
    """
    made, ran = programme
    if ran.reduced_cost is None:
        return
    costs = np.maximum(ran.reduced_cost, 0.0)
    price = {i: costs[j : j + len(part.unknowns[i].sizes)].copy() for i, j in made.choices.items()}
    for listed, first in made.tables:
        own = costs[first : first + len(listed.choices)]
        for n, i in enumerate(listed.idx):
            least = np.full(len(price[i]), inf)
            np.minimum.at(least, listed.choices[:, n], own)
            price[i] += least
    for i, of in price.items():
        whole = keep[home[i]]
        kept = np.flatnonzero(whole)
        gone = {part.unknowns[i].picks[k] for k in np.flatnonzero(of > room + _PRICED_OUT)}
        whole[[k for k in kept if reduced.unknowns[home[i]].picks[k] in gone]] = False


def _search_rest(
    reduced: Reduced,
    component: Component,
    best: Settled,
    rest: tuple[Reduced, list[int]],
    watch: Watch,
    ends: float,
    bound: float,
) -> Part:
    """Search what is left for a better set: it lies there or nowhere."""
    part, home = rest
    if not reduce_again(part).possible:
        return Part(best, best.objective)
    total: list[float] = [part.constant]
    sizes: dict[int, float] = {}
    picks: dict[int, int | None] = {}
    known = {n: best.sizes[i] for n, i in enumerate(home) if i in best.sizes}
    complete = True
    for sub in sorted(part.components, key=lambda c: len(c.unknowns)):
        left = max(0.0, ends - watch.seconds)
        words = f"{len(sub.unknowns)} sizes that hang together"
        wide = relative_gap(best.objective, bound) > _NEAR
        answer = solve_straight(part, sub, watch, left, known, wide=wide, words=words)
        if answer.impossible:
            return Part(best, best.objective)
        total.append(max(answer.bound, least_cost(part, sub)))
        if answer.settled is None:
            complete = False
            continue
        sizes |= {home[n]: size for n, size in answer.settled.sizes.items()}
        picks |= {home[n]: pick for n, pick in answer.settled.picks.items()}
    if complete:
        cost = _cost(reduced, component, picks, sizes)
        if cost < best.objective:
            best = Settled({i: picks[i] for i in component.unknowns}, {i: sizes[i] for i in component.unknowns}, cost)
    return Part(best, min(best.objective, max(bound, fsum(total))))
