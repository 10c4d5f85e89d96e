"""Where rods and pins, or rods and rods, hold each other: one list read by every way of solving.

Along the rods everything is a difference of two places: pin less pin, pin less rod, rod less rod. The room of a
contact is half the clearance on diameter of what lies between the two places.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from asmade.motion.wheels.geometry import Misses, eye_clearance

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.layout import Layout, Support

Node = tuple[Literal["pin", "rod"], int]
"""A pin by its axle, or a rod that carries a joint by its body."""


@dataclass(frozen=True, slots=True)
class Contact:
    """``fore - aft + miss`` must stay within plus and minus ``room``.

    body: the rod; pair: which two of its supports the miss is read between (equal: the foremost itself, miss 0).
    sign: how the miss enters. held: the body's supports whose clearances make up the room.
    slack: whether this is the length of a rod (the slack asked for is taken off its room) or only the freedom of a
    carrying rod on its own bushes.
    """

    fore: Node
    aft: Node
    body: int
    pair: tuple[int, int]
    sign: int
    held: tuple[int, ...]
    slack: bool


def _node(layout: Layout, support: Support) -> Node:
    if support.eye is not None:
        return ("pin", layout.eyes[support.eye][1])
    return ("rod", layout.knuckles[support.knuckle or 0].carrier)


def contacts(layout: Layout) -> tuple[Contact, ...]:
    """All contacts of one side that lie along the rods; rods over three pins are left to their circles."""
    found = []
    for index, body in enumerate(layout.bodies):
        if not body.over_three:
            fore, aft = (_node(layout, support) for support in body.supports)
            found.append(Contact(fore, aft, index, (0, 1), +1, (0, 1), slack=True))
            if index in layout.carriers:
                found.extend(
                    Contact(_node(layout, support), ("rod", index), index, (0, at), -1, (at,), slack=False)
                    for at, support in enumerate(body.supports)
                )
    return tuple(found)


def support_clearance(chassis: Chassis, body: int, support: int) -> Array:
    """Clearance on diameter where the rod is held (2, n)."""
    held = chassis.layout.bodies[body].supports[support]
    if held.eye is not None:
        return np.asarray(eye_clearance(chassis)[held.eye])
    return np.asarray(chassis.knuckle_clearance[held.knuckle or 0])


def room(chassis: Chassis, contact: Contact) -> Array:
    """Each-way room of a contact (2, n)."""
    total = sum((support_clearance(chassis, contact.body, at) for at in contact.held), start=np.zeros(()))
    return np.asarray(0.5 * total)


def miss(seen: Misses, contact: Contact) -> Array:
    """What the contact misses by with nothing given way (2, K, n)."""
    if contact.pair[0] == contact.pair[1]:
        return np.zeros(())
    return contact.sign * seen.rods[contact.body][contact.pair]
