"""From best known values to findings: one sparse product for all linear requirements, samples for the others.

Verdicts: *holds* when the worst case is within the limits; *close* when the best value is and the worst case is not;
*fails* when the best value is outside; *not known* when an input has no value; *no limits* when nothing is asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.reckon.found import TINY, Findings, Kept
from asmade.reckon.requirement import Finding, Requirement, Row
from asmade.reckon.system import FloatArray, System
from asmade.reckon.values import NINETY_FIVE, Values

SAMPLES: Final = 20_000
SEED: Final = 20_201
SUM_CODE: Final = "sum"


def look(
    values: Values, *, samples: int = SAMPLES, seed: int = SEED, before: Findings | None = None
) -> Findings:  # fmt: skip
    """Look at all requirements of a build at its best known values.

    ``before`` is an earlier look at the same book: what reads no size that has changed since is taken from there.
    The same look at the very same values is given again.
    """
    held: dict[tuple[int, int], Findings] = values.__dict__.setdefault("_looked", {})
    found = held.get((samples, seed))
    if found is None:
        fixed = _fixed(values.system)
        kept = _kept(fixed, values, before, (samples, seed))
        found = held[samples, seed] = _look(values, fixed, samples, seed, kept)
    return found


def look_at(
    values: Values, requirements: Sequence[Requirement], *, samples: int = SAMPLES, seed: int = SEED
) -> Findings:
    """Look at requirements that stand outside the system (kinds of later rooms, what-if)."""
    return _look(values, _fix(values.system, tuple(requirements)), samples, seed, None)


@dataclass(frozen=True, slots=True)
class _Fixed:
    """What does not change with the sizes: rows of exact sums, limits, and which rows are made anew at every look."""

    requirements: tuple[Requirement, ...]
    rows: _Triples
    low: FloatArray
    high: FloatArray
    anew: tuple[int, ...]
    reads: Any
    """Sparse matrix (requirements x sizes) of what each reads."""


def _kept(fixed: _Fixed, values: Values, before: Findings | None, drawn: tuple[int, int]) -> Kept | None:
    if before is None or before.requirements is not fixed.requirements or before.drawn != drawn:
        return None
    return Kept(before, unchanged(values, before.values))


def unchanged(values: Values, before: Values) -> NDArray[np.bool_]:
    """Which requirements of the system read no size that has changed since ``before``."""
    changed = values.changed_from(before)
    same: NDArray[np.bool_] = (_fixed(values.system).reads @ changed.astype(np.int32)) == 0
    return same


@lru_cache(maxsize=8)
def _fixed(system: System) -> _Fixed:
    return _fix(system, system.requirements)


def _fix(system: System, requirements: tuple[Requirement, ...]) -> _Fixed:
    rows = _Triples(len(requirements))
    anew = []
    for at, requirement in enumerate(requirements):
        if getattr(requirement, "exact", None) is None or requirement.plays:
            anew.append(at)
        else:
            rows.put(at, requirement.linear(), system)
    low = np.array([-math.inf if r.limits.low is None else r.limits.low for r in requirements], dtype=float)
    high = np.array([math.inf if r.limits.high is None else r.limits.high for r in requirements], dtype=float)
    return _Fixed(requirements, rows, low, high, tuple(anew), _reads(system, requirements))


def _reads(system: System, requirements: tuple[Requirement, ...]) -> Any:
    from scipy.sparse import csr_matrix  # noqa: PLC0415

    index = system.index
    listed = [[index[a] for a in r.reads if a in index] for r in requirements]
    starts = np.concatenate(([0], np.cumsum([len(each) for each in listed], dtype=np.intp)))
    sizes = np.fromiter((at for each in listed for at in each), dtype=np.intp, count=int(starts[-1]))
    return csr_matrix((np.ones(sizes.size, dtype=np.int32), sizes, starts), shape=(len(listed), len(system.names)))


@dataclass(slots=True)
class _Triples:
    """Rows as (row, size, rate), gathered; constant NaN where a row has no linear form."""

    count: int
    row: list[int] = field(default_factory=list)
    size: list[int] = field(default_factory=list)
    rate: list[float] = field(default_factory=list)
    constant: dict[int, float] = field(default_factory=dict)
    arrays: tuple[NDArray[np.intp], NDArray[np.intp], FloatArray] | None = None

    def put(self, at: int, row: Row | None, system: System) -> None:
        if row is None:
            return
        self.constant[at] = row.constant
        for address, rate in row.terms.items():
            self.row.append(at)
            self.size.append(system.index[address])
            self.rate.append(rate)

    def frozen(self) -> tuple[NDArray[np.intp], NDArray[np.intp], FloatArray]:
        if self.arrays is None:
            self.arrays = (
                np.array(self.row, dtype=np.intp),
                np.array(self.size, dtype=np.intp),
                np.array(self.rate, dtype=float),
            )
        return self.arrays


def _look(values: Values, fixed: _Fixed, samples: int, seed: int, kept: Kept | None) -> Findings:
    from scipy.sparse import csr_matrix  # noqa: PLC0415  # a sixth of a second, wanted only here

    system, requirements = values.system, fixed.requirements
    count = len(requirements)
    fresh = _Triples(count)
    made: dict[int, Row | None] = {}
    bent: list[int] = []

    def best(address: Address) -> float:
        return float(values.best[system.index[address]])

    for at in fixed.anew:
        row = kept.before.fresh[at] if kept is not None and kept.same[at] else requirements[at].linear(best)
        made[at] = row
        fresh.put(at, row, system)
        if row is not None and not row.exact:
            bent.append(at)
    row_of, size_of, rate_of = (
        np.concatenate(pair) for pair in zip(fixed.rows.frozen(), fresh.frozen(), strict=True)
    )  # fmt: skip
    constant = np.full(count, math.nan)
    for triples in (fixed.rows, fresh):
        constant[list(triples.constant)] = list(triples.constant.values())
    matrix = csr_matrix((rate_of, (row_of, size_of)), shape=(count, len(values.best)))
    unknown = np.isnan(values.best)
    missing = np.bincount(row_of[unknown[size_of]], minlength=count) if unknown.any() else np.zeros(count, dtype=int)
    value = matrix @ np.nan_to_num(values.best) + constant
    known = (missing == 0) & ~np.isnan(value)
    rates = matrix @ values.rates
    spread_of = rates.data * values.sigma[rates.indices]
    starts = rates.indptr
    squares = spread_of * spread_of
    variance = _row_sums(squares, starts)
    fourths = _fourths(rates, squares, values)
    with np.errstate(divide="ignore", invalid="ignore"):
        dof = np.where(fourths > 0, variance**2 / fourths, 1e9)
    reach = _row_sums(np.abs(rates.data) * values.bound[rates.indices], starts)
    found = Findings(
        values, requirements, value, fixed.low.copy(), fixed.high.copy(), value - reach, value + reach,
        np.sqrt(variance), dof, known, rates, matrix, fresh=made, drawn=(samples, seed),
    )  # fmt: skip
    _threads(found)
    if samples:
        from asmade.reckon.bent import sample  # noqa: PLC0415  # only books with such requirements need it

        sample(found, bent, kept)
    if kept is not None:
        found._opened.update({at: f for at, f in kept.before._opened.items() if kept.same[at]})  # noqa: SLF001  # its own kind
    return found


def _fourths(rates: Any, squares: FloatArray, values: Values) -> FloatArray:
    """Sum over beliefs of variance squared over degrees of freedom: what one belief spreads counts as one (GUM G.4)."""
    from scipy.sparse import csr_matrix  # noqa: PLC0415

    beliefs = int(values.belief.max(initial=0)) + 1
    shape = (rates.shape[0], beliefs)
    by_belief = csr_matrix((squares, values.belief[rates.indices], rates.indptr), shape=shape, copy=True)
    by_belief.sum_duplicates()  # in place: hence the copy
    dof = np.ones(beliefs)
    dof[values.belief] = values.dof
    return _row_sums(by_belief.data**2 / dof[by_belief.indices], by_belief.indptr)


def _row_sums(data: FloatArray, starts: NDArray[np.int32]) -> FloatArray:
    """Sums of each row of a sparse matrix whose rows start at ``starts``."""
    if not len(data):
        return np.zeros(len(starts) - 1)
    filled = starts[:-1] < starts[1:]
    sums = np.zeros(len(starts) - 1)
    sums[filled] = np.add.reduceat(data, starts[:-1][filled])
    return sums


def _threads(found: Findings) -> None:
    """Requirements without a number (threads of one callout): 0 where alike, outside the limits where not."""
    build_callouts = found.values.system.callouts
    for at, requirement in enumerate(found.requirements):
        if requirement.unit == "" and requirement.code == "same":
            said = {build_callouts.get(a, "") for a in requirement.reads}
            found.known[at] = "" not in said
            for array in (found.value, found.worst_low, found.worst_high):
                array[at] = float(len(said) - 1)
            found.low[at] = found.high[at] = 0.0
            found.spread[at] = 0.0


def measured_against_sums(values: Values) -> Iterator[Finding]:
    """A finding for every computed size that has been measured too: reading less sum, within twice their spread."""
    for at, (total, row) in values.sums.items():
        if at not in values.readings:
            continue
        joint: dict[int, float] = dict(values.rows[at])
        for cause, rate in row.items():
            joint[cause] = joint.get(cause, 0.0) - rate
        sigma = math.sqrt(math.fsum((rate * values.sigma[cause]) ** 2 for cause, rate in joint.items()))
        allowed = NINETY_FIVE * sigma
        difference = float(values.best[at]) - total
        name = values.system.names[at]
        unit = values.system.units[at]
        show = math.degrees if unit == "rad" else float
        suffix = " deg" if unit == "rad" else ""
        margin = allowed - abs(difference)
        yield Finding(
            code=SUM_CODE, subject=str(name), verdict="holds" if margin >= -TINY else "fails", value=difference,
            low=-allowed, high=allowed, margin=margin, worst_low=difference, worst_high=difference, chance=None,
            shares=(), unit=unit,
            working=f"measured {show(float(values.best[at])):.3f}{suffix} - computed {show(total):.3f}{suffix}",
            source="two statements of one size agree within 1.96 standard deviations of their difference",
        )  # fmt: skip


def in_order(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Worst first: what fails, what is not known, what is close, then by margin."""
    rank = {verdict: at for at, verdict in enumerate(("fails", "close", "not known", "holds", "no limits"))}
    return tuple(
        sorted(findings, key=lambda f: (rank[f.verdict], math.inf if f.margin is None else f.margin, f.subject))
    )
