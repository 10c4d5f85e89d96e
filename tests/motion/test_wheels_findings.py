"""Sensitivities by difference quotients; chance, worst case and shares where they can be worked by hand."""

from __future__ import annotations

from math import erf, sqrt

import numpy as np
import pytest

from asmade.measure.errors import OutOfRange
from asmade.motion.wheels.chance import Chance, chance_of_binding
from asmade.motion.wheels.chassis import Chassis, index_of, names
from asmade.motion.wheels.findings import Tight, _verdict, find_sections, tightest
from asmade.motion.wheels.geometry import turn_angles
from asmade.motion.wheels.sensitivity import slack_slopes
from asmade.motion.wheels.slack import least_slack, slack_left
from asmade.motion.wheels.spreads import Spreads
from asmade.motion.wheels.worst import Worst, worst_case

SLACK = 0.06
USUAL = {"axle_x": 0.01, "crank_radius": 0.008, "quarter": 0.0006, "centres": 0.01, "bore": 0.003, "axle_y": 0.05}
THREE = (120.0, 0.0, -110.0)


def drawn(axle_x=THREE, meetings=None, *, play=0.08):
    return Chassis.as_drawn(
        axle_x=axle_x,
        crank_radius=24.0,
        bush_clearance=SLACK,
        pin=8.0,
        box_play=play,
        meetings=meetings,
        knuckle_reach=15.0,
        knuckle_clearance=0.03,
    )


def spreads_of(chassis, own=USUAL, **more):
    return Spreads.of(chassis.layout, own, **{"reach_in_deviations": 2.0, "eccentricity": 0.0, **more})


def one_built(meetings, seed, play=0.08):
    chassis = drawn(meetings=meetings, play=play)
    return spreads_of(chassis).draw(chassis, 1, seed)


class TestSensitivities:
    @pytest.mark.parametrize("meetings", [("separate",), ("knuckle ahead",), ("knuckle behind",), ("rigid",)])
    @pytest.mark.parametrize("boxes", ["blocked", "free"])
    def test_every_input_by_difference_quotient(self, meetings, boxes):
        """Two-sided quotients of the slack itself at angles where no corner lies; every dimension of the chassis."""
        compared = 0
        for seed in range(3):
            chassis = one_built(meetings, seed, play=0.02)
            for section in (0, 1):
                angle = np.array([0.6 + 0.9 * seed])
                slopes = slack_slopes(chassis, angle, boxes, section).slope[0]
                up, down, step = self.moved(chassis, 0.02 if meetings == ("rigid",) else 1.0)
                high = slack_left(up, angle, boxes)[section, 0]
                low = slack_left(down, angle, boxes)[section, 0]
                here = slack_left(chassis, angle, boxes)[section, 0, 0]
                quotient = (high - low) / (2 * step)
                smooth = np.abs(high + low - 2 * here) < 2e-3 * step
                if boxes == "blocked":
                    plays = np.array(["box play" in label for label in names(chassis.layout)])
                    assert not slopes[plays].any()
                assert smooth.mean() > 0.8
                scale = np.where(np.array(["quarter" in label for label in names(chassis.layout)]), 24.0, 1.0)
                assert slopes[smooth] / scale[smooth] == pytest.approx(quotient[smooth] / scale[smooth], abs=4e-4)
                compared += int(smooth.sum())
        assert compared > 100

    @staticmethod
    def moved(chassis, times=1.0):
        """Polygons of rods over three pins have many corners: smaller steps there."""
        vector = chassis.vector()[:, 0]
        step = times * np.where(np.array(["quarter" in label for label in names(chassis.layout)]), 2e-6, 5e-5)
        up = vector[:, None] + np.diag(step)
        down = vector[:, None] - np.diag(step)
        return chassis.with_vector(up), chassis.with_vector(down), step

    def test_of_the_least_slack_over_the_turn(self):
        chassis = one_built(("separate",), 5)
        found = tightest(chassis, "blocked", 1)
        up, down, step = self.moved(chassis)
        turn = np.concatenate([turn_angles(chassis, 3600), [found.tight.at_rad]])
        quotient = (least_slack(up, turn, "blocked")[1] - least_slack(down, turn, "blocked")[1]) / (2 * step)
        assert found.slopes == pytest.approx(quotient, abs=0.02)
        assert found.tight.linear_mm == pytest.approx(least_slack(chassis, turn, "blocked")[1, 0], abs=1e-5)

    def test_by_hand_at_a_dead_centre(self):
        """A right-hand rod too long, at the right dead centre: slack = (c1 + c2) / 2 - (L - centres - r1 + r2)."""
        chassis = drawn((110.0, 0.0))
        vector = chassis.vector().copy()
        row = index_of(chassis.layout, "centres", 0, 1)
        vector[row] += 0.05
        found = tightest(chassis.with_vector(vector), "blocked", 0)
        assert found.tight.linear_mm == pytest.approx(0.01, abs=1e-6)
        assert found.tight.slack_mm == pytest.approx(0.01, abs=1e-4)
        assert found.tight.rods[0].rod == "12R"
        assert found.tight.rods[0].says == "too long"

        def slope(field, *where):
            return found.slopes[index_of(chassis.layout, field, *where)]

        assert slope("centres", 0, 1) == pytest.approx(-1, abs=1e-6)
        assert slope("axle_x", 0, 1) == pytest.approx(1, abs=1e-6)
        assert slope("bore", 0, 1) == pytest.approx(0.5, abs=1e-6)
        assert slope("pin", 1, 1) == pytest.approx(-0.5, abs=1e-6)
        assert slope("quarter", 0) == pytest.approx(0, abs=1e-3)
        assert abs(slope("crank_radius", 0, 1)) == pytest.approx(1, abs=1e-6)


class TestChance:
    def test_only_one_rod_is_uncertain(self):
        """Binds when the rod is out by more than its slack: 2 (1 - Phi(c / s)), normal distribution."""
        chassis = drawn((110.0, 0.0))
        spreads = spreads_of(chassis, {})
        own = spreads.own.copy()
        own[index_of(chassis.layout, "centres", 0, 0)] = 0.04
        spreads = Spreads(own, spreads.shared, (), 3 * own, spreads.eccentricity)
        found = chance_of_binding(chassis, spreads, "blocked", samples=20_000, seed=1)
        expected = 1 - erf(SLACK / 0.04 / sqrt(2))
        assert found.any.low < expected < found.any.high
        assert found.any.value == pytest.approx(expected, abs=0.008)

    def test_shared_cause_of_both_rods_counts_once(self):
        """A gauge that makes both sides' rods long binds as often as one rod alone would; so do their own, oftener."""
        chassis = drawn((110.0, 0.0))
        rows = [index_of(chassis.layout, "centres", 0, side) for side in (0, 1)]
        shared = spreads_of(chassis, {}, shared={"gauge": dict.fromkeys(rows, 0.04)})
        own = spreads_of(chassis, {"centres": 0.04})
        together = chance_of_binding(chassis, shared, "blocked", samples=8000, seed=2).any.value
        apart = chance_of_binding(chassis, own, "blocked", samples=8000, seed=2).any.value
        alone = 1 - erf(SLACK / 0.04 / sqrt(2))
        assert together == pytest.approx(alone, abs=0.015)
        assert apart == pytest.approx(1 - (1 - alone) ** 2, abs=0.02)

    @pytest.mark.parametrize("meetings", [("separate",), ("knuckle ahead",)])
    def test_free_boxes_bind_less_often_and_the_same_seed_says_the_same(self, meetings):
        chassis = drawn(meetings=meetings)
        spreads = spreads_of(chassis)
        blocked, again, free = (
            chance_of_binding(chassis, spreads, boxes, samples=300, seed=3) for boxes in ("blocked", "blocked", "free")
        )
        assert blocked == again
        assert free.any.value < blocked.any.value
        assert max(section.value for section in blocked.sections) <= blocked.any.value

    def test_run_out_of_unknown_direction(self):
        """Only run-out: one pin 0.05 out binds by at most 0.05, so never at 0.06 slack; 0.08 binds sometimes."""
        chassis = drawn((110.0, 0.0))
        spreads = spreads_of(chassis, {})
        for size, binds in ((0.05, False), (0.08, True)):
            eccentricity = np.zeros((2, 2))
            eccentricity[0, 0] = size
            some = Spreads(spreads.own, spreads.shared, (), spreads.reach, eccentricity)
            found = chance_of_binding(chassis, some, "blocked", samples=400, seed=4).any.value
            assert (found > 0) is binds
            # radial part beyond the slack at a dead centre: 2/pi acos(c / e)
            if binds:
                assert found == pytest.approx(2 / np.pi * np.arccos(SLACK / size), abs=0.06)

    def test_interval_of_a_share(self):
        """Wilson's interval, 5 of 100 at 95 %: 0.0215 to 0.1118 (worked by hand)."""
        found = Chance.of(5, 100, 0)
        assert (found.low, found.high) == pytest.approx((0.02154, 0.11175), abs=1e-4)
        assert Chance.of(0, 10, 0).low == 0

    def test_refuses_no_samples(self):
        with pytest.raises(OutOfRange, match="drawn"):
            chance_of_binding(drawn(), spreads_of(drawn()), "blocked", samples=0, seed=1)


class TestWorstCase:
    def test_by_hand(self):
        """Rod, two axles and two radii each 0.01 the wrong way, two bushes 0.02 close: 0.06 - 0.05 - 0.02."""
        chassis = drawn((110.0, 0.0))
        reach = {"centres": 0.01, "axle_x": 0.01, "crank_radius": 0.01, "bore": 0.02}
        spreads = spreads_of(chassis, reach, reach_in_deviations=1.0)
        worst = worst_case(chassis, spreads, "blocked", 0, turn_angles(chassis))
        assert worst.slack_mm == pytest.approx(SLACK - 0.05 - 0.02, abs=2e-4)

    def test_run_out_counts_in_full(self):
        chassis = drawn((110.0, 0.0))
        spreads = spreads_of(chassis, {"centres": 0.01}, reach_in_deviations=1.0, eccentricity=0.015)
        worst = worst_case(chassis, spreads, "blocked", 0, turn_angles(chassis))
        assert worst.slack_mm == pytest.approx(SLACK - 0.01 - 2 * 0.015, abs=1e-3)

    @pytest.mark.parametrize("meetings", [("separate",), ("knuckle ahead",)])
    @pytest.mark.parametrize("boxes", ["blocked", "free"])
    def test_no_corner_drawn_at_random_is_worse(self, meetings, boxes):
        chassis = one_built(meetings, 9, play=0.02)
        spreads = spreads_of(chassis)
        turn = turn_angles(chassis, 60)
        chance = np.random.default_rng(10)
        corners = chassis.vector() + spreads.reach[:, None] * chance.choice([-1.0, 1.0], (spreads.reach.size, 600))
        drawn_worst = least_slack(chassis.with_vector(corners), turn, boxes).min(axis=1)
        for section in (0, 1):
            worst = worst_case(chassis, spreads, boxes, section, turn)
            assert worst.slack_mm <= drawn_worst[section] + 1e-9


class TestFindings:
    @pytest.mark.parametrize("meetings", [("separate",), ("knuckle ahead",), ("rigid",)])
    def test_they_hang_together(self, meetings):
        chassis = one_built(meetings, 3)
        spreads = spreads_of(chassis)
        samples = 20 if meetings == ("rigid",) else 200
        found = find_sections(chassis, spreads, wanted_mm=0.0, samples=samples, seed=1, angles=90)
        assert [section.section for section in found] == ["12", "23"]
        for section in found:
            for one in (section.blocked, section.free):
                assert one.worst.slack_mm < one.tight.slack_mm
                assert sum(share for _, share in one.shares) == pytest.approx(100)
                assert one.tight.exact
                assert one.tight.slack_mm == pytest.approx(one.tight.linear_mm, abs=0.002)
                assert 0 <= one.tight.at_rad < 2 * np.pi
                least = "holds" if one.worst.slack_mm >= 0 else "close"
                assert one.verdict == ("fails" if one.tight.slack_mm < 0 else least)
            assert section.free.tight.slack_mm >= section.blocked.tight.slack_mm - 1e-3

    def test_shares_by_hand(self):
        """At the right dead centre the rod and both axles count once, each bush a half: 1 : 1 : 1 and 1/4 each."""
        chassis = drawn((110.0, 0.0))
        vector = chassis.vector().copy()
        vector[index_of(chassis.layout, "centres", 0, 1)] += 0.05
        spreads = spreads_of(chassis, {"centres": 0.01, "axle_x": 0.01, "bore": 0.01})
        found = find_sections(chassis.with_vector(vector), spreads, wanted_mm=0.0, samples=10, seed=1, angles=90)
        shares = dict(found[0].blocked.shares)
        assert shares["rod centres 12R"] == pytest.approx(100 / 3.5, abs=0.01)
        assert shares["bush bore of rod 12R on pin 1R"] == pytest.approx(25 / 3.5, abs=0.01)
        assert found[0].blocked.deviation_mm == pytest.approx(0.01 * sqrt(3.5), rel=1e-4)

    def test_a_chassis_that_binds_fails_and_says_how(self):
        chassis = drawn((110.0, 0.0))
        vector = chassis.vector().copy()
        vector[index_of(chassis.layout, "centres", 0, 0)] -= 0.1
        found = find_sections(
            chassis.with_vector(vector), spreads_of(chassis), wanted_mm=0.0, samples=50, seed=1, angles=90
        )
        blocked = found[0].blocked
        assert blocked.verdict == "fails"
        assert blocked.tight.slack_mm == pytest.approx(-0.04, abs=1e-4)
        assert np.degrees(blocked.tight.at_rad) % 180 == pytest.approx(90, abs=0.6)
        assert (blocked.tight.rods[0].rod, blocked.tight.rods[0].says) == ("12L", "too short")
        assert blocked.chance.value > 0.9

    @pytest.mark.parametrize(
        ("slack", "exact", "worst", "verdict"),
        [
            (0.0005, False, -1.0, "undecided"),
            (-0.0005, False, -1.0, "undecided"),
            (0.0005, True, -0.01, "close"),
            (-0.0005, True, -0.01, "fails"),
            (0.03, False, 0.01, "holds"),
            (-0.03, False, -0.05, "fails"),
        ],
    )
    def test_within_a_micrometre_the_linear_sum_does_not_decide(self, slack, exact, worst, verdict):
        assert _verdict(Tight(slack, 0.0, (), slack, exact), Worst(worst, 0.0), 0.0) == verdict

    def test_wanted_slack_must_be_a_length(self):
        with pytest.raises(OutOfRange, match="wanted"):
            find_sections(drawn(), spreads_of(drawn()), wanted_mm=-1.0, samples=10, seed=1)
