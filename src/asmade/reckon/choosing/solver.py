"""Solve a choice of sizes: reduce, solve what hangs together, add up the proof, or hand over to the conflict."""

from __future__ import annotations

from math import fsum, inf, nan
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange
from asmade.reckon.choosing.component import Part, least_cost, solve_component
from asmade.reckon.choosing.compose import compose
from asmade.reckon.choosing.conflict import explain
from asmade.reckon.choosing.engine import run
from asmade.reckon.choosing.judge import objective, used, window_value, worst_breach
from asmade.reckon.choosing.problem import HOLD_MM, Solution, relative_gap
from asmade.reckon.choosing.reduce import reduce_problem
from asmade.reckon.choosing.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from asmade.reckon.choosing.problem import Conflict, Problem, Progress, Status
    from asmade.reckon.choosing.reduce import Reduced

PROVEN_WITHIN = 1e-6
"""A set is proven when the bound lies within this of it (relative, and absolute below 1): the solver's own accuracy."""

_CONFLICT_SHARE = 0.5
_CONFLICT_LEAST_S = 3.0


def solve(
    problem: Problem,
    *,
    time_limit_s: float = 30.0,
    on_progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
    start: Mapping[str, float] | None = None,
    explained: bool = True,
) -> Solution:
    """Return the best set of sizes, with its proof or its remaining gap, or the conflict.

    ``time_limit_s`` bounds the search; should nothing satisfy all, explaining the conflict may take another half of
    it (at least 3 s); with ``explained=False`` it is told of without a word of why, for a caller who will try
    something easier. ``stop`` is asked some fifty times a second; stop and Ctrl-C keep the best found. ``start``
    (variable: mm) is offered as a first set, as far as it lies on candidates. One thread, fixed seeds: the same
    problem gives the same answer unless time cuts it short.

    Raises `OutOfRange` for a time limit that is not above 0. Every size set returned has been held against the
    problem itself: no window, group, limit or lock is broken by more than `HOLD_MM`.
    """
    if not time_limit_s > 0:
        raise OutOfRange("time limit", got=time_limit_s, allowed="above 0 s")
    watch = Watch(time_limit_s, on_progress, stop)
    with watch.heeding_ctrl_c():
        found = _solve(problem, watch, start or {})
        if found is None:
            conflict = _explain(problem, watch, time_limit_s, on_progress, stop) if explained else None
            return Solution("conflict", {}, {}, nan, nan, 0.0, {}, (), (), conflict, watch.seconds)
        return found


def _solve(problem: Problem, watch: Watch, start: Mapping[str, float]) -> Solution | None:
    """Return the best set found, or None when nothing satisfies all."""
    watch.tell(None, 0.0, "dropping what no window can hold")
    reduced = reduce_problem(problem)
    if not reduced.possible:
        return None
    parts = _solve_components(problem, reduced, watch, start)
    if any(p.impossible for p in parts.values()):
        return None
    bound = reduced.constant + fsum(p.bound for p in parts.values())
    if any(p.settled is None for p in parts.values()):
        return Solution("nothing_found", {}, {}, inf, bound, 1.0, {}, (), (), None, watch.seconds)
    return _solution(problem, list(parts.values()), bound, watch.seconds)


def _explain(
    problem: Problem,
    watch: Watch,
    time_limit_s: float,
    on_progress: Callable[[Progress], None] | None,
    stop: Callable[[], bool] | None,
) -> Conflict:
    room = max(_CONFLICT_LEAST_S, _CONFLICT_SHARE * time_limit_s)
    return explain(problem, room, on_progress, lambda: watch.stopped or (stop is not None and stop()))


def lower_bound(problem: Problem, watch: Watch) -> float:
    """Return a quick lower bound of the objective (choices taken as divisible); inf when nothing satisfies all."""
    reduced = reduce_problem(problem)
    if not reduced.possible:
        return inf
    bound = reduced.constant
    for component in reduced.components:
        made = compose(reduced, component)
        ran = run(made.model, watch, relax=True) if made.model.columns else None
        if ran is not None and ran.end == "infeasible":
            return inf
        least = 0.0 if ran is None else max(0.0, ran.bound)
        bound += made.constant + least
    return bound


def _solve_components(problem: Problem, reduced: Reduced, watch: Watch, start: Mapping[str, float]) -> dict[int, Part]:
    index = {v.name: i for i, v in enumerate(problem.variables)}
    first = {index[name]: size for name, size in start.items() if name in index}
    weight = [1 + sum(len(reduced.unknowns[i].sizes) for i in c.unknowns) for c in reduced.components]
    least = [least_cost(reduced, c) for c in reduced.components]
    order = sorted(range(len(weight)), key=lambda n: (weight[n], n))
    parts: dict[int, Part] = {}
    watch.settled, watch.open_bound = reduced.constant, fsum(least)
    for at, n in enumerate(order):
        watch.open_bound -= least[n]
        if at == len(order) - 1:
            watch.open_bound = 0.0
        share = watch.left() * weight[n] / sum(weight[m] for m in order[at:])
        part = solve_component(reduced, reduced.components[n], watch, share, first)
        if part.bound < least[n]:
            part = Part(part.settled, least[n], part.impossible)
        parts[n] = part
        if part.impossible:
            break
        watch.settled += part.bound if part.settled is None else part.settled.objective
    return parts


def _solution(problem: Problem, parts: list[Part], bound: float, seconds: float) -> Solution:
    sizes: dict[str, float] = {}
    picks: dict[str, int | None] = {}
    for part in parts:
        if part.settled is None:
            continue
        for i, size in part.settled.sizes.items():
            name = problem.variables[i].name
            sizes[name] = size
            picks[name] = part.settled.picks[i]
    sizes = {v.name: sizes[v.name] for v in problem.variables}
    picks = {v.name: picks[v.name] for v in problem.variables}
    breach, name = worst_breach(problem, sizes)
    if breach > HOLD_MM:
        raise AssertionError(f"choice of sizes breaks {name} by {breach:.3g} mm")
    total = objective(problem, sizes, picks)
    proven = total - bound <= PROVEN_WITHIN * max(1.0, total)
    status: Status = "proven" if proven else "best_found"
    tools, buys = used(problem, picks)
    return Solution(
        status,
        sizes,
        picks,
        total,
        total if proven else bound,
        0.0 if proven else relative_gap(total, bound),
        {w.name: window_value(w, sizes) for w in problem.windows},
        tools,
        buys,
        None,
        seconds,
    )
