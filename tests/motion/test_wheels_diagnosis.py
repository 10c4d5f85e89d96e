"""Diagnosis: 500 seeded chassis with one known fault, and what trial turning shows."""

from __future__ import annotations

import numpy as np
import pytest

from asmade.measure.errors import OutOfRange, Refused
from asmade.motion.wheels.chassis import Chassis, index_of
from asmade.motion.wheels.diagnosis import diagnose, fault_library, find_causes
from asmade.motion.wheels.spreads import Spreads
from asmade.motion.wheels.trials import Fitted, Look, TightArc, Trial, observe, tight_arcs, with_rods

EACH_SECTION = (Fitted((0,), "both", "blocked"), Fitted((1,), "both", "blocked"))
USUAL = {"axle_x": 0.01, "crank_radius": 0.01, "quarter": 0.0006, "centres": 0.01, "bore": 0.003}


def drawn(meetings=None):
    return Chassis.as_drawn(
        axle_x=(120.0, 0.0, -110.0),
        crank_radius=24.0,
        bush_clearance=0.06,
        pin=8.0,
        box_play=0.08,
        meetings=meetings,
        knuckle_reach=15.0,
        knuckle_clearance=0.03,
    )


def usual(chassis):
    return Spreads.of(chassis.layout, USUAL, reach_in_deviations=2.0, eccentricity=0.004)


@pytest.fixture(scope="module")
def library():
    chassis = drawn()
    return fault_library(chassis, usual(chassis), EACH_SECTION, per_cause=400, seed=1)


def misread(trial, chance):
    """The builder's protractor: every end of a tight place out by some 3 degrees."""
    arcs = tuple(
        TightArc(arc.start + np.radians(chance.normal(0, 3)), arc.end + np.radians(chance.normal(0, 3)))
        if np.mod(arc.end - arc.start, 2 * np.pi) > np.radians(15)
        else arc
        for arc in trial.tight
    )
    return Trial(trial.fitted, arcs, trial.looks)


def score(library, *, look, count, seed, trials=EACH_SECTION):
    """Shares of chassis whose true cause ranks first, and among the first two."""
    chance, told = np.random.default_rng(seed), trials
    spreads = usual(library.chassis)
    causes = [cause for cause in library.causes if cause.rows]
    first = second = done = 0
    while done < count:
        truth = causes[chance.integers(len(causes))]
        row = chance.choice(truth.rows)
        vector = spreads.draw(library.chassis, 1, int(chance.integers(1 << 30))).vector().copy()
        vector[row] += chance.uniform(4, 12) * spreads.own[row] * chance.choice([-1.0, 1.0])
        built = library.chassis.with_vector(vector)
        trials = [misread(observe(built, fitted, look=look), chance) for fitted in told]
        if not any(trial.tight for trial in trials):
            continue  # turns freely: nothing to diagnose
        ranking = [ranked.cause for ranked in diagnose(library, trials).ranking]
        first += ranking[0] == truth
        second += truth in ranking[:2]
        done += 1
    return first / count, second / count


def test_true_cause_of_500_chassis_with_one_fault(library):
    """Wanted: first in at least 80 %, among the first two in 95 %. Sections tried one by one, both sides on, boxes
    blocked, and which way the pins bear in their bushes at each tight place and half a turn later: all with the rods on."""
    first, second = score(library, look=True, count=500, seed=9)
    assert first >= 0.80
    assert second >= 0.95


def test_each_side_alone_tells_little_more(library):
    """With one side on only its own dead centres can be tight, and of two causes there both are: the sense is missing."""
    alone = tuple(Fitted((section,), side, "blocked") for section in (0, 1) for side in ("L", "R"))
    sides = fault_library(library.chassis, usual(library.chassis), EACH_SECTION + alone, per_cause=200, seed=1)
    both = score(library, look=False, count=60, seed=11)
    each = score(sides, look=False, count=60, seed=11, trials=EACH_SECTION + alone)
    assert abs(each[0] - both[0]) < 0.2


def test_without_looking_at_the_rods_the_angles_alone_tell_less(library):
    """Centres and radius are tight at the same places: reported honestly, about six in ten, and nine in the first two."""
    first, second = score(library, look=False, count=150, seed=10)
    assert 0.4 < first < 0.8
    assert second > 0.75


class TestCauses:
    def test_a_rod_and_its_end_horn_are_one_cause_a_middle_horn_is_its_own(self):
        causes = [set(cause.names) for cause in find_causes(drawn(), usual(drawn()))]
        assert {"rod centres 12L", "axle position 1L"} in causes
        assert {"rod centres 23R", "axle position 3R"} in causes
        assert {"axle position 2L"} in causes
        assert {"quarter of axle 2"} in causes
        assert {"crank radius 2R"} in causes
        assert len(causes) == 15

    def test_two_axles_tell_neither_radius_nor_horn_apart(self):
        two = Chassis.as_drawn(axle_x=(110.0, 0.0), crank_radius=24.0, bush_clearance=0.06, pin=8.0, box_play=0.08)
        causes = [set(cause.names) for cause in find_causes(two, usual(two))]
        assert {"crank radius 1L", "crank radius 2L"} in causes
        assert {"quarter of axle 1", "quarter of axle 2"} in causes
        assert {"rod centres 12L", "axle position 1L", "axle position 2L"} in causes

    def test_what_has_no_spread_is_no_cause(self):
        chassis = drawn()
        only = Spreads.of(chassis.layout, {"quarter": 0.001}, reach_in_deviations=2.0, eccentricity=0.0)
        assert len(find_causes(chassis, only)) == 3
        none = Spreads.of(chassis.layout, {"bore": 0.001}, reach_in_deviations=2.0, eccentricity=0.0)
        with pytest.raises(Refused, match="nothing to search"):
            find_causes(chassis, none)


class TestDiagnosis:
    def test_four_places_at_45_degrees_are_a_quarter(self, library):
        arcs = tuple(TightArc(np.radians(at - 20), np.radians(at + 20)) for at in (45, 135, 225, 315))
        trials = [Trial(EACH_SECTION[0], arcs), Trial(EACH_SECTION[1], ())]
        found = diagnose(library, trials)
        assert found.ranking[0].cause.names == ("quarter of axle 1",)
        both = diagnose(library, [Trial(fitted, arcs) for fitted in EACH_SECTION])
        assert both.ranking[0].cause.names == ("quarter of axle 2",)

    def test_right_dead_centres_and_long_at_both_are_a_right_hand_rod(self, library):
        arcs = (TightArc(np.radians(-15), np.radians(15)), TightArc(np.radians(165), np.radians(195)))
        looks = tuple(Look(at, 0, "R", "too long") for at in (0.0, np.pi))
        found = diagnose(library, [Trial(EACH_SECTION[0], arcs, looks), Trial(EACH_SECTION[1], ())])
        assert "rod centres 12R" in found.ranking[0].cause.names
        opposite = (Look(0.0, 0, "R", "too long"), Look(np.pi, 0, "R", "too short"))
        found = diagnose(library, [Trial(EACH_SECTION[0], arcs, opposite), Trial(EACH_SECTION[1], ())])
        assert found.ranking[0].cause.names == ("crank radius 1R",)
        assert found.ranking[0].out_by < 0  # a smaller crank brings its pin back, the rod is too long in front

    def test_probabilities_add_up_and_the_advice_splits_what_is_in_doubt(self, library):
        arcs = (TightArc(np.radians(-15), np.radians(15)), TightArc(np.radians(165), np.radians(195)))
        trials = [Trial(EACH_SECTION[0], arcs), Trial(EACH_SECTION[1], ())]
        found = diagnose(library, trials, measuring={"centres": 0.01, "crank_radius": 0.01, "quarter": 0.0003})
        assert sum(ranked.probability for ranked in found.ranking) == pytest.approx(1)
        assert found.measure is not None
        assert "12R" in found.measure.what or "1R" in found.measure.what
        assert 0 < found.measure.bits < found.measure.doubt_bits
        assert any("centres and crank radius" in remark for remark in found.remarks)

    def test_tight_one_way_only_is_not_the_rods(self, library):
        arcs = (TightArc(np.radians(20), np.radians(90)),)
        found = diagnose(
            library,
            [
                Trial(EACH_SECTION[0], arcs, direction="forward"),
                Trial(EACH_SECTION[0], (), direction="backward"),
            ],
        )
        assert any("something that touches" in remark for remark in found.remarks)

    def test_refuses_what_it_was_not_drawn_for(self, library):
        with pytest.raises(Refused, match="nothing was observed"):
            diagnose(library, [])
        with pytest.raises(Refused, match="no builds"):
            diagnose(library, [Trial(Fitted((0, 1), "both", "free"), ())])
        with pytest.raises(OutOfRange, match="measuring"):
            diagnose(library, [Trial(EACH_SECTION[0], ())], measuring={"centres": 0.0})
        with pytest.raises(OutOfRange, match="per cause"):
            fault_library(library.chassis, usual(library.chassis), EACH_SECTION, per_cause=0, seed=1)

    def test_jointed_rods_too(self):
        chassis = drawn(("knuckle ahead",))
        fitted = (Fitted((1,), "both", "blocked"), Fitted((0, 1), "both", "blocked"))
        jointed = fault_library(chassis, usual(chassis), fitted, per_cause=60, seed=2)
        vector = chassis.vector().copy()
        vector[index_of(chassis.layout, "centres", 1, 0)] += 0.11
        trials = [observe(chassis.with_vector(vector), each, look=True) for each in fitted]
        assert trials[0].tight
        found = diagnose(jointed, trials)
        # tried with both rods on, a middle horn that is back shows nearly the same
        first_two = [name for ranked in found.ranking[:2] for name in ranked.cause.names]
        assert "rod centres 23L" in first_two
        assert "axle position 2L" in first_two


class TestTrials:
    def test_arcs_of_marked_angles(self):
        angles = np.linspace(0, 2 * np.pi, 36, endpoint=False)
        tight = np.zeros(36, dtype=bool)
        tight[[0, 1, 35, 9, 10]] = True
        arcs = tight_arcs(angles, tight)
        assert np.degrees([arc.middle % (2 * np.pi) for arc in arcs]) == pytest.approx([95, 0], abs=1e-6)
        assert arcs[1].holds(np.radians([355.0, 5, 30])).tolist() == [True, True, False]
        assert len(tight_arcs(angles, np.ones(36, dtype=bool))) == 1
        assert tight_arcs(angles, np.zeros(36, dtype=bool)) == ()

    def test_a_jointed_rod_needs_the_rod_that_carries_it(self):
        with pytest.raises(Refused, match="hangs on rod 23"):
            with_rods(drawn(("knuckle ahead",)), Fitted((0,), "both", "blocked"))
        with pytest.raises(Refused, match="there are sections"):
            with_rods(drawn(), Fitted((2,), "both", "blocked"))

    def test_an_angle_that_is_none(self):
        with pytest.raises(OutOfRange, match="tight place"):
            TightArc(float("nan"), 1.0)
