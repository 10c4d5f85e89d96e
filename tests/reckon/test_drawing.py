from __future__ import annotations

from fractions import Fraction

import pytest

from asmade.reckon.drawing import check_drawing

PARTS = """
[book]
drawing_unit = "inch"
[part.frame]
places = ["L", "R"]
[part.frame.dim]
first = { kind = "position", drawn = "5 3/4" }
second = { kind = "position", drawn = "0" }
[part.rod]
places = ["12L", "12R"]
[part.rod.dim]
centres = { kind = "centres", drawn = "ROD" }
eye = { kind = "bore", drawn = "7/16" }
[part.bush]
places = ["12L", "12R"]
[part.bush.dim]
outside = { kind = "shaft", drawn = "BUSH" }
[[chain]]
name = "rod as axles"
places = ["12L", "12R"]
is = "rod@{place}.centres - frame@{side}.first + frame@{side}.second"
least = "-0.02 mm"
most = "0.02 mm"
[[fit]]
name = "bush in rod"
places = ["12L", "12R"]
hole = "rod@{place}.eye"
shaft = "bush@{place}.outside"
least = "-0.03 mm"
most = "-0.01 mm"
"""


def check(fold_text, rod="5 3/4", bush="7/16", more=""):
    return check_drawing(fold_text(PARTS.replace("ROD", rod).replace("BUSH", bush) + more))


def fails(found):
    return [f for f in found.findings if f.verdict == "fails"]


def test_a_consistent_drawing_has_no_contradiction_and_equal_hole_and_shaft_are_left_to_the_builder(fold_text):
    found = check(fold_text)
    assert fails(found) == []
    assert set(found.left_to_builder) == {"bush in rod@12L"}, "said once, not once for each side"


def test_rod_centres_that_differ_from_the_axle_centres_are_named_with_amount_and_cure(fold_text):
    wrong = fails(check(fold_text, rod="5 11/16"))
    assert len(wrong) == 1, "the other side of the engine says the same"
    assert wrong[0].code == "drawing.contradiction"
    assert wrong[0].value == pytest.approx(-1.5875)
    for word in ("rod.centres", "frame.first", "5 11/16", "1/16", "rod as axles", "5 3/4"):
        assert word in wrong[0].working


def test_unequal_pairs_that_should_be_equal(fold_text):
    wrong = fails(check(fold_text, bush="15/32"))
    assert [f.code for f in wrong] == ["drawing.outside"]
    assert "hole and shaft differ" in wrong[0].working


def test_a_dimension_stated_twice(fold_text):
    twice = PARTS.replace('drawn = "7/16" }', 'drawn = "7/16", also = [{ drawn = "1/2", reference = "sheet 4" }] }')
    found = check_drawing(fold_text(twice.replace("ROD", "5 3/4").replace("BUSH", "7/16")))
    wrong = fails(found)
    assert len(wrong) == 1
    assert "sheet 4" in wrong[0].working
    assert "more than once" in wrong[0].working


def test_what_no_sum_supplies_is_missing_and_what_one_does_is_not(fold_text):
    found = check(fold_text, rod="", bush="")
    assert fails(found) == []
    assert found.supplied["rod.centres"] == Fraction("146.05")
    assert found.supplied["bush.outside"] == Fraction(127, 16) * Fraction(7, 5)
    lonely = check(fold_text, more='[part.lamp]\nplaces = ["engine"]\n[part.lamp.dim]\nheight = { kind = "height" }\n')
    missing = [f for f in lonely.findings if f.code == "drawing.missing"]
    assert [f.subject for f in missing] == ["lamp.height"]


def test_what_cannot_be_read_is_told_not_guessed(fold_text):
    with pytest.raises(Exception, match="1/0"):
        check(fold_text, rod="1/0")


def test_no_size_is_said_to_close_a_sum_by_becoming_negative(fold_text):
    """Rod 7 against axles 5 3/4 apart: 7 back to 5 3/4 would do, or axles at 7 or -1 1/4; with 1/2 no rod of -1/2."""
    text = PARTS.replace("ROD", "7").replace("BUSH", "7/16")
    said = check_drawing(fold_text(text)).findings[0].working
    assert "frame.second were -1 1/4 in" in said, "a position may be negative"
    text = PARTS.replace("ROD", "1/2").replace("BUSH", "7/16").replace('drawn = "5 3/4"', 'drawn = "-1/4"')
    said = check_drawing(fold_text(text)).findings[0].working
    assert "rod.centres were" not in said
    assert "frame.first were 1/2 in" in said
