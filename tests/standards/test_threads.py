"""Threads: tables against their generating formulas, laws of drilling and measuring, refusals."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.measure.gauges import drill_size, drills
from asmade.measure.tables import read_table
from asmade.standards.tables import load
from asmade.standards.threads import (
    CLEARANCES,
    all_threads,
    clearance_drill,
    compare,
    effective_from_wires,
    engagement,
    find,
    form,
    hole_for,
    nearest_substitutes,
    over_wires,
    same_threads,
    series_names,
    tapping_drill,
    thread,
    usual_tapping_drill,
    wire_limits,
)

EVERY = [t for series in series_names() for t in all_threads(series)]
threads = st.sampled_from(EVERY)


@pytest.mark.parametrize(
    ("name", "ratio", "expected"),
    [
        ("Whitworth", "triangle", 0.960491),  # BS 84
        ("Whitworth", "depth", 0.640327),
        ("Whitworth", "root_radius", 0.137329),
        ("BA", "triangle", 1.136336),  # BS 93
        ("BA", "depth", 0.6),
        ("BA", "root_radius", 0.180835),
        ("ISO", "depth", 0.613434),  # ISO 68-1
        ("ISO", "effective_below_major", 0.649519),
        ("ISO", "nut_minor_below_major", 1.082532),
        ("ISO", "core_below_major", 1.226869),
        ("ISO", "root_radius", 0.144338),
    ],
)
def test_printed_constants_of_the_forms_follow_from_their_geometry(name, ratio, expected):
    assert getattr(form(name), ratio) == pytest.approx(expected, abs=1.1e-6)


@pytest.mark.parametrize("row", load("threads_ba").rows, ids=lambda row: f"{row['number']} BA")
def test_ba_pitch_is_nine_tenths_to_the_number_and_major_six_times_its_power(row):
    """The generating rule of the series: p = 0.9^n, major = 6 p^1.2, each to two figures (BS 93, foreword)."""
    exact_pitch = 0.9 ** row["number"]
    assert row["pitch"] == pytest.approx(float(f"{exact_pitch:.2g}"), abs=1e-9)
    assert row["major"] == pytest.approx(float(f"{6 * exact_pitch**1.2:.2g}"), abs=1e-9)


@pytest.mark.parametrize(
    "row", [r for r in load("threads_ba").rows if r["depth"] is not None], ids=lambda r: f"{r['number']} BA"
)
def test_ba_depth_is_six_tenths_of_the_pitch_to_the_nearest_five_microns(row):
    """BS 93: depth 0.6 p, printed to 0.005 mm; effective = major - depth, core = major - 2 depth."""
    assert row["depth"] == pytest.approx(0.6 * row["pitch"], abs=0.0025 + 1e-9)
    assert row["effective"] == pytest.approx(row["major"] - row["depth"], abs=1e-9)
    assert row["core"] == pytest.approx(row["major"] - 2 * row["depth"], abs=1e-9)


@pytest.mark.parametrize("t", [t for t in all_threads("M") if t.major_mm <= 24], ids=lambda t: t.designation)
def test_metric_diameters_follow_iso_724(t):
    """ISO 724: d2 = d - 0.649519 P, D1 = d - 1.082532 P; d3 = d - 1.226869 P. M18 is 15.294, not 15.394."""
    d, p = t.major_mm, t.pitch_mm
    assert t.effective_mm == pytest.approx(d - 0.649519 * p, abs=3e-6)
    assert t.nut_minor_mm == pytest.approx(d - 1.082532 * p, abs=3e-6)
    assert t.core_mm == pytest.approx(d - 1.226869 * p, abs=3e-6)


@pytest.mark.parametrize("t", [t for t in EVERY if t.form.name == "Whitworth"], ids=lambda t: t.designation)
def test_whitworth_diameters_follow_bs_84(t):
    """BS 84: effective = major - 0.640327 p, minor = major - 1.280654 p."""
    d, p = t.major_mm, t.pitch_mm
    assert t.effective_mm == pytest.approx(d - 0.640327 * p, abs=6e-6)
    assert t.core_mm == pytest.approx(d - 1.280654 * p, abs=1.2e-5)


@given(threads)
def test_diameters_stand_in_order(t):
    assert t.core_mm <= t.nut_minor_mm + 1e-12 < t.effective_mm < t.major_mm
    assert t.major_mm - t.effective_mm < t.pitch_mm
    assert t.root_area_mm2 < t.stress_area_mm2 < math.pi / 4 * t.major_mm**2
    assert t.source
    assert t.listed


@given(threads.filter(lambda t: not t.series.startswith("UN") or t.tpi == round(t.tpi)))
def test_a_designation_leads_back_to_its_thread(t):
    assert thread(t.designation) == t


@pytest.mark.parametrize(
    ("callout", "area", "tolerance"),
    [
        ("M3", 5.03, 0.01),  # ISO 898-1, nominal stress areas
        ("M4", 8.78, 0.01),
        ("M5", 14.2, 0.05),
        ("M6", 20.1, 0.05),
        ("M8", 36.6, 0.05),
        ("M10", 58.0, 0.05),
        ("M12", 84.3, 0.05),
        ("M8 x 1", 39.2, 0.05),
        ("1/4 UNC", 0.0318 * 645.16, 0.04),  # ASME B1.1
        ("1/2 UNF", 0.1599 * 645.16, 0.05),
        ("#10 UNF", 0.0200 * 645.16, 0.04),
    ],
)
def test_stress_areas_as_printed(callout, area, tolerance):
    assert thread(callout).stress_area_mm2 == pytest.approx(area, abs=tolerance)


@pytest.mark.parametrize(
    ("callout", "effective", "minor"),
    [
        ("1/8 BSP", 9.147, 8.566),
        ("1/4 BSP", 12.301, 11.445),
        ("3/8 BSP", 15.806, 14.950),
        ("1/2 BSP", 19.793, 18.631),
        ("1 BSP", 31.770, 30.291),
    ],
)
def test_pipe_threads_as_printed(callout, effective, minor):
    """ISO 228-1, recalled."""
    found = thread(callout)
    assert (found.effective_mm, found.core_mm) == pytest.approx((effective, minor), abs=0.001)


# ---- drills


@given(threads, st.floats(40, 100), st.floats(40, 100))
def test_the_hole_grows_as_the_percentage_falls(t, a, b):
    low, high = sorted((a, b))
    assert hole_for(t, low) >= hole_for(t, high)
    try:
        assert tapping_drill(t, low).drill.mm >= tapping_drill(t, high).drill.mm
    except OutOfRange:  # the metric drills end at 25 mm and are sparse for the smallest threads
        assert t.major_mm > 20 or t.major_mm < 0.4


@given(threads, st.floats(45, 99))
def test_engagement_turns_the_hole_round(t, percent):
    assert engagement(t, hole_for(t, percent)) == pytest.approx(percent, abs=1e-6)


@given(threads)
def test_printed_tapping_drills_leave_a_sensible_thread(t):
    if t.printed_drill_mm is not None:
        assert 50 < usual_tapping_drill(t).percent < 100


@pytest.mark.parametrize(
    "t", [t for t in all_threads("M") if t.printed_drill_mm is not None], ids=lambda t: t.designation
)
def test_metric_tapping_drills_are_major_less_pitch(t):
    """ISO 2306: D - P to the nearest drill of the series. Half-way sizes fall to either side as printed."""
    assert t.printed_drill_mm == pytest.approx(float(t.major - t.pitch), abs=0.0501)


def test_the_drills_of_the_shop_are_used_when_given():
    shop = [*drills("number"), drill_size("letter F")]
    chosen = tapping_drill(thread("7/32 x 40"), 75, drills=shop)
    assert chosen.drill.name == "No. 10"  # 0.1935 in = 4.915 mm beside 4.947 wanted; No. 9 (0.196) is 4.978
    assert 75 < chosen.percent < 82


def test_a_shop_without_a_fitting_drill_is_told_what_to_buy():
    with pytest.raises(OutOfRange, match=r"buy 4\.95 mm"):
        tapping_drill(thread("7/32 x 40"), 75, drills=[drill_size("No. 60")])


@pytest.mark.parametrize("drill", [5.6, 4.7, 0, -1, math.nan, math.inf])
def test_a_drill_bigger_than_the_thread_or_smaller_than_its_core_is_refused(drill):
    with pytest.raises(OutOfRange, match=r"4\.743 mm \(full depth\) to under 5\.556 mm"):
        engagement(thread("7/32 x 40"), drill)


@pytest.mark.parametrize("percent", [0, 39.9, 100.1, math.nan, -75])
def test_a_percentage_out_of_range_is_refused(percent):
    with pytest.raises(OutOfRange, match="40 to 100 %"):
        hole_for(thread("M6"), percent)


@pytest.mark.parametrize(
    ("callout", "close", "medium", "free"),
    [("M3", 3.2, 3.4, 3.6), ("M6", 6.4, 6.6, 7), ("M10 x 1", 10.5, 11, 12), ("M20", 21, 22, 24)],
)
def test_clearance_holes_of_iso_273(callout, close, medium, free):
    """ISO 273:1979, recalled."""
    assert [clearance_drill(thread(callout), fit).mm for fit in CLEARANCES] == [close, medium, free]


@given(threads.filter(lambda t: t.major_mm < 23))
def test_clearance_drills_pass_the_screw_and_grow_from_close_to_free(t):
    rooms = [clearance_drill(t, fit).room_mm for fit in CLEARANCES]
    assert 0 < rooms[0] <= rooms[1] < rooms[2]  # drills over 14 mm go by quarters


def test_an_unknown_clearance_is_refused():
    with pytest.raises(Unknown, match="close, medium or free"):
        clearance_drill(thread("M6"), "loose")


# ---- wires


@pytest.mark.parametrize(
    ("callout", "per_wire", "per_pitch", "best", "least", "greatest"),
    [
        # NBS Handbook H28: M = E + 3 w - 0.86603 p; best, least and greatest wire per pitch
        ("M6", 3.0, 0.866025, 0.577350, 0.505182, 1.010363),
        ("1/4 UNC", 3.0, 0.866025, 0.577350, 0.505182, 1.010363),
        # 55 degrees: M = E + 3.1657 w - 0.9605 p, recalled
        ("1/4 BSW", 3.1657, 0.960491, 0.563691, 0.505679, 0.852727),
        # 47 1/2 degrees: M = E + 3.4829 w - 1.1363 p, recalled
        ("2 BA", 3.4829, 1.136336, 0.546265, None, None),
    ],
)
def test_wires_as_printed(callout, per_wire, per_pitch, best, least, greatest):
    t = thread(callout)
    p = t.pitch_mm
    found = over_wires(t)
    assert found.best_wire_mm / p == pytest.approx(best, abs=2e-5)
    assert found.over_mm == pytest.approx(t.effective_mm + per_wire * found.wire_mm - per_pitch * p, abs=5e-5)
    if least:
        assert [w / p for w in wire_limits(t)] == pytest.approx([least, greatest], abs=5e-6)


def test_the_lead_correction_is_the_one_of_the_handbook():
    """H28: w/2 tan^2 s cos a cot a. By hand for M6: tan s = 1/(pi 5.35048) = 0.0594914; 0.28868 * 0.00353922 * 1.5 = 0.0015325."""
    assert over_wires(thread("M6")).lead_correction_mm == pytest.approx(0.0015325, abs=2e-7)


@given(threads, st.floats(0.05, 0.95), st.booleans())
def test_over_wire_measurement_turns_round(t, share, lead):
    least, greatest = wire_limits(t)
    wire = least + share * (greatest - least)
    found = over_wires(t, wire)
    reading = found.over_with_lead_mm if lead else found.over_mm
    assert effective_from_wires(t, reading, wire, lead=lead) == pytest.approx(t.effective_mm, abs=1e-9)
    assert reading > t.major_mm or share < 0.06


def test_a_wire_that_rides_on_the_crests_is_refused():
    with pytest.raises(OutOfRange, match=r"0\.505 to 1\.010 mm"):
        over_wires(thread("M6"), 1.2)
    with pytest.raises(OutOfRange, match="reading over wires"):
        effective_from_wires(thread("M6"), 5.0, 0.6)


# ---- substitutes


@given(threads, st.sampled_from([None, *series_names()]))
def test_substitutes_never_contain_the_thread_itself(t, series):
    found = nearest_substitutes(t, series, most=8)
    assert not any(t.is_the_same_as(s.thread) for s in found)
    assert [s.unlikeness for s in found] == sorted(s.unlikeness for s in found)
    assert all(s.thread.series == series for s in found if series)


@given(threads, threads)
def test_comparing_the_other_way_round_turns_the_ratios_over(a, b):
    there, back = compare(a, b), compare(b, a)
    assert there.strength_ratio * back.strength_ratio == pytest.approx(1)
    assert there.major_ratio * back.major_ratio == pytest.approx(1)
    assert there.fits_the_old_hole or back.fits_the_old_hole


def test_the_nearest_metric_thread_in_the_shop_for_an_inch_model_thread():
    """7/32 x 40 is 5.556 x 0.635 mm. By hand: M6 x 0.75 is 8 % larger and 18 % coarser, M5 10 % smaller and 26 % coarser."""
    have = [thread(c) for c in ("M4", "M5", "M6", "M6 x 0.75", "2 BA")]
    best = nearest_substitutes(thread("7/32 x 40"), "M", have=have)
    assert best[0].thread.designation == "M6 x 0.75"
    assert best[0].major_ratio == pytest.approx(6 / 5.55625)
    assert best[0].pitch_ratio == pytest.approx(0.75 / 0.635)
    assert not best[0].fits_the_old_hole
    assert {s.thread.series for s in best} == {"M"}


def test_one_thread_under_several_names_is_known():
    assert {t.designation for t in same_threads(thread("1/4 BSF"))} == {"1/4 x 26", "1/4 BSB"}


def test_no_substitutes_are_not_asked_for():
    with pytest.raises(Refused):
        nearest_substitutes(thread("M6"), most=0)


# ---- refusals and threads outside the lists


def test_a_thread_outside_its_list_says_so():
    odd = thread("13/64 x 40")
    assert not odd.listed
    assert "Whitworth form" in odd.note
    assert odd.major == Fraction(13, 64) * Fraction(254, 10)
    assert not thread("M6 x 0.5").listed
    assert "1/4 BSW itself has 20 per inch" in thread("1/4 x 40 BSW").note


@pytest.mark.parametrize(
    ("callout", "says"),
    [
        ("1/4 x 20 BSF", r"1/4 BSF \(26 per inch\)"),
        ("3/32 BSF", "3/16 BSF"),
        ("1/4-28 UNC", "1/4-20 UNC"),
        ("3/64 BSP", "1/16 BSP"),
        ("M50 x 0.9", "M50 x 3, M50 x 2, M50 x 1.5"),
    ],
)
def test_a_thread_that_is_not_there_is_refused_with_what_there_is(callout, says):
    with pytest.raises(Unknown, match=says):
        thread(callout)


def test_a_pitch_too_coarse_for_its_diameter_is_refused():
    with pytest.raises(OutOfRange, match="too coarse"):
        thread("1/32 x 40")
    with pytest.raises(OutOfRange, match="too coarse"):
        find("M", Fraction(4), Fraction(3))


def test_an_unknown_series_is_refused_with_near_names():
    with pytest.raises(Unknown, match="did you mean"):
        find("BSX", "1/4")


def test_pitches_that_a_callout_is_guessed_from_are_those_of_the_series():
    """The small table of the callouts holds every BSW, BSF and Unified thread up to 1 in, and nothing else."""
    guessed = {
        (name, size, pitch)
        for size, *pitches in read_table("inch_pitches").rows
        for name, pitch in zip(("BSW", "BSF", "UNC", "UNF", "UNEF"), pitches, strict=True)
        if pitch
    }
    held = {
        (name, each.designation.split("-" if name.startswith("UN") else " BS")[0], round(each.tpi))
        for name in ("BSW", "BSF", "UNC", "UNF", "UNEF")
        for each in all_threads(name)
        if each.major_mm < 25.41
    }
    assert guessed == held
