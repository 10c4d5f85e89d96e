"""Indexing, change gears, shop arithmetic and machining against printed and derived values, every row of each file.

Rows whose category another file of this folder checks are named with that file, and must stand in it.
"""

from __future__ import annotations

import csv
import math
from fractions import Fraction
from pathlib import Path

import pytest

from asmade.work import change_gears, circles, drilling, flats, force, indexing, speeds, tapping, times

HERE = Path(__file__).parent
INCH = Fraction(254, 10)
RECALLED = "from memory, not confirmed"
ELSEWHERE = {
    "across corners": "shop_corners",
    "spindle speed": "shop_speeds",
    "tap drill for % thread": "shop_tapping",
    "drilled hole oversize": "drilled_oversize",
}


def rows(name):
    with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROWS = [
    row
    for name in (
        "indexing",
        "change_gears",
        "shop_arithmetic",
        "published_machining",
        "published_gearing_indexing",
    )
    for row in rows(name)
]


def given(row):
    return dict(pair.split("=", 1) for pair in row["inputs"].split(";"))


def fractions(text):
    """``9/21`` or ``+3/33`` as spaces and circle."""
    spaces, circle = text.split("/")
    return int(spaces), int(circle)


def train(text):
    pairs = [part.split("/") for part in text.split(" x ")]
    return [int(a) for a, _ in pairs], [int(b) for _, b in pairs]


def screw(g):
    return INCH / Fraction(g["leadscrew_tpi"]) if "leadscrew_tpi" in g else Fraction(g["leadscrew_mm"])


def plain_indexing(row, g):
    circle = int(g["circle"])
    if "divisions" in g:
        (move,) = indexing.plain(int(g["ratio"]), int(g["divisions"]), [circle])
    else:
        degrees = Fraction(g["angle_deg"]) if "angle_deg" in g else Fraction(g["angle_min"]) / 60
        if row["quantity"] == "angle obtained":
            found = indexing.nearest_angle(40, degrees, [circle])
            assert found.move.spaces == int(g["spaces"])
            assert not found.exact
            return float(found.angle_deg * 60)
        (move,) = indexing.angular(int(g.get("ratio", 40)), degrees, [circle])
    return move.turns if row["quantity"] == "full turns" else move.spaces


def holes_needed(row, g):
    return float(indexing.spaces_needed(40, Fraction(g["angle_min"]) / 60))


def angular(row, g):
    return holes_needed(row, g) if "circle" not in g else plain_indexing(row, g)


def compound(row, g):
    first, second = fractions(g["move1"]), fractions(g["move2"])
    made = indexing.Compound(int(row["value"]), first, second)
    found = indexing.compound(int(g["ratio"]), int(row["value"]), [[first[1], second[1]]], most=100)
    assert made in found
    return float(int(g["ratio"]) / made.crank_turns)


def differential(row, g):
    return float(indexing.gear_ratio(int(g["ratio"]), int(g["divisions"]), int(g["approx"])))


def pitch(row, g):
    cut = change_gears.pitch_cut_mm(screw(g), *train(g["train"]))
    if row["quantity"] == "pitch error":
        return float(100 * (cut / Fraction(g["target_mm"]) - 1))
    return float(INCH / cut) if row["unit"] == "1/in" else float(cut)


def metric_on_inch(row, g):
    """The translating gear of 127 is driven: the driver is what makes the ratio, and the search finds the train."""
    ratio = Fraction(g["lead_mm"]) / (INCH / Fraction(g["screw_constant_tpi"]))
    driver = ratio * 127
    found = change_gears.trains(
        Fraction(g["lead_mm"]), INCH / Fraction(g["screw_constant_tpi"]), [int(driver), 127], pairs=1
    )
    assert found.exact[0].driven == (127,)
    return found.exact[0].drivers[0]


def translation(row, g):
    if "gears" not in g:
        return float(change_gears.pitch_cut_mm(screw(g), [int(g["driver"])], [int(g["driven"])]))
    ratio = Fraction(1)
    for pair in g["gears"].split("-"):
        ratio *= Fraction(pair.replace(":", "/"))
    return 100 * change_gears.translation_error(ratio)


def simple_gears(row, g):
    wanted = INCH / Fraction(g["tpi"]) if "tpi" in g else Fraction(g["lead_mm"])
    ratio = wanted / screw(g)
    if row["quantity"].startswith("gear ratio"):
        return float(ratio)
    driven = change_gears.gear_for(ratio, int(g["driver"]))
    if "not a whole number" in row["quantity"]:
        assert driven is None
        return float(int(g["driver"]) / ratio)
    return driven


def cutting_time(row, g):
    if "depth_mm" not in g and "point_deg" in g:
        return times.point_length_mm(float(g["drill_mm"]), math.radians(float(g["point_deg"])))
    if "depth_mm" in g:
        return times.drilling_time_min(
            float(g["depth_mm"]), float(g["drill_mm"]), float(g["feed_mm_rev"]), float(g["rpm"]),
            math.radians(float(g["point_deg"])),
        )  # fmt: skip
    return times.cutting_time_min(float(g["length_mm"]), float(g["feed_mm_rev"]), float(g["rpm"]), int(g["passes"]))


def tapping_torque(row, g):
    return tapping.tapping_torque_nm(float(g["pitch_mm"]), float(g["major_mm"]), float(g["kc_N_mm2"]))


def hole_circle(row, g):
    found = circles.hole_circle(int(g["holes"]), float(g["pcd_mm"]), start_rad=math.radians(float(g["start_deg"])))
    hole = found[int(g["index_from_0"])]
    return hole.x_mm if row["quantity"] == "x" else hole.y_mm


def chord(row, g):
    return circles.chord_mm(int(g["holes"]), float(g["pcd"]))


def printed_speed(row, g):
    (one,) = [
        p
        for p in speeds.published_speeds(tool=g.get("tool", ""))
        if p.name == g["material"] and p.operation == g.get("operation", "ordinary practice")
    ]
    return one.low_ft_min if g["bound"] == "lower" else one.high_ft_min


def reaming(row, g):
    if row["quantity"].startswith("speed"):
        return drilling.reaming_speed(20) / 20
    return drilling.HAND_REAMING_MOST_MM / 25.4


HP = 745.69987158227022
LBF = 4.4482216152605
UNIT_POWER = HP * 60 / 25.4**3
"""W s/mm3 in one hp min/in3."""


def turning_power(row, g):
    d1, d2 = float(g["d1_in"]) * 25.4, float(g["d2_in"]) * 25.4
    rev = float(g["rev_min"])
    feed = float(g["feed_rate_in_min"]) * 25.4 / rev
    removal = force.turning_removal_mm3_min(d1, d2, feed, rev)
    power = force.power_by_unit_power_w(removal, float(g["unit_power_hp_min_in3"]) * UNIT_POWER)
    match row["quantity"]:
        case "surface speed at the outside":
            return math.pi * float(g["d1_in"]) * rev
        case "metal removal rate":
            return removal / 25.4**3
        case "cutting time":
            return times.cutting_time_min(float(g["length_in"]) * 25.4, feed, rev)
        case "power":
            return power / HP
        case "cutting force":
            mean_radius_mm = (d1 + d2) / 4
            return force.torque_nm(power, rev) * 1000 / mean_radius_mm / LBF


def milling_power(row, g):
    inch = "width_in" in g
    unit = 25.4 if inch else 1.0
    rev = float(g.get("rev_min", 0) or 0)
    match row["quantity"]:
        case "feed per tooth":
            return speeds.feed_per_tooth_mm(float(g["table_feed_mm_min"]), int(g["inserts"]), rev)
        case "cutting time":
            over = float(g["cutter_mm"])  # half of the cutter at each end
            return times.milling_time_min(float(g["length_mm"]), float(g["table_feed_mm_min"]), over)
        case "cutting time with approach":
            extra = times.approach_mm(float(g["cutter_mm"]), float(g["depth_mm"]))
            return 60 * times.milling_time_min(float(g["length_mm"]), float(g["table_feed_mm_min"]), extra)
    width = float(g["width_in" if inch else "width_mm"]) * unit
    depth = float(g["depth_in" if inch else "depth_mm"]) * unit
    if "table_feed_mm_min" in g:
        feed = float(g["table_feed_mm_min"])
    else:
        per_tooth = float(g["feed_tooth_in" if inch else "feed_tooth_mm"]) * unit
        feed = speeds.table_feed_mm_min(per_tooth, int(g["teeth"]), rev)
    removal = force.milling_removal_mm3_min(width, depth, feed)
    unit_power = float(g["unit_power_hp_min_in3"]) * UNIT_POWER if inch else float(g["unit_power_Ws_mm3"])
    power = force.power_by_unit_power_w(removal, unit_power)
    match row["quantity"], row["unit"]:
        case "metal removal rate", "in3/min":
            return removal / 25.4**3
        case "metal removal rate", "mm3/s":
            return removal / 60
        case "metal removal rate", _:
            return removal
        case "torque", _:
            return force.torque_nm(power, rev) * 1000 / LBF / 304.8
        case _, unit_of_power:
            return power / {"hp": HP, "kW": 1000.0, "W": 1.0}[unit_of_power]


def orthogonal(row, g):
    rake = math.radians(float(g["rake_deg"]))
    plane = force.shear_plane_rad(float(g["uncut_mm"]), float(g["chip_mm"]), rake)
    return math.degrees(plane) if row["unit"] == "deg" else force.shear_strain(plane, rake)


def tool_life(row, g):
    if "n" in g:
        return speeds.tool_life_min(float(g["T1_min"]), float(g["V1_m_min"]), float(g["V2_m_min"]), float(g["n"]))
    known = (float(g["T1_min"]), float(g["V1_m_min"]))
    n = speeds.life_exponent(*known, float(g["T2_min"]), float(g["V2_m_min"]))
    match row["quantity"]:
        case "Taylor exponent":
            return n
        case "Taylor constant":
            return speeds.speed_for_life(*known, 1, n)
        case _:
            return speeds.speed_for_life(*known, 60, n)


def series(row, g):
    slow, fast = (1000 * float(g["speed_m_min"]) / (math.pi * float(g[d])) for d in ("d_max_mm", "d_min_mm"))
    found = speeds.speed_series(slow, fast, int(g["speeds"]))
    return found[int(g["step"]) - 1]


CHECKS = {
    "plain 40:1": plain_indexing,
    "angular 40:1": angular,
    "compound indexing": compound,
    "differential indexing": differential,
    "metric on inch lathe": metric_on_inch,
    "translation": translation,
    "translation error": translation,
    "80/63 chart": pitch,
    "compound train": pitch,
    "cutting time": cutting_time,
    "tapping torque": tapping_torque,
    "bolt circle": hole_circle,
    "bolt circle chord": chord,
    "screw cutting train": pitch,
    "simple change gears": simple_gears,
    "compound change gears": pitch,
    "fractional pitch": simple_gears,
    "metric change gears": simple_gears,
    "cutting speed turning": printed_speed,
    "reaming speed": reaming,
    "reaming allowance": reaming,
    "turning power": turning_power,
    "milling power": milling_power,
    "orthogonal cutting": orthogonal,
    "tool life": tool_life,
    "spindle speed series": series,
}


def value(row):
    g = given(row)
    check = CHECKS[row["category"]]
    if check is translation and "train" in g:
        return pitch(row, g)
    return float(check(row, g))


def held(row):
    found = value(row)
    assert abs(found - float(row["value"])) <= float(row["tolerance"]) + 1e-9, f"{row['source']}; here {found}"


CHECKED = [row for row in ROWS if row["category"] not in ELSEWHERE]


@pytest.mark.parametrize("row", [r for r in CHECKED if r["confirmed"] != RECALLED], ids=lambda r: r["id"])
def test_printed(row):
    held(row)


@pytest.mark.parametrize("row", [r for r in CHECKED if r["confirmed"] == RECALLED], ids=lambda r: r["id"])
def test_recalled(row):
    held(row)


def test_rows_of_other_categories_are_checked_with_their_own_file():
    kept = {(row["inputs"], row["quantity"]): row["value"] for name in ELSEWHERE.values() for row in rows(name)}
    for row in ROWS:
        if row["category"] in ELSEWHERE:
            assert kept[row["inputs"], row["quantity"]] == row["value"], row["id"]


@pytest.mark.parametrize("row", [r for r in ROWS if r["category"] == "across corners"], ids=lambda r: r["id"])
def test_corners_and_flats_of_the_bench_agree_too(row):
    g = given(row)
    count = {"hexagon": 6, "square": 4}[g["shape"]]
    if "across_flats" in g:
        found = flats.across_corners_mm(count, float(g["across_flats"]))
    else:
        found = flats.across_flats_mm(count, float(g["bar_diameter"]))
    assert found == pytest.approx(float(row["value"]), abs=float(row["tolerance"]) + 1e-9)


@pytest.mark.parametrize(
    "row",
    [r for r in ROWS if r["category"] == "drilled hole oversize" and "mean" in r["inputs"]],
    ids=lambda r: r["id"],
)
def test_mean_oversize_of_a_drill(row):
    found = drilling.oversize_mm(float(given(row)["drill_in"]) * 25.4) / 25.4
    assert found == pytest.approx(float(row["value"]), abs=1e-9)
