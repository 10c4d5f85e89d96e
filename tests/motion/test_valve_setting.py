"""Which length matters, the best setting, what is worth remaking, and the steps at the bench."""

from __future__ import annotations

import math

import numpy as np
import pytest

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gears import gear
from asmade.motion.gears.walschaerts import return_pin_circle
from asmade.motion.valves.best import Adjust, Weights, best_setting, default_adjusts, worth_remaking
from asmade.motion.valves.engine import Side, Valve
from asmade.motion.valves.events import events
from asmade.motion.valves.instructions import setting_out, still_link, stillness
from asmade.motion.valves.sensitivities import QUANTITIES, sensitivities, what_matters
from asmade.motion.valves.setting import set_valve, spindle_from_depths, spindle_turns

KIND = gear("walschaerts")


def a_side(name="walschaerts", **sizes):
    example = gear(name).example().with_sizes(sizes)
    at = gear(name).move(example, [0.0, math.pi], 1.0).place("valve")[0, :, 0]
    lap = 0.5 * float(at[1] - at[0]) - 0.2
    return set_valve(Side(example, Valve.alike("outside", lap=lap, exhaust_lap=0.1, port=1.3 * lap)))


OFFSET = {"cylinder_line_y": 4.0, "cylinder_incline": 0.05, "axle_rise": 1.5, "spindle_incline": 0.03}
ADJUSTS = ("mid", "eccentric_rod", "return_crank_angle")


def adjusts(side):
    return tuple(adjust for adjust in default_adjusts(side) if adjust.name in ADJUSTS)


def figures(found):
    return {
        "lead": found.lead,
        "opening": found.opening,
        "travel": np.broadcast_to(found.travel[:, None], found.lead.shape),
        **{name: getattr(found, name).per_cent for name in ("admission", "cutoff", "release", "compression")},
    }


@pytest.mark.parametrize("hold", ["spindle", "equal leads"])
@pytest.mark.parametrize("name", ["walschaerts", "stephenson", "joy"])
def test_sensitivities_against_difference_quotients(name, hold):
    """Every dimension of gear and valve, axle and cylinder line offset and inclined, full model either side."""
    side, positions, step = a_side(name, **OFFSET), (1.0, 0.4, -0.75), 1e-5
    assert np.isfinite(events(side, positions).cutoff.cycle).sum() >= 4  # an end that never opens holds NaN both ways
    names = tuple(n for n in side.names() if hold == "spindle" or n != "mid")
    got = sensitivities(side, positions, names=names, hold=hold)
    for size in names:
        here = side.size(size)
        moved = [side.with_sizes({size: here + s}) for s in (step, -step)]
        if hold == "equal leads":
            moved = [set_valve(s) for s in moved]
        up, down = (figures(events(s, positions, details=False)) for s in moved)
        for quantity in QUANTITIES:
            quotient = (up[quantity] - down[quantity]) / (2 * step)
            assert got.of(quantity, size) == pytest.approx(quotient, rel=2e-5, abs=2e-5, nan_ok=True), (quantity, size)


def test_sensitivities_of_a_lap_are_plain():
    side = a_side()
    got = sensitivities(side, (1.0,), names=("lap", "lap_front", "exhaust_lap_back", "mid"))
    assert got.of("lead", "lap") == pytest.approx(-1.0)
    assert got.of("lead", "lap_front")[0, :, 0].tolist() == [-1.0, 0.0]
    assert got.of("travel", "lap") == pytest.approx(0.0)
    assert got.of("cutoff", "exhaust_lap_back") == pytest.approx(0.0)
    assert got.of("lead", "mid")[0, :, 0].tolist() == [1.0, -1.0]  # outside admission: the front opens backwards
    with pytest.raises(Unknown, match="elbow"):
        sensitivities(side, (1.0,), names=("elbow",))
    with pytest.raises(Unknown, match="lead"):
        got.of("leads", "lap")


def test_what_matters_puts_the_telling_dimensions_first():
    """Known to valve setters: lap and eccentric rod tell at once, where along its line the spindle is measured not."""
    side = a_side()
    order = [row.name for row in what_matters(sensitivities(side, hold="equal leads"), side)]
    assert order.index("lap") < order.index("connecting_rod")
    assert order.index("eccentric_rod") < order.index("union_link")
    row = next(row for row in what_matters(sensitivities(side, hold="equal leads"), side) if row.name == "spindle_x")
    assert (row.lead_mm, row.cutoff_per_cent) == pytest.approx((0.0, 0.0), abs=1e-9)


def test_set_valve_by_both_rules():
    side = a_side()
    wrong = side.with_mid(side.valve.mid + 0.4)
    assert np.ptp(events(set_valve(wrong), (1.0,)).lead) == pytest.approx(0.0, abs=1e-10)
    assert np.ptp(events(set_valve(wrong, "equal openings"), (1.0,)).opening) == pytest.approx(0.0, abs=1e-9)
    uneven = wrong.with_sizes({"lap_back": wrong.size("lap_back") + 0.3})
    assert np.ptp(events(set_valve(uneven, position=0.5), (0.5,)).lead) == pytest.approx(0.0, abs=1e-10)


def test_best_setting_finds_what_was_put_out():
    """Eccentric rod, return crank and valve put out by known amounts, all else drawn: it asks for them back."""
    side = a_side()
    ideal = best_setting(side, adjusts(side)).side
    known = {"mid": 0.3, "eccentric_rod": -0.4, "return_crank_angle": 0.02}
    wrong = ideal.with_sizes({name: ideal.size(name) + by for name, by in known.items()})
    keep = float(events(ideal, (1.0,)).lead.mean())
    found = best_setting(wrong, adjusts(wrong), weights=Weights(wanted_lead_mm=keep))
    for name, by in known.items():
        assert found.changes[name] == pytest.approx(-by, abs=0.05 if name != "return_crank_angle" else 0.005), name
    assert found.after.score < 0.2 * found.before.score
    assert found.after.lead_mm < 0.03
    assert not found.at_limit


def test_best_setting_keeps_the_mean_lead_and_its_ranges():
    side = a_side(eccentric_rod=KIND.example()["eccentric_rod"] + 0.8)
    narrow = (Adjust("mid", side.valve.mid - 0.1, side.valve.mid + 0.1), Adjust("eccentric_rod", 108.2, 109.0))
    found = best_setting(side, narrow)
    assert found.side.size("eccentric_rod") >= 108.2
    assert "eccentric_rod" in found.at_limit
    free = best_setting(side, adjusts(side))
    assert events(free.side, (1.0,)).lead.mean() == pytest.approx(events(side, (1.0,)).lead.mean(), abs=0.05)
    assert free.after.score < found.after.score < found.before.score
    # what it promises is what the full model says of the side it gives
    assert np.abs(np.diff(events(free.side).lead[..., 0], axis=1)).max() >= free.after.lead_mm * 0.99


def test_best_setting_refuses_what_it_cannot_do():
    side = a_side()
    with pytest.raises(Unknown, match="name at least one"):
        best_setting(side, ())
    with pytest.raises(OutOfRange, match="widen its range"):
        best_setting(side, (Adjust("mid", side.valve.mid + 1, side.valve.mid + 2),))
    with pytest.raises(OutOfRange, match="low less than high"):
        Adjust("mid", 1.0, 1.0)
    with pytest.raises(OutOfRange, match="weight"):
        Weights(lead_mm=0.0)
    many = side.with_sizes({"eccentric_rod": np.array([108.0, 108.1])})
    with pytest.raises(OutOfRange, match="setting is for one gear"):
        best_setting(many, (Adjust("eccentric_rod", 107.0, 109.0),))


def test_worth_remaking_names_the_part_that_no_setting_cures():
    """A combination lever drilled wrong gives the wrong lead whatever is set; rods a little out can be set right."""
    drawn = a_side()
    made = drawn.with_sizes(
        {
            "lever_top": drawn.size("lever_top") + 0.25,
            "radius_rod": drawn.size("radius_rod") + 0.05,
            "eccentric_rod": drawn.size("eccentric_rod") + 0.6,
        }
    )
    told = []
    found = worth_remaking(made, drawn, adjusts(made), progress=lambda done, of: told.append((done, of)))
    assert [remake.part for remake in found] == ["combination lever", "radius rod"]
    assert found[0].dimensions == ("lever_top",)
    assert found[0].gain > 5 * abs(found[1].gain)
    assert told == [(1, 2), (2, 2)]


def test_still_link():
    """Trade rule: in mid gear and at a dead centre the link must not move the valve; both changes by exact slopes."""
    side = a_side(eccentric_rod=KIND.example()["eccentric_rod"] + 0.7)
    assert abs(stillness(side).front) > 0.1
    found = still_link(side)
    assert (found.after.front, found.after.back) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert set(found.changes) == {"eccentric_rod", "return_crank_angle"}
    leads = events(set_valve(found.side)).lead
    assert np.ptp(leads[:, 0, 0]) < np.ptp(events(side).lead[:, 0, 0])
    with pytest.raises(OutOfRange, match="mostly runs in"):
        still_link(a_side("stephenson"))


def test_setting_out_in_the_order_of_the_trade():
    side = a_side()
    wrong = side.with_sizes({"eccentric_rod": side.size("eccentric_rod") + 0.5, "return_crank_angle": 0.43, "mid": 5.4})
    best = best_setting(wrong, adjusts(wrong))
    steps = setting_out(wrong, best, spindle_pitch_mm=0.7)
    assert [(step.what, step.dimension) for step in steps] == [
        ("find dead centres", ""),
        ("adjust", "return_crank_angle"),
        ("adjust", "eccentric_rod"),
        ("set spindle", "mid"),
        ("check link still", ""),
        ("check leads", ""),
    ]
    crank, rod, spindle = steps[1:4]
    assert crank.sense == ("more angle" if best.changes["return_crank_angle"] > 0 else "less angle")
    assert crank.measures[1].now == pytest.approx(return_pin_circle(wrong.gear))
    assert crank.measures[1].to_be == pytest.approx(return_pin_circle(best.side.gear))
    assert rod.sense == ("lengthen" if best.changes["eccentric_rod"] > 0 else "shorten")
    assert rod.amount == pytest.approx(abs(best.changes["eccentric_rod"]))
    assert spindle.turns == pytest.approx(spindle.amount / 0.7)
    assert steps[-1].measures[0].to_be == pytest.approx(events(best.side, (1.0,)).lead[0, 0, 0])


@pytest.mark.parametrize("by", [0.3, -0.3])
def test_the_spindle_step_moves_the_valve_the_way_it_says(by):
    side = a_side()
    best = best_setting(side.with_mid(side.valve.mid + by), (Adjust("mid", side.valve.mid - 2, side.valve.mid + 2),))
    step = next(step for step in setting_out(side.with_mid(side.valve.mid + by), best) if step.what == "set spindle")
    # a valve whose middle needs the pin farther ahead stands too far back on its spindle
    assert step.sense == ("valve forward" if by > 0 else "valve back")
    assert step.amount == pytest.approx(0.3, abs=0.05)
    assert step.turns is None


def test_stephenson_setting_out_has_no_still_link():
    side = a_side("stephenson")
    wrong = side.with_sizes({"rod_forward": side.size("rod_forward") + 0.4})
    best = best_setting(wrong, tuple(a for a in default_adjusts(wrong) if a.name in ("mid", "rod_forward")))
    assert [step.what for step in setting_out(wrong, best)] == [
        "find dead centres",
        "adjust",
        "set spindle",
        "check leads",
    ]


def test_spindle_by_depths_and_turns():
    told = spindle_from_depths((48.26, 22.86), (35.56, 40.64))
    assert told.too_long_by == pytest.approx(2.54)
    assert spindle_turns(-0.35, 0.7) == pytest.approx(-0.5)
    with pytest.raises(OutOfRange, match="pitch"):
        spindle_turns(0.3, 0.0)
    with pytest.raises(OutOfRange, match="measure both again"):
        spindle_from_depths((1.0, 1.0), (2.0, 3.0))
