"""Periodic curves from samples: exact between them, openings to the last figure, the odd cases named."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from asmade.motion.valves.curve import Curve, above_zero, extremes

TURN = 2 * np.pi


def sampled(function, count=96):
    return Curve.through(function(np.arange(count) * TURN / count)[None])


def test_exact_between_samples():
    curve = sampled(lambda a: 0.3 + 2 * np.cos(a - 0.4) + 0.2 * np.sin(5 * a))
    angles = np.array([[0.123, 2.0, 6.1, -3.3]])
    assert curve.at(angles) == pytest.approx(0.3 + 2 * np.cos(angles - 0.4) + 0.2 * np.sin(5 * angles), abs=1e-13)
    value, rate = curve.with_rate(angles)
    assert rate == pytest.approx(-2 * np.sin(angles - 0.4) + np.cos(5 * angles), abs=1e-12)
    assert value == pytest.approx(curve.at(angles))
    assert curve.tail < 1e-14


def test_tail_tells_when_samples_are_too_few():
    sharp = lambda a: 1 / (1.02 - np.cos(a))  # noqa: E731  # a spike whose harmonics die slowly
    assert sampled(sharp, 384).tail < 1e-10
    between = np.linspace(0, TURN, 997)[None]
    for function, count in ((sharp, 48), (lambda a: np.abs(np.sin(0.5 * a)), 96)):
        curve = sampled(function, count)
        error = np.abs(curve.at(between) - function(between)).max()
        assert error > 1e-3
        assert 0.3 * error < curve.tail < 30 * error


def test_reversed_runs_backwards():
    curve = sampled(lambda a: np.sin(a) + 0.2 * np.cos(3 * a + 1))
    angles = np.array([[0.7, 3.0]])
    assert curve.reversed(np.array([True])).at(angles) == pytest.approx(curve.at(-angles))
    assert curve.reversed(np.array([False])).at(angles) == pytest.approx(curve.at(angles))


def test_opening_of_a_cosine():
    """cos(a - 1) - 0.5 stands above zero for 60 degrees either side of 1."""
    found = above_zero(sampled(lambda a: np.cos(a - 1) - 0.5))
    assert found.ever.all()
    assert found.ends.all()
    assert found.opens[0] % TURN == pytest.approx((1 - np.pi / 3) % TURN, abs=1e-12)
    assert found.closes[0] % TURN == pytest.approx(1 + np.pi / 3, abs=1e-12)
    assert found.greatest[0] == pytest.approx(0.5)
    assert found.stretches[0] == 1


def test_an_opening_narrower_than_the_grid_is_found():
    found = above_zero(sampled(lambda a: np.cos(a - 1.0036) - 1 + 1e-7))
    assert found.ever[0]
    assert found.closes[0] - found.opens[0] == pytest.approx(2 * np.sqrt(2e-7), rel=1e-4)


@pytest.mark.parametrize(("shift", "ever", "ends"), [(-1.5, False, True), (1.5, True, False)])
def test_never_and_always(shift, ever, ends):
    found = above_zero(sampled(lambda a: np.cos(a) + shift))
    assert (found.ever[0], found.ends[0]) == (ever, ends)
    assert np.isnan(found.opens[0])
    assert np.isnan(found.closes[0])


def test_two_stretches_are_counted_and_the_greater_taken():
    found = above_zero(sampled(lambda a: np.cos(2 * a) + 0.2 * np.cos(a) - 0.5))
    assert found.stretches[0] == 2
    assert found.greatest_at[0] % TURN == pytest.approx(0.0, abs=1e-9)


def test_extremes():
    low, high = extremes(sampled(lambda a: 1 + np.sin(a) + 0.3 * np.sin(3 * a + 0.2)))
    fine = np.linspace(0, TURN, 2_000_001)
    curve = 1 + np.sin(fine) + 0.3 * np.sin(3 * fine + 0.2)
    assert low[0] == pytest.approx(curve.min(), abs=1e-11)
    assert high[0] == pytest.approx(curve.max(), abs=1e-11)


@settings(max_examples=60, deadline=None)
@given(
    lap=st.floats(-0.8, 0.8),
    second=st.floats(-0.2, 0.2),
    third=st.floats(-0.1, 0.1),
    phase=st.floats(0, 6.28),
)
def test_opening_and_closing_are_roots_around_the_top(lap, second, third, phase):
    def curve(a):
        return np.cos(a - phase) + second * np.cos(2 * a) + third * np.sin(3 * a) - lap

    found = above_zero(sampled(curve))
    if not (found.ever[0] and found.ends[0]):
        fine = curve(np.linspace(0, TURN, 20_001))
        assert fine.max() < 1e-6 or fine.min() > -1e-6
        return
    assert found.opens[0] <= found.greatest_at[0] <= found.closes[0] < found.opens[0] + TURN
    for root, inside in ((found.opens[0], 1e-4), (found.closes[0], -1e-4)):
        assert curve(root) == pytest.approx(0.0, abs=1e-10)
        if curve(root + inside) * curve(root - inside) < 0:
            assert root == pytest.approx(brentq(curve, root - 1e-4, root + 1e-4, xtol=1e-14), abs=1e-9)
