"""Design aid: a whole Walschaerts gear from stroke, cut-off, lead, travel and the room there is."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import gear
from asmade.motion.gears.kind import Figure
from asmade.motion.proposals.aid import (
    COMMON,
    EITHER,
    GEOMETRY,
    POLAR,
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
)
from asmade.motion.valves.engine import Admission, Side, Valve
from asmade.motion.valves.harmonic import lever_ratio
from asmade.motion.valves.setting import set_valve


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wanted, and the places that are fixed already; mm, rad, cut-off as part of the stroke.

    Give the travel or the lap; the other follows. ``lever_ahead`` is where the combination lever stands ahead of the
    axle. The last three have the values of common practice (no source) unless told otherwise.
    """

    crank_radius: float
    connecting_rod: float
    cutoff: float
    lead: float
    port: float
    admission: Admission
    link_ahead: float
    lever_ahead: float
    spindle_above: float
    foot_drop: float
    drop_ahead: float
    exhaust_lap: float = 0.0
    travel: float | None = None
    lap: float | None = None
    cylinder_line_y: float = 0.0
    half_swing: float = math.radians(22.5)
    half_lever_swing: float = math.radians(29.0)
    hanger_share: float = 0.25


def propose(wish: Wish) -> Proposal:
    """Lap, combination lever, die offset, return-crank circle and the whole gear, in closed form.

    The link stands alike at both dead centres, the radius rod's pin then at the slot's centre, so leads hardly change
    with the cut-off; rods of finite length leave a remainder for `refine` to even out.
    """
    _check(wish)
    note = Working()
    lap, travel = lap_and_travel(wish.cutoff, wish.lead, wish.travel, wish.lap, note)
    outward = 1.0 if wish.admission == "outside" else -1.0
    radius = wish.crank_radius
    ratio = note("lever ratio", "(lap + lead) / crank radius", lever_ratio(2 * radius, lap, wish.lead), GEOMETRY)
    bottom = note(
        "lever_bottom", "crank radius / sin(half lever swing)", radius / math.sin(wish.half_lever_swing), PRACTICE
    )
    top = note("lever_top", "lever ratio x lever_bottom", ratio * bottom, GEOMETRY)

    rod_moves = note(
        "radius rod half movement",
        "sqrt(half travel^2 - (lap + lead)^2) / (1 + ratio)" if outward > 0 else "... / (1 - ratio)",
        across(travel, lap, wish.lead) / (1.0 + outward * ratio),
        POLAR,
    )
    die = note(
        "die offset in full gear", "half movement / sin(half swing)", rod_moves / math.sin(wish.half_swing), GEOMETRY
    )

    # at both dead centres the lever leans by half its swing either way: the height of its pin is the link's
    lean = math.cos(wish.half_lever_swing)
    height = note(
        "link_y",
        "spindle height -+ lever_top x cos(half lever swing)",
        wish.spindle_above - outward * top * lean,
        GEOMETRY,
    )
    trunnion = complex(wish.link_ahead, height)
    foot_length, foot = _foot(trunnion, wish.foot_drop)
    circle = note(
        "return-crank circle radius",
        "foot length x sin(half swing)",
        foot_length * math.sin(wish.half_swing),
        GEOMETRY,
    )
    eccentric_rod = note(
        "eccentric_rod", "sqrt(axle to foot pin ^2 + circle radius^2)", math.hypot(abs(foot), circle), GEOMETRY
    )
    # outside admission, die below in forward gear: the return crank leads; inside: it follows
    late = front_crank(radius, wish.connecting_rod, wish.cylinder_line_y)
    pin = circle * cmath.exp(1j * (cmath.phase(foot) - outward * 0.5 * math.pi - late))
    to_pin = radius - pin
    return_crank = note("return_crank", "crank pin to return-crank pin a quarter turn off", abs(to_pin), GEOMETRY)
    angle = note("return_crank_angle", "its angle to the crank", outward * cmath.phase(to_pin), GEOMETRY)

    slot = note("slot_radius", "lever from link = radius rod", wish.lever_ahead - wish.link_ahead, GEOMETRY)
    lever_foot = height - 0.5 * bottom * (1.0 + lean)
    drop_below = note(
        "drop_below", "union link level at the middle of the lever's rise", wish.cylinder_line_y - lever_foot, GEOMETRY
    )
    union = note(
        "union_link",
        "lever upright with the piston at mid stroke",
        wish.lever_ahead - wish.connecting_rod - wish.drop_ahead,
        GEOMETRY,
    )
    if not abs(union) > 0.2 * radius:
        raise OutOfRange(
            "union link",
            got=f"{union:.2f} mm",
            allowed=f"more than {0.2 * radius:.2f} mm either way",
            source=PRACTICE,
            way_out="move the combination lever or the pin on the crosshead along",
        )
    sizes: dict[str, Figure] = {
        "crank_radius": radius,
        "connecting_rod": wish.connecting_rod,
        "cylinder_line_y": wish.cylinder_line_y,
        "return_crank": return_crank,
        "return_crank_angle": angle,
        "eccentric_rod": eccentric_rod,
        "link_x": wish.link_ahead,
        "link_y": height,
        "foot_drop": (trunnion - foot).imag,
        "foot_back": (trunnion - foot).real,
        "slot_radius": slot,
        "radius_rod": slot,
        "link_half_slot": note("link_half_slot", "1.25 x die offset in full gear", 1.25 * die, PRACTICE),
        "lever_top": top,
        "lever_bottom": bottom,
        "union_link": abs(union),
        "drop_ahead": wish.drop_ahead,
        "drop_below": drop_below,
        "spindle_x": wish.lever_ahead,
        "spindle_y": wish.spindle_above,
        **_lifting(trunnion, slot, die, wish.hanger_share),
    }
    choices = {
        "return_pin": "leading" if outward > 0 else "following",
        "foot": "below",
        "lever": "spindle pin outermost" if outward > 0 else "radius rod pin outermost",
        "lever_stands": "ahead" if union > 0 else "behind",
        "lifting": "hanging link",
    }
    valve = Valve.alike(wish.admission, lap=lap, exhaust_lap=wish.exhaust_lap, port=wish.port)
    side = set_valve(Side(gear("walschaerts").of(sizes, choices), valve))
    return Proposal(side, tuple(note.lines))


def _check(wish: Wish) -> None:
    ahead = 0 < wish.link_ahead < wish.lever_ahead
    if not ahead:
        raise OutOfRange(
            "link and lever ahead of the axle",
            got=(wish.link_ahead, wish.lever_ahead),
            allowed="link ahead of the axle, lever ahead of the link",
        )
    for name in ("half_swing", "half_lever_swing"):
        if not 0 < getattr(wish, name) < math.radians(45):
            raise OutOfRange(
                name.replace("_", " "), got=getattr(wish, name), allowed="0 to 45 degrees", source=PRACTICE
            )
    if not 0 < wish.hanger_share < 0.9:
        raise OutOfRange("hanger share of the radius rod", got=wish.hanger_share, allowed="0 to 0.9", source=PRACTICE)


def _foot(trunnion: complex, drop: float) -> tuple[float, complex]:
    """Foot length and foot pin at which the line from the axle is square to the foot, so that both swings are alike.

    The foot pin then lies on the circle over trunnion and axle as diameter (Thales).
    """
    if not 0 < drop < abs(trunnion):
        raise OutOfRange("foot drop", got=drop, allowed=f"0 to {abs(trunnion):.1f} mm, the trunnion from the axle")
    turned = cmath.exp(1j * math.acos(drop / abs(trunnion)))
    return drop, trunnion - drop * trunnion / abs(trunnion) * turned


def _lifting(trunnion: complex, rod: float, die: float, share: float) -> dict[str, Figure]:
    """Weighshaft above, its arm level in mid gear, lifting link plumb; angles of the arm 20 degrees either way."""
    reach = math.radians(20.0)
    rise = die * (1.0 - share)
    arm, hanger = rise / math.sin(reach), max(0.3 * rod, 2.0 * rise)
    return {
        "hanger_along": share * rod,
        "hanger": hanger,
        "lift_arm": arm,
        "weigh_x": trunnion.real + share * rod - 0.5 * arm * (1.0 + math.cos(reach)),
        "weigh_y": trunnion.imag + hanger,
        "lift_angle_forward": -reach,
        "lift_angle_mid": 0.0,
        "lift_angle_backward": reach,
    }


def _of_wishes(wanted: Wanted, admission: Admission, _chosen: Chosen) -> Proposal:
    return propose(Wish(admission=admission, **wanted))


AID = Aid(
    gear="walschaerts",
    asks=(
        *COMMON,
        Ask("link_ahead", "link trunnion ahead of the axle", "link_x"),
        Ask("lever_ahead", "combination lever ahead of the axle", "spindle_x"),
        Ask("spindle_above", "valve spindle's line above the axle", "spindle_y"),
        Ask("foot_drop", "foot pin below the link's trunnion", "foot_drop"),
        Ask("drop_ahead", "union link pin ahead of the gudgeon pin", "drop_ahead"),
        *EITHER,
    ),
    propose=_of_wishes,
    lengths=(
        "return_crank", "eccentric_rod", "foot_drop", "foot_back", "radius_rod", "slot_radius", "lever_top",
        "lever_bottom", "union_link", "drop_below", "hanger", "link_y", "lap",
    ),
)  # fmt: skip
