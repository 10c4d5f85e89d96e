"""Connecting rod and piston: room at both ends of the cylinder, from sizes or from bumping marks.

Bumping marks are made with the connecting rod off: the crosshead is pushed until the piston touches each cover, and
marked on the slide bar both times. All places are along the cylinder line, from the foot of the square from the axle
onto it, forward positive, mm. ``off_mm``: how far the cylinder line passes the axle.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

from asmade.measure.errors import OutOfRange, Refused


@dataclass(frozen=True, slots=True)
class EndRoom:
    """Room between piston and cover at the two dead centres, mm; negative = they meet."""

    front_mm: float
    back_mm: float

    @property
    def least_mm(self) -> float:
        """The lesser of the two."""
        return min(self.front_mm, self.back_mm)


@dataclass(frozen=True, slots=True)
class SharedRod:
    """The connecting rod that shares the room equally: its centres, the change from now, and the room it gives."""

    rod_mm: float
    change_mm: float
    room: EndRoom


def reach(rod_mm: float, crank_mm: float, off_mm: float = 0.0) -> tuple[float, float]:
    """Place of the gudgeon pin at the front and at the back dead centre.

        sqrt((L + r)^2 - e^2) and sqrt((L - r)^2 - e^2), e the line's distance from the axle

    Source: slider-crank, any text. Anchor: L 90, r 30, e 0 -> 120 and 60.
    Raises ``OutOfRange`` for a rod that cannot pass its dead centre.
    """
    _known(rod_mm=rod_mm, crank_mm=crank_mm, off_mm=off_mm)
    if crank_mm <= 0:
        raise OutOfRange("crank radius", got=crank_mm, allowed="more than 0 mm")
    if rod_mm - crank_mm <= abs(off_mm):
        raise OutOfRange(
            "connecting rod",
            got=rod_mm,
            allowed=f"more than crank radius and offset together, {crank_mm + abs(off_mm):g} mm",
            way_out="check connecting rod, crank radius and the height of the cylinder line",
        )
    return math.sqrt((rod_mm + crank_mm) ** 2 - off_mm**2), math.sqrt((rod_mm - crank_mm) ** 2 - off_mm**2)


def room_from_marks(
    front_mark_mm: float, back_mark_mm: float, rod_mm: float, crank_mm: float, off_mm: float = 0.0
) -> EndRoom:
    """Room at both ends from where the gudgeon pin stands with the piston against each cover.

    Raises ``Refused`` for marks the wrong way round. Anchor: marks 121 and 58, rod 90, crank 30 -> 1 and 2.
    """
    _known(front_mark_mm=front_mark_mm, back_mark_mm=back_mark_mm)
    if front_mark_mm <= back_mark_mm:
        raise Refused("bumping marks", got=(front_mark_mm, back_mark_mm), reason="the front mark is not ahead",
                      way_out="give both from the axle, forward positive")  # fmt: skip
    front, back = reach(rod_mm, crank_mm, off_mm)
    return EndRoom(front_mark_mm - front, back - back_mark_mm)


def rod_that_shares(
    front_mark_mm: float, back_mark_mm: float, rod_now_mm: float, crank_mm: float, off_mm: float = 0.0
) -> SharedRod:
    """Rod centres with equal room at both ends: front + back reach = sum of the marks, solved by Newton's steps.

    With the line through the axle it is half the sum of the marks, whatever the crank.
    Anchor: marks 121 and 58 -> rod 89.5, room 1.5 at both ends (crank 30). Raises as `room_from_marks`, and
    ``OutOfRange`` where the marks are nearer together than the stroke: no rod then gives room.
    """
    room_from_marks(front_mark_mm, back_mark_mm, rod_now_mm, crank_mm, off_mm)
    total = front_mark_mm + back_mark_mm
    rod = max(0.5 * total, crank_mm + abs(off_mm) + 1e-6)
    for _ in range(60):
        front, back = reach(rod, crank_mm, off_mm)
        step = (total - front - back) / ((rod + crank_mm) / front + (rod - crank_mm) / back)
        rod = max(rod + step, 0.5 * (rod + crank_mm + abs(off_mm)))
        if abs(step) < 1e-12 * rod:
            break
    room = room_from_marks(front_mark_mm, back_mark_mm, rod, crank_mm, off_mm)
    return SharedRod(rod, rod - rod_now_mm, room)


@dataclass(frozen=True, slots=True)
class PistonStack:
    """Sizes between axle, piston and covers along the cylinder line, mm.

    middle: the middle of the cylinder ahead of the axle. length: between the faces the covers bolt to. front_register,
    back_register: how far each cover reaches in. gudgeon_to_piston: gudgeon pin to the back face of the piston.
    piston: its thickness, with nut or head if it stands proud. play: of boxes, bushes and gudgeon, each way, taken at
    its worst.
    """

    crank_radius: float
    connecting_rod: float
    middle: float
    length: float
    front_register: float
    back_register: float
    gudgeon_to_piston: float
    piston: float
    off: float = 0.0
    play: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what is not known and lengths that are none."""
        _known(**{each.name: getattr(self, each.name) for each in fields(self)})
        for name in ("crank_radius", "connecting_rod", "length", "piston"):
            if getattr(self, name) <= 0:
                raise OutOfRange(name.replace("_", " "), got=getattr(self, name), allowed="more than 0 mm")
        for name in ("front_register", "back_register", "play"):
            if getattr(self, name) < 0:
                raise OutOfRange(name.replace("_", " "), got=getattr(self, name), allowed="0 mm or more")


def room_from_sizes(stack: PistonStack) -> EndRoom:
    """Room at both ends, play at its worst.

    front = (middle + length/2 - front register) - (reach front + gudgeon to piston + piston) - play
    back  = (reach back + gudgeon to piston) - (middle - length/2 + back register) - play
    """
    front, back = reach(stack.connecting_rod, stack.crank_radius, stack.off)
    far = stack.middle + stack.length / 2 - stack.front_register
    near = stack.middle - stack.length / 2 + stack.back_register
    return EndRoom(
        far - (front + stack.gudgeon_to_piston + stack.piston) - stack.play,
        back + stack.gudgeon_to_piston - near - stack.play,
    )


@dataclass(frozen=True, slots=True)
class EndFinding:
    """One end: room, room in the worst case, rates to every size, shares of the spread in per cent."""

    room_mm: float
    worst_mm: float
    deviation_mm: float
    rates: Mapping[str, float]
    shares: tuple[tuple[str, float], ...]


def find_ends(
    stack: PistonStack, sigma: Mapping[str, float], reach_mm: Mapping[str, float]
) -> tuple[EndFinding, EndFinding]:
    """Front and back end with spreads: ``sigma`` and ``reach_mm`` by the stack's field names.

    The worst case is that of the sizes themselves at the ends of their reach (the sum is nearly linear in them).
    """
    names = {each.name for each in fields(PistonStack)}
    for given in (sigma, reach_mm):
        for name, value in given.items():
            if name not in names:
                raise Refused("spread of the piston's room", got=name, reason=f"known are {', '.join(sorted(names))}")
            if not math.isfinite(value) or value < 0:
                raise OutOfRange(f"spread of {name}", got=value, allowed="0 mm or more")
    room = room_from_sizes(stack)
    front, back = _rates(stack)
    return _end(stack, room.front_mm, front, sigma, reach_mm, 0), _end(stack, room.back_mm, back, sigma, reach_mm, 1)


def _rates(stack: PistonStack) -> tuple[dict[str, float], dict[str, float]]:
    """Exact rates of the room at the front and at the back."""
    front, back = reach(stack.connecting_rod, stack.crank_radius, stack.off)
    long = (stack.connecting_rod + stack.crank_radius) / front
    short = (stack.connecting_rod - stack.crank_radius) / back
    return (
        {"crank_radius": -long, "connecting_rod": -long, "off": stack.off / front, "middle": 1.0, "length": 0.5,
         "front_register": -1.0, "gudgeon_to_piston": -1.0, "piston": -1.0, "play": -1.0},
        {"crank_radius": -short, "connecting_rod": short, "off": -stack.off / back, "middle": -1.0, "length": 0.5,
         "back_register": -1.0, "gudgeon_to_piston": 1.0, "play": -1.0},
    )  # fmt: skip


def _end(
    stack: PistonStack, room: float, rates: dict[str, float], sigma: Mapping[str, float],
    reach_mm: Mapping[str, float], end: int,
) -> EndFinding:  # fmt: skip
    variances = {name: (rate * sigma.get(name, 0.0)) ** 2 for name, rate in rates.items()}
    total = math.fsum(variances.values())
    shares = sorted(
        ((name, 100 * part / total) for name, part in variances.items() if part > 0), key=lambda share: -share[1]
    )
    sizes = {each.name: getattr(stack, each.name) for each in fields(stack)}
    for name, way in reach_mm.items():
        sizes[name] -= math.copysign(way, rates.get(name, 0.0)) if rates.get(name) else 0.0
    worst = room_from_sizes(PistonStack(**sizes))
    return EndFinding(room, (worst.front_mm, worst.back_mm)[end], math.sqrt(total), rates, tuple(shares))


def _known(**sizes: float) -> None:
    for name, value in sizes.items():
        if not math.isfinite(value):
            raise Refused(name.replace("_", " "), got=value, reason="it is not known", way_out="measure or enter it")
