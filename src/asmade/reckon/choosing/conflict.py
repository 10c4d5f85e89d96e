"""Why nothing satisfies all: a smallest contradiction, and the least that must give to free all of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from asmade.reckon.choosing.compose import compose
from asmade.reckon.choosing.elastic import least_relaxations
from asmade.reckon.choosing.engine import run
from asmade.reckon.choosing.problem import Conflict, Member, Problem
from asmade.reckon.choosing.reduce import reduce_problem

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from asmade.reckon.choosing.problem import Variable
    from asmade.reckon.choosing.watch import Watch

_TEST_S = 2.0


def explain(problem: Problem, watch: Watch) -> Conflict:
    """Return the conflict of a problem nothing satisfies.

    The candidate lists stand; what may be at fault are windows, groups, locks and limits. First the relaxations (they
    free all conflicts, one contradiction is only one of them), then one contradiction, cut down until every member is
    needed: on sizes taken as continuous where that already contradicts, else on the listed sizes.
    """
    given = least_relaxations(problem, watch)
    parts, irreducible = _contradiction(problem, watch)
    gives = given.relaxations if given is not None else ()
    return Conflict(
        tuple(m.label for m in parts),
        gives,
        _words(problem, parts, [r.words for r in gives], irreducible=irreducible),
        parts,
        irreducible,
        given is not None and given.least,
        given.sizes if given is not None else {},
    )


def members_of(problem: Problem) -> tuple[Member, ...]:
    """Return all that can be at fault, in the order of the problem: locks and limits, groups, windows."""
    found: list[Member] = []
    for variable in problem.variables:
        if variable.locked_mm is not None:
            found.append(Member("lock", variable.name))
        else:
            found += [Member("low", variable.name)] if variable.low_mm is not None else []
            found += [Member("high", variable.name)] if variable.high_mm is not None else []
    found += [Member("group", g.name) for g in problem.groups]
    found += [Member("window", w.name) for w in problem.windows]
    return tuple(found)


def only(problem: Problem, members: Sequence[Member], *, listed: bool = True) -> Problem:
    """Return the problem with only these members holding and all costs gone.

    ``listed=False`` replaces each list of candidates by the stretch from its least to its greatest size.
    """
    kept = set(members)

    def bare(variable: Variable) -> Variable:
        name = variable.name
        locked = variable.locked_mm if Member("lock", name) in kept else None
        low = variable.low_mm if Member("low", name) in kept else None
        high = variable.high_mm if Member("high", name) in kept else None
        candidates = variable.candidates
        if candidates and not listed and locked is None:
            sizes = [c.size_mm for c in candidates]
            low = min(sizes) if low is None else max(low, min(sizes))
            high = max(sizes) if high is None else min(high, max(sizes))
            candidates = ()
        candidates = tuple(replace(c, cost=0.0, tool="", buy="") for c in candidates)
        return replace(
            variable, drawn_mm=None, weight=0.0, candidates=candidates, low_mm=low, high_mm=high, locked_mm=locked
        )

    return Problem(
        tuple(bare(v) for v in problem.variables),
        tuple(w for w in problem.windows if Member("window", w.name) in kept),
        tuple(g for g in problem.groups if Member("group", g.name) in kept),
        {},
        {},
    )


def contradicts(problem: Problem, watch: Watch, time_limit_s: float = _TEST_S) -> bool | None:
    """Return whether nothing satisfies all; None if time was too short to tell."""
    reduced = reduce_problem(problem)
    if not reduced.possible:
        return True
    answer: bool | None = False
    for component in sorted(reduced.components, key=lambda c: len(c.unknowns)):
        made = compose(reduced, component)
        if made.model.columns == 0:
            continue
        made.model.cost = [0.0] * made.model.columns
        ran = run(made.model, watch, time_limit_s=time_limit_s)
        if ran.end == "infeasible":
            return True
        if ran.x is None:
            answer = None
    return answer


def _contradiction(problem: Problem, watch: Watch) -> tuple[tuple[Member, ...], bool]:
    members = members_of(problem)

    def stretched(kept: Sequence[Member]) -> bool | None:
        return contradicts(only(problem, kept, listed=False), watch)

    def listed(kept: Sequence[Member]) -> bool | None:
        return contradicts(only(problem, kept), watch)

    if stretched(members):
        members, _ = smallest(members, stretched)
    return smallest(members, listed)


def smallest(
    members: tuple[Member, ...], test: Callable[[Sequence[Member]], bool | None]
) -> tuple[tuple[Member, ...], bool]:
    """Return a contradictory subset every member of which is needed, given that all together contradict.

    Halves are thrown away as long as the rest still contradicts, so a small contradiction among many members takes
    few tests (U. Junker, QuickXplain, AAAI 2004). The second value is False when a test ran out of time: then the
    set contradicts, but might not be the smallest.
    """
    sure = True

    def holds(kept: list[Member]) -> bool:
        nonlocal sure
        answer = test(kept)
        if answer is None:
            sure = False
        return answer is True

    def search(settled: list[Member], doubtful: list[Member], *, added: bool) -> list[Member]:
        if added and holds(settled):
            return []
        if len(doubtful) <= 1:
            return doubtful
        half = len(doubtful) // 2
        first, second = doubtful[:half], doubtful[half:]
        needed_second = search(settled + first, second, added=bool(first))
        needed_first = search(settled + needed_second, first, added=bool(needed_second))
        return needed_first + needed_second

    kept = search([], list(members), added=False) if members else []
    return tuple(m for m in members if m in set(kept)), sure


def _words(problem: Problem, parts: Sequence[Member], gives: Sequence[str], *, irreducible: bool) -> str:
    names = "; ".join(_describe(problem, m) for m in parts)
    text = f"These cannot all hold with the sizes listed: {names}."
    if not irreducible:
        text += " Time was too short to show that all of them are needed."
    if gives:
        text += " The least that must give: " + "; ".join(gives) + "."
    return text


def _describe(problem: Problem, member: Member) -> str:
    if member.kind == "window":
        window = next(w for w in problem.windows if w.name == member.name)
        limits = [f"least {window.low:.3f}"] if window.low is not None else []
        limits += [f"most {window.high:.3f}"] if window.high is not None else []
        return ", ".join([window.words or window.name, *limits])
    if member.kind == "group":
        group = next(g for g in problem.groups if g.name == member.name)
        return f"{group.name}, alike within {group.within_mm:.3f}"
    variable = next(v for v in problem.variables if v.name == member.name)
    if member.kind == "lock":
        return f"{variable.name}, locked at {variable.locked_mm:.3f}"
    if member.kind == "low":
        return f"{variable.name}, not below {variable.low_mm:.3f}"
    return f"{variable.name}, not above {variable.high_mm:.3f}"
