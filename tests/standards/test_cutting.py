"""Cutting speeds and forces: practice stays below the handbook, forces obey their laws, bad input is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.standards.cutting import (
    cutting_force,
    cutting_force_of,
    handbook_speed,
    handbook_speeds,
    operations,
    specific_cutting_force,
    speed_range,
    spindle_speed,
    surface_speed,
)
from asmade.standards.materials import materials
from asmade.standards.tables import load


@pytest.mark.parametrize(
    "row",
    [r for r in load("cutting_practice").rows if r["tool"] == "HSS" and r["handbook"]],
    ids=lambda r: f"{r['group']}-{r['operation']}",
)
def test_practice_never_runs_faster_than_the_handbook(row):
    """Machinery's Handbook, HSS speed tables, against the practical figures for a small shop."""
    operation = {"facing": "turning", "boring": "turning", "parting": "turning"}.get(row["operation"], row["operation"])
    if operation in ("turning", "milling", "drilling", "reaming"):
        printed = {(s.material, s.condition): s.m_min for s in handbook_speeds(operation)}
        limit = printed.get(tuple(row["handbook"]))
        assert limit is None or row["high"] <= limit + 0.5


@pytest.mark.parametrize("stuff", materials(), ids=lambda m: m.name)
def test_every_material_has_speeds_and_a_force_or_says_why_not(stuff):
    for operation in operations():
        found = speed_range(stuff, operation)
        assert 0 < found.low_m_min <= found.high_m_min
    if stuff.family == "plastic":
        with pytest.raises(Unknown, match="plastics"):
            cutting_force_of(stuff)
    else:
        assert 500 < cutting_force_of(stuff).kc11_mpa < 3500


def test_reaming_is_no_faster_than_half_of_drilling():
    """US War Department TM 1-420, section 37: machine reaming at about one half of the drilling speed."""
    for stuff in materials():
        assert speed_range(stuff, "reaming").high_m_min <= 0.55 * speed_range(stuff, "drilling").high_m_min


@given(st.floats(200, 4000), st.floats(0, 1), st.floats(0.001, 3), st.floats(0.001, 3))
def test_thin_chips_cost_more_force_per_area_and_never_more_force(kc11, mc, a, b):
    thin, thick = sorted((a, b))
    assert specific_cutting_force(kc11, mc, thin) >= specific_cutting_force(kc11, mc, thick) - 1e-9
    assert cutting_force(kc11, mc, thin, 1) <= cutting_force(kc11, mc, thick, 1) + 1e-9
    assert specific_cutting_force(kc11, mc, 1) == pytest.approx(kc11)


@given(st.floats(0.1, 500), st.floats(0.1, 2000))
def test_spindle_speed_turns_round(speed, diameter):
    assert surface_speed(diameter, spindle_speed(speed, diameter)) == pytest.approx(speed)


@pytest.mark.parametrize("bad", [0, -1])
def test_speeds_and_sizes_that_are_none_are_refused(bad):
    with pytest.raises(OutOfRange, match="above 0"):
        spindle_speed(bad, 10)
    with pytest.raises(OutOfRange, match="above 0"):
        spindle_speed(10, bad)
    with pytest.raises(OutOfRange):
        cutting_force(1500, 0.2, 0.1, bad)


def test_what_is_no_number_is_refused():
    with pytest.raises(Refused):
        spindle_speed(math.nan, 10)
    with pytest.raises(OutOfRange, match=r"0\.001 to 3 mm"):
        specific_cutting_force(1500, 0.2, math.nan)
    with pytest.raises(OutOfRange, match="0 to 1"):
        specific_cutting_force(1500, 1.2, 0.1)


def test_unknown_names_are_refused_with_near_ones():
    with pytest.raises(Unknown, match="did you mean turning"):
        speed_range("EN1A", "turnig")
    with pytest.raises(Unknown, match="HSS or carbide"):
        speed_range("EN1A", "turning", "diamond")
    with pytest.raises(Unknown, match="take HSS"):
        speed_range("EN1A", "tapping", "carbide")
    with pytest.raises(Unknown, match="reaming only"):
        handbook_speeds("turning", "carbide")
    with pytest.raises(Unknown, match="did you mean"):
        handbook_speed("303 free-machining stainless", "135-185 HB", "drilling")
    with pytest.raises(Unknown):
        cutting_force_of(99)
