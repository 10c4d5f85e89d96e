"""Fits: callouts, both bases, the trade's words, and sizes made to suit."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.standards import tables
from asmade.standards.fits import Callout, fit, fit_words, parse_fit, parse_size, recommended_fits, wanted
from asmade.standards.limits import SHAFT_LETTERS, limits, parse_class
from asmade.standards.suiting import class_of, classes_for_clearance, classes_within, hole_to_suit, shaft_to_suit

sizes = st.fractions(min_value=Fraction(31, 10), max_value=500, max_denominator=64)


@pytest.mark.parametrize(
    "text",
    [
        "25 H7/g6",
        "25H7/g6",
        "ø25 H7/g6",
        "25.0 mm H7 / g6",
        "25 H7-g6",
        "25,0 H7/g6",
        "25 H7 g6",
        "Ø25 H7 g6",
        "φ25 H7/g6",
        "dia 25 H7/g6",
        "dia. 25 H7-g6",
    ],
)
def test_callouts_read_alike(text: str) -> None:
    assert parse_fit(text) == Callout(Fraction(25), parse_class("H7"), parse_class("g6"))
    assert str(parse_fit(text)) == "25 H7/g6"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("25 h6/H7", "shaft first"),
        ("12 j8/H8", "hole first: 12 H8/j8"),
        ("25 H7/G7", "two holes"),
        ("25 h7/g6", "two shafts"),
        ("1/2 H7/g6", "inches were likely meant"),
        ("1/0 in H7/g6", "nominal size"),
        ("-25 H7/g6", "cannot read"),
        ("H7/g6", "cannot read"),
        ("25 H7", "cannot read"),
    ],
)
def test_bad_callouts_say_why(text: str, words: str) -> None:
    with pytest.raises(Refused, match=words):
        parse_fit(text)


def test_sizes_with_one_class() -> None:
    assert parse_size("25H7") == (25, parse_class("H7"))
    assert parse_fit("12.7mm H7/h6").nominal_mm == parse_fit("1/2 in H7/h6").nominal_mm == Fraction("12.7")
    assert parse_size('1 3/16" m6') == (Fraction("30.1625"), parse_class("m6"))
    with pytest.raises(Refused):
        parse_size("H7")
    with pytest.raises(Refused, match="one class at a time: 10 H7"):
        parse_size("10 H7/g6")


@given(
    nominal=sizes,
    letter=st.sampled_from(["d", "e", "f", "g", "h"]),
    grades=st.tuples(st.integers(5, 11), st.integers(5, 11)),
)
def test_clearance_fits_are_alike_on_both_bases(nominal: Fraction, letter: str, grades: tuple[int, int]) -> None:
    """ISO 286-1: H8/f7 and F8/h7 have the same clearances, whatever the grades."""
    hole, shaft = grades
    ours = fit(Callout(nominal, parse_class(f"H{hole}"), parse_class(f"{letter}{shaft}")))
    other = fit(Callout(nominal, parse_class(f"{letter.upper()}{hole}"), parse_class(f"h{shaft}")))
    assert (ours.clearance_max_um, ours.clearance_min_um) == (other.clearance_max_um, other.clearance_min_um)
    assert ours.kind == "clearance"


@given(nominal=sizes, letter=st.sampled_from([s for s in SHAFT_LETTERS if s >= "k"]), grade=st.integers(4, 8))
def test_tight_fits_are_alike_on_both_bases_one_grade_apart(nominal: Fraction, letter: str, grade: int) -> None:
    """The purpose of delta: H7/p6 and P7/h6 alike, over 3 mm, holes K M N up to IT8 and P to ZC up to IT7."""
    assume(grade <= 7 or letter in ("k", "m", "n"))
    assume(not (letter == "m" and grade == 6 and 250 < nominal <= 315))  # the exception of Table 3
    assume(not (letter == "k" and grade == 4))  # k3 is 0, K4 still follows k
    try:
        ours = fit(Callout(nominal, parse_class(f"H{grade}"), parse_class(f"{letter}{grade - 1}")))
    except OutOfRange:
        assume(False)
    other = fit(Callout(nominal, parse_class(f"{letter.upper()}{grade}"), parse_class(f"h{grade - 1}")))
    assert ours.clearance_max_um == pytest.approx(other.clearance_max_um)
    assert ours.clearance_min_um == pytest.approx(other.clearance_min_um)


def test_recommended_fits_grow_tighter_down_the_list() -> None:
    for diameter in (6, 12, 40):
        found = [fit(f"{diameter} {row.hole_basis}") for row in recommended_fits()]
        middles = [f.clearance_max_um + f.clearance_min_um for f in found]
        assert middles == sorted(middles, reverse=True)
    assert {fit(f"25 {row.hole_basis}").kind for row in recommended_fits()} == {
        "clearance",
        "transition",
        "interference",
    }


def test_words_are_the_quoted_figures_with_the_range_half_way_to_the_neighbours() -> None:
    """The one quoted figure lies within; the clearance words part the scale without gap or overlap."""
    table = tables.load("fits_words")
    for row in table.rows:
        for i in (0, 1):
            assert row["least"][i] <= row["figure"][i] <= row["most"][i]
    chain = [table.row(word) for word in ("push", "slide", "close running", "running", "easy running")]
    for lower, upper in pairwise(chain):
        assert lower["most"] == upper["least"]
        assert lower["most"] == pytest.approx(
            [(a + b) / 2 for a, b in zip(lower["figure"], upper["figure"], strict=True)]
        )
    # figures as quoted: shaft from hole in thou, D in inches
    quoted = {
        "push": (0.15, 0.35),
        "slide": (0.3, 0.45),
        "close running": (0.6, 0.8),
        "running": (1, 1.5),
        "easy running": (1.5, 2.25),
    }
    quoted |= {"drive": (-0.3, -0.45), "force": (-0.5, -0.75), "shrink": (-0.5, -1.5), "press": (0, -1)}
    assert all(table.row(word)["figure"] == figure for word, figure in quoted.items())


def test_words_at_a_size() -> None:
    found = wanted("Rod Bush", 16)
    assert (found.least_mm, found.most_mm) == (pytest.approx(0.05), pytest.approx(0.1))  # common practice, no source
    assert wanted("press fit", 25.4).most_mm < 0
    assert wanted("normal running", 10) == wanted("running", 10)
    assert all(wanted(word, 12).least_mm < wanted(word, 12).most_mm for word in fit_words())
    assert all(wanted(word, 12).source for word in fit_words())


def test_a_class_serves_as_words() -> None:
    found = wanted("H7/g6", 25)
    assert (found.least_mm, found.most_mm) == (0.007, 0.041)
    assert "ISO 286" in found.source
    assert not found.placeholder


def test_bonded_is_a_placeholder_until_the_data_sheet_speaks() -> None:
    assert wanted("bonded", 12).placeholder
    own = wanted("bonded", 12, bonded_gap_mm=(0.02, 0.08), bonded_source="data sheet, invented")
    assert (own.least_mm, own.most_mm, own.placeholder) == (0.02, 0.08, False)
    with pytest.raises(Refused, match="data sheet"):
        wanted("bonded", 12, bonded_gap_mm=(0.02, 0.08))
    with pytest.raises(OutOfRange):
        wanted("bonded", 12, bonded_gap_mm=(0.08, 0.02), bonded_source="invented")


def test_unknown_words_offer_near_ones() -> None:
    with pytest.raises(Unknown, match="did you mean running"):
        wanted("runing", 10)
    with pytest.raises(OutOfRange, match=r"0\.8 to 100 mm"):
        wanted("running", 150)
    for bad in (math.nan, -3.0):
        with pytest.raises(OutOfRange):
            wanted("H7/g6", bad)
    with pytest.raises(Refused):
        wanted("g6/H7", 10)


@given(
    hole=st.floats(1, 100),
    spread=st.floats(0, 0.01),
    least=st.floats(-0.05, 0.2),
    width=st.floats(0.011, 0.1),
)
def test_made_to_suit_never_leaves_the_wanted_clearance(hole: float, spread: float, least: float, width: float) -> None:
    suited = shaft_to_suit(hole, hole + spread, least, least + width)
    assert hole - suited.greatest_mm >= least - 1e-9
    assert hole + spread - suited.least_mm <= least + width + 1e-9
    back = hole_to_suit(suited.least_mm, suited.greatest_mm, least, least + width) if spread > width / 2 else None
    if back is not None:
        assert back.least_mm == pytest.approx(hole)


def test_a_mate_not_known_closely_enough_is_refused() -> None:
    with pytest.raises(OutOfRange, match="measure it better"):
        shaft_to_suit(12.0, 12.05, 0.01, 0.03)
    with pytest.raises(OutOfRange):
        hole_to_suit(12.0, 12.01, 0.03, 0.01)
    with pytest.raises(OutOfRange):
        hole_to_suit(math.nan, 12.01, 0.0, 0.01)


@pytest.mark.parametrize("basis", ["hole", "shaft"])
@pytest.mark.parametrize("row", recommended_fits(), ids=lambda row: row.words)
def test_the_reverse_finds_a_fit_inside_its_own_clearance(row, basis: str) -> None:
    name = row.hole_basis if basis == "hole" else row.shaft_basis
    own = fit(f"25 {name}")
    found = classes_for_clearance(
        25, own.clearance_min_um / 1000, own.clearance_max_um / 1000, basis=basis, most_found=9
    )
    assert found[0].inside
    width = own.clearance_max_um - own.clearance_min_um
    assert found[0].fit.clearance_max_um - found[0].fit.clearance_min_um == pytest.approx(width)


def test_the_reverse_says_when_nothing_fits() -> None:
    found = classes_for_clearance(25, 0.010, 0.012)
    assert not any(one.inside for one in found)
    assert [one.outside_um for one in found] == sorted(one.outside_um for one in found)
    with pytest.raises(OutOfRange):
        classes_for_clearance(25, 0.02, 0.01)
    with pytest.raises(OutOfRange):
        classes_for_clearance(900, 0.01, 0.02)
    with pytest.raises(OutOfRange):
        classes_for_clearance(math.inf, 0.01, 0.02)
    with pytest.raises(Unknown):
        classes_for_clearance(25, 0.01, 0.02, basis="bore")


def test_measured_sizes_name_their_class() -> None:
    assert str(class_of(25, 24.985, 24.990, kind="shaft")[0].tolerance_class) == "g6"
    assert class_of(25, 25.5, 25.6, kind="hole") == ()
    inside = class_of(25, 25.003, 25.018, kind="hole")
    assert all(limits(25, one.tolerance_class).least_mm <= 25.003 for one in inside)
    with pytest.raises(Unknown):
        class_of(25, 25, 25, kind="bore")
    with pytest.raises(OutOfRange):
        class_of(25, 25.1, 25.0, kind="hole")


@given(hole=st.floats(4, 60), least=st.floats(0, 0.05), width=st.floats(0.02, 0.1))
def test_a_class_for_a_measured_hole_keeps_the_wanted_clearance(hole: float, least: float, width: float) -> None:
    nominal = round(hole)
    suited = shaft_to_suit(hole, hole, least, least + width)
    for one in classes_within(nominal, suited.least_mm, suited.greatest_mm, kind="shaft"):
        assert least - 1e-6 <= hole - one.greatest_mm
        assert hole - one.least_mm <= least + width + 1e-6


def test_no_class_is_narrow_enough() -> None:
    assert classes_within(12, 12.0005, 12.001, kind="hole") == ()
    with pytest.raises(OutOfRange):
        classes_within(900, 899, 901, kind="hole")
    with pytest.raises(Unknown):
        classes_within(12, 11, 12, kind="bore")
