"""Sums at the bench: hand-worked figures, uncertainties against the package ``uncertainties``, laws of rise and curve."""

from __future__ import annotations

from math import asin, cos, degrees, hypot, inf, pi, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from uncertainties import ufloat, umath

from asmade.measure.errors import Contradiction, OutOfRange
from asmade.motion.wheels.curve import flange_freedom, least_curve, least_radius, offset_from_chord, versine
from asmade.motion.wheels.measuring import (
    Crank,
    Reading,
    back_to_back,
    centres_over_pins,
    centres_to_bore,
    crank_radius_from_edges,
    dial_for_angle,
    horn_centres,
    minutes,
    packing_for_offset,
    quarter_from_heights,
    run_out,
)
from asmade.motion.wheels.rise import clearance_for_tilt, lengthening, most_rise, pin_rise, rock_for_tilt, tilt

R = 24.0


def on_the_plate(quarter, leading_up, *, u=0.01):
    """A wheelset with a known quarter, stood so that the leading pin is ``leading_up`` above level."""
    journal = Reading(16.0, u)
    over_journal = Reading(50.0 + 8.0, u)

    def crank(up, *, forward):
        return Crank(Reading(50.0 + R * sin(up) + 4.0, u), Reading(8.0, u), Reading(R, u), forward=forward)

    leading = crank(leading_up, forward=True)
    following = crank(pi - quarter - leading_up, forward=False)
    return leading, following, over_journal, journal


class TestQuarter:
    @pytest.mark.parametrize("quarter", [89.0, 90.0, 91.5])
    @pytest.mark.parametrize("stood", [30.0, 45.0, 55.0])
    def test_found_however_it_stands(self, quarter, stood):
        found = quarter_from_heights(*on_the_plate(radians(quarter), radians(stood)))
        assert degrees(found.value) == pytest.approx(quarter, abs=1e-9)

    def test_uncertainty_by_an_independent_package(self):
        leading, following, over, journal = on_the_plate(radians(90.3), radians(41))
        found = quarter_from_heights(leading, following, over, journal)
        axle = ufloat(over.value, 0.01) - ufloat(journal.value, 0.01) / 2
        total = 0
        for crank in (leading, following):
            height = ufloat(crank.over_pin.value, 0.01) - ufloat(8.0, 0.01) / 2 - axle
            total += umath.asin(height / ufloat(R, 0.01))
        assert found.uncertainty == pytest.approx((pi - total).std_dev, rel=1e-9)

    def test_by_hand(self):
        """Both pins 24 sin 45 up is 90 degrees; one 1 per cent higher is asin 0.71418 = 45.576, so 89.424."""
        leading, following, over, journal = on_the_plate(pi / 2, pi / 4)
        assert degrees(quarter_from_heights(leading, following, over, journal).value) == pytest.approx(90)
        higher = Crank(Reading(leading.over_pin.value + 0.169706, 0.01), leading.pin, leading.radius, forward=True)
        found = degrees(quarter_from_heights(higher, following, over, journal).value)
        assert found == pytest.approx(180 - 45 - degrees(asin(1.01 * sin(pi / 4))), abs=1e-4)

    def test_refuses_what_heights_cannot_tell(self):
        upright = on_the_plate(pi / 2, radians(85))
        with pytest.raises(OutOfRange, match="70 degrees"):
            quarter_from_heights(*upright)
        leading, following, over, journal = on_the_plate(pi / 2, pi / 4)
        with pytest.raises(OutOfRange, match="same side"):
            quarter_from_heights(leading, leading, over, journal)
        with pytest.raises(OutOfRange, match="which side leads"):
            quarter_from_heights(following, leading, over, journal)

    def test_minutes_and_the_dial(self):
        assert minutes(radians(1)) == pytest.approx(60)
        assert dial_for_angle(radians(10 / 60), 24.0) == pytest.approx(0.0698, abs=1e-4)
        with pytest.raises(OutOfRange, match="dial"):
            dial_for_angle(0.1, 0.0)


class TestLengths:
    def test_crank_radius_is_the_mean_of_inside_and_outside(self):
        """Radius measured from edges (common practice, no source)."""
        found = crank_radius_from_edges(Reading(14.0, 0.02), Reading(34.0, 0.02), sizes=Reading(20.0, 0.01))
        assert found.value == pytest.approx(24.0)
        assert found.uncertainty == pytest.approx(0.02 / sqrt(2))

    def test_crank_radius_readings_that_contradict_the_sizes(self):
        with pytest.raises(Contradiction, match=r"differ by \+0.200"):
            crank_radius_from_edges(Reading(14.0, 0.02), Reading(34.2, 0.02), sizes=Reading(20.0, 0.01))
        with pytest.raises(OutOfRange, match="outside"):
            crank_radius_from_edges(Reading(34.0, 0.02), Reading(14.0, 0.02))

    def test_centres_over_pins(self):
        found = centres_over_pins(Reading(128.0, 0.01), Reading(8.0, 0.004), Reading(8.0, 0.004), looseness=0.02)
        assert found.value == pytest.approx(120.0)
        stand = 0.02 / (2 * sqrt(3))
        assert found.uncertainty == pytest.approx(sqrt(0.01**2 + 2 * 0.002**2 + 2 * stand**2))
        with pytest.raises(OutOfRange, match="looseness"):
            centres_over_pins(Reading(128.0, 0.01), Reading(8.0, 0.0), Reading(8.0, 0.0), looseness=-0.01)

    def test_centres_to_bore_by_hand(self):
        """Mean 136.02 over 16; s = 0.010, of the mean 0.00577; t(2) = 4.303, half width 0.0248."""
        readings = [136.01, 136.03, 136.02]
        found = centres_to_bore(readings, sizes=Reading(16.0, 0.0), instrument=0.0, each_way_slack=0.06)
        assert found.centres.value == pytest.approx(120.02)
        assert found.centres.uncertainty == pytest.approx(0.01 / sqrt(3))
        assert found.half_width == pytest.approx(4.303 * 0.01 / sqrt(3), rel=1e-3)
        assert not found.suffices
        # with 5 readings t(4) = 2.776 and 0.01 / sqrt 5: 0.0124, within a quarter of 0.06
        assert found.more_readings == 2

    def test_centres_to_bore_when_the_instrument_is_the_limit(self):
        found = centres_to_bore([136.0, 136.01], sizes=Reading(16.0, 0.0), instrument=0.03, each_way_slack=0.06)
        assert found.more_readings is None
        fine = centres_to_bore([136.0, 136.0], sizes=Reading(16.0, 0.001), instrument=0.002, each_way_slack=0.06)
        assert fine.suffices
        assert fine.more_readings == 0
        with pytest.raises(OutOfRange, match="each-way slack"):
            centres_to_bore([136.0, 136.0], sizes=Reading(16.0, 0.0), instrument=0.0, each_way_slack=0.0)
        with pytest.raises(OutOfRange, match="share"):
            centres_to_bore([1.0, 1.0], sizes=Reading(1.0, 0.0), instrument=0.0, each_way_slack=0.1, share=2.0)
        with pytest.raises(OutOfRange, match="instrument"):
            centres_to_bore([1.0, 1.0], sizes=Reading(1.0, 0.0), instrument=-1.0, each_way_slack=0.1)

    def test_horn_centres(self):
        found = horn_centres(Reading(120.04, 0.02), Reading(119.98, 0.02))
        assert found.value == pytest.approx(120.01)
        assert found.uncertainty == pytest.approx(0.02 / sqrt(2))

    def test_back_to_back(self):
        found = back_to_back([118.9, 119.1, 119.1, 118.9], instrument=0.02)
        assert found.mean.value == pytest.approx(119.0)
        assert found.lean == pytest.approx(0.2)
        assert found.mean.uncertainty == pytest.approx(0.01)
        with pytest.raises(OutOfRange, match="evenly spaced"):
            back_to_back([119.0, 119.0], instrument=0.02)

    @pytest.mark.parametrize("count", [3, 4, 12])
    def test_a_dial_reads_twice_the_eccentricity(self, count):
        """Geometry of an eccentric."""
        turn = 2 * pi * np.arange(count) / count
        found = run_out((0.3 + 0.05 * np.cos(turn - 1.0)).tolist(), instrument=0.002)
        assert found.eccentricity.value == pytest.approx(0.05)
        assert found.high_at_rad == pytest.approx(1.0)
        assert found.reading == pytest.approx(0.10)
        assert found.left_over == pytest.approx(0, abs=1e-12)
        with pytest.raises(OutOfRange, match="round a turn"):
            run_out([0.0, 0.1], instrument=0.002)

    def test_run_out_tells_flats_from_eccentricity(self):
        turn = 2 * pi * np.arange(12) / 12
        found = run_out((0.02 * np.cos(3 * turn)).tolist(), instrument=0.002)
        assert found.eccentricity.value == pytest.approx(0, abs=1e-12)
        assert found.left_over == pytest.approx(0.02)

    def test_packing_is_one_and_a_half_times_the_offset(self):
        """1.5 x the offset (common practice); the exact geometry of three jaws beside it."""
        offset, radius = 0.2, 12.0
        assert packing_for_offset(offset) == pytest.approx(0.3)
        # jaws at 0, 120, 240 degrees close together: distance of each jaw's line from the work's centre
        tops = [offset * cos(jaw) + sqrt(radius**2 - (offset * sin(jaw)) ** 2) for jaw in (0.0, 2 * pi / 3, 4 * pi / 3)]
        assert tops[0] - tops[1] == pytest.approx(packing_for_offset(offset), rel=0.01)
        with pytest.raises(OutOfRange, match="offset"):
            packing_for_offset(-0.1)

    @pytest.mark.parametrize(("value", "uncertainty"), [(float("nan"), 0.01), (1.0, -0.01), (1.0, inf)])
    def test_a_reading_is_a_number(self, value, uncertainty):
        with pytest.raises(OutOfRange):
            Reading(value, uncertainty)


class TestRise:
    @given(st.floats(20, 500), st.floats(0, 10))
    def test_lengthening_is_pythagoras_and_undone(self, centres, rise):
        longer = lengthening(centres, rise)
        assert longer == pytest.approx(hypot(centres, rise) - centres, abs=1e-12)
        assert longer <= rise**2 / (2 * centres) + 1e-12
        assert most_rise(centres, longer) == pytest.approx(rise, abs=1e-6)

    def test_tilt_and_what_it_asks(self):
        lean = tilt(0.0, 1.0, 100.0)
        assert lean == pytest.approx(0.01, rel=1e-4)
        assert clearance_for_tilt(20.0, lean) == pytest.approx(0.2)
        assert rock_for_tilt(22.0, 6.0, 0.01) == pytest.approx(0.0294, abs=1e-4)
        assert pin_rise(0.0, 1.0, 100.0, 140.0) == pytest.approx((-0.2, 1.2))

    @pytest.mark.parametrize(
        "call",
        [
            lambda: lengthening(0.0, 1.0),
            lambda: lengthening(100.0, float("nan")),
            lambda: most_rise(100.0, -1.0),
            lambda: tilt(0.0, inf, 100.0),
            lambda: clearance_for_tilt(-1.0, 0.1),
            lambda: rock_for_tilt(22.0, 0.0, 0.1),
            lambda: pin_rise(0.0, 1.0, 100.0, 0.0),
        ],
    )
    def test_refuses_lengths_that_are_none(self, call):
        with pytest.raises(OutOfRange):
            call()


class TestCurve:
    @given(st.floats(50, 600), st.floats(0.05, 5))
    def test_least_radius_is_the_circle_through_three_points(self, wheelbase, freedom):
        """R = (W^2/4 + h^2) / 2h; its chord's versine is the freedom again."""
        radius = least_radius(wheelbase, freedom)
        assert versine(radius, wheelbase) == pytest.approx(freedom, rel=1e-6)
        three = least_curve([wheelbase / 2, 0.0, -wheelbase / 2], [freedom / 2] * 3)
        assert three.radius == pytest.approx(radius, rel=1e-9)
        assert three.axles == (0, 1, 2)

    @settings(deadline=None)
    @given(st.lists(st.floats(40, 200), min_size=2, max_size=5), st.lists(st.floats(0.1, 3), min_size=6, max_size=6))
    def test_on_the_least_curve_a_straight_frame_just_passes_between_the_freedoms(self, gaps, freedoms):
        """Independent: the best straight line among the curve's offsets, by scipy's simplex."""
        axle_x = np.concatenate([[0.0], -np.cumsum(gaps)])
        freedom = np.array(freedoms[: axle_x.size])
        found = least_curve(axle_x.tolist(), freedom.tolist())
        assert found.axles is not None
        half = (axle_x[0] - axle_x[-1]) / 2
        if found.radius < 3 * half:
            return  # so sharp that the tilt of a chord counts
        middle = (axle_x[0] + axle_x[-1]) / 2
        offset = np.array([offset_from_chord(found.radius, half, max(-half, min(half, x - middle))) for x in axle_x])
        ones = np.ones_like(offset)
        rows = np.vstack([np.c_[ones, axle_x, ones], np.c_[-ones, -axle_x, ones]])
        limits = np.concatenate([freedom + offset, freedom - offset])
        spare = -linprog([0, 0, -1], rows, limits, bounds=(None, None)).fun
        assert spare == pytest.approx(0, abs=0.02 * freedom.max())

    def test_no_freedom_no_curve_two_axles_any(self):
        assert least_radius(220.0, 0.0) == inf
        assert least_curve([110.0, 0.0, -110.0], [0.0, 0.0, 0.0]).radius == inf
        assert least_curve([110.0, 0.0], [1.0, 1.0]).axles is None

    def test_more_play_on_the_middle_axle_is_worth_twice_that_on_an_end(self):
        base = least_curve([110.0, 0.0, -110.0], [1.0, 1.0, 1.0])
        middle = least_curve([110.0, 0.0, -110.0], [1.0, 1.5, 1.0])
        end = least_curve([110.0, 0.0, -110.0], [1.0, 1.0, 2.0])
        assert middle.used == pytest.approx(end.used)
        assert middle.radius < base.radius

    @pytest.mark.parametrize(
        "call",
        [
            lambda: least_radius(0.0, 1.0),
            lambda: least_radius(100.0, -1.0),
            lambda: least_curve([0.0], [1.0]),
            lambda: least_curve([0.0, 100.0], [1.0, 1.0]),
            lambda: least_curve([100.0, 0.0], [1.0, -1.0]),
            lambda: offset_from_chord(-1.0, 1.0, 0.0),
            lambda: offset_from_chord(10.0, 11.0, 0.0),
            lambda: offset_from_chord(10.0, 5.0, 6.0),
            lambda: flange_freedom(0.0, 1.0, 1.0),
            lambda: flange_freedom(3.5, 3.4, 0.08),
        ],
    )
    def test_refuses_what_is_no_curve(self, call):
        with pytest.raises(OutOfRange):
            call()
