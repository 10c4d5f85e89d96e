"""Joy valve gear: no eccentric; a lever driven from a point of the connecting rod, its die in a tilted slide."""

from __future__ import annotations

import math

import numpy as np

from asmade.motion.gears import drive as driven
from asmade.motion.gears import lifting, spindle
from asmade.motion.gears.kind import Anchor, Choice, Choices, Figure, Gear, Mechanism, Member, Outputs, Size, Sizes
from asmade.motion.linkage import LEFT, RIGHT, Assembly, Dual, Lengths, turn

SIZES = (
    *driven.SIZES,
    Size("joint_along", "joint on the connecting rod, from big end to little end", "connecting rod", "place"),
    Size("joint_above", "joint above the connecting rod's line of centres", "connecting rod", "place", 0.0),
    Size("vibrating_link", "joint on the connecting rod to the pin of the anchor link", "vibrating link"),
    Size(
        "lever_joint",
        "rod joint to the valve lever's pin, along the vibrating link",
        "vibrating link",
    ),
    Size("lever_joint_ahead", "valve lever's pin ahead of the vibrating link's line", "vibrating link", "place", 0.0),
    Size("anchor_x", "anchor pin ahead of the axle", "motion bracket", "place"),
    Size("anchor_y", "anchor pin above the axle at running height", "motion bracket", "place"),
    Size("anchor_link", "anchor link, centre to centre", "anchor link", adjust="length of the anchor link"),
    Size("slide_x", "middle of the slide shaft ahead of the axle", "slide shaft bracket", "place"),
    Size("slide_y", "middle of the slide shaft above the axle at running height", "slide shaft bracket", "place"),
    Size("slot_radius", "radius of the slide's middle line", "slide"),
    Size("link_half_slot", "farthest the die pin may stand from the middle of the slide", "slide"),
    Size(
        "slide_angle_forward",
        "slide's centre of curvature, from forward, upwards, in full forward gear",
        "slide shaft",
        "angle",
        adjust="end notch of the reverser",
    ),
    Size("slide_angle_mid", "the same in mid gear", "slide shaft", "angle", adjust="length of the reach rod"),
    Size(
        "slide_angle_backward",
        "the same in full backward gear",
        "slide shaft",
        "angle",
        adjust="end notch of the reverser",
    ),
    Size("lever_to_die", "valve lever's lower pin to its die pin", "valve lever"),
    Size("die_to_rod", "valve lever's die pin to its valve-rod pin", "valve lever"),
    Size("valve_rod", "valve rod, centre to centre", "valve rod", adjust="length of the valve rod"),
    *spindle.LINE_SIZES,
)

CHOICES = (
    Choice(
        "valve_lever",
        "valve rod beyond the die (outside admission) or between the die and the lower pin (inside admission)",
        ("valve rod outermost", "die outermost"),
    ),
    Choice("anchor", "anchor link reaches forward or backward to its fixed pin", ("forward", "backward")),
)

MEMBERS = (
    *driven.MEMBERS,
    Member("vibrating link", ("rod joint", "lever joint", "anchor link pin")),
    Member("anchor link", ("anchor", "anchor link pin")),
    Member("valve lever", ("lever joint", "die pin", "valve rod pin")),
    Member("slide", ("slot top", "slide shaft", "slot bottom"), slot=("slot top", "slot bottom")),
    Member("valve rod", ("valve rod pin", "spindle pin")),
    Member("valve spindle", ("spindle pin", "spindle line"), fixed=True),
)


def mechanism(choices: Choices) -> Mechanism:
    """The motion for one set of choices; every pin follows in closed form."""
    outermost = 1.0 if choices["valve_lever"] == "valve rod outermost" else -1.0
    anchor_side = LEFT if choices["anchor"] == "backward" else RIGHT

    def move(d: Lengths, crank: Dual, reverser: Dual, assembly: Assembly) -> Outputs:
        main = driven.drive(d, crank, assembly)
        along_rod = (main.gudgeon - main.crank_pin) / d["connecting_rod"]
        joint = main.crank_pin + along_rod * (d["joint_along"] + 1j * d["joint_above"])
        anchor = d["anchor_x"] + 1j * d["anchor_y"]
        swung = assembly.dyad(
            joint, d["vibrating_link"], anchor, d["anchor_link"], anchor_side, ("vibrating link", "anchor link")
        )
        lever_joint = joint + (swung - joint) * ((d["lever_joint"] + 1j * d["lever_joint_ahead"]) / d["vibrating_link"])

        shaft = d["slide_x"] + 1j * d["slide_y"]
        tilt = lifting.between_gears(
            d["slide_angle_forward"], d["slide_angle_mid"], d["slide_angle_backward"], reverser
        )
        tilted = turn(tilt)
        centre = shaft + d["slot_radius"] * tilted
        die = assembly.dyad(lever_joint, d["lever_to_die"], centre, d["slot_radius"], LEFT, ("valve lever", "slide"))
        rod_pin = die + (die - lever_joint) * (outermost * d["die_to_rod"] / d["lever_to_die"])
        line, along = d["spindle_x"] + 1j * d["spindle_y"], turn(d["spindle_incline"])
        place = assembly.on_line(rod_pin, d["valve_rod"], line, along, ahead=True, links=("valve rod", "valve spindle"))
        slot_end = d["slot_radius"] * tilted * turn(d["link_half_slot"] / d["slot_radius"]).conjugate()
        other_end = d["slot_radius"] * tilted * turn(d["link_half_slot"] / d["slot_radius"])
        return {
            **main.places(),
            "rod joint": joint,
            "anchor": anchor,
            "anchor link pin": swung,
            "lever joint": lever_joint,
            "slide shaft": shaft,
            "slot top": centre - slot_end,
            "slot bottom": centre - other_end,
            "slot centre": centre,
            "die pin": die,
            "valve rod pin": rod_pin,
            "spindle pin": line + place * along,
            "spindle line": line,
            "valve": place,
            "die": (die - centre) / tilted,
        }

    return move


def example() -> Sizes:
    """An invented gear for inside cylinders, 5-inch gauge, valves above the cylinders."""
    sizes: dict[str, Figure] = {
        "crank_radius": 22.0,
        "connecting_rod": 150.0,
        "joint_along": 70.0,
        "vibrating_link": 58.0,
        "lever_joint": 27.0,
        "anchor_x": 142.0,
        "anchor_y": -52.0,
        "anchor_link": 68.0,
        "slide_x": 74.8,
        "slide_y": 20.0,
        "slot_radius": 90.0,
        "link_half_slot": 20.0,
        "slide_angle_forward": math.radians(-22.0),
        "slide_angle_mid": 0.0,
        "slide_angle_backward": math.radians(22.0),
        "lever_to_die": 46.5,
        "die_to_rod": 9.6,
        "valve_rod": 90.0,
        "spindle_x": 164.8,
        "spindle_y": 29.0,
    }
    return GEAR.of(sizes, {"valve_lever": "valve rod outermost", "anchor": "forward"})


def _spread_of_leads() -> float:
    """Greatest difference of the valve's place over all gears at a dead centre, die at the shaft there."""
    from scipy.optimize import root  # noqa: PLC0415  # heavy, and only wanted here

    gear = example()

    def away(x: np.ndarray[tuple[int], np.dtype[np.float64]]) -> list[float]:
        motion = GEAR.move(gear.with_sizes(dict(zip(free, x, strict=True))), [0.0, math.pi], 0.0)
        off = (motion.place("die pin") - motion.place("slide shaft"))[0, :, 0]
        return [float(off[0].imag), float(off[1].imag)]

    free = ("lever_to_die", "slide_x")
    found = root(away, [gear["lever_to_die"], gear["slide_x"]])
    motion = GEAR.move(gear.with_sizes(dict(zip(free, found.x, strict=True))), [0.0, math.pi], np.linspace(-1, 1, 5))
    return float(np.ptp(motion.required().place("valve")[:, :, 0], axis=0).max())


GEAR = Gear(
    name="joy",
    title="Joy valve gear",
    about=(
        "The vertical movement of a point of the connecting rod, made straight by an anchor link, is turned into valve "
        "movement by a slide that is tilted to reverse; the fore-and-aft movement adds lap and lead."
    ),
    source="geometry of the linkage; proportions: common practice, no source",
    sizes=SIZES,
    choices=CHOICES,
    members=MEMBERS,
    reverser=None,
    mechanism=mechanism,
    anchors=(
        Anchor(
            "with the die at the middle of the slide shaft at both dead centres, tilting the slide there does not move "
            "the valve: the lead is the same in all gears",
            "valve-gear textbooks; follows from the geometry",
            published=0.0,
            within=1e-6,
            computed=_spread_of_leads,
        ),
    ),
    example=example,
)
