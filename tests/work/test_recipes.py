"""Recipes: speeds a machine has, cuts that end by measuring, figures against books."""

from __future__ import annotations

import math

import pytest

from asmade.reckon.values import compute
from asmade.work.recipes import recipes
from asmade.work.recipes.die_cut_thread import blank_mm
from asmade.work.routes import RoutePlanner
from asmade.work.routes.schemes import schemes

BOOK = """
[shop.machine.lathe]
kind = "lathe"
speeds = [60, 110, 190, 340, 600, 950, 1500]
spindle_bore = "20 mm"
motor = "MOTOR"
efficiency = 0.7
cross_slide = { reads = "READS", per_turn = "2 mm", division = "0.02 mm" }
[shop.machine.mill]
kind = "mill"
speeds = [120, 240, 420, 750]
[shop.tool.drills]
kind = "twist drill"
size = "1 to 13 by 0.1"
[shop.tool."reamer 6"]
kind = "machine reamer"
size = "6 mm"
[[shop.stock]]
form = "round bar"
material = "bright mild steel"
size = "16 mm"
length = "500 mm"
[part.bush]
places = ["L"]
material = "bright mild steel"
form = { kind = "turned", sections = ["outside"], CROSS }
[part.bush.dim]
outside = { kind = "shaft", drawn = "12 mm", process = "turned" }
bore = { kind = "bore", drawn = "6 mm", process = "reamed" }
length = { kind = "length", drawn = "LONG", process = "faced" }
offset = { kind = "position", drawn = "OFFSET" }
oil.diameter = { kind = "bore", drawn = "2 mm", process = "drilled" }
oil.from_left = { kind = "position", drawn = "5 mm" }
"""


def route(fold_text, *, motor="370 W", reads="diameter", long="10 mm", offset="0", cross='cross = ["oil"]', text=BOOK):
    for key, value in (("MOTOR", motor), ("READS", reads), ("LONG", long), ("OFFSET", offset), ("CROSS", cross)):
        text = text.replace(key, value)
    build = fold_text(text)
    return RoutePlanner(build, compute(build)).plan("bush", "L")


def of(found, key):
    return next(op for op in found.operations if op.key == key)


def test_every_recipe_says_what_it_is_and_on_what_it_stands():
    assert len(recipes()) >= 20
    for name, module in recipes().items():
        assert module.HELP, name
        assert module.SOURCE, name
        assert callable(module.operations), name


def test_every_form_has_a_scheme():
    from asmade.book.forms import forms

    assert set(forms()) == set(schemes())


def test_every_speed_is_a_step_of_the_machine_and_not_above_what_suits(fold_text):
    steps = {"lathe": {60, 110, 190, 340, 600, 950, 1500}, "mill": {120, 240, 420, 750}}
    found = route(fold_text)
    speeds = [op for op in found.operations if op.rev_min]
    assert speeds
    for op in speeds:
        assert op.rev_min in steps[op.setup.machine], op.key
    turned = of(found, "outside turned")
    # Machinery's Handbook, 27th ed.: mild steel (1006-1026, 125-175 HB), HSS, not above 110 ft/min = 33.5 m/min
    assert turned.surface_m_min <= 33.53
    assert turned.rev_min == 600  # 33 m/min on 16 mm is 656 rev/min: the step below


def test_cuts_end_in_measure_then_the_rest(fold_text):
    cuts = of(route(fold_text), "outside turned").passes.cuts
    assert cuts[-2].measure
    assert cuts[-1].words == "the rest, as measured"
    assert cuts[-1].size_mm == pytest.approx(12.0)
    assert sum(c.cut_mm for c in cuts) == pytest.approx(2.0)


@pytest.mark.parametrize(("reads", "share"), [("diameter", 2), ("radius", 1)])
def test_the_dial_is_read_as_it_is_marked(fold_text, reads, share):
    dial = of(route(fold_text, reads=reads), "outside turned").passes.cuts[-1].dial
    assert float(dial.turns * 2 + dial.mark) == pytest.approx(share * 2.0, abs=0.01)


def test_a_weak_motor_makes_the_cut_lighter_and_says_so(fold_text):
    strong, weak = (of(route(fold_text, motor=m), "outside turned") for m in ("370 W", "60 W"))
    assert max(c.cut_mm for c in weak.passes.cuts) < max(c.cut_mm for c in strong.passes.cuts)
    assert any("motor" in words for words in weak.warnings)
    assert not any("motor" in words for words in strong.warnings)


def test_a_hole_is_reamed_with_what_the_notes_leave_and_half_the_speed(fold_text):
    found = route(fold_text)
    drill = next(op for op in found.operations if op.key == "bore drilled")
    # training notes: 0.2 to 0.3 mm left for a machine reamer from 5 to 20 mm
    assert "5.7 mm drill" in drill.tool
    # US War Department TM 1-420, sec. 37: a reamer turns at half the drill's speed or less
    assert of(found, "bore reamed").surface_m_min <= 0.5 * 26


def test_a_thin_spacer_gets_its_second_face_on_a_mandrel(fold_text):
    keys = [op.key for op in route(fold_text, long="2 mm", cross='axis = "across"').operations]
    assert keys.index("bore reamed") < keys.index("left end mandrel made") < keys.index("left end faced")


def test_an_eccentric_bore_is_set_over_by_exact_packing(fold_text):
    found = route(fold_text, offset="1 mm")
    over = of(found, "offset set over")
    # three jaws: 1.5 e - (D - sqrt(D^2 - 3 e^2)) / 2 = 1.4370 for e 1, D 12 (by hand)
    assert "1.437" in over.words
    assert "indicator must read 2.000" in over.words
    assert [op.key for op in found.operations].index("offset set over") < [op.key for op in found.operations].index(
        "bore reamed"
    )
    assert "packed chuck" in over.setup.traits
    assert any(c.name == "unbalanced casting" for c in over.cautions)


def test_a_cross_hole_comes_last_and_from_the_middle(fold_text):
    found = route(fold_text)
    assert found.operations[-1].key == "oil.diameter drilled"
    assert of(found, "oil.diameter found").tool == "edge finder"


def test_a_hexagon_from_round_goes_to_the_depth_geometry_says(fold_text):
    text = BOOK.replace(
        'sections = ["outside"]', 'sections = [{ name = "outside", shape = "hexagon", across_flats = "outside" }]'
    )
    found = of(route(fold_text, text=text), "outside flats milled")
    # 12 across flats is 13.8564 over the corners (Machinery's Handbook, 1.154701 s): 0.928 deep, six flats 60 degrees apart
    assert "6 flats" in found.words
    assert "0.928 deep" in found.words
    assert "turn 60 degrees" in found.words


def test_the_blank_of_a_die_cut_thread_is_a_little_under():
    # BS 93: 2 BA major 4.70, pitch 0.81 mm
    assert blank_mm("2 BA") == pytest.approx(4.70 - 0.081, abs=0.002)
    assert math.isnan(blank_mm("nonsense"))
