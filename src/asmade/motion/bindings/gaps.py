"""From the sizes of a book to the bodies near the motion of one side: outline, motion, and how far out each lies.

Bodies are found by the names the kits give: wheels, crank pins and their caps, coupling rods, connecting rod,
crosshead, gudgeon pin, slide bars, rear cylinder cover. A ``[[gap]]`` may add others, as parts with a form or as boxes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.book.grammar import Node, addresses, evaluate
from asmade.book.model import Design, Relation
from asmade.measure.errors import Unknown, near
from asmade.motion.gaps.findings import even_angles
from asmade.motion.gaps.scene import Element, Pair, Scene

KIND: Final = "gap"
Array = NDArray[np.float64]
Get = Callable[[Address], float]
SIDES: Final = ("L", "R")


@dataclass(frozen=True)
class Body:
    """One thing near the motion: the sizes it reads, and what makes its elements from them at given crank angles.

    geared: a link of the valve gear, which stands elsewhere at another reverser position.
    """

    name: str
    role: str
    reads: tuple[Address, ...]
    make: Callable[[Get, Array], tuple[Element, ...]]
    touches: frozenset[str] = frozenset()
    pins: frozenset[str] = frozenset()
    moves: bool = True
    geared: bool = False


@dataclass(frozen=True)
class Side:
    """All bodies of one side, its sideways freedoms (name, sum, factor), and how far axles rise and fall (mm).

    links: those of the valve gear that the book says the size of. positions: of the reverser; crank angles beyond one
    turn stand for the second of them, the third, and so on.
    """

    side: str
    bodies: tuple[Body, ...]
    freedoms: tuple[tuple[str, Node, float], ...]
    left_out: tuple[tuple[str, str], ...]
    rise_mm: float = 0.0
    axles: tuple[str, ...] = ()
    links: tuple[Body, ...] = ()
    positions: tuple[float, ...] = ()

    @property
    def every(self) -> tuple[Body, ...]:
        """Bodies and links."""
        return (*self.bodies, *self.links)

    def angles(self, bodies: Iterable[Body], count: int, of_each: int) -> Array:
        """Crank angles of a turn to look at some bodies, or a turn at every reverser position if one is geared."""
        if not any(body.geared for body in bodies):
            return even_angles(count)
        turns = 2 * np.pi * np.arange(len(self.positions))
        return np.asarray((turns[:, None] + even_angles(of_each)).reshape(-1))

    def reverser_at(self, angle_rad: float) -> float | None:
        """Reverser position that a crank angle of a scene stands for; None without a gear."""
        turn = math.floor(angle_rad / (2 * math.pi) + 1e-9)
        return self.positions[min(max(turn, 0), len(self.positions) - 1)] if self.positions else None

    def body(self, name: str) -> Body:
        """One body by name; refuses what is not there, with why it was left out."""
        for body in self.every:
            if body.name == name:
                return body
        why = dict(self.left_out).get(name, "")
        raise Unknown(
            f"body near the motion, side {self.side}", got=name, near=near(name, [b.name for b in self.every]),
            way_out=why or f"there are {', '.join(b.name for b in self.every)}",
        )  # fmt: skip

    def reads_of(self, bodies: tuple[Body, ...]) -> tuple[Address, ...]:
        """Every size that bodies and the freedoms they have depend on."""
        found = dict.fromkeys(a for body in bodies for a in body.reads)
        for _, node, _ in self.freedoms:
            found |= dict.fromkeys(addresses(node))
        return tuple(found)

    def scene(self, bodies: tuple[Body, ...], get: Get, angles: Array) -> Scene:
        """The scene of some bodies; a freedom that comes out negative is none."""
        elements = tuple(element for body in bodies for element in body.make(get, angles))
        used = {name for element in elements for name in element.plays}
        ways = {n: max(0.0, factor * float(evaluate(node, get))) for n, node, factor in self.freedoms if n in used}
        return Scene(elements, angles, ways)


def rise_name(axle: str) -> Address:
    """The name under which an axle's rise stands among the sizes of a scene."""
    return Address("rise_of_axle", axle)


def pairs_between(scene: Scene, one: Body, other: Body, wanted_mm: float) -> tuple[Pair, ...]:
    """Layers of two bodies that must not meet; eyes side by side on one pin bear on one another on purpose."""
    shared = one.pins & other.pins
    return tuple(
        Pair(a.name, b.name, wanted_mm)
        for a in scene.elements
        if a.body == one.name
        for b in scene.elements
        if b.body == other.name
        if not (shared and _eye(a.name) and _eye(b.name))
    )


def _eye(name: str) -> bool:
    return name.rpartition(", ")[2] in ("fore", "aft", "big_end", "little_end")


def bodies_apart(one: Body, other: Body) -> bool:
    """Whether two bodies are to keep apart: of different names, not bearing on one another, one of them moving."""
    if one.name == other.name or one.name in other.touches or other.name in one.touches:
        return False
    return one.moves or other.moves


def _default(name: str) -> Relation:
    return Relation(KIND, name, (), {})


def relation_of(design: Design, name: str = "") -> Relation:
    """The ``[[gap]]`` of that name, the first where none is named, one that says nothing where there is none."""
    every = list(design.of_kind(KIND))
    if name:
        for relation in every:
            if relation.name == name:
                return relation
        known = [relation.name for relation in every]
        raise Unknown(KIND, got=name, near=near(name, known), way_out=f"there are: {', '.join(known) or 'none'}")
    return every[0] if every else _default("gaps")
