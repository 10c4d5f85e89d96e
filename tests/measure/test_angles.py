"""Angles as written; expected values by hand (a degree is 60 minutes, a minute 60 seconds)."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from asmade.measure.errors import Refused
from asmade.measure.lengths import read_angle


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("90", "90"),
        ("90°", "90"),
        ("90 deg", "90"),
        ("90deg", "90"),
        ("90 DEGREES", "90"),
        ("22.5", "45/2"),
        ("22,5", "45/2"),
        ("22 1/2°", "45/2"),
        ("22½°", "45/2"),
        ("0.2 deg", "1/5"),
        ("-0.5 deg", "-1/2"),
        ("− 0.5°", "-1/2"),
        ("90d 12m", "451/5"),
        ("90d12m", "451/5"),
        ("90° 12′", "451/5"),
        ("90° 12.5'", "10825/120"),
        ("90d 12m 30s", "2165/24"),
        ("90° 12' 30\"", "2165/24"),
        ("90º 12' 30''", "2165/24"),
        ("-0d 30m", "-1/2"),
        ("11 deg 30 min", "23/2"),
        ("360", "360"),
    ],
)
def test_exact_degrees(text, degrees):
    found = read_angle(text)
    assert found.degrees == Fraction(degrees)
    assert found.radians == pytest.approx(math.radians(Fraction(degrees)), rel=1e-15)
    assert found.text == text


@pytest.mark.parametrize(
    "text",
    ["", " ", "x", "deg", "°", "90 x", "90 mm", "1/4 in", "90 12", "90d 60m", "90d 12m 60s", "90.5d 12m", "90d 12.5m 3s",
     "22 1/2d 3m", "90d 12s", "12m", "30'", '45"', "1,234", "5e1", "nan", "361", "-361", "1.57 rad", "90--", "--90", "1.5.2",
     "09", "45.", "3/0", "90°°", "90d -12m"],
)  # fmt: skip
def test_refused(text):
    with pytest.raises(Refused, match="quarter: cannot read") as caught:
        read_angle(text, thing="quarter")
    assert caught.value.way_out


@pytest.mark.parametrize(
    ("text", "way"), [("12m", "0d 12m"), ("30'", "0d 30m"), ("1.57 rad", "89.9544 deg"), ("3/17 deg", "3/16 deg")]
)
def test_the_way_out(text, way):
    with pytest.raises(Refused) as caught:
        read_angle(text)
    assert caught.value.way_out == f"write '{way}'"
    read_angle(way)
