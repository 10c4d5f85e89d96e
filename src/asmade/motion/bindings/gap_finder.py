"""Finds the bodies near the motion of one side by the names the kits give, and those the builder adds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from asmade.book.model import Relation
from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.motion.bindings import gap_links, gap_motion, gap_rods, gap_wheels
from asmade.motion.bindings.gap_added import added, tables_of
from asmade.motion.bindings.gap_sums import Sums, side_play
from asmade.motion.bindings.gaps import KIND, SIDES, Body, Side
from asmade.reckon.scope import Scope, only


def sides_of(relation: Relation, scope: Scope) -> tuple[Side, ...]:
    """Read one ``[[gap]]``: the bodies of each of its sides."""
    only(relation, "least", "pairs", "wanted", "rise", "line_y", "bodies", "links", "reverser", "near")
    places = relation.places or tuple(s for s in SIDES if s in scope.design.places.sides)
    for place in places:
        if place not in SIDES:
            raise Unknown(f"{KIND} {relation.name!r} places", got=place, near=near(place, SIDES),
                          way_out='gaps are looked at side by side: places = ["L", "R"]')  # fmt: skip
    if not places:
        raise Refused(f"{KIND} {relation.name!r}", got="no sides", reason="the book has no sides",
                      way_out='write [places] sides = ["L", "R"]')  # fmt: skip
    return tuple(_side(Sums(relation, scope, side)) for side in places)


def _side(on: Sums) -> Side:
    """All bodies of one side; what lacks a form or a place is left out with the reason."""
    bodies: list[Body] = []
    left_out: list[tuple[str, str]] = []

    def look(name: str, find: Callable[..., Iterator[Body]], *axles: Any) -> None:
        try:
            bodies.extend(find(on, *axles))
        except AsmadeError as fault:
            left_out.append((name, fault.message))

    for axle in on.axles:
        look(f"wheel {axle}", gap_wheels.wheel, axle)
        look(f"crank pin {axle}", gap_wheels.crank_pin, axle)
        look(f"pin cap {axle}", gap_wheels.pin_cap, axle)
    for fore, aft in zip(on.axles, on.axles[1:], strict=False):
        look(f"coupling rod {fore}{aft}", gap_rods.coupling_rod, fore, aft)
    look("connecting rod", gap_motion.connecting_rod)
    look("crosshead", gap_motion.crosshead)
    look("gudgeon pin", gap_motion.gudgeon_pin)
    look("slide bars", gap_motion.slide_bars)
    look("rear cylinder cover", gap_motion.rear_cover)
    bodies += [added(on, name, table) for name, table in tables_of(on, "bodies", "valance] moves, x, y ...").items()]
    links = gap_links.links_of(on)
    return Side(
        on.side, tuple(bodies), tuple(on.freedoms), (*left_out, *links.left_out), on.rise, on.axles,
        links.bodies, links.positions,
    )  # fmt: skip


__all__ = ["side_play", "sides_of"]
