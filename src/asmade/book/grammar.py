"""The one grammar of every sum in a book: chains, walls, plays and formulas.

``+ - * / ** ( )``, numbers with a unit where they are lengths or angles (``0.25 mm``, ``0.5 in``, ``10 thou``,
``90 deg``), addresses, and ``sin cos tan asin acos atan sqrt hypot atan2``. Angles are radians inside and are always
written with ``deg``. Lengths are millimetres inside.

A sum is read into a small tree. `linear` turns it into exact coefficients where it is linear; `evaluate` and
`gradient` work on floats or numpy arrays, so one tree serves one engine and a hundred thousand sampled ones.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any, Final

from asmade.book.address import DIMENSION, NAME, PLACE, Address, read_address
from asmade.measure.errors import Refused

UNITS: Final[Mapping[str, Fraction]] = {
    "mm": Fraction(1),
    "in": Fraction(254, 10),
    "inch": Fraction(254, 10),
    "thou": Fraction(254, 10_000),
    "deg": Fraction(math.pi) / 180,
}
FUNCTIONS: Final[Mapping[str, int]] = {
    "sin": 1, "cos": 1, "tan": 1, "asin": 1, "acos": 1, "atan": 1, "sqrt": 1, "hypot": 2, "atan2": 2,
}  # fmt: skip
_TOKEN = re.compile(
    rf"\s*(?:(?P<number>\d+\.?\d*(?:[eE][-+]?\d+)?|\.\d+)|"
    rf"(?P<name>{NAME}(?:[@#]{PLACE})?(?:\.{DIMENSION})?)|(?P<mark>\*\*|[-+*/(),]))",
)
MAX_TEXT = 2_000
MAX_DEPTH = 60
MAX_EXPONENT = 30
"""No figure of an engine needs more; without a bound ``1e999999999`` would be written out digit by digit."""
MAX_BITS = 1_000
"""Exact figures longer than this many binary digits do not go into a float: such a sum counts as not linear."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number, exact; with a unit it is mm or radians."""

    value: Fraction
    text: str


@dataclass(frozen=True, slots=True)
class Size:
    """A size or figure by its address."""

    address: Address


@dataclass(frozen=True, slots=True)
class Sum:
    """Two trees joined by ``+ - * / **``."""

    mark: str
    left: Node
    right: Node


@dataclass(frozen=True, slots=True)
class Minus:
    """The opposite of a tree."""

    inner: Node


@dataclass(frozen=True, slots=True)
class Call:
    """A named function of one or two trees."""

    function: str
    inner: tuple[Node, ...]


Node = Number | Size | Sum | Minus | Call


class _Reader:
    """Recursive descent over the tokens of one text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens: list[tuple[str, str]] = []
        at = 0
        stripped = text.rstrip()
        while at < len(stripped):
            found = _TOKEN.match(stripped, at)
            if found is None or found.end() == at:
                raise self.refuse(f"{stripped[at:].strip()[:12]!r} is not part of a sum")
            kind = found.lastgroup or ""
            self.tokens.append((kind, found[kind]))
            at = found.end()
        self.at = 0
        self.depth = 0

    def refuse(self, reason: str) -> Refused:
        return Refused(
            "sum", got=self.text, reason=reason,
            way_out="use + - * / ** ( ), addresses, numbers with a unit, "
            "and sin cos tan asin acos atan sqrt hypot atan2",
        )  # fmt: skip

    def peek(self) -> str:
        return self.tokens[self.at][1] if self.at < len(self.tokens) else ""

    def take(self) -> tuple[str, str]:
        if self.at >= len(self.tokens):
            raise self.refuse("it ends too early")
        self.at += 1
        return self.tokens[self.at - 1]

    def whole(self) -> Node:
        node = self.terms()
        if self.at != len(self.tokens):
            raise self.refuse(f"{self.peek()!r} is not expected there")
        return node

    def terms(self) -> Node:
        self.depth += 1
        if self.depth > MAX_DEPTH:
            raise self.refuse(f"brackets are nested more than {MAX_DEPTH} deep")
        node = self.factors()
        while self.peek() in ("+", "-"):
            mark = self.take()[1]
            node = Sum(mark, node, self.factors())
        self.depth -= 1
        return node

    def factors(self) -> Node:
        node = self.signed()
        while self.peek() in ("*", "/"):
            mark = self.take()[1]
            right = self.signed()
            if mark == "/" and isinstance(right, Number) and " " in right.text:
                raise self.refuse(
                    f"dividing by {right.text!r}: it is not clear whether the unit belongs to the whole fraction",
                )
            node = Sum(mark, node, right)
        return node

    def signed(self) -> Node:
        marks = 0
        while self.peek() in ("+", "-"):
            marks += self.take()[1] == "-"
        node = self.power()
        return Minus(node) if marks % 2 else node

    def power(self) -> Node:
        node = self.single()
        if self.peek() == "**":
            self.take()
            kind, text = self.take()
            if kind != "number" or not text.isdigit() or int(text) > 9:
                raise self.refuse("a power is a whole number from 0 to 9")
            node = Sum("**", node, Number(Fraction(text), text))
        return node

    def single(self) -> Node:
        kind, text = self.take()
        if kind == "number":
            return self.number(text)
        if kind == "name":
            if self.peek() == "(":
                return self.call(text)
            return Size(read_address(text))
        if text == "(":
            node = self.terms()
            if self.take()[1] != ")":
                raise self.refuse("a bracket is not closed")
            return node
        raise self.refuse(f"{text!r} is not expected there")

    def number(self, text: str) -> Number:
        _, exponent, power = text.lower().partition("e")
        if exponent and abs(int(power[:6])) > MAX_EXPONENT:
            raise self.refuse(f"{text!r} is beyond any figure of an engine")
        unit = self.peek()
        if unit in UNITS:
            self.take()
            return Number(Fraction(text) * UNITS[unit], f"{text} {unit}")
        return Number(Fraction(text), text)

    def call(self, name: str) -> Node:
        if name not in FUNCTIONS:
            raise self.refuse(f"there is no function {name!r}")
        self.take()
        inner = [self.terms()]
        while self.peek() == ",":
            self.take()
            inner.append(self.terms())
        if self.take()[1] != ")":
            raise self.refuse("a bracket is not closed")
        if len(inner) != FUNCTIONS[name]:
            raise self.refuse(f"{name} takes {FUNCTIONS[name]}, not {len(inner)}")
        return Call(name, tuple(inner))


@lru_cache(maxsize=20_000)
def read_sum(text: str) -> Node:
    """Read a sum into its tree; raises `Refused` with the text, the reason and what may be used."""
    if not text.strip():
        raise Refused("sum", got=text, reason="it is empty", way_out="write a sum such as wheel.bore - axle.seat")
    if len(text) > MAX_TEXT:
        raise Refused("sum", got=text[:40] + "...", reason=f"it is longer than {MAX_TEXT} characters")
    return _Reader(text).whole()


def addresses(node: Node) -> Iterator[Address]:
    """All addresses in the order they are written, repeats included."""
    match node:
        case Size(address):
            yield address
        case Minus(inner):
            yield from addresses(inner)
        case Sum(_, left, right):
            yield from addresses(left)
            yield from addresses(right)
        case Call(_, inner):
            for each in inner:
                yield from addresses(each)
        case Number():
            return


@dataclass(frozen=True, slots=True)
class Linear:
    """A linear sum, exact: coefficient by address, and a constant in mm (or radians)."""

    terms: Mapping[Address, Fraction]
    constant: Fraction

    def scaled(self, by: Fraction) -> Linear:
        """Give the same sum times a number."""
        if by == -1:
            return Linear({a: -k for a, k in self.terms.items()}, -self.constant)
        return Linear({a: k * by for a, k in self.terms.items()}, self.constant * by)

    def plus(self, other: Linear) -> Linear:
        """Give the sum of the two; terms that cancel are left out."""
        terms = dict(self.terms)
        for address, by in other.terms.items():
            held = terms.get(address)
            terms[address] = by if held is None else held + by
        constant = (
            self.constant + other.constant if self.constant and other.constant else self.constant or other.constant
        )
        return Linear({a: k for a, k in terms.items() if k}, constant)


_ONE: Final = Fraction(1)
_NOTHING: Final = Fraction(0)


def linear(node: Node) -> Linear | None:
    """Exact coefficients where the tree is linear in its sizes, else None.

    Anchor: ``0.5 * a - (b - 2 mm) / 4`` gives a 1/2, b -1/4, constant 1/2 (by hand).
    """
    match node:
        case Number(value):
            return Linear({}, value)
        case Size(address):
            return Linear({address: _ONE}, _NOTHING)
        case Minus(inner):
            found = linear(inner)
            return None if found is None else found.scaled(Fraction(-1))
        case Sum(mark, left, right):
            one, two = linear(left), linear(right)
            if one is None or two is None:
                return None
            joined = _join(mark, one, two)
            return joined if joined is not None and _goes_into_floats(joined) else None
        case Call():
            return None


def _goes_into_floats(total: Linear) -> bool:
    figures = (*total.terms.values(), total.constant)
    return all(max(k.numerator.bit_length(), k.denominator.bit_length()) <= MAX_BITS for k in figures)


def _join(mark: str, one: Linear, two: Linear) -> Linear | None:
    if mark == "+":
        return one.plus(two)
    if mark == "-":
        return one.plus(two.scaled(Fraction(-1)))
    if mark == "*" and not two.terms:
        return one.scaled(two.constant)
    if mark == "*" and not one.terms:
        return two.scaled(one.constant)
    if mark == "/" and not two.terms and two.constant:
        return one.scaled(1 / two.constant)
    if mark == "**" and not one.terms:
        return Linear({}, one.constant ** int(two.constant))
    if mark == "**" and two.constant == 1:
        return one
    return None


def evaluate(node: Node, sizes: Callable[[Address], Any]) -> Any:
    """Evaluate on floats or numpy arrays; ``sizes`` gives the value (mm, rad) of an address.

    A root or arc of something outside its range, and what is too large for a float, give NaN: the caller names the
    sum and says what is wrong.
    """
    import numpy as np  # noqa: PLC0415  # a quick command that only reads a sum needs no numpy

    def go(here: Node) -> Any:
        match here:
            case Number(value):
                return float(value)
            case Size(address):
                return sizes(address)
            case Minus(inner):
                return -go(inner)
            case Sum(mark, left, right):
                return _DO[mark](go(left), go(right))
            case Call(function, inner):
                return getattr(np, _NUMPY_NAMES.get(function, function))(*(go(each) for each in inner))

    with np.errstate(all="ignore"):
        try:
            found = go(node)
        except OverflowError:  # of a plain float; arrays give inf
            return math.nan
    return found


_NUMPY_NAMES = {"asin": "arcsin", "acos": "arccos", "atan": "arctan", "atan2": "arctan2"}


def _divide(one: Any, two: Any) -> Any:
    import numpy as np  # noqa: PLC0415

    return np.divide(one, two)


_DO: Final[Mapping[str, Callable[[Any, Any], Any]]] = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "/": _divide,
    "**": lambda a, b: a ** int(b),
}


def gradient(node: Node, sizes: Callable[[Address], float]) -> tuple[float, dict[Address, float]]:
    """Value and rate of change with respect to every address, by forward differentiation (exact to rounding).

    Where there is no value (see `evaluate`) or no rate, NaN. Anchor: ``hypot(a, b)`` at 3 and 4 gives 5 with rates 0.6
    and 0.8 (by hand).
    """
    try:
        value, rates = _gradient(node, sizes)
    except (OverflowError, ZeroDivisionError):
        return math.nan, dict.fromkeys(addresses(node), math.nan)
    return value, rates


def _gradient(node: Node, sizes: Callable[[Address], float]) -> tuple[float, dict[Address, float]]:
    match node:
        case Number(value):
            return float(value), {}
        case Size(address):
            return float(sizes(address)), {address: 1.0}
        case Minus(inner):
            at, rates = _gradient(inner, sizes)
            return -at, {a: -r for a, r in rates.items()}
        case Sum(mark, left, right):
            (a, da), (b, db) = _gradient(left, sizes), _gradient(right, sizes)
            at, by_a, by_b = _sum_rates(mark, a, b)
            return at, _mix(da, by_a, db, by_b)
        case Call(function, several):
            parts = [_gradient(each, sizes) for each in several]
            at, by_each = _call_rates(function, [p[0] for p in parts])
            mixed: dict[Address, float] = {}
            for (_, inner_rates), by in zip(parts, by_each, strict=True):
                mixed = _mix(mixed, 1.0, inner_rates, by)
            return at, mixed


def _mix(
    one: Mapping[Address, float], by_one: float, two: Mapping[Address, float], by_two: float
) -> dict[Address, float]:
    mixed = {a: r * by_one for a, r in one.items()}
    for address, rate in two.items():
        mixed[address] = mixed.get(address, 0.0) + rate * by_two
    return mixed


def _sum_rates(mark: str, a: float, b: float) -> tuple[float, float, float]:
    if mark == "+":
        return a + b, 1.0, 1.0
    if mark == "-":
        return a - b, 1.0, -1.0
    if mark == "*":
        return a * b, b, a
    if mark == "/":
        return (a / b, 1 / b, -a / b**2) if b else (math.nan, math.nan, math.nan)
    power = int(b)
    return a**power, (power * a ** (power - 1) if power else 0.0), 0.0


def _call_rates(function: str, at: list[float]) -> tuple[float, tuple[float, ...]]:
    x = at[0]
    try:
        match function:
            case "sin":
                return math.sin(x), (math.cos(x),)
            case "cos":
                return math.cos(x), (-math.sin(x),)
            case "tan":
                return math.tan(x), (1 + math.tan(x) ** 2,)
            case "asin":
                return math.asin(x), (1 / math.sqrt(1 - x * x),)
            case "acos":
                return math.acos(x), (-1 / math.sqrt(1 - x * x),)
            case "atan":
                return math.atan(x), (1 / (1 + x * x),)
            case "sqrt":
                return math.sqrt(x), (0.5 / math.sqrt(x),)
            case "hypot":
                length = math.hypot(x, at[1])
                return length, (x / length, at[1] / length)
            case _:
                square = x * x + at[1] * at[1]
                return math.atan2(x, at[1]), (at[1] / square, -x / square)
    except (ValueError, ZeroDivisionError):
        return math.nan, (math.nan,) * len(at)
