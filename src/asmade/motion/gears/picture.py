"""A gear at one position as named points and links: what a drawing or a sweep is made from."""

from __future__ import annotations

from dataclasses import dataclass

from asmade.motion.gears.kind import Gear
from asmade.motion.linkage import Motion


@dataclass(frozen=True, slots=True)
class Picture:
    """Named points (x forward, y up, mm) and the links drawn through them."""

    points: dict[str, tuple[float, float]]
    links: dict[str, tuple[tuple[float, float], ...]]
    fixed: frozenset[str]


def picture(gear: Gear, motion: Motion, *, position: int = 0, angle: int = 0, sample: int = 0) -> Picture:
    """The gear at one of the positions of a motion, by indices; refuses a motion that does not assemble."""
    motion.required()
    points = {}
    for name in {name for member in gear.members for name in member.points}:
        place = complex(motion.place(name)[position, angle, sample])
        points[name] = (place.real, place.imag)
    return Picture(
        points=points,
        links={member.name: tuple(points[name] for name in member.points) for member in gear.members},
        fixed=frozenset(member.name for member in gear.members if member.fixed),
    )
