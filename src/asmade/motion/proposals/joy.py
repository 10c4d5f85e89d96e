"""Design aid: a Joy gear from a point of the connecting rod, its die at the slide shaft at both dead centres."""

from __future__ import annotations

import cmath
import math

from asmade.measure.errors import OutOfRange, Refused
from asmade.motion.gears import gear
from asmade.motion.gears.kind import Figure
from asmade.motion.proposals.aid import (
    COMMON,
    EITHER,
    GEOMETRY,
    PRACTICE,
    Aid,
    Ask,
    Chosen,
    Proposal,
    Wanted,
    Working,
    across,
    lap_and_travel,
)
from asmade.motion.valves.engine import Admission, Side, Valve
from asmade.motion.valves.setting import set_valve

TILT_LIMIT = math.radians(30.0)
"""Farthest that a slide is tilted: common practice, no source (25 degrees, more if need be)."""
SWING_LIMIT = math.radians(35.0)
"""Farthest that the valve lever leans at a dead centre: common practice, no source."""


def propose(wanted: Wanted, admission: Admission, chosen: Chosen) -> Proposal:
    """Lap, lever, slide and its tilt, in closed form; ``wanted`` by the names of what the aid asks.

    The vibrating link's foot stands in the same place at both dead centres, and so does the die, at the slide shaft:
    tilting the slide does not move the valve there. The lever's arms are as lap + lead to the movement of its lower
    pin; the tilt makes of the rod's rise what the travel wants. The slide's radius is the valve rod's length.
    """
    _lever_for(admission, chosen)
    note = Working()
    lead, radius, rod = wanted["lead"], wanted["crank_radius"], wanted["connecting_rod"]
    lap, travel = lap_and_travel(wanted["cutoff"], lead, wanted.get("travel"), wanted.get("lap"), note)
    outward = 1.0 if admission == "outside" else -1.0
    along, share = wanted["joint_along"], wanted["lever_share"]
    for name, value, most in (("joint_along", along / rod, 0.8), ("lever_share", share, 0.9)):
        if not 0.1 <= value <= most:
            raise OutOfRange(name, got=value, allowed=f"0.1 to {most} of the whole", source=PRACTICE)

    front, back = _joint_at_dead_centres(radius, rod, along, wanted["cylinder_line_y"])
    half, middle = 0.5 * abs(front - back), 0.5 * (front + back)
    ahead = (front - back) / abs(front - back)
    down = -1j * ahead
    vibrating = wanted.get("vibrating_link") or note("vibrating_link", "2.6 x crank radius", 2.6 * radius, PRACTICE)
    if not vibrating > 1.5 * half:
        raise OutOfRange("vibrating link", got=vibrating, allowed=f"more than {1.5 * half:.1f} mm", source=PRACTICE)
    foot = middle + down * math.sqrt(vibrating**2 - half**2)
    anchor_link = wanted.get("anchor_link") or note("anchor_link", "1.2 x vibrating link", 1.2 * vibrating, PRACTICE)
    anchor = foot + (1.0 if chosen["anchor"] == "forward" else -1.0) * ahead * anchor_link

    # pin of the valve lever at both dead centres, and the line between them on which die and valve-rod pin stand
    pin, between = front + (foot - front) * share, middle + (foot - middle) * share
    reach = note(
        "half movement of the lever's lower pin", "half stroke x (1 - lever share)", half * (1 - share), GEOMETRY
    )
    arms = note("die_to_rod over lever_to_die", "(lap + lead) / that movement", (lap + lead) / reach, GEOMETRY)
    to_line = _up_to_spindle(between, -down, wanted["spindle_above"])
    die = between - down * to_line / (1.0 + outward * arms)
    lever = note("lever_to_die", "lower pin to the slide shaft at either dead centre", abs(die - pin), GEOMETRY)
    lean = math.asin(min(1.0, reach / lever))
    if not lean < SWING_LIMIT or not to_line > 0:
        raise OutOfRange(
            "valve spindle above the axle", got=f"{wanted['spindle_above']:g} mm",
            allowed=f"so high that the lever leans less than {math.degrees(SWING_LIMIT):.0f} degrees, here "
            f"{math.degrees(lean):.0f}", source=PRACTICE,
            way_out="raise the spindle, lengthen the vibrating link, or put the lever's pin nearer to its foot",
        )  # fmt: skip

    rises = note("half rise of the joint", "crank radius x (1 - joint along / connecting rod)",
                 radius * (1.0 - along / rod), GEOMETRY)  # fmt: skip
    needed = across(travel, lap, lead) / ((1.0 + outward * arms) * rises)
    tilt = note(
        "tilt of the slide", "atan(half movement across / ((1 +- arms) x half rise))", math.atan(needed), GEOMETRY
    )
    if not tilt < TILT_LIMIT:
        raise OutOfRange(
            "tilt of the slide", got=f"{math.degrees(tilt):.1f} deg",
            allowed=f"less than {math.degrees(TILT_LIMIT):.0f} deg",
            source=PRACTICE, way_out="put the joint nearer to the big end, or be content with less travel",
        )  # fmt: skip
    valve_rod = wanted["valve_rod"]
    level = cmath.phase(ahead)
    sizes: dict[str, Figure] = {
        "crank_radius": radius,
        "connecting_rod": rod,
        "cylinder_line_y": wanted["cylinder_line_y"],
        "joint_along": along,
        "vibrating_link": vibrating,
        "lever_joint": share * vibrating,
        "anchor_x": anchor.real,
        "anchor_y": anchor.imag,
        "anchor_link": anchor_link,
        "slide_x": die.real,
        "slide_y": die.imag,
        "slot_radius": valve_rod,
        "link_half_slot": note("link_half_slot", "1.2 x half rise / cos(tilt)", 1.2 * rises / math.cos(tilt), PRACTICE),
        "slide_angle_forward": level - outward * tilt,
        "slide_angle_mid": level,
        "slide_angle_backward": level + outward * tilt,
        "lever_to_die": lever,
        "die_to_rod": note("die_to_rod", "arms x lever_to_die", arms * lever, GEOMETRY),
        "valve_rod": valve_rod,
        "spindle_x": (between - down * to_line).real + valve_rod,
        "spindle_y": wanted["spindle_above"],
    }
    valve = Valve.alike(admission, lap=lap, exhaust_lap=wanted["exhaust_lap"], port=wanted["port"])
    return Proposal(set_valve(Side(gear("joy").of(sizes, chosen), valve)), tuple(note.lines))


def _lever_for(admission: Admission, chosen: Chosen) -> None:
    wanted = "valve rod outermost" if admission == "outside" else "die outermost"
    if chosen["valve_lever"] != wanted:
        raise Refused(
            "proposal", got=chosen["valve_lever"], reason=f"with {admission} admission the lever is with the {wanted}",
            way_out=f'write valve_lever = "{wanted}" in the relation',
        )  # fmt: skip


def _joint_at_dead_centres(radius: float, rod: float, along: float, line: float) -> tuple[complex, complex]:
    """Joint on the connecting rod with the piston at the front and at the back."""
    if not rod - radius > abs(line):
        raise OutOfRange("connecting rod", got=rod, allowed="more than the crank radius and the cylinder line's height")
    front = cmath.exp(1j * math.asin(line / (rod + radius)))
    back = cmath.exp(1j * math.asin(line / (rod - radius)))
    return (radius + along) * front, (along - radius) * back


def _up_to_spindle(start: complex, up: complex, height: float) -> float:
    """How far along ``up`` from a point the level line at this height is."""
    return (height - start.imag) / up.imag


AID = Aid(
    gear="joy",
    asks=(
        *COMMON,
        Ask("joint_along", "joint on the connecting rod from the big end", "joint_along"),
        Ask("spindle_above", "valve spindle's line above the axle", "spindle_y"),
        Ask("valve_rod", "valve rod, centre to centre: the slide has its radius", "valve_rod"),
        Ask("vibrating_link", "joint on the connecting rod to the anchor link's pin", "vibrating_link", usual=0.0),
        Ask("anchor_link", "anchor link, centre to centre", "anchor_link", usual=0.0),
        Ask("lever_share", "valve lever's pin on the vibrating link, part of its length", usual=0.47, kind="share"),
        *EITHER,
    ),
    propose=propose,
    lengths=(
        "vibrating_link", "lever_joint", "anchor_x", "anchor_y", "anchor_link", "slide_x", "slide_y", "slot_radius",
        "lever_to_die", "die_to_rod", "valve_rod", "lap",
    ),
    angles=("slide_angle_forward", "slide_angle_mid", "slide_angle_backward"),
)  # fmt: skip
