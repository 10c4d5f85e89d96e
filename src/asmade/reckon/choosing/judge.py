"""The plain sums every answer is held to: values of windows, breaches, and the objective, straight from the problem."""

from __future__ import annotations

from math import fsum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from asmade.reckon.choosing.problem import Group, Problem, Variable, Window


def window_value(window: Window, sizes: Mapping[str, float]) -> float:
    """Return the sum the window bounds, mm.

    >>> from asmade.reckon.choosing.problem import Window
    >>> window_value(Window("float", (("box", 1.0), ("axle", -1.0)), 0.5, 0.1, None), {"box": 12.0, "axle": 11.75})
    0.75
    """
    return fsum([*(a * sizes[name] for name, a in window.terms), window.constant])


def window_breaches(window: Window, sizes: Mapping[str, float]) -> tuple[float, float]:
    """Return by how much (>= 0, mm) the value is below the low and above the high limit."""
    value = window_value(window, sizes)
    below = 0.0 if window.low is None else max(0.0, window.low - value)
    above = 0.0 if window.high is None else max(0.0, value - window.high)
    return below, above


def group_breach(group: Group, sizes: Mapping[str, float]) -> float:
    """Return by how much (>= 0, mm) the spread of the members exceeds the width allowed."""
    if not group.members:
        return 0.0
    values = [sizes[name] for name in group.members]
    return max(0.0, max(values) - min(values) - group.within_mm)


def variable_breaches(variable: Variable, size: float) -> tuple[float, float]:
    """Return by how much (>= 0, mm) a size lies below and above the variable's lock, or else its limits."""
    low, high = variable.low_mm, variable.high_mm
    if variable.locked_mm is not None:
        low = high = variable.locked_mm
    return (
        0.0 if low is None else max(0.0, low - size),
        0.0 if high is None else max(0.0, size - high),
    )


def worst_breach(problem: Problem, sizes: Mapping[str, float]) -> tuple[float, str]:
    """Return the greatest breach over windows, groups, limits and locks, mm, and the name of what is broken."""
    worst, name = 0.0, ""
    for window in problem.windows:
        breach = max(window_breaches(window, sizes))
        if breach > worst:
            worst, name = breach, window.name
    for group in problem.groups:
        breach = group_breach(group, sizes)
        if breach > worst:
            worst, name = breach, group.name
    for variable in problem.variables:
        breach = max(variable_breaches(variable, sizes[variable.name]))
        if breach > worst:
            worst, name = breach, variable.name
    return worst, name


def used(problem: Problem, picks: Mapping[str, int | None]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the tools used and the things bought, each once, sorted."""
    tools: set[str] = set()
    buys: set[str] = set()
    for variable in problem.variables:
        pick = picks[variable.name]
        if pick is not None:
            tools.add(variable.candidates[pick].tool)
            buys.add(variable.candidates[pick].buy)
    return tuple(sorted(tools - {""})), tuple(sorted(buys - {""}))


def deviation_cost(variable: Variable, size: float) -> float:
    """Return ``weight * |size - drawn|``; 0 where nothing is drawn."""
    return 0.0 if variable.drawn_mm is None else variable.weight * abs(size - variable.drawn_mm)


def objective(problem: Problem, sizes: Mapping[str, float], picks: Mapping[str, int | None]) -> float:
    """Return deviations, costs of the candidates taken, and every tool and bought thing once."""
    parts = [deviation_cost(v, sizes[v.name]) for v in problem.variables]
    for variable in problem.variables:
        pick = picks[variable.name]
        if pick is not None:
            parts.append(variable.candidates[pick].cost)
    tools, buys = used(problem, picks)
    parts += [problem.tool_cost[t] for t in tools]
    parts += [problem.buy_cost[b] for b in buys]
    return fsum(parts)
