"""Links of the valve gear as bodies near the motion: over crank angle and reverser, by the gear's own description.

The book's ``[[valve_gear]]`` gives the motion. How wide a link is, how thick and how far out it lies no gear says:

    [gap.links."eccentric rod"]
    width = "eccentric_rod@{side}.width"         # of its bar, in the plane of motion
    eye = "10 mm"                                # over its bosses; as wide as the bar unless said
    inner = "..."                                # its inner face from the middle of the engine
    thickness = "5 mm"
    touches = ["crosshead"]                      # what it bears on besides the links it is pinned to

Where the part has a form with its eyes in a line, that may stand for width, eye and thickness:

    [gap.links."eccentric rod"]
    part = "eccentric_rod@{side}"
    first = "foot pin"                           # the point of the gear at the form's first eye
    inner = "..."

A crank angle of a scene beyond one turn means another reverser position: turn 0 is the first of ``reverser``, turn 1
the second, and so on. Everything but the gear stands at all turns alike.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.grammar import Node, addresses, evaluate
from asmade.measure.errors import AsmadeError, OutOfRange, Refused, Unknown, near
from asmade.motion.bindings.gap_added import tables_of
from asmade.motion.bindings.gap_parts import shape_at
from asmade.motion.bindings.gap_sums import Array, Sums
from asmade.motion.bindings.gaps import KIND, Body, Get
from asmade.motion.gaps.poses import Poses, carried
from asmade.motion.gaps.scene import Element, elements_of
from asmade.reckon.shapes import Disc, Piece, Polygon

if TYPE_CHECKING:
    from asmade.motion.bindings.valves import Bound
    from asmade.motion.gears import Member

Complex = NDArray[np.complex128]
POSITIONS: Final = (1.0, 0.5, 0.0, -0.5, -1.0)
"""Reverser positions that are looked at where the book does not say."""
RIGID_MM: Final = 1e-3
"""Points of a link that move against one another by more than this are no one piece."""
KEPT: Final = 6
_KEYS: Final = ("width", "eye", "inner", "thickness", "touches", "part", "first")
_ON_AXLE: Final = ("crank pin", "axle")
_EXAMPLE: Final = '"eccentric rod"] width, inner, thickness'
_BEARS: Final[Mapping[str, tuple[str, ...]]] = {
    "gudgeon": ("crosshead", "gudgeon pin", "connecting rod"),
    "union crosshead pin": ("crosshead",),
}
"""Bodies that a link with such a point bears on."""


@dataclass(frozen=True, slots=True)
class Links:
    """Bodies of a side's valve gear, what could not be looked at, and the reverser positions."""

    bodies: tuple[Body, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    positions: tuple[float, ...] = ()


@dataclass(frozen=True, eq=False)
class _Gear:
    """The gear of a side: its sums, and motions worked out lately, which all its links share."""

    bound: Bound
    x: Node
    positions: tuple[float, ...]
    sums: Mapping[str, Node]
    kept: OrderedDict[tuple[Any, ...], Mapping[str, Complex]] = field(default_factory=OrderedDict, repr=False)

    def places(self, get: Get, angles: Array) -> Mapping[str, Complex]:
        """Every named point at crank angles; each turn beyond the first is another reverser position."""
        values = {name: float(evaluate(node, get)) for name, node in self.sums.items()}
        there = float(evaluate(self.x, get))
        key = (there, *values.values(), angles.tobytes())
        found = self.kept.get(key)
        if found is None:
            found = self.kept[key] = self._moved(values, there, angles)
            if len(self.kept) > KEPT:
                self.kept.popitem(last=False)
        return found

    def _moved(self, values: Mapping[str, float], there: float, angles: Array) -> Mapping[str, Complex]:
        kind = self.bound.kind
        sizes = kind.of(values, dict(self.bound.choices))
        turn = np.clip(np.floor(angles / (2 * np.pi) + 1e-9), 0, len(self.positions) - 1).astype(np.intp)
        names = dict.fromkeys(point for member in kind.members for point in member.points)
        if any(member.slot for member in kind.members):
            names["slot centre"] = None
        found = {name: np.empty(angles.size, dtype=np.complex128) for name in names}
        for number in np.unique(turn):
            at = np.flatnonzero(turn == number)
            motion = kind.move(sizes, np.mod(angles[at], 2 * np.pi), self.positions[number]).required()
            for name, places in found.items():
                places[at] = motion.place(name)[0, :, 0] + there
        return found


def links_of(on: Sums) -> Links:
    """Links of the valve gear that the relation says the size of; the others left out with the reason."""
    said = tables_of(on, "links", _EXAMPLE)
    found = _bound(on)
    if found is None:
        if said:
            raise Refused(f"{KIND} {on.relation.name!r} links", got=", ".join(said), reason="there is no valve gear",
                          way_out="add a [[valve_gear]], or write the links as [gap.bodies]")  # fmt: skip
        return Links()
    if isinstance(found, str):
        return Links(left_out=(("valve gear", found),))
    members = {m.name: m for m in found.kind.members if not m.fixed and m.name not in ("crank", "connecting rod")}
    for name in said:
        if name not in members:
            raise Unknown(f"{KIND} {on.relation.name!r} links", got=name, near=near(str(name), members),
                          way_out=f"the {found.kind.title} has {', '.join(members)}")  # fmt: skip
    dims = {size.name for size in found.kind.sizes}
    positions = _positions(on, found)
    gear = _Gear(found, on.axle_x(on.driven), positions, {n: node for n, node in found.sums if n in dims})
    bodies = tuple(_link(on, gear, members[name], table) for name, table in said.items())
    left = [name for name in members if name not in said]
    why = "nothing says how wide, how thick and how far out it is: add " + f"[{KIND}.links.{_EXAMPLE}"
    return Links(bodies, ((", ".join(left), why),) if left else (), positions)


def _bound(on: Sums) -> Bound | str | None:
    """The gear of this side; why there is none where it cannot be read."""
    from asmade.motion.bindings.valves import bind  # noqa: PLC0415  # only books with a gear pay for it

    for relation in on.design.of_kind("valve_gear"):
        try:
            every = bind(relation, on.scope)
        except AsmadeError as fault:
            return fault.message
        for bound in every:
            if bound.side == on.side:
                return bound
    return None


def _positions(on: Sums, bound: Bound) -> tuple[float, ...]:
    where = f"{KIND} {on.relation.name!r} reverser"
    only = bound.kind.positions(dict(bound.choices))
    said = on.relation.fields.get("reverser")
    if said is None:
        return only or POSITIONS
    listed = tuple(said) if isinstance(said, list | tuple) else (said,)
    for each in listed:
        if isinstance(each, bool) or not isinstance(each, int | float) or not -1 <= each <= 1:
            raise OutOfRange(where, got=each, allowed="-1 (full backward) to +1 (full forward)")
        if only is not None and each not in only:
            raise OutOfRange(where, got=each, allowed=" or ".join(f"{p:+g}" for p in only))
    if not listed:
        raise Refused(where, got="none", reason="no position is left to look at", way_out="leave it out for all")
    return tuple(float(each) for each in listed)


def _link(on: Sums, gear: _Gear, member: Member, table: Mapping[str, Any]) -> Body:
    where = f"{KIND} {on.relation.name!r} link {member.name}"
    for key in table:
        if key not in _KEYS:
            raise Unknown(where, got=key, near=near(str(key), _KEYS), way_out=f"it knows {', '.join(_KEYS)}")
    wanted = ("inner", "first") if "part" in table else ("width", "inner", "thickness")
    lacking = [key for key in wanted if key not in table]
    if lacking:
        raise Refused(where, got=dict(table), reason=f"it does not say {' and '.join(lacking)}",
                      way_out=f"add {', '.join(lacking)} as amounts or sums of addresses")  # fmt: skip
    sums = {key: on.sum(str(table[key])) for key in ("width", "eye", "inner", "thickness") if key in table}
    plays = on.plays(on.driven) if _goes_with_axle(gear, member) else {}
    fitted, first = None, member.points[-1]
    if "part" in table:
        seat, _, place = str(table["part"]).replace("{side}", on.side).partition("@")
        fitted, first = on.fitted(seat, place or on.side), str(table["first"])
        if first not in (member.points[0], member.points[-1]):
            raise Unknown(f"{where} first", got=first, near=near(first, member.points),
                          way_out=f"{member.points[0]} or {member.points[-1]}")  # fmt: skip
    last = member.points[0] if first == member.points[-1] else member.points[-1]

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        at = {key: float(evaluate(node, get)) for key, node in sums.items()}
        for key in ("width", "thickness", "eye"):
            if key in at and at[key] <= 0:
                raise OutOfRange(f"{where} {key}", got=at[key], allowed="more than 0 mm")
        places = gear.places(get, angles)
        poses = carried(places[first], places[last])
        if fitted is not None:
            body = shape_at(fitted, get)
            low = min(layer.low_mm for layer in body.layers)
            return elements_of(body, member.name, poses, at["inner"] - low, plays)
        pieces = _outline(member, places, poses, at["width"], at.get("eye", at["width"]))
        outer = at["inner"] + at["thickness"]
        return (Element(member.name, member.name, pieces, poses, at["inner"], outer, plays),)

    of_form = fitted.reads if fitted is not None else ()
    reads = dict.fromkeys(of_form) | dict.fromkeys(
        a for node in (*sums.values(), gear.x, *gear.sums.values()) for a in addresses(node)
    )
    return Body(member.name, "valve gear", tuple(reads), make, touches=_touches(on, gear, member, table), geared=True)


def _goes_with_axle(gear: _Gear, member: Member) -> bool:
    """Whether a link is fixed to the axle or its pin, or hangs on one that is."""
    first = {p for m in gear.bound.kind.members if set(m.points) & set(_ON_AXLE) for p in m.points}
    return bool(first & set(member.points))


def _touches(on: Sums, gear: _Gear, member: Member, table: Mapping[str, Any]) -> frozenset[str]:
    found = {str(each) for each in table.get("touches", ())}
    for other in gear.bound.kind.members:
        pinned = set(other.points) & set(member.points)
        slides = (other.slot and "die pin" in member.points) or (member.slot and "die pin" in other.points)
        if other.name != member.name and (pinned or slides):
            found.add(other.name)
    for point in member.points:
        found |= set(_BEARS.get(point, ()))
        if point == "crank pin":
            found |= {f"crank pin {on.driven}", "connecting rod"}
        if point == "axle":
            found.add(f"wheel {on.driven}")
    return frozenset(found)


def _outline(
    member: Member, places: Mapping[str, Complex], poses: Poses, width: float, eye: float
) -> tuple[Piece, ...]:
    """Bars from point to point with an eye at each, in the link's own axes; a slot is a band along its arc."""
    own = {}
    for name in (*member.points, *(("slot centre",) if member.slot else ())):
        lie = np.conj(poses.along) * (places[name] - poses.place)
        if np.abs(lie - lie[0]).max() > RIGID_MM:
            raise Refused(member.name, got=f"{name} moves in it", reason="it is no one piece in this gear",
                          way_out="write it as a body of its own under [gap.bodies]")  # fmt: skip
        own[name] = complex(lie[0])
    pieces: list[Piece] = []
    if member.slot is not None:
        centre, ends = own["slot centre"], [own[end] for end in member.slot]
        pieces += [_band(ends[0], ends[1], centre, width), *(Disc(end.real, end.imag, width / 2) for end in ends)]
        for point in (own[name] for name in member.line):
            nearest = ends[int(np.argmin([abs(end - point) for end in ends]))]
            if (
                not _between(ends[0], ends[1], centre, point)
                or abs(abs(point - centre) - abs(nearest - centre)) > width / 2
            ):
                pieces.append(_bar(nearest, point, width))
            pieces.append(Disc(point.real, point.imag, eye / 2))
        return tuple(pieces)
    line = [own[name] for name in member.points]
    pieces += [_bar(a, b, width) for a, b in pairwise(line) if abs(a - b) > 1e-6]
    return (*pieces, *(Disc(point.real, point.imag, eye / 2) for point in line))


def _between(one: complex, other: complex, centre: complex, point: complex) -> bool:
    """Whether a point lies within the angle of an arc, seen from its centre."""
    whole, part = np.angle((other - centre) / (one - centre)), np.angle((point - centre) / (one - centre))
    return bool(0 <= part / whole <= 1)


def _bar(one: complex, other: complex, width: float) -> Polygon:
    across = 0.5j * width * (other - one) / abs(other - one)
    return _polygon([one - across, other - across, other + across, one + across])


def _band(one: complex, other: complex, centre: complex, width: float) -> Polygon:
    """A band of a width along the arc from one place to the other about a centre, the shorter way."""
    start, turn = one - centre, np.angle((other - centre) / (one - centre))
    steps = np.exp(1j * np.linspace(0.0, float(turn), 25)) * start / abs(start)
    radius = abs(start)
    return _polygon([*(centre + (radius + width / 2) * steps), *(centre + (radius - width / 2) * steps[::-1])])


def _polygon(corners: list[complex]) -> Polygon:
    ring = np.array([(corner.real, corner.imag) for corner in corners])
    x, y = ring.T
    area = float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    return Polygon(ring if area > 0 else ring[::-1], name="bar")
