"""How a rod or a slot drives the valve: its pin straight on the spindle, or through a rocker and a valve rod."""

from __future__ import annotations

from asmade.motion.gears.kind import Choice, Choices, Member, Size
from asmade.motion.linkage import LEFT, RIGHT, Assembly, Dual, Lengths, turn

_ROCKER = ("transmission", ("rocker",))

LINE_SIZES = (
    Size("spindle_x", "a point of the valve spindle's line, ahead of the axle", "cylinder", "place"),
    Size("spindle_y", "the same point above the axle at running height", "cylinder", "place"),
    Size("spindle_incline", "slope of the valve spindle, positive rising forward", "cylinder", "angle", 0.0),
)

SIZES = (
    *LINE_SIZES,
    Size("rocker_x", "rocker shaft ahead of the axle", "rocker bracket", "place", when=_ROCKER),
    Size("rocker_y", "rocker shaft above the axle at running height", "rocker bracket", "place", when=_ROCKER),
    Size("rocker_driven_arm", "rocker shaft to the pin driven by the gear", "rocker", when=_ROCKER),
    Size("rocker_valve_arm", "rocker shaft to the pin of the valve rod", "rocker", when=_ROCKER),
    Size(
        "rocker_angle",
        "from the driven arm to the valve arm, anticlockwise; half a turn where the arms are opposite",
        "rocker",
        "angle",
        when=_ROCKER,
    ),
    Size("valve_rod", "valve rod, centre to centre", "valve rod", adjust="length of the valve rod", when=_ROCKER),
)

CHOICES = (
    Choice("transmission", "the driven pin is on the valve spindle, or on a rocker", ("on the spindle", "rocker")),
    Choice("driven_arm", "driven arm of the rocker (where there is one) hangs or stands", ("hangs", "stands")),
)

MEMBERS = (
    Member("driven arm", ("rocker shaft", "driven pin")),
    Member("valve arm", ("rocker shaft", "valve arm pin")),
    Member("valve rod", ("valve arm pin", "spindle pin")),
    Member("valve spindle", ("spindle pin", "spindle line"), fixed=True),
)


def drive_spindle(
    d: Lengths, choices: Choices, centre: Dual, reach: Dual, driving: str, assembly: Assembly
) -> dict[str, Dual]:
    """Places of the driven pin, which stands at ``reach`` from ``centre``, and of all that it drives.

    ``driving``: the link that holds it there, for findings. Without a rocker the rocker's points coincide with
    the spindle pin.
    """
    line, along = d["spindle_x"] + 1j * d["spindle_y"], turn(d["spindle_incline"])
    if choices["transmission"] == "on the spindle":
        place = assembly.on_line(centre, reach, line, along, ahead=True, links=(driving, "valve spindle"))
        pin = line + place * along
        still = {"rocker shaft": pin, "driven pin": pin, "valve arm pin": pin}
        return {"valve": place, "spindle pin": pin, "spindle line": line, **still}
    shaft = d["rocker_x"] + 1j * d["rocker_y"]
    side = RIGHT if choices["driven_arm"] == "hangs" else LEFT
    driven = assembly.dyad(centre, reach, shaft, d["rocker_driven_arm"], side, (driving, "rocker"))
    per_arm = d["rocker_valve_arm"] / d["rocker_driven_arm"] * turn(d["rocker_angle"])
    valve_pin = shaft + (driven - shaft) * per_arm
    place = assembly.on_line(valve_pin, d["valve_rod"], line, along, ahead=True, links=("valve rod", "valve spindle"))
    return {
        "valve": place,
        "spindle pin": line + place * along,
        "spindle line": line,
        "rocker shaft": shaft,
        "driven pin": driven,
        "valve arm pin": valve_pin,
    }
