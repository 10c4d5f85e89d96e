"""What a name in a relation means: from the text of a sum at a place to a tree of sizes that exist.

Every kind of requirement reads its sums through a `Scope`, so an address that is not there is refused in one way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from asmade.book.address import Address, read_address, spread_out
from asmade.book.grammar import Call, Minus, Node, Number, Size, Sum, read_sum
from asmade.book.model import Design, Dimension, Relation, Shop
from asmade.book.sizes import read_limit
from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.reckon.requirement import Limits, Unit, written


@dataclass(frozen=True)
class Scope:
    """The sizes, figures, quantities and plays that relations may speak of, and what each means.

    ``callouts`` are the threads in force, by seat: chosen, else drawn.
    """

    design: Design
    shop: Shop
    paper: Mapping[Address, float]
    quantities: Mapping[Address, Unit] = field(default_factory=dict)
    plays: Mapping[str, Node] = field(default_factory=dict)
    callouts: Mapping[Address, str] = field(default_factory=dict)

    @cached_property
    def quantity_names(self) -> frozenset[str]:
        """Names of quantities that formulas give and that belong to no part."""
        return frozenset(address.part for address in self.quantities)

    def address(self, text: str, place: str, relation: Relation) -> Address:
        """One address of a relation at a place, made whole and checked to exist."""
        return self.resolve(read_address(spread_out(text, place)), relation)

    def resolve(self, address: Address, relation: Relation | None = None) -> Address:
        """Give an address its only place where it has but one; refuse what is not there, with the near names."""
        where = f"{relation.kind} {relation.name!r}" if relation else "address"
        part = self.design.parts.get(address.part)
        if part is None:
            return self._figure_or_quantity(address, where)
        if not address.dim:
            raise Refused(where, got=str(address), reason="it names a part but no dimension of it")
        if address.mark:
            raise Refused(where, got=str(address), reason="a relation speaks of places, not of marks",
                          way_out=f"write {part.name}@PLACE.{address.dim}")  # fmt: skip
        if not address.place:
            if len(part.places) != 1:
                raise Refused(where, got=str(address), reason=f"{part.name} sits at {', '.join(part.places)}: which?",
                              way_out=f"write {part.name}@{part.places[0]}.{address.dim}")  # fmt: skip
            address = Address(part.name, part.places[0], dim=address.dim)
        if address.place not in part.places:
            raise Unknown(f"{where}: place of {part.name}", got=address.place, near=near(address.place, part.places),
                          way_out=f"{part.name} sits at {', '.join(part.places)}")  # fmt: skip
        if address.dim not in part.dims and self.thread_of(address) is None:
            raise Unknown(f"{where}: dimension of {part.name}", got=address.dim, near=near(address.dim, part.dims),
                          way_out=f"it has {', '.join(part.dims) or 'none yet'}")  # fmt: skip
        return address

    def _figure_or_quantity(self, address: Address, where: str) -> Address:
        if address in self.quantities:
            return address
        if not address.place and not address.dim and address.part in self.design.figures:
            return address
        known = {*self.design.parts, *self.design.figures, *self.quantity_names}
        if address.part in self.quantity_names:
            at = sorted(a.place for a in self.quantities if a.part == address.part)
            raise Unknown(f"{where}: {address.part}", got=str(address), way_out=f"it is given at {', '.join(at)}")
        raise Unknown(f"{where}: size or figure", got=str(address), near=near(address.part, known),
                      way_out="name a part's dimension, a figure, or what a formula gives")  # fmt: skip

    def thread_of(self, address: Address) -> Address | None:
        """The thread whose derived diameter an address names (``cap_thread.major`` of ``cap_thread.callout``)."""
        stem, _, last = address.dim.rpartition(".")
        if last not in THREAD_FIGURES:
            return None
        part = self.design.parts.get(address.part)
        for name in (f"{stem}.callout", stem):
            if part and name in part.dims and part.dims[name].of_kind.thread:
                return Address(address.part, address.place, address.mark, name)
        return None

    def node(self, text: object, place: str, relation: Relation) -> Node:
        """Read a sum of a relation at a place, every address checked."""
        if not isinstance(text, str):
            raise Refused(f"{relation.kind} {relation.name!r}", got=text, reason="it should be a sum in quotes")
        try:
            found = self._checked(read_sum(spread_out(text, place)), relation)
            self._dimension_of(found)
        except AsmadeError as fault:
            if fault.message.startswith(relation.kind):
                raise
            reason = fault.reason if isinstance(fault, Refused) and fault.thing == "sum" else fault.message
            raise Refused(f"{relation.kind} {relation.name!r}{f' at {place}' if place else ''}", got=text,
                          reason=reason, way_out=fault.way_out) from fault  # fmt: skip
        return found

    def _dimension_of(self, node: Node) -> str:
        """``mm``, ``rad`` or ``?`` (a bare number, a figure, a product); refuses a length added to an angle."""
        match node:
            case Size(address):
                known = self.dimension(address) is not None or self.quantities.get(address) == "rad"
                return self.unit(node) if known else "?"
            case Number(_, text):
                _, _, unit = text.partition(" ")
                return "rad" if unit == "deg" else "mm" if unit else "?"
            case Minus(inner):
                return self._dimension_of(inner)
            case Call(function, inner):
                for each in inner:
                    self._dimension_of(each)
                return "rad" if function.startswith("a") else "?"
            case Sum(mark, left, right):
                one, two = self._dimension_of(left), self._dimension_of(right)
                if mark not in "+-":
                    if mark == "*" and isinstance(left, Number) and one == "?":
                        return two
                    return one if mark in "*/" and isinstance(right, Number) and two == "?" else "?"
                if {one, two} == {"mm", "rad"}:
                    raise Refused("sum", got=written(node, lambda _: ""), reason="it adds a length and an angle",
                                  way_out="turn the angle into a length first, by sin, cos or tan")  # fmt: skip
                return two if one == "?" else one

    def _checked(self, node: Node, relation: Relation) -> Node:
        match node:
            case Number():
                return node
            case Size(address):
                return Size(self.resolve(address, relation))
            case Minus(inner):
                return Minus(self._checked(inner, relation))
            case Sum(mark, left, right):
                return Sum(mark, self._checked(left, relation), self._checked(right, relation))
            case Call(function, inner):
                return Call(function, tuple(self._checked(each, relation) for each in inner))

    def dimension(self, address: Address) -> Dimension | None:
        """The dimension behind an address, or None for figures and quantities."""
        return self.design.dimension(address)

    def unit(self, node: Node) -> Unit:
        """``rad`` if the first size in the sum is an angle and the sum does not go through a function, else ``mm``."""
        match node:
            case Size(address):
                dimension = self.dimension(address)
                if dimension is not None:
                    return "rad" if dimension.of_kind.angle else "mm"
                figure = self.design.figures.get(address.part)
                if figure is not None:
                    return unit_of_figure(figure.kind)
                return self.quantities.get(address, "mm")
            case Minus(inner):
                return self.unit(inner)
            case Sum(mark, left, right):
                if mark == "*" and isinstance(left, Number):
                    return self.unit(right)
                return self.unit(left)
            case Call(function, inner):
                return "rad" if function.startswith("a") else "mm" if function in ("hypot", "sqrt") else ""
            case Number():
                return "mm"

    def limits(self, relation: Relation, *, source: str = "", low: str = "least", high: str = "most",
               unit: Unit = "mm") -> Limits:  # fmt: skip
        """Read the least and most of a relation; ``source`` of the relation, else the given one, else "the builder"."""
        where = f"{relation.kind} {relation.name!r}"
        found = []
        for key in (low, high):
            exact = read_limit(relation.text(key), angle=unit == "rad", thing=f"{where} {key}")
            found.append(None if exact is None else _inside(float(exact), unit))
        if found[0] is not None and found[1] is not None and found[0] > found[1]:
            raise Refused(where, got=f"{low} {relation.text(low)}, {high} {relation.text(high)}",
                          reason="least is more than most", way_out="exchange the two")  # fmt: skip
        return Limits(found[0], found[1], relation.text("source") or source or "set by the builder")


def _inside(value: float, unit: Unit) -> float:
    from math import radians  # noqa: PLC0415

    return radians(value) if unit == "rad" else value


def unit_of_figure(kind: str) -> Unit:
    """Unit inside of a figure by its kind; none for ratios and plain numbers."""
    units: dict[str, Unit] = {"angle": "rad", "length": "mm", "pressure": "MPa", "force": "N", "torque": "N mm",
                              "mass": "kg", "temperature": "degC", "speed": "rpm"}  # fmt: skip
    return units.get(kind, "")


THREAD_FIGURES = ("major", "effective", "core", "pitch")


def only(relation: Relation, *fields: str) -> None:
    """Refuse fields of a relation that its kind does not know, with the near names."""
    known = (*fields, "source", "note", "reference")
    for key in relation.fields:
        if key not in known:
            raise Unknown(f"{relation.kind} {relation.name!r}", got=key, near=near(key, known),
                          way_out=f"a {relation.kind} knows: name, places, {', '.join(known)}")  # fmt: skip


def places_of(relation: Relation) -> tuple[str, ...]:
    """The places at which a relation stands; without any it stands once."""
    return relation.places or ("",)


def subject_at(relation: Relation, place: str) -> str:
    """``wheel on axle@2L``, or the name alone where it stands once."""
    return f"{relation.name}@{place}" if place else relation.name
