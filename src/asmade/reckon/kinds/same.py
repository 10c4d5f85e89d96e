"""A same: sizes equal on purpose, within an amount; for threads, the same callout."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import Any

from asmade.book.address import Address, spread_out
from asmade.book.grammar import Linear, Size, Sum
from asmade.book.kinds import Kind
from asmade.book.model import Relation
from asmade.book.sizes import read_limit
from asmade.measure.errors import Refused
from asmade.reckon.requirement import Limits, Row, SumRequirement, Unit
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "same"
HELP = "sizes equal on purpose: of (a list of addresses), within; threads: the same callout"


@dataclass(frozen=True, slots=True)
class SameThread:
    """Threads of one callout: no number, so no sum; it holds when all callouts known are alike."""

    code: str
    subject: str
    group: str
    reads: tuple[Address, ...]
    source: str
    limits: Limits = Limits()  # noqa: RUF009  # frozen
    plays: tuple[str, ...] = ()
    to_suit: Address | None = None
    unit: Unit = ""

    def evaluate(self, sizes: Callable[[Address], Any]) -> Any:  # noqa: ARG002  # the shape of a requirement
        """A callout has no value."""
        return None

    def linear(self, at: Callable[[Address], float] | None = None) -> Row | None:  # noqa: ARG002
        """A callout has no rates."""
        return None

    def working(self, sizes: Callable[[Address], str]) -> str:
        """``pin thread 5 BA = cap thread 5 BA``."""
        return " = ".join(f"{address} {sizes(address)}".strip() for address in self.reads)


def requirements(relation: Relation, scope: Scope) -> Iterator[SumRequirement | SameThread]:
    """Every pair of its members; the finding is that of the worst pair."""
    only(relation, "of", "within", "checked")
    members = relation.fields.get("of")
    where = f"same {relation.name!r}"
    if not isinstance(members, list | tuple) or (len(members) < 2 and not relation.places):
        raise Refused(where, got=members, reason="it needs two addresses or more",
                      way_out='write of = ["wheel@1L.crank_radius", "wheel@1R.crank_radius"]')  # fmt: skip
    for place in places_of(relation):
        found = [scope.address(spread_out(str(text), place), place, relation) for text in members]
        subject = subject_at(relation, place)
        kinds = {_kind(scope, address) for address in found}
        if any(kind and kind.thread for kind in kinds):
            if not all(kind and kind.thread for kind in kinds):
                raise Refused(where, got=members, reason="a thread cannot be the same as a length")
            yield SameThread(KIND, subject, subject, tuple(found), relation.text("source") or "equal on purpose")
            continue
        yield from _pairs(relation, found, subject, scope)


def _kind(scope: Scope, address: Address) -> Kind | None:
    dimension = scope.dimension(address)
    return dimension.of_kind if dimension else None


def _pairs(relation: Relation, found: list[Address], subject: str, scope: Scope) -> Iterator[SumRequirement]:
    unit = scope.unit(Size(found[0]))
    exact = read_limit(relation.text("within"), angle=unit == "rad", thing=f"same {relation.name!r} within")
    if exact is not None and exact < 0:
        raise Refused(f"same {relation.name!r} within", got=relation.text("within"), reason="it is negative")
    within = None if exact is None else _inside(float(exact), unit)
    limits = Limits(
        None if within is None else -within, within,
        relation.text("source") or ("equal on purpose, set by the builder" if within is not None else "no limit set"),
    )  # fmt: skip
    for one, two in combinations(dict.fromkeys(found), 2):
        yield SumRequirement(
            KIND, subject, subject, Sum("-", Size(one), Size(two)), limits, unit=unit,
            exact=Linear({one: Fraction(1), two: Fraction(-1)}, Fraction(0)),
        )  # fmt: skip


def _inside(value: float, unit: Unit) -> float:
    from math import radians  # noqa: PLC0415

    return radians(value) if unit == "rad" else value
