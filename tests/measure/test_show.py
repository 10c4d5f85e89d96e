"""Sizes written out; expected values by hand (25.4 mm to the inch, half to even)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused
from asmade.measure.lengths import Length, read_angle, read_length
from asmade.measure.show import (
    show,
    show_64ths,
    show_angle,
    show_degrees_minutes,
    show_drills,
    show_inch,
    show_mm,
    show_thou,
)

NO_WRITTEN = Length(Fraction(1, 7), "made by hand", "by hand", "mm")


@pytest.mark.parametrize(
    ("mm", "step", "shown"),
    [
        (Fraction("30.1625"), "0.01", "30.16"),
        (Fraction("30.165"), "0.01", "30.16"),
        (Fraction("30.155"), "0.01", "30.16"),
        (30.165, "0.01", "30.16"),
        (30.155, "0.01", "30.16"),
        (2.675, "0.01", "2.68"),
        (Fraction("7.94"), "0.05", "7.95"),
        (Fraction("7.5"), "1", "8"),
        (Fraction("6.5"), "1", "6"),
        (7, "0.001", "7.000"),
        (Fraction("-0.004"), "0.01", "0.00"),
        (-0.0, "0.01", "0.00"),
        (Fraction("-0.006"), "0.01", "-0.01"),
        (Fraction("0.3"), "0.5", "0.5"),
    ],
)
def test_mm_to_a_named_step(mm, step, shown):
    assert show_mm(mm, step) == shown


def test_inches_and_thou():
    assert show_inch(Fraction("30.1625")) == "1.1875"
    assert show_inch(Fraction("30.1625"), "0.001") == "1.188"
    assert show_thou(Fraction("0.762")) == "30.0"


@pytest.mark.parametrize("step", ["0", "0.00", "-0.01", "", ".01", "1e-2", "nan", "1/64", "0.01.", "٠.٠١", "0,01"])
def test_a_step_is_a_positive_decimal(step):
    with pytest.raises(Refused, match="rounding step"):
        show_mm(1, step)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_nan_and_infinity_are_never_shown(value):
    with pytest.raises(OutOfRange, match="finite"):
        show_mm(value)


@pytest.mark.parametrize(
    ("mm", "shown"),
    [
        ("30.1625", "1 3/16 in"),
        ("30.2133", "1 3/16 in + 2 thou"),
        ("30.1117", "1 3/16 in - 2 thou"),
        ("0.0508", "2 thou"),
        ("-0.0508", "-2 thou"),
        ("0.01", "0.4 thou"),
        ("0.001", "0 in"),
        ("0", "0 in"),
        ("-0.001", "0 in"),
        ("-30.2133", "-1 3/16 in - 2 thou"),
        ("25.4", "1 in"),
        ("6", "15/64 in + 1.8 thou"),
    ],
)
def test_nearest_64th(mm, shown):
    """6 mm is 0.236220 in, 15/64 is 0.234375, the rest 1.845 thou."""
    assert show_64ths(Fraction(mm)) == shown


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("19 1/16", "19 1/16 in"),
        (".375", "3/8 in"),
        (".3", "0.3 in"),
        ("30 thou", "0.03 in"),
        ("12,50 mm", "12.5 mm"),
        ("1/3", "1/3 in"),
        ("1/96 + .001", "11 5/12 thou"),
        ("1/3 + .0001234", "1/3 in + 0.0001234 in"),
        ("#40", "No. 40"),
        ("drill F", "letter F"),
        ("000 SWG", "3/0 SWG"),
        ("12.5 mm +0.02 -0.01", "12.5 mm +0.02 -0.01"),
        ("12.5 mm +/-0.02", "12.5 mm +/-0.02"),
        ("12 mm -0.016/-0.043", "12 mm -0.016/-0.043"),
        ("1 0 -0.02", "1 in +0 -0.02"),
        ("1 in +/-0.02 mm", "1 in +/-0.02 mm"),
        ("0.3745/0.3750", "0.37475 in +/-0.00025"),
        ("3/8 H7", "3/8 in H7"),
        ("3/8 full", "3/8 in full"),
        ("-0", "0 in"),
    ],
)
def test_exactly(text, shown):
    assert show(read_length(text, unit="inch", signed=True)) == shown


@pytest.mark.parametrize(
    "length",
    [
        NO_WRITTEN,
        Length(Fraction(1, 7), "", "", "inch", fit_class="h8"),
        Length(Fraction(1), "", "", "mm", upper=Fraction(1, 7), lower=Fraction(0)),
    ],
)
def test_what_no_text_stands_for_is_refused(length):
    with pytest.raises(Refused, match="no written length"):
        show(length)


def test_drills_by_name():
    assert show_drills(Fraction("2.5"), count=2) == "2.5 mm (2.500 mm, exact), No. 40 (2.489 mm, 0.011 under)"
    assert show_drills(Fraction("2.5"), series=("number",), count=1) == "No. 40 (2.489 mm, 0.011 under)"


@pytest.mark.parametrize(
    ("degrees", "shown"),
    [(90.2, "90° 12′"), (89.9999, "90° 0′"), (-0.2, "-0° 12′"), (-0.001, "0° 0′"), (Fraction(2165, 24), "90° 12′")],
)
def test_degrees_and_minutes(degrees, shown):
    assert show_degrees_minutes(degrees) == shown
    assert abs(read_angle(shown).degrees - Fraction(degrees)) <= Fraction(1, 120)


def test_an_angle_exactly():
    assert show_angle(read_angle("90d 12m 30s")) == "90d 12m 30s"
    assert show_angle(read_angle("90d 20m")) == "90d 20m"
    assert show_angle(read_angle("-1/3")) == "-0d 20m"


@given(st.floats(-1e6, 1e6), st.sampled_from(("1", "0.1", "0.01", "0.001", "0.0001")))
@example(-0.0004, "0.001")
@example(2.675, "0.01")
@example(0.5, "1")
def test_a_float_is_written_as_the_fraction_that_its_shortest_decimal_names(value, step):
    assert show_mm(value, step=step) == show_mm(Fraction(repr(value)), step=step)
