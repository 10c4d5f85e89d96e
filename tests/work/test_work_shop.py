"""Machines as their tables say, speeds they really have, passes and dials, hole circles with backlash, drilling, taps."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.measure.gauges import drills
from asmade.work import circles, drilling, passes, speeds, tapping
from asmade.work.machines import Dial, machine, machines, read_machine, read_power, read_screw

LATHE = {
    "kind": "lathe",
    "speeds": [600, 60, 110, 190, 340],
    "motor": "1/2 hp",
    "efficiency": 0.7,
    "centre_height": "3 1/2 in",
    "leadscrew": "8 tpi",
    "change_gears": [20, 20, 25, 63, 80],
    "cross_slide": {"reads": "diameter", "per_turn": "4 mm", "division": "0.05 mm"},
    "top_slide": {"reads": "length", "per_turn": "0.1 in", "division": "0.001 in"},
}


def test_a_lathe_is_read_with_its_units():
    lathe = read_machine("lathe", LATHE)
    assert lathe.speeds == (60, 110, 190, 340, 600)
    assert lathe.motor_w == pytest.approx(372.85, abs=0.01)
    assert lathe.centre_height_mm == pytest.approx(88.9)
    assert lathe.leadscrew_mm == Fraction(127, 40)
    assert lathe.dial("cross_slide").divisions == 80
    assert lathe.dial("top_slide").unit == "inch"
    assert "reads diameter" in lathe.dial("cross_slide").words


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        ({"kind": "lath"}, Unknown, "lathe"),
        ({"kind": None}, Refused, "kind is missing"),
        ({"speeds": []}, Refused, "speeds"),
        ({"speeds": [0, 60]}, Refused, "above 0"),
        ({"speeds": ["60"]}, Refused, "speeds"),
        ({"speeds_between": [50, 2500]}, Refused, "keep one"),
        ({"motor": "370"}, Refused, "370 W"),
        ({"efficiency": 1.2}, Refused, "share"),
        ({"leadscrew": "0 mm"}, Refused, "above 0"),
        ({"change_gears": [20, 2]}, Refused, "8 to 300"),
        ({"change_gears": 20}, Refused, "list of whole"),
        ({"plates": [15, 16]}, Refused, "list of plates"),
        ({"ratio": 40.5}, Refused, "whole number"),
        ({"spindle_to_first_gear": "0"}, Refused, "above 0"),
        ({"cross_slide": {"reads": "radii", "per_turn": "4 mm", "division": "0.05 mm"}}, Unknown, "radius"),
        ({"cross_slide": {"reads": "radius", "per_turn": "4 mm", "division": "0.03 mm"}}, Refused, "whole number of div"),
        ({"cross_slide": {"reads": "radius", "per_turn": "4 mm"}}, Refused, "division is missing"),
        ({"colour": "green"}, Unknown, "colour"),
    ],
)  # fmt: skip
def test_a_table_that_cannot_be_read_is_refused_by_key(change, error, words):
    table = {key: value for key, value in (LATHE | change).items() if value is not None}
    with pytest.raises(error, match=words) as caught:
        read_machine("lathe", table)
    assert "shop.machine.lathe" in str(caught.value)


def test_what_was_not_said_is_asked_for_with_what_to_write():
    bare = read_machine("mill", {"kind": "mill"})
    with pytest.raises(Refused, match=r"speeds = \[60, 110, 190\]"):
        speeds.machine_speed(bare, 200)
    with pytest.raises(Unknown, match="per_turn"):
        bare.dial("x")
    with pytest.raises(Refused, match="motor"):
        bare.needed("motor_w", 'motor = "370 W"')


def test_machines_of_a_shop(fold_text):
    shop = fold_text(
        """
        [shop.machine.lathe]
        kind = "lathe"
        speeds = [60, 110]
        [shop.machine.mill_one]
        kind = "mill"
        [shop.machine.mill_two]
        kind = "mill"
        """
    ).shop
    assert set(machines(shop)) == {"lathe", "mill_one", "mill_two"}
    assert machine(shop, kind="lathe").name == "lathe"
    with pytest.raises(Refused, match="mill_one, mill_two"):
        machine(shop, kind="mill")
    with pytest.raises(Unknown, match="rotary table"):
        machine(shop, kind="rotary table")
    with pytest.raises(Unknown, match="did you mean lathe"):
        machine(shop, "lath")


@pytest.mark.parametrize(
    ("text", "mm"), [("8 tpi", "127/40"), ("3 mm", "3"), ("1/8 in", "127/40"), ("11 1/2 tpi", "254/115")]
)
def test_screws(text, mm):
    assert read_screw(text) == Fraction(mm)


def test_power_as_written():
    assert read_power("0.37 kW") == pytest.approx(370)
    assert read_power("1 hp") == pytest.approx(745.7, abs=0.01)


@given(st.floats(1, 5000))
def test_the_step_is_the_nearest_below_and_the_slowest_is_marked(wanted):
    lathe = read_machine("lathe", LATHE)
    found = speeds.machine_speed(lathe, wanted)
    below = [step for step in lathe.speeds if step <= wanted * (1 + 1e-9)]
    assert found.rev_min == (max(below) if below else 60)
    assert found.too_fast == (not below)


def test_a_stepless_drive_goes_to_what_is_wanted_within_its_ends():
    mill = read_machine("mill", {"kind": "mill", "speeds_between": [50, 2500]})
    assert [speeds.machine_speed(mill, w).rev_min for w in (20, 777, 9000)] == [50, 777, 2500]
    assert speeds.machine_speed(mill, 20).too_fast


CROSS = Dial("cross_slide", "diameter", "mm", Fraction(4), Fraction(1, 20))
RADIUS = Dial("cross_slide", "radius", "inch", Fraction("2.54"), Fraction("0.0254"))


@pytest.mark.parametrize(
    ("dial", "moved", "turns", "mark", "off"),
    [
        (CROSS, 0.6, 0, "1.2", "0"),
        (CROSS, 2.5, 1, "1", "0"),
        (CROSS, 0.61, 0, "1.2", "0.02"),
        (RADIUS, "0.127", 0, "0.127", "0"),
        (RADIUS, "2.667", 1, "0.127", "0"),
        (CROSS, "-0.07", -1, "3.85", "0.01"),
    ],
)
def test_dials_read_what_they_are_marked_with(dial, moved, turns, mark, off):
    found = passes.dial_reading(dial, Fraction(str(moved)))
    assert (found.turns, found.mark, found.off_mark) == (turns, Fraction(mark), Fraction(off))


@given(start=st.integers(500, 5000), target=st.integers(500, 5000), rough=st.floats(0.1, 2), finish=st.floats(0, 0.5))
def test_passes_come_to_the_size_and_none_is_too_deep(start, target, rough, finish):
    start, target = start / 100, target / 100
    way = abs(start - target) / 2
    if way < passes.LEAST_CUT_MM / 2:
        with pytest.raises(OutOfRange, match="rubs"):
            passes.plan(start, target, rough_mm=rough, finish_mm=finish)
        return
    found = passes.plan(start, target, rough_mm=rough, finish_mm=finish, dial=CROSS)
    assert found.cuts[-1].size_mm == pytest.approx(target, abs=1e-9)
    assert sum(cut.cut_mm for cut in found.cuts) == pytest.approx(way)
    roughing = [cut for cut in found.cuts if cut.words.startswith("roughing")]
    assert all(cut.cut_mm <= rough + 1e-9 for cut in roughing)
    assert len(roughing) == math.ceil((way - min(finish, way)) / rough - 1e-9)
    sizes = [start, *(cut.size_mm for cut in found.cuts)]
    assert sizes == sorted(sizes, reverse=target < start)
    for cut in found.cuts:
        dialled = cut.dial.turns * CROSS.per_turn_mm + cut.dial.mark + cut.dial.off_mark
        assert float(dialled) == pytest.approx(abs(start - cut.size_mm), abs=1e-8)
    if finish >= 2 * passes.LEAST_CUT_MM and way >= finish:
        assert [cut.measure for cut in found.cuts[-2:]] == [True, False]


def test_passes_by_hand():
    """20 to 16: 1.8 to rough in three of 0.6, then 0.1, measure, 0.1."""
    found = passes.plan(20, 16, rough_mm=0.75, finish_mm=0.2, dial=CROSS)
    assert [round(cut.size_mm, 6) for cut in found.cuts] == [18.8, 17.6, 16.4, 16.2, 16.0]
    assert found.cuts[-1].dial.words == "1 turn + 0.000 mm"
    assert passes.cut_for(CROSS, 0.4) == 0.2


@given(
    count=st.integers(1, 12),
    backlash=st.floats(0, 0.9),
    ordered=st.booleans(),
    start=st.floats(0, 6.3),
    sign=st.booleans(),
)
def test_holes_come_out_right_whatever_the_backlash(count, backlash, ordered, start, sign):
    """A table that lags its screw by the backlash, moved as the plan says, stands at every hole alike."""
    holes = circles.hole_circle(count, 60, start_rad=start)
    way = holes if ordered else circles.least_turning_back(holes)
    screw = {"x": 0.0, "y": 0.0}
    table = {"x": 0.0, "y": 0.0}  # the nut may stand anywhere in its play: here against the far side

    def turn_to(name, to):
        screw[name] = to
        table[name] = min(max(table[name], to - backlash), to)  # pulled only once the play is used up

    table["x"] = table["y"] = -backlash if not sign else 0.0
    for step in circles.approaches(way, positive=sign):
        for move in step.moves:
            if move.back_to_mm is not None:
                turn_to(move.name, move.back_to_mm)
            turn_to(move.name, move.to_mm)
        lag = -backlash if sign else 0.0
        assert table["x"] == pytest.approx(step.hole.x_mm + lag, abs=1e-8)
        assert table["y"] == pytest.approx(step.hole.y_mm + lag, abs=1e-8)


def test_marks_are_off_by_no_more_than_half_a_division_each_way():
    x = Dial("x", "length", "mm", Fraction(2), Fraction(1, 50))
    holes = circles.hole_circle(7, 33)
    rounded = circles.on_marks(holes, x, x)
    assert circles.farthest_out_mm(rounded, holes) <= math.hypot(0.01, 0.01) + 1e-12
    assert circles.wall_between_mm(6, 30, 5) == pytest.approx(10)
    assert circles.overshoot_needed_mm(1.5) == 3


def test_pecks_rise_to_the_depth():
    found = drilling.pecks(30, 5)
    assert found.depths_mm == (15, 25, 30)
    assert drilling.pecks(30, 5, "copper").depths_mm[0] == 10
    assert drilling.pecks(10, 5).depths_mm == (10,)
    assert "wanders" in drilling.pecks(120, 10).warnings[0]
    assert drilling.drill_depth_mm(20, 6) == pytest.approx(21.803, abs=5e-4)
    assert drilling.drill_depth_mm(10, 3.3, for_tap_pitch_mm=0.7) > 12


@given(st.floats(2, 24))
def test_the_ladder_leaves_enough_and_ends_at_the_hole(hole):
    found = drilling.ladder(hole)
    assert found.rungs[-1].tool == "reamer"
    assert found.rungs[-1].size_mm == hole
    least, most = drilling.left_to_ream_mm(hole)
    assert found.left_mm >= least - 1e-9
    assert (found.left_mm > most + 1e-9) == any("is left" in w for w in found.warnings)
    drilled = [r.size_mm for r in found.rungs if r.tool == "drill"]
    assert drilled == sorted(drilled)


def test_ladders_of_other_kinds():
    bored = drilling.ladder(20, finish="bored and reamed")
    assert [r.tool for r in bored.rungs] == ["centre drill", "drill", "drill", "boring tool", "reamer"]
    assert bored.rungs[-2].leaves_mm < 20
    by_hand = drilling.ladder(6, by_hand=True)
    assert by_hand.left_mm >= 2 / 3 * drilling.HAND_REAMING_MOST_MM - 1e-9
    plain = drilling.ladder(6.02, finish="drilled")
    assert "under" in plain.warnings[0]
    with pytest.raises(Refused, match="none is small enough"):
        drilling.ladder(3, owned=[d for d in drills("metric") if d.mm > 5])
    with pytest.raises(OutOfRange, match="1 to 50"):
        drilling.ladder(60)


def test_taps_are_estimated_and_say_so():
    hard = tapping.tap_load(0.5, 3, 2.39, 2500, depth_mm=6, through=False)
    easy = tapping.tap_load(1.25, 8, 6.47, 800, depth_mm=8)
    assert hard.estimate
    assert hard.share > easy.share
    assert any("blind" in w for w in hard.warnings)
    assert any("adds no strength" in w for w in hard.warnings)
    assert easy.warnings == ()
    assert tapping.breaking_torque_nm(3.242, 900, 1) == pytest.approx(6.02, abs=0.01)
    assert tapping.percent_factor(60) == pytest.approx(0.64)
    with pytest.raises(OutOfRange, match="half the diameter"):
        tapping.tapping_torque_nm(2, 4, 1000)


def test_feeds_of_the_handbook():
    """Machinery's Handbook: 1/4 to 1/2 in drills, 0.004 to 0.007 in a turn (from memory)."""
    found = speeds.feed("drilling", 10)
    assert (found.low_mm / 25.4, found.high_mm / 25.4) == pytest.approx((0.004, 0.007))
    assert speeds.ridge_height_mm(0.1, 0.4) == pytest.approx(0.00314, abs=5e-6)
    with pytest.raises(Unknown, match="turning, roughing"):
        speeds.feed("knitting", 10)
    with pytest.raises(Refused, match="up to"):
        speeds.feed("drilling", 60)
    with pytest.raises(OutOfRange, match="nose's width"):
        speeds.ridge_height_mm(1, 0.4)


def test_published_speeds_of_one_metal():
    assert {p.tool for p in speeds.published_speeds("1.4305")} == {"HSS", "carbide"}
    assert speeds.published_speeds("PTFE") == ()
