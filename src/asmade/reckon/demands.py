"""Linear demands: the least value under them, and what to do where they cannot all hold. HiGHS does the solving.

A demand says ``sum(factor * column) >= least`` and is one end of something that bears a name. Where demands conflict,
three things are told: a set of names that conflict, none of which can be left out; the relaxation that is least in
total; and each single end that, moved alone, frees everything.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property
from typing import TYPE_CHECKING, Any

from asmade.measure.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

TOLERANCE_MM = 1e-9
"""Ends that cross by less than this are one point: rounding of sums, a thousand times finer than any gauge."""
_DUAL = 1e-7  # a dual value below this is rounding; true ones are ratios of the factors in the demands


@dataclass(frozen=True, slots=True)
class Relaxation:
    """Move an end (``low`` or ``high``) of a limit, or of a name's reach, outwards by ``amount`` mm."""

    name: str
    end: str
    amount: float


@dataclass(frozen=True, slots=True)
class Demand:
    """sum(factor * column) >= least: one end (``low``, ``high``) of what is called ``name``; None = cannot give way."""

    name: str | None
    end: str
    factors: Mapping[int, float]
    least: float


@dataclass(frozen=True, slots=True)
class Least:
    """Least value (None = there is no end to it), the columns that give it, and the dual value of each demand."""

    value: float | None
    columns: Sequence[float]
    duals: Sequence[float]


@dataclass(frozen=True)
class Programme:
    """Demands on ``columns`` unknowns, the first ``free`` of any sign, the others 0 or more."""

    demands: tuple[Demand, ...]
    free: int
    columns: int

    def least(self, cost: Mapping[int, float]) -> Least | None:
        """Least value of sum(cost * column); None where the demands cannot all hold."""
        return _least(self.columns, self.free, cost, self.demands)

    def named(self, answer: Least) -> tuple[str, ...]:
        """Names of the demands that hold an answer where it is: those with a dual value."""
        names = [demand.name for demand, dual in zip(self.demands, answer.duals, strict=True) if abs(dual) > _DUAL]
        return tuple(dict.fromkeys(name for name in names if name is not None))

    @cached_property
    def _all_relaxed(self) -> Least:
        answer = self._relaxed([k for k, demand in enumerate(self.demands) if demand.name is not None])
        if answer is None or answer.value is None:
            raise Refused("limits", got=len(self.demands), reason="they cannot hold even with every end moved")
        return answer

    def least_relaxation(self) -> tuple[Relaxation, ...]:
        """Ends to move, and by how much, so that all demands hold with the least sum of amounts."""
        movable = [demand for demand in self.demands if demand.name is not None]
        amounts = self._all_relaxed.columns[self.columns :]
        return tuple(
            Relaxation(str(demand.name), demand.end, amount)
            for demand, amount in zip(movable, amounts, strict=True)
            if amount > TOLERANCE_MM
        )

    def conflict(self) -> tuple[str, ...]:
        """Names whose demands cannot all hold; without any one of them the rest can."""
        # Demands with a dual value are infeasible by themselves (Farkas); from these all that can be is left out.
        names = list(self.named(self._all_relaxed))
        for name in tuple(names):
            fewer = [n for n in names if n != name]
            kept = [demand for demand in self.demands if demand.name is None or demand.name in fewer]
            if _least(self.columns, self.free, {}, kept) is None:
                names = fewer
        return tuple(names)

    def cures(self) -> tuple[Relaxation, ...]:
        """Single ends which, moved alone, make all demands hold; the least first."""
        found = []
        suspects = set(self.conflict())  # moving anything else leaves this conflict as it is
        for k, demand in enumerate(self.demands):
            if demand.name is not None and demand.name in suspects:
                alone = self._relaxed([k])
                if alone is not None and alone.value is not None and alone.value > TOLERANCE_MM:
                    found.append(Relaxation(demand.name, demand.end, alone.value))
        return tuple(sorted(found, key=lambda cure: cure.amount))

    def _relaxed(self, movable: Iterable[int]) -> Least | None:
        """Least sum by which the ``movable`` demands have to give way so that all hold."""
        slack = {k: self.columns + at for at, k in enumerate(movable)}
        demands = [
            Demand(d.name, d.end, {**d.factors, slack[k]: 1.0}, d.least) if k in slack else d
            for k, d in enumerate(self.demands)
        ]
        return _least(self.columns + len(slack), self.free, dict.fromkeys(slack.values(), 1.0), demands)


@cache
def _solver() -> Any:
    """Make the class of a silent HiGHS: it prints a banner while being made, before it can be told not to."""
    import highspy  # noqa: PLC0415  # costs a tenth of a second, wanted for rings and conflicts only

    class Quiet(highspy.Highs):  # type: ignore[misc]  # highspy comes without types
        def enableCallbacks(self) -> None:  # noqa: N802  # the name is HiGHS's; its constructor calls it first
            self.silent()
            super().enableCallbacks()

    return Quiet


def _least(columns: int, free: int, cost: Mapping[int, float], demands: Sequence[Demand]) -> Least | None:
    """Minimise by HiGHS; None where infeasible."""
    import highspy  # noqa: PLC0415  # costs a tenth of a second, wanted for rings and conflicts only
    import numpy as np  # noqa: PLC0415

    programme = highspy.HighsLp()
    programme.num_col_, programme.num_row_ = columns, len(demands)
    lower = np.zeros(columns)
    lower[:free] = -np.inf
    costs = np.zeros(columns)
    for column, value in cost.items():
        costs[column] = value
    programme.col_cost_, programme.col_lower_, programme.col_upper_ = costs, lower, np.full(columns, np.inf)
    programme.row_lower_ = np.array([demand.least for demand in demands], dtype=np.float64)
    programme.row_upper_ = np.full(len(demands), np.inf)
    programme.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    programme.a_matrix_.start_ = np.cumsum([0] + [len(demand.factors) for demand in demands], dtype=np.int32)
    programme.a_matrix_.index_ = np.array([c for d in demands for c in d.factors], dtype=np.int32)
    programme.a_matrix_.value_ = np.array([f for d in demands for f in d.factors.values()], dtype=np.float64)
    solver = _solver()()
    solver.setOptionValue("presolve", "off")  # so that it tells unbounded from infeasible
    solver.setOptionValue("primal_feasibility_tolerance", TOLERANCE_MM)
    solver.setOptionValue("dual_feasibility_tolerance", TOLERANCE_MM)
    solver.passModel(programme)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    if status == highspy.HighsModelStatus.kUnbounded:
        return Least(None, (), (0.0,) * len(demands))
    if status != highspy.HighsModelStatus.kOptimal:
        raise Refused("limits", got=str(status), reason="the linear programme did not come to an end")
    solution = solver.getSolution()
    value = float(solver.getInfo().objective_function_value)
    return Least(value, list(solution.col_value), list(solution.row_dual))
