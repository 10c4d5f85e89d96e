"""A play: freedom computed from sizes; it must be enough and not too much. In chains it takes its worst place."""

from __future__ import annotations

from collections.abc import Iterator

from asmade.book.model import Relation
from asmade.reckon.requirement import SumRequirement, as_linear
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "play"
HELP = "freedom computed from sizes: each_way, least, most"


def requirements(relation: Relation, scope: Scope) -> Iterator[SumRequirement]:
    """One requirement at each of its places: the freedom each way, within its limits."""
    only(relation, "each_way", "least", "most", "to_suit")
    for place in places_of(relation):
        node = scope.node(relation.fields.get("each_way"), place, relation)
        subject = subject_at(relation, place)
        to_suit = scope.address(relation.text("to_suit"), place, relation) if relation.text("to_suit") else None
        unit = scope.unit(node)
        yield SumRequirement(
            KIND, subject, subject, node, scope.limits(relation, unit=unit), unit=unit, exact=as_linear(node),
            to_suit=to_suit,
        )  # fmt: skip
