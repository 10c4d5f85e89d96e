"""Angles: the topslide set for fine cuts, tapers by topslide or tailstock, sine packing. Angles in radians inside."""

from __future__ import annotations

import math

from asmade.measure.errors import Refused
from asmade.work.checks import above_zero, between, finite, not_below_zero, within


def fine_cut_angle_rad(cut_per_dial: float) -> float:
    """Angle from the lathe's bed at which a topslide cuts, on the radius, that share of what its dial reads.

        cut on the radius = reading x sin(angle)

    Source: trigonometry. Range: share above 0 up to 1.
    Anchor: share 0.2: 11.54 deg; 0.1: 5.74 deg (trigonometry).
    """
    return math.asin(within("cut for one on the dial", cut_per_dial, 1e-6, 1, ""))


def fine_cut_mm(dial_mm: float, angle_rad: float, *, on_diameter: bool = False) -> float:
    """Cut that a reading of the topslide's dial makes, on the radius or on diameter, mm.

    Source: trigonometry. Range: angle over 0 up to 90 deg, reading 0 or more.
    Anchor: 0.10 mm at 11.5 deg: 0.0199 mm on the radius (trigonometry).
    """
    _angle("angle of the topslide", angle_rad)
    return not_below_zero("reading", dial_mm) * math.sin(angle_rad) * (2 if on_diameter else 1)


def fine_cut_error_mm(dial_mm: float, angle_rad: float, out_by_rad: float) -> float:
    """How far out the cut on the radius is where the topslide is not quite at its angle, mm.

    Source: trigonometry, r (sin(a + d) - sin(a)). Range: as `fine_cut_mm`.
    Anchor: 0.10 mm at 5.74 deg, half a degree out: 0.00087 mm (by hand).
    """
    _angle("angle of the topslide", angle_rad)
    finite("error of the angle", out_by_rad)
    return not_below_zero("reading", dial_mm) * (math.sin(angle_rad + out_by_rad) - math.sin(angle_rad))


def fine_cut_axial_mm(dial_mm: float, angle_rad: float) -> float:
    """How far the tool goes along the work meanwhile: reading x cos(angle). Mind a shoulder.

    Source: trigonometry. Range: as `fine_cut_mm`. Anchor: 0.10 mm at 5.74 deg: 0.0995 mm.
    """
    _angle("angle of the topslide", angle_rad)
    return not_below_zero("reading", dial_mm) * math.cos(angle_rad)


def half_angle_rad(large_mm: float, small_mm: float, length_mm: float) -> float:
    """Half the included angle of a taper: to what the topslide is set from the bed.

        tan(a) = (D - d) / (2 L)

    Source: trigonometry; Machinery's Handbook. Range: D above d, d 0 or more, L above 0.
    Anchor: 1 in 20 on diameter: 1.432 deg (by hand).
    """
    above_zero("large end", large_mm)
    above_zero("length of the taper", length_mm)
    if not 0 <= finite("small end", small_mm) < large_mm:
        raise Refused("taper", got=(large_mm, small_mm), reason="the large end must be larger than the small one",
                      way_out="a parallel part needs no setting")  # fmt: skip
    return math.atan((large_mm - small_mm) / (2 * length_mm))


def half_angle_of_ratio_rad(one_in: float) -> float:
    """Half the included angle of a taper written 1 in N on diameter: tan(a) = 1 / (2 N).

    Source: trigonometry. Range: N above 0. Anchor: 1 in 48 (taper pin, inch): 0.5968 deg; 1:50: 0.5729 deg (by hand).
    """
    return math.atan(1 / (2 * above_zero("taper, one in", one_in, "")))


def small_end_mm(large_mm: float, length_mm: float, half_angle: float) -> float:
    """Small end of a taper, mm: d = D - 2 L tan(a).

    Source: trigonometry. Range: comes out at 0 or more. Anchor: 20 mm, 40 mm long, 1 in 20: 18 mm.
    """
    _angle("half angle", half_angle)
    small = above_zero("large end", large_mm) - 2 * above_zero("length", length_mm) * math.tan(half_angle)
    return not_below_zero("small end", small)


def indicator_rise_mm(travel_mm: float, angle_rad: float, *, along: str = "bed") -> float:
    """What an indicator on a true bar reads while a slide set over travels: how an angle is set without its scale.

        along the bed:    travel x tan(a)   (indicator on a tapered test piece, saddle moved)
        along the slide:  travel x sin(a)   (indicator on the topslide, on a parallel bar between centres)

    Source: trigonometry. Range: angle over 0 and under 90 deg, travel above 0.
    Anchor: 50 mm of topslide at 5 deg: 4.358 mm (by hand).
    """
    between("angle", math.degrees(finite("angle", angle_rad)), 0, 90, "deg")
    if along not in ("bed", "slide"):
        raise Refused("travel", got=along, reason="it is along the bed or along the slide", way_out="bed or slide")
    way = above_zero("travel", travel_mm)
    return way * (math.tan(angle_rad) if along == "bed" else math.sin(angle_rad))


def tailstock_offset_mm(half_angle: float, between_centres_mm: float) -> float:
    """How far the tailstock is set over for a long taper between centres, mm: x = L sin(a).

    L is the whole length between the centres' points, not of the taper. The centres no longer bear truly: use balls
    or radius centres, little and often.

    Source: trigonometry; Machinery's Handbook gives (D - d)/2l x L, which is the same for small angles.
    Range: half angle over 0 up to 8 deg (our limit: beyond it centres bear on their edges).
    Anchor: 1 in 48 over 150 mm: 1.5624 mm (by hand).
    """
    within("half angle", math.degrees(finite("half angle", half_angle)), 1e-9, 8, "deg",
           way_out="use the topslide or a taper-turning attachment")  # fmt: skip
    return above_zero("length between centres", between_centres_mm) * math.sin(half_angle)


def sine_packing_mm(angle_rad: float, centres_mm: float) -> float:
    """Packing under one roller of a sine bar, or under one of two rollers at known centres: h = L sin(a).

    Source: trigonometry; Machinery's Handbook. Range: 0 to 60 deg (above 45 deg inexact: see `sine_error_rad`).
    Anchor: 30 deg, 5 in centres: 2.5 in (exact).
    """
    within("angle", math.degrees(finite("angle", angle_rad)), 0, 60, "deg", way_out="set the angle from the other face")
    return above_zero("centres of the rollers", centres_mm) * math.sin(angle_rad)


def sine_angle_rad(packing_mm: float, centres_mm: float) -> float:
    """Angle that a packing gives: a = arcsin(h / L).

    Source: trigonometry. Range: packing 0 up to the sine of 60 deg. Anchor: 2.5 on 5: 30 deg.
    """
    above_zero("centres of the rollers", centres_mm)
    most = centres_mm * math.sin(math.radians(60))
    return math.asin(within("packing", packing_mm, 0, most) / centres_mm)


def sine_error_rad(packing_out_mm: float, centres_mm: float, angle_rad: float) -> float:
    """How far the angle is out for packing that is out by so much: dh / (L cos(a)).

    Source: derivative of the sine rule. Range: 0 to 60 deg.
    Anchor: 0.01 mm on 100 mm at 30 deg: 0.397 minutes of arc (by hand).
    """
    within("angle", math.degrees(finite("angle", angle_rad)), 0, 60, "deg")
    return finite("error of the packing", packing_out_mm) / (
        above_zero("centres of the rollers", centres_mm) * math.cos(angle_rad)
    )


def _angle(thing: str, angle_rad: float) -> None:
    within(thing, math.degrees(finite(thing, angle_rad)), 1e-9, 90, "deg")
