"""Design aid of every gear: what is proposed does what was wished, whatever the room; a search in steps betters it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.gears import gears
from asmade.motion.proposals import aid_for, aids
from asmade.motion.valves.events import events
from asmade.motion.valves.refine import METRIC_STEP, Aims, Free, refine

BASE = {
    "cutoff": 0.75, "lead": 0.2, "crank_radius": 22.0, "connecting_rod": 150.0, "cylinder_line_y": 0.0, "port": 4.0,
    "exhaust_lap": 0.0, "travel": 11.0,
}  # fmt: skip
ROOM = {
    "walschaerts": {"link_ahead": 105.0, "lever_ahead": 200.0, "spindle_above": 36.0, "foot_drop": 27.0, "drop_ahead": 5.0},
    "eccentric": {"eccentric_rod": 120.0, "spindle_above": 0.0},
    "stephenson": {"link_ahead": 126.0, "spindle_above": 0.0, "pins": 0.0, "pins_behind": 0.0, "hung_behind": 0.0,
                   "full_gear": 0.85},
    "joy": {"joint_along": 70.0, "spindle_above": 29.0, "valve_rod": 90.0, "vibrating_link": 0.0, "anchor_link": 0.0,
            "lever_share": 0.47},
}  # fmt: skip


def chosen(gear, admission, **other):
    """The choices that go with an admission; others as told."""
    lies = "ahead of the crank" if admission == "outside" else "behind the crank"
    on = {"transmission": "on the spindle", "driven_arm": "hangs", "lies": lies}
    return {
        "walschaerts": {},
        "eccentric": {"eccentric": "slips", **on},
        "stephenson": {"rods": "open", "lifting": "hanging link", **on},
        "joy": {
            "valve_lever": "valve rod outermost" if admission == "outside" else "die outermost",
            "anchor": "forward",
        },
    }[gear] | other


def proposed(gear, admission="outside", changes=None, **other):
    wanted = {k: v for k, v in (BASE | ROOM[gear] | (changes or {})).items() if v is not None}
    return aid_for(gear).propose(wanted, admission, chosen(gear, admission, **other))


def test_there_is_an_aid_for_every_gear():
    assert set(aids()) == set(gears()) == set(ROOM)
    with pytest.raises(Unknown, match="stephenson"):
        aid_for("elbow gear")


@pytest.mark.parametrize("admission", ["outside", "inside"])
@pytest.mark.parametrize("gear", ROOM)
def test_full_gear_does_what_was_wished(gear, admission):
    """Lead, mean cut-off and travel in full gear both ways; the slope of the rods leaves what a search then betters."""
    found = events(proposed(gear, admission).side)
    full = np.abs(found.positions) == 1.0
    assert found.assembled.all()
    assert np.abs(found.lead[full] - 0.2).max() < 0.1
    assert found.cutoff.cycle[full].mean() == pytest.approx(0.75, abs=0.03)
    assert found.travel[full].mean() == pytest.approx(11.0, rel=0.07)


@pytest.mark.parametrize("admission", ["outside", "inside"])
def test_joy_and_walschaerts_keep_their_lead_at_every_cut_off(admission):
    """Published relation (valve-gear textbooks): constant lead; exact at full gear's dead centres by construction."""
    assert np.abs(events(proposed("joy", admission).side).lead - 0.2).max() < 1e-9
    assert np.abs(events(proposed("walschaerts", admission).side).lead - 0.2).max() < 0.01


@pytest.mark.parametrize(("rods", "sign"), [("open", 1.0), ("crossed", -1.0)])
def test_stephenson_lead_grows_or_falls_as_zeuner_says(rods, sign):
    """Zeuner (from memory): in mid gear the valve stands r sin a +- c/l r cos a from its middle at a dead centre."""
    made = proposed("stephenson", rods=rods)
    found = events(made.side)
    mid = found.lead[found.positions == 0.0].mean()
    assert sign * (mid - found.lead[0].mean()) > 0.3
    assert mid == pytest.approx(made.figure("lead in mid gear"), abs=0.1)


def test_published_proportions_of_one_eccentric():
    """Polar diagram: lap equal to the opening without lead cuts off at 75 per cent; advance is then 30 degrees."""
    made = proposed("eccentric", changes={"lead": 0.0})
    assert made.figure("lap") == pytest.approx(0.25 * 11.0)
    assert made.figure("angle of advance") == pytest.approx(math.radians(30.0))
    assert made.figure("eccentric_radius") == pytest.approx(5.5)


@pytest.mark.parametrize("gear", ROOM)
def test_every_line_of_the_working_has_its_source(gear):
    made = proposed(gear)
    assert len(made.working) > 5
    assert all(line.source and line.relation for line in made.working)


@settings(max_examples=40, deadline=None)
@given(
    gear=st.sampled_from(["eccentric", "stephenson", "joy"]),
    inside=st.booleans(),
    cutoff=st.floats(0.65, 0.8),
    lead=st.floats(0.05, 0.35),
    line=st.floats(-3.0, 3.0),
    rise=st.floats(-2.0, 8.0),
    size=st.floats(0.4, 3.0),
)
def test_whatever_the_room_and_the_scale(gear, inside, cutoff, lead, line, rise, size):
    """Cylinder line beside the axle, spindle above it, any scale: goes together, and full gear is near what was wished."""
    lengths = {"lead": lead, "cylinder_line_y": line} | {"spindle_above": ROOM[gear]["spindle_above"] + rise}
    scaled = {
        k: v if k in ("cutoff", "full_gear", "lever_share") else v * size
        for k, v in (BASE | ROOM[gear] | lengths | {"cutoff": cutoff}).items()
    }
    found = events(proposed(gear, "inside" if inside else "outside", changes=scaled).side, (1.0, -1.0))
    assert found.assembled.all()
    assert np.abs(found.lead - lead * size).max() < 0.12 * size
    assert found.cutoff.cycle.mean() == pytest.approx(cutoff, abs=0.035)


@pytest.mark.parametrize("gear", ["stephenson", "joy", "eccentric"])
def test_a_search_in_steps_betters_it_and_keeps_to_them(gear):
    aid = aid_for(gear)
    side = proposed(gear).side
    aims = Aims(0.75, 0.2, lead_everywhere=aid.lead_everywhere, lead_counts_mm=aid.lead_counts_mm, travel_mm=11.0)
    free = (
        *(Free(name, METRIC_STEP, 3.8) for name in aid.lengths),
        *(Free(name, math.radians(0.25), math.radians(5.0)) for name in aid.angles),
    )
    found = refine(side, free, aims)
    assert found.finished
    assert found.after.total < found.before.total
    assert found.after.lead_out_mm < 0.08
    assert found.after.cutoff_out < 0.02
    for f in free:
        value = float(found.side.size(f.name))
        assert value / f.step == pytest.approx(round(value / f.step), abs=1e-6), f.name
    if gear == "stephenson":
        assert found.after.cutoff_between_ends < 0.6 * found.before.cutoff_between_ends


@pytest.mark.parametrize(
    ("gear", "changes", "words"),
    [
        ("stephenson", {"pins": 70.0}, "bring its pins together"),
        ("stephenson", {"full_gear": 0.1}, "full_gear"),
        ("stephenson", {"spindle_above": 140.0}, "rod from the axle"),
        ("joy", {"spindle_above": -20.0}, "raise the spindle"),
        ("joy", {"joint_along": 5.0}, "joint_along"),
        ("joy", {"joint_along": 118.0}, "nearer to the big end"),
        ("joy", {"vibrating_link": 20.0}, "vibrating link"),
        ("joy", {"lever_share": 0.95}, "lever_share"),
        ("eccentric", {"eccentric_rod": 5.0, "spindle_above": 9.0}, "rod from the axle"),
        ("eccentric", {"lap": 2.0}, "one of the two"),
        ("eccentric", {"travel": None}, "one of the two"),
        ("eccentric", {"cylinder_line_y": 130.0}, "connecting rod"),
        ("joy", {"cylinder_line_y": 130.0}, "connecting rod"),
        ("eccentric", {"cutoff": 0.97, "lead": 2.5}, "earlier cut-off"),
    ],
)  # fmt: skip
def test_room_that_there_is_not_is_named(gear, changes, words):
    with pytest.raises(OutOfRange, match=words):
        proposed(gear, changes=changes)


@pytest.mark.parametrize(
    ("gear", "admission", "other", "words"),
    [
        ("eccentric", "outside", {"transmission": "rocker"}, "rocker"),
        ("stephenson", "outside", {"lies": "behind the crank"}, "ahead of the crank"),
        ("eccentric", "inside", {"lies": "ahead of the crank"}, "behind the crank"),
        ("joy", "inside", {"valve_lever": "valve rod outermost"}, "die outermost"),
    ],
)
def test_choices_that_do_not_go_with_the_admission_are_refused(gear, admission, other, words):
    with pytest.raises(Refused, match=words):
        proposed(gear, admission, **other)
