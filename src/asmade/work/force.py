"""Force, power and torque of a cut, and the deepest cut that the motor bears.

The specific cutting force comes from `asmade.standards.cutting` (Kienzle: kc = kc1.1 h^-mc); published figures differ
by 10 to 20 per cent and a worn tool adds a third or more, so all of this is an estimate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.measure.errors import OutOfRange
from asmade.standards.cutting import specific_cutting_force
from asmade.work.checks import above_zero, between, finite, whole, within


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut: its force, the power at the tool, the torque on the spindle, and the metal it removes."""

    force_n: float
    power_w: float
    torque_nm: float
    removal_mm3_min: float
    specific_force_mpa: float
    chip_thickness_mm: float


def turning_cut(
    kc11_mpa: float, mc: float, *, depth_mm: float, feed_mm: float, speed_m_min: float, diameter_mm: float,
    entering_rad: float = math.pi / 2,
) -> Cut:  # fmt: skip
    """Force, power and torque of a turning cut; ``depth_mm`` on the radius, ``entering_rad`` of the cutting edge.

        h = f sin(kappa),  b = a / sin(kappa),  Fc = kc b h,  P = Fc v / 60,  M = Fc d / 2

    Units: N, W, N m, mm3/min (v in m/min).

    Source: Kienzle; trade-school tables.
    Range: depth and feed above 0, depth below the radius, entering angle 15 to 90 deg, h 0.001 to 3 mm.
    Anchor: kc1.1 1350, mc 0.21, h 0.2, b 1 mm: kc 1892.86 N/mm2, force 378.57 N (by hand).
    """
    above_zero("feed", feed_mm, "mm a turn")
    above_zero("cutting speed", speed_m_min, "m/min")
    between("depth of cut", depth_mm, 0, diameter_mm / 2, way_out="a cut on the radius cannot reach past the middle")
    within("entering angle", math.degrees(finite("entering angle", entering_rad)), 15, 90, "deg")
    chip = feed_mm * math.sin(entering_rad)
    specific = specific_cutting_force(kc11_mpa, mc, chip)
    force = specific * depth_mm * feed_mm
    return Cut(
        force, force * speed_m_min / 60, force * diameter_mm / 2000, depth_mm * feed_mm * speed_m_min * 1000, specific,
        chip,
    )  # fmt: skip


def deepest_cut_mm(
    kc11_mpa: float, mc: float, *, feed_mm: float, speed_m_min: float, power_at_tool_w: float,
    entering_rad: float = math.pi / 2,
) -> float:  # fmt: skip
    """Depth on the radius at which a turning cut takes all the power there is, mm: a = 60 P / (kc f v).

    Source: Kienzle, solved for the depth.
    Range: as `turning_cut`.
    Anchor: kc 1892.86 N/mm2, feed 0.2 mm, 30 m/min, 200 W: 1.0566 mm (by hand).
    """
    above_zero("power at the tool", power_at_tool_w, "W")
    above_zero("feed", feed_mm, "mm a turn")
    above_zero("cutting speed", speed_m_min, "m/min")
    within("entering angle", math.degrees(finite("entering angle", entering_rad)), 15, 90, "deg")
    specific = specific_cutting_force(kc11_mpa, mc, feed_mm * math.sin(entering_rad))
    return 60 * power_at_tool_w / (specific * feed_mm * speed_m_min)


def drilling_cut(
    kc11_mpa: float, mc: float, *, drill_mm: float, feed_mm: float, rev_min: float, point_rad: float = math.radians(118)
) -> Cut:
    """Force on the lips, torque and power of a twist drill with two lips.

        h = f/2 sin(sigma/2),  M = kc f d^2 / 8,  P = M 2 pi n / 60

    ``force_n`` is the cutting force of both lips together, M = F d / 4. Units: N, N m, W, mm3/min.

    Source: Kienzle for drilling, trade-school tables, from memory (no allowance for the web or blunt lips).
    Range: feed and drill above 0, point 60 to 180 deg.
    Anchor: kc 2500 N/mm2, feed 0.1, drill 8 mm: 2.0 N m (by hand).
    """
    above_zero("drill", drill_mm)
    above_zero("feed", feed_mm, "mm a turn")
    above_zero("spindle speed", rev_min, "rev/min")
    within("point of the drill", math.degrees(finite("point of the drill", point_rad)), 60, 180, "deg")
    chip = feed_mm / 2 * math.sin(point_rad / 2)
    specific = specific_cutting_force(kc11_mpa, mc, chip)
    torque = specific * feed_mm * drill_mm**2 / 8000
    removal = math.pi * drill_mm**2 / 4 * feed_mm * rev_min
    return Cut(4000 * torque / drill_mm, torque * 2 * math.pi * rev_min / 60, torque, removal, specific, chip)


def milling_cut(
    kc11_mpa: float, mc: float, *, cutter_mm: float, width_mm: float, depth_mm: float, feed_tooth_mm: float, teeth: int,
    rev_min: float,
) -> Cut:  # fmt: skip
    """Mean force, power and torque of a milling cut; ``width_mm`` is how far the cutter is in across its diameter.

        phi = arccos(1 - 2 ae / D),  h = fz 2 ae / (D phi),  P = kc Q / 60,000  (Q in mm3/min)

    h is the mean thickness of the chip over the arc in the metal, phi (the cutter to one side of the cut); for a full
    slot phi is half a turn. Units: N (mean along the edge), W, N m, mm3/min.

    Source: Kienzle with the mean chip thickness, trade-school tables, from memory.
    Range: width above 0 up to the cutter's diameter; h 0.001 to 3 mm.
    Anchor: a slot of the cutter's width: h = 2 fz / pi (by hand).
    """
    above_zero("cutter", cutter_mm)
    within("width of cut", width_mm, 1e-9, cutter_mm, way_out="a wider cut takes more than one pass")
    above_zero("depth of cut", depth_mm)
    above_zero("feed per tooth", feed_tooth_mm)
    above_zero("spindle speed", rev_min, "rev/min")
    whole("teeth", teeth, 1, 200)
    arc = math.acos(1 - 2 * width_mm / cutter_mm)
    chip = feed_tooth_mm * 2 * width_mm / (cutter_mm * arc)
    specific = specific_cutting_force(kc11_mpa, mc, chip)
    removal = milling_removal_mm3_min(width_mm, depth_mm, feed_tooth_mm * teeth * rev_min)
    power = specific * removal / 60_000
    torque = torque_nm(power, rev_min)
    return Cut(2000 * torque / cutter_mm, power, torque, removal, specific, chip)


def turning_removal_mm3_min(outer_mm: float, inner_mm: float, feed_mm: float, rev_min: float) -> float:
    """Metal removed in turning from one diameter to another, mm3/min: pi (D^2 - d^2)/4 f n.

    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology. Range: D above d, d 0 or more.
    Anchor: 0.5 to 0.48 in, 8 in/min: 0.123 in3/min (Kalpakjian and Schmid).
    """
    above_zero("diameter", outer_mm)
    within("diameter after the cut", inner_mm, 0, outer_mm)
    return math.pi * (outer_mm**2 - inner_mm**2) / 4 * above_zero("feed", feed_mm) * above_zero("speed", rev_min)


def milling_removal_mm3_min(width_mm: float, depth_mm: float, table_feed_mm_min: float) -> float:
    """Metal removed in milling, mm3/min: Q = b a v.

    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology. Range: above 0.
    Anchor: 60 x 3 mm at 600 mm/min: 108,000 mm3/min (Kalpakjian and Schmid).
    """
    above_zero("width of cut", width_mm)
    above_zero("depth of cut", depth_mm)
    return width_mm * depth_mm * above_zero("table feed", table_feed_mm_min, "mm/min")


def power_by_unit_power_w(removal_mm3_min: float, unit_power_ws_mm3: float) -> float:
    """Power of a cut from the energy that a cubic millimetre of the metal takes, W: P = u Q / 60.

    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology. Range: above 0.
    Anchor: 108,000 mm3/min at 1.1 W s/mm3: 1.98 kW (Kalpakjian and Schmid).
    """
    above_zero("removal", removal_mm3_min, "mm3/min")
    return above_zero("unit power", unit_power_ws_mm3, "W s/mm3") * removal_mm3_min / 60


def torque_nm(power_w: float, rev_min: float) -> float:
    """Torque of a power at a speed, N m: M = 60 P / (2 pi n).

    Source: mechanics; Kalpakjian and Schmid. Range: power 0 or more, speed above 0.
    Anchor: 11 hp at 100 rev/min: 578 lbf ft (Kalpakjian and Schmid).
    """
    if finite("power", power_w) < 0:
        raise OutOfRange("power", got=f"{power_w:g} W", allowed="0 or more")
    return 60 * power_w / (2 * math.pi * above_zero("spindle speed", rev_min, "rev/min"))


def power_at_tool_w(motor_w: float, efficiency: float) -> float:
    """What of the motor's power reaches the tool, W.

    Source: definition; 0.6 to 0.8 for belts and a back gear is common practice, no source.
    Range: efficiency above 0 up to 1. Anchor: 370 W at 0.7: 259 W.
    """
    within("efficiency", efficiency, 1e-9, 1, "")
    return above_zero("motor", motor_w, "W") * efficiency


def shear_plane_rad(uncut_mm: float, chip_mm: float, rake_rad: float) -> float:
    """Angle of the plane on which the chip shears, from the chip measured: a thick chip says a blunt or dry tool.

        r = t / tc,   tan(phi) = r cos(alpha) / (1 - r sin(alpha))

    Source: Ghosh and Mallik, Manufacturing Science.
    Range: chip thicker than the cut, rake -45 to 45 deg.
    Anchor: 0.15 mm uncut, chip 0.4 mm, rake 10 deg: 21.6 deg (Ghosh and Mallik).
    """
    above_zero("cut", uncut_mm)
    if finite("chip", chip_mm) <= uncut_mm:
        raise OutOfRange("chip", got=f"{chip_mm:g} mm", allowed=f"thicker than the cut, {uncut_mm:g} mm")
    within("rake", math.degrees(finite("rake", rake_rad)), -45, 45, "deg")
    ratio = uncut_mm / chip_mm
    return math.atan2(ratio * math.cos(rake_rad), 1 - ratio * math.sin(rake_rad))


def shear_strain(shear_plane: float, rake_rad: float) -> float:
    """Shear strain of the chip: cot(phi) + tan(phi - alpha).

    Source: Ghosh and Mallik, Manufacturing Science. Range: shear plane over 0 and under 90 deg.
    Anchor: shear plane 21.6 deg, rake 10 deg: 2.74 (Ghosh and Mallik).
    """
    between("shear plane", math.degrees(finite("shear plane", shear_plane)), 0, 90, "deg")
    return 1 / math.tan(shear_plane) + math.tan(shear_plane - finite("rake", rake_rad))
