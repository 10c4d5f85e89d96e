"""Layouts of rods, names of dimensions, and figures that are refused by name."""

from __future__ import annotations

import numpy as np
import pytest

from asmade.measure.errors import Contradiction, OutOfRange, Refused, Unknown
from asmade.motion.wheels.chassis import Chassis, index_of, names
from asmade.motion.wheels.geometry import dead_centres, pin_places, turn_angles
from asmade.motion.wheels.layout import Layout
from asmade.motion.wheels.spreads import Spreads


def drawn(axle_x=(120.0, 0.0, -110.0), meetings=None, **more):
    figures = {"crank_radius": 24.0, "bush_clearance": 0.06, "pin": 8.0, "box_play": 0.08}
    return Chassis.as_drawn(
        axle_x=axle_x, meetings=meetings, knuckle_reach=15.0, knuckle_clearance=0.03, **{**figures, **more}
    )


class TestLayout:
    def test_separate_rods_have_two_eyes_each(self):
        layout = Layout(("separate", "separate"))
        assert layout.eyes == ((0, 0), (0, 1), (1, 1), (1, 2), (2, 2), (2, 3))
        assert layout.knuckles == ()
        assert layout.decouples

    def test_the_front_rod_has_no_eye_beside_a_knuckle_ahead_of_the_pin(self):
        layout = Layout(("knuckle ahead",))
        assert layout.eyes == ((0, 0), (1, 1), (1, 2))
        assert (layout.knuckles[0].carrier, layout.knuckles[0].carried) == (1, 0)

    def test_the_rear_rod_has_no_eye_beside_a_knuckle_behind_the_pin(self):
        layout = Layout(("knuckle behind",))
        assert layout.eyes == ((0, 0), (0, 1), (1, 2))
        assert (layout.knuckles[0].carrier, layout.knuckles[0].carried) == (0, 1)

    def test_a_middle_rod_may_hang_on_both_its_neighbours(self):
        layout = Layout(("knuckle behind", "knuckle ahead"))
        assert layout.eyes == ((0, 0), (0, 1), (2, 2), (2, 3))
        assert layout.bodies[1].supports[0].eye is None
        assert layout.carriers == (0, 2)

    def test_a_chain_of_joints_is_worked_from_the_rod_that_has_its_own_eyes(self):
        assert Layout(("knuckle ahead", "knuckle ahead")).carriers == (2, 1)

    def test_one_rod_over_three_pins_shares_its_middle_eye(self):
        layout = Layout(("rigid", "separate"))
        assert layout.eyes == ((0, 0), (0, 1), (0, 2), (1, 2), (1, 3))
        assert layout.body_name(0) == "123"
        assert layout.body_of(1) == 0

    def test_unknown_meeting_and_too_many_axles(self):
        with pytest.raises(Unknown, match="two coupling rods meet"):
            Layout(("welded",))
        with pytest.raises(OutOfRange, match="2 to 6"):
            Layout(("separate",) * 5)


class TestConventions:
    def test_front_dead_centre_is_forward_and_forward_running_goes_down(self):
        """x forward, y up, forward running: from front dead centre the pin goes down."""
        chassis = drawn()
        pins = pin_places(chassis, np.array([0.0, np.pi / 2]))
        right = pins[1, 1, :, 0] - chassis.axle_x[1, 1, 0]
        assert right[0] == pytest.approx(24.0)
        assert right[1] == pytest.approx(-24.0j)

    @pytest.mark.parametrize(("leads", "left"), [("R", 24.0j), ("L", -24.0j)])
    def test_right_hand_lead_has_the_right_crank_90_degrees_ahead(self, leads, left):
        """Right at its front dead centre, about to go down; the left, 90 behind, is upright and about to come there."""
        chassis = drawn(leads=leads)
        assert pin_places(chassis, np.zeros(1))[1, 0, 0, 0] - chassis.axle_x[1, 0, 0] == pytest.approx(left)

    def test_an_axle_out_of_quarter_is_stood_half_way(self):
        chassis = drawn()
        vector = chassis.vector().copy()
        vector[index_of(chassis.layout, "quarter", 0)] += 0.01
        pins = pin_places(chassis.with_vector(vector), np.array([0.0]))
        assert pins[0, 1, 0, 0].imag == pytest.approx(-24 * np.sin(0.005))

    def test_the_dead_centres_are_among_the_angles_of_a_turn(self):
        chassis = drawn(quarter=np.pi / 2 + 0.003)
        assert np.isin(dead_centres(chassis), turn_angles(chassis, 72)).all()

    def test_names_and_rows_belong_together(self):
        layout = Layout(("knuckle ahead",))
        label = names(layout)
        assert label[index_of(layout, "crank_radius", 1, 0)] == "crank radius 2L"
        assert label[index_of(layout, "quarter", 2)] == "quarter of axle 3"
        assert label[index_of(layout, "centres", 0, 1)] == "rod centres 12R"
        assert label[index_of(layout, "bore", 1, 0)] == "bush bore of rod 23L on pin 2L"
        assert label[index_of(layout, "knuckle_reach", 0, 1)] == "knuckle joint from pin 2R"
        assert len(set(label)) == len(label) == drawn(meetings=("knuckle ahead",)).vector().shape[0]

    def test_vector_there_and_back(self):
        chassis = drawn(meetings=("knuckle behind",))
        assert (chassis.with_vector(chassis.vector()).vector() == chassis.vector()).all()


def with_field(field, where, value, **more):
    chassis = drawn(**more)
    array = getattr(chassis, field).copy()
    array[where] = value
    fields = {name: getattr(chassis, name) for name in chassis.__dataclass_fields__}
    return Chassis(**{**fields, field: array})


class TestRefusals:
    @pytest.mark.parametrize("value", [np.nan, np.inf])
    def test_a_figure_that_is_none_is_named(self, value):
        with pytest.raises(OutOfRange, match="crank radius 2L"):
            with_field("crank_radius", (1, 0, 0), value)

    def test_a_section_without_length(self):
        with pytest.raises(OutOfRange, match="rod centres 12R"):
            with_field("centres", (0, 1, 0), 0.0)
        with pytest.raises(OutOfRange, match="axle centres 23L"):
            with_field("axle_x", (2, 0, 0), 0.0)

    def test_axles_out_of_order(self):
        with pytest.raises(OutOfRange, match="counted from the front"):
            drawn((0.0, 120.0, 240.0))

    def test_a_bush_smaller_than_its_pin_cannot_be_assembled(self):
        with pytest.raises(Contradiction, match=r"rod 12L cannot be assembled.*crank pin 2L"):
            with_field("bore", (1, 0, 0), 7.99)

    def test_a_rod_that_reaches_no_pin_cannot_be_assembled(self):
        with pytest.raises(Contradiction, match="23R cannot be assembled"):
            with_field("centres", (1, 1, 0), 200.0)

    @pytest.mark.parametrize("quarter", [90.0, 0.0, -np.pi / 2])
    def test_a_quarter_in_degrees_or_of_nothing(self, quarter):
        with pytest.raises(OutOfRange, match="quarter of axle 1"):
            drawn(quarter=quarter)

    def test_negative_box_play(self):
        with pytest.raises(OutOfRange, match="box play forward 1L"):
            with_field("box_fore", (0, 0, 0), -0.01)

    def test_wrong_shapes_and_samples(self):
        fields = {name: getattr(drawn(), name) for name in drawn().__dataclass_fields__}
        with pytest.raises(Refused, match="axle_y"):
            Chassis(**{**fields, "axle_y": np.zeros((2, 2, 1))})
        with pytest.raises(Refused, match="number of samples"):
            Chassis(**{**fields, "axle_y": np.zeros((3, 2, 4)), "pin_ahead": np.zeros((3, 2, 5))})

    def test_sides_driven_axle_counts(self):
        with pytest.raises(Refused, match="leading side"):
            drawn(leads="X")
        with pytest.raises(OutOfRange, match="driven axle"):
            drawn(driven=3)
        with pytest.raises(OutOfRange, match="coupled axles"):
            drawn((0.0,))
        with pytest.raises(Refused, match="inner pins"):
            drawn(meetings=("separate", "separate"))

    def test_a_knuckle_joint_needs_its_figures(self):
        with pytest.raises(Refused, match="knuckle joint"):
            Chassis.as_drawn(
                axle_x=(120.0, 0.0, -110.0),
                crank_radius=24.0,
                bush_clearance=0.06,
                pin=8.0,
                box_play=0.0,
                meetings=("knuckle ahead",),
            )

    def test_arrays_cannot_be_changed_from_outside(self):
        chassis = drawn()
        with pytest.raises(ValueError, match="read-only"):
            chassis.quarter[0] = 0.0


class TestSpreads:
    def test_what_does_not_belong_together(self):
        layout = drawn().layout
        good = Spreads.of(layout, {"centres": 0.01}, reach_in_deviations=2.0, eccentricity=0.0)
        with pytest.raises(Refused, match="one per dimension"):
            Spreads(good.own[:-1], good.shared, (), good.reach, good.eccentricity)
        with pytest.raises(OutOfRange, match="own"):
            Spreads(-good.own, good.shared, (), good.reach, good.eccentricity)
        with pytest.raises(OutOfRange, match="shared"):
            Spreads(good.own, np.full((1, good.own.size), np.nan), ("gauge",), good.reach, good.eccentricity)
        with pytest.raises(Refused, match="known are"):
            Spreads.of(layout, {"length": 0.01}, reach_in_deviations=2.0, eccentricity=0.0)

    def test_draws_have_the_stated_spread_and_shared_causes_go_together(self):
        chassis = drawn()
        layout = chassis.layout
        one, two = index_of(layout, "centres", 0, 0), index_of(layout, "centres", 1, 1)
        spreads = Spreads.of(
            layout,
            {"centres": 0.01},
            reach_in_deviations=2.0,
            eccentricity=0.02,
            shared={"jig": {one: 0.03, two: 0.03}},
        )
        drawn_ones = spreads.draw(chassis, 20_000, 1).vector() - chassis.vector()
        assert drawn_ones[one].std() == pytest.approx(np.hypot(0.01, 0.03), rel=0.03)
        assert np.corrcoef(drawn_ones[one], drawn_ones[two])[0, 1] == pytest.approx(0.9, abs=0.02)
        radius, ahead = index_of(layout, "crank_radius", 1, 0), index_of(layout, "pin_ahead", 1, 0)
        assert np.hypot(drawn_ones[radius], drawn_ones[ahead]) == pytest.approx(0.02)
        assert spreads.reach[one] == pytest.approx(2 * np.hypot(0.01, 0.03))

    def test_same_seed_same_chassis(self):
        chassis = drawn()
        spreads = Spreads.of(chassis.layout, {"centres": 0.01}, reach_in_deviations=2.0, eccentricity=0.01)
        one, two, other = (spreads.draw(chassis, 5, seed).vector() for seed in (3, 3, 4))
        assert (one == two).all()
        assert (one != other).any()
