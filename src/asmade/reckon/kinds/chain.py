"""A chain: a linear sum of sizes that must lie within limits, at the worst of the plays that go against it."""

from __future__ import annotations

from collections.abc import Iterator

from asmade.book.address import spread_out
from asmade.book.grammar import Node
from asmade.book.model import Relation
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.requirement import SumRequirement, as_linear
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "chain"
HELP = "a linear sum of sizes within limits: is, least, most, against (plays), to_suit"


def requirements(relation: Relation, scope: Scope) -> Iterator[SumRequirement]:
    """One requirement at each of its places."""
    only(relation, "is", "least", "most", "against", "to_suit", "unit")
    for place in places_of(relation):
        node = scope.node(relation.fields.get("is"), place, relation)
        against = plays_against(relation, place, scope)
        exact = as_linear(node, against)
        if exact is None:
            raise Refused(
                f"chain {relation.name!r} at {place or 'engine'}", got=relation.text("is"),
                reason="a chain must come out linear: each size times a number, added up",
                way_out="write what is not linear as a [[wall]], or give it a name with a [[formula]]",
            )  # fmt: skip
        unit = scope.unit(node)
        limits = scope.limits(relation, unit=unit)
        to_suit = None
        if relation.text("to_suit"):
            to_suit = scope.address(relation.text("to_suit"), place, relation)
        yield SumRequirement(
            KIND, subject_at(relation, place), subject_at(relation, place), node, limits,
            against=against, to_suit=to_suit, unit=unit, exact=exact,
        )  # fmt: skip


def plays_against(relation: Relation, place: str, scope: Scope) -> tuple[tuple[str, Node], ...]:
    """The plays named in ``against``, each with its sum; one that is not there is refused by name."""
    named = relation.fields.get("against", ())
    found = []
    for text in (named,) if isinstance(named, str) else named:
        name = spread_out(str(text), place)
        if name not in scope.plays:
            raise Unknown(
                f"{relation.kind} {relation.name!r}: play", got=name, near=near(name, scope.plays),
                way_out=f"plays are: {', '.join(scope.plays) or 'none yet'}",
            )  # fmt: skip
        found.append((name, scope.plays[name]))
    return tuple(found)
