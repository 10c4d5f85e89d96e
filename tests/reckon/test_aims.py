from __future__ import annotations

import pytest

from asmade.book.address import read_address
from asmade.reckon.aims import GUARD, aim_of
from asmade.reckon.values import compute

FIT = """
[part.wheel]
places = ["1L"]
[part.wheel.dim]
bore = { kind = "bore", drawn = "16", process = "reamed" }
[part.axle]
places = ["1"]
[part.axle.dim]
seat = { kind = "shaft", drawn = "16", process = "turned" }
length = { kind = "length", drawn = "80 +0.1 -0.2" }
[[fit]]
name = "wheel on axle"
hole = "wheel.bore"
shaft = "axle.seat"
least = "0.03 mm"
most = "0.10 mm"
to_suit = "shaft"
"""
READ = '[[made]]\npiece = "wheel#1L"\ndim = "bore"\nreading = "15.90"\ninstrument = "mic"\n'


def aim(fold_text, text, address, **more):
    build = fold_text(text)
    return aim_of(build, compute(build), read_address(address), **more)


def test_an_aim_is_the_band_less_the_guard_for_the_instrument_only(fold_text):
    """15.90 less 0.10 to 0.03, each end less 1.645 standard uncertainties (ISO 14253-1): by hand."""
    found = aim(fold_text, FIT + READ, "axle.seat")
    assert found.state == "open"
    assert found.low == pytest.approx(15.80 + GUARD * 0.002)
    assert found.high == pytest.approx(15.87 - GUARD * 0.002)
    assert {r.subject for r in found.because} == {"wheel on axle"}
    assert found.mates == (("wheel@1L.bore", 15.9, "made"),)


def test_the_target_of_a_shaft_lies_where_metal_can_still_come_off(fold_text):
    found = aim(fold_text, FIT + READ, "axle.seat")
    assert (found.low + found.high) / 2 < found.target < found.high
    hole = FIT.replace('to_suit = "shaft"', 'to_suit = "hole"')
    read = '[[made]]\npiece = "axle#1"\ndim = "seat"\nreading = "15.90"\ninstrument = "mic"\n'
    found = aim(fold_text, hole + read, "wheel.bore")
    assert found.low < found.target < (found.low + found.high) / 2


def test_capability_tells_the_chance_and_never_narrows_the_aim(fold_text):
    taught = "".join(
        f'[[aimed]]\npiece = "axle#T{k}"\ndim = "seat"\nlow = "15.9 mm"\ntarget = "16 mm"\nhigh = "16.1 mm"\n'
        f"at = 2026-01-01T10:0{k}:00\n"
        f'[[made]]\npiece = "axle#T{k}"\ndim = "seat"\nreading = "{16 + off}"\ninstrument = "mic"\nat = 2026-01-01T11:0{k}:00\n'
        for k, off in enumerate((0.1, -0.1, 0.08, -0.09, 0.1, -0.1))
    )
    plain, wild = aim(fold_text, FIT + READ, "axle.seat"), aim(fold_text, FIT + READ + taught, "axle.seat")
    assert (wild.low, wild.high) == pytest.approx((plain.low, plain.high))
    assert wild.chance < plain.chance


def test_before_its_mate_is_measured_there_may_be_nothing_to_aim_at_and_it_says_what_to_make_first(fold_text):
    found = aim(fold_text, FIT.replace("0.10 mm", "0.04 mm"), "axle.seat")
    assert found.state == "empty"
    assert found.conflict == ("wheel on axle",)
    assert any("wheel@1L.bore first" in cure for cure in found.cure)


def test_with_no_requirement_it_is_the_drawings_own_figure_with_its_tolerance(fold_text):
    found = aim(fold_text, FIT, "axle.length")
    assert found.state == "no requirement"
    assert (found.low, found.high) == pytest.approx((79.8, 80.1))


def test_an_instrument_that_cannot_prove_the_band_is_said_plainly(fold_text):
    caliper = '[shop.instrument.caliper]\nunit = "mm"\nreads_to = 0.03\n'
    found = aim(fold_text, FIT + READ + caliper, "axle.seat", instrument="caliper")
    assert any("cannot prove a band" in warning for warning in found.warnings)
    assert found.low == pytest.approx(15.80)


def test_what_is_made_later_to_suit_may_move_within_its_reach(fold_text):
    """rod + washer = 10 to 10.1 with the washer (drawn 2) to suit: the rod may be anything its washer can make good."""
    text = """
    [part.rod]
    places = ["engine"]
    [part.rod.dim]
    width = { kind = "thickness", drawn = "8" }
    [part.washer]
    places = ["engine"]
    [part.washer.dim]
    width = { kind = "thickness", drawn = "2", least = "1.9 mm", most = "2.3 mm" }
    [[chain]]
    name = "together"
    is = "rod.width + washer.width"
    least = "10 mm"
    most = "10.1 mm"
    to_suit = "washer.width"
    """
    found = aim(fold_text, text, "rod.width")
    guard = GUARD * 0.002
    assert (found.low, found.high) == pytest.approx((10 - 2.3 + guard, 10.1 - 1.9 - guard))
    assert found.target == pytest.approx(8.0)


def test_sizes_that_clash_name_each_other(fold_text):
    text = (
        FIT
        + READ
        + """
    [[chain]]
    name = "seat not below"
    is = "axle.seat"
    least = "15.95 mm"
    """
    )
    found = aim(fold_text, text, "axle.seat")
    assert found.state == "empty"
    assert set(found.conflict) == {"wheel on axle", "seat not below"}
    assert any("0.08" in cure for cure in found.cure)


def test_a_made_size_asks_for_no_aim_of_its_own(fold_text):
    build = fold_text(FIT + READ)
    found = aim_of(build, compute(build), read_address("wheel@1L.bore"))
    assert found.state in ("made", "open")


def test_a_name_with_brackets_keeps_its_source(fold_text):
    text = (FIT + READ).replace(
        'name = "wheel on axle"', 'name = "wheel on axle (cold)"\nsource = "the builder\'s own"'
    )
    found = aim(fold_text, text, "axle.seat")
    assert {(r.subject, r.source) for r in found.because} == {("wheel on axle (cold)", "the builder's own")}


QUARTERS = """
[part.wheelset]
places = ["1", "2"]
[part.wheelset.dim]
quarter = { kind = "angle", drawn = "90 deg", signed = true }
[[same]]
name = "quarters alike"
of = ["wheelset@1.quarter", "wheelset@2.quarter"]
within = "0.01 deg"
"""


def test_the_cure_of_an_angle_is_in_degrees_and_never_is_to_make_the_size_asked_for_first(fold_text):
    found = aim(fold_text, QUARTERS, "wheelset@1.quarter")
    assert found.state == "empty"
    assert " deg " in found.cure[0]
    assert not any("wheelset@1.quarter first" in cure for cure in found.cure)
    assert any("wheelset@2.quarter first" in cure for cure in found.cure)


def test_a_one_sided_limit_that_the_drawing_breaks_is_aimed_at_inside_not_on_the_edge(fold_text):
    """At least 4 of metal, drawn 3: half of what is aimed at 4 exactly would come out under."""
    text = """
    [part.p]
    places = ["engine"]
    [part.p.dim]
    metal = { kind = "thickness", drawn = "3", process = "milled" }
    [[wall]]
    name = "metal"
    is = "p.metal"
    least = "4 mm"
    """
    found = aim(fold_text, text, "p.metal")
    assert (found.high, found.low) == (None, pytest.approx(4, abs=0.02))
    assert found.target > found.low
    assert found.chance > 0.9
