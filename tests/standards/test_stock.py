"""Stock and reamers: nearest sizes, delivery tolerance, the laws they obey, refusals."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.standards.limits import tolerance_um
from asmade.standards.reamers import nearest_reamers, reamer_limits, reamer_limits_for_hole, reamers
from asmade.standards.stock import (
    SIDES,
    across_corners,
    across_flats,
    delivery,
    is_preferred,
    mass_per_metre_kg,
    nearest_stock,
    section_area_mm2,
    shapes,
    stock_sizes,
)

RACK = [s for s in stock_sizes("round bar") if s.name in ("6 mm", "8 mm", "10 mm", "5/16 in", "16 mm")]


@given(st.sampled_from(shapes()), st.floats(0.2, 60), st.sampled_from(SIDES))
def test_the_nearest_stock_lies_on_the_side_asked_for_and_none_lies_nearer(shape, size, side):
    found = nearest_stock(size, shape, side=side, most=4)
    off = [abs(n.over_mm) for n in found]
    assert off == sorted(off)
    if side == "not below":
        assert all(n.over_mm >= 0 for n in found)
    if side == "not above":
        assert all(n.over_mm <= 0 for n in found)
    if side == "either":
        assert off[0] == pytest.approx(min(abs(s.size_mm - size) for s in stock_sizes(shape)), abs=1e-9)


def test_an_inch_size_and_its_metric_neighbours():
    """11/16 in is 17.4625 mm: 17 mm is 0.4625 under, 18 mm 0.5375 over."""
    found = nearest_stock(Fraction(11, 16) * Fraction(254, 10), "round bar", system="metric")
    assert [n.stock.name for n in found[:2]] == ["17 mm", "18 mm"]
    assert found[0].over_mm == pytest.approx(-0.4625)


def test_the_rack_is_used_when_it_is_told():
    found = nearest_stock(7.9, "round bar", have=RACK)
    assert [n.stock.name for n in found] == ["5/16 in", "8 mm", "6 mm"]
    assert [n.stock.name for n in nearest_stock(7.9, "round bar", have=RACK, system="metric", most=1)] == ["8 mm"]
    assert nearest_stock(20, "round bar", have=RACK, side="not below") == ()


def test_sheet_comes_by_gauge_number_too():
    """16 SWG is 0.064 in = 1.6256 mm (BS 3737)."""
    found = nearest_stock(1.63, "sheet", system="SWG", most=1)[0]
    assert (found.stock.name, found.stock.size_mm) == ("16 SWG", 1.6256)


@pytest.mark.parametrize("size", ["6.5", "12", "32"])
def test_preferred_sizes_are_met_exactly(size):
    assert is_preferred("round bar", size)
    assert is_preferred("round bar", float(size), "metric")
    assert not is_preferred("round bar", float(size) + 0.3, "metric")


@given(
    st.sampled_from(["round bar", "ground bar", "hexagon bar", "square bar", "flat thickness"]), st.floats(1.01, 119)
)
def test_bright_bar_is_never_over_its_stated_size_and_never_under_by_more_than_its_grade(shape, size):
    found = delivery(size, shape)
    assert found.upper_um == 0
    assert found.lower_um == -tolerance_um(size, found.tolerance_class[1:])
    assert found.least_mm < found.greatest_mm == pytest.approx(size)


@pytest.mark.parametrize(
    ("size", "shape", "name", "lower"),
    [
        ("60", "flat thickness", "h11", -190),
        ("61", "flat thickness", "h12", -300),
        ("80", "hexagon bar", "h11", -190),
        ("90", "square bar", "h12", -350),
    ],
)
def test_thick_flats_and_large_hexagons_are_delivered_a_class_coarser(size, shape, name, lower):
    """EN 10278: h11 to 60 mm thickness and 80 mm across flats, h12 above."""
    found = delivery(size, shape)
    assert (found.tolerance_class, found.lower_um) == (name, lower)


def test_silver_steel_lies_closer_than_drawn_bar():
    assert delivery(8, "ground bar").lower_um > delivery(8, "round bar").lower_um


@given(st.floats(0.1, 200))
def test_areas_stand_in_order_and_corners_turn_round(size):
    round_, hexagon, square = (section_area_mm2(f"{k} bar", size) for k in ("round", "hexagon", "square"))
    assert round_ < hexagon < square
    assert section_area_mm2("flat", size, size) == pytest.approx(square)
    for shape in ("hexagon", "square"):
        assert across_flats(shape, across_corners(shape, size)) == pytest.approx(size)


@pytest.mark.parametrize("size", [0, -3, math.nan, math.inf, "0"])
def test_sizes_that_are_none_are_refused(size):
    with pytest.raises((OutOfRange, Refused)):
        nearest_stock(size, "round bar")
    with pytest.raises((OutOfRange, Refused)):
        section_area_mm2("round", float(size))


def test_unknown_words_are_refused_with_near_ones():
    assert stock_sizes("silver steel") == stock_sizes("ground bar")
    assert reamers("hand reamer", "SWG") == ()
    with pytest.raises(Unknown, match="a width and a thickness"):
        stock_sizes("flat bar")
    with pytest.raises(Unknown, match="did you mean round bar"):
        stock_sizes("rond bar")
    with pytest.raises(Unknown, match="did you mean"):
        nearest_stock(3, "round bar", side="below")
    with pytest.raises(Unknown, match="there is no 'h7'"):
        delivery(8, "round bar", "h7")
    with pytest.raises(Unknown, match="measure it"):
        delivery(3, "sheet")
    with pytest.raises(OutOfRange, match="up to 150 mm"):
        delivery(160, "flat width")
    with pytest.raises(Refused, match="thickness is missing"):
        mass_per_metre_kg("flat", 20, 7850)
    with pytest.raises(Unknown, match="hexagon or square"):
        across_corners("round", 5)
    with pytest.raises(Refused):
        nearest_stock(3, "round bar", most=0)


# ---- reamers


@pytest.mark.parametrize(
    ("size", "least", "greatest"),
    [
        (3, 3.004, 3.008),
        (6, 6.005, 6.010),
        (10, 10.006, 10.012),
        (16, 16.008, 16.015),
        (25, 25.009, 25.017),
        (40, 40.012, 40.021),
    ],
)
def test_reamers_for_h7_as_printed(size, least, greatest):
    """DIN 1420 table for H7, recalled; the rule is 0.15 IT and 0.35 IT rounded up."""
    found = reamer_limits(size, "H7")
    assert (found.least_mm, found.greatest_mm) == pytest.approx((least, greatest), abs=1e-9)


@given(st.floats(1, 400), st.sampled_from(["H6", "H7", "H8", "H9", "G7", "F8"]))
def test_a_reamer_lies_inside_the_hole_it_is_for(size, name):
    from asmade.standards.limits import limits

    hole, reamer = limits(size, name), reamer_limits(size, name)
    assert hole.least_mm < reamer.least_mm < reamer.greatest_mm < hole.greatest_mm


def test_nearest_reamer_to_an_inch_hole():
    wanted = Fraction(5, 8) * Fraction(254, 10)
    metric = nearest_reamers(wanted, kind="hand reamer", system="metric")
    assert metric[0].reamer.name == "16 mm"
    assert metric[0].over_mm == pytest.approx(0.125)
    assert nearest_reamers(wanted)[0].reamer.name == "5/8 in"
    drawer = [r for r in reamers("machine reamer", "metric") if r.name in ("6 mm", "8 mm")]
    assert nearest_reamers(wanted, have=drawer, most=1)[0].reamer.name == "8 mm"


def test_reamer_refusals():
    with pytest.raises(Refused, match="shafts"):
        reamer_limits(10, "h7")
    with pytest.raises(OutOfRange):
        reamer_limits_for_hole(10, 10)
    with pytest.raises(Unknown, match="hand reamer"):
        reamers("hand reemer")
    with pytest.raises(OutOfRange):
        nearest_reamers(-3)
    with pytest.raises(Refused):
        nearest_reamers(3, most=0)
