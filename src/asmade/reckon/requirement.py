"""The one shape of everything that can hold or fail, and what comes of looking at it.

A kind of requirement (fit, chain, wall, binding, gap, valve event ...) is a module with ``KIND``, ``FIELDS`` and
``requirements``; its requirements follow `Requirement`. Those that are a sum of sizes use `SumRequirement`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Literal, Protocol

from asmade.book.address import Address
from asmade.book.grammar import (
    Call,
    Linear,
    Minus,
    Node,
    Number,
    Size,
    Sum,
    addresses,
    evaluate,
    gradient,
    linear,
)

Verdict = Literal["holds", "close", "fails", "not known", "no limits"]
Unit = Literal["mm", "rad", "", "%", "MPa", "N", "N mm", "kg", "g", "degC", "rpm"]


@dataclass(frozen=True, slots=True)
class Limits:
    """Least and most in mm (rad for angles); None = no limit on that side. ``source`` says who set them."""

    low: float | None = None
    high: float | None = None
    source: str = ""

    @property
    def middle(self) -> float | None:
        """Half way, where both sides are limited."""
        return None if self.low is None or self.high is None else 0.5 * (self.low + self.high)


@dataclass(frozen=True, slots=True)
class Row:
    """A requirement as a linear sum, exact or linearised: value = constant + sum of rate x size."""

    terms: Mapping[Address, float]
    constant: float
    exact: bool = True


@dataclass(frozen=True, slots=True)
class Ends:
    """Worst case and chance of being within the limits, where a requirement has better ways to them than samples.

    low, high: the ends of its value in the worst case; None where an end is not limited and not worked out. A
    requirement that knows them has a method ``ends(values)`` of the best known values, None where it cannot tell.
    """

    low: float | None
    high: float | None
    chance: float


class Requirement(Protocol):
    """Anything that can hold or fail."""

    @property
    def code(self) -> str:
        """Stable code of the kind, such as ``fit``."""

    @property
    def subject(self) -> str:
        """Name and place, such as ``wheel on axle@2L``."""

    @property
    def group(self) -> str:
        """Requirements of one group are one finding: that of the least margin."""

    @property
    def source(self) -> str:
        """Where the limits come from."""

    @property
    def reads(self) -> tuple[Address, ...]:
        """Sizes and figures it depends on."""

    @property
    def plays(self) -> tuple[str, ...]:
        """Freedoms taken at their worst in it."""

    @property
    def limits(self) -> Limits:
        """Within what its value must lie."""

    @property
    def unit(self) -> Unit:
        """``mm``, ``rad``, ``MPa`` ... or none."""

    @property
    def to_suit(self) -> Address | None:
        """The one size that is made last, to the others as measured."""

    def evaluate(self, sizes: Callable[[Address], Any]) -> Any:
        """Its value for sizes that are floats or arrays of samples."""

    def linear(self, at: Callable[[Address], float] | None = None) -> Row | None:
        """As a linear sum; a nonlinear one is linearised ``at`` given sizes, or None without."""

    def working(self, sizes: Callable[[Address], str]) -> str:
        """The sum written out: symbols, then figures."""


@dataclass(frozen=True, slots=True)
class SumRequirement:
    """A requirement whose value is one sum of sizes, less the plays that go against it."""

    code: str
    subject: str
    group: str
    node: Node
    limits: Limits
    against: tuple[tuple[str, Node], ...] = ()
    to_suit: Address | None = None
    unit: Unit = "mm"
    words: str = ""
    exact: Linear | None = field(default=None, repr=False)

    @property
    def source(self) -> str:
        """Who set the limits."""
        return self.limits.source

    @property
    def plays(self) -> tuple[str, ...]:
        """Freedoms taken at their worst."""
        return tuple(name for name, _ in self.against)

    @property
    def reads(self) -> tuple[Address, ...]:
        """Every size in the sum and its plays, once, in order."""
        found = dict.fromkeys(addresses(self.node))
        for _, node in self.against:
            found |= dict.fromkeys(addresses(node))
        return tuple(found)

    def evaluate(self, sizes: Callable[[Address], Any]) -> Any:
        """Value in mm (rad); a play that comes out negative is no freedom and takes nothing off."""
        value = evaluate(self.node, sizes)
        for _, node in self.against:
            each_way = evaluate(node, sizes)
            value = value - (each_way * (each_way > 0))
        return value

    def linear(self, at: Callable[[Address], float] | None = None) -> Row | None:
        """Exact where the sum is linear; plays count as long as they are positive ``at`` the given sizes."""
        exact = self.exact or as_linear(self.node, self.against)
        if exact is not None:
            if at is None or not self.against:
                return Row({a: float(k) for a, k in exact.terms.items()}, float(exact.constant))
            open_plays = tuple(p for p in self.against if not _closed(p[1], at))
            exact = as_linear(self.node, open_plays)
            if exact is not None:
                return Row({a: float(k) for a, k in exact.terms.items()}, float(exact.constant))
        if at is None:
            return None
        value, rates = gradient(self.node, at)
        rates = dict(rates)
        for _, node in self.against:
            each_way, more = gradient(node, at)
            if each_way > 0:
                value -= each_way
                for address, rate in more.items():
                    rates[address] = rates.get(address, 0.0) - rate
        constant = value - math.fsum(rate * at(address) for address, rate in rates.items())
        return Row(rates, constant, exact=False)

    def working(self, sizes: Callable[[Address], str]) -> str:
        """``wheel@1L.bore 15.900 - axle@1.seat 15.860``, and the plays taken off."""
        text = written(self.node, sizes)
        for name, node in self.against:
            text += f" - {name} ({written(node, sizes)})"
        return text


def as_linear(node: Node, against: tuple[tuple[str, Node], ...] = ()) -> Linear | None:
    """Exact coefficients of a sum less its plays, or None where either is not linear."""
    whole = linear(node)
    for _, play in against:
        one = linear(play)
        if whole is None or one is None:
            return None
        whole = whole.plus(one.scaled(Fraction(-1)))
    return whole


def _closed(node: Node, at: Callable[[Address], float]) -> bool:
    value = evaluate(node, at)
    return bool(value <= 0)


def written(node: Node, sizes: Callable[[Address], str]) -> str:
    """A sum in words, each size followed by the figure that ``sizes`` gives for it."""
    match node:
        case Number(_, text):
            return text
        case Size(address):
            figure = sizes(address)
            return f"{address} {figure}" if figure else str(address)
        case Minus(inner):
            return f"-({written(inner, sizes)})" if isinstance(inner, Sum) else f"-{written(inner, sizes)}"
        case Sum(mark, left, right):
            one, two = written(left, sizes), written(right, sizes)
            if mark in "*/" or mark == "**":
                one = f"({one})" if isinstance(left, Sum) and left.mark in "+-" else one
                two = f"({two})" if isinstance(right, Sum) and right.mark != "**" else two
            elif mark == "-" and isinstance(right, Sum) and right.mark in "+-":
                two = f"({two})"
            return f"{one} {mark} {two}"
        case Call(function, inner):
            return f"{function}({', '.join(written(each, sizes) for each in inner)})"


@dataclass(frozen=True, slots=True)
class Share:
    """How much of the spread one cause brings, 0 to 1."""

    cause: str
    share: float


@dataclass(frozen=True, slots=True)
class Finding:
    """What comes of looking at one requirement: value, limits, margin, verdict, worst case, chance, shares."""

    code: str
    subject: str
    verdict: Verdict
    value: float | None
    low: float | None
    high: float | None
    margin: float | None
    worst_low: float | None
    worst_high: float | None
    chance: float | None
    shares: tuple[Share, ...]
    working: str
    source: str
    unit: Unit = "mm"
    drawn_only: bool = False
    missing: tuple[str, ...] = ()
    plays: tuple[str, ...] = ()

    @property
    def worst(self) -> float | None:
        """The worse end of the worst case: that with the smaller margin."""
        if self.worst_low is None or self.worst_high is None:
            return None
        below = math.inf if self.low is None else self.worst_low - self.low
        above = math.inf if self.high is None else self.high - self.worst_high
        return self.worst_low if below <= above else self.worst_high
