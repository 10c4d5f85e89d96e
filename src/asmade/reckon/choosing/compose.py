"""One component as a mixed-integer model, and back: from columns to choices and exact sizes."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf, isfinite
from typing import TYPE_CHECKING

import numpy as np

from asmade.reckon.choosing.engine import Model, run
from asmade.reckon.choosing.problem import HOLD_MM
from asmade.reckon.choosing.reduce import SLACK_MM
from asmade.reckon.choosing.tables import Table, table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from asmade.reckon.choosing.reduce import Component, Reduced, Row, Unknown
    from asmade.reckon.choosing.watch import Watch

TABLE = 400
"""Combinations up to which a window is written out as a table."""


@dataclass(slots=True)
class Composed:
    """A model with the columns of each unknown: ``choices`` first column of its whole numbers, ``stretch`` its own."""

    model: Model = field(default_factory=Model)
    choices: dict[int, int] = field(default_factory=dict)
    stretch: dict[int, int] = field(default_factory=dict)
    resource: dict[int, int] = field(default_factory=dict)
    middle: dict[int, float] = field(default_factory=dict)
    tables: list[tuple[Table, int]] = field(default_factory=list)
    """Tables with the first of their columns."""
    constant: float = 0.0


@dataclass(frozen=True, slots=True)
class Settled:
    """Candidate taken (None: a stretch, or locked to no candidate) and size of every unknown of a component."""

    picks: Mapping[int, int | None]
    sizes: Mapping[int, float]
    objective: float


def compose(reduced: Reduced, component: Component, *, most_combinations: int = TABLE) -> Composed:
    """Return the component's model; sizes are counted from a middle of each unknown so that columns stay small.

    Windows that no more than ``most_combinations`` combinations of sizes can fill are written out as tables.
    """
    made = Composed()
    for i in component.unknowns:
        _add_unknown(made, i, reduced.unknowns[i])
    for resource in component.resources:
        made.resource[resource] = made.model.column(reduced.resources[resource].cost, 0.0, 1.0, whole=True)
    for i in component.unknowns:
        _add_uses(made, i, reduced.unknowns[i])
    for row in component.rows:
        a, b = row.idx[0], row.idx[-1]
        if row.equal and isfinite(row.low) and isfinite(row.high) and a in made.choices and b in made.choices:
            _add_equal(made, reduced, a, b)
        elif (listed := table(reduced, row, most_combinations)) is not None:
            _add_table(made, reduced, listed)
        else:
            _add_row(made, reduced, row)
    return made


def _add_unknown(made: Composed, i: int, unknown: Unknown) -> None:
    model = made.model
    if len(unknown.sizes) == 1:
        made.middle[i] = float(unknown.sizes[0])
        made.constant += float(unknown.costs[0])
        return
    if unknown.discrete:
        made.middle[i] = (unknown.low + unknown.high) / 2
        columns = [model.column(float(c), 0.0, 1.0, whole=True) for c in unknown.costs]
        made.choices[i] = columns[0]
        model.row(dict.fromkeys(columns, 1.0), 1.0, 1.0)
        return
    made.middle[i] = middle = _aim(unknown)
    made.stretch[i] = column = model.column(0.0, unknown.low - middle, unknown.high - middle)
    if unknown.drawn is not None and unknown.weight > 0:
        _add_distance(model, column, unknown.drawn - middle, unknown.weight)


def _add_distance(model: Model, column: int, target: float, weight: float) -> int:
    """Add a column that is at least ``|column - target|``."""
    away = model.column(weight)
    model.row({away: 1.0, column: -1.0}, -target, inf)
    model.row({away: 1.0, column: 1.0}, target, inf)
    return away


def _aim(unknown: Unknown) -> float:
    """Return where a stretch lies best if nothing else decides: as drawn, else midway, else at its limit."""
    if unknown.drawn is not None:
        return min(max(unknown.drawn, unknown.low), unknown.high)
    if isfinite(unknown.low) and isfinite(unknown.high):
        return (unknown.low + unknown.high) / 2
    return unknown.low if isfinite(unknown.low) else unknown.high if isfinite(unknown.high) else 0.0


def _add_uses(made: Composed, i: int, unknown: Unknown) -> None:
    if i not in made.choices:
        return
    for resource in sorted(frozenset().union(*unknown.uses)):
        terms = {made.choices[i] + k: 1.0 for k, u in enumerate(unknown.uses) if resource in u}
        terms[made.resource[resource]] = -1.0
        made.model.row(terms, -inf, 0.0)


def _add_equal(made: Composed, reduced: Reduced, a: int, b: int) -> None:
    """Hold two choices to one size, size by size: far tighter for the solver than the sum of sizes."""
    pairs = sorted(
        (float(size), made.choices[i] + k, sign)
        for i, sign in ((a, 1.0), (b, -1.0))
        for k, size in enumerate(reduced.unknowns[i].sizes)
    )
    terms: dict[int, float] = {}
    first = -inf
    for size, column, sign in pairs:
        if size > first + HOLD_MM:
            made.model.row(terms, 0.0, 0.0)
            terms, first = {}, size
        terms[column] = sign
    made.model.row(terms, 0.0, 0.0)


def _add_table(made: Composed, reduced: Reduced, listed: Table) -> None:
    columns = np.array([made.model.column(0.0, 0.0, 1.0) for _ in listed.choices], dtype=np.int64)
    if len(columns):
        made.tables.append((listed, int(columns[0])))
    for n, i in enumerate(listed.idx):
        for k in range(len(reduced.unknowns[i].sizes)):
            having = columns[listed.choices[:, n] == k]
            made.model.row(dict.fromkeys(having.tolist(), 1.0) | {made.choices[i] + k: -1.0}, 0.0, 0.0)


def _add_row(made: Composed, reduced: Reduced, row: Row) -> None:
    terms: dict[int, float] = {}
    shift = 0.0
    for i, a in zip(row.idx, row.coef, strict=True):
        middle = made.middle[i] if i in made.middle else float(reduced.unknowns[i].sizes[0])
        shift += a * middle
        if i in made.choices:
            for k, size in enumerate(reduced.unknowns[i].sizes):
                terms[made.choices[i] + k] = a * (float(size) - middle)
        elif i in made.stretch:
            terms[made.stretch[i]] = a
    made.model.row(terms, row.low - shift - SLACK_MM, row.high - shift + SLACK_MM, scale=True)


def offer(made: Composed, reduced: Reduced, sizes: Mapping[int, float]) -> dict[int, float]:
    """Return the columns that stand for given sizes (unknown: mm), as far as they are among the choices."""
    columns: dict[int, float] = {}
    used: set[int] = set()
    for i, first in made.choices.items():
        unknown = reduced.unknowns[i]
        if i not in sizes:
            continue
        near = np.flatnonzero(np.abs(unknown.sizes - sizes[i]) <= HOLD_MM)
        if len(near):
            k = int(near[np.argmin(unknown.costs[near])])
            columns |= {first + n: float(n == k) for n in range(len(unknown.sizes))}
            used |= unknown.uses[k]
    if len(columns) == sum(len(reduced.unknowns[i].sizes) for i in made.choices):
        columns |= {column: float(r in used) for r, column in made.resource.items()}
    return columns


def rounded(made: Composed, reduced: Reduced, x: NDArray[np.float64]) -> dict[int, int]:
    """Return the choice (index) of each unknown that has any, from columns."""
    return {i: int(np.argmax(x[j : j + len(reduced.unknowns[i].sizes)])) for i, j in made.choices.items()}


def settle(reduced: Reduced, component: Component, chosen: Mapping[int, int], watch: Watch) -> Settled | None:
    """Return candidates and exact sizes from choices, stretches solved to suit; None if the rows do not hold then."""
    picks: dict[int, int | None] = {}
    sizes: dict[int, float] = {}
    used: set[int] = set()
    cost = 0.0
    for i in component.unknowns:
        unknown = reduced.unknowns[i]
        if unknown.discrete:
            k = chosen.get(i, 0)
            picks[i], sizes[i] = unknown.picks[k], float(unknown.sizes[k])
            cost += float(unknown.costs[k])
            used |= unknown.uses[k]
    cost += sum(reduced.resources[r].cost for r in used)
    if any(not reduced.unknowns[i].discrete for i in component.unknowns):
        rest = _stretches(reduced, component, sizes, watch)
        if rest is None:
            return None
        for i, size in rest.items():
            picks[i], sizes[i] = None, size
            unknown = reduced.unknowns[i]
            if unknown.drawn is not None:
                cost += unknown.weight * abs(size - unknown.drawn)
    if any(not _row_holds(row, reduced, sizes) for row in component.rows):
        return None
    return Settled(picks, sizes, cost)


def _row_holds(row: Row, reduced: Reduced, sizes: Mapping[int, float]) -> bool:
    value = sum(
        a * (sizes[i] if i in sizes else float(reduced.unknowns[i].sizes[0]))
        for i, a in zip(row.idx, row.coef, strict=True)
    )
    return row.low - HOLD_MM <= value <= row.high + HOLD_MM


def _stretches(
    reduced: Reduced, component: Component, sizes: Mapping[int, float], watch: Watch
) -> dict[int, float] | None:
    """Solve the continuous sizes with all choices settled: first for cost, then, at that cost, near their aims."""
    model = Model()
    column = {}
    distance: dict[int, int] = {}
    middles = {i: _aim(reduced.unknowns[i]) for i in component.unknowns if not reduced.unknowns[i].discrete}
    for i, middle in middles.items():
        unknown = reduced.unknowns[i]
        column[i] = model.column(0.0, unknown.low - middle, unknown.high - middle)
        priced = unknown.drawn is not None and unknown.weight > 0
        target = unknown.drawn - middle if priced and unknown.drawn is not None else 0.0
        distance[i] = _add_distance(model, column[i], target, unknown.weight if priced else 0.0)
    for row in component.rows:
        terms: dict[int, float] = {}
        shift = 0.0
        for i, a in zip(row.idx, row.coef, strict=True):
            if i in column:
                terms[column[i]] = a
                shift += a * middles[i]
            else:
                shift += a * (sizes[i] if i in sizes else float(reduced.unknowns[i].sizes[0]))
        if terms:
            model.row(terms, row.low - shift - SLACK_MM, row.high - shift + SLACK_MM, scale=True)
    quick = watch.quiet()
    first = run(model, quick)
    if first.x is None:
        return None
    x = first.x
    if any(model.cost[d] == 0.0 for d in distance.values()):
        model.row({d: model.cost[d] for d in distance.values()}, -inf, first.objective + 1e-9)
        model.cost = [1.0 if model.cost[j] == 0.0 and j in distance.values() else 0.0 for j in range(model.columns)]
        second = run(model, quick)
        x = x if second.x is None else second.x
    return {i: middles[i] + float(x[j]) for i, j in column.items()}
