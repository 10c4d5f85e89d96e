"""Design aid: a single eccentric, fixed or slipping, with its rod straight on the valve spindle."""

from __future__ import annotations

import math

from asmade.motion.gears import gear
from asmade.motion.proposals.aid import (
    COMMON,
    EITHER,
    GEOMETRY,
    POLAR,
    Aid,
    Ask,
    Chosen,
    Proposal,
    Wanted,
    Working,
    front_crank,
    lap_and_travel,
    lies_for,
    no_rocker,
    rod_direction,
)
from asmade.motion.valves.engine import Admission, Side, Valve
from asmade.motion.valves.setting import set_valve


def propose(wanted: Wanted, admission: Admission, chosen: Chosen) -> Proposal:
    """Lap, eccentric and its angle of advance, in closed form; ``wanted`` by the names of what the aid asks.

    The eccentric's radius is half the travel, its advance that whose sine is (lap + lead) over it; where the rod
    rises to the spindle or the cylinder line passes beside the axle, the advance differs between the directions.
    """
    no_rocker(chosen)
    lies_for(admission, chosen)
    note = Working()
    lead, rod = wanted["lead"], wanted["eccentric_rod"]
    lap, travel = lap_and_travel(wanted["cutoff"], lead, wanted.get("travel"), wanted.get("lap"), note)
    rise = rod_direction(rod, wanted["spindle_above"])
    dead = front_crank(wanted["crank_radius"], wanted["connecting_rod"], wanted["cylinder_line_y"])
    radius = note("eccentric_radius", "half travel x cosine of the rod's rise", 0.5 * travel * math.cos(rise), GEOMETRY)
    advance = note(
        "angle of advance", "asin((lap + lead) / half travel)", math.asin((lap + lead) / (0.5 * travel)), POLAR
    )
    slope = note("slope of the rod to the crank at its dead centres", "rise of the rod less that of the crank",
                 rise - dead, GEOMETRY)  # fmt: skip
    sizes = {
        "crank_radius": wanted["crank_radius"],
        "connecting_rod": wanted["connecting_rod"],
        "cylinder_line_y": wanted["cylinder_line_y"],
        "eccentric_radius": radius,
        "advance_forward": note("advance_forward", "advance less the slope", advance - slope, GEOMETRY),
        "eccentric_rod": rod,
        "spindle_x": rod,
        "spindle_y": wanted["spindle_above"],
    }
    if chosen["eccentric"] == "slips":
        sizes["advance_backward"] = note("advance_backward", "advance and the slope", advance + slope, GEOMETRY)
    valve = Valve.alike(admission, lap=lap, exhaust_lap=wanted["exhaust_lap"], port=wanted["port"])
    return Proposal(set_valve(Side(gear("eccentric").of(sizes, chosen), valve)), tuple(note.lines))


AID = Aid(
    gear="eccentric",
    asks=(
        *COMMON,
        Ask("eccentric_rod", "eccentric rod, centre to centre: from the axle to the spindle's pin", "eccentric_rod"),
        Ask("spindle_above", "valve spindle's line above the axle", "spindle_y"),
        *EITHER,
    ),
    propose=propose,
    lengths=("eccentric_radius", "lap"),
    angles=("advance_forward", "advance_backward"),
    lead_everywhere=False,
)
