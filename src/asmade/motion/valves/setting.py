"""Setting the valve on its spindle, in closed form: equal leads, equal openings, or from four depths measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import gear
from asmade.motion.valves.engine import Side, as_samples
from asmade.motion.valves.events import events
from asmade.motion.valves.piston import Piston

Array: TypeAlias = NDArray[np.float64]
Rule: TypeAlias = Literal["equal leads", "equal openings"]


def set_valve(side: Side, rule: Rule = "equal leads", position: float = 1.0) -> Side:
    """The same side with the valve set on its spindle by a rule at one reverser position.

    ``equal leads``: as much port open at the front as at the back dead centre. ``equal openings``: the greatest
    openings alike. Both are common practice, no source.
    """
    mid = mid_for_equal_leads(side, position) if rule == "equal leads" else mid_for_equal_openings(side, position)
    return side.with_mid(mid if mid.size > 1 else float(mid[0]))


def mid_for_equal_leads(side: Side, position: float = 1.0) -> Array:
    """Place of the spindle pin over the middle of the ports that makes both leads equal: shape (samples,)."""
    piston = Piston.of(side.gear)
    crank = np.stack([piston.front_dead_centre, piston.back_dead_centre])[None]
    front, back = gear(side.gear.gear).move(side.gear, crank, position).required().place("valve")[0]
    lap_front, lap_back = as_samples(*side.valve.laps())
    return np.asarray(0.5 * (front + back) - 0.5 * side.valve.opening_senses()[0] * (lap_front - lap_back))


def mid_for_equal_openings(side: Side, position: float = 1.0) -> Array:
    """Place of the spindle pin over the middle of the ports that makes both greatest openings equal."""
    found = events(side, (position,), details=False)
    difference = found.opening[0, 0] - found.opening[0, 1]
    return np.asarray(as_samples(side.valve.mid)[0] + 0.5 * side.valve.opening_senses()[0] * difference)


@dataclass(frozen=True, slots=True)
class FourDepths:
    """What four depths from one end of the steam chest tell; the unit of the depths."""

    middle_of_travel: float
    middle_of_ports: float
    too_long_by: float


def spindle_from_depths(travel: tuple[float, float], openings: tuple[float, float]) -> FourDepths:
    """Setting from depths to the valve at both ends of its travel and where it just opens each port.

    The middle of the travel must lie at the middle between the openings; the spindle is too long by the difference
    (negative: too short) where depths are measured from the end that the spindle pushes towards. Source: worked
    example of valve setting; anchor: travel 1.9 and 0.9, openings 1.4 and 1.6: middles 1.4 and 1.5, too long by 0.1.
    """
    for name, pair in (("ends of the travel", travel), ("port openings", openings)):
        if not all(np.isfinite(pair)) or pair[0] == pair[1]:
            raise OutOfRange(name, got=pair, allowed="two different depths", way_out="measure both again")
    middle_of_travel, middle_of_ports = 0.5 * sum(travel), 0.5 * sum(openings)
    return FourDepths(middle_of_travel, middle_of_ports, middle_of_ports - middle_of_travel)


def spindle_turns(move_mm: float, pitch_mm: float) -> float:
    """Turns of the nut (or of the spindle in its fork) that move the valve by this much; sign as the movement."""
    if not (np.isfinite(pitch_mm) and pitch_mm > 0):
        raise OutOfRange("pitch of the spindle's thread", got=pitch_mm, allowed="more than 0 mm")
    return move_mm / pitch_mm
