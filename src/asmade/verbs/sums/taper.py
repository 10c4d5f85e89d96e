"""Quick sum of tapers: the half angle and how it is set; the topslide for fine cuts; sine packing."""

from __future__ import annotations

import math
from typing import Any

from asmade.measure.errors import Refused
from asmade.measure.show import show_degrees_minutes
from asmade.verbs.sums.bench import angle_rad, number
from asmade.verbs.sums.result import QuickSum, Rows, amount, figure, mm, size
from asmade.work.tapers import (
    fine_cut_angle_rad,
    fine_cut_axial_mm,
    fine_cut_mm,
    half_angle_of_ratio_rad,
    half_angle_rad,
    indicator_rise_mm,
    sine_error_rad,
    sine_packing_mm,
    tailstock_offset_mm,
)

CAUTION = "After the tailstock was set over set it true again; centres out of line want oil and a light cut."


def taper(
    *, large: str = "", small: str = "", length: str = "", one_in: str = "", angle: str = "", fine: str = "",
    between: str = "", travel: str = "", rollers: str = "", dial: str = "",
) -> QuickSum:  # fmt: skip
    """A taper by its ends, by 1 in N, or by its half angle; or ``fine``: the topslide's angle for fine cuts."""
    given = [
        name for name, text in (("--large", large), ("--one-in", one_in), ("--angle", angle), ("--fine", fine)) if text
    ]
    if len(given) != 1:
        raise Refused(
            "taper",
            got=" and ".join(given) or "nothing",
            reason="give one of the four",
            way_out="--large 20 --small 18 --length 40, or --one-in 20, or --angle 2.86, or --fine 0.1",
        )
    (way,) = given
    if way == "--fine":
        return _fine(fine, dial)
    if way == "--large":
        if not small or not length:
            raise Refused("taper", got=f"large end {large}", reason="the small end and the length are wanted too",
                          way_out="--large 20 --small 18 --length 40")  # fmt: skip
        big, little = float(size(large, "large end").mm), float(amount(small, "small end").mm)
        half = half_angle_rad(big, little, float(size(length, "length of the taper").mm))
        said = f"{big:g} to {little:g} mm over {length}"
    elif way == "--one-in":
        half = half_angle_of_ratio_rad(number(one_in, "taper, one in"))
        said = f"1 in {one_in} on diameter"
    else:
        half, _, said = angle_rad(angle, "half angle")
    degrees = math.degrees(half)
    rows = [
        ("half angle, set from the bed", f"{degrees:.4f}°", show_degrees_minutes(degrees)),
        ("included angle", f"{2 * degrees:.4f}°", show_degrees_minutes(2 * degrees)),
        ("1 in, on diameter", figure(1 / (2 * math.tan(half)), 5), ""),
        ("inches to the foot, on diameter", figure(24 * math.tan(half), 5), ""),
    ]
    data: dict[str, Any] = {
        "half_angle_deg": degrees,
        "one_in": 1 / (2 * math.tan(half)),
        "inches_per_foot": 24 * math.tan(half),
    }
    working = [f"tan a = (D - d)/2L; a = {degrees:.5f} degrees"]
    go = float(size(travel, "travel").mm) if travel else 50.0
    rise = {along: indicator_rise_mm(go, half, along=along) for along in ("bed", "slide")}
    data |= {"travel_mm": go, "rise_along_bed_mm": rise["bed"], "rise_along_slide_mm": rise["slide"]}
    rows += [(f"indicator over {go:g} mm of topslide", f"{mm(rise['slide'])} mm", "parallel bar between centres"),
             (f"indicator over {go:g} mm of saddle", f"{mm(rise['bed'])} mm", "on a taper to copy")]  # fmt: skip
    working.append(f"slide: {go:g} sin a = {rise['slide']:.4f} mm; bed: {go:g} tan a = {rise['bed']:.4f} mm")
    if between:
        over = tailstock_offset_mm(half, float(size(between, "length between centres").mm))
        data["tailstock_mm"] = over
        rows.append(("tailstock over by", f"{mm(over)} mm", f"{between} between centres"))
        working.append(f"x = L sin a = {over:.4f} mm")
    if rollers:
        centres = float(size(rollers, "centres of the rollers").mm)
        data |= {
            "sine_packing_half_mm": sine_packing_mm(half, centres),
            "sine_packing_whole_mm": sine_packing_mm(2 * half, centres),
        }
        out = 60 * math.degrees(sine_error_rad(0.01, centres, 2 * half))
        rows += [("packing, half angle", f"{mm(data['sine_packing_half_mm'], '0.0001')} mm", f"rollers {centres:g} mm"),
                 ("packing, included angle", f"{mm(data['sine_packing_whole_mm'], '0.0001')} mm",
                  f"0.01 mm out: {out:.2f} minutes")]  # fmt: skip
        working.append(
            f"h = L sin a = {data['sine_packing_half_mm']:.5f} mm; included angle {data['sine_packing_whole_mm']:.5f}"
        )
    return QuickSum("taper", (said,), (Rows("Taper", ("", "", ""), tuple(rows), (1,)),), tuple(working),
                    ("trigonometry; Machinery's Handbook",), data, cautions=(CAUTION,))  # fmt: skip


def _fine(fine: str, dial: str) -> QuickSum:
    share = number(fine, "cut for one on the dial")
    angle = fine_cut_angle_rad(share)
    degrees = math.degrees(angle)
    mark = float(size(dial or "0.02", "division of the dial").mm)
    cut, along = fine_cut_mm(mark, angle), fine_cut_axial_mm(mark, angle)
    rows = (
        ("topslide from the bed", f"{degrees:.3f}°", show_degrees_minutes(degrees)),
        (f"a division of {mark:g} mm, off the radius", f"{mm(cut, '0.0001')} mm", ""),
        ("off the diameter", f"{mm(2 * cut, '0.0001')} mm", ""),
        ("and along the work", f"{mm(along, '0.0001')} mm", "mind the shoulder"),
    )
    return QuickSum(
        "taper", (f"{share:g} on the radius for 1 on the dial",),
        (Rows("Topslide for fine cuts", ("",) * 3, rows, (1,)),),
        (f"a = arcsin {share:g} = {degrees:.4f} degrees; cut = {mark:g} sin a = {cut:.5f} mm",), ("trigonometry",),
        {"angle_deg": degrees, "division_mm": mark, "on_radius_mm": cut, "on_diameter_mm": 2 * cut, "along_mm": along},
        cautions=("Take up the backlash before the cut; keep the topslide's overhang short.",),
    )  # fmt: skip
