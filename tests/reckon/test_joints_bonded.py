"""Bonded joints: gap, strength, time; a placeholder stays marked as one."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.joints import bonded
from asmade.reckon.joints.bonded import PLACEHOLDER, Factors, gap_against
from asmade.standards import tables
from asmade.standards.fits import wanted

INVENTED = bonded.Adhesive(
    "invented product", 20, 0.02, 0.12, 10, 24, 22, "invented data sheet", service_most_c=150, undo_c=250
)


@given(length=st.floats(1, 50), times=st.floats(1.1, 5), d=st.floats(2, 60))
def test_capacity_scales_with_length_and_torque_with_the_square_of_diameter(
    length: float, times: float, d: float
) -> None:
    force = bonded.bonded_force_n(d, length, 15, 0.4)
    assert bonded.bonded_force_n(d, length * times, 15, 0.4) == pytest.approx(times * force)
    assert bonded.bonded_torque_nm(2 * d, length, 15, 0.4) == pytest.approx(
        4 * bonded.bonded_torque_nm(d, length, 15, 0.4)
    )
    # the test of ISO 10123 run backwards gives the strength that was put in
    assert bonded.shear_strength_mpa(force, d, length) == pytest.approx(15 * 0.4)


def test_many_joints_at_once() -> None:
    torque = bonded.bonded_torque_nm(np.array([15.0, 10.0]), np.array([20.0, 12.0]), 20.0, np.array([1.0, 0.5]))
    assert np.asarray(torque).tolist() == pytest.approx([141.37, 18.85], abs=0.01)  # rows bond-0 and bond-1


def test_factors_only_take_away() -> None:
    factors = Factors(gap=0.8, material=0.7, temperature=1, surface=1, safety=2)
    assert factors.product == pytest.approx(0.28)
    for name in ("gap", "material", "temperature", "surface"):
        for bad in (0, 1.1, math.nan):
            with pytest.raises(OutOfRange, match=name):
                replace(factors, **{name: bad})
    with pytest.raises(OutOfRange, match="safety"):
        replace(factors, safety=0.9)


def test_placeholder_factors_are_never_above_the_test_of_the_standard() -> None:
    for row in tables.load("adhesive_factors", "asmade.reckon.joints").rows:
        assert 0 < bonded.placeholder_factor(str(row["name"])) <= 1


def test_the_placeholder_is_marked_and_agrees_with_the_fit_word() -> None:
    assert PLACEHOLDER.placeholder
    assert not INVENTED.placeholder
    word = wanted("bonded", 16)
    assert (word.least_mm, word.most_mm) == (PLACEHOLDER.gap_least_mm, PLACEHOLDER.gap_most_mm)


@pytest.mark.parametrize(
    ("shaft", "verdict", "margin"),
    [
        (15.86, "within the product's range", 0.01),
        (15.87, "within the product's range", 0.0),
        (15.89, "too tight: no room for adhesive", -0.02),
        (15.90, "too tight: no room for adhesive", -0.03),
        (15.78, "too wide for the product", -0.02),
    ],
)
def test_gap_on_diameter(shaft: float, verdict: str, margin: float) -> None:
    found = gap_against(PLACEHOLDER, 15.90, shaft)
    assert found.verdict == verdict
    assert found.margin_mm == pytest.approx(margin)


def test_cold_takes_longer_and_warmth_shortens_the_working_time() -> None:
    """TM 5-3820-256-24-5: 24 h at room temperature, 72 h at 10 C."""
    assert bonded.full_cure_hours(INVENTED, 10, gap_factor=1, metal_factor=1) == pytest.approx(72, rel=0.01)
    assert bonded.full_cure_hours(INVENTED, 22, gap_factor=1.5, metal_factor=2) == pytest.approx(72)
    assert bonded.working_minutes(INVENTED, 32) == pytest.approx(4)
    assert bonded.working_minutes(INVENTED, 10) == 10  # the cold is not counted on
    for bad in (0, 60, math.nan):
        with pytest.raises(OutOfRange):
            bonded.full_cure_hours(INVENTED, bad, gap_factor=1, metal_factor=1)
    with pytest.raises(OutOfRange, match="factor for the gap"):
        bonded.full_cure_hours(INVENTED, 20, gap_factor=0.5, metal_factor=1)


def test_volumes_and_lost_area() -> None:
    assert bonded.gap_volume_mm3(16.1, 16.0, 10) == pytest.approx(math.pi * 16.05 * 0.05 * 10, rel=1e-9)
    assert bonded.groove_volume_mm3(16, 1, 0.2) == pytest.approx(math.pi / 4 * (16**2 - 15.6**2))
    whole, grooved = bonded.bonded_area_mm2(16, 14), bonded.bonded_area_mm2(16, 14, 2)
    assert grooved == pytest.approx(whole * 12 / 14)
    with pytest.raises(OutOfRange, match="grooves"):
        bonded.bonded_area_mm2(16, 14, 14)


def test_undoing_and_running_warm() -> None:
    assert "250 C" in bonded.undo_advice(INVENTED)
    assert "fumes" in bonded.undo_advice(INVENTED)
    assert "not known" in bonded.undo_advice(PLACEHOLDER)
    assert bonded.temperature_allowed(INVENTED, 120) is True
    assert bonded.temperature_allowed(INVENTED, 160) is False
    assert bonded.temperature_allowed(PLACEHOLDER, 120) is None
    with pytest.raises(OutOfRange):
        bonded.temperature_allowed(INVENTED, math.inf)
    assert any("flame" in caution for caution in bonded.CAUTIONS)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="press fit"):
        gap_against(PLACEHOLDER, 15.9, 15.91)
    with pytest.raises(OutOfRange, match="bonded length"):
        bonded.bonded_area_mm2(16, 0)
    with pytest.raises(OutOfRange, match="shear strength"):
        replace(INVENTED, strength_mpa=200)
    with pytest.raises(Refused, match="data sheet"):
        replace(INVENTED, source="")
    with pytest.raises(OutOfRange, match="greatest gap"):
        replace(INVENTED, gap_most_mm=0.01)
    with pytest.raises(OutOfRange):
        bonded.groove_volume_mm3(16, 1, 8)
