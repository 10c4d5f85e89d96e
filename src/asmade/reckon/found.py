"""What a look at all requirements gives: arrays of every finding, each opened to its working when it is asked for."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.reckon.requirement import Finding, Requirement, Row, Share, Verdict
from asmade.reckon.system import FloatArray
from asmade.reckon.values import Values

TINY: Final = 1e-9
"""A millionth of a micrometre: sums closer than this to a limit are on it."""
MOST_SHARES: Final = 6
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


@dataclass(frozen=True, slots=True)
class Kept:
    """An earlier look, and the requirements of which nothing has changed since."""

    before: Findings
    same: NDArray[np.bool_]


def _none(value: float) -> float | None:
    value = float(value)
    return None if math.isnan(value) or math.isinf(value) else value
