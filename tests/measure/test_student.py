"""Student's t against scipy.special, a general-purpose reference package, and against printed tables."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import stdtr, stdtrit

from asmade.measure.errors import OutOfRange
from asmade.measure.student import t_below, t_reach


@pytest.mark.parametrize(
    ("dof", "reach"), [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (30, 2.042), (120, 1.980)]
)
def test_tables_of_t(dof, reach):
    """Printed 95 % two-sided values, any handbook of statistics."""
    assert t_reach(dof) == pytest.approx(reach, abs=0.0006)


@given(st.floats(-40, 40), st.floats(0.3, 1e5))
def test_probability_against_scipy(x, dof):
    assert t_below(x, dof) == pytest.approx(float(stdtr(dof, x)), rel=1e-11, abs=1e-13)


@given(st.floats(0.5, 1e6), st.floats(0.05, 0.999))
def test_reach_against_scipy(dof, level):
    assert t_reach(dof, level) == pytest.approx(float(stdtrit(dof, 0.5 + level / 2)), rel=1e-10)


def test_ends():
    assert t_below(math.inf, 3) == 1
    assert t_below(-math.inf, 3) == 0
    assert t_below(0, 3) == 0.5
    for bad in (0, -1, math.nan):
        with pytest.raises(OutOfRange):
            t_below(1, bad)
    with pytest.raises(OutOfRange):
        t_reach(3, 1)
