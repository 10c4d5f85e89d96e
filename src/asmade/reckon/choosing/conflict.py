"""Why nothing satisfies all: a smallest contradiction, and the least that must give to free all of them."""

from __future__ import annotations

import itertools
import time
from dataclasses import replace
from typing import TYPE_CHECKING

from asmade.reckon.choosing import component
from asmade.reckon.choosing.elastic import least_relaxations
from asmade.reckon.choosing.problem import Conflict, Member, Problem, Variable, Window
from asmade.reckon.choosing.propagate import contradiction
from asmade.reckon.choosing.reduce import reduce_problem
from asmade.reckon.choosing.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from asmade.reckon.choosing.problem import MemberKind, Progress

_TEST_S = 2.0
_MOST_CONTRADICTIONS = 20
_LIMITS: tuple[MemberKind, ...] = ("lock", "low", "high")


def explain(
    problem: Problem,
    time_limit_s: float,
    on_progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Conflict:
    """Return the conflict of a problem nothing satisfies; half the time goes to each of its two questions.

    The candidate lists stand; what may be at fault are windows, groups, locks and limits. First one contradiction, cut
    down until every member is needed: on sizes taken as continuous where that already contradicts, else on the listed
    sizes. Then the relaxations: they free all conflicts, of which the contradiction may be only one.
    """
    began = time.monotonic()
    watch = Watch(time_limit_s / 2, on_progress, stop)
    watch.tell(None, 0.0, "nothing satisfies all: looking for a smallest contradiction")
    parts, irreducible = _contradiction(problem, watch)
    watch = Watch(max(time_limit_s / 2, time_limit_s - (time.monotonic() - began)), on_progress, stop)
    watch.tell(None, 0.0, "nothing satisfies all: looking for the least that must give")
    large = sum(len(v.candidates) for v in problem.variables) > component.SMALL
    begin = _witness(problem, parts, Watch(watch.left() / 2, None, stop)) if large else {}
    given = least_relaxations(problem, watch, begin)
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


def only(problem: Problem, members: Sequence[Member], *, listed: bool = True, all_sizes: bool = True) -> Problem:
    """Return the problem with only these members holding and all costs gone.

    ``listed=False`` replaces each list of candidates by the stretch from its least to its greatest size.
    ``all_sizes=False`` leaves out the sizes that none of the members speaks of: they can be what they like.
    """
    kept = set(members)
    windows = tuple(w for w in problem.windows if Member("window", w.name) in kept)
    groups = tuple(g for g in problem.groups if Member("group", g.name) in kept)
    wanted = {m.name for m in kept if m.kind in _LIMITS}
    wanted |= {name for w in windows for name, _ in w.terms} | {name for g in groups for name in g.members}

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
        tuple(bare(v) for v in problem.variables if all_sizes or v.name in wanted),
        windows,
        groups,
        {},
        {},
    )


def contradicts(problem: Problem, watch: Watch, time_limit_s: float = _TEST_S) -> bool | None:
    """Return whether nothing satisfies all; None if time was too short to tell."""
    return _try(problem, watch, time_limit_s)[0]


def _try(problem: Problem, watch: Watch, time_limit_s: float) -> tuple[bool | None, dict[str, float]]:
    """Return whether nothing satisfies all (None: not known), and the sizes if some do."""
    reduced = reduce_problem(problem)
    if not reduced.possible:
        return True, {}
    sizes: dict[int, float] = {}
    for hanging in sorted(reduced.components, key=lambda c: len(c.unknowns)):
        part = component.solve_component(reduced, hanging, watch, min(time_limit_s, watch.left()), {})
        if part.impossible:
            return True, {}
        if part.settled is not None:
            sizes |= part.settled.sizes
    if len(sizes) < len(problem.variables):
        return None, {}
    return False, {v.name: sizes[i] for i, v in enumerate(problem.variables)}


def _witness(problem: Problem, parts: tuple[Member, ...], watch: Watch) -> dict[str, float]:
    """Return sizes that hold all but the contradictions met, which give as little as they can; empty if none found.

    A good beginning for the least relaxations: with few limits elastic and all others firm the search stays short.
    """
    soft = set(parts)
    for _ in range(_MOST_CONTRADICTIONS):
        eased = softened(problem, soft)
        impossible, sizes = _try(eased, watch, watch.left() / 2)
        if not impossible or watch.over():
            return {v.name: sizes[v.name] for v in problem.variables} if sizes else {}
        ours = set(members_of(problem)) - soft
        firm = tuple(m for m in members_of(eased) if m in ours)
        more = _among(eased, firm, watch)
        if not more:
            return {}
        soft |= set(more)
    return {}


def _among(problem: Problem, firm: tuple[Member, ...], watch: Watch) -> tuple[Member, ...]:
    """Return a smallest contradiction among the firm members, all others holding."""
    every = members_of(problem)
    shown = set(contradiction(problem, every))
    if shown:  # by narrowing alone: the others have no part in it
        every = tuple(m for m in every if m in shown)
        firm = tuple(m for m in firm if m in shown)
    base = [m for m in every if m not in set(firm)]

    def test(kept: Sequence[Member]) -> bool | None:
        return contradicts(only(problem, [*base, *kept], all_sizes=False), watch)

    return smallest(firm, test)[0]


def softened(problem: Problem, soft: set[Member]) -> Problem:
    """Return the problem where these members may give, at their hardness per mm, and nothing else costs anything."""
    bare = only(problem, members_of(problem))
    variables: list[Variable] = []
    windows: list[Window] = []

    def gives(member: Member, side: str, hardness: float) -> str:
        name = f"{side} give of {member.kind} {member.name}"
        variables.append(Variable(name, 0.0, hardness, (), 0.0, None))
        return name

    def window(member: Member, given: Window) -> None:
        terms = given.terms
        if given.low is not None:
            terms = (*terms, (gives(member, "low", given.hardness), 1.0))
        if given.high is not None:
            terms = (*terms, (gives(member, "high", given.hardness), -1.0))
        windows.append(replace(given, terms=terms))

    for v in bare.variables:
        lock, low, high = (Member(kind, v.name) for kind in _LIMITS)
        if lock in soft:
            variables.append(Variable(v.name, v.locked_mm, v.hardness, (), None, None))
            continue
        ends = (None if low in soft else v.low_mm, None if high in soft else v.high_mm)
        variables.append(replace(v, low_mm=ends[0], high_mm=ends[1]))
        for member, least, most in ((low, v.low_mm, None), (high, None, v.high_mm)):
            if member in soft:
                window(member, Window(member.label, ((v.name, 1.0),), 0.0, least, most, hardness=v.hardness))
    for w in bare.windows:
        member = Member("window", w.name)
        if member in soft:
            window(member, w)
        else:
            windows.append(w)
    groups = [g for g in bare.groups if Member("group", g.name) not in soft]
    for g in bare.groups:
        if Member("group", g.name) in soft:
            give = gives(Member("group", g.name), "within", g.hardness)
            for a, b in itertools.permutations(g.members, 2):
                terms = ((a, 1.0), (b, -1.0), (give, -1.0))
                windows.append(Window(f"{g.name}: {a} less {b}", terms, 0.0, None, g.within_mm))
    return Problem(tuple(variables), tuple(windows), tuple(groups), {}, {})


def _contradiction(problem: Problem, watch: Watch) -> tuple[tuple[Member, ...], bool]:
    members = members_of(problem)

    def stretched(kept: Sequence[Member]) -> bool | None:
        return contradicts(only(problem, kept, listed=False, all_sizes=False), watch)

    def listed(kept: Sequence[Member]) -> bool | None:
        return contradicts(only(problem, kept, all_sizes=False), watch)

    members = contradiction(problem, members) or members  # what narrowing shows is a few of them
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

    kept = set(search([], list(members), added=False)) if members else set()
    found = tuple(m for m in members if m in kept)
    if not sure:  # what took too long among many may be plain among these few
        sure = all(test([m for m in found if m != one]) is False for one in found)
    return found, sure


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
        limits = [f"least {window.told(window.low)}"] if window.low is not None else []
        limits += [f"most {window.told(window.high)}"] if window.high is not None else []
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
