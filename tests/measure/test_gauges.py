"""Drills and gauges against copied reference rows (each with its source), and against rules that tie sizes together."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Unknown
from asmade.measure.gauges import (
    EVERY_SERIES,
    drill_not_above,
    drill_not_below,
    drill_size,
    drill_source,
    drills,
    gauge_size,
    gauges,
    nearest_drills,
)

ANCHORS = Path(__file__).parents[1] / "anchors"


def anchor_rows(name, *, from_memory):
    with (ANCHORS / name).open(encoding="utf-8") as file:
        every = list(csv.DictReader(file))
    rows = [row for row in every if (row["confirmed"] == "from memory, not confirmed") == from_memory]
    return [pytest.param(row, id=f"{row['id']} {row['source'][:30]}") for row in rows]


def inputs(row):
    return dict(pair.split("=") for pair in row["inputs"].split(";"))


@pytest.mark.parametrize("row", anchor_rows("drills_number_letter.csv", from_memory=False))
def test_number_and_letter_drills(row):
    """ASME B94.11M; Machinery's Handbook."""
    assert drill_size(inputs(row)["drill"]).inch == Fraction(row["value"])


@pytest.mark.parametrize("row", anchor_rows("drills_number_letter.csv", from_memory=True))
def test_number_drills_recalled_twice(row):
    """Rows that were recalled, not read: a difference would be a reason to look them up. There is none."""
    assert drill_size(inputs(row)["drill"]).inch == Fraction(row["value"])


@pytest.mark.parametrize("row", anchor_rows("gauges_swg_bwg.csv", from_memory=False))
def test_gauges(row):
    """SWG: Order in Council of 1883, BS 3737; BWG: Birmingham (Stubs iron) wire gauge."""
    given_in = inputs(row)
    found = gauge_size(f"{given_in['number']} {given_in['gauge']}")
    value = found.inch if row["unit"] == "in" else found.mm
    assert abs(value - Fraction(row["value"])) <= Fraction(row["tolerance"])


@pytest.mark.parametrize("row", anchor_rows("metric_drill_series.csv", from_memory=False))
def test_metric_series(row):
    """BS 328 and ISO 235."""
    if row["quantity"].startswith("is a listed size"):
        size = Fraction(inputs(row)["diameter_mm"])
        assert (size in [drill.mm for drill in drills("metric")]) == (row["value"] == "1")
        return
    target = Fraction(inputs(row)["target_mm"])
    look = drill_not_above if "<=" in row["quantity"] else drill_not_below
    assert look(target, series=("metric",)).mm == Fraction(row["value"])


def test_the_whole_ranges_are_there():
    assert [drill.name for drill in drills("number")][::-1] == [f"No. {number}" for number in range(1, 98)]
    assert [drill.name for drill in drills("letter")] == [f"letter {letter}" for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"]
    assert [drill.inch for drill in drills("fractional")] == [Fraction(k, 64) for k in range(1, 65)]
    assert (drills("metric")[0].mm, drills("metric")[-1].mm) == (Fraction("0.2"), 25)
    assert list(gauges("SWG")) == [f"{k}/0" for k in range(7, 1, -1)] + [str(k) for k in range(51)]
    assert list(gauges("BWG")) == [f"{k}/0" for k in range(5, 1, -1)] + [str(k) for k in range(37)]


def test_letters_follow_the_numbers():
    """A is the next drill above No. 1, and letter E is a quarter of an inch (Machinery's Handbook)."""
    assert drill_size("No. 1").mm < drill_size("A").mm
    assert drill_size("E").inch == Fraction(1, 4)


def test_swg_runs_in_even_steps():
    """The gauge was laid down in runs of even steps (from memory); a slip of the pen in the table would break one."""
    swg = {name: size.inch * 1000 for name, size in gauges("SWG").items()}
    assert swg["7/0"] - swg["6/0"] == 36
    assert {swg[str(k)] - swg[str(k + 1)] for k in range(3)} == {24}
    assert {swg[str(k)] - swg[str(k + 1)] for k in range(3, 6)} == {20}
    assert {swg[str(k)] - swg[str(k + 1)] for k in range(6, 10)} == {16}
    assert {swg[str(k)] - swg[str(k + 1)] for k in range(10, 14)} == {12}
    assert {swg[str(k)] - swg[str(k + 1)] for k in range(14, 19)} == {8}


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("No. 40", "No. 40"),
        ("no 40", "No. 40"),
        ("#40", "No. 40"),
        ("# 40 drill", "No. 40"),
        ("F", "letter F"),
        ("letter f", "letter F"),
        ("drill F", "letter F"),
        ("F drill", "letter F"),
    ],
)
def test_names_of_drills(written, name):
    assert drill_size(written).name == name


@pytest.mark.parametrize("written", ["No. 0", "No. 98", "40", "", "AA", "#", "#1.5", "6.5 mm", "No. 040"])
def test_no_such_drill(written):
    from asmade.measure.errors import AsmadeError

    with pytest.raises(AsmadeError) as caught:
        drill_size(written)
    assert caught.value.way_out


@pytest.mark.parametrize(
    ("written", "name"),
    [("16 SWG", "16 SWG"), ("16swg", "16 SWG"), ("SWG 16", "16 SWG"), ("No. 16 S.W.G.", "16 SWG"), ("1/0 SWG", "0 SWG"),
     ("0 SWG", "0 SWG"), ("00 SWG", "2/0 SWG"), ("000 swg", "3/0 SWG"), ("20 bwg", "20 BWG")],
)  # fmt: skip
def test_names_of_gauges(written, name):
    assert gauge_size(written).name == name


@pytest.mark.parametrize("written", ["16", "16 gauge", "51 SWG", "8/0 SWG", "37 BWG", "SWG"])
def test_no_such_gauge(written):
    with pytest.raises(Unknown, match=r"gauge|SWG|BWG") as caught:
        gauge_size(written)
    assert caught.value.way_out


def test_the_two_gauges_differ_and_a_series_must_be_known():
    assert gauge_size("20 SWG").inch == Fraction("0.036")
    assert gauge_size("20 BWG").inch == Fraction("0.035")
    with pytest.raises(Unknown, match="drill series"):
        drills("metrical")  # type: ignore[arg-type]
    with pytest.raises(Unknown, match="gauge"):
        gauges("AWG")  # type: ignore[arg-type]


@given(st.fractions(Fraction("0.15"), Fraction("25.4"), max_denominator=10**4), st.integers(1, 6))
def test_nearest_drills_are_the_nearest(mm, count):
    found = nearest_drills(mm, count=count)
    every = sorted(abs(drill.mm - mm) for series in EVERY_SERIES for drill in drills(series))
    assert [abs(near.over_mm) for near in found] == every[:count]
    assert all(near.drill.mm - mm == near.over_mm for near in found)
    assert drill_not_above(mm).mm <= mm <= drill_not_below(mm).mm


def test_near_drills_in_words():
    """2.5 mm: the metric drill itself, No. 40 (0.098 in) 0.0108 mm under, No. 39 (0.0995 in) 0.0273 mm over (by hand)."""
    assert [str(near) for near in nearest_drills(Fraction("2.5"))] == [
        "2.5 mm (2.500 mm, exact)",
        "No. 40 (2.489 mm, 0.011 under)",
        "No. 39 (2.527 mm, 0.027 over)",
    ]


@pytest.mark.parametrize("mm", [Fraction(0), Fraction(-3), Fraction("0.1"), Fraction(26)])
def test_no_drill_beyond_the_tables(mm):
    for look in (nearest_drills, drill_not_above, drill_not_below):
        with pytest.raises(OutOfRange, match=r"0\.150 to 25\.400 mm"):
            look(mm)


def test_every_series_names_its_source():
    assert all(drill_source(series).source for series in EVERY_SERIES)
