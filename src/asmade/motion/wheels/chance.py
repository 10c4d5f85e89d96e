"""Chance of binding: many chassis drawn from the spreads, each turned right round."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from asmade.measure.errors import OutOfRange
from asmade.motion.wheels.geometry import turn_angles
from asmade.motion.wheels.slack import Boxes, joint_slack, slack_left

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Chassis
    from asmade.motion.wheels.spreads import Spreads

ANGLES = 72
"""Angles a drawn chassis is turned through (and its dead centres): a tight place between two is missed by a few per
cent of what it is tight by."""

ANGLES_RIGID = 24
"""The same for rods over three pins, whose programmes take a hundred times as long: every 45 degrees is among them."""

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

    Box play is freedom and is drawn only when a spread was given for it. Same seed, same answer.
    """
    if samples < 1:
        raise OutOfRange("chassis drawn for the chance of binding", got=samples, allowed="1 or more")
    drawn = spreads.draw(chassis, samples, seed)
    drawn = drawn.replace_unchecked(box_fore=np.maximum(drawn.box_fore, 0.0), box_aft=np.maximum(drawn.box_aft, 0.0))
    layout = chassis.layout
    turn = turn_angles(chassis, ANGLES_RIGID if layout.has_rigid else ANGLES)
    if layout.decouples and boxes == "blocked":
        tight = slack_left(drawn, turn, boxes).min(axis=1) < below_mm
    else:
        tight = np.zeros((layout.sections, samples), dtype=bool)
        some = joint_slack(drawn, turn, boxes).min(axis=0) < below_mm
        if some.any():
            part = drawn.with_vector(drawn.vector()[:, some])
            tight[:, some] = slack_left(part, turn, boxes).min(axis=1) < below_mm
    counts = [int(row.sum()) for row in tight]
    return Chances(
        sections=tuple(Chance.of(count, samples, seed) for count in counts),
        any=Chance.of(int(tight.any(axis=0).sum()), samples, seed),
    )
