"""Pins, keys, grub screws and threads that back a joint up or hold it alone: shear, crushing, stripping.

Every formula gives what the part holds at the stress put in; divide the strength by your factor of safety first.
Functions take one value or an array of values, but for those that read a table.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange
from asmade.reckon.joints.checks import larger, not_negative, positive, within
from asmade.standards import tables

if TYPE_CHECKING:
    from asmade.reckon.joints.checks import Values

LBF_N = 4.4482216152605  # exact by definition of the pound and of standard gravity
INCH_MM = 25.4


def shear_yield_mpa(proof_mpa: Values) -> Values:
    """Shear stress at which a ductile metal yields.

        tau = R_p/sqrt(3)

    Source: von Mises criterion; Shigley, Mechanical Engineering Design.
    Range: proof strength above 0; ductile metals.
    Anchor: 300 MPa: 173.2 MPa (by hand).

    >>> round(shear_yield_mpa(300), 1)
    173.2
    """
    positive("proof strength", proof_mpa, "MPa")
    return proof_mpa / math.sqrt(3)


def pin_shear_force_n(pin_mm: Values, shear_mpa: Values, planes: int) -> Values:
    """Force that a pin carries across itself.

        F = n tau pi d^2/4

    Source: mean shear, any text on strength of materials; Shigley, Mechanical Engineering Design.
    Range: pin and stress above 0; one or two planes.
    Anchor: 3 mm, 100 MPa, two planes: 1413.7 N (by hand).

    >>> round(pin_shear_force_n(3, 100, 2), 1)
    1413.7
    """
    positive("pin diameter", pin_mm, "mm")
    positive("shear stress", shear_mpa, "MPa")
    if planes not in (1, 2):
        raise OutOfRange("shear planes of a pin", got=planes, allowed="1 or 2")
    return planes * shear_mpa * math.pi * pin_mm**2 / 4


def cross_pin_torque_nm(pin_mm: Values, shaft_mm: Values, shear_mpa: Values) -> Values:
    """Torque that a pin right through hub and shaft carries by shear, in N m.

        T = tau (2 pi d_p^2/4) D/2

    Source: Shigley, Mechanical Engineering Design (pins in shear); Machinery's Handbook, taper pins.
    Range: pin up to a third of the shaft; the shaft is weakened by the hole, which this does not count.
    Anchor: pin 3 in shaft 12, 100 MPa: 8.48 N m (by hand).

    >>> round(cross_pin_torque_nm(3, 12, 100), 2)
    8.48
    """
    larger("shaft", shaft_mm, "three times the pin", 2.9999 * pin_mm, "mm", "a thinner pin, or one along the joint")
    return pin_shear_force_n(pin_mm, shear_mpa, 2) * shaft_mm / 2000


def joint_line_pin_torque_nm(
    pin_mm: Values, length_mm: Values, shaft_mm: Values, shear_mpa: Values, crushing_mpa: Values
) -> Values:
    """Torque of a round key: a pin let in from the end, half in shaft and half in hub; the lesser of two, in N m.

        shear: T = tau d_p l D/2;   crushing: T = p (d_p/2) l D/2

    ``crushing_mpa`` is that of the softer of hub, shaft and pin.

    Source: mean shear and bearing on the projected half, as for keys: Shigley, Mechanical Engineering Design.
    Range: all above 0; pin up to half the shaft.
    Anchor: pin 3, 10 long, shaft 16, tau 100, p 150: shear 24, crushing 18: 18 N m (by hand).

    >>> joint_line_pin_torque_nm(3, 10, 16, 100, 150)
    18.0
    """
    larger("shaft", shaft_mm, "twice the pin", 1.9999 * pin_mm, "mm")
    return key_torque_nm(pin_mm, pin_mm, length_mm, shaft_mm, shear_mpa, crushing_mpa)


def key_torque_nm(
    width_mm: Values,
    height_mm: Values,
    length_mm: Values,
    shaft_mm: Values,
    shear_mpa: Values,
    crushing_mpa: Values,
) -> Values:
    """Torque that a sunk key carries, the lesser of shear and crushing, in N m.

        shear: T = tau b l D/2;   crushing: T = p (h/2) l D/2

    Source: Shigley, Mechanical Engineering Design, keys and pins.
    Range: all above 0; key not wider than half the shaft; ``crushing_mpa`` of the softest part.
    Anchor: key 3 x 3, 10 long, shaft 12, tau 100, p 150: shear 18, crushing 13.5 N m (by hand).

    >>> key_torque_nm(3, 3, 10, 12, 100, 150)
    13.5
    """
    for thing, value in (("key width", width_mm), ("key height", height_mm), ("key length", length_mm)):
        positive(thing, value, "mm")
    positive("shear stress", shear_mpa, "MPa")
    positive("crushing stress", crushing_mpa, "MPa")
    larger("shaft", shaft_mm, "twice the key width", 1.9999 * width_mm, "mm")
    shear = shear_mpa * width_mm * length_mm * shaft_mm / 2000
    crushing = crushing_mpa * height_mm / 2 * length_mm * shaft_mm / 2000
    return _lesser(shear, crushing)


@dataclass(frozen=True, slots=True)
class GrubScrew:
    """What a grub screw holds: the row of the table it was taken from, force along the shaft, seating torque."""

    size: str
    hold_n: float
    seating_nm: float
    source: str


def grub_screw(diameter_mm: float) -> GrubScrew:
    """Holding power of a cup-point grub screw on a soft steel shaft, by the next smaller size of the table.

    A grub screw alone works loose under the to and fro of valve gear (common practice, no source): pin it as well.

    Source: Shigley, Mechanical Engineering Design, Table 7-4, from memory: check before relying on it.
    Range: 1.52 mm (0.060 in) to 10 mm; typical values, seated with the torque given.
    Anchor: 1/4 in: 1000 lbf = 4448 N (Table 7-4).

    >>> grub_screw(6.35).size, round(grub_screw(6.35).hold_n)
    ('1/4', 4448)
    """
    table = tables.load("grub_screws", "asmade.reckon.joints")
    within("grub screw", diameter_mm, 0.06 * INCH_MM, 10, "mm", source=table.meta.source)
    row = [r for r in table.rows if tables.number(r["diameter_in"]) * INCH_MM <= diameter_mm + 1e-9][-1]
    hold = tables.number(row["hold_lbf"]) * LBF_N
    seating = tables.number(row["seating_lbf_in"]) * LBF_N * INCH_MM / 1000
    return GrubScrew(str(row["size"]), hold, seating, f"{table.meta.source}; {table.meta.read}")


def grub_screw_torque_nm(hold_n: Values, shaft_mm: Values) -> Values:
    """Torque that a grub screw holds, in N m.

        T = F D/2

    Source: Shigley, Mechanical Engineering Design, set screws.
    Range: force 0 or more, shaft above 0.
    Anchor: 4448 N on 12 mm: 26.7 N m (by hand).

    >>> round(grub_screw_torque_nm(4448, 12), 1)
    26.7
    """
    not_negative("holding force", hold_n, "N")
    positive("shaft", shaft_mm, "mm")
    return hold_n * shaft_mm / 2000


def thread_tension_n(stress_area_mm2: Values, tensile_mpa: Values) -> Values:
    """Force that a screw carries in tension.

        F = A_s R

    Source: ISO 898-1; the stress area is that of the thread's own table.
    Range: area and stress above 0.
    Anchor: M6 (20.1 mm2) at 400 MPa: 8040 N (ISO 898-1 property class 4.6: 8040 N).

    >>> round(thread_tension_n(20.1, 400))
    8040
    """
    positive("stress area", stress_area_mm2, "mm2")
    positive("stress", tensile_mpa, "MPa")
    return stress_area_mm2 * tensile_mpa


def screw_strip_n(
    internal_minor_mm: Values,
    effective_mm: Values,
    pitch_mm: Values,
    length_mm: Values,
    half_angle_deg: float,
    shear_mpa: Values,
) -> Values:
    """Force at which the SCREW's thread strips, sheared at the minor diameter of the hole.

        F = tau pi D1 (l/p) [p/2 + tan(alpha) (d2 - D1)]

    Half angle 30 for ISO metric and Unified, 27.5 for Whitworth form and BSP, 23.75 for BA.

    Source: FED-STD-H28/2 (shear area of external threads); Machinery's Handbook, length of engagement.
    Range: pitch, length, stress above 0; D1 below d2; half angle 20 to 30; full thread engaged.
    Anchor: M10 x 1.5, D1 8.376, d2 9.026, 10 long: area 197.4 mm2 (by hand).

    >>> round(screw_strip_n(8.376, 9.026, 1.5, 10, 30, 1), 1)
    197.4
    """
    larger("effective diameter", effective_mm, "the minor diameter of the hole", internal_minor_mm, "mm")
    return _strip(internal_minor_mm, effective_mm - internal_minor_mm, pitch_mm, length_mm, half_angle_deg, shear_mpa)


def nut_strip_n(
    external_major_mm: Values,
    effective_mm: Values,
    pitch_mm: Values,
    length_mm: Values,
    half_angle_deg: float,
    shear_mpa: Values,
) -> Values:
    """Force at which the NUT's or tapped hole's thread strips, sheared at the major diameter of the screw.

        F = tau pi d (l/p) [p/2 + tan(alpha) (d - D2)]

    Source: FED-STD-H28/2 (shear area of internal threads); Machinery's Handbook, length of engagement.
    Range: pitch, length, stress above 0; D2 below d; half angle 20 to 30; full thread engaged.
    Anchor: M10 x 1.5, d 10, D2 9.026, 10 long: area 274.9 mm2 (by hand).

    >>> round(nut_strip_n(10, 9.026, 1.5, 10, 30, 1), 1)
    274.9
    """
    larger("major diameter of the screw", external_major_mm, "the effective diameter", effective_mm, "mm")
    return _strip(external_major_mm, external_major_mm - effective_mm, pitch_mm, length_mm, half_angle_deg, shear_mpa)


def _strip(
    at_mm: Values, beyond_mm: Values, pitch_mm: Values, length_mm: Values, half_angle_deg: float, shear_mpa: Values
) -> Values:
    positive("diameter of shear", at_mm, "mm")
    positive("pitch", pitch_mm, "mm")
    positive("engaged length", length_mm, "mm")
    positive("shear stress", shear_mpa, "MPa")
    within("half angle of the thread", half_angle_deg, 20, 30, "degrees")
    width = pitch_mm / 2 + math.tan(math.radians(half_angle_deg)) * beyond_mm
    return shear_mpa * math.pi * at_mm * length_mm / pitch_mm * width


def _lesser(first: Values, second: Values) -> Values:
    if isinstance(first, int | float) and isinstance(second, int | float):
        return min(first, second)
    import numpy as np  # noqa: PLC0415  # single values need no arrays

    return np.minimum(first, second)
