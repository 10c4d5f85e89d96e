"""Finds the bodies near the motion of one side by the names the kits give, and those the builder adds."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.book.grammar import Node, addresses, evaluate
from asmade.book.model import Design, Part, Relation
from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.motion.bindings.gap_parts import Fitted, shape_at
from asmade.motion.bindings.gaps import KIND, SIDES, Body, Get, Side, rise_name
from asmade.motion.bindings.rod_line import RodLine
from asmade.motion.gaps.poses import Poses, carried, fixed, gudgeon, pin, sliding, turning
from asmade.motion.gaps.scene import Element, elements_of
from asmade.reckon.scope import Scope, only
from asmade.reckon.shapes import Layer, Shape, rectangle

Array = NDArray[np.float64]
MOVES: Final = ("fixed", "axle", "pin", "rods", "crosshead", "connecting rod")
_BODY_KEYS: Final = ("part", "moves", "axle", "x", "y", "inner", "length", "height", "width", "touches")


def sides_of(relation: Relation, scope: Scope) -> tuple[Side, ...]:
    """Read one ``[[gap]]``: the bodies of each of its sides."""
    only(relation, "least", "pairs", "wanted", "rise", "line_y", "bodies", "near")
    places = relation.places or tuple(s for s in SIDES if s in scope.design.places.sides)
    for place in places:
        if place not in SIDES:
            raise Unknown(f"{KIND} {relation.name!r} places", got=place, near=near(place, SIDES),
                          way_out='gaps are looked at side by side: places = ["L", "R"]')  # fmt: skip
    if not places:
        raise Refused(f"{KIND} {relation.name!r}", got="no sides", reason="the book has no sides",
                      way_out='write [places] sides = ["L", "R"]')  # fmt: skip
    return tuple(_Finder(relation, scope, side).side() for side in places)


class _Finder:
    """Gathers the bodies of one side; what lacks a form or a place is left out with the reason."""

    def __init__(self, relation: Relation, scope: Scope, side: str) -> None:
        self.relation, self.scope, self.side_ = relation, scope, side
        self.design: Design = scope.design
        self.axles = scope.design.places.axles
        self.driven = scope.design.places.driven
        self.bodies: list[Body] = []
        self.left_out: list[tuple[str, str]] = []
        self.freedoms: list[tuple[str, Node, float]] = []
        self.line_y = self._node_or_nil("line_y")
        self.rise = _length(relation, "rise")

    def side(self) -> Side:
        self._side_play()
        for axle in self.axles:
            self._try(f"wheel {axle}", self._wheel, axle)
            self._try(f"crank pin {axle}", self._pin, axle)
            self._try(f"pin cap {axle}", self._cap, axle)
        for fore, aft in zip(self.axles, self.axles[1:], strict=False):
            self._try(f"coupling rod {fore}{aft}", self._coupling, fore, aft)
        self._try("connecting rod", self._connecting)
        self._try("crosshead", self._crosshead)
        self._try("gudgeon pin", self._gudgeon)
        self._try("slide bars", self._bars)
        self._try("rear cylinder cover", self._cover)
        for name, table in self._own().items():
            self.bodies.append(self._added(name, table))
        return Side(self.side_, tuple(self.bodies), tuple(self.freedoms), tuple(self.left_out), self.rise, self.axles)

    def _try(self, name: str, find: Callable[..., Iterator[Body]], *axles: str) -> None:
        try:
            self.bodies.extend(find(*axles))
        except AsmadeError as fault:
            self.left_out.append((name, fault.message))

    # ------------------------------------------------------------------ sums
    def _node(self, text: str, place: str) -> Node:
        return self.scope.node(text, place, self.relation)

    def _node_or_nil(self, key: str) -> Node | None:
        text = self.relation.text(key)
        return self.scope.node(text, self.side_, self.relation) if text else None

    def _sum(self, text: str, axle: str = "") -> Node:
        return self._node(text, f"{axle}{self.side_}")

    def _size(self, name: str, place: str, dim: str) -> Node:
        return self._node(f"{name}@{place}.{dim}", place)

    def _part(self, name: str, place: str) -> Part:
        part = self.design.parts.get(name)
        if part is None or place not in part.places:
            raise Unknown("part near the motion", got=f"{name}@{place}", way_out="the book has no such part")
        return part

    def _fitted(self, name: str, place: str) -> Fitted:
        return Fitted.of(self._part(name, place), place, self.scope)

    def _pin_part(self, axle: str) -> str:
        place = f"{axle}{self.side_}"
        for name, part in self.design.parts.items():
            if name.startswith("crank_pin") and place in part.places:
                return name
        raise Unknown("crank pin", got=place, way_out="the book has none there")

    def _axle_x(self, axle: str) -> Node:
        dims = self.design.parts["axlebox"].dims if "axlebox" in self.design.parts else {}
        ahead = f" + axlebox@{axle}{self.side_}.bore_forward" if "bore_forward" in dims else ""
        return self._sum(f"frame@{self.side_}.horn_at.{axle}{ahead}")

    def _radius(self, axle: str) -> Node:
        return self._sum("wheel@{place}.crank_radius", axle)

    def _face(self, axle: str) -> str:
        """Outer face of the wheel's boss from the middle of the engine, as a sum."""
        return f"0.5 * wheelset@{axle}.back_to_back + wheel@{axle}{self.side_}.boss_width"

    def _side_play(self) -> None:
        for axle in self.axles:
            play = self.scope.plays.get(f"side play@{axle}")
            if play is not None:
                self.freedoms.append((side_play(axle), play, 1.0))

    def _plays(self, axle: str, rate: float = 1.0) -> dict[str, float]:
        name = side_play(axle)
        return {name: rate} if any(name == each for each, _, _ in self.freedoms) else {}

    def _body(
        self, name: str, role: str, fitted: Fitted | None, nodes: tuple[Node, ...],
        make: Callable[[Get, Array], tuple[Element, ...]], **more: Any,
    ) -> Body:  # fmt: skip
        reads = dict.fromkeys(a for node in nodes for a in addresses(node))
        if fitted is not None:
            reads |= dict.fromkeys(fitted.reads)
        if self.line_y is not None:
            reads |= dict.fromkeys(addresses(self.line_y))
        return Body(name, role, tuple(reads), make, **more)

    # ------------------------------------------------------------------ places
    def _pin_place(self, axle: str) -> Callable[[Get, Array], NDArray[np.complex128]]:
        x, radius = self._axle_x(axle), self._radius(axle)
        risen = rise_name(axle)

        def places(get: Get, angles: Array) -> NDArray[np.complex128]:
            return pin(angles, float(evaluate(x, get)), _rise(get, risen), float(evaluate(radius, get)))

        return places

    def _gudgeon_place(self) -> tuple[Callable[[Get, Array], NDArray[np.complex128]], tuple[Node, ...]]:
        crank, centres = self._pin_place(self.driven), self._size("connecting_rod", self.side_, "centres")
        line = self.line_y

        def places(get: Get, angles: Array) -> NDArray[np.complex128]:
            high = 0.0 if line is None else float(evaluate(line, get))
            return gudgeon(crank(get, angles), float(evaluate(centres, get)), line_y_mm=high)

        return places, (centres, self._axle_x(self.driven), self._radius(self.driven))

    # ------------------------------------------------------------------ bodies
    def _wheel(self, axle: str) -> Iterator[Body]:
        fitted = self._fitted("wheel", f"{axle}{self.side_}")
        back, x, plays = self._sum(f"0.5 * wheelset@{axle}.back_to_back"), self._axle_x(axle), self._plays(axle)
        risen, name = rise_name(axle), f"wheel {axle}"

        def make(get: Get, angles: Array) -> tuple[Element, ...]:
            poses = turning(angles, float(evaluate(x, get)), _rise(get, risen))
            return elements_of(shape_at(fitted, get), name, poses, float(evaluate(back, get)), plays)

        yield self._body(name, "wheel", fitted, (back, x), make, touches=frozenset((f"crank pin {axle}",)),
                         pins=frozenset((axle,)))  # fmt: skip

    def _pin(self, axle: str) -> Iterator[Body]:
        part = self._pin_part(axle)
        place = f"{axle}{self.side_}"
        if self._cap_name(part) in self.design.parts:
            return  # it lies inside the rod's boss and under its cap
        fitted = self._fitted(part, place)
        inner, plays = self._sum(f"{self._face(axle)} - {part}@{place}.seat.length"), self._plays(axle)
        at, name = self._pin_place(axle), f"crank pin {axle}"

        def make(get: Get, angles: Array) -> tuple[Element, ...]:
            whole = shape_at(fitted, get)
            outside = Shape(whole.part, tuple(layer for layer in whole.layers if layer.name != "seat"), 0.0)
            return elements_of(outside, name, _with_crank(at(get, angles), angles), float(evaluate(inner, get)), plays)

        touches = {f"wheel {axle}", f"pin cap {axle}", *self._rods_on(axle)}
        yield self._body(name, "crank pin", fitted, (inner, self._axle_x(axle), self._radius(axle)), make,
                         touches=frozenset(touches), pins=frozenset((axle,)))  # fmt: skip

    @staticmethod
    def _cap_name(pin_part: str) -> str:
        return f"{pin_part.removeprefix('crank_pin_')}_pin_cap"

    def _rods_on(self, axle: str) -> set[str]:
        """Names of the rods that have an eye on a pin (or hang beside it)."""
        at = self.axles.index(axle)
        found = {f"coupling rod {axle}{self.axles[at + 1]}"} if at + 1 < len(self.axles) else set()
        if at > 0:
            found.add(f"coupling rod {self.axles[at - 1]}{axle}")
        return found | ({"connecting rod"} if axle == self.driven else set())

    def _cap(self, axle: str) -> Iterator[Body]:
        place = f"{axle}{self.side_}"
        part = self._pin_part(axle)
        name_of_part = self._cap_name(part)
        if name_of_part not in self.design.parts and axle == self.driven:
            return  # the big end is kept on by the return crank
        fitted = self._fitted(name_of_part, place)
        inner, plays = self._sum(f"{self._face(axle)} + {part}@{place}.journal.length"), self._plays(axle)
        at, name = self._pin_place(axle), f"pin cap {axle}"

        def make(get: Get, angles: Array) -> tuple[Element, ...]:
            poses = _with_crank(at(get, angles), angles)
            return elements_of(shape_at(fitted, get), name, poses, float(evaluate(inner, get)), plays)

        touches = frozenset((f"crank pin {axle}", *self._rods_on(axle)))
        yield self._body(name, "pin cap", fitted, (inner, self._axle_x(axle), self._radius(axle)), make,
                         touches=touches, pins=frozenset((axle,)))  # fmt: skip

    def _rod_part(self, fore: str, aft: str) -> Part | None:
        place = f"{fore}{aft}{self.side_}"
        rods = (p for p in self.design.parts.values() if "centres" in p.dims and place in p.places)
        return next((part for part in rods if part.form.get("kind") == "rod"), None)

    def _coupling(self, fore: str, aft: str) -> Iterator[Body]:
        part = self._rod_part(fore, aft)
        if part is None:
            raise Unknown("coupling rod", got=f"{fore}{aft}{self.side_}", way_out="the book has none there")
        fitted = self._fitted(part.name, f"{fore}{aft}{self.side_}")
        name, at = f"coupling rod {fore}{aft}", self.axles.index(fore)
        before = self._rod_part(self.axles[at - 1], fore) if at > 0 else None
        behind = self._rod_part(aft, self.axles[at + 2]) if at + 2 < len(self.axles) else None
        hangs = behind is not None and "knuckle_ahead" in behind.dims and "tongue_hole" in part.dims
        first = self._eye_middle(part, fore, before, ahead=False)
        if hangs and behind is not None:
            last = self._eye_middle(behind, aft, part, ahead=False)
            last_plays = self._plays(aft) | {f"end float of coupling rod {aft}{self.axles[at + 2]}": 1.0}
            last_plays |= self._tongue(name, part, behind, aft)
        else:
            last = self._eye_middle(part, aft, behind, ahead=True)
            last_plays = self._plays(aft)
        floats = self._float(name, part, fore)
        first_plays = self._plays(fore) | floats
        if not hangs:
            last_plays |= floats
        ends = self._rod_ends(part, fore, aft, behind if hangs else None)
        reach = self._size(part.name, f"{fore}{aft}{self.side_}", "centres")

        def make(get: Get, angles: Array) -> tuple[Element, ...]:
            poses = carried(ends[0](get, angles), ends[1](get, angles))
            ahead = float(evaluate(ends[3], get)) if ends[3] is not None else 0.0
            line = RodLine(
                -ahead, -ahead - float(evaluate(reach, get)), float(evaluate(first, get)), float(evaluate(last, get)),
                first_plays, last_plays,
            )  # fmt: skip
            return line.elements(shape_at(fitted, get), name, poses)

        touches = {each for end in (fore, aft) for each in (f"crank pin {end}", f"pin cap {end}")}
        touches |= {f"wheel {fore}"} | (set() if hangs else {f"wheel {aft}"})
        touches |= {f"coupling rod {self.axles[at - 1]}{fore}"} if at > 0 else set()
        touches |= {f"coupling rod {aft}{self.axles[at + 2]}"} if at + 2 < len(self.axles) else set()
        nodes = (first, last, reach, *ends[2], *(n(a) for n in (self._radius, self._axle_x) for a in (fore, aft)))
        yield self._body(name, "coupling rod", fitted, nodes, make, touches=frozenset(touches),
                         pins=frozenset((fore,) if hangs else (fore, aft)))  # fmt: skip

    def _tongue(self, name: str, part: Part, carrier: Part, aft: str) -> dict[str, float]:
        """How far a tongue may go sideways in its fork."""
        if "fork_gap" not in carrier.dims or "tongue" not in part.dims:
            return {}
        place = next(p for p in part.places if p[1] == aft and p.endswith(self.side_))
        behind = next(p for p in carrier.places if p[0] == aft and p.endswith(self.side_))
        node = self._sum(f"0.5 * {carrier.name}@{behind}.fork_gap - 0.5 * {part.name}@{place}.tongue")
        self.freedoms.append((f"tongue of {name} in its fork", node, 1.0))
        return {f"tongue of {name} in its fork": 1.0}

    def _eye_middle(self, part: Part, axle: str, neighbour: Part | None, *, ahead: bool) -> Node:
        """Middle of an eye across: of its journal where it is alone there, else inside or outside its neighbour.

        Two eyes on one pin: the rod behind lies against the wheel, the rod ahead of the pin outside it.
        """
        pins = self._pin_part(axle)
        end = "aft" if ahead else "fore"
        other = "fore" if ahead else "aft"
        shared = neighbour is not None and f"boss_{other}" in neighbour.dims and f"boss_{end}" in part.dims
        if not shared or neighbour is None:
            return self._sum(f"{self._face(axle)} + 0.5 * {pins}@{axle}{self.side_}.journal.length")
        next_to = next(p for p in neighbour.places if p.endswith(self.side_) and axle in p)
        beside = f"{neighbour.name}@{next_to}.boss_{other}"
        room = f"0.5 * {pins}@{axle}{self.side_}.journal.length"
        return self._sum(f"{self._face(axle)} + {room} {'+' if ahead else '-'} 0.5 * {beside}")

    def _rod_ends(self, part: Part, fore: str, aft: str, carrier: Part | None) -> Any:
        """Places of the foremost eye and of the last one of a rod, the sums they read, how far the first is ahead."""
        first, last = self._pin_place(fore), self._pin_place(aft)
        if carrier is not None:
            at = self.axles.index(aft)
            beyond = self._pin_place(self.axles[at + 1])
            reach = self._size(carrier.name, f"{aft}{self.axles[at + 1]}{self.side_}", "knuckle_ahead")

            def joint(get: Get, angles: Array) -> NDArray[np.complex128]:
                return _ahead(last(get, angles), beyond(get, angles), float(evaluate(reach, get)))

            more = (reach, self._axle_x(self.axles[at + 1]), self._radius(self.axles[at + 1]))
            return first, joint, more, None
        if "knuckle_ahead" in part.dims:
            own = self._size(part.name, f"{fore}{aft}{self.side_}", "knuckle_ahead")

            def foremost(get: Get, angles: Array) -> NDArray[np.complex128]:
                return _ahead(first(get, angles), last(get, angles), float(evaluate(own, get)))

            return foremost, last, (own,), own
        return first, last, (), None

    def _float(self, name: str, part: Part, fore: str) -> dict[str, float]:
        if "boss_fore" not in part.dims:
            return {}
        pins, place = self._pin_part(fore), next(p for p in part.places if p[0] == fore and p.endswith(self.side_))
        node = self._sum(f"0.5 * {pins}@{fore}{self.side_}.journal.length - 0.5 * {part.name}@{place}.boss_fore")
        at = self.axles.index(fore)
        if at > 0:
            ahead = self._rod_part(self.axles[at - 1], fore)
            if ahead is not None and "boss_aft" in ahead.dims:
                beside = f"{ahead.name}@{self.axles[at - 1]}{fore}{self.side_}.boss_aft"
                node = self._sum(f"0.5 * {pins}@{fore}{self.side_}.journal.length "
                                 f"- 0.5 * {part.name}@{place}.boss_fore - 0.5 * {beside}")  # fmt: skip
        self.freedoms.append((f"end float of {name}", node, 1.0))
        return {f"end float of {name}": 1.0}

    def _connecting(self) -> Iterator[Body]:
        fitted = self._fitted("connecting_rod", self.side_)
        pins, place = self._pin_part(self.driven), f"{self.driven}{self.side_}"
        middle = self._sum(f"{self._face(self.driven)} + {pins}@{place}.journal.length "
                           f"+ 0.5 * {pins}@{place}.big_end.length")  # fmt: skip
        crank, (small, nodes) = self._pin_place(self.driven), self._gudgeon_place()
        loose = self._sum(f"0.5 * {pins}@{place}.big_end.length - 0.5 * connecting_rod@{self.side_}.big_end_width")
        self.freedoms.append(("end float of connecting rod", loose, 1.0))
        plays = self._plays(self.driven) | {"end float of connecting rod": 1.0}

        def make(get: Get, angles: Array) -> tuple[Element, ...]:
            poses = carried(small(get, angles), crank(get, angles))
            return elements_of(shape_at(fitted, get), "connecting rod", poses, float(evaluate(middle, get)), plays)

        yield self._body("connecting rod", "connecting rod", fitted, (middle, *nodes), make,
                         touches=frozenset((f"crank pin {self.driven}", "crosshead", "gudgeon pin")),
                         pins=frozenset((self.driven,)))  # fmt: skip

    def _crosshead(self) -> Iterator[Body]:
        fitted = self._fitted("crosshead", self.side_)
        line = self._size("cylinder", self.side_, "line_to_centre")
        small, nodes = self._gudgeon_place()
        height = self._size("crosshead", self.side_, "over_slippers")

        def make(get: Get, angles: Array) -> tuple[Element, ...]:
            poses = sliding(small(get, angles))
            return elements_of(shape_at(fitted, get), "crosshead", poses, float(evaluate(line, get)))

        touches = frozenset(("gudgeon pin", "connecting rod", "upper slide bar", "lower slide bar"))
        yield self._body("crosshead", "crosshead", fitted, (line, height, *nodes), make, touches=touches)

    def _gudgeon(self) -> Iterator[Body]:
        fitted = self._fitted("gudgeon_pin", self.side_)
        inner = self._sum(f"cylinder@{self.side_}.line_to_centre - 0.5 * gudgeon_pin@{self.side_}.length")
        small, nodes = self._gudgeon_place()

        def make(get: Get, angles: Array) -> tuple[Element, ...]:
            poses = sliding(small(get, angles))
            return elements_of(shape_at(fitted, get), "gudgeon pin", poses, float(evaluate(inner, get)))

        yield self._body("gudgeon pin", "gudgeon pin", fitted, (inner, *nodes), make,
                         touches=frozenset(("crosshead", "connecting rod")))  # fmt: skip

    def _bars(self) -> Iterator[Body]:
        fitted = self._fitted("slide_bars", self.side_)
        line = self._size("cylinder", self.side_, "line_to_centre")
        up = self._sum(f"0.5 * slide_bars@{self.side_}.gap + 0.5 * slide_bars@{self.side_}.thickness")
        middle = self._sum(f"connecting_rod@{self.side_}.centres")
        x = self._axle_x(self.driven)
        for name, sense in (("upper slide bar", 1.0), ("lower slide bar", -1.0)):

            def make(get: Get, angles: Array, name: str = name, sense: float = sense) -> tuple[Element, ...]:
                high = 0.0 if self.line_y is None else float(evaluate(self.line_y, get))
                along = float(evaluate(x, get)) + float(evaluate(middle, get))
                poses = fixed(angles, along, high + sense * float(evaluate(up, get)))
                return elements_of(shape_at(fitted, get), name, poses, float(evaluate(line, get)))

            yield self._body(name, "slide bar", fitted, (line, up, middle, x), make, touches=frozenset(("crosshead",)),
                             moves=False)  # fmt: skip

    def _cover(self) -> Iterator[Body]:
        fitted = self._fitted("cylinder_cover_rear", self.side_)
        line = self._size("cylinder", self.side_, "line_to_centre")
        back = self._sum(f"cylinder@{self.side_}.ahead - 0.5 * cylinder@{self.side_}.length "
                         f"- cylinder_cover_rear@{self.side_}.flange.thickness")  # fmt: skip

        def make(get: Get, angles: Array) -> tuple[Element, ...]:
            high = 0.0 if self.line_y is None else float(evaluate(self.line_y, get))
            poses = fixed(angles, float(evaluate(back, get)), high)
            return elements_of(shape_at(fitted, get), "rear cylinder cover", poses, float(evaluate(line, get)))

        yield self._body("rear cylinder cover", "cylinder cover", fitted, (line, back), make, moves=False)

    # ------------------------------------------------------------------ what the builder adds
    def _own(self) -> Mapping[str, Mapping[str, Any]]:
        table = self.relation.fields.get("bodies", {})
        if not isinstance(table, Mapping) or not all(isinstance(each, Mapping) for each in table.values()):
            raise Refused(f"{KIND} {self.relation.name!r} bodies", got=table, reason="it should be tables by name",
                          way_out=f'write [{KIND}.bodies.valance] moves = "fixed", x = "..." ...')  # fmt: skip
        return table

    def _added(self, name: str, table: Mapping[str, Any]) -> Body:
        """A part with a form, or a box, that stands, or goes with something that moves."""
        where = f"{KIND} {self.relation.name!r} body {name}"
        for key in table:
            if key not in _BODY_KEYS:
                raise Unknown(
                    where, got=key, near=near(str(key), _BODY_KEYS), way_out=f"it knows {', '.join(_BODY_KEYS)}"
                )
        moves = str(table.get("moves", "fixed"))
        if moves not in MOVES:
            raise Unknown(f"{where} moves", got=moves, near=near(moves, MOVES), way_out=f"one of: {', '.join(MOVES)}")
        axle = str(table.get("axle", self.driven))
        if axle not in self.axles:
            raise Unknown(f"{where} axle", got=axle, near=near(axle, self.axles), way_out=f"{', '.join(self.axles)}")
        if "inner" not in table:
            raise Refused(where, got=dict(table), reason="it does not say how far out it lies",
                          way_out='add inner = "..." (its inner face from the middle of the engine)')  # fmt: skip
        sums = {
            key: self._sum(str(table[key])) for key in ("x", "y", "inner", "length", "height", "width") if key in table
        }
        fitted = None
        if "part" in table:
            seat, _, place = str(table["part"]).replace("{side}", self.side_).partition("@")
            fitted = self._fitted(seat, place or self.side_)
        elif not {"length", "height", "width"} <= set(sums):
            raise Refused(where, got=dict(table), reason="it names no part, and no length, height and width",
                          way_out="name a part with a form, or give the three sizes of a box")  # fmt: skip
        pose = self._pose(moves, axle)
        plays = self._plays(axle) if moves in ("axle", "pin", "rods", "connecting rod") else {}

        def make(get: Get, angles: Array) -> tuple[Element, ...]:
            at = {key: float(evaluate(node, get)) for key, node in sums.items()}
            body = shape_at(fitted, get) if fitted is not None else _box(name, at)
            low = min(layer.low_mm for layer in body.layers)
            poses = pose(get, angles)
            shift = poses.along * complex(at.get("x", 0.0), at.get("y", 0.0))
            return elements_of(body, name, Poses(poses.place + shift, poses.along), at["inner"] - low, plays)

        nodes = (*sums.values(), *(() if moves == "fixed" else (self._axle_x(axle), self._radius(axle))))
        if moves in ("crosshead", "connecting rod"):
            nodes += self._gudgeon_place()[1]
        touches = frozenset(str(each) for each in table.get("touches", ()))
        return self._body(name, "added", fitted, nodes, make, touches=touches, moves=moves != "fixed")

    def _pose(self, moves: str, axle: str) -> Callable[[Get, Array], Poses]:
        x, risen, at = self._axle_x(axle), rise_name(axle), self._pin_place(axle)
        if moves == "fixed":
            return lambda _, angles: fixed(angles)
        if moves == "axle":
            return lambda get, angles: turning(angles, float(evaluate(x, get)), _rise(get, risen))
        if moves == "pin":
            return lambda get, angles: _with_crank(at(get, angles), angles)
        if moves == "rods":
            return lambda get, angles: sliding(at(get, angles))
        small, _ = self._gudgeon_place()
        if moves == "crosshead":
            return lambda get, angles: sliding(small(get, angles))
        return lambda get, angles: carried(small(get, angles), at(get, angles))


def side_play(axle: str) -> str:
    """Name of the sideways freedom of an axle."""
    return f"side play of axle {axle}"


def _rise(get: Get, name: Address) -> float:
    try:
        return get(name)
    except KeyError:
        return 0.0


def _with_crank(place: NDArray[np.complex128], angles: Array) -> Poses:
    return Poses(place, np.exp(-1j * angles))


def _ahead(fore: NDArray[np.complex128], aft: NDArray[np.complex128], reach: float) -> NDArray[np.complex128]:
    span = fore - aft
    return np.asarray(fore + reach * span / np.abs(span))


def _box(name: str, at: Mapping[str, float]) -> Shape:
    outline = rectangle(-at["length"] / 2, -at["height"] / 2, at["length"] / 2, at["height"] / 2, name)
    return Shape(name, (Layer(name, (outline,), 0.0, at["width"]),), 0.0)


def _length(relation: Relation, key: str) -> float:
    from asmade.book.sizes import read_limit  # noqa: PLC0415

    found = read_limit(relation.text(key), angle=False, thing=f"{KIND} {relation.name!r} {key}")
    value = 0.0 if found is None else float(found)
    if value < 0 or not math.isfinite(value):
        raise Refused(f"{KIND} {relation.name!r} {key}", got=relation.text(key), reason="it is less than nothing")
    return value
