"""Chance of binding: many chassis drawn from the spreads, each turned right round."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from asmade.measure.errors import OutOfRange
from asmade.motion.wheels.geometry import turn_angles
from asmade.motion.wheels.slack import Boxes, joint_slack, least_slack, section_slack

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.spreads import Spreads

ANGLES = 72
"""Angles a drawn chassis is turned through (and its dead centres): a tight place between two is missed by a few per
cent of what it is tight by."""

ANGLES_RIGID = 24
"""The same for rods over three pins, whose programmes take fifty times as long: every 45 degrees is among them."""

MOST_RIGID = 300
"""Draws of chassis with rods over three pins: their share is then known within 6 %, and mostly better."""

_95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Chance:
    """A share of drawn chassis, with the 95 % interval that so many draws allow (Wilson's)."""

    value: float
    low: float
    high: float
    samples: int
    seed: int

    @classmethod
    def of(cls, hits: int, samples: int, seed: int) -> Chance:
        """``hits`` of ``samples``. Wilson, J. American Statistical Association 22 (1927) 209-212, from memory."""
        share, z2 = hits / samples, _95**2 / samples
        middle = (share + z2 / 2) / (1 + z2)
        half = _95 * np.sqrt(share * (1 - share) / samples + z2 / (4 * samples)) / (1 + z2)
        return cls(share, max(0.0, float(middle - half)), min(1.0, float(middle + half)), samples, seed)


@dataclass(frozen=True, slots=True)
class Chances:
    """Chance that each section, and that any of them, has less slack than asked somewhere in the turn."""

    sections: tuple[Chance, ...]
    any: Chance


def chance_of_binding(
    chassis: Chassis, spreads: Spreads, boxes: Boxes, *, samples: int, seed: int, below_mm: float = 0.0
) -> Chances:
    """Draw ``samples`` chassis about the first sample and count those with less slack than ``below_mm``.

    Box play is freedom and is drawn only when a spread was given for it. Same seed, same answer. Of rods over three
    pins no more than ``MOST_RIGID`` are drawn; the interval given is that of the draws there were.
    """
    return chances_of_less(chassis, spreads, boxes, samples=samples, seed=seed, below_mm=(below_mm,))[0]


def chances_of_less(
    chassis: Chassis, spreads: Spreads, boxes: Boxes, *, samples: int, seed: int, below_mm: Sequence[float]
) -> tuple[Chances, ...]:
    """The same for several amounts at once, from the same chassis."""
    if samples < 1:
        raise OutOfRange("chassis drawn for the chance of binding", got=samples, allowed="1 or more")
    if chassis.layout.has_rigid:
        samples = min(samples, MOST_RIGID)
    drawn = spreads.draw(chassis, samples, seed)
    drawn = drawn.replace_unchecked(box_fore=np.maximum(drawn.box_fore, 0.0), box_aft=np.maximum(drawn.box_aft, 0.0))
    turn = turn_angles(chassis, ANGLES_RIGID if chassis.layout.has_rigid else ANGLES)
    least = _least(drawn, turn, boxes, max(below_mm), min(below_mm))
    return tuple(
        Chances(
            sections=tuple(Chance.of(int((row < below).sum()), samples, seed) for row in least),
            any=Chance.of(int((least < below).any(axis=0).sum()), samples, seed),
        )
        for below in below_mm
    )


def _least(drawn: Chassis, turn: Array, boxes: Boxes, below: float, settled: float) -> Array:
    """Least slack of each section over the turn (S, n), good enough to tell whether it is less than amounts asked for.

    below, settled: the greatest and the least of them.

    A section has no less than all rods have at once, so it is worked out only where that is less than ``below``.
    """
    layout = drawn.layout
    if layout.decouples and boxes == "blocked":
        return least_slack(drawn, turn, boxes)
    set_up = drawn.with_boxes(boxes)
    joint = joint_slack(drawn, turn, boxes)
    least = np.repeat(joint.min(axis=0)[None, :], layout.sections, axis=0)
    if len(layout.bodies) == 1:
        return least
    vector = set_up.vector()

    def section(first: int, at: NDArray[np.intp], which: NDArray[np.intp]) -> Array:
        few = set_up.with_vector(vector[:, which])
        return section_slack(few, turn[at][None, :], first, joint[at, which])

    some = np.flatnonzero(least[0] < below)
    if not some.size:
        return least
    tightest = joint[:, some].argmin(axis=0)
    at, which = np.nonzero(joint < below)
    for body in layout.bodies:
        row = np.full(drawn.samples, np.inf)
        row[some] = section(body.first, tightest, some)
        still = row[which] >= settled  # where it is less already, how much less counts for nothing
        np.minimum.at(row, which[still], section(body.first, at[still], which[still]))
        least[body.first : body.last + 1] = row
    return least
