"""A wall: metal or room that must be left, as any sum of sizes, linear or not."""

from __future__ import annotations

from collections.abc import Iterator

from asmade.book.model import Relation
from asmade.reckon.kinds.chain import plays_against
from asmade.reckon.requirement import SumRequirement, as_linear
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "wall"
HELP = "metal or room that must be left, any sum: is, least, most, against (plays)"


def requirements(relation: Relation, scope: Scope) -> Iterator[SumRequirement]:
    """One requirement at each of its places."""
    only(relation, "is", "least", "most", "against", "unit")
    for place in places_of(relation):
        node = scope.node(relation.fields.get("is"), place, relation)
        against = plays_against(relation, place, scope)
        unit = scope.unit(node)
        subject = subject_at(relation, place)
        yield SumRequirement(
            KIND, subject, subject, node, scope.limits(relation, unit=unit), against=against, unit=unit,
            exact=as_linear(node, against),
        )  # fmt: skip
