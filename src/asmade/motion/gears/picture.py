"""A gear at one position as named points and links: what a drawing or a sweep is made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.motion.gears.kind import Gear
from asmade.motion.linkage import Motion

CENTRE: Final = "slot centre"
"""Output of every gear with a slot: the centre of its arc."""


@dataclass(frozen=True, slots=True)
class Picture:
    """Named points (x forward, y up, mm) and the links drawn through them."""

    points: dict[str, tuple[float, float]]
    links: dict[str, tuple[tuple[float, float], ...]]
    fixed: frozenset[str]
    lines: dict[str, tuple[tuple[float, float], ...]]
    """Where a link has a slot, its pins without the ends of the slot; otherwise the link."""
    slots: dict[str, tuple[tuple[float, float], ...]]
    """Both ends, then the centre of the arc."""


def picture(gear: Gear, motion: Motion, *, position: int = 0, angle: int = 0, sample: int = 0) -> Picture:
    """The gear at one of the positions of a motion, by indices; refuses a motion that does not assemble."""
    motion.required()
    points = {}
    slotted = [member for member in gear.members if member.slot is not None]
    for name in {name for member in gear.members for name in member.points} | ({CENTRE} if slotted else set()):
        place = complex(motion.place(name)[position, angle, sample])
        points[name] = (place.real, place.imag)
    return Picture(
        points=points,
        links={member.name: tuple(points[name] for name in member.points) for member in gear.members},
        fixed=frozenset(member.name for member in gear.members if member.fixed),
        lines={member.name: tuple(points[name] for name in member.line) for member in gear.members},
        slots={member.name: tuple(points[name] for name in (*(member.slot or ()), CENTRE)) for member in slotted},
    )


def sweeps(gear: Gear, motion: Motion) -> dict[str, NDArray[np.complex128]]:
    """Where each member goes: its points (x + iy, mm) at every place of a motion, shape (places, points).

    Source of envelopes: a member's sweep is the union of its outlines laid through these points. Places at which the
    gear does not assemble are left out.
    """
    assembled = motion.assembled.ravel()
    return {
        member.name: np.stack([motion.place(point).ravel()[assembled] for point in member.points], axis=1)
        for member in gear.members
    }
