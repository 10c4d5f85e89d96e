"""Priors of a small home workshop: the rows that have a source are held to it, the others to plain sense."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Unknown
from asmade.standards.capability import process_prior, processes, tool_kinds

ANCHORS = Path(__file__).parents[1] / "anchors"
WANTED = [
    "stock as is",
    "turned",
    "bored",
    "reamed",
    "drilled",
    "milled",
    "faced",
    "tapped",
    "die-cut",
    "screw-cut",
    "cast",
    "jig bored",
    "jig drilled",
    "sawn",
    "filed",
    "sheared",
    "bent",
    "ground",
    "lapped",
    "bought in",
    "fabricated",
    "pressed",
]


def rows():
    """Rows of the drilling study, copied with their sources."""
    with (ANCHORS / "drilled_oversize.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", [r for r in rows() if "statistic=mean" in r["inputs"]], ids=lambda r: r["id"])
def test_drilled_holes_are_larger_by_the_mean_of_the_study(row):
    """Machinery's Handbook, oversize diameters in drilling: rows marked "from memory, not confirmed"."""
    inputs = dict(pair.split("=") for pair in row["inputs"].split(";"))
    prior = process_prior("drilled", size_mm=float(inputs["drill_in"]) * 25.4)
    assert prior.bias_mm / 25.4 == pytest.approx(float(row["value"]), abs=float(row["tolerance"]))
    assert "from memory" in prior.source


@pytest.mark.parametrize("drill_in", [0.125, 0.5, 1.0])
def test_the_extremes_of_the_drilling_study_lie_within_two_sigma(drill_in):
    """The study prints average largest and average smallest; both lie within 2 sigma of the prior."""
    prior = process_prior("drilled", size_mm=drill_in * 25.4)
    sigma = (prior.scatter_mm**2 + prior.between_mm**2) ** 0.5
    extremes = [
        float(r["value"]) * 25.4
        for r in rows()
        if f"drill_in={drill_in:g};" in r["inputs"] and "average" in r["inputs"]
    ]
    assert len(extremes) == 2
    assert all(abs(value - prior.bias_mm) < 2 * sigma for value in extremes)


@pytest.mark.parametrize(("kind", "size", "upper", "lower"), [("round bar", 8, 0, -36), ("ground bar", 8, 0, -22)])
def test_bar_as_bought_lies_in_its_delivery_tolerance(kind, size, upper, lower):
    """EN 10278: h9 (drawn) and h8 (ground) over 6 to 10 mm, -36 and -22 um."""
    prior = process_prior("stock as is", kind, size_mm=size)
    assert lower / 1000 < prior.bias_mm < upper
    assert prior.bias_mm + 2.5 * (prior.scatter_mm**2 + prior.between_mm**2) ** 0.5 < 0.010


@pytest.mark.parametrize("process", WANTED)
def test_every_process_of_the_trade_has_figures_and_says_where_from(process):
    prior = process_prior(process)
    assert process in processes()
    assert prior.source
    assert prior.size_mm == 10.0
    assert prior.strength >= 1


@given(process=st.sampled_from(WANTED), size=st.floats(0.05, 2000))
def test_scatter_is_above_nothing_at_any_size_and_extrapolation_is_said(process, size):
    prior = process_prior(process, size_mm=size)
    assert prior.scatter_mm > 0
    assert prior.between_mm > 0
    outside = not prior.low_mm <= size <= prior.high_mm
    assert outside == ("nearest end" in prior.note)


@given(st.floats(0.3, 25.4), st.floats(0.3, 25.4))
def test_a_larger_drill_never_drills_closer_to_size(a, b):
    small, large = sorted((a, b))
    assert process_prior("drilled", size_mm=small).bias_mm <= process_prior("drilled", size_mm=large).bias_mm + 1e-12


def test_a_tool_without_figures_of_its_own_gets_the_general_ones_and_is_told_so():
    general, odd = process_prior("reamed"), process_prior("reamed", "my uncle's reamer")
    assert odd.bias_mm == general.bias_mm
    assert "my uncle's reamer" in odd.note
    assert "hand reamer" in tool_kinds("reamed")
    assert process_prior("reamed", "hand reamer").tool_kind == "hand reamer"


def test_a_material_is_known_by_its_family():
    general, gunmetal = process_prior("reamed"), process_prior("reamed", material="LG2")
    assert gunmetal.families == ("bronze", "copper", "nickel silver")
    assert gunmetal.bias_mm < general.bias_mm
    steel = process_prior("reamed", material="EN8")
    assert steel.bias_mm == general.bias_mm
    assert "not for EN8 alone" in steel.note
    assert "unobtainium" in process_prior("reamed", material="unobtainium").note
    # a tool with figures of its own goes before the material
    assert process_prior("reamed", "hand reamer", "LG2").tool_kind == "hand reamer"


def test_an_unknown_process_is_refused_with_near_names():
    with pytest.raises(Unknown, match=r"there is no 'reemed'; did you mean reamed"):
        process_prior("reemed")


@pytest.mark.parametrize("size", [0, -1, float("nan"), float("inf")])
def test_a_size_that_is_none_is_refused(size):
    with pytest.raises(OutOfRange):
        process_prior("turned", size_mm=size)
