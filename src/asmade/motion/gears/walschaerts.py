"""Walschaerts valve gear: a return crank swings a link, a combination lever adds lap and lead from the crosshead."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import drive as driven
from asmade.motion.gears import lifting, spindle
from asmade.motion.gears.kind import Anchor, Choice, Choices, Figure, Gear, Member, Size, Sizes
from asmade.motion.linkage import LEFT, RIGHT, Assembly, Dual, Lengths, Mechanism, Outputs, turn

_INCH = 25.4
_LINKED = ("lifting", ("hanging link", "standing link"))

SIZES = (
    *driven.SIZES,
    Size("return_crank", "crank pin to return-crank pin", "return crank"),
    Size(
        "return_crank_angle",
        "between the line crank pin - axle and the return crank",
        "return crank",
        "angle",
        adjust="turn the return crank on the crank pin",
    ),
    Size("eccentric_rod", "eccentric rod, centre to centre", "eccentric rod", adjust="length of the eccentric rod"),
    Size("link_x", "link trunnion ahead of the axle", "motion bracket", "place"),
    Size("link_y", "link trunnion above the axle at running height", "motion bracket", "place"),
    Size("foot_drop", "foot pin below the trunnion, link upright", "expansion link", "place"),
    Size("foot_back", "foot pin behind the trunnion, link upright", "expansion link", "place"),
    Size("slot_radius", "radius of the slot's middle line", "expansion link"),
    Size("slot_offset", "middle of the slot ahead of the trunnion, link upright", "expansion link", "place", 0.0),
    Size("slot_rise", "middle of the slot above the trunnion, link upright", "expansion link", "place", 0.0),
    Size("link_half_slot", "farthest the die pin may stand from the middle of the slot", "expansion link"),
    Size("radius_rod", "die pin to combination lever pin", "radius rod"),
    Size(
        "hanger_along",
        "lifting pin from the die pin towards the lever; negative behind the link",
        "radius rod",
        "place",
        when=_LINKED,
    ),
    Size("hanger_above", "lifting pin or slot above the line die pin - lever pin", "radius rod", "place", 0.0),
    Size("hanger", "lifting link, centre to centre", "lifting link", adjust="length of the lifting link", when=_LINKED),
    *lifting.SIZES,
    Size("lever_top", "valve spindle pin to radius rod pin", "combination lever"),
    Size("lever_bottom", "radius rod pin to union link pin", "combination lever"),
    Size("lever_set", "radius rod pin ahead of the line through the other two", "combination lever", "place", 0.0),
    Size("union_link", "union link, centre to centre", "union link"),
    Size("drop_ahead", "union link pin on the crosshead ahead of the gudgeon", "drop arm", "place"),
    Size("drop_below", "union link pin on the crosshead below the gudgeon", "drop arm", "place"),
    *spindle.LINE_SIZES,
)

CHOICES = (
    Choice(
        "return_pin", "return-crank pin ahead of or behind the crank pin in forward running", ("leading", "following")
    ),
    Choice("foot", "foot pin of the link below or above its trunnion", ("below", "above")),
    Choice(
        "lever",
        "pin at the end of the combination lever: valve spindle (outside admission) or radius rod (inside)",
        ("spindle pin outermost", "radius rod pin outermost"),
    ),
    Choice("lever_stands", "combination lever ahead of or behind the union pin of the crosshead", ("ahead", "behind")),
    Choice(
        "lifting",
        "radius rod lifted by a hanging link, a standing link, or a die in a slot along the rod",
        ("hanging link", "standing link", "die in slot"),
    ),
)

MEMBERS = (
    *driven.MEMBERS,
    Member("return crank", ("crank pin", "return pin")),
    Member("eccentric rod", ("return pin", "foot pin")),
    Member("expansion link", ("slot top", "trunnion", "slot bottom", "foot pin"), slot=("slot top", "slot bottom")),
    Member("radius rod", ("die pin", "radius rod pin")),
    Member("lifting arm", ("weighshaft", "lifting arm pin")),
    Member("lifting link", ("lifting arm pin", "lifting pin")),
    Member("combination lever", ("spindle pin", "radius rod pin", "union lever pin")),
    Member("union link", ("union crosshead pin", "union lever pin")),
    Member("drop arm", ("gudgeon", "union crosshead pin")),
    Member("valve spindle", ("spindle pin", "spindle line"), fixed=True),
)


def mechanism(choices: Choices) -> Mechanism:
    """The motion for one set of choices."""
    return _Walschaerts(
        leading=1 if choices["return_pin"] == "leading" else -1,
        foot_side=RIGHT if choices["foot"] == "below" else LEFT,
        outermost=1 if choices["lever"] == "spindle pin outermost" else -1,
        ahead=1 if choices["lever_stands"] == "ahead" else -1,
        die_lifts=choices["lifting"] == "die in slot",
        hang=-1 if choices["lifting"] == "hanging link" else 1,
    )


@dataclass(frozen=True, slots=True)
class _Link:
    """The swinging link: its trunnion, foot, unit vector of its turn, and the middle and centre of its slot."""

    trunnion: Dual
    foot: Dual
    swing: Dual
    middle: Dual
    centre: Dual


@dataclass(frozen=True, slots=True)
class _Lever:
    """The combination lever's fixed data: where the union link comes from, the spindle's line, the arms."""

    union: Dual
    line: Dual
    along: Dual
    to_spindle: Dual
    whole: Dual
    radius_pin_share: Dual


@dataclass(frozen=True, slots=True)
class _Walschaerts:
    """Signs that the choices stand for, and the motion.

    The unknown of the one closed loop is the place of the spindle pin, the gap that of the die pin from the slot's
    arc: well conditioned everywhere, unlike solving from the radius rod, which lies near to tangent of the arc.
    """

    leading: int
    foot_side: int
    outermost: int
    ahead: int
    die_lifts: bool
    hang: int

    def __call__(self, d: Lengths, crank: Dual, reverser: Dual, assembly: Assembly) -> Outputs:
        main = driven.drive(d, crank, assembly)
        return_crank = d["return_crank"] * turn(self.leading * d["return_crank_angle"])
        return_pin = main.crank_pin - return_crank * main.forward
        link = self._link(d, return_pin, assembly)
        weighshaft, arm_pin = lifting.lifting_arm(d, reverser)
        lever = self._lever(d, main)
        hanger_body = d["radius_rod"] - (0.0 if self.die_lifts else d["hanger_along"]) - 1j * d["hanger_above"]
        hanger_reach, rod_per_hanger = hanger_body.length(), d["radius_rod"] / hanger_body

        def radius_rod(radius_pin: Dual) -> tuple[Dual, Dual]:
            """Die pin and lifting pin from the lever's pin."""
            if self.die_lifts:
                back = assembly.slotted(radius_pin, arm_pin, -d["hanger_above"], ("lifting arm", "radius rod"))
                return radius_pin + d["radius_rod"] * back, arm_pin
            side = RIGHT if self.hang < 0 else LEFT
            pin = assembly.dyad(arm_pin, d["hanger"], radius_pin, hanger_reach, side, ("lifting link", "radius rod"))
            return radius_pin + (pin - radius_pin) * rod_per_hanger, pin

        def loop(place: Dual) -> tuple[Dual, dict[str, Dual]]:
            spindle_pin = lever.line + place * lever.along
            side = LEFT if self.ahead > 0 else RIGHT
            lever_pin = assembly.dyad(
                spindle_pin, lever.whole, lever.union, d["union_link"], side, ("combination lever", "union link")
            )
            radius_pin = spindle_pin + (lever_pin - spindle_pin) * lever.radius_pin_share
            die_pin, lifting_pin = radius_rod(radius_pin)
            from_centre = die_pin - link.centre
            gap = (from_centre.square() - d["slot_radius"].square()) / (2.0 * d["slot_radius"])
            return gap, {
                "valve": place,
                "spindle pin": spindle_pin,
                "union lever pin": lever_pin,
                "radius rod pin": radius_pin,
                "die pin": die_pin,
                "lifting pin": lifting_pin,
            }

        found = assembly.close(
            loop,
            lambda: self._guess(d, arm_pin, link, lever),
            scale=d["lever_bottom"],
            links=("die block", "slot of the expansion link"),
        )
        to_slot, slot_end = link.swing * d["slot_radius"], turn(d["link_half_slot"] / d["slot_radius"])
        return {
            **main.places(),
            **found,
            "return pin": return_pin,
            "trunnion": link.trunnion,
            "foot pin": link.foot,
            "slot top": link.centre - to_slot * slot_end.conjugate(),
            "slot bottom": link.centre - to_slot * slot_end,
            "slot centre": link.centre,
            "weighshaft": weighshaft,
            "lifting arm pin": arm_pin,
            "union crosshead pin": lever.union,
            "spindle line": lever.line,
            "swing": link.swing,
            "die": (found["die pin"] - link.centre) / link.swing,
        }

    def _link(self, d: Lengths, return_pin: Dual, assembly: Assembly) -> _Link:
        trunnion = d["link_x"] + 1j * d["link_y"]
        upright = -(d["foot_back"] + 1j * d["foot_drop"])
        foot = assembly.dyad(
            return_pin,
            d["eccentric_rod"],
            trunnion,
            upright.length(),
            self.foot_side,
            ("eccentric rod", "expansion link"),
        )
        swing = (foot - trunnion) / upright
        middle = d["slot_offset"] + 1j * d["slot_rise"]
        return _Link(trunnion, foot, swing, middle, trunnion + swing * (middle + d["slot_radius"]))

    def _lever(self, d: Lengths, main: driven.Drive) -> _Lever:
        to_spindle = float(self.outermost) * d["lever_top"]
        whole = d["lever_bottom"] + to_spindle
        return _Lever(
            union=main.gudgeon + main.along * (d["drop_ahead"] - 1j * d["drop_below"]),
            line=d["spindle_x"] + 1j * d["spindle_y"],
            along=turn(d["spindle_incline"]),
            to_spindle=to_spindle,
            whole=whole,
            radius_pin_share=(to_spindle + 1j * d["lever_set"]) / whole,
        )

    def _guess(self, d: Lengths, arm_pin: Dual, link: _Link, lever: _Lever) -> NDArray[np.float64]:
        """Place of the spindle pin if the radius rod lay along the spindle and the lever stood square to it."""
        e = np.conj(lever.along.value)
        arm, pivot, union = (e * (p.value - lever.line.value) for p in (arm_pin, link.trunnion, lever.union))
        rod, above, middle = d["radius_rod"].value, d["hanger_above"].value, link.middle.value
        lever_height = -lever.to_spindle.value
        share = (arm.real - pivot.real if self.die_lifts else d["hanger_along"].value) / rod
        lift = arm.imag - above + (0.0 if self.die_lifts else self.hang * d["hanger"].value)
        die_height = (lift - share * lever_height) / (1.0 - share)
        offset = die_height - pivot.imag - middle.imag
        die = pivot + e * link.swing.value * (middle - offset**2 / (2 * d["slot_radius"].value) + 1j * offset)
        radius_pin = die.real + rod - (die.imag - lever_height) ** 2 / (2 * rod)
        lever_pin = union.real + self.ahead * d["union_link"].value
        ratio = lever.to_spindle.value / d["lever_bottom"].value
        return np.asarray(radius_pin + ratio * (radius_pin - lever_pin) - d["lever_set"].value * (1.0 + ratio))


def return_crank_angle(crank_radius: float, return_crank: float, circle_radius: float) -> float:
    """Angle (rad) between the line crank pin - axle and the return crank, from the circle of the return-crank pin.

    Law of cosines. Example: crank 3, return crank 4, circle 5: 90 degrees.
    """
    cosine = (crank_radius**2 + return_crank**2 - circle_radius**2) / (2 * crank_radius * return_crank)
    if not -1.0 < cosine < 1.0:
        raise OutOfRange(
            "return-crank circle",
            got=circle_radius,
            allowed=f"{abs(crank_radius - return_crank):g} to {crank_radius + return_crank:g} mm",
            way_out="crank radius, return crank and circle must form a triangle",
        )
    return math.acos(cosine)


def return_pin_circle(sizes: Sizes) -> float:
    """Radius of the circle of the return-crank pin about the axle (mm, first sample): what dividers can measure."""
    radius, length, angle = (
        float(np.asarray(sizes[name]).reshape(-1)[0]) for name in ("crank_radius", "return_crank", "return_crank_angle")
    )
    return math.sqrt(radius**2 + length**2 - 2 * radius * length * math.cos(angle))


def example() -> Sizes:
    """An invented outside-cylinder gear for slide valves, 5-inch gauge (Harrowgill No. 3), in 64ths of an inch."""
    unit = _INCH / 64
    in_64ths = {
        "crank_radius": 60,
        "connecting_rod": 7 * 64,
        "return_crank": 64,
        "eccentric_rod": 4 * 64 + 16,
        "link_x": 4 * 64 + 33,
        "link_y": 64 + 16,
        "foot_drop": 64 + 3,
        "foot_back": 19,
        "slot_radius": 4 * 64 + 15,
        "link_half_slot": 36,
        "radius_rod": 4 * 64 + 15,
        "hanger_along": 64 + 1,
        "hanger": 64 + 22,
        "weigh_x": 4 * 64 + 32,
        "weigh_y": 2 * 64 + 38,
        "lift_arm": 64 + 6,
        "lever_top": 16,
        "lever_bottom": 64 + 62,
        "union_link": 64 + 33,
        "drop_ahead": 15,
        "drop_below": 41,
        "spindle_x": 8 * 64 + 48,
        "spindle_y": 64 + 32,
    }
    sizes: dict[str, Figure] = {name: count * unit for name, count in in_64ths.items()}
    sizes["return_crank_angle"] = return_crank_angle(60 * unit, 64 * unit, 25 * unit)
    sizes["lift_angle_forward"] = math.radians(-18.0)
    sizes["lift_angle_mid"] = math.radians(0.5)
    sizes["lift_angle_backward"] = math.radians(17.0)
    return GEAR.of(
        sizes,
        {
            "return_pin": "leading",
            "foot": "below",
            "lever": "spindle pin outermost",
            "lever_stands": "ahead",
            "lifting": "hanging link",
        },
    )


def _mid_gear_share() -> float:
    """Valve movement between the dead centres in mid gear over the stroke, lever arms as 1 to 10."""
    gear = example()
    gear = gear.with_sizes({"lever_top": 0.1 * np.asarray(gear["lever_bottom"])})
    motion = GEAR.move(gear, [0.0, math.pi], 0.0).required()
    valve, piston = motion.place("valve")[0, :, 0], motion.place("piston")[0, :, 0]
    return float((valve[1] - valve[0]) / (piston[0] - piston[1]))


GEAR = Gear(
    name="walschaerts",
    title="Walschaerts valve gear",
    about=(
        "A return crank on the crank pin swings the expansion link a quarter turn out of step with the piston; the "
        "combination lever, driven from the crosshead, adds the lap and the lead, which therefore stay nearly the "
        "same at every cut-off. Die below the trunnion in forward gear: direct; above: indirect."
    ),
    source="geometry of the linkage; proportions: handbooks of locomotive valve gears, and common practice, no source",
    sizes=SIZES,
    choices=CHOICES,
    members=MEMBERS,
    reverser=None,
    mechanism=mechanism,
    still_by=("eccentric_rod", "return_crank_angle"),
    anchors=(
        Anchor(
            "stroke 2.5 in, lap 0.115 in, lead 0.01 in: in mid gear the valve moves 0.1 of the piston's stroke",
            "valve movement in mid gear = 2 (lap + lead) for a piston stroke (locomotive valve-gear textbooks); "
            "the links are of finite length, so within 1 per cent",
            published=0.1,
            within=0.001,
            computed=_mid_gear_share,
        ),
    ),
    example=example,
)
