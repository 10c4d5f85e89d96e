"""Design aid: a Stephenson gear with its die straight on the valve spindle, open or crossed rods."""

from __future__ import annotations

import cmath
import math

from asmade.measure.errors import OutOfRange
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
    front_crank,
    lap_and_travel,
    lies_for,
    no_rocker,
    rod_direction,
)
from asmade.motion.valves.engine import Admission, Side, Valve
from asmade.motion.valves.setting import set_valve

_ZEUNER = "Zeuner, Treatise on Valve-Gears, recalled from memory: virtual eccentric of a point of the link"
PINS_PER_TRAVEL = 1.5
"""Eccentric-rod pin from the middle of the link, over the travel: common practice, no source."""
REACH_RAD = math.radians(25.0)


def propose(wanted: Wanted, admission: Admission, chosen: Chosen) -> Proposal:
    """Lap, both eccentrics, link and lifting gear, in closed form; ``wanted`` by the names of what the aid asks.

    A point of the link ``u`` from its middle moves as an eccentric would whose parts are, at the dead centres,
    ``r sin a +- (c^2 - u^2) / (c l) r cos a`` (plus with open rods) and, across, ``(u / c) r cos a``; pins ``c`` from
    the middle, rods ``l``. In full gear these are lap + lead and what the travel leaves; radius and advance follow.
    """
    no_rocker(chosen)
    lies_for(admission, chosen)
    note = Working()
    lead, ahead = wanted["lead"], wanted["link_ahead"]
    lap, travel = lap_and_travel(wanted["cutoff"], lead, wanted.get("travel"), wanted.get("lap"), note)
    share, behind = wanted["full_gear"], wanted["pins_behind"]
    if not 0.3 <= share <= 1.0:
        raise OutOfRange("full_gear", got=share, allowed="0.3 to 1 of the way to the pins", source=PRACTICE)
    pins = wanted.get("pins") or note("pins from the middle", "1.5 x travel", PINS_PER_TRAVEL * travel, PRACTICE)
    if not 0 <= behind < 0.5 * ahead or not 2 * pins < ahead:
        raise OutOfRange(
            "link", got=f"{ahead:g} mm ahead, pins {pins:g} mm from its middle and {behind:g} mm behind",
            allowed="ahead more than twice as far as the pins stand apart from the middle",
            way_out="move the link ahead, or bring its pins together",
        )  # fmt: skip
    offset = note("die offset in full gear", "full_gear x pins", share * pins, GEOMETRY)
    rod = note("rods", "from the axle to a pin, link upright in mid gear", math.hypot(ahead - behind, pins), GEOMETRY)
    cross = note(
        "radius x cos(advance)", "half movement across / full_gear", across(travel, lap, lead) / share, _ZEUNER
    )
    grown = (pins**2 - offset**2) / (pins * rod) * cross * (1.0 if chosen["rods"] == "open" else -1.0)
    sine = note(
        "radius x sin(advance)", "lap + lead, less what the slope of the rods adds", lap + lead - grown, _ZEUNER
    )
    radius = note("eccentric radius", "of these two", math.hypot(sine, cross), GEOMETRY)
    advance = note("angle of advance", "of these two", math.atan2(sine, cross), GEOMETRY)

    rise = rod_direction(ahead, wanted["spindle_above"])
    dead = front_crank(wanted["crank_radius"], wanted["connecting_rod"], wanted["cylinder_line_y"])
    slope = note("slope of the link's line to the crank at its dead centres", "rise of the one less that of the other",
                 rise - dead, GEOMETRY)  # fmt: skip
    middle = ahead * cmath.exp(1j * rise)
    note("lead in mid gear", "r sin(a) +- c/l r cos(a), less the lap",
         sine + (1.0 if chosen["rods"] == "open" else -1.0) * pins / rod * cross - lap, _ZEUNER)  # fmt: skip
    sizes: dict[str, Figure] = {
        "crank_radius": wanted["crank_radius"],
        "connecting_rod": wanted["connecting_rod"],
        "cylinder_line_y": wanted["cylinder_line_y"],
        "eccentric_forward": radius,
        "eccentric_backward": radius,
        "advance_forward": note("advance_forward", "advance less the slope", advance - slope, GEOMETRY),
        "advance_backward": note("advance_backward", "advance and the slope", advance + slope, GEOMETRY),
        "rod_forward": rod,
        "rod_backward": rod,
        "slot_radius": ahead,
        "link_half_slot": note("link_half_slot", "1.3 x die offset in full gear", 1.3 * offset, PRACTICE),
        "top_pin": pins,
        "top_pin_behind": behind,
        "bottom_pin": pins,
        "bottom_pin_behind": behind,
        "hung_above": 0.0,
        "hung_behind": wanted["hung_behind"],
        "spindle_x": middle.real,
        "spindle_y": middle.imag,
        **_lifting(middle - wanted["hung_behind"], offset, chosen),
    }
    valve = Valve.alike(admission, lap=lap, exhaust_lap=wanted["exhaust_lap"], port=wanted["port"])
    return Proposal(set_valve(Side(gear("stephenson").of(sizes, chosen), valve)), tuple(note.lines))


def _lifting(suspension: complex, offset: float, chosen: Chosen) -> dict[str, Figure]:
    """Weighshaft behind, its arm level in mid gear and swinging alike either way, lifting link plumb in the mean.

    With open rods the link goes down for forward gear: the forward rod takes its upper pin; with crossed ones up.
    """
    arm = offset / math.sin(REACH_RAD)
    hanger = 2.5 * offset
    above = 1.0 if chosen["lifting"] == "hanging link" else -1.0
    forward = -REACH_RAD if chosen["rods"] == "open" else REACH_RAD
    return {
        "hanger": hanger,
        "lift_arm": arm,
        "weigh_x": suspension.real - 0.5 * arm * (1.0 + math.cos(REACH_RAD)),
        "weigh_y": suspension.imag + above * hanger,
        "lift_angle_forward": forward,
        "lift_angle_mid": 0.0,
        "lift_angle_backward": -forward,
    }


AID = Aid(
    gear="stephenson",
    asks=(
        *COMMON,
        Ask("link_ahead", "middle of the link from the axle, along its line", "slot_radius"),
        Ask("spindle_above", "valve spindle's line above the axle", "spindle_y"),
        Ask("pins", "eccentric-rod pins above and below the middle of the slot", "top_pin", usual=0.0),
        Ask("pins_behind", "the same pins behind the slot: nil in a launch link", "top_pin_behind", usual=0.0),
        Ask("hung_behind", "suspension pin behind the slot", usual=0.0),
        Ask("full_gear", "die from the middle in full gear, part of the way to the pins", usual=0.85, kind="share"),
        *EITHER,
    ),
    propose=propose,
    lengths=(
        "eccentric_forward", "eccentric_backward", "rod_forward", "rod_backward", "slot_radius", "hung_behind",
        "hanger", "weigh_x", "weigh_y", "lift_arm", "lap",
    ),
    angles=("advance_forward", "advance_backward"),
    lead_everywhere=False,
    lead_counts_mm=0.03,
)  # fmt: skip
