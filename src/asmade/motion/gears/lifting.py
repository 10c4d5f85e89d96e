"""The weighshaft: a lifting arm whose angle follows the reverser, linear from mid gear to full gear either way."""

from __future__ import annotations

import numpy as np

from asmade.motion.gears.kind import Size
from asmade.motion.linkage import Dual, Lengths, turn

SIZES = (
    Size("weigh_x", "weighshaft ahead of the axle", "weighshaft bracket", "place"),
    Size("weigh_y", "weighshaft above the axle at running height", "weighshaft bracket", "place"),
    Size("lift_arm", "lifting arm, weighshaft to pin", "lifting arm"),
    Size(
        "lift_angle_forward",
        "lifting arm in full forward gear, from forward, upwards",
        "weighshaft",
        "angle",
        adjust="end notch of the reverser",
    ),
    Size(
        "lift_angle_mid",
        "lifting arm in mid gear, from forward, upwards",
        "weighshaft",
        "angle",
        adjust="length of the reach rod",
    ),
    Size(
        "lift_angle_backward",
        "lifting arm in full backward gear, from forward, upwards",
        "weighshaft",
        "angle",
        adjust="end notch of the reverser",
    ),
)


def between_gears(forward: Dual, mid: Dual, backward: Dual, reverser: Dual) -> Dual:
    """Value at a reverser position: linear from mid gear (0) to full forward (+1) and to full backward (-1)."""
    ahead, astern = Dual(np.maximum(reverser.value, 0.0)), Dual(np.maximum(-reverser.value, 0.0))
    return mid + ahead * (forward - mid) + astern * (backward - mid)


def lifting_arm(d: Lengths, reverser: Dual) -> tuple[Dual, Dual]:
    """Weighshaft and the pin of its lifting arm."""
    weighshaft = d["weigh_x"] + 1j * d["weigh_y"]
    angle = between_gears(d["lift_angle_forward"], d["lift_angle_mid"], d["lift_angle_backward"], reverser)
    return weighshaft, weighshaft + d["lift_arm"] * turn(angle)
