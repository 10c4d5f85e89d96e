"""Design aid: what is proposed does what was wished; refining keeps to its steps, improves, and can be stopped."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gears import gear
from asmade.motion.proposals.walschaerts import Wish, propose
from asmade.motion.valves.engine import Engine, Side, Valve
from asmade.motion.valves.events import events
from asmade.motion.valves.harmonic import lap_by_rule, lap_for_cutoff, travel_for_cutoff
from asmade.motion.valves.refine import INCH_STEP, METRIC_STEP, Aims, Free, refine
from asmade.motion.valves.report import engine_events

WISH = Wish(
    crank_radius=25.0,
    connecting_rod=180.0,
    cutoff=0.75,
    lead=0.25,
    port=4.0,
    admission="outside",
    link_ahead=115.0,
    lever_ahead=225.0,
    spindle_above=38.0,
    foot_drop=28.0,
    drop_ahead=6.0,
    travel=12.0,
)
INSIDE = dataclasses.replace(WISH, admission="inside", spindle_above=30.0)


@pytest.mark.parametrize("wish", [WISH, INSIDE], ids=["outside", "inside"])
def test_a_proposal_does_what_was_wished(wish):
    """Leads as wished in all gears, travel and cut-off near, no notice but what refining is for."""
    made = propose(wish)
    found = events(made.side)
    assert np.ptp(found.lead[0]) < 1e-9
    assert np.abs(found.lead - wish.lead).max() < 0.005
    assert found.travel[0, 0] == pytest.approx(wish.travel, rel=0.06)
    assert found.cutoff.per_cent[0].mean() == pytest.approx(75.0, abs=2.5)
    assert found.link_swing.whole[0, 0] == pytest.approx(2 * wish.half_swing, abs=math.radians(1.0))
    codes = {notice.code for notice in engine_events(Engine(made.side, made.side)).notices}
    assert codes <= {"die_past_slot"}
    assert all(line.source for line in made.working)


def test_combination_lever_of_a_proposal_keeps_the_published_proportion():
    """Stroke : 2 (lap + lead) as long arm to short arm (valve-gear textbooks)."""
    made = propose(WISH)
    lap = made.figure("lap")
    assert made.figure("lever_bottom") / made.figure("lever_top") == pytest.approx(25.0 / (lap + 0.25))
    assert lap == pytest.approx(lap_by_rule(12.0, 0.75, 0.25), rel=2e-3)  # Bourne's rule, nearly exact with little lead


def test_lap_or_travel_follows_from_the_other():
    made = propose(dataclasses.replace(WISH, travel=None, lap=2.5))
    assert lap_for_cutoff(made.figure("travel"), 0.75, 0.25) == pytest.approx(2.5)
    assert travel_for_cutoff(1.5, 0.75, 0.0) == pytest.approx(6.0)  # lap equal to opening: 75 per cent


@settings(max_examples=30, deadline=None)
@given(
    cutoff=st.floats(0.6, 0.85),
    lead=st.floats(0.05, 0.4),
    travel=st.floats(9.0, 15.0),
    inside=st.booleans(),
    line=st.floats(-3.0, 3.0),
)
def test_proposals_assemble_with_the_lead_wished(cutoff, lead, travel, inside, line):
    wish = dataclasses.replace(
        INSIDE if inside else WISH, cutoff=cutoff, lead=lead, travel=travel, cylinder_line_y=line, foot_drop=30.0
    )
    found = events(propose(wish).side, (1.0, 0.0, -1.0))
    assert found.assembled.all()
    assert found.lead[0] == pytest.approx(np.full((2, 1), lead), abs=0.02)
    assert found.cutoff.cycle[0].mean() == pytest.approx(cutoff, abs=0.04)


LENGTHS = ("eccentric_rod", "link_y", "foot_drop", "foot_back", "radius_rod", "lever_top", "lever_bottom", "union_link")
FREE = tuple(Free(name, METRIC_STEP, 3.0) for name in (*LENGTHS, "weigh_x", "weigh_y", "lift_arm"))


@pytest.mark.parametrize("step", [METRIC_STEP, INCH_STEP])
def test_refining_keeps_to_steps_and_reach_and_improves(step):
    rounds = []
    free = tuple(dataclasses.replace(f, step=step) for f in FREE)
    start = propose(WISH).side
    found = refine(start, free, Aims(cutoff=0.75, lead_mm=0.25), progress=lambda *told: rounds.append(told[1].total))
    assert found.finished
    assert len(rounds) == found.rounds
    for f in free:
        value = found.side.size(f.name)
        assert value / step == pytest.approx(round(value / step), abs=1e-6), f.name
        assert abs(found.changes[f.name]) <= f.reach + 1e-9
    assert found.after.total < 0.25 * found.before.total
    assert found.after.cutoff_between_ends < 0.03
    # the full model says the same of the side it gives
    again = events(found.side, Aims(cutoff=0.75, lead_mm=0.25).positions)
    assert np.abs(again.lead - 0.25).max() == pytest.approx(found.after.lead_out_mm)
    assert found.side.gear.samples == 1


def test_a_stop_keeps_the_best_so_far():
    asked = []

    def stop():
        asked.append(None)
        return len(asked) > 2

    found = refine(propose(WISH).side, FREE, Aims(cutoff=0.75, lead_mm=0.25), stop=stop)
    assert not found.finished
    assert found.rounds == 2
    assert found.after.total < found.before.total


def test_an_interrupt_keeps_the_best_so_far():
    def progress(count, score, side):
        if count == 2:
            raise KeyboardInterrupt

    found = refine(propose(WISH).side, FREE, Aims(cutoff=0.75, lead_mm=0.25), progress=progress)
    assert not found.finished
    assert found.after.total < found.before.total


def test_refining_leaves_gears_that_do_not_assemble_alone():
    """A reach so wide that many trials cannot be assembled: none of them is taken."""
    free = (Free("eccentric_rod", 5.0, 60.0), Free("foot_drop", 5.0, 25.0), Free("hanger", 5.0, 30.0))
    found = refine(propose(WISH).side, free, Aims(cutoff=0.75, lead_mm=0.25))
    assert events(found.side).assembled.all()


def test_other_gears_can_be_refined_too():
    """An eccentric has neither link nor die: its advance and radius alone meet cut-off and lead."""
    kind = gear("eccentric")
    start = Side(kind.example(), Valve.alike("outside", lap=0.8, exhaust_lap=0.0, port=2.0))
    free = (Free("eccentric_radius", 0.01, 0.6), Free("advance_forward", math.radians(0.1), 0.3))
    aims = Aims(cutoff=0.70, lead_mm=0.1, positions=(1.0,))
    found = refine(start, free, aims)
    # the connecting rod's slope parts the ends, so a plain eccentric meets the mean cut-off and the lead
    assert found.after.cutoff_out < 0.012
    assert found.after.lead_out_mm < 0.03


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"lap": 2.0}, "one of the two"),
        ({"travel": None}, "one of the two"),
        ({"lever_ahead": 100.0}, "lever ahead of the link"),
        ({"half_swing": 0.0}, "half swing"),
        ({"hanger_share": 1.0}, "hanger share"),
        ({"foot_drop": 500.0}, "foot drop"),
        ({"lever_ahead": 187.0}, "move the combination lever"),
        ({"cutoff": 1.0}, "cut-off"),
        ({"cutoff": 0.97, "lead": 2.5}, "earlier cut-off"),
    ],
)
def test_wishes_that_cannot_be_are_named(changes, words):
    with pytest.raises(OutOfRange, match=words):
        propose(dataclasses.replace(WISH, **changes))


def test_bad_refining_is_named():
    side, aims = propose(WISH).side, Aims(cutoff=0.75, lead_mm=0.25)
    with pytest.raises(Unknown, match="name some of"):
        refine(side, (), aims)
    with pytest.raises(Unknown, match="elbow"):
        refine(side, (Free("elbow", 0.1, 1.0),), aims)
    with pytest.raises(OutOfRange, match="each once"):
        refine(side, (FREE[0], FREE[0]), aims)
    with pytest.raises(OutOfRange, match="follows by itself"):
        refine(side, (Free("mid", 0.1, 1.0),), aims)
    with pytest.raises(OutOfRange, match="step"):
        Free("eccentric_rod", 0.0, 1.0)
