"""Events of a side: against brute force on the gear itself, laws, sample by sample, and what is named when it fails."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gears import gear, gears
from asmade.motion.gears.walschaerts import return_pin_circle
from asmade.motion.valves.engine import Engine, Side, Valve
from asmade.motion.valves.events import POSITIONS, events, valve_motion
from asmade.motion.valves.piston import Piston
from asmade.motion.valves.report import engine_events
from asmade.motion.valves.setting import set_valve

KIND = gear("walschaerts")
NAMES = ("admission", "cutoff", "release", "compression")


def a_side(**changes):
    gear_changes = {name: value for name, value in changes.items() if name in KIND.example().sizes}
    valve = {"lap": 2.78, "exhaust_lap": 0.1, "port": 3.6} | {
        name: value for name, value in changes.items() if name not in gear_changes
    }
    return set_valve(Side(KIND.example().with_sizes(gear_changes), Valve.alike("outside", **valve)))


OFFSET = {"cylinder_line_y": 4.0, "cylinder_incline": 0.05, "axle_rise": 1.5, "spindle_incline": 0.03}


def test_dead_centres_of_an_offset_and_inclined_cylinder():
    """Against the extremes of the gear's own piston motion, sampled finely."""
    side = a_side(**OFFSET)
    piston = Piston.of(side.gear)
    for dead, pick in ((piston.front_dead_centre, np.argmax), (piston.back_dead_centre, np.argmin)):
        around = float(dead[0]) + np.linspace(-1e-3, 1e-3, 2001)
        place = KIND.move(side.gear, around, 1.0).place("piston")[0, :, 0]
        assert around[pick(place)] == pytest.approx(float(dead[0]), abs=2e-6)
    places = KIND.move(side.gear, [piston.front_dead_centre[0], piston.back_dead_centre[0]]).place("piston")[0, :, 0]
    assert places[0] - places[1] == pytest.approx(piston.stroke[0])
    crank = np.linspace(0, 6, 13)
    travelled = places[0] - KIND.move(side.gear, crank).place("piston")[0, :, 0]
    assert piston.from_front(crank[:, None])[:, 0] == pytest.approx(travelled)


@pytest.mark.parametrize("reverser", [1.0, 0.3, -0.6])
def test_events_by_brute_force(reverser):
    """Crossings of the lap on 200,000 angles of the gear itself, offset cylinder, both ends."""
    side, count = a_side(**OFFSET), 200_000
    crank = np.linspace(0, 2 * np.pi, count, endpoint=False)
    sense = -1 if reverser < 0 else 1
    motion = KIND.move(side.gear, sense * crank, reverser)
    valve, place = motion.place("valve")[0, :, 0] - side.valve.mid, motion.place("piston")[0, :, 0]
    found = events(side, (reverser,))
    for end, opening in enumerate(side.valve.opening_senses()):
        dead = crank[place.argmax() if end == 0 else place.argmin()]
        done = (place.max() - place) / np.ptp(place)
        done = done if end == 0 else 1 - done
        for names, edge in (
            (("admission", "cutoff"), opening * valve - side.valve.lap_front),
            (("release", "compression"), -opening * valve - side.valve.exhaust_lap_front),
        ):
            up = np.flatnonzero((edge > 0) & (np.roll(edge, 1) <= 0))
            down = np.flatnonzero((edge <= 0) & (np.roll(edge, 1) > 0))
            assert (up.size, down.size) == (1, 1)
            for name, index in zip(names, (up[0], down[0]), strict=True):
                happening = getattr(found, name)
                got = happening.crank_rad[0, end, 0]
                assert (got - (crank[index] - dead) + np.pi) % (2 * np.pi) - np.pi == pytest.approx(0, abs=1e-4)
                part = happening.per_cent[0, end, 0] / 100
                part = part if happening.cycle[0, end, 0] < 1 else 1 - part
                assert part == pytest.approx(done[index], abs=1e-4)
        assert found.opening[0, end, 0] == pytest.approx((opening * valve - side.valve.lap_front).max(), abs=1e-6)
        at = found.opening_at[0, end, 0]
        assert opening * valve_motion(side, np.array([at]), reverser)[0] - side.valve.lap_front == pytest.approx(
            found.opening[0, end, 0], abs=1e-9
        )


def test_conventions_of_signs():
    found = events(a_side(), (1.0, -1.0))
    assert (found.admission.crank_rad < 0).all()
    assert (found.admission.cycle > 1).all()
    assert (found.cutoff.cycle < 1).all()
    assert (found.release.crank_rad < np.pi).all()
    assert (found.compression.crank_rad > np.pi).all()


def test_late_admission_lies_in_the_working_stroke():
    found = events(a_side(lap=3.2), (0.5,))
    assert (found.lead < 0).all()
    assert (found.admission.crank_rad > 0).all()
    assert (found.admission.cycle < 0.1).all()


@settings(max_examples=25, deadline=None)
@given(scale=st.floats(0.05, 20))
def test_scaling_all_lengths_scales_travel_and_keeps_events(scale):
    side = a_side()
    kinds = {size.name: size.kind for size in KIND.sizes}
    sizes = {name: v * (1 if kinds[name] == "angle" else scale) for name, v in side.gear.sizes.items()}
    valve = Valve.alike(
        "outside", lap=2.78 * scale, exhaust_lap=0.1 * scale, port=3.6 * scale, mid=side.valve.mid * scale
    )
    big = events(Side(KIND.of(sizes, side.gear.choices), valve), (1.0, -0.5))
    plain = events(side, (1.0, -0.5))
    assert big.travel == pytest.approx(scale * plain.travel, rel=1e-9)
    assert big.die.whole == pytest.approx(scale * plain.die.whole, rel=1e-6)
    for name in NAMES:
        assert getattr(big, name).crank_rad == pytest.approx(getattr(plain, name).crank_rad, abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(lap=st.floats(1.0, 2.9), more=st.floats(0.01, 0.3))
def test_more_lap_means_less_lead_and_earlier_cut_off(lap, more):
    less, greater = events(a_side(lap=lap), (0.8,)), events(a_side(lap=lap + more), (0.8,))
    assert less.lead - greater.lead == pytest.approx(more)
    assert (greater.cutoff.cycle < less.cutoff.cycle).all()
    assert greater.release.cycle == pytest.approx(less.release.cycle)


def test_samples_are_the_sides_one_by_one():
    rng = np.random.default_rng(4)
    varied = {name: KIND.example()[name] + rng.normal(0, 0.1, 5) for name in ("eccentric_rod", "lever_top", "link_x")}
    many = events(a_side(**varied), (1.0, -0.5))
    for sample in range(5):
        one = events(a_side(**{name: value[sample] for name, value in varied.items()}), (1.0, -0.5))
        for name in NAMES:
            ours, alone = (getattr(e, name).per_cent for e in (many, one))
            assert ours[..., sample] == pytest.approx(alone[..., 0], abs=1e-9)
        assert many.die.whole[:, sample] == pytest.approx(one.die.whole[:, 0], abs=1e-9)
        assert many.joints["lifting link", "radius rod"].least[:, sample] == pytest.approx(
            one.joints["lifting link", "radius rod"].least[:, 0]
        )


def test_a_sample_that_does_not_assemble_is_named_and_spoils_no_other():
    rods = np.array([107.95, 60.0, 108.1])
    side = Side(
        KIND.example().with_sizes({"eccentric_rod": rods}),
        Valve.alike("outside", lap=2.78, exhaust_lap=0.0, port=3.6, mid=float(a_side().valve.mid)),
    )
    found = events(side, (1.0, 0.0))
    assert found.assembled.tolist() == [[True, False, True]] * 2
    assert found.faults[0].links == ("eccentric rod", "expansion link")
    assert found.faults[0].sample == 1
    assert np.isnan(found.cutoff.per_cent[..., 1]).all()
    assert np.isnan(found.travel[:, 1]).all()
    assert np.isfinite(found.cutoff.per_cent[..., [0, 2]]).all()


def test_lap_beyond_half_travel_is_named_with_the_way_out():
    side = a_side(lap=8.0)
    found = events(side, (1.0,))
    assert not found.opens.any()
    assert np.isnan(found.cutoff.crank_rad).all()
    notices = [n for n in engine_events(Engine(side, side), (1.0,)).notices if n.code == "never_opens"]
    assert len(notices) == 4
    assert "lengthen the travel or shorten the lap" in notices[0].text
    assert notices[0].value < 0


def test_exhaust_lap_beyond_half_travel_is_named():
    side = a_side(exhaust_lap=7.0)
    found = events(side, (1.0,))
    assert not found.exhausts.any()
    assert found.opens.all()
    notices = engine_events(Engine(side, side), (1.0,)).notices
    assert {notice.code for notice in notices} == {"never_exhausts"}


def test_a_gear_with_two_positions_is_looked_at_in_those():
    kind = gear("eccentric")
    side = set_valve(Side(kind.example(), Valve.alike("outside", lap=0.8, exhaust_lap=0.0, port=2.0)))
    assert events(side).positions.tolist() == [1.0, -1.0]
    assert len(engine_events(Engine(side, side)).positions) == 4


def test_what_the_report_takes_note_of():
    short_slot = a_side(link_half_slot=5.0)
    whole = engine_events(Engine(a_side(), short_slot))
    assert {n.side for n in whole.notices if n.code == "die_past_slot"} == {"L"}
    late = engine_events(Engine(a_side(lap=3.2), a_side()), (1.0,))
    assert {(n.code, n.side) for n in late.notices} == {("late_admission", "R")}
    negative = engine_events(Engine(a_side(lap=-6.5), a_side()), (0.0,))
    assert {"never_cuts_off"} <= {n.code for n in negative.notices}
    broken = engine_events(Engine(a_side(), Side(a_side().gear.with_sizes({"hanger": 5.0}), a_side().valve)), (1.0,))
    assert broken.notices[0].code == "does_not_assemble"
    assert "lifting link and radius rod" in broken.notices[0].text
    assert broken.positions[1].ends is None
    assert not broken.beats


def test_motion_by_jerks_is_told():
    """An eccentric rod that only just reaches: rod and link come into line once a turn."""
    d = KIND.example().sizes
    just = abs(complex(d["link_x"], d["link_y"])) + return_pin_circle(KIND.example())
    just -= abs(complex(d["foot_back"], d["foot_drop"]))
    tight = Side(KIND.example().with_sizes({"eccentric_rod": just + 1e-6}), a_side().valve)
    codes = {n.code for n in engine_events(Engine(tight, tight), (1.0,)).notices}
    assert {"rough_motion", "near_toggle"} <= codes


def test_wide_swing_and_near_toggle_are_noted():
    wide = a_side(foot_drop=18.0, foot_back=5.0, eccentric_rod=111.0)
    codes = {n.code for n in engine_events(Engine(wide, wide), (1.0,)).notices}
    assert "link_swing" in codes
    flat = a_side(drop_below=36.0, union_link=44.0)
    notices = [n for n in engine_events(Engine(flat, flat), (1.0,)).notices if n.code == "near_toggle"]
    assert notices
    assert notices[0].source == "common practice, no source"


@pytest.mark.parametrize("leads", ["R", "L"])
@pytest.mark.parametrize("reverser", [1.0, -1.0])
def test_beats_of_an_even_engine_and_of_a_wrong_quarter(leads, reverser):
    """Long rods and a symmetrical valve: four exhausts a quarter turn apart; a quarter out by d shifts two of them."""
    kind = gear("eccentric")
    sizes = {**kind.example().sizes, "connecting_rod": 1e6, "eccentric_rod": 1e6, "spindle_x": 1e6}
    side = Side(kind.of(sizes, kind.example().choices), Valve.alike("outside", lap=0.7, exhaust_lap=0.0, port=2.0))
    (even,) = engine_events(Engine(side, side, leads), (reverser,)).beats
    assert even.intervals_deg == pytest.approx([90.0] * 4, abs=1e-3)
    (uneven,) = engine_events(Engine(side, side, leads, math.radians(93.0)), (reverser,)).beats
    assert sorted(uneven.intervals_deg) == pytest.approx([87.0, 87.0, 93.0, 93.0], abs=1e-3)
    assert uneven.out_by_deg == pytest.approx(3.0, abs=1e-3)


def test_report_says_what_the_arrays_say():
    side = a_side()
    found, whole = events(side), engine_events(Engine(side, side))
    assert [(row.reverser, row.side) for row in whole.positions[:2]] == [(1.0, "R"), (1.0, "L")]
    assert len(whole.positions) == 2 * len(POSITIONS)
    back = whole.positions[0].ends[1]
    assert back.end == "back"
    assert back.cutoff.per_cent == pytest.approx(found.cutoff.per_cent[0, 1, 0])
    assert back.admission.crank_deg == pytest.approx(math.degrees(found.admission.crank_rad[0, 1, 0]))
    assert back.port_opening_mm + back.past_port_mm == pytest.approx(back.opening_mm)


def test_differences_between_ends_and_sides():
    right, left = a_side(), a_side(eccentric_rod=108.4)
    found = {"R": events(right, (0.5,)), "L": events(left, (0.5,))}
    (row,) = engine_events(Engine(right, left), (0.5,)).differences
    leads = {name: e.lead[0, :, 0] for name, e in found.items()}
    cutoffs = {name: e.cutoff.per_cent[0, :, 0] for name, e in found.items()}
    assert row.lead_between_ends_mm == pytest.approx((leads["R"][0] - leads["R"][1], leads["L"][0] - leads["L"][1]))
    assert row.cutoff_between_sides == pytest.approx(tuple(cutoffs["R"] - cutoffs["L"]))
    (none,) = engine_events(Engine(right, a_side(lap=9.0)), (0.5,)).differences
    assert none.cutoff_between_sides == (None, None)
    assert none.cutoff_between_ends[0] is not None


@pytest.mark.parametrize("name", gears())
def test_every_gear_gives_events(name):
    kind = gear(name)
    places = kind.reverser or (1.0, 0.5, -1.0)
    valve = kind.move(kind.example(), [0.0, math.pi], 1.0).place("valve")[0, :, 0]
    lap = 0.5 * float(valve[1] - valve[0]) - 0.1
    side = set_valve(Side(kind.example(), Valve.alike("outside", lap=lap, exhaust_lap=0.0, port=2 * lap)))
    found = events(side, places)
    assert found.opens.all()
    assert found.lead[0] == pytest.approx(np.full((2, 1), 0.1), abs=1e-9)
    assert (found.cutoff.per_cent[0] > 60).all()


@pytest.mark.parametrize(
    ("make", "error", "words"),
    [
        (lambda: Valve.alike("sideways", lap=1.0, exhaust_lap=0.0, port=2.0), Unknown, "sideways"),
        (lambda: Valve.alike("outside", lap=float("nan"), exhaust_lap=0.0, port=2.0), OutOfRange, "lap_front"),
        (lambda: Valve.alike("outside", lap=1.0, exhaust_lap=0.0, port=0.0), OutOfRange, "port_front"),
        (lambda: Engine(a_side(), a_side(), "middle"), Unknown, "middle"),
        (lambda: Engine(a_side(), a_side(), "R", 0.0), OutOfRange, "quarter"),
        (lambda: a_side().size("elbow"), Unknown, "elbow"),
        (lambda: a_side().with_sizes({"elbow": 1.0}), Unknown, "elbow"),
        (lambda: Piston.of(KIND.example().with_sizes({"connecting_rod": 20.0})), OutOfRange, "connecting rod"),
        (lambda: events(a_side(), (1.5,)), OutOfRange, "full backward"),
        (lambda: events(a_side(), (float("nan"),)), OutOfRange, "full backward"),
        (lambda: events(a_side(), ()), OutOfRange, "at least one"),
    ],
)
def test_bad_input_is_named(make, error, words):
    with pytest.raises(error, match=words):
        make()
