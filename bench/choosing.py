"""The choice of sizes at full size: 200 variables, about 4,800 candidates, 120 windows, 12 tools.

Prints JSON: for each width of window the status, time, objective, bound and gap, the same for the peer
(`scipy.optimize.milp` on the plain formulation: nothing dropped, nothing written out, no first set) in the same time,
and ratios. `--seconds` is the limit of each, `--seeds` how many problems of each kind. All problems are invented and
planted: each has at least one set that holds. Also a contradiction of three windows hidden among the 120.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import time
from dataclasses import replace
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from asmade.reckon.choosing.judge import worst_breach
from asmade.reckon.choosing.problem import Candidate, Problem, Variable, Window, relative_gap
from asmade.reckon.choosing.reduce import reduce_problem
from asmade.reckon.choosing.solver import solve

WIDTHS_MM = {"wide": (0.8, 1.6), "usual": (0.2, 0.6), "tight": (0.03, 0.1), "very tight": (0.01, 0.02)}


def invented(seed: int, width_mm: tuple[float, float], *, suited: bool = False) -> Problem:
    """Drawn 64ths, metric candidates within 1 mm (whole, half, tenth, twentieth: ever dearer), reamers of 12 sizes.

    ``suited``: each window also has a size of its own made to suit, with a reach of 0.1 mm, as most in a book do.
    """
    r = random.Random(seed)  # a repeatable problem, no secret
    reamers = sorted(r.sample([n / 2 for n in range(6, 70)], 12))
    variables: list[Variable] = []
    for i in range(200):
        drawn, bore = r.randint(4, 96) / 64 * 25.4, r.random() < 0.35
        if bore:
            drawn = round((r.choice(reamers) + r.gauss(0, 0.4)) / 25.4 * 64) / 64 * 25.4
        dearer = 0.5 if bore else 0.0
        candidates: list[Candidate] = []
        for k in range(math.ceil((drawn - 1.0) * 20), math.floor((drawn + 1.0) * 20) + 1):
            size = k / 20
            if bore and size in reamers:
                candidates.append(Candidate(size, 0.0, "reamer", f"reamer {size:g}"))
            elif k % 2 == 0 or r.random() < 0.15:
                cost = 0.1 if k % 20 == 0 else 0.2 if k % 10 == 0 else 0.4 if k % 2 == 0 else 0.7
                candidates.append(Candidate(size, cost + dearer, "bored" if bore else "turned"))
        candidates.append(Candidate(drawn, 1.0 + dearer, "as drawn"))
        variables.append(Variable(f"v{i}", drawn, r.choice([0.5, 1.0, 2.0, 5.0]), tuple(candidates), None, None))
    plant: dict[str, float] = {}
    for v in variables:
        near = [math.exp(-abs(c.size_mm - (v.drawn_mm or 0.0)) / 0.25) for c in v.candidates]
        plant[v.name] = r.choices(v.candidates, near)[0].size_mm
    windows: list[Window] = []
    mates: list[Variable] = []
    for j in range(120):
        terms = [(v.name, r.choice([1, -1, 1, -1, 0.5, -0.5])) for v in r.sample(variables, r.randint(2, 5))]
        value = sum(a * plant[name] for name, a in terms)
        wide, below = r.uniform(*width_mm), r.random()
        if suited:
            mates.append(Variable(f"s{j}", value, 1.0, (), value - 0.1, value + 0.1))
            terms, value = [*terms, (f"s{j}", -1.0)], 0.0
        windows.append(Window(f"w{j}", tuple(terms), 0.0, value - below * wide, value + (1 - below) * wide))
    costs = {f"reamer {size:g}": 2.0 for size in reamers}
    return Problem((*variables, *mates), tuple(windows), (), costs, {})


def plain(problem: Problem, seconds: float) -> dict[str, Any]:
    """Return what scipy's solver makes of the problem written down as it stands."""
    began = time.perf_counter()
    cost: list[float] = []
    entries: list[tuple[int, int, float]] = []
    limits: list[tuple[float, float]] = []
    upper: list[float] = []
    lower: list[float] = []
    whole: list[int] = []

    def column(c: float, low: float, high: float, integer: int) -> int:
        cost.append(c)
        lower.append(low)
        upper.append(high)
        whole.append(integer)
        return len(cost) - 1

    def row(terms: list[tuple[int, float]], low: float, high: float) -> None:
        entries.extend((len(limits), j, a) for j, a in terms)
        limits.append((low, high))

    tools = {name: column(c, 0, 1, 1) for name, c in problem.tool_cost.items()}
    parts: dict[str, list[tuple[int, float]]] = {}
    for v in problem.variables:
        if not v.candidates:
            size = column(0.0, v.low_mm or 0.0, v.high_mm or math.inf, 0)
            away = column(v.weight, 0.0, math.inf, 0)
            row([(away, 1.0), (size, -1.0)], -(v.drawn_mm or 0.0), math.inf)
            row([(away, 1.0), (size, 1.0)], v.drawn_mm or 0.0, math.inf)
            parts[v.name] = [(size, 1.0)]
            continue
        xs = [column(c.cost + v.weight * abs(c.size_mm - (v.drawn_mm or 0.0)), 0, 1, 1) for c in v.candidates]
        row([(x, 1.0) for x in xs], 1, 1)
        parts[v.name] = [(x, c.size_mm) for x, c in zip(xs, v.candidates, strict=True)]
        for x, c in zip(xs, v.candidates, strict=True):
            if c.tool:
                row([(x, 1.0), (tools[c.tool], -1.0)], -math.inf, 0.0)
    for w in problem.windows:
        low, high = -math.inf if w.low is None else w.low, math.inf if w.high is None else w.high
        row([(x, a * size) for name, a in w.terms for x, size in parts[name]], low, high)
    i, j, a = (np.array(x) for x in zip(*entries, strict=True))
    matrix = csr_array((a, (i, j)), shape=(len(limits), len(cost)))
    constraint = LinearConstraint(matrix, [x[0] for x in limits], [x[1] for x in limits])
    options = {"time_limit": seconds, "mip_rel_gap": 0.0}
    result = milp(cost, integrality=whole, bounds=Bounds(lower, upper), constraints=constraint, options=options)
    objective = None if result.x is None else float(result.fun)
    bound = float(result.mip_dual_bound) if result.mip_dual_bound is not None else 0.0
    return {
        "status": "proven" if result.status == 0 else "nothing_found" if objective is None else "best_found",
        "seconds": round(time.perf_counter() - began, 2),
        "objective": objective,
        "bound": bound,
        "gap": None if objective is None else relative_gap(objective, bound),
    }


def compared(problem: Problem, seconds: float) -> dict[str, Any]:
    began = time.perf_counter()
    reduced = reduce_problem(problem)
    reducing = time.perf_counter() - began
    answer = solve(problem, time_limit_s=seconds)
    found = bool(answer.sizes)
    own = {
        "status": answer.status,
        "seconds": round(answer.seconds, 2),
        "objective": answer.objective if found else None,
        "bound": answer.bound,
        "gap": answer.could_improve_by if found else None,
        "worst_breach_mm": worst_breach(problem, answer.sizes)[0] if found else None,
    }
    peer = plain(problem, seconds)
    both = found and peer["objective"] is not None
    return {
        "candidates": sum(len(v.candidates) for v in problem.variables),
        "candidates_after_reducing": sum(len(u.sizes) for u in reduced.unknowns),
        "reducing_seconds": round(reducing, 3),
        "own": own,
        "scipy_milp_plain": peer,
        "ratio_time": round(answer.seconds / peer["seconds"], 3),
        "ratio_objective": round(answer.objective / peer["objective"], 4) if both else None,
        "ratio_bound": round(answer.bound / peer["bound"], 4) if peer["bound"] > 0 else None,
    }


def contradiction(seconds: float) -> dict[str, Any]:
    problem = invented(1, WIDTHS_MM["usual"])
    middle = {v.name: sum(c.size_mm for c in v.candidates) / len(v.candidates) for v in problem.variables[:3]}
    a, b, c = middle
    hidden = (
        Window("a over b", ((a, 1.0), (b, -1.0)), 0.0, middle[a] - middle[b] + 0.3, None),
        Window("b over c", ((b, 1.0), (c, -1.0)), 0.0, middle[b] - middle[c] + 0.3, None),
        Window("a near c", ((a, 1.0), (c, -1.0)), 0.0, None, middle[a] - middle[c] + 0.4),
    )
    answer = solve(replace(problem, windows=(*problem.windows, *hidden)), time_limit_s=seconds)
    conflict = answer.conflict
    return {
        "status": answer.status,
        "seconds": round(answer.seconds, 2),
        "members": [] if conflict is None else list(conflict.members),
        "irreducible": conflict is not None and conflict.irreducible,
        "least": conflict is not None and conflict.least,
        "relaxations": [] if conflict is None else [r.words for r in conflict.relaxations],
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--seeds", type=int, default=1)
    given = parser.parse_args()
    report: dict[str, Any] = {"seconds_each": given.seconds, "runs": []}
    for seed in range(1, given.seeds + 1):
        for name, width in WIDTHS_MM.items():
            for suited in (False, True):
                run = compared(invented(seed, width, suited=suited), given.seconds)
                report["runs"].append({"windows": name, "made_to_suit": suited, "seed": seed} | run)
    report["contradiction"] = contradiction(given.seconds)
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
