"""Order of operations as laws, the builder's edits, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.book.fold import fold
from asmade.book.text import read_text
from asmade.measure.errors import AsmadeError, Contradiction, Refused, Unknown
from asmade.reckon.values import compute
from asmade.work.routes import Edit, RoutePlanner
from asmade.work.routes.order import as_far_as_they_go, in_order

SHOP = """
[shop.machine.lathe]
kind = "lathe"
speeds = [60, 110, 190, 340, 600, 950, 1500]
spindle_bore = "20 mm"
cross_slide = { reads = "diameter", per_turn = "4 mm", division = "0.05 mm" }
top_slide = { reads = "length", per_turn = "2 mm", division = "0.02 mm" }
[shop.machine.mill]
kind = "mill"
speeds = [120, 240, 420, 750, 1300, 2200]
[[shop.stock]]
form = "round bar"
material = "bright mild steel"
size = "20 mm"
length = "500 mm"
"""

PIN = """
[part.pin]
places = ["L"]
material = "bright mild steel"
form = { kind = "turned", sections = ["seat", "journal", "end"], ends = { right = ["hole"] } }
[part.pin.dim]
seat.diameter = { kind = "shaft", drawn = "8 mm", process = "turned" }
seat.length = { kind = "length", drawn = "12 mm" }
journal.diameter = { kind = "shaft", drawn = "14 mm", process = "turned" }
journal.length = { kind = "length", drawn = "10 mm" }
end.callout = { kind = "thread", drawn = "M6", process = "die-cut", sex = "male" }
end.length = { kind = "length", drawn = "8 mm" }
hole.diameter = { kind = "bore", drawn = "3 mm", process = "reamed" }
hole.depth = { kind = "depth", drawn = "6 mm" }
"""


@pytest.fixture(scope="module")
def demo():
    text = resources.files("asmade").joinpath("book/data/demo/harrowgill.toml").read_text(encoding="utf-8")
    build = fold([replace(draft, number=n) for n, draft in enumerate(read_text(text), 1)])
    return RoutePlanner(build, compute(build)).every()[0]


def planned(fold_text, text, part="pin", place="L"):
    build = fold_text(text)
    return RoutePlanner(build, compute(build)).plan(part, place)


def follows(operations):
    """Every thing is made before what needs it."""
    made = set()
    last = {thing: k for k, op in enumerate(operations) for thing in op.makes}
    for k, op in enumerate(operations):
        assert all(need in made for need in op.needs), (op.key, op.needs)
        assert all(last[need] < k for need in op.needs), op.key
        assert all(thing in made for thing in op.setup.locates_from), (op.key, op.setup.locates_from)
        made |= set(op.makes)


def test_nothing_in_the_demo_is_done_before_what_it_needs_or_locates_from(demo):
    assert len(demo) > 100
    for route in demo:
        follows(route.operations)


def test_no_set_up_of_the_demo_is_come_back_to(demo):
    for route in demo:
        names = [setup.name for setup, _ in route.set_ups]
        assert len(set(names)) == len(names), route.seat


def position(route, key):
    return [op.key for op in route.operations].index(key)


def test_reaming_follows_drilling_and_a_thread_its_diameter(demo):
    seen = {"reamed": 0, "tapped": 0, "die-cut": 0}
    for route in demo:
        for k, op in enumerate(route.operations):
            before = {(other.feature, other.process) for other in route.operations[:k]}
            if op.process in ("reamed", "reamed after joining", "tapped") and op.rev_min is not None:
                assert (op.feature, "drilled") in before, (route.seat, op.key)
            if op.process in seen:
                seen[op.process] += 1
            if op.process == "die-cut":
                assert any(process == "turned" for _, process in before), (route.seat, op.key)
    assert all(seen.values())


def test_second_end_comes_after_the_first_and_after_the_piece_is_off_the_bar(fold_text):
    route = planned(fold_text, SHOP + PIN)
    assert position(route, "left end faced") < position(route, "blank parted") < position(route, "right end faced")
    assert position(route, "right end faced") < position(route, "hole.diameter reamed")
    assert position(route, "end turned") < position(route, "end.callout die-cut")
    follows(route.operations)


@settings(max_examples=40, deadline=None)
@given(
    diameters=st.lists(st.integers(4, 18), min_size=1, max_size=5),
    bore=st.sampled_from([0, 2, 3]),
    data=st.data(),
)
def test_any_turned_part_is_planned_in_an_order_that_holds(fold_text, diameters, bore, data):
    names = [f"s{k}" for k in range(len(diameters))]
    lengths = [data.draw(st.integers(2, 40)) for _ in names]
    lines = [
        "[part.pin]", 'places = ["L"]', 'material = "bright mild steel"',
        f'form = {{ kind = "turned", sections = {names} }}', "[part.pin.dim]",
    ]  # fmt: skip
    for name, diameter, length in zip(names, diameters, lengths, strict=True):
        lines += [f'{name}.diameter = {{ kind = "shaft", drawn = "{diameter} mm", process = "turned" }}',
                  f'{name}.length = {{ kind = "length", drawn = "{length} mm" }}']  # fmt: skip
    if bore:
        lines.append(f'bore = {{ kind = "bore", drawn = "{bore} mm", process = "reamed" }}')
    route = planned(fold_text, SHOP + "\n".join(lines))
    follows(route.operations)
    turned = {d for op in route.operations for d in op.dims}
    assert {f"{name}.diameter" for name in names} <= turned


def test_edits_go_by_feature_and_process_and_outlive_a_change_of_sizes(fold_text):
    edits = """
    [[note]]
    text = "blue it"
    route = { part = "pin", do = "add", operation = "blued", other = "seat.diameter turned" }
    [[note]]
    text = "mind the centre"
    route = { part = "pin", do = "note", operation = "left end faced" }
    [[note]]
    text = "the jig does it"
    route = { part = "pin", do = "remove", operation = "hole.diameter centred" }
    """
    edits = "\n".join(line.strip() for line in edits.splitlines())
    for text in (PIN, PIN.replace("8 mm", "9 mm").replace('"12 mm"', '"13 mm"')):
        route = planned(fold_text, SHOP + text + edits)
        keys = [op.key for op in route.operations]
        assert keys.index("blued") < keys.index("seat.diameter turned")
        assert next(op for op in route.operations if op.key == "left end faced").note == "mind the centre"
        # the third takes away what another needs: it is left aside and named, with its entry
        assert "hole.diameter centred" in keys
        assert any("needs 'hole.diameter centre'" in words and "no longer fits" in words for words in route.warnings)
    assert next(op for op in route.operations if op.key == "seat.diameter turned").passes.target_mm == pytest.approx(9)


def test_an_edit_of_an_operation_that_a_change_took_away_is_named_and_the_rest_stays(fold_text):
    """A bore of 12 mm has a pilot drill, one of 3 mm has none: the note to it waits for better days."""
    edits = """
[[note]]
text = "the old drill"
route = { part = "pin", do = "note", operation = "hole.diameter drilled 1" }
[[note]]
text = "slow"
route = { part = "pin", do = "note", operation = "left end faced" }
"""
    large = PIN.replace('drawn = "3 mm"', 'drawn = "12 mm"').replace('drawn = "M6"', 'drawn = "M16"')
    shop = SHOP.replace('"20 mm"\nlength', '"30 mm"\nlength')
    route = planned(fold_text, shop + large.replace('"14 mm"', '"20 mm"') + edits)
    assert next(op for op in route.operations if op.key == "hole.diameter drilled 1").note == "the old drill"
    assert not any("no longer fits" in words for words in route.warnings)
    route = planned(fold_text, shop + PIN + edits)
    assert [w for w in route.warnings if "no longer fits" in w and "drilled 1" in w and "entry" in w]
    assert next(op for op in route.operations if op.key == "left end faced").note == "slow"


def test_an_operation_is_added_moved_and_said_in_other_words(fold_text):
    operations = planned(fold_text, SHOP + PIN).operations
    edits = [
        Edit("pin", "add after", "blued", "seat.diameter turned", "blue it"),
        Edit("pin", "after", "hole.diameter centred", "right end faced"),
        Edit("pin", "words", "right end faced", text="face it my way"),
    ]
    found = in_order("pin", operations, edits)
    keys = [op.key for op in found]
    assert keys.index("blued") == keys.index("seat.diameter turned") + 1
    said = next(op for op in found if op.key == "right end faced")
    assert said.words == "face it my way"
    assert said.passes is not None
    follows(found)


def test_an_edit_that_cannot_be_is_refused_by_name(fold_text):
    operations = planned(fold_text, SHOP + PIN).operations
    with pytest.raises(Unknown, match=r"hole\.diameter rimed"):
        in_order("pin", operations, [Edit("pin", "remove", "hole.diameter rimed")])
    with pytest.raises(Refused, match="right end faced"):
        in_order("pin", operations, [Edit("pin", "remove", "blank parted")])
    with pytest.raises(Contradiction, match="ring"):
        in_order("pin", operations, [Edit("pin", "before", "blank parted", "left end faced")])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda t: t.replace("speeds = [60, 110, 190, 340, 600, 950, 1500]\n", ""), "machine lathe"),
        (lambda t: t[: t.index("[[shop.stock]]")] + PIN, "no \\[\\[shop.stock\\]\\] at all"),
        (lambda t: t.replace('"3 mm"', '"20 mm"'), r"hole of pin: 20\.00 mm is not within smaller than end"),
        (lambda t: t.replace('kind = "turned"', 'kind = "turnd"'), "turned"),
    ],
    ids=["no speeds", "no stock", "a bore larger than its part", "no such form"],
)  # fmt: skip
def test_what_cannot_be_planned_is_named(fold_text, change, words):
    with pytest.raises(AsmadeError, match=words):
        planned(fold_text, change(SHOP + PIN))


def test_an_outline_that_crosses_itself_is_refused(fold_text):
    plate = """
[part.pin]
places = ["L"]
material = "bright mild steel"
form = { kind = "plate", outline = [["0", "0"], ["a", "a"], ["a", "0"], ["0", "a"]] }
[part.pin.dim]
a = { kind = "length", drawn = "30 mm" }
thickness = { kind = "thickness", drawn = "3 mm" }
"""
    with pytest.raises(Refused, match="crosses itself"):
        planned(fold_text, SHOP + plate)


def test_what_a_form_lacks_is_said_and_planned_round(fold_text):
    route = planned(fold_text, SHOP + PIN.replace('journal.length = { kind = "length", drawn = "10 mm" }\n', ""))
    assert route.lacks == ("journal.length",)
    assert "seat.diameter turned" in [op.key for op in route.operations]


def test_one_placed_hole_is_finished_before_the_table_goes_to_the_next(demo):
    rods = [route for route in demo if route.part == "connecting_rod"]
    assert rods
    for route in rods:
        eyes = [op.feature for op in route.operations if op.setup.name == "1: eyes"]
        assert eyes == sorted(eyes, key=eyes.index)


BLOCK = """
[part.pin]
places = ["L", "R"]
material = "bright mild steel"
form = { kind = "block", holes = [{ name = "bore", x = "0", y = "0" }] }
[part.pin.dim]
length = { kind = "length", drawn = "LENGTH mm", process = "PROCESS1" }
height = { kind = "height", drawn = "HEIGHT mm", process = "PROCESS2" }
width = { kind = "width", drawn = "WIDTH mm", process = "PROCESS3" }
bore = { kind = "bore", drawn = "6 mm", process = "reamed" }
slot = { kind = "slot", drawn = "5 mm", process = "milled" }
"""
FLAT = """
[[shop.stock]]
form = "flat"
material = "bright mild steel"
size = "30 x 10 mm"
length = "300 mm"
"""


@settings(max_examples=30, deadline=None)
@given(
    sizes=st.tuples(st.integers(8, 60), st.integers(8, 60), st.integers(8, 60)),
    processes=st.tuples(*[st.sampled_from(["milled", "stock as is"])] * 3),
)
def test_any_block_is_squared_before_anything_is_located_from_it(fold_text, sizes, processes):
    text = BLOCK
    for key, size in zip(("LENGTH", "HEIGHT", "WIDTH"), sizes, strict=True):
        text = text.replace(key, str(size))
    for number, process in enumerate(processes, 1):
        text = text.replace(f"PROCESS{number}", process)
    route = planned(fold_text, SHOP + FLAT + text)
    follows(route.operations)
    keys = [op.key for op in route.operations]
    made = {d for op in route.operations for d in op.dims}
    assert {"length", "height", "width", "bore", "slot"} <= made
    assert max(keys.index(k) for k in keys if k.split()[0] in ("length", "height", "width")) < keys.index("bore placed")
    for op in route.operations:
        if op.passes is not None:
            sizes_mm = [cut.size_mm for cut in op.passes.cuts]
            assert sizes_mm == sorted(sizes_mm, reverse=op.passes.target_mm < op.passes.start_mm), op.key


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_whatever_the_builder_changes_the_order_holds_or_the_change_is_named(fold_text, data):
    """Random changes of random operations: each is done or named, and what is needed always comes first."""
    operations = planned(fold_text, SHOP + PIN).operations
    keys = [op.key for op in operations]
    edits = []
    for number in range(data.draw(st.integers(1, 6))):
        do = data.draw(st.sampled_from(["remove", "add", "add after", "before", "after", "words", "note"]))
        one, other = (data.draw(st.sampled_from([*keys, "not there"])) for _ in range(2))
        edits.append(Edit("pin", do, f"own {number}" if do.startswith("add") else one, other, "my words", number + 1))
    found, told = as_far_as_they_go("pin", operations, edits)
    follows(found)
    names = [op.key for op in found]
    assert len(set(names)) == len(names)
    for edit in edits:
        named = any(f"(entry {edit.entry})" in words for words in told)
        there = edit.operation in names
        if edit.do == "remove" and not named:
            assert not there
        elif edit.do in ("add", "add after") and not named and edit.operation in names and edit.other in names:
            first, second = (edit.operation, edit.other) if edit.do == "add" else (edit.other, edit.operation)
            assert names.index(first) < names.index(second)
    assert len(told) <= len(edits)
