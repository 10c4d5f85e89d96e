"""The choice of sizes against brute force: every set of listed sizes tried, on many small random problems."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from math import fsum

import pytest

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.reckon.choosing.alternatives import alternatives
from asmade.reckon.choosing.conflict import only
from asmade.reckon.choosing.problem import (
    HOLD_MM,
    Candidate,
    Group,
    Problem,
    Progress,
    Solution,
    Variable,
    Window,
    relative_gap,
)
from asmade.reckon.choosing.solver import solve


def small_problem(seed: int) -> Problem:
    """Up to five variables with up to five candidates, tools, things to buy, locks, limits, groups, tight windows."""
    r = random.Random(seed)  # noqa: S311  # a repeatable problem, no secret
    n = r.randint(1, 5)
    variables = []
    for i in range(n):
        candidates = tuple(
            Candidate(
                round(r.uniform(5, 8), r.choice([0, 1, 1, 2])),
                r.choice([0, 0, 0.1, 0.5, 1]),
                "",
                r.choice(["", "", "t1", "t2"]),
                r.choice(["", "", "b1", "b2"]),
            )
            for _ in range(r.randint(1, 5))
        )
        drawn = r.choice([None, round(r.uniform(5, 8), 2)])
        low, high = r.choice([None, None, 5.5]), r.choice([None, None, 7.5])
        lock = r.choice([c.size_mm for c in candidates] + [6.05]) if r.random() < 0.1 else None
        variables.append(Variable(f"v{i}", drawn, r.choice([0, 1, 2, 0.5]), candidates, low, high, lock))
    windows = []
    for j in range(r.randint(0, 4)):
        members = r.sample(variables, r.randint(1, min(4, n)))
        terms = tuple((v.name, r.choice([1, -1, 0.5, 2])) for v in members)
        value = sum(a * r.choice(v.candidates).size_mm for v, (_, a) in zip(members, terms, strict=True))
        width = r.choice([0.01, 0.1, 0.5, 1.0])
        low, high = value - width * r.random(), value + width * r.random()
        sides = r.choice([(low, high), (low, high), (low, None), (None, high)])
        windows.append(Window(f"w{j}", terms, r.choice([0, 0.1]), *sides))
    groups = []
    for j in range(r.choice([0, 0, 0, 1, 2]) if n > 1 else 0):
        names = tuple(v.name for v in r.sample(variables, r.randint(2, n)))
        groups.append(Group(f"g{j}", names, r.choice([0, 0, 0.3, 1.0])))
    tools = {"t1": r.choice([0, 0.5, 1]), "t2": 0.3}
    return Problem(tuple(variables), tuple(windows), tuple(groups), tools, {"b1": 0.4, "b2": 1.0})


def holds(problem: Problem, sizes: dict[str, float]) -> bool:
    """Written apart from the program's own judge."""
    for w in problem.windows:
        value = fsum(a * sizes[name] for name, a in w.terms) + w.constant
        if w.low is not None and value < w.low - HOLD_MM:
            return False
        if w.high is not None and value > w.high + HOLD_MM:
            return False
    for g in problem.groups:
        of = [sizes[m] for m in g.members]
        if max(of) - min(of) > g.within_mm + HOLD_MM:
            return False
    for v in problem.variables:
        if v.locked_mm is None and (
            (v.low_mm is not None and sizes[v.name] < v.low_mm - HOLD_MM)
            or (v.high_mm is not None and sizes[v.name] > v.high_mm + HOLD_MM)
        ):
            return False
    return True


def choices(variable: Variable) -> list[tuple[float, Candidate | None]]:
    if variable.locked_mm is None:
        return [(c.size_mm, c) for c in variable.candidates]
    same = [(variable.locked_mm, c) for c in variable.candidates if abs(c.size_mm - variable.locked_mm) <= HOLD_MM]
    return same or [(variable.locked_mm, None)]


def brute(problem: Problem) -> float | None:
    """Least objective over all sets of listed sizes; None when none holds."""
    best = None
    for combination in itertools.product(*[choices(v) for v in problem.variables]):
        sizes = {v.name: size for v, (size, _) in zip(problem.variables, combination, strict=True)}
        if not holds(problem, sizes):
            continue
        taken = [c for _, c in combination if c is not None]
        cost = sum(c.cost for c in taken)
        cost += sum(problem.tool_cost[t] for t in {c.tool for c in taken} - {""})
        cost += sum(problem.buy_cost[b] for b in {c.buy for c in taken} - {""})
        cost += sum(v.weight * abs(sizes[v.name] - v.drawn_mm) for v in problem.variables if v.drawn_mm is not None)
        best = cost if best is None else min(best, cost)
    return best


@pytest.mark.parametrize("block", range(10))
def test_no_better_set_exists_than_the_one_called_proven(block: int) -> None:
    seen = set()
    for seed in range(block * 100, block * 100 + 100):
        problem = small_problem(seed)
        best, answer = brute(problem), solve(problem)
        seen.add(answer.status)
        if best is None:
            assert answer.status == "conflict", seed
        else:
            assert answer.status == "proven", seed
            assert answer.objective == pytest.approx(best, abs=1e-9), seed
            assert holds(problem, dict(answer.sizes)), seed
            assert answer.could_improve_by == 0
    assert seen == {"proven", "conflict"}


def granted(problem: Problem, answer: Solution) -> Problem:
    """The problem with every relaxation granted."""
    assert answer.conflict is not None
    by = {(r.kind, r.name, r.side): r.by_mm for r in answer.conflict.relaxations}

    def moved(value: float | None, kind: str, name: str, side: str, sign: int) -> float | None:
        return None if value is None else value + sign * by.get((kind, name, side), 0.0)

    return replace(
        problem,
        variables=tuple(
            replace(
                v,
                low_mm=moved(v.low_mm, "low", v.name, "low", -1),
                high_mm=moved(v.high_mm, "high", v.name, "high", 1),
                locked_mm=moved(moved(v.locked_mm, "lock", v.name, "up", 1), "lock", v.name, "down", -1),
            )
            for v in problem.variables
        ),
        windows=tuple(
            replace(
                w,
                low=moved(w.low, "window", w.name, "low", -1),
                high=moved(w.high, "window", w.name, "high", 1),
            )
            for w in problem.windows
        ),
        groups=tuple(
            replace(g, within_mm=g.within_mm + by.get(("group", g.name, "within"), 0.0)) for g in problem.groups
        ),
    )


def total_breach(problem: Problem, sizes: dict[str, float]) -> float:
    total = 0.0
    for w in problem.windows:
        value = fsum(a * sizes[name] for name, a in w.terms) + w.constant
        total += max(0.0, w.low - value) if w.low is not None else 0.0
        total += max(0.0, value - w.high) if w.high is not None else 0.0
    for g in problem.groups:
        of = [sizes[m] for m in g.members]
        total += max(0.0, max(of) - min(of) - g.within_mm)
    for v in problem.variables:
        total += max(0.0, v.low_mm - sizes[v.name]) if v.low_mm is not None else 0.0
        total += max(0.0, sizes[v.name] - v.high_mm) if v.high_mm is not None else 0.0
    return total


@pytest.mark.parametrize("block", range(5))
def test_conflicts_are_real_and_need_every_member_and_relaxations_free_them_at_the_least(block: int) -> None:
    sizes_of_conflicts = set()
    for seed in range(block * 60, block * 60 + 60):
        problem = small_problem(seed)
        answer = solve(problem)
        conflict = answer.conflict
        if conflict is None:
            continue
        assert conflict.irreducible
        assert conflict.least
        sizes_of_conflicts.add(len(conflict.parts))
        assert brute(only(problem, conflict.parts)) is None, seed
        for member in conflict.parts:
            rest = [m for m in conflict.parts if m != member]
            assert brute(only(problem, rest)) is not None, (seed, member)
        assert brute(granted(problem, answer)) is not None, seed
        if all(v.locked_mm is None for v in problem.variables):
            least = min(
                total_breach(problem, {v.name: c.size_mm for v, c in zip(problem.variables, combination, strict=True)})
                for combination in itertools.product(*[v.candidates for v in problem.variables])
            )
            assert sum(r.by_mm for r in conflict.relaxations) == pytest.approx(least, abs=1e-5), seed
    assert len(sizes_of_conflicts) > 1


def test_alternatives_cost_what_brute_force_says() -> None:
    tried = 0
    for seed in range(150):
        problem = small_problem(seed)
        answer = solve(problem)
        if answer.status != "proven":
            continue
        variable = problem.variables[seed % len(problem.variables)]
        others = alternatives(problem, answer, variable.name, 10)
        assert len(others) == len(variable.candidates) - (answer.picks[variable.name] is not None)
        assert [a.extra_cost for a in others] == sorted(a.extra_cost for a in others)
        for other in others:
            forced = replace(variable, candidates=(other.candidate,), locked_mm=None)
            best = brute(replace(problem, variables=tuple(forced if v is variable else v for v in problem.variables)))
            assert other.possible == (best is not None), seed
            if best is not None:
                tried += 1
                assert other.proven
                assert answer.objective + other.extra_cost == pytest.approx(best, abs=1e-9), seed
                moved = dict(answer.sizes) | {name: after for name, (_, after) in other.moves.items()}
                assert holds(problem, moved | {variable.name: other.candidate.size_mm}) or variable.locked_mm, seed
    assert tried > 50


# ------------------------------------------------------------------ by hand


def shaft(name: str, *sizes: float, drawn: float, tool: str = "", low: float | None = None) -> Variable:
    return Variable(name, drawn, 1.0, tuple(Candidate(s, 0.0, "bar in the rack", tool) for s in sizes), low, None)


def fit(name: str, hole: str, pin: str, low: float, high: float) -> Window:
    return Window(name, ((hole, 1.0), (pin, -1.0)), 0.0, low, high)


def test_a_dearer_reamer_is_used_once_for_two_holes() -> None:
    """Two holes drawn 6.0: each 0.3 off the reamer of 1.0, or bored for 0.6 each. Once 1.0 + 0.3 + 0.3 > 1.2 > 1.0."""
    holes = tuple(
        Variable(
            f"hole {n}", 6.0, 1.0, (Candidate(6.0, 0.6, "bored"), Candidate(6.1, 0.0, "reamed", "reamer")), None, None
        )
        for n in (1, 2)
    )
    dear = Problem(holes, (), (), {"reamer": 1.1}, {})
    assert solve(dear).tools == ()
    assert solve(dear).objective == pytest.approx(1.2)
    cheap = replace(dear, tool_cost={"reamer": 0.9})
    assert solve(cheap).tools == ("reamer",)
    assert solve(cheap).objective == pytest.approx(1.1)


def test_a_size_made_to_suit_follows_its_mate() -> None:
    """Hole of 6.0 or 6.5, pin continuous 0.02 to 0.04 less, drawn 6.1: pin 6.1 and hole 6.0 cannot; 5.98 can."""
    hole = shaft("hole", 6.0, 6.5, drawn=6.0)
    pin = Variable("pin", 6.1, 10.0, (), 5.0, 7.0)
    answer = solve(Problem((hole, pin), (fit("pin in hole", "hole", "pin", 0.02, 0.04),), (), {}, {}))
    assert answer.status == "proven"
    assert answer.sizes["hole"] == 6.0
    assert answer.sizes["pin"] == pytest.approx(5.98, abs=2e-6)
    assert answer.windows["pin in hole"] == pytest.approx(0.02, abs=2e-6)
    assert answer.picks == {"hole": 0, "pin": None}


def test_a_free_stretch_without_weight_stays_as_drawn_where_it_may() -> None:
    pin = Variable("pin", 6.1, 0.0, (), 5.0, 7.0)
    other = Variable("other", None, 0.0, (), 5.0, 7.0)
    answer = solve(Problem((pin, other), (fit("apart", "pin", "other", 0.5, 2.0),), (), {}, {}))
    assert answer.sizes["pin"] == pytest.approx(6.1, abs=2e-6)


def test_a_lock_wins_over_limits_and_candidates() -> None:
    variable = replace(shaft("pin", 6.0, 6.5, drawn=6.0, low=6.2), locked_mm=5.9)
    answer = solve(Problem((variable,), (), (), {}, {}))
    assert answer.sizes == {"pin": 5.9}
    assert answer.picks == {"pin": None}
    assert answer.objective == pytest.approx(0.1)


def test_the_builders_own_limit_is_named_with_the_window_it_contradicts() -> None:
    box, axle = shaft("box", 17.5, 18.0, drawn=17.5), shaft("axle", 17.46, 17.6, 18.2, drawn=17.46, low=17.55)
    answer = solve(Problem((box, axle), (fit("axle in box", "box", "axle", 0.44, 0.6),), (), {}, {}))
    conflict = answer.conflict
    assert answer.status == "conflict"
    assert conflict is not None
    assert set(conflict.members) == {"low limit of axle", "axle in box"}
    # 18.0 - 17.6 = 0.40 is 0.04 too little; letting the axle down to 17.46 would break its limit by 0.09
    (gives,) = conflict.relaxations
    assert gives.by_mm == pytest.approx(0.04)
    assert "axle in box, least 0.440: 0.040 too little" in conflict.words


def test_integers_alone_can_contradict() -> None:
    """Each sum is within reach, but no two listed sizes meet it: 10.0 or 11.0 less 5.0 or 6.0 is never 5.5."""
    a, b = shaft("a", 10.0, 11.0, drawn=10.0), shaft("b", 5.0, 6.0, drawn=5.0)
    other = Window("other", (("a", 1.0), ("b", 1.0)), 0.0, 0.0, 100.0)
    answer = solve(Problem((a, b), (fit("a less b", "a", "b", 5.4, 5.6), other), (), {}, {}))
    assert answer.conflict is not None
    assert answer.conflict.members == ("a less b",)
    assert sum(r.by_mm for r in answer.conflict.relaxations) == pytest.approx(0.4)


def test_a_window_tightened_to_nothing_is_a_conflict_by_itself() -> None:
    a = Variable("a", 6.0, 1.0, (), 5.0, 7.0)
    answer = solve(Problem((a,), (Window("thin", (("a", 1.0),), 0.0, 6.1, 6.0),), (), {}, {}))
    assert answer.conflict is not None
    assert answer.conflict.members == ("thin",)
    assert sum(r.by_mm for r in answer.conflict.relaxations) == pytest.approx(0.1, abs=1e-5)


def test_figures_that_hold_on_paper_hold_in_floating_point() -> None:
    """12.54 - 12.50 is 0.0399999999999991 in floating point, and must still count as 0.04."""
    a, b = shaft("a", 12.54, drawn=12.54), shaft("b", 12.50, drawn=12.50)
    assert solve(Problem((a, b), (fit("a on b", "a", "b", 0.04, 0.05),), (), {}, {})).status == "proven"


def test_stop_and_progress() -> None:
    told: list[Progress] = []
    problem = small_problem(3)
    answer = solve(problem, on_progress=told.append, stop=lambda: True)
    assert answer.status in {"nothing_found", "best_found", "conflict", "proven"}
    assert told
    assert all(p.bound >= 0 for p in told)


def test_nothing_to_decide() -> None:
    answer = solve(Problem((), (), (), {}, {}))
    assert answer.status == "proven"
    assert answer.objective == 0


@pytest.mark.parametrize(
    ("make", "error"),
    [
        (lambda: Problem((shaft("a", 1.0, drawn=1.0),) * 2, (), (), {}, {}), Refused),
        (lambda: Problem((), (fit("f", "a", "b", 0, 1),), (), {}, {}), Unknown),
        (lambda: Problem((), (), (Group("g", ("a", "b"), 0.0),), {}, {}), Unknown),
        (lambda: Problem((shaft("a", 1.0, drawn=1.0, tool="saw"),), (), (), {}, {}), Unknown),
        (lambda: Problem((shaft("a", float("nan"), drawn=1.0),), (), (), {}, {}), OutOfRange),
        (lambda: Problem((shaft("a", 1.0, drawn=float("inf")),), (), (), {}, {}), OutOfRange),
        (lambda: Problem((), (), (), {"saw": -1.0}, {}), OutOfRange),
        (lambda: solve(Problem((), (), (), {}, {}), time_limit_s=0.0), OutOfRange),
    ],
)
def test_what_makes_no_sense_is_refused(make, error) -> None:
    with pytest.raises(error):
        make()


def test_the_gap_is_relative_to_the_objective() -> None:
    assert relative_gap(10.0, 9.0) == pytest.approx(0.1)
    assert relative_gap(0.0, 0.0) == 0.0
