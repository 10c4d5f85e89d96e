"""What every other candidate of one variable would cost, with all the rest chosen anew."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field, replace
from math import inf
from typing import TYPE_CHECKING

from asmade.measure.errors import Refused, Unknown
from asmade.reckon.choosing.judge import objective, worst_breach
from asmade.reckon.choosing.problem import HOLD_MM
from asmade.reckon.choosing.reduce import touched_by
from asmade.reckon.choosing.solver import PROVEN_WITHIN, lower_bound, solve
from asmade.reckon.choosing.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from asmade.reckon.choosing.problem import Candidate, Problem, Solution, Variable


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another candidate: what it costs more than the solution, and what else moves: name -> (before, after), mm.

    ``possible`` False: nothing satisfies all with it. ``proven`` False: time was short, ``extra_cost`` is an upper
    limit (inf: no set found).
    """

    pick: int
    """Its index among the variable's candidates."""
    candidate: Candidate
    extra_cost: float
    moves: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    possible: bool = True
    proven: bool = True


def alternatives(
    problem: Problem,
    solution: Solution,
    name: str,
    count: int,
    *,
    time_limit_s: float = 20.0,
    stop: Callable[[], bool] | None = None,
) -> tuple[Alternative, ...]:
    """Return the ``count`` cheapest other candidates of one variable, each with all the rest chosen anew.

    What cannot be had at all comes last, as far as there is room. A lock of the variable is set aside, its limits
    stand. Costs are counted from the solution's objective; if that was not proven they may be negative. Candidates
    that cannot be among the cheapest (by their bound) are not solved; what time did not suffice for is left out.

    Raises `Unknown` for a variable that is not there, `Refused` for a solution without sizes.
    """
    at = {v.name: i for i, v in enumerate(problem.variables)}
    if name not in at:
        near = tuple(difflib.get_close_matches(name, list(at), 3))
        raise Unknown("variable", got=name, near=near)
    if not solution.sizes:
        raise Refused(
            "alternatives",
            got=solution.status,
            reason="there is no set of sizes to start from",
            way_out="solve it first",
        )
    around = _around(problem, solution, at[name])
    watch = Watch(time_limit_s, None, stop)
    waiting: list[tuple[float, int, Problem]] = []
    found: list[Alternative] = []
    hopeless: list[Alternative] = []
    for k, candidate in enumerate(problem.variables[at[name]].candidates):
        if k == solution.picks[name]:
            continue
        forced = _with(around, at[name], replace(around.variables[at[name]], candidates=(candidate,)))
        bound = lower_bound(forced, watch)
        if bound == inf:
            hopeless.append(Alternative(k, candidate, inf, possible=False))
        else:
            waiting.append((bound - solution.objective, k, forced))
    for least, k, forced in sorted(waiting, key=lambda w: (w[0], w[1])):
        if watch.over() or (len(found) >= count and least > sorted(a.extra_cost for a in found)[count - 1]):
            break
        answer = solve(forced, time_limit_s=max(watch.left(), 0.01), stop=watch.over, start=solution.sizes)
        candidate = problem.variables[at[name]].candidates[k]
        if answer.status == "conflict":
            hopeless.append(Alternative(k, candidate, inf, possible=False))
        elif answer.sizes:
            extra = answer.objective - solution.objective
            moves = _moves(forced, solution, answer, name)
            found.append(Alternative(k, candidate, extra, moves, proven=answer.status == "proven"))
    found.sort(key=lambda a: (a.extra_cost, a.pick))
    return tuple((found + hopeless)[:count])


def _with(problem: Problem, at: int, variable: Variable) -> Problem:
    variables = (*problem.variables[:at], variable, *problem.variables[at + 1 :])
    return replace(problem, variables=variables)


def _around(problem: Problem, solution: Solution, at: int) -> Problem:
    """Return the problem with the variable's lock set aside and all it cannot influence held where it is."""
    freed = _with(problem, at, replace(problem.variables[at], locked_mm=None))
    near = touched_by(freed, at)
    held: list[Variable] = []
    for i, variable in enumerate(freed.variables):
        if i in near:
            held.append(variable)
            continue
        pick = solution.picks[variable.name]
        candidates = () if pick is None else (variable.candidates[pick],)
        held.append(replace(variable, candidates=candidates, locked_mm=solution.sizes[variable.name]))
    return replace(freed, variables=tuple(held))


def _moves(problem: Problem, before: Solution, after: Solution, name: str) -> dict[str, tuple[float, float]]:
    """Return what moves besides the variable itself, after putting back what moved without need."""
    sizes, picks = dict(after.sizes), dict(after.picks)
    moved = [v for v in problem.variables if v.name != name and _differ(before.sizes[v.name], sizes[v.name])]
    cost = objective(problem, sizes, picks)
    for variable in moved:
        own = variable.name
        old = next((k for k, c in enumerate(variable.candidates) if not _differ(c.size_mm, before.sizes[own])), None)
        if variable.candidates and old is None:
            continue
        trial = sizes | {own: before.sizes[own]}
        trial_picks = picks | {own: old}
        if (
            objective(problem, trial, trial_picks) <= cost + PROVEN_WITHIN
            and worst_breach(problem, trial)[0] <= HOLD_MM
        ):
            sizes, picks = trial, trial_picks
    return {
        v.name: (before.sizes[v.name], sizes[v.name]) for v in moved if _differ(before.sizes[v.name], sizes[v.name])
    }


def _differ(a: float, b: float) -> bool:
    return abs(a - b) > HOLD_MM
