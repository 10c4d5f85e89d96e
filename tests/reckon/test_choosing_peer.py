"""The choice of sizes against an independent solver, on problems too large for brute force.

The peer is `scipy.optimize.milp` on a formulation written differently: sizes are columns of their own, linked to the
candidates, counted from nothing, and no window is written out, no candidate dropped, no component solved apart.
"""

from __future__ import annotations

import itertools
import random
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from asmade.reckon.choosing import component
from asmade.reckon.choosing.alternatives import alternatives
from asmade.reckon.choosing.compose import compose
from asmade.reckon.choosing.engine import run
from asmade.reckon.choosing.judge import worst_breach
from asmade.reckon.choosing.problem import HOLD_MM, Candidate, Group, Problem, Progress, Variable, Window
from asmade.reckon.choosing.reduce import reduce_problem
from asmade.reckon.choosing.seek import seek
from asmade.reckon.choosing.solver import solve
from asmade.reckon.choosing.tables import table
from asmade.reckon.choosing.watch import Watch


def book_like(seed: int, count: int, windows: int, width: tuple[float, float] = (0.05, 0.4)) -> Problem:
    """Stock and reamer sizes around drawn fractions; every third window has a size made to suit; planted, so it holds."""
    r = random.Random(seed)  # noqa: S311  # a repeatable problem, no secret
    reamers = [4.0, 5.0, 6.0, 8.0, 10.0, 12.0]
    variables = []
    for i in range(count):
        drawn = r.randint(8, 34) / 64 * 25.4
        sizes = [round(drawn + d / 10 - drawn % 0.1, 1) for d in range(-5, 6)]
        candidates = [
            Candidate(
                s,
                r.choice([0.0, 0.1, 0.3]),
                "",
                f"reamer {s:g}" if s in reamers else "",
                r.choice(["", "", "bar", "tube"]),
            )
            for s in sizes
        ]
        variables.append(
            Variable(f"v{i}", drawn, r.choice([0.5, 1, 2]), (*candidates, Candidate(drawn, 1.0, "")), None, None)
        )
    plant = {v.name: r.choice(v.candidates).size_mm for v in variables}
    suited: list[Variable] = []
    made: list[Window] = []
    for j in range(windows):
        terms = [(v.name, r.choice([1.0, -1.0, 0.5])) for v in r.sample(variables, r.randint(2, 3))]
        value = sum(a * plant[name] for name, a in terms)
        if j % 3 == 0:
            mate = Variable(f"s{j}", value + r.uniform(-0.3, 0.3), r.choice([0, 1, 3]), (), value - 0.2, value + 0.2)
            suited.append(mate)
            terms, value = [*terms, (mate.name, -1.0)], 0.0
        wide, below = r.uniform(*width), r.random()
        made.append(Window(f"w{j}", tuple(terms), 0.0, value - below * wide, value + (1 - below) * wide))
    a, b, c = (v.name for v in r.sample(variables, 3))
    groups = (Group("alike", (a, b), abs(plant[a] - plant[b]) + 0.1), Group("near", (b, c), abs(plant[b] - plant[c])))
    tools = {f"reamer {s:g}": 0.4 for s in reamers}
    return Problem((*variables, *suited), tuple(made), groups, tools, {"bar": 0.7, "tube": 0.2})


def peer(problem: Problem, *, relax_only: bool = False) -> float | None:
    """Return the least objective by scipy, None when infeasible."""
    cost: list[float] = []
    low: list[float] = []
    high: list[float] = []
    whole: list[int] = []

    def column(c: float, lower: float, upper: float, integer: int = 0) -> int:
        cost.append(c)
        low.append(lower)
        high.append(upper)
        whole.append(0 if relax_only else integer)
        return len(cost) - 1

    rows: list[tuple[dict[int, float], float, float]] = []
    size = {}
    users: dict[int, list[int]] = {}
    paid = {("tool", t): column(c, 0, 1, 1) for t, c in problem.tool_cost.items()}
    paid |= {("buy", b): column(c, 0, 1, 1) for b, c in problem.buy_cost.items()}
    for v in problem.variables:
        size[v.name] = s = column(
            0.0, -np.inf if v.low_mm is None else v.low_mm, np.inf if v.high_mm is None else v.high_mm
        )
        if v.candidates:
            xs = [column(c.cost, 0, 1, 1) for c in v.candidates]
            rows.append((dict.fromkeys(xs, 1.0), 1, 1))
            rows.append(({s: -1.0} | {x: c.size_mm for x, c in zip(xs, v.candidates, strict=True)}, 0, 0))
            for x, c in zip(xs, v.candidates, strict=True):
                for key in (("tool", c.tool), ("buy", c.buy)):
                    if key[1]:
                        users.setdefault(paid[key], []).append(x)
        if v.drawn_mm is not None:
            away = column(v.weight, 0, np.inf)
            rows.append(({away: 1.0, s: 1.0}, v.drawn_mm, np.inf))
            rows.append(({away: 1.0, s: -1.0}, -v.drawn_mm, np.inf))
    rows += [({x: 1.0, z: -1.0}, -np.inf, 0.0) for z, xs in users.items() for x in xs]
    for w in problem.windows:
        lower = -np.inf if w.low is None else w.low - w.constant
        upper = np.inf if w.high is None else w.high - w.constant
        rows.append(({size[name]: a for name, a in w.terms}, lower - 1e-7, upper + 1e-7))
    for g in problem.groups:
        rows += [
            ({size[a]: 1.0, size[b]: -1.0}, -g.within_mm - 1e-7, g.within_mm + 1e-7)
            for a, b in itertools.combinations(g.members, 2)
        ]
    matrix = lil_array((len(rows), len(cost)))
    for k, (terms, _, _) in enumerate(rows):
        for j, a in terms.items():
            matrix[k, j] = a
    constraint = LinearConstraint(matrix.tocsr(), [r[1] for r in rows], [r[2] for r in rows])
    options = {"mip_rel_gap": 0.0, "time_limit": 60.0}
    result = milp(cost, integrality=whole, bounds=Bounds(low, high), constraints=constraint, options=options)
    return None if result.status == 2 else float(result.fun)


@pytest.mark.parametrize("seed", range(5))
def test_an_independent_solver_agrees(seed: int) -> None:
    problem = book_like(seed, 20, 15)
    best = peer(problem)
    answer = solve(problem)
    assert best is not None
    assert answer.status == "proven"
    assert answer.objective == pytest.approx(best, abs=2e-5)
    assert worst_breach(problem, answer.sizes)[0] <= HOLD_MM


@pytest.mark.parametrize("seed", range(3))
def test_the_long_way_of_large_problems_proves_the_same(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    problem = book_like(100 + seed, 22, 18, (0.03, 0.2))
    straight = solve(problem)
    monkeypatch.setattr(component, "SMALL", 0)
    monkeypatch.setattr(component, "_STRAIGHT_SHARE", 1e-9)  # the usual short cut left out
    told: list[Progress] = []
    long_way = solve(problem, on_progress=told.append)
    assert straight.status == long_way.status == "proven"
    assert long_way.objective == pytest.approx(straight.objective, abs=2e-6)
    assert worst_breach(problem, long_way.sizes)[0] <= HOLD_MM
    assert any(p.objective is not None for p in told)


def test_the_long_way_finds_conflicts_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three windows that add up to a contradiction of 0.2 among many that hold; the rest could give no cheaper."""
    problem = book_like(7, 30, 12)
    a, b, c = (v.name for v in problem.variables[:3])
    middle = {v.name: (v.candidates[0].size_mm + v.candidates[10].size_mm) / 2 for v in problem.variables[:3]}
    chain = (
        Window("a over b", ((a, 1.0), (b, -1.0)), 0.0, middle[a] - middle[b] + 0.2, None),
        Window("b over c", ((b, 1.0), (c, -1.0)), 0.0, middle[b] - middle[c] + 0.2, None),
        Window("a near c", ((a, 1.0), (c, -1.0)), 0.0, None, middle[a] - middle[c] + 0.2),
    )
    problem = replace(problem, windows=(*problem.windows, *chain))
    plain = solve(problem).conflict
    monkeypatch.setattr(component, "SMALL", 0)
    monkeypatch.setattr(component, "_STRAIGHT_SHARE", 1e-9)  # the usual short cut left out
    long_way = solve(problem).conflict
    assert plain is not None
    assert long_way is not None
    assert set(plain.members) == set(long_way.members) == {"a over b", "b over c", "a near c"}
    assert plain.least
    assert long_way.least
    totals = [sum(r.by_mm for r in c.relaxations) for c in (plain, long_way)]
    assert totals[0] == pytest.approx(totals[1], abs=1e-5)


@pytest.mark.parametrize("seed", range(20))
def test_a_window_written_out_has_just_the_combinations_that_hold(seed: int) -> None:
    problem = book_like(seed, 6, 4, (0.01, 0.1))
    reduced = reduce_problem(problem)
    for row in reduced.rows:
        listed = table(reduced, row, 10**6)
        loose = [i for i in row.idx if len(reduced.unknowns[i].sizes) > 1]
        if listed is None:
            continue
        assert listed.idx == tuple(loose)
        counted = 0
        for combination in itertools.product(*[range(len(reduced.unknowns[i].sizes)) for i in row.idx]):
            value = sum(
                a * reduced.unknowns[i].sizes[k] for i, a, k in zip(row.idx, row.coef, combination, strict=True)
            )
            counted += row.low - HOLD_MM / 2 <= value <= row.high + HOLD_MM / 2
        assert len(listed.choices) == counted


@pytest.mark.parametrize("seed", range(5))
def test_a_first_set_sought_holds(seed: int) -> None:
    reduced = reduce_problem(book_like(seed, 120, 70, (0.1, 0.4)))
    for part in reduced.components:
        chosen = seek(reduced, part, {}, Watch(20.0), steps=20_000, seed=0)
        assert chosen is not None
        for row in part.rows:
            if all(reduced.unknowns[i].discrete for i in row.idx):
                value = sum(
                    a * reduced.unknowns[i].sizes[chosen.get(i, 0)] for i, a in zip(row.idx, row.coef, strict=True)
                )
                assert row.low - HOLD_MM <= value <= row.high + HOLD_MM


def test_pricing_drops_no_choice_of_a_best_set() -> None:
    """Every choice dropped, forced in turn, costs more than the best set: weak duality, seen by the straight solver."""
    problem = book_like(5, 14, 10, (0.05, 0.2))
    best = solve(problem)
    reduced = reduce_problem(problem)
    whole = [component.solve_component(reduced, c, Watch(20.0), 20.0, {}) for c in reduced.components]
    dropped = 0
    for part, answer in zip(reduced.components, whole, strict=True):
        made = compose(reduced, part)
        if not made.choices or answer.settled is None:
            continue
        ran = run(made.model, Watch(20.0), relax=True)
        keep = {i: np.ones(len(reduced.unknowns[i].sizes), dtype=bool) for i in made.choices}
        room = answer.settled.objective - made.constant - ran.bound
        component._price_out(reduced, keep, list(range(len(reduced.unknowns))), reduced, (made, ran), room)
        for i, mask in keep.items():
            variable = problem.variables[reduced.unknowns[i].variable]
            for k in np.flatnonzero(~mask):
                dropped += 1
                pick = reduced.unknowns[i].picks[k]
                assert pick is not None
                forced = replace(variable, candidates=(variable.candidates[pick],))
                other = solve(
                    replace(problem, variables=tuple(forced if v is variable else v for v in problem.variables))
                )
                assert other.status == "conflict" or other.objective > best.objective
    assert dropped > 5


def test_the_same_problem_gives_the_same_answer() -> None:
    problem = book_like(3, 25, 18)
    assert solve(problem).sizes == solve(problem).sizes


def test_a_start_is_taken_up_and_may_be_any_nonsense() -> None:
    problem = book_like(4, 20, 12)
    best = solve(problem)
    assert solve(problem, start=best.sizes).objective == pytest.approx(best.objective, abs=1e-9)
    assert solve(problem, start={"v0": 1e6, "nobody": 3.0}).objective == pytest.approx(best.objective, abs=1e-9)


def hard_problem() -> Problem:
    return book_like(11, 160, 150, (0.05, 0.15))


def test_time_and_stop_keep_the_best_found_with_an_honest_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = hard_problem()
    asked = threading.Event()

    def on_progress(progress: Progress) -> None:
        if progress.objective is not None:
            asked.set()

    answer = solve(problem, time_limit_s=60.0, on_progress=on_progress, stop=asked.is_set)
    assert asked.is_set()
    assert answer.status in {"best_found", "proven"}
    assert answer.bound <= answer.objective
    assert worst_breach(problem, answer.sizes)[0] <= HOLD_MM
    relaxed = peer(problem, relax_only=True)
    assert relaxed is not None
    assert answer.bound >= relaxed - 1e-4
    assert answer.could_improve_by == pytest.approx((answer.objective - answer.bound) / answer.objective)


_INTERRUPTED = """
import os, signal, threading
from {module} import hard_problem
from asmade.reckon.choosing.solver import solve
seen = []
def told(progress):
    if progress.objective is not None and not seen:
        seen.append(1)
        threading.Timer(0.05, os.kill, (os.getpid(), signal.SIGINT)).start()
answer = solve(hard_problem(), time_limit_s=60.0, on_progress=told)
print(answer.status, bool(answer.sizes), answer.seconds < 30)
"""


def test_ctrl_c_keeps_the_best_found() -> None:
    """In a process of its own: the interrupt must not reach the test run."""
    here = str(Path(__file__).parent)
    code = f"import sys; sys.path.insert(0, {here!r})\n" + _INTERRUPTED.format(module="test_choosing_peer")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split()[1:] == ["True", "True"], done.stdout
    assert done.stdout.split()[0] in {"best_found", "proven"}


def test_alternatives_of_a_middling_problem_agree_with_the_peer() -> None:
    problem = book_like(2, 14, 9)
    answer = solve(problem)
    variable = problem.variables[0]
    others = alternatives(problem, answer, "v0", 3)
    assert len(others) == 3
    costs = []
    for k, candidate in enumerate(variable.candidates):
        if k != answer.picks["v0"]:
            forced = replace(variable, candidates=(candidate,))
            best = peer(replace(problem, variables=(forced, *problem.variables[1:])))
            costs.append(np.inf if best is None else best - answer.objective)
    assert [o.extra_cost for o in others] == pytest.approx(sorted(costs)[:3], abs=4e-5)


def test_asking_is_cheap_to_import() -> None:
    code = "import sys, asmade.reckon.choosing.problem, asmade.reckon.choosing.judge; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_nothing_is_printed() -> None:
    code = (
        "from asmade.reckon.choosing.problem import *\n"
        "from asmade.reckon.choosing.solver import solve\n"
        "v = tuple(Variable(n, 5.0, 1.0, (Candidate(5.1, 0.0, ''), Candidate(5.2, 0.0, '')), None, None) for n in 'ab')\n"
        "solve(Problem(v, (Window('w', (('a', 1.0), ('b', 1.0)), 0.0, 10.25, 10.35),), (), {}, {}))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == done.stderr == ""
