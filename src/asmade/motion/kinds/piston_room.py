"""Room between piston and cylinder covers at both ends of the stroke, by bumping marks or by the sizes behind them.

    [[piston_room]]
    name = "room for the piston"
    places = ["L", "R"]
    least = "0.50 mm"
    most = "1.40 mm"
    front = "bumping_marks@{side}.front"         # where the gudgeon pin stands, piston against the front cover
    back = "bumping_marks@{side}.back"           # the same against the rear cover; both ahead of the driven axle
    rod = "connecting_rod@{side}.centres"
    crank = "wheel@2{side}.crank_radius"
    off = "..."                                  # how far the cylinder line passes the axle, where it does
    against = ["..."]                            # plays taken at their worst
    to_suit = "connecting_rod@{side}.centres"

Room at the front is the front mark less how far the gudgeon pin goes, sqrt((rod + crank)^2 - off^2); at the back
sqrt((rod - crank)^2 - off^2) less the back mark. Where the book computes the marks from cylinder, covers, piston and
piston rod, they are those sums until somebody reads them on the engine. What it leaves out is found by the kits' names.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from asmade.book.grammar import Node
from asmade.book.model import Relation
from asmade.measure.errors import Refused, Unknown
from asmade.reckon.kinds.chain import plays_against
from asmade.reckon.requirement import SumRequirement, as_linear
from asmade.reckon.scope import Scope, only, places_of

KIND = "piston_room"
HELP = "room between piston and covers: front, back (bumping marks), rod, crank, off, least, most, against, to_suit"
ENDS: Final = ("front", "back")
NAMES: Final = {
    "front": "bumping_marks@{side}.front",
    "back": "bumping_marks@{side}.back",
    "rod": "connecting_rod@{side}.centres",
    "crank": "wheel@<driven>{side}.crank_radius",
}
"""Where each sum is found that the relation does not say."""


def texts_of(relation: Relation, scope: Scope) -> dict[str, str]:
    """Every sum as written: said, or by the names of the kits."""
    driven = scope.design.places.driven
    found = {key: relation.text(key) or name.replace("<driven>", driven) for key, name in NAMES.items()}
    return {**found, "off": relation.text("off")}


def requirements(relation: Relation, scope: Scope) -> Iterator[SumRequirement]:
    """Two at each side: the room at the front and at the back."""
    only(relation, *NAMES, "off", "least", "most", "against", "to_suit")
    texts = texts_of(relation, scope)
    for place in places_of(relation):
        if place not in ("L", "R"):
            raise Refused(f"{KIND} {relation.name!r}", got=place or "no place", reason="a cylinder stands at a side",
                          way_out='write places = ["L", "R"]')  # fmt: skip
        limits = scope.limits(relation)
        suits = relation.text("to_suit")
        to_suit = scope.address(suits, place, relation) if suits else None
        against = plays_against(relation, place, scope)
        for end in ENDS:
            subject = f"{relation.name}, {end}@{place}"
            node = _node(relation, scope, place, texts, end)
            yield SumRequirement(
                KIND, subject, subject, node, limits, against=against, to_suit=to_suit, exact=as_linear(node, against)
            )


def _node(relation: Relation, scope: Scope, place: str, texts: dict[str, str], end: str) -> Node:
    sense = "+" if end == "front" else "-"
    goes = f"(({texts['rod']}) {sense} ({texts['crank']}))"
    if texts["off"]:
        goes = f"sqrt({goes} ** 2 - ({texts['off']}) ** 2)"
    text = f"({texts['front']}) - {goes}" if end == "front" else f"{goes} - ({texts['back']})"
    try:
        return scope.node(text, place, relation)
    except Unknown as fault:
        raise Unknown(f"{KIND} {relation.name!r}", got=fault.message, way_out="say front, back, rod and crank as sums "
                      "of addresses, or build on the kits' parts (`asmade new`)") from fault  # fmt: skip
