"""Quantities with units against definitions and an independent table of constants (scipy.constants, CODATA and NIST)."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from asmade.measure.errors import AsmadeError, OutOfRange, Refused, Unknown
from asmade.measure.quantities import INSIDE, UNITS, read_quantity

MPA = 1e6
KNOWN = [
    ("80 psi", "pressure", 80 * constants.psi / MPA),
    ("80 lb/sq in", "pressure", 80 * constants.psi / MPA),
    ("80 lbf/in2", "pressure", 80 * constants.psi / MPA),
    ("5.5 bar", "pressure", 5.5 * constants.bar / MPA),
    ("550 kPa", "pressure", 0.55),
    ("0.55 MPa", "pressure", 0.55),
    ("0.55 N/mm²", "pressure", 0.55),
    ("210 GPa", "pressure", 210_000),
    ("1 kgf/cm2", "pressure", constants.kgf * 1e4 / MPA),
    ("27 lbf", "force", 27 * constants.lbf),
    ("1,5 kN", "force", 1500),
    ("12 kgf", "force", 12 * constants.g),
    ("26 lb", "mass", 26 * constants.lb),
    ("8 oz", "mass", 8 * constants.oz),
    ("1 cwt", "mass", 112 * constants.lb),
    ("1/4 t", "mass", 250),
    ("68 F", "temperature", constants.convert_temperature(68, "F", "C")),
    ("-40 °F", "temperature", -40),
    ("293.15 K", "temperature", 20),
    ("20 degrees C", "temperature", 20),
    ("1.8 N m", "torque", 1800),
    ("16 lbf in", "torque", 16 * constants.lbf * constants.inch * 1000),
    ("2 lbf ft", "torque", 2 * constants.lbf * constants.foot * 1000),
    ("300 rpm", "speed", 300),
    ("5 rev/s", "speed", 300),
    ("25 %", "ratio", 0.25),
    ("1:4", "ratio", 0.25),
    ("3/4", "ratio", 0.75),
    ("0.12", "friction", 0.12),
    ("12 %", "friction", 0.12),
    ("6", "number", 6),
]


@pytest.mark.parametrize(("text", "kind", "value"), KNOWN, ids=[k[0] for k in KNOWN])
def test_as_defined(text, kind, value):
    found = read_quantity(text, kind=kind)
    assert float(found.value) == pytest.approx(value, rel=1e-12)
    assert found.unit == INSIDE[kind]
    assert isinstance(found.value, Fraction)


def test_what_is_definable_is_exact():
    assert read_quantity("1 lbf", kind="force").value == Fraction("4.4482216152605")
    assert read_quantity("1 lb", kind="mass").value == Fraction("0.45359237")
    assert read_quantity("212 F", kind="temperature").value == 100
    assert read_quantity("1 psi", kind="pressure").value * Fraction(254, 10) ** 2 == Fraction("4.4482216152605")


def test_how_it_was_read_is_told():
    assert read_quantity("80 psi", kind="pressure").how == "80 psi = 0.551581 MPa"
    assert read_quantity("20 C", kind="temperature").how == "20 C"


def test_a_bare_figure_takes_the_unit_it_is_given():
    assert read_quantity("20", kind="pressure", bare="MPa").value == 20
    assert read_quantity("20 bar", kind="pressure", bare="MPa").value == 2


REFUSED = [
    ("80", "pressure", Refused, "no unit"),
    ("80 N", "pressure", Refused, "no unit of pressure"),
    ("120 lb", "force", Refused, "120 lbf"),
    ("12 kg", "force", Refused, "12 kgf"),
    ("26 lbs", "mass", Refused, "26 lb"),
    ("16 lb in", "torque", Refused, "16 lbf in"),
    ("16 ft lb", "torque", Refused, "16 lbf ft"),
    ("80 psig", "pressure", Refused, "80 psi"),
    ("5 mPa", "pressure", Refused, "5 MPa"),
    ("20", "temperature", Refused, "no unit"),
    ("-5 N", "force", Refused, "negative"),
    ("-300 C", "temperature", OutOfRange, "absolute zero"),
    ("1.5", "friction", OutOfRange, "above 0 up to 1"),
    ("0", "friction", OutOfRange, "above 0 up to 1"),
    ("1:0", "ratio", Refused, "nothing"),
    ("nan", "force", Refused, "nan"),
    ("inf N", "force", Refused, "inf"),
    ("1e9 N", "force", Refused, "no unit"),
    ("123456789 N", "force", Refused, "digits"),
    ("1.234 to 2 N", "force", Refused, "no unit"),
    ("1,234 N", "force", Refused, "thousand"),
    ("", "force", Refused, "nothing is written"),
    ("20 C", "warmth", Unknown, "temperature"),
]


@pytest.mark.parametrize(("text", "kind", "error", "words"), REFUSED, ids=[f"{r[0]} {r[1]}" for r in REFUSED])
def test_refused(text, kind, error, words):
    with pytest.raises(error) as fault:
        read_quantity(text, kind=kind)
    assert words in str(fault.value)
    assert fault.value.way_out


kinds = st.sampled_from([kind for kind in INSIDE if kind != "temperature"])


@given(kinds, st.data(), st.decimals(0, 1000, places=4, allow_nan=False))
def test_proportional_to_the_figure(kind, data, figure):
    unit = data.draw(st.sampled_from(list(UNITS[kind])))
    if kind == "friction" and not 0 < Fraction(figure) * UNITS[kind][unit] <= 1:
        return
    found = read_quantity(f"{figure} {unit}".strip(), kind=kind)
    assert found.value == Fraction(figure) * UNITS[kind][unit]


@given(st.decimals(-200, 1000, places=3, allow_nan=False))
def test_temperature_scales_agree_with_an_independent_table(degrees):
    fahrenheit = read_quantity(f"{degrees} F", kind="temperature").value
    assert float(fahrenheit) == pytest.approx(constants.convert_temperature(float(degrees), "F", "C"), abs=1e-9)


@given(st.sampled_from(list(INSIDE)), st.text(max_size=20))
def test_any_text_is_read_or_refused(kind, text):
    with suppress(AsmadeError):
        assert read_quantity(text, kind=kind).value >= 0 or kind == "temperature"
