"""Every recipe tried on a part of the demo: the order, the datum, the figures, the last cut, the check, the cautions."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from importlib import resources
from itertools import permutations

import pytest

from asmade.book.address import Address
from asmade.book.fold import fold
from asmade.book.text import read_text
from asmade.reckon.values import compute
from asmade.work.recipes import quartering, recipes
from asmade.work.routes import RoutePlanner

TEXT = resources.files("asmade").joinpath("book/data/demo/harrowgill.toml").read_text(encoding="utf-8")


def planner(text: str = TEXT) -> RoutePlanner:
    build = fold([replace(draft, number=n) for n, draft in enumerate(read_text(text), 1)])
    return RoutePlanner(build, compute(build))


@pytest.fixture(scope="module")
def demo():
    return planner()


def plan(demo, seat):
    part, _, place = seat.partition("@")
    return demo.plan(part, place)


def of(route, key):
    return next(op for op in route.operations if op.key == key)


CASES = [
    ("faced end", "axle@1", ["left end faced", "right end faced"]),
    ("turned shoulder", "axle@1", ["left end faced", "seat_left.diameter turned", "seat_right.diameter turned"]),
    ("as-stock diameter", "axle@1", ["journal.diameter as bought", "seat_left.diameter turned"]),
    ("chamfer", "axle@1", ["seat_left.diameter turned", "seat_left left chamfer chamfered"]),
    ("drilled centre", "brake_beam@1", ["left end faced", "left centre centred", "body.diameter turned"]),
    ("reamed hole", "wheel@2R", ["back faced", "bore drilled", "bore bored for reaming", "bore reamed"]),
    ("bored hole", "smokebox_ring@engine", ["opening drilled", "opening bored"]),
    ("drilled hole", "blast_nozzle@engine", ["bore centred", "bore drilled"]),
    (
        "drilled and tapped hole",
        "crank_pin_leading@1R",
        ["cap_thread centred", "cap_thread drilled", "cap_thread countersunk", "cap_thread tapped"],
    ),
    ("die-cut thread", "piston_rod@R", ["end turned", "end.callout die-cut"]),
    ("screw-cut thread", "piston_gland@L", ["thread blank turned", "thread gears set", "thread screw-cut"]),
    ("undercut", "cylinder_cover_front@L", ["register.diameter turned", "register undercut undercut"]),
    ("groove for adhesive", "crank_pin_driving@2L", ["seat.diameter turned", "seat groove grooved"]),
    ("parted blank", "rod_bush@1R", ["outside turned", "blank parted", "left end faced"]),
    ("thin spacer on a mandrel", "spring_washer@1L", ["blank parted", "left end mandrel made", "left end faced"]),
    ("flats from round", "blast_nozzle@engine", ["body round turned", "left end faced", "across_flats flats milled"]),
    ("cross hole", "brake_beam@1", ["end.diameter turned", "pin_left.diameter found", "pin_left.diameter drilled"]),
    ("wheel casting looked at", "wheel@2R", ["casting looked at", "back faced"]),
    ("wheel back", "wheel@2R", ["back faced", "bore reamed", "tread turned"]),
    ("wheel tread", "wheel@2R", ["bore reamed", "tread flange turned", "tread turned", "tread profiled"]),
    ("crank-pin hole by jig", "wheel@2R", ["bore reamed", "pin_hole jig set", "pin_hole drilled", "pin_hole reamed"]),
    ("joint made", "wheelset@1", ["first wheel on axle tried dry", "first wheel on axle made"]),
    (
        "quartering",
        "wheelset@1",
        [
            "first wheel on axle made",
            "second wheel on axle, quartered jig set",
            "second wheel on axle, quartered tried dry",
            "second wheel on axle, quartered made",
            "second wheel on axle, quartered left and measured",
        ],
    ),
    ("rod from bar or profile", "connecting_rod@R", ["blank sawn", "big_end_eye bored", "thickness milled"]),
    ("rounded end", "connecting_rod@R", ["depth milled", "big_end_outside rounded"]),
    ("placed hole", "connecting_rod@R", ["little_end_eye placed", "little_end_eye drilled", "big_end_eye placed"]),
    ("axlebox pair", "axlebox@1R", ["width milled", "flange paired", "flange milled", "bore placed", "bore reamed"]),
    ("slide bar", "slide_bars@L", ["width as bought", "gap stoned", "gap drilled together", "gap packed"]),
    ("milled faces", "crosshead@L", ["first face milled", "over_slippers milled", "width milled", "length milled"]),
    ("milled slot", "crosshead@L", ["length milled", "fork_gap slotted"]),
    ("sawn blank", "axle@1", ["blank sawn", "left end faced"]),
    ("plate outline", "frame@R", ["outline datum edge", "outline marked out", "outline sawn to line"]),
    (
        "plate opening",
        "frame@R",
        ["outline marked out", "driving horn gap sawn out", "driving horn gap milled to line", "outline sawn to line"],
    ),
    ("casting looked at", "smokebox_saddle@engine", ["casting looked at", "first face milled"]),
]


@pytest.mark.parametrize(("recipe", "seat", "keys"), CASES, ids=[f"{case[0]} ({case[1]})" for case in CASES])
def test_a_recipe_on_its_part_of_the_demo(demo, recipe, seat, keys):
    route = plan(demo, seat)
    order = [op.key for op in route.operations]
    places = [order.index(key) for key in keys]
    assert places == sorted(places), [order[p] for p in places]
    own = [op for op in route.operations if op.recipe == recipe]
    assert own
    for op in own:
        assert op.source, op.key
        assert op.words.endswith(op.words.rstrip()), op.key
        if op.dims and op.process not in ("looked at", "sawn"):
            assert op.check, op.key
        if op.setup.machine in ("lathe", "mill") and op.rev_min:
            assert op.cautions, op.key
            assert op.speed_words, op.key
        if op.passes is not None and len(op.passes.cuts) > 2:
            assert any(cut.measure for cut in op.passes.cuts[-3:]), op.key


def test_every_recipe_is_tried(demo):
    tried = {case[0] for case in CASES} | {"eccentric setting"}
    assert set(recipes()) == tried


def test_two_holes_across_are_done_one_after_the_other(demo):
    features = [op.feature for op in plan(demo, "brake_beam@1").operations if op.recipe == "cross hole"]
    assert features == sorted(features, key=features.index)
    assert len(set(features)) == 2


def test_a_groove_is_as_deep_as_seat_and_bottom_say_and_read_on_the_dial(demo):
    """Dial reads diameter: what it moves is the difference of the diameters."""
    route = plan(demo, "crank_pin_driving@2L")
    op, bench = of(route, "seat groove grooved"), demo.bench(demo.part("crank_pin_driving"), "2L")
    deep = bench.size("seat.diameter") - bench.size("seat.groove.diameter")
    assert 0.2 <= deep <= 0.5
    assert f"(dial {deep:.2f} from the touch)" in op.words
    assert f"{deep / 2:.2f} deep" in op.words


def test_change_gears_are_the_nearest_of_all_that_this_lathe_has(demo):
    """Brute force over every train of one and two pairs that clears by the usual rule."""
    gears, screw, wanted = [20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 127], Fraction(3), Fraction(254, 320)
    best = min(abs(screw * Fraction(a, b) / wanted - 1) for a, b in permutations(gears, 2))
    for a, b, c, d in permutations(gears, 4):
        if a + b >= c + 15 and c + d >= b + 15:
            best = min(best, abs(screw * Fraction(a * c, b * d) / wanted - 1))
    op = of(plan(demo, "piston_gland@L"), "thread gears set")
    train = op.words.split("Change gears ")[1].split(" from")[0]
    ratio = math.prod(Fraction(pair) for pair in train.split(" x "))
    assert abs(screw * ratio / wanted - 1) == best
    assert "NOT exact" in op.words
    assert any("a mate may jam" in words for words in op.warnings)


def test_a_thread_is_cut_to_its_core_from_its_blank(demo):
    """1/2 x 32 model engineer: 55 degree form, depth 0.640327 of the pitch (BS 84): core 11.683 mm."""
    cuts = of(plan(demo, "piston_gland@L"), "thread screw-cut").passes.cuts
    assert cuts[-1].cut_mm == 0
    assert cuts[-1].size_mm == pytest.approx(12.7 - 2 * 0.640327 * 25.4 / 32, abs=1e-3)
    areas = [(1 - 2 * 0) * c.size_mm for c in cuts]
    assert areas == sorted(areas, reverse=True)
    assert min(c.cut_mm for c in cuts[:-1]) >= 0.018


def test_a_bush_bored_out_of_the_middle_is_set_over(demo):
    """The rod bush of the demo with an offset chosen as a cure: packing by the exact form of three jaws."""
    chosen = '\n[[chosen]]\nof = "rod_bush@1R.offset"\nsize = "0.30 mm"\n'
    found = planner(TEXT + chosen)
    aimed = {Address("rod_bush", "1R", dim="offset"): 0.30}
    route = RoutePlanner(found.build, found.values, aimed).plan("rod_bush", "1R")
    over = of(route, "offset set over")
    assert over.recipe == "eccentric setting"
    assert "indicator must read 0.600" in over.words
    keys = [op.key for op in route.operations]
    assert keys.index("left end faced") < keys.index("offset set over") < keys.index("bore reamed after joining")


def test_the_quarter_is_set_by_heights_over_the_axle(demo):
    """Right leads at 90.45 degrees (the bought wheelset's): geometry by hand, r sin 0.45 deg off the upright."""
    words = of(plan(demo, "wheelset@1"), "second wheel on axle, quartered jig set").words
    assert "The right side leads by 90.45 degrees" in words
    bench = demo.bench(demo.part("axle"), "1")
    pin = demo.bench(demo.part("crank_pin_leading"), "1R").size("journal.diameter")
    axle, radius = bench.size("journal.diameter"), demo.bench(demo.part("wheel"), "1L").size("crank_radius")
    assert f"top of the right pin {(axle - pin) / 2:.3f} below the top of the axle" in words
    clear = (axle - pin) / 2 + radius * math.sin(math.radians(0.45))
    assert float(words.split("stands ")[1].split(" clear")[0]) == pytest.approx(clear, abs=0.003)
    assert quartering.aside_mm(24, math.radians(91)) == pytest.approx(-24 * math.sin(math.radians(1)))
    assert quartering.over_axle_mm(8, 18) == -5


def test_a_joint_that_stands_is_done_in_the_route_of_what_it_joins(demo):
    route = plan(demo, "wheelset@3")  # bought in with both wheels on
    assert of(route, "first wheel on axle made").done_words == "done 2026-10-24"
    assert plan(demo, "wheelset@1").done == 0


def test_castings_start_from_what_the_book_says_they_have_over(demo):
    """The demo's wheels state their allowances; the saddle does not, and its route says what is assumed."""
    wheel = plan(demo, "wheel@2R")
    assert not any("assumed" in words for words in wheel.warnings)
    tread = of(wheel, "tread turned").passes
    assert tread.start_mm - tread.target_mm == pytest.approx(3.0)
    assert "1.50" in of(wheel, "back faced").words
    assert any("is not said" in w and "is assumed" in w for w in plan(demo, "smokebox_saddle@engine").warnings)


def test_gaps_of_a_frame_are_found_in_its_outline(demo):
    """Three horns of 1 in by 1 3/8 in, by the drawing; a curved slot swings on the radius of the link."""
    route = plan(demo, "frame@R")
    gaps = [op for op in route.operations if op.process == "sawn out"]
    assert [op.feature for op in gaps] == ["rear horn gap", "driving horn gap", "leading horn gap"]
    assert all("25.40 x 34.9" in op.words for op in gaps)
    assert "Fasten 2 pieces together" in of(route, "outline datum edge").words
    link = of(plan(demo, "expansion_link@L"), "slot slotted")
    radius = demo.bench(demo.part("expansion_link"), "L").size("slot_radius")
    assert f"swung about a pivot {radius:.3f}" in link.words


def test_flats_are_indexed_on_the_head_that_is_there(demo):
    """40:1 and six flats: 6 2/3 turns, 10 spaces of 15 (US Army Ordnance subcourse OD1644: R / N)."""
    words = of(plan(demo, "blast_nozzle@engine"), "across_flats flats milled").words
    assert "(6 turns and 10 spaces on the 15 circle of the crank, 40:1)" in words


def test_slide_bars_are_packed_and_their_ground_faces_left(demo):
    route = plan(demo, "slide_bars@L")
    assert not [op for op in route.operations if op.key in ("first face milled", "gap slotted")]
    assert "made to suit crosshead@L.over_slippers" in of(route, "gap packed").check
    assert "two blanks" in of(route, "blank sawn").words


def test_a_block_starts_from_the_bar_that_is_there(demo):
    """30 x 10 flat for a crosshead 9.228 across: 0.386 off each face, not a wish."""
    op = of(plan(demo, "crosshead@L"), "width milled")
    assert op.passes.start_mm == pytest.approx(10 - (10 - op.passes.target_mm) / 2, abs=0.01)


def test_sizes_that_a_joint_sets_or_a_formula_gives_are_not_missed(demo):
    rod = plan(demo, "piston_rod@R").unplanned
    assert 'from_gudgeon: set when "piston rod fixed in crosshead@R" is made' in rod
    assert not any(words.startswith("line_to_centre") for words in plan(demo, "cylinder@L").unplanned)


def test_no_set_up_number_is_twice_and_they_rise(demo):
    for route in demo.every()[0]:
        numbers = [int(setup.name.partition(":")[0]) for setup, _ in route.set_ups]
        assert numbers == list(range(numbers[0], numbers[0] + len(numbers))), route.seat


def test_words_of_the_bench_read_as_words(demo):
    for route in demo.every()[0]:
        for op in route.operations:
            assert "  " not in op.words, op.key
            assert "nan" not in f"{op.words} {op.check} {op.left}".split(), op.key
            assert not op.words.endswith((" ", ",")), op.key
