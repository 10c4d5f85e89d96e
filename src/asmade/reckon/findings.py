"""From best known values to findings: one sparse product for all linear requirements, samples for the others.

Verdicts: *holds* when the worst case is within the limits; *close* when the best value is and the worst case is not;
*fails* when the best value is outside; *not known* when an input has no value; *no limits* when nothing is asked.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.reckon.requirement import Finding, Requirement, Row, Share, Verdict
from asmade.reckon.system import FloatArray, System
from asmade.reckon.values import NINETY_FIVE, Values

SAMPLES: Final = 20_000
SEED: Final = 20_201
TINY: Final = 1e-9
"""A millionth of a micrometre: sums closer than this to a limit are on it."""
MOST_SHARES: Final = 6
SUM_CODE: Final = "sum"
VERDICTS: Final[tuple[Verdict, ...]] = ("fails", "not known", "close", "holds", "no limits")


@dataclass(frozen=True)
class Findings:
    """All requirements of a build looked at once; arrays by requirement, findings made when asked for."""

    values: Values
    requirements: tuple[Requirement, ...]
    value: FloatArray
    low: FloatArray
    high: FloatArray
    worst_low: FloatArray
    worst_high: FloatArray
    spread: FloatArray
    dof: FloatArray
    known: NDArray[np.bool_]
    rates: Any = field(repr=False)
    rows: Any = field(repr=False)
    sampled: dict[int, float] = field(default_factory=dict)
    fresh: dict[int, Row | None] = field(default_factory=dict, repr=False)
    """Rows made for these values, by requirement; those of exact sums are the system's."""
    drawn: tuple[int, int] = (0, 0)
    """How many engines were sampled, and from what seed."""
    _opened: dict[int, Finding] = field(default_factory=dict, repr=False)

    @cached_property
    def margin(self) -> FloatArray:
        """Room to the nearer limit (negative: outside by so much); inf where there is none, NaN where not known."""
        margin: FloatArray = np.minimum(self.value - self.low, self.high - self.value)
        return margin

    @cached_property
    def worst_margin(self) -> FloatArray:
        """Room that is left in the worst case."""
        margin: FloatArray = np.minimum(self.worst_low - self.low, self.high - self.worst_high)
        return margin

    @cached_property
    def verdict(self) -> NDArray[np.int8]:
        """Index into `VERDICTS`."""
        unlimited = np.isinf(self.low) & np.isinf(self.high)
        found = np.where(self.margin < -TINY, 0, np.where(self.worst_margin < -TINY, 2, 3))
        found = np.where(unlimited, 4, found)
        return np.where(self.known, found, 1).astype(np.int8)

    @cached_property
    def chance(self) -> FloatArray:
        """Chance of being within the limits; Student's t with effective degrees of freedom (GUM G.4) where linear."""
        from scipy.special import stdtr  # noqa: PLC0415

        with np.errstate(divide="ignore", invalid="ignore"):
            below = np.where(np.isinf(self.low), 0.0, stdtr(self.dof, (self.low - self.value) / self.spread))
            above = np.where(np.isinf(self.high), 0.0, stdtr(self.dof, (self.value - self.high) / self.spread))
            sure = (self.margin >= -TINY).astype(float)
            chance = np.where(self.spread > 0, np.clip(1 - below - above, 0, 1), sure)
        for at, found in self.sampled.items():
            chance[at] = found
        return np.where(self.known, chance, math.nan)

    def leading(self) -> tuple[int, ...]:
        """One requirement of each group, that of the least margin, in the order of the book."""
        if len({r.group for r in self.requirements}) == len(self.requirements):
            return tuple(range(len(self.requirements)))
        best: dict[tuple[str, str], int] = {}
        margins = np.where(self.known, self.margin, -math.inf)
        for at, requirement in enumerate(self.requirements):
            key = (requirement.code, requirement.group)
            if key not in best or margins[at] < margins[best[key]]:
                best[key] = at
        return tuple(sorted(best.values()))

    def __iter__(self) -> Iterator[Finding]:
        """Findings, one of each group."""
        return (self.finding(at) for at in self.leading())

    @cached_property
    def counts(self) -> Mapping[str, int]:
        """How many findings, one of each group, have each verdict."""
        return Counter(VERDICTS[v] for v in self.verdict[list(self.leading())].tolist())

    def finding(self, at: int) -> Finding:
        """The finding of requirement ``at``, with shares and working; worked out once."""
        found = self._opened.get(at)
        if found is None:
            found = self._opened[at] = self._open(at)
        return found

    def _open(self, at: int) -> Finding:
        requirement = self.requirements[at]
        known = bool(self.known[at])
        drawn = self._drawn_only(requirement)
        return Finding(
            code=requirement.code, subject=requirement.subject, verdict=self._verdict(at),
            value=_none(self.value[at]) if known else None, low=_none(self.low[at]), high=_none(self.high[at]),
            margin=_none(self.margin[at]) if known else None,
            worst_low=_none(self.worst_low[at]) if known else None,
            worst_high=_none(self.worst_high[at]) if known else None,
            chance=self._chance(at) if known else None, shares=self.shares(at) if known else (),
            working=requirement.working(self._figure), source=requirement.source, unit=requirement.unit,
            drawn_only=drawn, missing=() if known else self._missing(requirement), plays=requirement.plays,
        )  # fmt: skip

    def _verdict(self, at: int) -> Verdict:
        return VERDICTS[int(self.verdict[at])]

    def _chance(self, at: int) -> float | None:
        return None if self.verdict[at] == 4 else float(self.chance[at])

    def shares(self, at: int) -> tuple[Share, ...]:
        """Causes of the spread of requirement ``at``, greatest first."""
        start, end = self.rates.indptr[at], self.rates.indptr[at + 1]
        causes = self.rates.indices[start:end]
        parts = (self.rates.data[start:end] * self.values.sigma[causes]) ** 2
        total = float(parts.sum())
        if total <= 0:
            return ()
        order = np.argsort(-parts, kind="stable")[:MOST_SHARES]
        return tuple(
            Share(self.values.causes[causes[i]], float(parts[i]) / total) for i in order if parts[i] > 0.005 * total
        )

    def _figure(self, address: Address) -> str:
        from asmade.measure.show import show_mm  # noqa: PLC0415

        at = self.values.system.index.get(address)
        if at is None:
            return ""
        value = float(self.values.best[at])
        if math.isnan(value):
            return "not known"
        if self.values.system.units[at] == "rad":
            return f"{math.degrees(value):.3f} deg"
        unit = self.values.system.units[at]
        return show_mm(value, step="0.001") + (f" {unit}" if unit not in ("mm", "") else "")

    def _drawn_only(self, requirement: Requirement) -> bool:
        index = self.values.system.index
        return any(bool(self.values.drawn_only[index[a]]) for a in requirement.reads if a in index)

    def _missing(self, requirement: Requirement) -> tuple[str, ...]:
        index = self.values.system.index
        missing = []
        for address in requirement.reads:
            at = index.get(address)
            if at is not None and math.isnan(self.values.best[at]):
                why = self.values.why_unknown.get(at)
                missing.append(f"{address} ({why})" if why else str(address))
        return (*missing, *getattr(requirement, "lacks", ()))


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


@dataclass(frozen=True, slots=True)
class Kept:
    """An earlier look, and the requirements of which nothing has changed since."""

    before: Findings
    same: NDArray[np.bool_]


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


def _none(value: float) -> float | None:
    value = float(value)
    return None if math.isnan(value) or math.isinf(value) else value


def in_order(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Worst first: what fails, what is not known, what is close, then by margin."""
    rank = {verdict: at for at, verdict in enumerate(("fails", "close", "not known", "holds", "no limits"))}
    return tuple(
        sorted(findings, key=lambda f: (rank[f.verdict], math.inf if f.margin is None else f.margin, f.subject))
    )
