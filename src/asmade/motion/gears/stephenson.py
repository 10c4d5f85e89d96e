"""Stephenson valve gear: two eccentrics, one for each direction, joined by a link that is raised and lowered."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asmade.motion.gears import drive as driven
from asmade.motion.gears import lifting, spindle
from asmade.motion.gears.eccentric import eccentric
from asmade.motion.gears.kind import Anchor, Choice, Choices, Figure, Gear, Mechanism, Member, Outputs, Size, Sizes
from asmade.motion.linkage import LEFT, RIGHT, Assembly, Dual, Lengths, half_turn, turn

SIZES = (
    *driven.SIZES,
    Size("eccentric_forward", "forward eccentric's centre from axle centre", "forward eccentric"),
    Size("eccentric_backward", "backward eccentric's centre from axle centre", "backward eccentric"),
    Size(
        "advance_forward",
        "angle of advance of the forward eccentric: beyond square to the crank",
        "forward eccentric",
        "angle",
        adjust="turn the forward eccentric on the axle",
    ),
    Size(
        "advance_backward",
        "angle of advance of the backward eccentric",
        "backward eccentric",
        "angle",
        adjust="turn the backward eccentric on the axle",
    ),
    Size(
        "rod_forward",
        "forward eccentric rod, centre to centre",
        "forward eccentric rod",
        adjust="length of the forward eccentric rod",
    ),
    Size(
        "rod_backward",
        "backward eccentric rod, centre to centre",
        "backward eccentric rod",
        adjust="length of the backward eccentric rod",
    ),
    Size("slot_radius", "radius of the slot's middle line", "expansion link"),
    Size("link_half_slot", "farthest the die pin may stand from the middle of the slot", "expansion link"),
    Size("top_pin", "upper eccentric-rod pin above the middle of the slot, link upright", "expansion link"),
    Size("top_pin_behind", "upper eccentric-rod pin behind the middle of the slot", "expansion link", "place"),
    Size("bottom_pin", "lower eccentric-rod pin below the middle of the slot, link upright", "expansion link"),
    Size("bottom_pin_behind", "lower eccentric-rod pin behind the middle of the slot", "expansion link", "place"),
    Size("hung_above", "suspension pin above the middle of the slot, link upright", "expansion link", "place"),
    Size("hung_behind", "suspension pin behind the middle of the slot", "expansion link", "place"),
    Size("hanger", "lifting link, centre to centre", "lifting link", adjust="length of the lifting link"),
    *lifting.SIZES,
    *spindle.SIZES,
)

CHOICES = (
    Choice(
        "rods",
        "open: not crossed while both eccentrics are on the link's side of the axle",
        ("open", "crossed"),
    ),
    Choice(
        "lies",
        "eccentrics lead the crank (direct, outside admission) or follow it (rocker with opposite arms, or inside "
        "admission)",
        ("ahead of the crank", "behind the crank"),
    ),
    Choice("lifting", "link hung from above or carried from below", ("hanging link", "standing link")),
    *spindle.CHOICES,
)

MEMBERS = (
    *driven.MEMBERS,
    Member("forward eccentric", ("axle", "forward eccentric centre")),
    Member("backward eccentric", ("axle", "backward eccentric centre")),
    Member("forward eccentric rod", ("forward eccentric centre", "forward rod pin")),
    Member("backward eccentric rod", ("backward eccentric centre", "backward rod pin")),
    Member(
        "expansion link",
        ("top pin", "slot top", "suspension pin", "slot bottom", "bottom pin"),
        slot=("slot top", "slot bottom"),
    ),
    Member("lifting arm", ("weighshaft", "lifting arm pin")),
    Member("lifting link", ("lifting arm pin", "suspension pin")),
    *spindle.MEMBERS,
)


def mechanism(choices: Choices) -> Mechanism:
    """The motion for one set of choices.

    Direct drive with the eccentrics ahead of the crank, or a rocker with them behind it: in both the forward
    eccentric is the upper one when both face the link, so open rods lead it to the upper pin.
    """
    return _Stephenson(
        choices, open_rods=choices["rods"] == "open", hang=-1 if choices["lifting"] == "hanging link" else 1
    )


@dataclass(frozen=True, slots=True)
class _Stephenson:
    """The unknown of the one closed loop is the slope of the forward rod, the gap that of the lifting link."""

    choices: Choices
    open_rods: bool
    hang: int

    def __call__(self, d: Lengths, crank: Dual, reverser: Dual, assembly: Assembly) -> Outputs:
        main = driven.drive(d, crank, assembly)
        sense = 1.0 if self.choices["lies"] == "ahead of the crank" else -1.0
        forward = eccentric(main, d["eccentric_forward"], d["advance_forward"], 1.0, sense)
        backward = eccentric(main, d["eccentric_backward"], d["advance_backward"], -1.0, sense)
        weighshaft, arm_pin = lifting.lifting_arm(d, reverser)

        # the link seen from the middle of its slot, upright
        top, bottom = 1j * d["top_pin"] - d["top_pin_behind"], -1j * d["bottom_pin"] - d["bottom_pin_behind"]
        ahead_pin, astern_pin = (top, bottom) if self.open_rods else (bottom, top)
        pins = ahead_pin - astern_pin
        pins_apart = pins.length()
        hung = 1j * d["hung_above"] - d["hung_behind"]
        side = LEFT if self.open_rods else RIGHT
        slope = self._slope(d, forward, arm_pin, hung, ahead_pin)

        def loop(half: Dual) -> tuple[Dual, dict[str, Dual]]:
            ahead = forward + d["rod_forward"] * (Dual(slope) * half_turn(half))
            astern = assembly.dyad(
                ahead, pins_apart, backward, d["rod_backward"], side, ("expansion link", "backward eccentric rod")
            )
            swing = (ahead - astern) / pins
            middle = ahead - swing * ahead_pin
            suspension = middle + swing * hung
            gap = ((suspension - arm_pin).square() - d["hanger"].square()) / (2.0 * d["hanger"])
            return gap, {
                "forward rod pin": ahead,
                "backward rod pin": astern,
                "swing": swing,
                "slot middle": middle,
                "suspension pin": suspension,
            }

        found = assembly.close(
            loop,
            lambda: np.zeros(slope.shape),
            scale=Dual(np.full((1, 1, 1), 0.1)),
            links=("lifting link", "expansion link"),
        )
        middle, swing = found["slot middle"], found["swing"]
        centre = middle - swing * d["slot_radius"]
        end = swing * d["slot_radius"] * turn(d["link_half_slot"] / d["slot_radius"])
        valve = spindle.drive_spindle(d, self.choices, centre, d["slot_radius"], "expansion link", assembly)
        return {
            **main.places(),
            **found,
            **valve,
            "forward eccentric centre": forward,
            "backward eccentric centre": backward,
            "weighshaft": weighshaft,
            "lifting arm pin": arm_pin,
            "top pin": middle + swing * top,
            "bottom pin": middle + swing * bottom,
            "slot centre": centre,
            "slot top": centre + end,
            "slot bottom": centre + swing * swing * d["slot_radius"].square() / end,
            "die": -((valve["driven pin"] - centre) / swing).conjugate(),
        }

    def _slope(self, d: Lengths, forward: Dual, arm_pin: Dual, hung: Dual, ahead_pin: Dual) -> NDArray[np.complex128]:
        """Unit vector of the forward rod if the lifting link hung plumb and the expansion link stood upright."""
        height = arm_pin.value.imag + self.hang * d["hanger"].value - hung.value.imag + ahead_pin.value.imag
        sine = np.clip((height - forward.value.imag) / d["rod_forward"].value, -0.9, 0.9)
        return np.asarray(np.sqrt(1.0 - sine * sine) + 1j * sine)


def example() -> Sizes:
    """An invented gear for inside cylinders, 5-inch gauge: locomotive link, open rods, die on the spindle."""
    sizes: dict[str, Figure] = {
        "crank_radius": 22.0,
        "connecting_rod": 150.0,
        "eccentric_forward": 6.6,
        "eccentric_backward": 6.6,
        "advance_forward": math.radians(17.0),
        "advance_backward": math.radians(17.0),
        "rod_forward": 118.0,
        "rod_backward": 118.0,
        "slot_radius": 126.0,
        "link_half_slot": 18.5,
        "top_pin": 19.0,
        "top_pin_behind": 8.0,
        "bottom_pin": 19.0,
        "bottom_pin_behind": 8.0,
        "hung_above": 0.0,
        "hung_behind": 2.0,
        "hanger": 48.0,
        "weigh_x": 93.0,
        "weigh_y": 47.0,
        "lift_arm": 32.0,
        "lift_angle_forward": math.radians(-27.0),
        "lift_angle_mid": math.radians(1.0),
        "lift_angle_backward": math.radians(29.0),
        "spindle_x": 126.0,
        "spindle_y": 0.0,
    }
    choices = {
        "rods": "open",
        "lies": "ahead of the crank",
        "lifting": "hanging link",
        "transmission": "on the spindle",
        "driven_arm": "hangs",
    }
    return GEAR.of(sizes, choices)


def _mid_gear_movement() -> float:
    """Half the valve's movement between the dead centres in mid gear, over the eccentric radius; rods long."""
    long = 40.0
    gear = example()
    sizes = {name: value for name, value in gear.sizes.items() if not name.startswith("lift_angle")}
    for name in ("rod_forward", "rod_backward", "top_pin", "bottom_pin", "slot_radius"):
        sizes[name] = sizes[name] * long
    sizes["slot_radius"] = sizes["rod_forward"]
    sizes |= {"top_pin_behind": 0.0, "bottom_pin_behind": 0.0, "hung_behind": 0.0, "link_half_slot": 18.0 * long}
    sizes |= {"hanger": 4000.0, "weigh_x": 118.0 * long - 32.0, "weigh_y": 4000.0, "lift_arm": 32.0}
    angles = {"lift_angle_forward": -0.1, "lift_angle_mid": 0.0, "lift_angle_backward": 0.1}
    valve = GEAR.move(GEAR.of({**sizes, **angles}, gear.choices), [0.0, math.pi], 0.0).required().place("valve")
    return float(0.5 * (valve[0, 1, 0] - valve[0, 0, 0]) / 6.6)


GEAR = Gear(
    name="stephenson",
    title="Stephenson valve gear",
    about=(
        "A forward and a backward eccentric work the two ends of the link; raising or lowering it brings the die "
        "nearer to one or the other. With open rods the lead grows towards mid gear, with crossed rods it falls. Pins "
        "behind the slot make a locomotive link, pins in line with its ends a launch link."
    ),
    source="Zeuner, Treatise on Valve-Gears (relations recalled from memory, reproduced by geometry)",
    sizes=SIZES,
    choices=CHOICES,
    members=MEMBERS,
    reverser=None,
    mechanism=mechanism,
    anchors=(
        Anchor(
            "open rods, mid gear: the valve stands r (sin a + c / l cos a) from its middle at the dead centres, with "
            "advance a = 17 degrees, half link c = 19, rod l = 118",
            "Zeuner, Treatise on Valve-Gears, recalled from memory; the book takes the slope of the rods as small, so "
            "within 1 per cent",
            published=math.sin(math.radians(17.0)) + 19.0 / 118.0 * math.cos(math.radians(17.0)),
            within=4e-3,
            computed=_mid_gear_movement,
        ),
    ),
    example=example,
)
