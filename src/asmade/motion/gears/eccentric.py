"""A single eccentric with a plain rod: fixed for one direction, or slipping between two stops to reverse."""

from __future__ import annotations

import math

import numpy as np

from asmade.motion.gears import drive as driven
from asmade.motion.gears import spindle
from asmade.motion.gears.kind import Anchor, Choice, Choices, Figure, Gear, Mechanism, Member, Outputs, Size, Sizes
from asmade.motion.linkage import Assembly, Dual, Lengths, turn

SIZES = (
    *driven.SIZES,
    Size("eccentric_radius", "eccentric centre from axle centre: half the eccentric's movement", "eccentric"),
    Size(
        "advance_forward",
        "angle of advance in forward running: beyond square to the crank",
        "eccentric",
        "angle",
        adjust="turn the eccentric (or its forward stop) on the axle",
    ),
    Size(
        "advance_backward",
        "angle of advance in backward running; not used where the eccentric is fixed",
        "eccentric",
        "angle",
        adjust="turn the backward stop on the axle",
        when=("eccentric", ("slips",)),
    ),
    Size("eccentric_rod", "eccentric rod, centre to centre", "eccentric rod", adjust="length of the eccentric rod"),
    *spindle.SIZES,
)

CHOICES = (
    Choice("eccentric", "fixed on the axle, or slipping between stops", ("fixed", "slips")),
    Choice(
        "lies",
        "eccentric leads the crank (valve and eccentric move alike, outside admission) or follows it (a rocker with "
        "opposite arms, or inside admission)",
        ("ahead of the crank", "behind the crank"),
    ),
    *spindle.CHOICES,
)

MEMBERS = (
    *driven.MEMBERS,
    Member("eccentric", ("axle", "eccentric centre")),
    Member("eccentric rod", ("eccentric centre", "driven pin")),
    *spindle.MEMBERS,
)


def mechanism(choices: Choices) -> Mechanism:
    """The motion for one set of choices."""
    sense = 1.0 if choices["lies"] == "ahead of the crank" else -1.0
    slips = choices["eccentric"] == "slips"

    def move(d: Lengths, crank: Dual, reverser: Dual, assembly: Assembly) -> Outputs:
        main = driven.drive(d, crank, assembly)
        place = eccentric(main, d["eccentric_radius"], d["advance_forward"], 1.0, sense)
        if slips:
            backward = eccentric(main, d["eccentric_radius"], d["advance_backward"], -1.0, sense)
            ahead = Dual(np.where(reverser.value < 0, 0.0, 1.0))
            place = backward + ahead * (place - backward)
        return {
            **main.places(),
            "eccentric centre": place,
            **spindle.drive_spindle(d, choices, place, d["eccentric_rod"], "eccentric rod", assembly),
        }

    return move


def eccentric(main: driven.Drive, radius: Dual, advance: Dual, running: float, sense: float) -> Dual:
    """Centre of an eccentric a quarter turn and its advance ahead of the crank in its direction of running.

    ``running`` +1 forward, -1 backward; ``sense`` -1 sets it half a turn on: it then follows the crank.
    """
    # forward running turns clockwise: ahead is a negative angle
    return main.axle + radius * main.forward * turn(-running * (0.5 * math.pi + advance)) * sense


def example() -> Sizes:
    """An invented slip eccentric for a small 0-4-0: 10 mm stroke, lap 0.8 mm, lead 0.1 mm."""
    sizes: dict[str, Figure] = {
        "crank_radius": 5.0,
        "connecting_rod": 34.0,
        "eccentric_radius": 1.7,
        "advance_forward": math.asin(0.9 / 1.7),
        "advance_backward": math.asin(0.9 / 1.7),
        "eccentric_rod": 31.0,
        "spindle_x": 31.0,
        "spindle_y": 0.0,
    }
    choices = {
        "eccentric": "slips",
        "lies": "ahead of the crank",
        "transmission": "on the spindle",
        "driven_arm": "hangs",
    }
    return GEAR.of(sizes, choices)


def _dead_centre_movement() -> float:
    """Half the valve's movement between the dead centres with a rod of a thousand eccentrics."""
    gear = example().with_sizes({"eccentric_rod": 1700.0})
    valve = GEAR.move(gear, [0.0, math.pi], 1.0).required().place("valve")[0, :, 0]
    return float(0.5 * (valve[1] - valve[0]))


GEAR = Gear(
    name="eccentric",
    title="single eccentric with plain rod",
    about=(
        "One eccentric on the axle drives the valve. Fixed, it serves one direction; slipping between two stops, it "
        "follows the direction in which the engine is pushed off. Cut-off cannot be altered."
    ),
    source="polar valve diagram (Zeuner, Reuleaux), valve-gear textbooks; obliquity of the rod by exact geometry",
    sizes=SIZES,
    choices=CHOICES,
    members=MEMBERS,
    reverser=(1.0, -1.0),
    one_way=("eccentric", "fixed"),
    mechanism=mechanism,
    anchors=(
        Anchor(
            "at the dead centres the valve stands lap + lead from its middle: eccentric radius x sin(angle of advance)",
            "polar valve diagram (Zeuner, Reuleaux), rod long",
            published=0.9,
            within=1e-3,
            computed=_dead_centre_movement,
        ),
    ),
    example=example,
)
