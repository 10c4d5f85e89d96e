"""Design aid, first part: a whole Walschaerts gear from stroke, cut-off, lead, travel and the room there is."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import gear
from asmade.motion.gears.kind import Figure
from asmade.motion.valves.engine import Admission, Side, Valve
from asmade.motion.valves.harmonic import lap_for_cutoff, lever_ratio, travel_for_cutoff
from asmade.motion.valves.setting import set_valve

_GEOMETRY = "geometry of the linkage"
_POLAR = "polar valve diagram (Zeuner, Reuleaux)"
_PRACTICE = "common practice, no source"

Note: TypeAlias = Callable[[str, str, float, str], float]


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


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the working: what, by which relation, the figure, and where the relation comes from."""

    name: str
    relation: str
    value: float
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """The side as proposed, valve set for equal leads, with the working line by line."""

    side: Side
    working: tuple[Line, ...]

    def figure(self, name: str) -> float:
        """One figure of the working."""
        return next(line.value for line in self.working if line.name == name)


def propose(wish: Wish) -> Proposal:
    """Lap, combination lever, die offset, return-crank circle and the whole gear, in closed form.

    The link stands alike at both dead centres, the radius rod's pin then at the slot's centre, so leads hardly change
    with the cut-off; rods of finite length leave a remainder for `refine` to even out.
    """
    _check(wish)
    working: list[Line] = []

    def note(name: str, relation: str, value: float, source: str) -> float:
        working.append(Line(name, relation, value, source))
        return value

    lap, travel = _lap_and_travel(wish, note)
    outward = 1.0 if wish.admission == "outside" else -1.0
    radius = wish.crank_radius
    ratio = note("lever ratio", "(lap + lead) / crank radius", lever_ratio(2 * radius, lap, wish.lead), _GEOMETRY)
    bottom = note(
        "lever_bottom", "crank radius / sin(half lever swing)", radius / math.sin(wish.half_lever_swing), _PRACTICE
    )
    top = note("lever_top", "lever ratio x lever_bottom", ratio * bottom, _GEOMETRY)

    across = math.sqrt((0.5 * travel) ** 2 - (lap + wish.lead) ** 2)
    rod_moves = note(
        "radius rod half movement",
        "sqrt(half travel^2 - (lap + lead)^2) / (1 + ratio)" if outward > 0 else "... / (1 - ratio)",
        across / (1.0 + outward * ratio),
        _POLAR,
    )
    die = note(
        "die offset in full gear", "half movement / sin(half swing)", rod_moves / math.sin(wish.half_swing), _GEOMETRY
    )

    # at both dead centres the lever leans by half its swing either way: the height of its pin is the link's
    lean = math.cos(wish.half_lever_swing)
    height = note(
        "link_y",
        "spindle height -+ lever_top x cos(half lever swing)",
        wish.spindle_above - outward * top * lean,
        _GEOMETRY,
    )
    trunnion = complex(wish.link_ahead, height)
    foot_length, foot = _foot(trunnion, wish.foot_drop)
    circle = note(
        "return-crank circle radius",
        "foot length x sin(half swing)",
        foot_length * math.sin(wish.half_swing),
        _GEOMETRY,
    )
    eccentric_rod = note(
        "eccentric_rod", "sqrt(axle to foot pin ^2 + circle radius^2)", math.hypot(abs(foot), circle), _GEOMETRY
    )
    # outside admission, die below in forward gear: the return crank leads; inside: it follows
    pin = circle * cmath.exp(1j * (cmath.phase(foot) - outward * 0.5 * math.pi + _late(wish)))
    to_pin = radius - pin
    return_crank = note("return_crank", "crank pin to return-crank pin a quarter turn off", abs(to_pin), _GEOMETRY)
    angle = note("return_crank_angle", "its angle to the crank", outward * cmath.phase(to_pin), _GEOMETRY)

    slot = note("slot_radius", "lever from link = radius rod", wish.lever_ahead - wish.link_ahead, _GEOMETRY)
    lever_foot = height - 0.5 * bottom * (1.0 + lean)
    drop_below = note(
        "drop_below", "union link level at the middle of the lever's rise", wish.cylinder_line_y - lever_foot, _GEOMETRY
    )
    union = note(
        "union_link",
        "lever upright with the piston at mid stroke",
        wish.lever_ahead - wish.connecting_rod - wish.drop_ahead,
        _GEOMETRY,
    )
    if not abs(union) > 0.2 * radius:
        raise OutOfRange(
            "union link",
            got=f"{union:.2f} mm",
            allowed=f"more than {0.2 * radius:.2f} mm either way",
            source=_PRACTICE,
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
        "link_half_slot": note("link_half_slot", "1.25 x die offset in full gear", 1.25 * die, _PRACTICE),
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
    return Proposal(side, tuple(working))


def _check(wish: Wish) -> None:
    if (wish.travel is None) == (wish.lap is None):
        raise OutOfRange(
            "travel and lap",
            got=(wish.travel, wish.lap),
            allowed="one of the two",
            way_out="give one; the other follows",
        )
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
                name.replace("_", " "), got=getattr(wish, name), allowed="0 to 45 degrees", source=_PRACTICE
            )
    if not 0 < wish.hanger_share < 0.9:
        raise OutOfRange("hanger share of the radius rod", got=wish.hanger_share, allowed="0 to 0.9", source=_PRACTICE)


def _late(wish: Wish) -> float:
    """Crank angle by which the dead centres come late where the cylinder line passes beside the axle, mean of both."""
    off, rod = -wish.cylinder_line_y, wish.connecting_rod
    return 0.5 * (math.asin(off / (rod + wish.crank_radius)) + math.asin(off / (rod - wish.crank_radius)))


def _lap_and_travel(wish: Wish, note: Note) -> tuple[float, float]:
    if wish.travel is not None:
        lap = note(
            "lap",
            "lap that cuts off there with this travel",
            lap_for_cutoff(wish.travel, wish.cutoff, wish.lead),
            _POLAR,
        )
        travel = note("travel", "as wanted", wish.travel, "wanted")
    else:
        lap = note("lap", "as wanted", float(wish.lap or 0.0), "wanted")
        travel = note(
            "travel", "travel that cuts off there with this lap", travel_for_cutoff(lap, wish.cutoff, wish.lead), _POLAR
        )
    if not lap > 0:
        raise OutOfRange(
            "lap", got=f"{lap:.3f} mm", allowed="more than 0", source=_POLAR, way_out="an earlier cut-off or less lead"
        )
    if not lap + wish.lead > 0:
        raise OutOfRange("lap and lead together", got=lap + wish.lead, allowed="more than 0 mm", source=_POLAR)
    return lap, travel


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
