"""The graph of joints on a small book, every answer known by hand."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import settings as settings_of_tests
from hypothesis import strategies as st

from asmade.book.address import read_address
from asmade.book.fold import fold
from asmade.book.model import Adhesive
from asmade.book.text import read_text
from asmade.measure.errors import Contradiction, Refused, Unknown
from asmade.reckon.cure_times import cure_times
from asmade.reckon.findings import look_at
from asmade.reckon.joining import Joints, measure_first, not_made_yet, settings, standing, weighing
from asmade.reckon.values import compute

WHEELS = """
[book]
title = "one wheelset"
drawing_unit = "mm"
leads = "R"
[part.wheel]
places = ["1L", "1R"]
[part.wheel.dim]
bore = { kind = "bore", drawn = "16", process = "reamed" }
boss = { kind = "thickness", drawn = "14" }
tread = { kind = "diameter", drawn = "100" }
[part.axle]
places = ["1"]
form = { kind = "turned", sections = ["seat_left", "journal", "seat_right"] }
[part.axle.dim]
seat_left.diameter = { kind = "shaft", drawn = "16" }
seat_left.length = { kind = "length", drawn = "14" }
journal.diameter = { kind = "shaft", drawn = "18" }
journal.length = { kind = "length", drawn = "120" }
seat_right.diameter = { kind = "shaft", drawn = "16" }
[part.axlebox]
places = ["1L", "1R"]
[part.axlebox.dim]
bore = { kind = "bore", drawn = "18" }
width = { kind = "width", drawn = "22" }
[part.wheelset]
places = ["1", "2"]
assembled_from = ["axle@{axle}"]
[part.wheelset.dim]
back_to_back = { kind = "width", drawn = "120" }
quarter = { kind = "angle", drawn = "90 deg", signed = true }
[[formula]]
name = "back to back"
places = ["1"]
gives = "wheelset@{axle}.back_to_back"
is = "axle@{axle}.journal.length"
[[fit]]
name = "wheel on axle"
places = ["1L", "1R"]
hole = "wheel@{place}.bore"
shaft = "axle@{axle}.seat_{side_word}.diameter"
least = "0.03 mm"
most = "0.10 mm"
to_suit = "shaft"
[[fit]]
name = "journal in axlebox"
places = ["1L", "1R"]
hole = "axlebox@{place}.bore"
shaft = "axle@{axle}.journal.diameter"
least = "0.03 mm"
most = "0.10 mm"
to_suit = "hole"
[[chain]]
name = "over the wheels"
places = ["1"]
is = "wheelset@{axle}.back_to_back + wheel@{axle}L.boss + wheel@{axle}R.boss"
least = "147 mm"
most = "149 mm"
[[chain]]
name = "axle flush"
places = ["1"]
is = "wheel@{axle}L.boss - axle@{axle}.seat_left.length"
least = "-0.5 mm"
most = "0.5 mm"
[[same]]
name = "quarters alike"
of = ["wheelset@1.quarter", "wheelset@2.quarter"]
within = "0.20 deg"
[[same]]
name = "treads alike"
of = ["wheel@1L.tread", "wheel@1R.tread"]
within = "0.10 mm"
[[joint]]
name = "first wheel"
places = ["1"]
fit = "wheel on axle@{axle}L"
by = "retaining adhesive"
[[joint]]
name = "second wheel"
places = ["1"]
fit = "wheel on axle@{axle}R"
by = "retaining adhesive"
after = ["first wheel@{axle}", "journal in axlebox@{axle}L", "journal in axlebox@{axle}R"]
fixes = ["wheelset@{axle}.quarter", "wheelset@{axle}.back_to_back"]
measure_after = ["wheelset@{axle}.quarter", "wheelset@{axle}.back_to_back"]
[shop.instrument.mic]
unit = "mm"
reads_to = 0.002
"""


def addresses(*texts):
    return tuple(read_address(text) for text in texts)


@pytest.fixture
def joints_of(fold_text):
    def make(extra="", text=WHEELS):
        values = compute(fold_text(text + extra))
        return Joints(values.system), values

    return make


def test_a_joint_comes_after_what_it_waits_for(joints_of):
    joints, _ = joints_of()
    assert joints.order.index("first wheel@1") < joints.order.index("second wheel@1")
    steps = [(s.name, s.kind) for s in joints.steps_to(joints.named("second wheel@1"))]
    assert steps == [
        ("first wheel@1", "joint"),
        ("journal in axlebox@1L", "in place"),
        ("journal in axlebox@1R", "in place"),
        ("second wheel@1", "joint"),
    ]
    assert joints.later(joints.named("first wheel@1")) == ("second wheel@1",)
    assert joints.later(joints.named("second wheel@1")) == ()


def test_joints_that_wait_for_each_other_are_refused_by_name(joints_of):
    ring = '[[joint]]\nname = "a"\nfit = "wheel on axle@1L"\nafter = ["b"]\n'
    ring += '[[joint]]\nname = "b"\nfit = "wheel on axle@1R"\nafter = ["a"]\n'
    joints, _ = joints_of(ring)
    with pytest.raises(Contradiction, match=r"in a ring: (a -> b -> a|b -> a -> b)"):
        _ = joints.order


def test_a_name_that_is_not_there_is_met_with_the_near_ones(joints_of):
    joints, _ = joints_of()
    with pytest.raises(Unknown, match="did you mean second wheel@1"):
        joints.named("secnd wheel@1")
    assert joints.named("second wheel").subject == "second wheel@1"  # it is made at one place only


def test_the_second_wheel_traps_the_boxes_and_hides_what_they_run_on(joints_of):
    joints, _ = joints_of()
    first, second = joints.named("first wheel@1"), joints.named("second wheel@1")
    assert joints.trapped(first) == ()
    assert set(joints.trapped(second)) == {"journal in axlebox@1L", "journal in axlebox@1R"}
    assert joints.captive_seats(second) == ("axlebox@1L", "axlebox@1R")
    assert set(joints.hidden(first)) == set(addresses("wheel@1L.bore", "axle@1.seat_left.diameter"))
    assert set(joints.hidden(second)) == set(addresses(
        "wheel@1R.bore", "axle@1.seat_right.diameter", "axlebox@1L.bore", "axlebox@1R.bore", "axle@1.journal.diameter"
    ))  # fmt: skip


def test_boxes_between_two_wheels_are_trapped_though_nobody_said_so(joints_of):
    """By the order of the axle's sections: seat, journal, seat."""
    text = WHEELS.replace('after = ["first wheel@{axle}", "journal in axlebox@{axle}L", "journal in axlebox@{axle}R"]',
                          'after = ["first wheel@{axle}"]')  # fmt: skip
    joints, _ = joints_of(text=text)
    second = joints.named("second wheel@1")
    assert set(joints.trapped(second)) == {"journal in axlebox@1L", "journal in axlebox@1R"}
    assert [s.kind for s in joints.steps_to(second)] == ["joint", "in place", "in place", "joint"]
    without = text.replace('sections = ["seat_left", "journal", "seat_right"]', "sections = []")
    joints, _ = joints_of(text=without)
    assert joints.trapped(joints.named("second wheel@1")) == ()  # where along the axle it lies is not said


def test_what_must_only_be_in_place_is_not_trapped(joints_of):
    elsewhere = """
[part.pump]
places = ["engine"]
[part.pump.dim]
hole = { kind = "bore", drawn = "8" }
[part.ram]
places = ["engine"]
[part.ram.dim]
diameter = { kind = "shaft", drawn = "7.95" }
[[fit]]
name = "ram in pump"
hole = "pump@engine.hole"
shaft = "ram@engine.diameter"
least = "0.02 mm"
most = "0.08 mm"
"""
    text = WHEELS.replace('after = ["first wheel@{axle}",', 'after = ["ram in pump", "first wheel@{axle}",')
    joints, _ = joints_of(elsewhere, text)
    second = joints.named("second wheel@1")
    assert "ram in pump" in {s.name for s in joints.steps_to(second)}
    assert "ram in pump" not in joints.trapped(second)


def test_findings_that_rest_on_a_joint(joints_of):
    joints, values = joints_of()

    def names(joint):
        return {values.system.requirements[d.number].subject for d in joints.dependents(joints.named(joint))}

    # both the wheel and the axle are in "axle flush" and in "over the wheels" (through back-to-back)
    assert names("first wheel@1") == {"wheel on axle@1L", "axle flush@1", "over the wheels@1"}
    assert names("second wheel@1") == {
        "wheel on axle@1R", "journal in axlebox@1L", "journal in axlebox@1R", "over the wheels@1", "quarters alike",
    }  # fmt: skip
    over = next(
        d for d in joints.dependents(joints.named("second wheel@1"))
        if values.system.requirements[d.number].subject == "over the wheels@1"
    )  # fmt: skip
    assert over.because == ((read_address("wheelset@1.back_to_back"), "fixed"),)


def test_what_must_be_measured_first_and_what_may_come_later(joints_of):
    joints, values = joints_of()
    second = joints.named("second wheel@1")
    reads = [a for r in joints.requirements(joints.dependents(second)) for a in joints.through(r.reads)]
    found = measure_first(joints, values, second, reads)
    assert set(found) == set(addresses(
        "wheel@1R.bore", "axle@1.seat_right.diameter", "axlebox@1L.bore", "axlebox@1R.bore", "axle@1.journal.diameter",
        "axle@1.journal.length", "wheel@1R.boss",
    ))  # fmt: skip
    assert found[-2:] == addresses("axle@1.journal.length", "wheel@1R.boss")  # hidden ones come first
    later = {str(a) for a, _ in not_made_yet(joints, values, second, reads)}
    assert later == {"wheel@1L.boss", "wheelset@2.quarter"}


def test_another_joint_on_a_hidden_surface_comes_first(joints_of):
    bush = """
[part.box_bush]
places = ["1L"]
[part.box_bush.dim]
outside = { kind = "shaft", drawn = "18" }
[[fit]]
name = "bush in box"
hole = "axlebox@1L.bore"
shaft = "box_bush@1L.outside"
least = "-0.04 mm"
most = "-0.01 mm"
[[joint]]
name = "bush pressed into box"
fit = "bush in box"
by = "press"
"""
    joints, _ = joints_of(bush)
    assert joints.needed_by_others(joints.named("second wheel@1")) == (
        ("bush pressed into box", addresses("axlebox@1L.bore")),
    )
    assert joints.needed_by_others(joints.named("first wheel@1")) == ()


@pytest.mark.parametrize(
    ("readings", "low", "high", "wanted"),
    [
        ((("2", "90.45 deg"),), 90.25, 90.65, 90.45),  # the only fact: middle of its window
        ((("2", "90.10 deg"),), 89.90, 90.30, 90.00),  # the drawing's figure lies within: kept
        ((), None, None, 90.00),
    ],
)
def test_a_quarter_is_set_to_suit_what_is_fixed_already(joints_of, readings, low, high, wanted):
    made = "".join(f'[[made]]\npiece = "wheelset#{p}"\ndim = "quarter"\nreading = "{r}"\n' for p, r in readings)
    joints, values = joints_of(made)
    quarter, across = settings(values, joints.named("second wheel@1"))
    degrees = [None if x is None else pytest.approx(math.degrees(x)) for x in (quarter.low, quarter.high)]
    assert degrees == [low, high]
    assert math.degrees(quarter.wanted) == pytest.approx(wanted)
    assert quarter.because == (("quarters alike",) if readings else ())
    assert across.wanted == pytest.approx(120)


def test_no_setting_suits_two_wheelsets_that_differ(joints_of):
    text = WHEELS.replace('places = ["1", "2"]', 'places = ["1", "2", "3"]').replace(
        '"wheelset@2.quarter"]', '"wheelset@2.quarter", "wheelset@3.quarter"]'
    )
    made = '[[made]]\npiece = "wheelset#2"\ndim = "quarter"\nreading = "90 deg"\n'
    made += '[[made]]\npiece = "wheelset#3"\ndim = "quarter"\nreading = "90.5 deg"\n'
    joints, values = joints_of(made, text)
    quarter, _ = settings(values, joints.named("second wheel@1"))
    assert not quarter.possible  # 89.8 to 90.2 and 90.3 to 90.7
    assert quarter.wanted is None


def test_the_last_word_on_a_joint_counts(fold_text):
    entries = '[[joined]]\njoint = "first wheel@1"\nat = 2026-01-01\n'
    assert standing(fold_text(WHEELS + entries))["first wheel@1"].joined
    entries += '[[undone]]\njoint = "first wheel@1"\nhow = "heat"\nat = 2026-01-02\n'
    assert not standing(fold_text(WHEELS + entries))["first wheel@1"].joined
    assert "second wheel@1" not in standing(fold_text(WHEELS + entries))


@given(
    quarters=st.lists(st.integers(8900, 9100), min_size=1, max_size=4),
    within=st.integers(1, 60),
)
@settings_of_tests(max_examples=25, deadline=None)
def test_a_setting_is_what_every_fact_allows(quarters, within):
    """Against plain arithmetic: within w of the greatest and of the least that is fixed already."""
    places = ["1", *(str(n + 2) for n in range(len(quarters)))]
    text = WHEELS.replace('places = ["1", "2"]', f"places = {json.dumps(places)}")
    text = text.replace('of = ["wheelset@1.quarter", "wheelset@2.quarter"]',
                        f"of = {json.dumps([f'wheelset@{p}.quarter' for p in places])}")  # fmt: skip
    text = text.replace('within = "0.20 deg"', f'within = "{within / 100} deg"')
    for place, quarter in zip(places[1:], quarters, strict=True):
        text += f'[[made]]\npiece = "wheelset#{place}"\ndim = "quarter"\nreading = "{quarter / 100} deg"\n'
    values = compute(fold([replace(d, number=n) for n, d in enumerate(read_text(text), start=1)]))
    found = settings(values, Joints(values.system).named("second wheel@1"))[0]
    low, high = max(quarters) - within, min(quarters) + within
    assert math.degrees(found.low) == pytest.approx(low / 100)
    assert math.degrees(found.high) == pytest.approx(high / 100)
    assert found.possible == (low <= high)
    if found.possible:
        assert low / 100 - 1e-9 <= math.degrees(found.wanted) <= high / 100 + 1e-9


@given(st.integers(2, 7).flatmap(
    lambda n: st.tuples(st.just(n), st.sets(st.tuples(st.integers(0, n - 1), st.integers(0, n - 1))))
))  # fmt: skip
@settings_of_tests(max_examples=40, deadline=None)
def test_the_order_of_any_joints(drawn):
    """Against a plain search: what comes before is all that can be reached, and stands before in the order."""
    count, edges = drawn
    edges = {(a, b) for a, b in edges if a < b}  # b waits for a: no ring
    text = '[book]\ndrawing_unit = "mm"\n'
    for n in reversed(range(count)):
        after = json.dumps([f"j{a}" for a, b in sorted(edges) if b == n])
        text += f'[[joint]]\nname = "j{n}"\nby = "press"\nafter = {after}\n'
    joints = Joints(compute(fold([replace(d, number=n) for n, d in enumerate(read_text(text), start=1)])).system)
    reach = {n: {n} for n in range(count)}
    for a, b in sorted(edges):
        reach[b] |= reach[a]
    for n in range(count):
        steps = [s.name for s in joints.steps_to(joints.named(f"j{n}"))]
        assert set(steps) == {f"j{a}" for a in reach[n]}
        assert steps[-1] == f"j{n}"
        assert set(joints.later(joints.named(f"j{n}"))) == {f"j{b}" for b in range(count) if n in reach[b] and b != n}
    at = {name: place for place, name in enumerate(joints.order)}
    assert all(at[f"j{a}"] < at[f"j{b}"] for a, b in edges)


SHEET = {"working_minutes": 5, "handling_hours": 1, "full_cure_hours": 24, "reference_c": 22}


def product(**fields):
    return Adhesive("green", 0.03, 0.10, fields)


def test_times_of_an_adhesive_at_a_temperature():
    """TM 5-3820-256-24-5: full strength after 24 h at room temperature (22 C), 72 h at 10 C."""
    at = {t.what: t for t in cure_times(product(**SHEET), at_c=10)}
    assert at["loaded"].hours == pytest.approx(72, rel=0.01)
    assert at["handled"].hours == pytest.approx(3, rel=0.01)
    assert at["worked"].hours == pytest.approx(5 / 60)  # cold is not counted on
    assert at["machined"].hours is None
    assert "machining_hours is not entered" in at["machined"].words
    warm = {t.what: t.hours for t in cure_times(product(**SHEET), at_c=32)}
    assert warm["worked"] == pytest.approx(2 / 60)  # 2.5 times shorter for 10 K


def test_what_is_not_entered_is_not_known():
    assert {t.hours for t in cure_times(None)} == {None}
    times = {t.what: t for t in cure_times(product(full_cure_hours=24), at_c=10)}
    assert times["loaded"].hours is None
    assert "reference_c" in times["loaded"].words
    assert {t.what: t.hours for t in cure_times(product(full_cure_hours=24))}["loaded"] == 24
    cold = {t.what: t for t in cure_times(product(**SHEET), at_c=2)}
    assert cold["loaded"].hours is None
    assert "5 to 40" in cold["loaded"].words


def test_a_wide_gap_takes_longer_by_the_curve_typed_in():
    sheet = product(**SHEET, gap_slows=[["0.05 mm", 1], ["0.10 mm", 3]])
    assert {t.what: t.hours for t in cure_times(sheet, gap_mm=0.075)}["loaded"] == pytest.approx(48)
    off = {t.what: t for t in cure_times(sheet, gap_mm=0.12)}["loaded"]
    assert off.hours is None
    assert "off the data sheet's curve" in off.words
    assert {t.what: t for t in cure_times(sheet)}["loaded"].hours is None


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("full_cure_hours", -1), ("full_cure_hours", 0), ("full_cure_hours", math.nan), ("full_cure_hours", "a day"),
        ("reference_c", math.inf), ("gap_slows", 3), ("gap_slows", [["0.1 mm", 2]]),
        ("gap_slows", [["0.1 mm", 2], ["0.05 mm", 1]]), ("gap_slows", [["0.05 mm", 0], ["0.1 mm", 2]]),
        ("gap_slows", [["wide", 1], ["0.1 mm", 2]]),
    ],
)  # fmt: skip
def test_a_data_sheet_that_cannot_be_is_refused(field, value):
    with pytest.raises(Refused):
        cure_times(product(**(SHEET | {field: value})), gap_mm=0.05)


def test_a_finding_asks_only_for_the_sizes_that_move_it(joints_of):
    """A sum in which one size has the rate nil reads it, but does not turn on it."""
    wall = """
[[wall]]
name = "room"
is = "wheel@1L.boss - axle@1.seat_left.length + 0 * hypot(wheel@1L.tread, wheel@1L.boss)"
least = "-1 mm"
"""
    joints, values = joints_of(wall)
    found = look_at(values, [r for r in values.system.requirements if r.subject == "room"])
    assert read_address("wheel@1L.tread") in found.requirements[0].reads
    assert weighing(joints, found, 0) == set(addresses("wheel@1L.boss", "axle@1.seat_left.length"))
