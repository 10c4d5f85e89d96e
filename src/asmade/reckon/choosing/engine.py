"""A linear or mixed-integer model as plain lists, and one run of HiGHS on it that can be watched and stopped."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf, isfinite, log2
from threading import Event, Thread
from typing import TYPE_CHECKING, Any, Literal

import highspy
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from asmade.reckon.choosing.watch import Watch

End = Literal["optimal", "infeasible", "stopped"]

_TOLERANCE = 1e-9
_GAP = 1e-7
_POLL_S = 0.02


class _Quiet(highspy.Highs):  # type: ignore[misc]  # highspy comes without types
    """HiGHS that says nothing: it would print its banner while being made, before it can be told to be silent."""

    def enableCallbacks(self) -> None:  # noqa: N802  # the name is HiGHS's; its constructor calls this first
        """Be silent before the first thing that prints."""
        self.silent()
        super().enableCallbacks()


@dataclass(slots=True)
class Model:
    """Minimise ``cost @ x`` over columns with limits, some whole numbers, and rows with limits."""

    cost: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_low: list[float] = field(default_factory=list)
    row_high: list[float] = field(default_factory=list)
    start: list[int] = field(default_factory=lambda: [0])
    index: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)

    def column(self, cost: float = 0.0, low: float = 0.0, high: float = inf, *, whole: bool = False) -> int:
        """Add a column, return its index."""
        self.cost.append(cost)
        self.low.append(low)
        self.high.append(high)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, terms: Mapping[int, float], low: float, high: float, *, scale: bool = False) -> None:
        """Add a row (nothing for an empty one); ``scale`` brings its largest coefficient to between 1 and 2.

        HiGHS holds rows to an absolute tolerance: scaling by a power of two makes that mean the same in every row.
        """
        terms = {j: a for j, a in terms.items() if a != 0.0}
        if not terms:
            return
        factor = 1.0
        if scale:
            factor = 2.0 ** -int(np.floor(log2(max(abs(a) for a in terms.values()))))
        self.index += terms.keys()
        self.value += [a * factor for a in terms.values()]
        self.start.append(len(self.index))
        self.row_low.append(low * factor if isfinite(low) else low)
        self.row_high.append(high * factor if isfinite(high) else high)

    @property
    def columns(self) -> int:
        """Number of columns."""
        return len(self.cost)


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a run ended: values of the columns (None: no set found), its objective (inf then), the proven bound."""

    end: End
    x: NDArray[np.float64] | None
    objective: float
    bound: float
    reduced_cost: NDArray[np.float64] | None = None
    """Of a linear programme solved: what each column costs per unit beyond the bound."""


def run(
    model: Model,
    watch: Watch,
    *,
    time_limit_s: float = inf,
    node_limit: int | None = None,
    start: Mapping[int, float] | None = None,
    relax: bool = False,
    words: str = "",
) -> Outcome:
    """Solve the model within the watch's time; when that is over, or it was stopped, return the best so far.

    ``relax`` leaves whole numbers aside. ``start`` (column: value) is offered as a first set. One thread and a fixed
    seed: the same model gives the same answer unless time cuts it short.
    """
    if watch.over():
        return Outcome("stopped", None, inf, -inf)
    whole = any(model.whole) and not relax
    highs = _Quiet()
    highs.passModel(_lp(model, whole=whole))
    for name, value in (
        ("time_limit", min(watch.left(), time_limit_s)),
        ("threads", 1),
        ("random_seed", 7),
        ("primal_feasibility_tolerance", _TOLERANCE),
        ("dual_feasibility_tolerance", _TOLERANCE),
        ("mip_feasibility_tolerance", _TOLERANCE),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", _GAP),
    ):
        highs.setOptionValue(name, value)
    if node_limit is not None:
        highs.setOptionValue("mip_max_nodes", node_limit)
    if start and whole:
        columns = np.array(list(start), dtype=np.int32)
        highs.setSolution(len(columns), columns, np.array(list(start.values()), dtype=float))
    _run_watched(highs, watch, words, whole=whole)
    return _outcome(highs, whole=whole)


def _lp(model: Model, *, whole: bool) -> Any:
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = model.columns, len(model.row_low)
    lp.col_cost_ = np.array(model.cost, dtype=float)
    lp.col_lower_, lp.col_upper_ = np.array(model.low, dtype=float), np.array(model.high, dtype=float)
    lp.row_lower_, lp.row_upper_ = np.array(model.row_low, dtype=float), np.array(model.row_high, dtype=float)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array(model.start, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(model.index, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(model.value, dtype=float)
    if whole:
        kinds = highspy.HighsVarType
        lp.integrality_ = [kinds.kInteger if w else kinds.kContinuous for w in model.whole]
    return lp


def _run_watched(highs: Any, watch: Watch, words: str, *, whole: bool) -> None:
    done, halt = Event(), Event()
    seen: list[tuple[float, float]] = []

    def on_tick(event: Any) -> None:
        out = event.data_out
        seen[:] = [(out.mip_primal_bound, out.mip_dual_bound)]
        if halt.is_set():
            event.interrupt()

    def go() -> None:
        try:
            highs.run()
        finally:
            done.set()

    if whole:
        highs.cbMipInterrupt.subscribe(on_tick)
    worker = Thread(target=go, daemon=True)
    worker.start()
    try:
        while not done.wait(_POLL_S):
            if watch.over():
                halt.set()
            if seen:
                primal, dual = seen[0]
                watch.tell(primal if isfinite(primal) else None, max(0.0, dual), words)
    finally:  # also when an exception passes: a run must not outlive its caller
        halt.set()
        worker.join()


def _outcome(highs: Any, *, whole: bool) -> Outcome:
    status, info = highs.getModelStatus(), highs.getInfo()
    kinds = highspy.HighsModelStatus
    if status in (kinds.kInfeasible, kinds.kUnboundedOrInfeasible):
        return Outcome("infeasible", None, inf, inf)
    if status == kinds.kModelEmpty:
        return Outcome("optimal", np.zeros(0), 0.0, 0.0)
    objective = info.objective_function_value
    found = info.primal_solution_status == 2 and isfinite(objective)  # 2: a feasible point
    x = np.array(highs.getSolution().col_value) if found else None
    bound = info.mip_dual_bound if whole else (objective if status == kinds.kOptimal else -inf)
    if status == kinds.kOptimal:
        duals = None if whole else np.array(highs.getSolution().col_dual)
        return Outcome("optimal", x, objective, min(bound, objective), duals)
    return Outcome("stopped", x, objective if found else inf, bound if isfinite(bound) else -inf)
