from __future__ import annotations

import contextlib
import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.book.address import Address
from asmade.book.grammar import evaluate, gradient, linear, read_sum
from asmade.measure.errors import Refused

SIZES = {Address("a"): 3.0, Address("b"): 4.0, Address("c"): 0.5}


def at(text: str) -> float:
    return float(evaluate(read_sum(text), SIZES.__getitem__))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a + b * 2", 11),
        ("(a + b) * 2", 14),
        ("a - b - 1", -2),
        ("-a + 2", -1),
        ("2 ** 3", 8),
        ("b ** 2 - a ** 2", 7),
        ("12 / b / a", 1),
        ("hypot(a, b)", 5),
        ("sqrt(a * 3)", 3),
        ("a + 0.5 in", 15.7),
        ("10 thou", 0.254),
        ("sin(30 deg)", 0.5),
        ("atan2(1, 1)", math.pi / 4),
        ("acos(c)", math.pi / 3),
        ("--a", 3),
    ],
)
def test_sums_are_worked_as_arithmetic_has_it(text, value):
    """Values by hand."""
    assert at(text) == pytest.approx(value, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    ["", "a +", "a b", "a / 2 mm", "(a", "a)", "a ** b", "a ** 2.5", "foo(a)", "hypot(a)", "a @ b", "a ^ 2", "a;b",
     "a + '", "(" * 100 + "a" + ")" * 100, "a" + "+a" * 2000],
)  # fmt: skip
def test_what_is_no_sum_is_refused_with_its_reason(text):
    with pytest.raises(Refused):
        read_sum(text)


def test_linear_sums_keep_exact_coefficients():
    found = linear(read_sum("0.5 * a - (b - 2 mm) / 4 + 1/8 * 1 in"))
    assert found is not None
    assert found.terms == {Address("a"): Fraction(1, 2), Address("b"): Fraction(-1, 4)}
    assert found.constant == Fraction(1, 2) + Fraction(254, 80)


@pytest.mark.parametrize("text", ["a * b", "a / b", "sqrt(a)", "a ** 2", "sin(a)"])
def test_what_is_not_linear_says_so(text):
    assert linear(read_sum(text)) is None


TEXTS = ["a * b - c", "a / b", "hypot(a, b) * c", "sin(a) + cos(b) - tan(c)", "sqrt(a ** 2 + b ** 2 - 2 * a * b * cos(c))",
         "asin(c / a) + acos(c / b) + atan(a)", "atan2(a, b) ** 3", "-(a - b) ** 2 / c"]  # fmt: skip


@pytest.mark.parametrize("text", TEXTS)
@given(a=st.floats(1, 9), b=st.floats(1, 9), c=st.floats(0.1, 0.9))
def test_rates_agree_with_difference_quotients(text, a, b, c):
    node = read_sum(text)
    sizes = {Address("a"): a, Address("b"): b, Address("c"): c}
    _, rates = gradient(node, sizes.__getitem__)
    step = 1e-6
    for address, size in sizes.items():
        up = {**sizes, address: size + step}
        down = {**sizes, address: size - step}
        quotient = (evaluate(node, up.__getitem__) - evaluate(node, down.__getitem__)) / (2 * step)
        if abs(quotient) < 1e4:  # near a singular point a quotient proves nothing
            assert rates.get(address, 0.0) == pytest.approx(quotient, rel=1e-4, abs=1e-5)


def test_a_sum_serves_one_engine_and_many():
    many = {address: np.full(5, value) for address, value in SIZES.items()}
    assert evaluate(read_sum("hypot(a, b) + c"), many.__getitem__) == pytest.approx(np.full(5, 5.5))


@given(st.text(max_size=60))
def test_no_text_crashes_the_reader(text):
    with contextlib.suppress(Refused):
        read_sum(text)


@pytest.mark.parametrize("text", ["a * 1e99999999", "a * 1e-99999999", "1e+31 * a"])
def test_figures_beyond_any_engine_are_refused_at_once(text):
    with pytest.raises(Refused, match="beyond any figure"):
        read_sum(text)


def test_towers_of_powers_end_as_not_linear_and_not_known_never_in_a_crash():
    tower = read_sum("a + " + "(" * 20 + "9" + "**9)" * 20)
    assert linear(tower) is None
    assert math.isnan(evaluate(tower, lambda _: 3.0))
    bent = read_sum("(" * 20 + "a" + "**9)" * 20)
    value, rates = gradient(bent, lambda _: 10.0)
    assert math.isnan(value)
    assert set(rates) == {Address("a")}
    assert math.isnan(gradient(read_sum("1 / a"), lambda _: 1e-200)[0])
