"""Forms that cross themselves are refused by name, with the limit and the way out; masses of what was added."""

from __future__ import annotations

import math

import pytest

from asmade.book.forms import form_of
from asmade.measure.errors import AsmadeError, Refused
from asmade.reckon.shapes import shape


def body(fold_text, form, dims, sizes):
    lines = "\n".join(f'{name} = {{ kind = "{kind}", drawn = "1 mm" }}' for name, kind in dims.items())
    build = fold_text(f'[part.x]\nplaces = ["1"]\nform = {form}\n[part.x.dim]\n{lines}\n')
    return shape(form_of(build.design.parts["x"]), sizes)


TURNED = '{ kind = "turned", sections = ["a", "b"], ends = { left = ["hole"], right = ["other"] } }'
TURNED_DIMS = {"a.diameter": "shaft", "a.length": "length", "b.diameter": "shaft", "b.length": "length",
               "hole.diameter": "bore", "hole.depth": "depth", "other.diameter": "bore", "other.depth": "depth"}  # fmt: skip
FINE = {"a.diameter": 10.0, "a.length": 10.0, "b.diameter": 8.0, "b.length": 10.0,
        "hole.diameter": 4.0, "hole.depth": 12.0, "other.diameter": 3.0, "other.depth": 5.0}  # fmt: skip


def test_two_holes_that_do_not_meet(fold_text):
    """Cylinders: 10 x 100/4 pi + 10 x 64/4 pi less 12 x 4 pi less 5 x 9/4 pi."""
    found = body(fold_text, TURNED, TURNED_DIMS, FINE)
    assert found.volume_mm3 == pytest.approx(math.pi * (250 + 160 - 48 - 11.25))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"hole.diameter": 8.0}, "smaller than b"),
        ({"hole.depth": 21.0}, "up to its length 20"),
        ({"hole.depth": 16.0}, "from both ends they run into one another by 1 mm"),
    ],
    ids=["a bore as large as the outside", "a hole deeper than the part", "holes from both ends that meet"],
)
def test_a_turned_part_that_crosses_itself(fold_text, change, words):
    with pytest.raises(AsmadeError, match=words) as fault:
        body(fold_text, TURNED, TURNED_DIMS, FINE | change)
    assert fault.value.way_out


def test_a_counterbore_is_counted_once(fold_text):
    """A hole right through and a wider one over part of its length: the wider, then the rest of the narrower."""
    form = '{ kind = "turned", sections = ["a"], ends = { left = [{ name = "hole" }, { name = "wide", depth = "deep" }] } }'
    dims = {"a.diameter": "shaft", "a.length": "length", "hole": "bore", "wide": "bore", "deep": "depth"}
    found = body(fold_text, form, dims, {"a.diameter": 10.0, "a.length": 20.0, "hole": 4.0, "wide": 6.0, "deep": 5.0})
    assert found.volume_mm3 == pytest.approx(math.pi * (25 * 20 - 9 * 5 - 4 * 15))


@pytest.mark.parametrize(
    ("extra", "sizes", "words"),
    [
        ({"a.undercut.width": "slot", "a.undercut.diameter": "diameter"}, {"a.undercut.width": 2.0, "a.undercut.diameter": 10.0},
         "undercut of a"),
        ({"a.chamfer_left": "length"}, {"a.chamfer_left": 6.0}, "chamfers of a"),
    ],
    ids=["an undercut as large as what it is cut into", "a chamfer beyond the axis"],
)  # fmt: skip
def test_edges_that_cannot_be(fold_text, extra, sizes, words):
    dims = {"a.diameter": "shaft", "a.length": "length"} | extra
    with pytest.raises(AsmadeError, match=words):
        body(fold_text, '{ kind = "turned", sections = ["a"] }', dims, {"a.diameter": 10.0, "a.length": 20.0} | sizes)


def test_eyes_whose_bores_run_into_one_another(fold_text):
    dims = {"centres": "centres", "eye": "bore", "boss_outside": "diameter", "boss_width": "thickness",
            "depth": "height", "thickness": "thickness"}  # fmt: skip
    sizes = {"centres": 8.0, "eye": 9.0, "boss_outside": 12.0, "boss_width": 5.0, "depth": 6.0, "thickness": 4.0}
    with pytest.raises(AsmadeError, match="run into one another"):
        body(fold_text, '{ kind = "rod" }', dims, sizes)


def test_holes_of_a_block_go_across_along_and_up(fold_text):
    """10 x 20 x 30 less one hole of 4 mm each way, as long as the block is that way."""
    holes = ", ".join(f'{{ name = "h_{way}", bore = "h", x = "0", y = "{y} mm", way = "{way}" }}'
                      for way, y in (("across", 6), ("along", -6), ("up", 5)))  # fmt: skip
    form = f'{{ kind = "block", holes = [{holes}] }}'
    dims = {"length": "length", "height": "height", "width": "width", "h": "bore"}
    found = body(fold_text, form, dims, {"length": 10.0, "height": 20.0, "width": 30.0, "h": 4.0})
    assert found.volume_mm3 == pytest.approx(6000 - math.pi * 4 * (30 + 10 + 20))
    with pytest.raises(AsmadeError, match="edge"):
        body(fold_text, form, dims, {"length": 10.0, "height": 20.0, "width": 30.0, "h": 9.0})


def test_a_flanged_block(fold_text):
    form = '{ kind = "block", flange = "flange", flange_over = "over" }'
    dims = {"length": "length", "height": "height", "width": "width", "flange": "thickness", "over": "length"}
    sizes = {"length": 10.0, "height": 20.0, "width": 30.0, "flange": 4.0, "over": 2.0}
    found = body(fold_text, form, dims, sizes)
    assert found.volume_mm3 == pytest.approx(6000 + 2 * 2 * 20 * 4)
    assert (found.envelope.length_mm, found.envelope.width_mm) == pytest.approx((14.0, 30.0))
    with pytest.raises(AsmadeError, match="flange"):
        body(fold_text, form, dims, sizes | {"flange": 30.0})


def test_a_spring_weighs_its_wire(fold_text):
    """Helix: length of wire = hypot(coils x pi x mean diameter, rise)."""
    form = '{ kind = "spring", coils = 8 }'
    dims = {"wire": "diameter", "outside": "diameter", "free_length": "length"}
    found = body(fold_text, form, dims, {"wire": 1.2, "outside": 8.0, "free_length": 24.0})
    assert found.volume_mm3 == pytest.approx(math.pi * 0.36 * math.hypot(8 * math.pi * 6.8, 22.8))
    with pytest.raises(AsmadeError, match="touch"):
        body(fold_text, form, dims, {"wire": 3.5, "outside": 8.0, "free_length": 24.0})
    with pytest.raises(Refused, match="coils = 8"):
        body(fold_text, '{ kind = "spring" }', dims, {"wire": 1.2, "outside": 8.0, "free_length": 24.0})


def test_a_rounded_plate_with_a_slot(fold_text):
    """30 x 20 less rounded corners, (4 - pi) r2, less the slot, 10 x 4 + pi 4."""
    form = """{ kind = "plate", outline = [["0", "0", "r"], ["30 mm", "0", "r"], ["30 mm", "20 mm", "r"], ["0", "20 mm", "r"]],
               slots = [{ name = "slot", from = ["10 mm", "10 mm"], to = ["20 mm", "10 mm"] }],
               marks = [{ name = "line", x = "5 mm" }] }""".replace("\n", " ")
    dims = {"thickness": "thickness", "r": "radius", "slot": "slot"}
    found = body(fold_text, form, dims, {"thickness": 2.0, "r": 3.0, "slot": 4.0})
    assert found.volume_mm3 == pytest.approx(2 * (600 - (4 - math.pi) * 9 - 40 - 4 * math.pi), rel=1e-4)
    with pytest.raises(AsmadeError, match="edge"):
        body(fold_text, form, dims, {"thickness": 2.0, "r": 3.0, "slot": 21.0})


def test_channels_of_a_block(fold_text):
    """10 x 20 x 30 less a fork 4 wide and 6 deep through its height, and a channel 5 wide and 2 deep along its top."""
    form = """{ kind = "block", channels = [{ name = "fork", runs = "up", face = "rear", depth = "deep" },
               { name = "lip", runs = "along", face = "top", depth = "2 mm" }] }""".replace("\n", " ")
    dims = {"length": "length", "height": "height", "width": "width", "fork": "slot", "lip": "slot", "deep": "depth"}
    sizes = {"length": 10.0, "height": 20.0, "width": 30.0, "fork": 4.0, "lip": 5.0, "deep": 6.0}
    assert body(fold_text, form, dims, sizes).volume_mm3 == pytest.approx(6000 - 4 * 6 * 20 - 5 * 2 * 10)
    with pytest.raises(AsmadeError, match="fork of x"):
        body(fold_text, form, dims, sizes | {"deep": 10.0})
    with pytest.raises(AsmadeError, match="run into the block"):
        body(fold_text, form.replace('"up"', '"along"'), dims, sizes)
