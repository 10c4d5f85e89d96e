"""The sums of one side that its bodies are made from: sizes and places by the names the kits give."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.book.grammar import Node, addresses, evaluate
from asmade.book.model import Design, Part, Relation
from asmade.measure.errors import Refused, Unknown
from asmade.motion.bindings.gap_parts import Fitted
from asmade.motion.bindings.gaps import KIND, Body, Get, rise_name
from asmade.motion.gaps.poses import Poses, gudgeon, pin
from asmade.motion.gaps.scene import Element
from asmade.reckon.scope import Scope

Array = NDArray[np.float64]
Places = Callable[[Get, Array], NDArray[np.complex128]]


class Sums:
    """One side of a book: its sums, its places, and the sideways freedoms found on the way.

    The cylinder line is level with the axles and does not rise, unless ``line_y`` says how much higher it lies, or the
    book has a ``cylinder_setting`` that says both.
    """

    def __init__(self, relation: Relation, scope: Scope, side: str) -> None:
        self.relation, self.scope, self.side = relation, scope, side
        self.design: Design = scope.design
        self.axles = scope.design.places.axles
        self.driven = scope.design.places.driven
        self.freedoms: list[tuple[str, Node, float]] = []
        self.line_y = self.node_or_nil("line_y") or self._setting("line_above_axle")
        self.line_incline = self._setting("incline")
        self.rise = length_of(relation, "rise")
        self.side_play()

    def _setting(self, dim: str) -> Node | None:
        part = self.design.parts.get("cylinder_setting")
        if part is None or self.side not in part.places or dim not in part.dims:
            return None
        return self.size("cylinder_setting", self.side, dim)

    def line(self, get: Get) -> tuple[float, float]:
        """Height of the cylinder line over the driven axle, and how much it rises forward (rad)."""
        high = 0.0 if self.line_y is None else float(evaluate(self.line_y, get))
        return high, 0.0 if self.line_incline is None else float(evaluate(self.line_incline, get))

    def node(self, text: str, place: str) -> Node:
        """A sum at a place."""
        return self.scope.node(text, place, self.relation)

    def node_or_nil(self, key: str) -> Node | None:
        """A sum that the relation may say at this side."""
        text = self.relation.text(key)
        return self.scope.node(text, self.side, self.relation) if text else None

    def sum(self, text: str, axle: str = "") -> Node:
        """A sum at an axle of this side, or at the side."""
        return self.node(text, f"{axle}{self.side}")

    def size(self, name: str, place: str, dim: str) -> Node:
        """A single size."""
        return self.node(f"{name}@{place}.{dim}", place)

    def part(self, name: str, place: str) -> Part:
        """A part, refused where the book has none there."""
        part = self.design.parts.get(name)
        if part is None or place not in part.places:
            raise Unknown("part near the motion", got=f"{name}@{place}", way_out="the book has no such part")
        return part

    def fitted(self, name: str, place: str) -> Fitted:
        """A part at its place with its form."""
        return Fitted.of(self.part(name, place), place, self.scope)

    def pin_part(self, axle: str) -> str:
        """Name of the crank pin's part."""
        place = f"{axle}{self.side}"
        for name, part in self.design.parts.items():
            if name.startswith("crank_pin") and place in part.places:
                return name
        raise Unknown("crank pin", got=place, way_out="the book has none there")

    def axle_x(self, axle: str) -> Node:
        """Where an axle stands, forwards."""
        dims = self.design.parts["axlebox"].dims if "axlebox" in self.design.parts else {}
        ahead = f" + axlebox@{axle}{self.side}.bore_forward" if "bore_forward" in dims else ""
        return self.sum(f"frame@{self.side}.horn_at.{axle}{ahead}")

    def radius(self, axle: str) -> Node:
        """Crank radius."""
        return self.sum("wheel@{place}.crank_radius", axle)

    def face(self, axle: str) -> str:
        """Outer face of the wheel's boss from the middle of the engine, as a sum."""
        return f"0.5 * wheelset@{axle}.back_to_back + wheel@{axle}{self.side}.boss_width"

    def side_play(self) -> None:
        """Sideways freedoms of the axles."""
        for axle in self.axles:
            play = self.scope.plays.get(f"side play@{axle}")
            if play is not None:
                self.freedoms.append((side_play(axle), play, 1.0))

    def plays(self, axle: str, rate: float = 1.0) -> dict[str, float]:
        """The sideways freedom of an axle, where the book has it."""
        name = side_play(axle)
        return {name: rate} if any(name == each for each, _, _ in self.freedoms) else {}

    def body(
        self, name: str, role: str, fitted: Fitted | None, nodes: tuple[Node, ...],
        make: Callable[[Get, Array], tuple[Element, ...]], **more: Any,
    ) -> Body:  # fmt: skip
        """A body that reads these sums."""
        reads = dict.fromkeys(a for node in nodes for a in addresses(node))
        if fitted is not None:
            reads |= dict.fromkeys(fitted.reads)
        for line in (self.line_y, self.line_incline):
            reads |= dict.fromkeys(addresses(line)) if line is not None else {}
        return Body(name, role, tuple(reads), make, **more)

    def pin_place(self, axle: str) -> Places:
        """Places of a crank pin."""
        x, radius = self.axle_x(axle), self.radius(axle)
        risen = rise_name(axle)

        def places(get: Get, angles: Array) -> NDArray[np.complex128]:
            return pin(angles, float(evaluate(x, get)), rise(get, risen), float(evaluate(radius, get)))

        return places

    def gudgeon_place(self) -> tuple[Places, tuple[Node, ...]]:
        """Places of the gudgeon pin, and the sums they read."""
        crank, centres = self.pin_place(self.driven), self.size("connecting_rod", self.side, "centres")
        x = self.axle_x(self.driven)

        def places(get: Get, angles: Array) -> NDArray[np.complex128]:
            high, incline = self.line(get)
            there = float(evaluate(x, get))
            found = gudgeon(
                crank(get, angles) - there, float(evaluate(centres, get)), line_y_mm=high, incline_rad=incline
            )
            return np.asarray(found + there)

        return places, (centres, self.axle_x(self.driven), self.radius(self.driven))

    def rod_part(self, fore: str, aft: str) -> Part | None:
        """The coupling rod of a section."""
        place = f"{fore}{aft}{self.side}"
        rods = (p for p in self.design.parts.values() if "centres" in p.dims and place in p.places)
        return next((part for part in rods if part.form.get("kind") == "rod"), None)

    def rods_on(self, axle: str) -> set[str]:
        """Names of the rods that have an eye on a pin (or hang beside it)."""
        at = self.axles.index(axle)
        found = {f"coupling rod {axle}{self.axles[at + 1]}"} if at + 1 < len(self.axles) else set()
        if at > 0:
            found.add(f"coupling rod {self.axles[at - 1]}{axle}")
        return found | ({"connecting rod"} if axle == self.driven else set())

    def knuckle(self, eye: Places, beyond: Places, rod: str, place: str) -> tuple[Places, Node]:
        """Places of the knuckle that a rod reaches out ahead of its fore eye, and how far."""
        reach = self.size(rod, place, "knuckle_ahead")

        def places(get: Get, angles: Array) -> NDArray[np.complex128]:
            return ahead_of(eye(get, angles), beyond(get, angles), float(evaluate(reach, get)))

        return places, reach


def side_play(axle: str) -> str:
    """Name of the sideways freedom of an axle."""
    return f"side play of axle {axle}"


def rise(get: Get, name: Address) -> float:
    """How far an axle stands above its place: only sums that search its rise know of it."""
    try:
        return get(name)
    except (KeyError, Unknown):
        return 0.0


def with_crank(place: NDArray[np.complex128], angles: Array) -> Poses:
    """Poses of what goes round with a crank pin."""
    return Poses(place, np.exp(-1j * angles))


def ahead_of(fore: NDArray[np.complex128], aft: NDArray[np.complex128], reach: float) -> NDArray[np.complex128]:
    """Places so far ahead of one place on the line from another."""
    span = fore - aft
    return np.asarray(fore + reach * span / np.abs(span))


def length_of(relation: Relation, key: str) -> float:
    """A length that a ``[[gap]]`` says, mm; 0 where it does not."""
    from asmade.book.sizes import read_limit  # noqa: PLC0415

    found = read_limit(relation.text(key), angle=False, thing=f"{KIND} {relation.name!r} {key}")
    value = 0.0 if found is None else float(found)
    if value < 0 or not math.isfinite(value):
        raise Refused(f"{KIND} {relation.name!r} {key}", got=relation.text(key), reason="it is less than nothing")
    return value
