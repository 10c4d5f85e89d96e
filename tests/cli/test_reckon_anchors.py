"""Published rows at the command line: what a checker would type, and the keys it would read. Sources stand in the rows.

Rows marked "from memory, not confirmed" are left to the groups of their own in ``tests/anchors``.
"""

from __future__ import annotations

import csv
import json
from fractions import Fraction
from pathlib import Path

import pytest

from asmade.cli.app import run

ANCHORS = Path(__file__).parents[1] / "anchors"
RECALLED = "from memory, not confirmed"
MODULI = ("shaft", "hub")


def rows(name, *categories):
    with (ANCHORS / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        every = [row for row in csv.DictReader(file) if row["confirmed"] != RECALLED]
    kept = [row for row in every if not categories or row["category"] in categories]
    assert kept
    return [pytest.param(row, id=row["id"]) for row in kept]


def inputs(row):
    return dict(pair.split("=", 1) for pair in row["inputs"].split(";"))


@pytest.fixture
def reckon(capsys):
    def call(*words):
        assert run(["reckon", *words, "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    return call


def agrees(row, found):
    return abs(found - float(row["value"])) <= float(row["tolerance"]) + 1e-7


@pytest.mark.parametrize("row", rows("iso286_fits"))
def test_clearance_of_a_fit(reckon, row):
    found = reckon("fit", row["item"])
    assert agrees(row, found["clearance_max_um" if row["quantity"].startswith("max") else "clearance_min_um"])


@pytest.mark.parametrize("row", rows("iso286_limits"))
def test_limits_of_a_hole_or_shaft(reckon, row):
    given = inputs(row)
    kind = "hole" if given["class"][0].isupper() else "shaft"
    found = reckon(kind, given["nominal_mm"], given["class"])
    assert agrees(row, found["upper_um" if row["quantity"].startswith("upper") else "lower_um"])


THREAD_KEYS = {
    "pitch": "pitch_mm",
    "major diameter": "major_mm",
    "basic major diameter": "major_mm",
    "effective diameter": "effective_mm",
    "effective (pitch) diameter": "effective_mm",
    "pitch diameter d2=D2": "effective_mm",
    "basic pitch diameter": "effective_mm",
    "minor diameter": "core_mm",
    "minor diameter of external thread d3": "core_mm",
    "minor diameter of internal thread D1": "nut_minor_mm",
    "basic minor diameter of internal thread": "nut_minor_mm",
    "depth of thread": "depth_mm",
    "depth of external thread h3": "depth_mm",
    "root and crest radius": "root_radius_mm",
}


def callout(given):
    """The thread of a row as a drawing would call it out."""
    if "thread" in given:
        return given["thread"]
    if "major_mm" in given:
        return f"M{given['major_mm']} x {given['pitch_mm']}"
    if "size_in" in given:
        series = given["series"]
        return f"{given['size_in']} x {given['tpi']}" if series == "ME" else f"{given['size_in']} {series}"
    if "diameter_in" in given:
        size = Fraction(given["diameter_in"]).limit_denominator(64)
        return f"{size} x {given['tpi']}" if given["series"] == "ME" else f"{size} BSB"
    if given["size"].startswith("M"):
        return given["size"].removesuffix(" coarse")
    return f"{given['size']} {given['series']}"


THREADS = [
    row
    for name in ("threads_ba", "threads_metric", "threads_whitworth", "threads_unified")
    for row in rows(name)
    if "thread_form" not in row.values[0]["inputs"] and "percentage of thread" not in row.values[0]["category"]
]


@pytest.mark.parametrize("row", [p for p in THREADS if p.values[0]["quantity"] in THREAD_KEYS])
def test_sizes_of_a_thread(reckon, row):
    found = reckon("thread", callout(inputs(row)))[THREAD_KEYS[row["quantity"]]]
    assert agrees(row, found / 25.4 if row["unit"] == "in" else found)


@pytest.mark.parametrize("row", [p for p in THREADS if p.values[0]["quantity"].startswith("threads per inch")])
def test_threads_per_inch(reckon, row):
    assert agrees(row, reckon("thread", callout(inputs(row)))["tpi"])


@pytest.mark.parametrize(
    "row",
    [
        *(p for p in THREADS if p.values[0]["quantity"].startswith("thread engagement")),
    ],
)
def test_what_a_drill_leaves_of_a_thread(reckon, row):
    given = inputs(row)
    assert agrees(row, reckon("tap", callout(given), "--drill", given["drill_mm"])["percent"])


TAPPED = [p for p in THREADS if p.values[0]["quantity"] == "tapping drill"]
TAPPED += rows("published_stock_threads", "ME tapping drill", "brass thread tapping drill", "BA tapping drill")


@pytest.mark.parametrize("row", TAPPED)
def test_tapping_drill(reckon, row):
    assert agrees(row, reckon("tap", callout(inputs(row)))["drill_mm"])


@pytest.mark.parametrize("row", rows("published_stock_threads", "ME clearance drill"))
def test_clearance_drill(reckon, row):
    assert agrees(row, reckon("tap", callout(inputs(row)))["clearance"]["medium_mm"])


@pytest.mark.parametrize("row", rows("shop_tapping"))
def test_hole_for_a_share_of_thread(reckon, row):
    given = inputs(row)
    if "tpi" in given:
        size = Fraction(given["major_in"]).limit_denominator(64)
        thread = f"{size}-{given['tpi']} {'UNC' if given['tpi'] in ('20', '18') else 'UNF'}"
    else:
        thread = f"M{given['major_mm']} x {given['pitch_mm']}"
    hole = reckon("tap", thread, "--percent", given["percent"])["hole_mm"]
    assert agrees(row, hole / 25.4 if row["unit"] == "in" else hole)


@pytest.mark.parametrize("row", rows("drills_number_letter") + rows("published_stock_threads", "number drill"))
def test_drill_by_its_name(reckon, row):
    name = inputs(row)["drill"]
    found = reckon("drill", name if name.startswith("#") else f"letter {name}")
    assert agrees(row, found["inch"])
    assert found["mm"] == pytest.approx(25.4 * found["inch"], rel=1e-9)


@pytest.mark.parametrize("row", rows("gauges_swg_bwg"))
def test_gauge_by_its_number(reckon, row):
    given = inputs(row)
    found = reckon("gauge", f"{given['number']} {given['gauge']}")
    assert agrees(row, found["inch" if row["unit"] == "in" else "mm"])


@pytest.mark.parametrize("row", rows("published_stock_threads", *(f"bright bar tolerance h{n}" for n in (6, 7, 8))))
def test_bright_bar_is_a_shaft_of_its_class(reckon, row):
    given = inputs(row)
    assert agrees(row, reckon("shaft", given["nominal_mm"], given["class"])["lower_um"])


PRESS_KEYS = {
    "contact pressure": ("pressure_mpa", 1),
    "hoop stress at hub bore": ("hoop_hub_mpa", 1),
    "hoop stress at shaft bore (solid: -p)": ("hoop_shaft_mpa", 1),
    "von Mises at hub bore": ("von_mises_hub_mpa", 1),
    "slip torque": ("torque_nm", 1),
    "axial slip force": ("force_n", 1000),
}


@pytest.mark.parametrize("row", rows("interference_fits", "Lame solid", "Lame hollow"))
def test_press_joint(reckon, row):
    given = inputs(row)
    words = [
        *("press", "--shaft", given["d_mm"], "--hub", given["hub_od_mm"], "--length", given.get("length_mm", "10")),
        *("--tight", given["diametral_interference_mm"], "--friction", given.get("mu", "0.1")),
    ]
    for part in MODULI:
        words += [f"--{part}-modulus", f"{given[f'E_{part}_MPa']} MPa", f"--{part}-poisson", given[f"nu_{part}"]]
    if float(given["shaft_bore_mm"]):
        words += ["--shaft-bore", given["shaft_bore_mm"]]
    key, by = PRESS_KEYS[row["quantity"]]
    assert agrees(row, reckon(*words)[key] / by)


@pytest.mark.parametrize("row", rows("bonded_joints", "retaining joint strength"))
def test_bonded_joint(reckon, row):
    given = inputs(row)
    found = reckon(
        *("bond", "--hole", str(float(given["d_mm"]) + 0.05), "--shaft", given["d_mm"], "--length", given["length_mm"]),
        *("--strength", f"{given['shear_strength_MPa']} MPa", "--factor", given["reduction_factor"]),
    )
    assert agrees(row, found["torque_nm"] if row["unit"] == "N m" else found["force_n"] / 1000)


def test_smoothing_takes_from_the_grip_alone(reckon):
    """U 20 um, Rz 4 and 6.3: 11.76 um left (row of interference_fits.csv, recalled); stress is that of the whole."""
    words = ("press", "--shaft", "20", "--hub", "40", "--length", "20", "--tight", "0.020")
    whole, smoothed = reckon(*words), reckon(*words, "--shaft-rz", "4", "--hub-rz", "6.3")
    assert smoothed["gripping_mm"] == pytest.approx(0.01176)
    assert smoothed["hoop_hub_mpa"] == pytest.approx(whole["hoop_hub_mpa"])
    assert smoothed["torque_nm"] == pytest.approx(whole["torque_nm"] * 0.588)
