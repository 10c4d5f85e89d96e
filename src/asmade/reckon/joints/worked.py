"""A sum with its working: what was asked, the formula, the figures put in, what is not known, and the source."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True, slots=True)
class Given:
    """One figure put into a sum: symbol of the formula, plain words, value (None = not known) and unit."""

    symbol: str
    words: str
    value: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class Worked:
    """Result of a sum; ``value`` is None when something is not known, and ``missing`` says what."""

    name: str
    value: float | None
    unit: str
    formula: str
    put_in: tuple[Given, ...]
    source: str

    @property
    def missing(self) -> tuple[str, ...]:
        """Plain words for each input that is not known; never taken as zero."""
        return tuple(given.words for given in self.put_in if given.value is None)

    @property
    def working(self) -> str:
        """The sum written out, with the figures put in."""
        figures = ", ".join(
            f"{g.symbol} = {g.words} {'not known' if g.value is None else f'{g.value:.6g} {g.unit}'.rstrip()}"
            for g in self.put_in
        )
        outcome = "not known" if self.value is None else f"{self.value:.6g} {self.unit}".rstrip()
        return f"{self.name}: {self.formula}; {figures}; = {outcome} ({self.source})"


def work(name: str, unit: str, formula: str, source: str, sum_: Callable[..., float], *put_in: Given) -> Worked:
    """Do ``sum_`` with the values put in, in their order, if all are known."""
    values = [given.value for given in put_in]
    value = None if None in values else sum_(*values)
    if value is not None and not math.isfinite(value):
        raise OutOfRange(name, got=value, allowed="finite values", source=source)
    return Worked(name, value, unit, formula, put_in, source)
