"""What is asked of the joints, pins and keys that back them up, and sizes when warm."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange
from asmade.reckon.joints import demand, pinned, thermal
from asmade.reckon.joints.worked import Given, work
from asmade.standards import tables


def test_missing_inputs_are_named_and_never_zero() -> None:
    found = demand.axle_torque(600, 24, None, None, 120)
    assert found.value is None
    assert found.missing == ("friction of wheel on rail", "load on the axle")
    assert "load on the axle not known" in found.working
    balance = demand.capacity_over_demand("wheel on axle", None, found)
    assert balance.ratio is None
    assert balance.missing == ("capacity of wheel on axle", "friction of wheel on rail", "load on the axle")


def test_working_writes_the_sum_out() -> None:
    text = demand.piston_thrust(38, 0.55).working
    assert "F = p pi D^2/4" in text
    assert "p = steam pressure 0.55 MPa" in text
    assert "= 623.763 N" in text


@given(load=st.floats(1, 500), friction=st.floats(0.05, 0.5), thrust=st.floats(1, 3000))
def test_axle_torque_never_exceeds_either_limit(load: float, friction: float, thrust: float) -> None:
    torque = demand.axle_torque(thrust, 24, load, friction, 120).value
    grip = demand.adhesion_limit(load, friction).value
    assert torque is not None
    assert grip is not None
    assert torque <= thrust * 0.024 + 1e-12
    assert torque <= grip * 0.060 + 1e-12
    assert torque == pytest.approx(min(thrust * 0.024, grip * 0.060))


def test_a_chain_of_demands() -> None:
    """By hand: 38 mm bore, 0.55 MPa, r 24, l 180; pin 8 mm, rod 8 mm off its seat, bush 6 long."""
    thrust = demand.piston_thrust(38, 0.55).value
    force = demand.rod_force(thrust, 24, 180).value
    assert force == pytest.approx(623.763 / math.sqrt(1 - (24 / 180) ** 2), rel=2e-6)
    assert demand.pin_bending(force, 8, 8).value == pytest.approx(force * 8 / (math.pi * 8**3 / 32))
    assert demand.pin_shear(force, 8).value == pytest.approx(force / (math.pi * 16) * 4 / 3)
    assert demand.bearing_pressure(force, 8, 6).value == pytest.approx(force / 48)
    drag = demand.valve_force(25, 30, 0.55, 0.2).value
    both = demand.return_crank_torque(drag, 25, force, 8, 0.2).value
    assert both == pytest.approx((drag * 25 + 0.2 * force * 4) / 1000)
    assert demand.bush_friction_torque(force, 8, 0.2).value == pytest.approx(both - drag * 0.025)


def test_a_demand_of_nothing_is_met_without_limit() -> None:
    assert demand.capacity_over_demand("joint", 1.0, demand.adhesion_limit(0, 0.2)).ratio == math.inf


@pytest.mark.parametrize(
    "call",
    [
        lambda: demand.piston_thrust(38, 80),
        lambda: demand.piston_thrust(0, 0.5),
        lambda: demand.piston_thrust(38, -0.1),
        lambda: demand.rod_force(100, 24, 20),
        lambda: demand.adhesion_limit(-1, 0.2),
        lambda: demand.adhesion_limit(100, 0),
        lambda: demand.pin_bending(math.nan, 8, 8),
        lambda: demand.bearing_pressure(100, 8, 0),
        lambda: demand.capacity_over_demand("joint", -1, demand.adhesion_limit(10, 0.2)),
        lambda: work("sum", "N", "F", "none", lambda _: math.inf, Given("F", "force", 1.0, "N")),
        lambda: pinned.pin_shear_force_n(3, 100, 3),
        lambda: pinned.cross_pin_torque_nm(5, 12, 100),
        lambda: pinned.key_torque_nm(7, 3, 10, 12, 100, 150),
        lambda: pinned.key_torque_nm(3, 3, 0, 12, 100, 150),
        lambda: pinned.grub_screw(1.0),
        lambda: pinned.grub_screw(12.0),
        lambda: pinned.screw_strip_n(9.1, 9.0, 1.5, 10, 30, 100),
        lambda: pinned.nut_strip_n(10, 9.0, 1.5, 10, 47.5, 100),
        lambda: thermal.length_at_20_mm(100, 500, 11e-6),
        lambda: thermal.length_at_mm(-1, 20, 11e-6),
        lambda: thermal.length_at_mm(1, 20, 11.0),
        lambda: thermal.interference_at_mm(
            -0.01, 10, hub_c=20, hub_expansion_per_k=1e-5, shaft_c=20, shaft_expansion_per_k=1e-5
        ),
    ],
)
def test_impossible_inputs_are_refused(call) -> None:
    with pytest.raises(OutOfRange):
        call()


def test_pins_and_keys() -> None:
    assert pinned.key_torque_nm(3, 3, 10, 12, 100, 1000) == pytest.approx(18)  # shear rules when nothing crushes
    many = pinned.key_torque_nm(3.0, np.array([3.0, 3.0]), 10.0, 12.0, 100.0, np.array([150.0, 1000.0]))
    assert np.asarray(many).tolist() == pytest.approx([13.5, 18.0])
    assert pinned.joint_line_pin_torque_nm(3, 20, 16, 100, 150) == 2 * pinned.joint_line_pin_torque_nm(
        3, 10, 16, 100, 150
    )
    assert pinned.shear_yield_mpa(300) == pytest.approx(0.577 * 300, rel=1e-3)  # Shigley's 0.577


def test_grub_screws_take_the_next_smaller_row() -> None:
    assert pinned.grub_screw(3.0).size == "#4"  # 0.112 in = 2.84 mm, #5 is 3.18
    assert pinned.grub_screw(6.35).hold_n == pytest.approx(4448, abs=1)
    holds = [pinned.grub_screw(d).hold_n for d in (1.6, 2, 2.5, 3, 4, 5, 6, 8)]
    assert holds == sorted(holds)
    assert "from memory" in pinned.grub_screw(3).source
    assert pinned.grub_screw_torque_nm(1000, 10) == 5
    assert tables.load("grub_screws", "asmade.reckon.joints").meta.native == "inch"


def test_threads_strip_in_proportion_to_their_engagement() -> None:
    """M6 x 1: D1 4.917, d2 5.350 (ISO 724)."""
    short, long = (pinned.screw_strip_n(4.917, 5.350, 1, length, 30, 100) for length in (3, 6))
    assert long == pytest.approx(2 * short)
    assert pinned.nut_strip_n(6, 5.350, 1, 6, 30, 100) > long  # the hole's thread has the larger area
    assert pinned.thread_tension_n(20.1, 400) == pytest.approx(8040)


@given(at=st.floats(-20, 200), alpha=st.floats(5e-6, 3e-5), length=st.floats(1, 500))
def test_to_20_c_and_back(at: float, alpha: float, length: float) -> None:
    assert thermal.length_at_mm(thermal.length_at_20_mm(length, at, alpha), at, alpha) == pytest.approx(length)
    # tool and part of one metal at one temperature need no correction
    same = thermal.reading_at_20_mm(
        length, part_c=at, part_expansion_per_k=alpha, tool_c=at, tool_expansion_per_k=alpha
    )
    assert same == pytest.approx(length)


def test_a_bronze_bush_in_steel_is_held_tighter_hot() -> None:
    hot = {"hub_c": 120.0, "hub_expansion_per_k": 11.5e-6, "shaft_c": 120.0, "shaft_expansion_per_k": 18e-6}
    assert thermal.interference_at_mm(0.012, 12, **hot) == pytest.approx(0.012 + 12 * 6.5e-6 * 100)
    cold = hot | {"hub_c": 20.0, "shaft_c": 20.0}
    assert thermal.interference_at_mm(0.012, 12, **cold) == pytest.approx(0.012)
    temperatures = np.array([20.0, 120.0])
    many = thermal.clearance_at_mm(
        8.03, 8.0, hole_c=temperatures, hole_expansion_per_k=18e-6, shaft_c=temperatures, shaft_expansion_per_k=11.5e-6
    )
    assert np.asarray(many).tolist() == pytest.approx([0.03, 0.03525], abs=1e-5)
