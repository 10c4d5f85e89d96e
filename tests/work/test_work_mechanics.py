"""Forces, deflection, packing, tapers, flats and mandrels against textbook cases and against geometry done otherwise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.standards.cutting import specific_cutting_force
from asmade.work import deflection, flats, force, mandrels, packing, tapers, times

HOLDINGS = deflection.HOLDINGS


def beam_by_stiffness(held, force_n, length, at, modulus, inertia, elements=40):
    """Deflection under a force by beam elements: each element's stiffness as any book on matrix structures has it."""
    nodes = sorted({*np.linspace(0, length, elements + 1), at})
    count = len(nodes)
    stiff = np.zeros((2 * count, 2 * count))
    for k in range(count - 1):
        h = nodes[k + 1] - nodes[k]
        own = modulus * inertia / h**3 * np.array(
            [[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h],
             [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]]
        )  # fmt: skip
        stiff[2 * k : 2 * k + 4, 2 * k : 2 * k + 4] += own
    held_down = {"chuck only": [0, 1], "chuck and centre": [0, 1, 2 * count - 2], "between centres": [0, 2 * count - 2]}
    free = [d for d in range(2 * count) if d not in held_down[held]]
    load = np.zeros(2 * count)
    load[2 * nodes.index(at)] = force_n
    moved = np.zeros(2 * count)
    moved[free] = np.linalg.solve(stiff[np.ix_(free, free)], load[free])
    return moved[2 * nodes.index(at)]


@pytest.mark.parametrize("held", HOLDINGS)
@pytest.mark.parametrize("share", [0.2, 0.5, 0.73])
def test_deflection_against_beam_elements(held, share):
    inertia = deflection.second_moment_mm4(12)
    found = deflection.deflection_mm(held, 80, 150, share * 150, 207_000, inertia)
    assert found == pytest.approx(beam_by_stiffness(held, 80, 150, share * 150, 207_000, inertia), rel=1e-6)


def test_deflection_of_the_textbook_cases():
    """Shigley's table of beams: F L^3/3EI at the end; F L^3/48EI, 7 F L^3/768 EI in the middle."""
    inertia, modulus = deflection.second_moment_mm4(10), 207_000
    unit = 100 * 50**3 / (modulus * inertia)
    assert deflection.deflection_mm("chuck only", 100, 50, 50, modulus, inertia) == pytest.approx(unit / 3)
    assert deflection.deflection_mm("between centres", 100, 50, 25, modulus, inertia) == pytest.approx(unit / 48)
    assert deflection.deflection_mm("chuck and centre", 100, 50, 25, modulus, inertia) == pytest.approx(7 * unit / 768)
    assert unit / 3 == pytest.approx(0.0410, abs=5e-5)


@pytest.mark.parametrize("held", HOLDINGS)
def test_work_gives_most_where_it_is_said_to(held):
    at = np.linspace(0, 100, 4001)
    inertia = deflection.second_moment_mm4(8)
    over = [deflection.deflection_mm(held, 50, 100, float(x), 207_000, inertia) for x in at]
    worst = deflection.turned_shape(held, 50, 100, 8, 207_000)
    assert worst.worst_at_mm == pytest.approx(at[int(np.argmax(over))], abs=0.03)
    assert worst.worst_mm == pytest.approx(2 * max(over), rel=1e-6)


@pytest.mark.parametrize("held", HOLDINGS)
def test_longest_turns_the_sum_round(held):
    long = deflection.longest_mm(held, 60, 10, 207_000, 0.02)
    assert deflection.turned_shape(held, 60, long, 10, 207_000).worst_mm == pytest.approx(0.02)


def test_tool_deflection_by_hand():
    assert deflection.tool_deflection_mm(400, 20, 10, 10, 210_000) == pytest.approx(4 * 400 * 8000 / (210_000 * 1e4))


def test_a_hollow_bar_is_weaker_by_its_bore():
    solid = deflection.turned_shape("chuck only", 50, 60, 20, 207_000).worst_mm
    tube = deflection.turned_shape("chuck only", 50, 60, 20, 207_000, bore_mm=16).worst_mm
    assert tube == pytest.approx(solid / (1 - (16 / 20) ** 4))


@given(st.floats(0.2, 2), st.floats(0.03, 0.3), st.floats(10, 100))
def test_force_power_and_depth_agree(depth, feed, speed):
    cut = force.turning_cut(1350, 0.21, depth_mm=depth, feed_mm=feed, speed_m_min=speed, diameter_mm=40)
    assert cut.force_n == pytest.approx(specific_cutting_force(1350, 0.21, feed) * depth * feed)
    rev = 1000 * speed / (math.pi * 40)
    assert force.torque_nm(cut.power_w, rev) == pytest.approx(cut.torque_nm)
    back = force.deepest_cut_mm(1350, 0.21, feed_mm=feed, speed_m_min=speed, power_at_tool_w=cut.power_w)
    assert back == pytest.approx(depth)


def test_an_entering_angle_thins_the_chip():
    square = force.turning_cut(1350, 0.21, depth_mm=1, feed_mm=0.2, speed_m_min=30, diameter_mm=20)
    slanted = force.turning_cut(
        1350, 0.21, depth_mm=1, feed_mm=0.2, speed_m_min=30, diameter_mm=20, entering_rad=math.radians(45)
    )
    assert square.force_n == pytest.approx(378.57, abs=0.01)  # kc 1892.86 (by hand)
    assert slanted.chip_thickness_mm == pytest.approx(0.2 * math.sin(math.radians(45)))
    assert slanted.force_n > square.force_n


def test_a_drill_and_a_slot_by_hand():
    drill = force.drilling_cut(2500, 0, drill_mm=8, feed_mm=0.1, rev_min=800)
    assert drill.torque_nm == pytest.approx(2.0)
    assert drill.power_w == pytest.approx(2.0 * 2 * math.pi * 800 / 60)
    slot = force.milling_cut(1500, 0.2, cutter_mm=10, width_mm=10, depth_mm=2, feed_tooth_mm=0.03, teeth=2, rev_min=900)
    assert slot.chip_thickness_mm == pytest.approx(2 * 0.03 / math.pi)
    assert slot.power_w == pytest.approx(slot.specific_force_mpa * 10 * 2 * 0.03 * 2 * 900 / 60_000)


def jaws(diameter, offset, *, flat):
    """Packing by moving a jaw of each kind in until it touches a circle that stands off the axis by ``offset``."""
    radius, down = diameter / 2, np.array([0.0, -offset])

    def reach(angle):
        """Distance along the jaw's line at which it touches the circle."""
        along = np.array([math.cos(angle), math.sin(angle)])
        if flat:
            return radius + float(along @ down)
        # the far crossing of the jaw's middle line with the circle, by bisection
        low, high = 0.0, 4 * radius
        for _ in range(200):
            middle = (low + high) / 2
            inside = np.linalg.norm(middle * along - down) < radius
            low, high = (middle, high) if inside else (low, middle)
        return low

    packed, *others = (reach(math.radians(a)) for a in (90, 210, 330))
    assert others[0] == pytest.approx(others[1])
    return others[0] - packed


@pytest.mark.parametrize(("diameter", "offset"), [(25, 3), (40, 1), (30, 7.5), (12, 0.2)])
def test_packing_against_jaws_moved_in(diameter, offset):
    assert packing.packing_mm(offset, diameter) == pytest.approx(jaws(diameter, offset, flat=False), abs=1e-9)
    assert packing.rule_mm(offset) == pytest.approx(jaws(diameter, offset, flat=True), abs=1e-9)


@given(st.floats(5, 100), st.floats(0.001, 0.249))
def test_packing_turns_round_and_stays_below_the_rule(diameter, share):
    offset = share * diameter
    found = packing.for_offset(offset, diameter)
    assert packing.offset_mm(found.narrow_jaws_mm, diameter) == pytest.approx(offset, rel=1e-6)
    assert found.narrow_jaws_mm < found.flat_jaws_mm
    assert found.indicator_mm == 2 * offset


def test_taper_settings_by_hand():
    half = tapers.half_angle_rad(20, 18, 40)
    assert half == pytest.approx(tapers.half_angle_of_ratio_rad(20))
    assert math.degrees(half) == pytest.approx(1.4321, abs=5e-5)
    assert tapers.small_end_mm(20, 40, half) == pytest.approx(18)
    assert tapers.indicator_rise_mm(50, math.radians(5), along="slide") == pytest.approx(4.358, abs=5e-4)
    assert tapers.indicator_rise_mm(50, math.radians(5)) == pytest.approx(50 * math.tan(math.radians(5)))
    # (D - d)/2l x L, the handbook's form, is the same for small angles
    small = tapers.half_angle_of_ratio_rad(48)
    assert tapers.tailstock_offset_mm(small, 150) == pytest.approx(150 / 96, rel=1e-4)


def test_fine_cuts_and_sine_packing():
    assert math.degrees(tapers.fine_cut_angle_rad(0.2)) == pytest.approx(11.537, abs=5e-4)
    assert tapers.fine_cut_mm(0.1, math.radians(11.5)) == pytest.approx(0.01994, abs=5e-6)
    assert tapers.fine_cut_mm(0.1, 0.1, on_diameter=True) == 2 * tapers.fine_cut_mm(0.1, 0.1)
    assert tapers.fine_cut_axial_mm(0.1, tapers.fine_cut_angle_rad(0.6)) == pytest.approx(0.08)
    assert tapers.fine_cut_error_mm(0.1, math.radians(5.74), math.radians(0.5)) == pytest.approx(0.00087, abs=5e-6)
    assert tapers.sine_packing_mm(math.radians(30), 127) == pytest.approx(63.5)
    assert tapers.sine_angle_rad(63.5, 127) == pytest.approx(math.radians(30))
    change = tapers.sine_angle_rad(63.51, 127) - tapers.sine_angle_rad(63.5, 127)
    assert tapers.sine_error_rad(0.01, 127, math.radians(30)) == pytest.approx(change, rel=1e-3)


@given(st.sampled_from([4, 6, 8, 10, 12]), st.floats(1, 60))
def test_flats_close_up(count, across):
    found = flats.flats_on_bar(count, across)
    assert found.sharp
    assert found.corners_mm == pytest.approx(math.hypot(across, found.flat_width_mm))  # a corner is half a flat out
    assert flats.across_flats_mm(count, found.corners_mm) == pytest.approx(across)
    assert found.depth_mm == pytest.approx((found.bar_mm - across) / 2)
    larger = flats.flats_on_bar(count, across, found.bar_mm * 1.1)
    assert larger.depth_mm > found.depth_mm
    smaller = flats.flats_on_bar(count, across, (across + found.bar_mm) / 2)
    assert not smaller.sharp
    assert smaller.flat_width_mm < found.flat_width_mm


def test_two_flats_on_a_bar():
    found = flats.flats_on_bar(2, 8, 10)
    assert (found.depth_mm, found.flat_width_mm, found.turn_deg) == (1, pytest.approx(6), 180)


def test_mandrels_by_hand():
    assert mandrels.grip_at_mm(12.02, 12.00) == pytest.approx(40)
    assert mandrels.tilt_mm(20) == pytest.approx(0.01)
    assert mandrels.tapered_ends_mm(12, 20) == pytest.approx((11.99, 12.02))
    assert mandrels.least_mandrel_mm(5, 60) == pytest.approx((16 * 5000 / (math.pi * 60)) ** (1 / 3))
    plain = mandrels.plain_mandrel(6.00, 2)
    assert plain.greatest_mm < 6.00
    assert plain.length_mm < 2


def test_times_add_up():
    found = times.estimate([2, 2], set_ups=1)
    assert (found.cutting_min, found.total_min) == (4, 21)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: packing.packing_mm(8, 25), OutOfRange, "four-jaw"),
        (lambda: packing.offset_mm(20, 25), OutOfRange, "packing"),
        (lambda: packing.packing_mm(math.nan, 25), Refused, "not a number"),
        (lambda: deflection.holding("magnet"), Unknown, "chuck only"),
        (lambda: deflection.second_moment_mm4(10, 10), OutOfRange, "bore"),
        (lambda: deflection.deflection_mm("chuck only", 10, 50, 60, 2e5, 100), OutOfRange, "place of the force"),
        (lambda: deflection.deflection_mm("chuck only", -10, 50, 50, 2e5, 100), OutOfRange, "force"),
        (lambda: tapers.half_angle_rad(18, 20, 40), Refused, "large end must be larger"),
        (lambda: tapers.tailstock_offset_mm(math.radians(20), 100), OutOfRange, "topslide"),
        (lambda: tapers.sine_packing_mm(math.radians(70), 100), OutOfRange, "other face"),
        (lambda: flats.flats_on_bar(5, 8), OutOfRange, "even number"),
        (lambda: flats.flats_on_bar(2, 8), OutOfRange, "bar"),
        (lambda: flats.flats_on_bar(6, 8, 8), OutOfRange, "larger bar"),
        (lambda: mandrels.grip_at_mm(11.9, 12), OutOfRange, "smaller mandrel"),
        (lambda: force.turning_cut(1350, 0.2, depth_mm=30, feed_mm=0.1, speed_m_min=20, diameter_mm=20), OutOfRange,
         "past the middle"),
        (lambda: force.shear_plane_rad(0.4, 0.3, 0), OutOfRange, "thicker"),
        (lambda: times.cutting_time_min(0, 0.1, 100), OutOfRange, "length of cut"),
    ],
)  # fmt: skip
def test_bad_input_is_named(call, error, words):
    with pytest.raises(error, match=words):
        call()
