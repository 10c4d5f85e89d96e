"""A requirement whose value is any function of sums of sizes and figures: strength, grip, pressure, ratios.

The function works on floats and on arrays alike, so one requirement serves the finding, its worst case and its chance.
It is linearised by central differences of the function, carried through the exact rates of the sums put into it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final

from asmade.book.address import Address, spread_out
from asmade.book.grammar import Node, addresses, evaluate, gradient
from asmade.book.model import Relation
from asmade.measure.errors import Refused, Unknown
from asmade.reckon.requirement import Limits, Row, Unit, written
from asmade.reckon.scope import Scope

STEP: Final = 1e-6
"""Step of the central differences as a share of the value: errors near 1e-9 where the function is smooth."""
SMALL: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Input:
    """One figure put in: its symbol in the formula, plain words, and its sum of sizes and figures."""

    symbol: str
    words: str
    node: Node


@dataclass(frozen=True, slots=True)
class Computed:
    """A requirement on ``sum_(*inputs)``; ``lacks`` names what is not known and no size or figure of the book."""

    code: str
    subject: str
    group: str
    limits: Limits
    unit: Unit
    formula: str
    put_in: tuple[Input, ...]
    sum_: Callable[..., Any] = field(repr=False)
    fixed: tuple[str, ...] = ()
    lacks: tuple[str, ...] = ()
    plays: tuple[str, ...] = ()
    to_suit: Address | None = None

    @property
    def source(self) -> str:
        """Who set the limits, and by what sum."""
        return self.limits.source

    @property
    def reads(self) -> tuple[Address, ...]:
        """Every size and figure put in, once, in order."""
        return tuple(dict.fromkeys(a for one in self.put_in for a in addresses(one.node)))

    def evaluate(self, sizes: Callable[[Address], Any]) -> Any:
        """Value for floats or arrays; NaN where something is not known."""
        if self.lacks:
            return math.nan
        return self.sum_(*(evaluate(one.node, sizes) for one in self.put_in))

    def linear(self, at: Callable[[Address], float] | None = None) -> Row | None:
        """Linearised ``at`` given sizes; a function of nothing that varies is exact."""
        if not self.put_in:
            return Row({}, math.nan if self.lacks else float(self.sum_()))
        if at is None:
            return None
        import numpy as np  # noqa: PLC0415  # only a whole check gets here

        inner = [gradient(one.node, at) for one in self.put_in]
        values = np.array([value for value, _ in inner])
        reads = self.reads
        if self.lacks or np.isnan(values).any():
            return Row(dict.fromkeys(reads, 0.0), math.nan, exact=False)
        count = len(values)
        steps = STEP * np.maximum(np.abs(values), SMALL)
        points = np.tile(values[:, None], 2 * count + 1)
        points[np.arange(count), np.arange(count)] += steps
        points[np.arange(count), count + np.arange(count)] -= steps
        found = np.broadcast_to(np.asarray(self.sum_(*points), dtype=float), (2 * count + 1,))
        outer = (found[:count] - found[count : 2 * count]) / (2 * steps)
        rates = dict.fromkeys(reads, 0.0)
        for by, (_, terms) in zip(outer.tolist(), inner, strict=True):
            for address, rate in terms.items():
                rates[address] += by * rate
        constant = float(found[-1]) - math.fsum(rate * at(address) for address, rate in rates.items())
        return Row(rates, constant, exact=False)

    def working(self, sizes: Callable[[Address], str]) -> str:
        """``T / asked; d = wheel@1L.bore 15.900``: the formula, then each figure put in."""
        figures = [f"{one.symbol} = {one.words}: {written(one.node, sizes)}" for one in self.put_in]
        return "; ".join((self.formula, *figures, *self.fixed, *self.lacks))


@dataclass(frozen=True, slots=True)
class Reader:
    """Reads the fields of one relation at one place."""

    relation: Relation
    place: str
    scope: Scope

    def input(self, key: str, symbol: str, words: str, text: object = None) -> Input:
        """One sum of the relation, which must be there."""
        text = self.relation.fields.get(key) if text is None else text
        if text is None or text == "":
            raise Refused(
                f"{self.relation.kind} {self.relation.name!r}",
                got=dict(self.relation.fields),
                reason=f"{key} is missing",
                way_out=f'add {key} = "..." ({words})',
            )
        return Input(symbol, words, self.scope.node(str(text), self.place, self.relation))

    def fit_or_sizes(self) -> tuple[Address, Address, Relation | None]:
        """Hole and shaft: those of the named fit, or those named by the relation itself."""
        relation, scope = self.relation, self.scope
        named = relation.text("fit")
        if not named:
            for key in ("hole", "shaft"):
                self.input(key, key, f"the {key}")
            hole, shaft = (scope.address(relation.text(key), self.place, relation) for key in ("hole", "shaft"))
            return hole, shaft, None
        wanted = spread_out(named, self.place)
        for fit, place in self._fits():
            if (f"{fit.name}@{place}" if place else fit.name) == wanted:
                return (*(scope.address(fit.text(key), place, fit) for key in ("hole", "shaft")), fit)  # type: ignore[return-value]
        raise Unknown(
            f"{relation.kind} {relation.name!r}: fit",
            got=wanted,
            way_out="name a fit of the book with its place, or give hole and shaft",
        )

    def _fits(self) -> Iterator[tuple[Relation, str]]:
        for fit in self.scope.design.of_kind("fit"):
            for place in fit.places or ("",):
                yield fit, place

    def material(self, key: str, of: Address) -> str:
        """Name of a material: of the relation, else of the part."""
        part = self.scope.design.parts.get(of.part)
        found = self.relation.text(key) or (part.material if part else "")
        if not found:
            raise Refused(
                f"{self.relation.kind} {self.relation.name!r}",
                got=of.part,
                reason="its material is not known",
                way_out=f'say material = "..." of the part, or {key} here',
            )
        return found

    def factor(self, key: str, usual: float) -> float:
        """A factor, from 1 up; ``usual`` where none is said."""
        value = self.relation.fields.get(key, usual)
        try:
            found = float(value)
        except (TypeError, ValueError):
            found = math.nan
        if not (math.isfinite(found) and 0 < found <= 100):
            raise Refused(
                f"{self.relation.kind} {self.relation.name!r} {key}",
                got=value,
                reason="it is no factor above 0 up to 100",
                way_out=f"write {key} = {usual:g}",
            )
        return found
