"""The least that must give so that everything else can hold: every limit made elastic, at a price per millimetre."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from asmade.reckon.choosing.engine import Model, run
from asmade.reckon.choosing.judge import group_breach, variable_breaches, window_breaches
from asmade.reckon.choosing.problem import HOLD_MM, Relaxation

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from asmade.reckon.choosing.problem import Group, Problem, Variable, Window
    from asmade.reckon.choosing.watch import Watch


@dataclass(frozen=True, slots=True)
class Given:
    """What gives (empty when everything holds), the sizes that then hold, and whether less is proven impossible."""

    relaxations: tuple[Relaxation, ...]
    sizes: Mapping[str, float]
    total: float
    least: bool


@dataclass(slots=True)
class _Elastic:
    """The elastic model: one size column per variable (from its middle), whole-number columns behind it."""

    model: Model = field(default_factory=Model)
    size: dict[str, int] = field(default_factory=dict)
    middle: dict[str, float] = field(default_factory=dict)
    choices: dict[str, list[int]] = field(default_factory=dict)


def least_relaxations(problem: Problem, watch: Watch, begin: Mapping[str, float]) -> Given | None:
    """Return the relaxations of least total (hardness times mm) that free all conflicts; None if time was too short.

    Candidate lists stand; windows, groups, limits and locks may give. A lock gives by moving to any size: the hand
    that set it is not bound to the list. ``begin`` (may be empty) is a first set of sizes; when time is up and nothing
    better was found, what gives for it is returned.
    """
    made = _Elastic()
    for variable in problem.variables:
        _add_variable(made, variable)
    for window in problem.windows:
        _add_window(made, window)
    for group in problem.groups:
        _add_group(made, group)
    start = _start(problem, made, begin) if begin else {}
    ran = run(made.model, watch, start=start, words="looking for the least that must give")
    found = [dict(begin)] if begin else []
    if ran.x is not None:
        found.append(_sizes(problem, made, ran.x))
    least = ran.x is not None and ran.end == "optimal"
    return min((_given(problem, sizes, least=least) for sizes in found), key=lambda g: g.total, default=None)


def _given(problem: Problem, sizes: dict[str, float], *, least: bool) -> Given:
    gives = relaxations_of(problem, sizes)
    hardness = _hardness(problem)
    return Given(gives, sizes, sum(hardness[r.kind, r.name] * r.by_mm for r in gives), least)


def _start(problem: Problem, made: _Elastic, begin: Mapping[str, float]) -> dict[int, float]:
    columns: dict[int, float] = {}
    for variable in problem.variables:
        if variable.name in made.choices:
            listed = sorted({c.size_mm for c in variable.candidates})
            nearest = min(range(len(listed)), key=lambda n: abs(listed[n] - begin[variable.name]))
            columns |= {j: float(n == nearest) for n, j in enumerate(made.choices[variable.name])}
    return columns


def relaxations_of(problem: Problem, sizes: Mapping[str, float]) -> tuple[Relaxation, ...]:
    """Return by how much each limit must give for these sizes to hold, worked out exactly, greatest first."""
    found: list[Relaxation] = []
    for window in problem.windows:
        below, above = window_breaches(window, sizes)
        name = window.words or window.name
        if below > HOLD_MM:
            words = f"{name}, least {window.told(window.low or 0.0)}: {window.told(below)} too little"
            found.append(Relaxation(window.name, below, "low", "window", words))
        if above > HOLD_MM:
            words = f"{name}, most {window.told(window.high or 0.0)}: {window.told(above)} too much"
            found.append(Relaxation(window.name, above, "high", "window", words))
    for group in problem.groups:
        apart = group_breach(group, sizes)
        if apart > HOLD_MM:
            words = f"{group.name}, alike within {group.within_mm:.3f}: {apart:.3f} too far apart"
            found.append(Relaxation(group.name, apart, "within", "group", words))
    for variable in problem.variables:
        found += _variable_relaxations(variable, sizes[variable.name])
    return tuple(sorted(found, key=lambda r: -r.by_mm))


def _variable_relaxations(variable: Variable, size: float) -> list[Relaxation]:
    below, above = variable_breaches(variable, size)
    name = variable.name
    found: list[Relaxation] = []
    if variable.locked_mm is not None:
        locked = f"{name}, locked at {variable.locked_mm:.3f}"
        if below > HOLD_MM:
            found.append(Relaxation(name, below, "down", "lock", f"{locked}: would have to be {below:.3f} less"))
        if above > HOLD_MM:
            found.append(Relaxation(name, above, "up", "lock", f"{locked}: would have to be {above:.3f} more"))
        return found
    if below > HOLD_MM:
        words = f"{name}, not below {variable.low_mm:.3f}: would have to go {below:.3f} below"
        found.append(Relaxation(name, below, "low", "low", words))
    if above > HOLD_MM:
        words = f"{name}, not above {variable.high_mm:.3f}: would have to go {above:.3f} above"
        found.append(Relaxation(name, above, "high", "high", words))
    return found


def _hardness(problem: Problem) -> dict[tuple[str, str], float]:
    hardness: dict[tuple[str, str], float] = {}
    hardness |= {("window", w.name): w.hardness for w in problem.windows}
    hardness |= {("group", g.name): g.hardness for g in problem.groups}
    for variable in problem.variables:
        hardness |= {(kind, variable.name): variable.hardness for kind in ("lock", "low", "high")}
    return hardness


def _add_variable(made: _Elastic, variable: Variable) -> None:
    model, name = made.model, variable.name
    listed = [c.size_mm for c in variable.candidates] if variable.locked_mm is None else []
    ends = listed or [
        x for x in (variable.low_mm, variable.high_mm, variable.drawn_mm, variable.locked_mm) if x is not None
    ]
    middle = made.middle[name] = (min(ends) + max(ends)) / 2 if ends else 0.0
    low, high = (min(listed) - middle, max(listed) - middle) if listed else (-inf, inf)
    column = made.size[name] = model.column(0.0, low, high)
    if listed:
        sizes = sorted(set(listed))
        made.choices[name] = [model.column(0.0, 0.0, 1.0, whole=True) for _ in sizes]
        model.row(dict.fromkeys(made.choices[name], 1.0), 1.0, 1.0)
        terms = {j: s - middle for j, s in zip(made.choices[name], sizes, strict=True)}
        terms[column] = -1.0
        model.row(terms, 0.0, 0.0)
    lower = upper = variable.locked_mm
    if variable.locked_mm is None:
        lower, upper = variable.low_mm, variable.high_mm
    if lower is not None:
        model.row({column: 1.0, model.column(variable.hardness): 1.0}, lower - middle, inf)
    if upper is not None:
        model.row({column: 1.0, model.column(variable.hardness): -1.0}, -inf, upper - middle)


def _add_window(made: _Elastic, window: Window) -> None:
    terms: dict[int, float] = {}
    shift = window.constant
    for name, a in window.terms:
        terms[made.size[name]] = terms.get(made.size[name], 0.0) + a
        shift += a * made.middle[name]
    if window.low is not None:
        give = made.model.column(window.hardness)
        made.model.row(terms | {give: 1.0}, window.low - shift, inf)
    if window.high is not None:
        give = made.model.column(window.hardness)
        made.model.row(terms | {give: -1.0}, -inf, window.high - shift)


def _add_group(made: _Elastic, group: Group) -> None:
    """Hold all members between a base and the base plus the width, which may grow."""
    if len(group.members) < 2:
        return
    around = made.middle[group.members[0]]
    base = made.model.column(0.0, -inf, inf)
    give = made.model.column(group.hardness)
    for name in group.members:
        shift = made.middle[name] - around
        made.model.row({made.size[name]: 1.0, base: -1.0}, -shift, inf)
        made.model.row({made.size[name]: 1.0, base: -1.0, give: -1.0}, -inf, group.within_mm - shift)


def _sizes(problem: Problem, made: _Elastic, x: NDArray[np.float64]) -> dict[str, float]:
    sizes: dict[str, float] = {}
    for variable in problem.variables:
        name = variable.name
        sizes[name] = made.middle[name] + float(x[made.size[name]])
        if name in made.choices:
            listed = sorted({c.size_mm for c in variable.candidates})
            sizes[name] = listed[int(np.argmax(x[made.choices[name]]))]
    return sizes
