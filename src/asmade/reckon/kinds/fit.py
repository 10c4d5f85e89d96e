"""A fit: hole less shaft, on diameter (or on the whole width), within what the words, the class or the builder want."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from asmade.book.address import Address
from asmade.book.grammar import Linear, Size, Sum
from asmade.book.model import Relation
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.requirement import Limits, SumRequirement
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "fit"
HELP = "hole less shaft on diameter: hole, shaft, want (words or class) or least and most, to_suit"
TO_SUIT = ("hole", "shaft")


def requirements(relation: Relation, scope: Scope) -> Iterator[SumRequirement]:
    """One requirement at each of its places; positive = clearance, negative = tight by so much."""
    only(relation, "hole", "shaft", "want", "least", "most", "to_suit", "adhesive")
    where = f"fit {relation.name!r}"
    suits = relation.text("to_suit")
    if suits and suits not in TO_SUIT:
        raise Unknown(f"{where} to_suit", got=suits, near=near(suits, TO_SUIT), way_out='write "hole" or "shaft"')
    for place in places_of(relation):
        for key in ("hole", "shaft"):
            if not relation.text(key):
                raise Refused(where, got=dict(relation.fields), reason=f"{key} is missing")
        hole = scope.address(relation.text("hole"), place, relation)
        shaft = scope.address(relation.text("shaft"), place, relation)
        if hole == shaft:
            raise Refused(where, got=str(hole), reason="hole and shaft are one and the same size",
                          way_out="name the two that go together")  # fmt: skip
        subject = subject_at(relation, place)
        yield SumRequirement(
            KIND, subject, subject, Sum("-", Size(hole), Size(shaft)), limits(relation, hole, shaft, scope),
            to_suit={"hole": hole, "shaft": shaft}.get(suits),
            exact=Linear({hole: Fraction(1), shaft: Fraction(-1)}, Fraction(0)),
        )  # fmt: skip


def limits(relation: Relation, hole: Address, shaft: Address, scope: Scope) -> Limits:
    """The builder's own least and most rule; each side he leaves open comes from the words or class wanted."""
    own = scope.limits(relation)
    want = relation.text("want")
    if not want:
        if own.low is None and own.high is None:
            raise Refused(
                f"fit {relation.name!r}", got=dict(relation.fields), reason="it says neither want nor least and most",
                way_out='add want = "running", "push", "press", "bonded" or a class such as "H7/g6"',
            )  # fmt: skip
        return own
    wanted = _wanted(relation, want, hole, shaft, scope)
    return Limits(
        wanted.low if own.low is None else own.low,
        wanted.high if own.high is None else own.high,
        wanted.source if own.low is None and own.high is None else f"{own.source}; {want}: {wanted.source}",
    )


def _wanted(relation: Relation, want: str, hole: Address, shaft: Address, scope: Scope) -> Limits:
    from asmade.standards.fits import wanted  # noqa: PLC0415  # only books with fits by words need the tables

    if want == "bonded":
        named = relation.text("adhesive")
        shelf = scope.shop.adhesives
        if named and named not in shelf:
            raise Unknown(f"fit {relation.name!r} adhesive", got=named, near=near(named, shelf),
                          way_out="enter its data sheet with `asmade shop`")  # fmt: skip
        adhesive = shelf.get(named) or (next(iter(shelf.values())) if len(shelf) == 1 else None)
        if adhesive is not None:
            return Limits(adhesive.gap_least_mm, adhesive.gap_most_mm,
                          f"{adhesive.name}: gap on diameter, typed in from its data sheet")  # fmt: skip
    diameter = scope.paper.get(hole, scope.paper.get(shaft))
    if diameter is None:
        return Limits(source=f"{want}: not known until the hole or the shaft has a size")
    found = wanted(want, diameter)
    return Limits(found.least_mm, found.most_mm, found.source)
