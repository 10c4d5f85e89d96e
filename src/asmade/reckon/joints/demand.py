"""What is asked of each joint and bearing of the running gear: plain statics at the worst, each with its working.

An input that is None is not known: the result is then not known either and names what is missing. Nothing is taken
as zero. Starting shocks, water in the cylinder and running away are not in these sums: keep a factor in hand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.reckon.joints.checks import larger, not_negative, positive, within
from asmade.reckon.joints.worked import Given, Worked, work

if TYPE_CHECKING:
    from collections.abc import Callable

STATICS = "statics, any text on mechanics; taken at the worst"


def piston_thrust(bore_mm: float | None, pressure_mpa: float | None) -> Worked:
    """Thrust of the steam on the piston, the whole of the gauge pressure on the whole of the bore.

        F = p pi D^2/4

    The piston rod's own area and the back pressure would lessen it; they are left out, on the safe side.

    Source: definition of pressure; Bevan, The Theory of Machines (piston effort).
    Range: bore above 0; pressure 0 to 2 MPa gauge.
    Anchor: 38 mm at 0.55 MPa: 623.76 N (by hand).

    >>> round(piston_thrust(38, 0.55).value, 1)
    623.8
    """
    _check("cylinder bore", bore_mm, "mm", positive)
    if pressure_mpa is not None:
        within("steam pressure", pressure_mpa, 0, 2, "MPa", way_out="gauge pressure; 80 psi is 0.552 MPa")
    return work(
        "piston thrust",
        "N",
        "F = p pi D^2/4",
        STATICS,
        lambda p, d: p * math.pi * d**2 / 4,
        Given("p", "steam pressure", pressure_mpa, "MPa"),
        Given("D", "cylinder bore", bore_mm, "mm"),
    )


def rod_force(thrust_n: float | None, crank_radius_mm: float | None, rod_centres_mm: float | None) -> Worked:
    """Greatest push along the connecting rod: the thrust over the cosine of the rod's greatest angle.

        F_r = F/sqrt(1 - (r/l)^2)

    Source: Bevan, The Theory of Machines (slider-crank).
    Range: thrust 0 or more; rod longer than the crank radius.
    Anchor: 600 N, r 24, l 180: 605.4 N (by hand).

    >>> round(rod_force(600, 24, 180).value, 1)
    605.4
    """
    _check("piston thrust", thrust_n, "N", not_negative)
    _check("crank radius", crank_radius_mm, "mm", positive)
    _check("connecting rod centres", rod_centres_mm, "mm", positive)
    if crank_radius_mm is not None and rod_centres_mm is not None:
        larger("connecting rod centres", rod_centres_mm, "the crank radius", crank_radius_mm, "mm")
    return work(
        "force in the connecting rod",
        "N",
        "F_r = F/sqrt(1 - (r/l)^2)",
        STATICS,
        lambda f, r, rod: f / math.sqrt(1 - (r / rod) ** 2),
        Given("F", "piston thrust", thrust_n, "N"),
        Given("r", "crank radius", crank_radius_mm, "mm"),
        Given("l", "connecting rod centres", rod_centres_mm, "mm"),
    )


def adhesion_limit(load_on_axle_n: float | None, friction: float | None) -> Worked:
    """Greatest pull at the rims of one axle before its wheels slip.

        F_a = mu W

    Source: Coulomb friction; friction of wheel on rail 0.15 to 0.30 (common practice, no source).
    Range: load 0 or more; friction above 0 up to 1.
    Anchor: 120 N, 0.25: 30 N (by hand).

    >>> adhesion_limit(120, 0.25).value
    30.0
    """
    _check("load on the axle", load_on_axle_n, "N", not_negative)
    _check_friction(friction)
    return work(
        "adhesion limit of the axle",
        "N",
        "F_a = mu W",
        STATICS,
        lambda mu, w: mu * w,
        Given("mu", "friction of wheel on rail", friction, ""),
        Given("W", "load on the axle", load_on_axle_n, "N"),
    )


def axle_torque(
    thrust_n: float | None,
    crank_radius_mm: float | None,
    load_on_axle_n: float | None,
    friction: float | None,
    wheel_diameter_mm: float | None,
) -> Worked:
    """Torque that may pass through an axle, and so through each wheel seat, from one wheel to the other.

        T = min(F r, mu W D/2)

    One side stands at its dead centre, the other does all the work: at most its whole thrust at the crank, and no more
    than what makes both wheels of the axle slip. The whole load of the axle is taken on one wheel, on the safe side.
    Where the load or friction is not known, so is the result, though F r alone would bound it: see ``crank_torque``.

    Source: statics; a rigid wheelset with cranks at right angles.
    Range: thrust and load 0 or more; r and D above 0; friction above 0 up to 1.
    Anchor: 600 N, r 24: 14.4 N m; 120 N, 0.25, D 120: 1.8 N m: the lesser, 1.8 N m (by hand).

    >>> axle_torque(600, 24, 120, 0.25, 120).value
    1.8
    """
    _check("piston thrust", thrust_n, "N", not_negative)
    _check("crank radius", crank_radius_mm, "mm", positive)
    _check("load on the axle", load_on_axle_n, "N", not_negative)
    _check("wheel diameter", wheel_diameter_mm, "mm", positive)
    _check_friction(friction)
    return work(
        "torque through the axle",
        "N m",
        "T = min(F r, mu W D/2)/1000",
        STATICS,
        lambda f, r, mu, w, d: min(f * r, mu * w * d / 2) / 1000,
        Given("F", "piston thrust", thrust_n, "N"),
        Given("r", "crank radius", crank_radius_mm, "mm"),
        Given("mu", "friction of wheel on rail", friction, ""),
        Given("W", "load on the axle", load_on_axle_n, "N"),
        Given("D", "wheel diameter", wheel_diameter_mm, "mm"),
    )


def crank_torque(thrust_n: float | None, crank_radius_mm: float | None) -> Worked:
    """Greatest torque of one cylinder at the axle: the thrust square on the crank; holds even if no wheel slips.

        T = F r

    Source: statics.
    Range: thrust 0 or more; crank radius above 0.
    Anchor: 600 N, r 24: 14.4 N m (by hand).

    >>> crank_torque(600, 24).value
    14.4
    """
    _check("piston thrust", thrust_n, "N", not_negative)
    _check("crank radius", crank_radius_mm, "mm", positive)
    return work(
        "torque of one cylinder",
        "N m",
        "T = F r/1000",
        STATICS,
        lambda f, r: f * r / 1000,
        Given("F", "piston thrust", thrust_n, "N"),
        Given("r", "crank radius", crank_radius_mm, "mm"),
    )


def pin_bending(force_n: float | None, overhang_mm: float | None, pin_mm: float | None) -> Worked:
    """Bending stress at the root of a crank pin, a beam let in at one end, loaded at the middle of its rod.

        sigma = 32 F a/(pi d^3)

    Source: Shigley, Mechanical Engineering Design (bending of a solid round bar).
    Range: force 0 or more; overhang and diameter above 0; no notch counted: a sharp corner at the root may double it.
    Anchor: 600 N, a 8, d 8: 95.5 MPa (by hand).

    >>> round(pin_bending(600, 8, 8).value, 1)
    95.5
    """
    _check("force on the pin", force_n, "N", not_negative)
    _check("overhang from seat to middle of the rod", overhang_mm, "mm", positive)
    _check("pin diameter", pin_mm, "mm", positive)
    return work(
        "bending stress at the root of the pin",
        "MPa",
        "sigma = 32 F a/(pi d^3)",
        STATICS,
        lambda f, a, d: 32 * f * a / (math.pi * d**3),
        Given("F", "force on the pin", force_n, "N"),
        Given("a", "overhang from seat to middle of the rod", overhang_mm, "mm"),
        Given("d", "pin diameter", pin_mm, "mm"),
    )


def pin_shear(force_n: float | None, pin_mm: float | None) -> Worked:
    """Greatest shear stress across a solid round pin: four thirds of the mean.

        tau = 4/3 * F/(pi d^2/4)

    Source: Timoshenko, Strength of Materials; Shigley, Mechanical Engineering Design (transverse shear).
    Range: force 0 or more; diameter above 0.
    Anchor: 600 N, d 8: 15.9 MPa (by hand).

    >>> round(pin_shear(600, 8).value, 1)
    15.9
    """
    _check("force on the pin", force_n, "N", not_negative)
    _check("pin diameter", pin_mm, "mm", positive)
    return work(
        "shear stress in the pin",
        "MPa",
        "tau = 4/3 * F/(pi d^2/4)",
        STATICS,
        lambda f, d: 16 * f / (3 * math.pi * d**2),
        Given("F", "force on the pin", force_n, "N"),
        Given("d", "pin diameter", pin_mm, "mm"),
    )


def bearing_pressure(force_n: float | None, journal_mm: float | None, length_mm: float | None) -> Worked:
    """Pressure of a journal on its bush, on the projected area.

        p = F/(d l)

    Source: Bevan, The Theory of Machines; Shigley, Mechanical Engineering Design (projected area).
    Range: force 0 or more; diameter and length above 0.
    Anchor: 600 N, 8 x 6 mm: 12.5 MPa (by hand).

    >>> bearing_pressure(600, 8, 6).value
    12.5
    """
    _check("force on the bearing", force_n, "N", not_negative)
    _check("journal diameter", journal_mm, "mm", positive)
    _check("bearing length", length_mm, "mm", positive)
    return work(
        "bearing pressure",
        "MPa",
        "p = F/(d l)",
        STATICS,
        lambda f, d, length: f / (d * length),
        Given("F", "force on the bearing", force_n, "N"),
        Given("d", "journal diameter", journal_mm, "mm"),
        Given("l", "bearing length", length_mm, "mm"),
    )


def bush_friction_torque(force_n: float | None, journal_mm: float | None, friction: float | None) -> Worked:
    """Torque by which a rod's bush tries to turn its pin in the wheel.

        T = mu F d/2

    Source: Coulomb friction at the journal.
    Range: force 0 or more; diameter above 0; friction above 0 up to 1 (dry bronze on steel about 0.2, from memory).
    Anchor: 600 N, d 8, mu 0.2: 0.48 N m (by hand).

    >>> round(bush_friction_torque(600, 8, 0.2).value, 6)
    0.48
    """
    _check("force on the bearing", force_n, "N", not_negative)
    _check("journal diameter", journal_mm, "mm", positive)
    _check_friction(friction)
    return work(
        "friction torque on the pin",
        "N m",
        "T = mu F d/2000",
        STATICS,
        lambda mu, f, d: mu * f * d / 2000,
        Given("mu", "friction in the bush", friction, ""),
        Given("F", "force on the bearing", force_n, "N"),
        Given("d", "journal diameter", journal_mm, "mm"),
    )


def valve_force(
    valve_length_mm: float | None, valve_width_mm: float | None, pressure_mpa: float | None, friction: float | None
) -> Worked:
    """Force to drag a slide valve over its face, the steam on the whole of its back.

        F_v = mu p a b

    Source: Coulomb friction; the relief by steam in the ports is left out, on the safe side.
    Range: sizes above 0; pressure 0 to 2 MPa gauge; friction above 0 up to 1.
    Anchor: 25 x 30 mm at 0.55 MPa, 0.2: 82.5 N (by hand).

    >>> round(valve_force(25, 30, 0.55, 0.2).value, 6)
    82.5
    """
    _check("length of the valve", valve_length_mm, "mm", positive)
    _check("width of the valve", valve_width_mm, "mm", positive)
    if pressure_mpa is not None:
        within("steam pressure", pressure_mpa, 0, 2, "MPa", way_out="gauge pressure; 80 psi is 0.552 MPa")
    _check_friction(friction)
    return work(
        "force to drag the valve",
        "N",
        "F_v = mu p a b",
        STATICS,
        lambda mu, p, a, b: mu * p * a * b,
        Given("mu", "friction of the valve on its face", friction, ""),
        Given("p", "steam pressure", pressure_mpa, "MPa"),
        Given("a", "length of the valve", valve_length_mm, "mm"),
        Given("b", "width of the valve", valve_width_mm, "mm"),
    )


def return_crank_torque(
    eccentric_rod_n: float | None,
    arm_mm: float | None,
    rod_force_n: float | None,
    journal_mm: float | None,
    friction: float | None,
) -> Worked:
    """Torque that tries to turn the return crank on its pin, and the pin in its wheel.

        T = F_e e + mu F d/2

    F_e is the force in the eccentric rod, square on the return crank of arm e (its centres); the friction of the rod
    on the pin of diameter d acts in the same sense.

    Source: statics; both at their worst at once, on the safe side.
    Range: forces 0 or more; arm and diameter above 0; friction above 0 up to 1.
    Anchor: 40 N at 25 mm and 600 N, d 8, mu 0.2: 1.0 + 0.48 = 1.48 N m (by hand).

    >>> round(return_crank_torque(40, 25, 600, 8, 0.2).value, 6)
    1.48
    """
    _check("force in the eccentric rod", eccentric_rod_n, "N", not_negative)
    _check("return crank centres", arm_mm, "mm", positive)
    _check("force on the pin", rod_force_n, "N", not_negative)
    _check("journal diameter", journal_mm, "mm", positive)
    _check_friction(friction)
    return work(
        "torque on the return crank",
        "N m",
        "T = (F_e e + mu F d/2)/1000",
        STATICS,
        lambda fe, e, mu, f, d: (fe * e + mu * f * d / 2) / 1000,
        Given("F_e", "force in the eccentric rod", eccentric_rod_n, "N"),
        Given("e", "return crank centres", arm_mm, "mm"),
        Given("mu", "friction in the bush", friction, ""),
        Given("F", "force on the pin", rod_force_n, "N"),
        Given("d", "journal diameter", journal_mm, "mm"),
    )


@dataclass(frozen=True, slots=True)
class Balance:
    """Capacity of a joint over what is asked of it; ``ratio`` None = not known, and ``missing`` says why."""

    name: str
    capacity: float | None
    demand: float | None
    ratio: float | None
    missing: tuple[str, ...]


def capacity_over_demand(name: str, capacity: float | None, demand: Worked) -> Balance:
    """Set what a joint holds against what is asked of it, in the unit of the demand; above 1 it holds.

        ratio = capacity / demand

    Source: definition.
    Range: capacity 0 or more; a demand of 0 gives an infinite ratio.
    Anchor: 18.85 N m over 1.8 N m: 10.5 (by hand).

    >>> round(capacity_over_demand("wheel on axle", 18.85, axle_torque(600, 24, 120, 0.25, 120)).ratio, 1)
    10.5
    """
    _check(f"capacity of {name}", capacity, demand.unit, not_negative)
    missing = demand.missing if capacity is not None else (f"capacity of {name}", *demand.missing)
    if capacity is None or demand.value is None:
        return Balance(name, capacity, demand.value, None, missing)
    ratio = math.inf if demand.value == 0 else capacity / demand.value
    return Balance(name, capacity, demand.value, ratio, ())


def _check(thing: str, value: float | None, unit: str, rule: Callable[[str, float, str], None]) -> None:
    if value is not None:
        rule(thing, value, unit)


def _check_friction(friction: float | None) -> None:
    if friction is not None:
        positive("friction", friction, "")
        within("friction", friction, 0, 1, "")
