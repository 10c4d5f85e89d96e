"""Statistics of measurement against published examples (tests/anchors/published_statistics.csv) and scipy.stats."""

from __future__ import annotations

import csv
import math
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from asmade.measure.errors import OutOfRange
from asmade.measure.spread import (
    combined_uncertainty,
    coverage,
    effective_freedom,
    expanded_uncertainty,
    gauge_study,
    guard_band,
    mean_interval,
    normal_factor,
    repeats,
    sample_size,
    student_factor,
)

ANCHORS = Path(__file__).parents[1] / "anchors" / "published_statistics.csv"


def published(category):
    with ANCHORS.open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["category"] == category]
    return [pytest.param(row, id=row["id"]) for row in rows]


def inputs(row):
    return dict(pair.split("=", 1) for pair in row["inputs"].split(";"))


def numbers(text):
    return [float(each) for each in text.split("|")]


def agrees(value, row):
    assert value == pytest.approx(float(row["value"]), abs=float(row["tolerance"]) + 1e-12)


@pytest.mark.parametrize("row", published("gauge R&R"))
def test_gauge_study(row):
    """AIAG, Measurement Systems Analysis, 4th ed., average and range worked example."""
    readings = {}
    for line in inputs(row)["data"].split("|"):
        trial, values = line.split(":")
        readings.setdefault(trial[0], []).append([float(value) for value in values.split()])
    study = gauge_study(list(readings.values()))
    value = {
        "mean range": study.mean_range,
        "repeatability EV": study.repeatability,
        "reproducibility AV": study.reproducibility,
        "combined GRR": study.gauge,
        "part variation PV": study.parts,
        "total variation TV": study.total,
        "GRR as per cent of total variation": study.gauge_percent,
        "distinct categories (whole number)": study.categories,
    }[row["quantity"]]
    agrees(value, row)


@pytest.mark.parametrize("row", published("measurement uncertainty"))
def test_uncertainty(row):
    """JCGM 100 (GUM), G.4."""
    us, nus = numbers(inputs(row)["u_percent"]), numbers(inputs(row)["nu"])
    combined, freedom = combined_uncertainty(us), effective_freedom(us, nus)
    value = {
        "combined relative uncertainty": combined,
        "effective degrees of freedom": freedom,
        "expanded uncertainty 95 % (k 2.09)": expanded_uncertainty(combined, freedom=freedom),
    }[row["quantity"]]
    agrees(value, row)


@pytest.mark.parametrize("row", published("sample size"))
def test_sample_size(row):
    """Johnson, Miller and Freund's Probability and Statistics for Engineers, ch. 7."""
    given_in = {name: float(value) for name, value in inputs(row).items()}
    agrees(sample_size(given_in["sd"], given_in["error"], confidence=given_in["confidence"]), row)


@pytest.mark.parametrize("row", published("z interval"))
def test_z_interval(row):
    """Johnson, Miller and Freund's Probability and Statistics for Engineers, ch. 7."""
    given_in = {name: float(value) for name, value in inputs(row).items()}
    found = mean_interval(
        given_in["mean"], given_in["sd"], int(given_in["n"]), confidence=given_in["confidence"], sd_known=True
    )
    agrees(found.low if row["quantity"] == "lower limit" else found.high, row)


def test_every_published_row_is_held_here_or_with_the_posterior():
    with ANCHORS.open(encoding="utf-8") as file:
        categories = {row["category"] for row in csv.DictReader(file)}
    assert categories == {
        "gauge R&R", "measurement uncertainty", "sample size", "z interval", "normal-inverse-gamma update",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("freedom", "factor"),
    [(1, 12.71), (2, 4.30), (5, 2.57), (10, 2.23), (19, 2.09), (50, 2.01), (100, 1.984), (math.inf, 1.960)],
)
def test_student_factor_at_95_per_cent(freedom, factor):
    """JCGM 100:2008 (GUM), table G.2, column 95 %."""
    assert student_factor(0.95, freedom) == pytest.approx(factor, abs=0.005)


def test_the_gum_takes_19_degrees_where_the_formula_gives_18_999():
    """JCGM 100:2008 (GUM), G.4: k = 2.09."""
    freedom = effective_freedom([0.25, 0.57, 0.82], [9, 4, 14])
    assert freedom == pytest.approx(18.999, abs=0.001)
    assert expanded_uncertainty(1, freedom=freedom) == pytest.approx(2.09, abs=0.005)


@given(st.floats(0.01, 0.999), st.floats(0.6, 500))
def test_student_against_scipy_stats(confidence, freedom):
    factor = student_factor(confidence, freedom)
    assert factor == pytest.approx(stats.t.ppf((1 + confidence) / 2, freedom), rel=1e-7)
    assert coverage(factor, freedom) == pytest.approx(confidence, abs=1e-9)


@given(st.floats(0.001, 0.9999))
def test_normal_against_scipy_stats(confidence):
    assert normal_factor(confidence) == pytest.approx(stats.norm.ppf((1 + confidence) / 2), rel=1e-9)
    assert coverage(normal_factor(confidence)) == pytest.approx(confidence, abs=1e-12)


def test_repeats():
    """1 to 5: mean 3, s^2 = 10/4, u^2 = 2.5/5 (by hand)."""
    found = repeats([1, 2, 3, 4, 5])
    assert (found.count, found.mean, found.freedom) == (5, 3.0, 4)
    assert found.sd == pytest.approx(math.sqrt(2.5))
    assert found.uncertainty == pytest.approx(math.sqrt(0.5))


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=12), st.floats(-30, 30))
def test_repeats_spread_does_not_depend_on_zero(readings, shift):
    here, there = repeats(readings), repeats([each + shift for each in readings])
    assert there.sd == pytest.approx(here.sd, abs=1e-9)
    assert there.mean == pytest.approx(here.mean + shift, abs=1e-9)


@given(st.lists(st.tuples(st.floats(0.001, 10), st.floats(1, 100)), min_size=1, max_size=6), st.floats(1e-6, 1e6))
def test_effective_freedom_lies_between_the_least_and_the_sum(inputs_, scale):
    us, nus = zip(*inputs_, strict=True)
    freedom = effective_freedom(us, nus)
    assert min(nus) * (1 - 1e-12) <= freedom <= sum(nus) * (1 + 1e-12)
    assert effective_freedom([u * scale for u in us], nus) == pytest.approx(freedom, rel=1e-9)


def test_sensitivities_and_what_is_held_to_be_known():
    assert combined_uncertainty([3, 4]) == pytest.approx(5)
    assert combined_uncertainty([3, 2], [1, -2]) == pytest.approx(5)
    assert effective_freedom([3, 4], [math.inf, math.inf]) == math.inf
    assert effective_freedom([1, 1], [math.inf, 5]) == pytest.approx(20)


def test_guard_band():
    """ISO 14253-1: 1.65 u; a caliper of +-0.03 mm (rectangular, u = 0.03 / sqrt 3) cannot prove a band of 0.02 (by hand)."""
    assert guard_band(0.004) == pytest.approx(0.0066)
    assert 2 * guard_band(0.03 / math.sqrt(3)) > 0.02


def test_gauge_study_with_one_appraiser_and_own_constants():
    """Two trials of two parts: ranges 1 and 1, part means 1.5 and 4.5 (by hand)."""
    study = gauge_study([[[1, 4], [2, 5]]], k1=1, k3=1)
    assert (study.mean_range, study.repeatability, study.reproducibility) == (1, 1, 0)
    assert study.parts == pytest.approx(3)
    assert study.categories == 4


def test_gauge_study_where_appraisers_differ_by_less_than_the_instrument():
    """Means of the appraisers are alike: the manual takes AV as 0."""
    assert gauge_study([[[1, 4], [2, 5]], [[2, 5], [1, 4]]]).reproducibility == 0


@pytest.mark.parametrize(
    ("call", "thing"),
    [
        (lambda: repeats([1.0]), "repeated readings"),
        (lambda: repeats([1.0, math.nan]), "reading"),
        (lambda: combined_uncertainty([-0.1]), "standard uncertainty"),
        (lambda: combined_uncertainty([math.nan]), "standard uncertainty"),
        (lambda: combined_uncertainty([0.1, 0.2], [1]), "sensitivities"),
        (lambda: combined_uncertainty([0.1], [math.inf]), "sensitivity"),
        (lambda: effective_freedom([0.1], [0]), "degrees of freedom"),
        (lambda: effective_freedom([0.1], [math.nan]), "degrees of freedom"),
        (lambda: effective_freedom([0.1], [1, 2]), "degrees of freedom"),
        (lambda: effective_freedom([0.0], [5]), "combined uncertainty"),
        (lambda: normal_factor(0.0), "confidence"),
        (lambda: normal_factor(95), "confidence"),
        (lambda: student_factor(math.nan, 5), "confidence"),
        (lambda: student_factor(0.95, -1), "degrees of freedom"),
        (lambda: coverage(-1), "coverage factor"),
        (lambda: coverage(math.nan), "coverage factor"),
        (lambda: expanded_uncertainty(0.1, freedom=0.5), "degrees of freedom"),
        (lambda: mean_interval(1, 1, 1), "number of readings"),
        (lambda: mean_interval(math.nan, 1, 5), "mean"),
        (lambda: mean_interval(1, -1, 5), "standard deviation"),
        (lambda: sample_size(1, 0), "error of the mean"),
        (lambda: sample_size(math.inf, 1), "standard deviation"),
        (lambda: guard_band(-0.1), "standard uncertainty"),
        (lambda: guard_band(0.1, factor=math.nan), "guard factor"),
        (lambda: gauge_study([]), "gauge study"),
        (lambda: gauge_study([[[1, 2]]]), "gauge study"),
        (lambda: gauge_study([[[1, 2], [1]]]), "gauge study"),
        (lambda: gauge_study([[[1, 2], [1, math.nan]]]), "reading"),
        (lambda: gauge_study([[[1, 2], [1, 2]]]), "gauge study"),
        (lambda: gauge_study([[[1, 2]] * 4]), "trials"),
    ],
)
def test_out_of_range(call, thing):
    with pytest.raises(OutOfRange) as caught:
        call()
    assert caught.value.thing == thing


def test_t_interval_against_scipy_stats():
    found = mean_interval(10, 2, 7)
    low, high = stats.t.interval(0.95, 6, loc=10, scale=2 / math.sqrt(7))
    assert (found.low, found.high) == (pytest.approx(low), pytest.approx(high))


def test_the_room_loads_no_scipy_until_a_quantile_of_t_is_wanted():
    code = (
        "import sys, asmade.measure.spread as s; s.guard_band(0.1); s.normal_factor(0.9); print('scipy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
