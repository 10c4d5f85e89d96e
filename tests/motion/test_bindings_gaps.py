"""Gaps from a book: which bodies there are, where they stand, and that the gaps are those worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from asmade.measure.errors import Refused, Unknown
from asmade.motion.bindings.gap_finder import sides_of
from asmade.motion.bindings.gap_model import Model, known_bodies
from asmade.motion.bindings.gaps import bodies_apart, relation_of
from asmade.motion.bindings.rod_line import STRETCHES
from asmade.motion.gaps import even_angles
from asmade.reckon.findings import look
from asmade.reckon.values import compute
from asmade.verbs.demo import demo_text

GAP = '[[gap]]\nname = "touch"\nplaces = ["R"]\nleast = "0.5 mm"\n'
BAR = """
[places]
axles = ["1", "2"]
sides = ["L", "R"]
sections = ["12"]
driven = "2"
[part.frame]
places = ["L", "R"]
[part.frame.dim]
horn_at.1 = { kind = "position", drawn = "120" }
horn_at.2 = { kind = "position", drawn = "0" }
[part.wheel]
places = ["1L", "1R", "2L", "2R"]
[part.wheel.dim]
crank_radius = { kind = "crank radius", drawn = "24" }
"""


@pytest.fixture(scope="module")
def right(fold_text_module):
    build = fold_text_module(demo_text())
    values = compute(build)
    side = next(s for s in sides_of(relation_of(build.design), values.system.scope) if s.side == "R")
    return side, values


@pytest.fixture(scope="module")
def fold_text_module(fold_text):
    return fold_text


def get_of(values):
    return lambda address: float(values.best[values.system.index[address]])


def test_the_running_gear_is_found(right):
    side, values = right
    bodies, out = known_bodies(side, side.bodies, get_of(values))
    names = {body.name for body in bodies}
    assert {"wheel 1", "pin cap 1", "crank pin 2", "coupling rod 12", "coupling rod 23", "connecting rod", "crosshead",
            "gudgeon pin", "upper slide bar", "rear cylinder cover"} <= names  # fmt: skip
    assert out == []
    (left,) = side.left_out
    assert "radius rod" in left[0], "the book says of two links how far out they lie, of the others not"
    assert "how far out" in left[1]


def test_a_crosshead_goes_as_a_slider_crank_does(right):
    """x = r cos a + sqrt(L^2 - r^2 sin^2 a), the textbook's exact slider-crank, from the driving axle."""
    side, values = right
    angles = even_angles(36)
    scene = side.scene((side.body("crosshead"),), get_of(values), angles)
    r, long = values.of(_address("wheel@2R.crank_radius")), values.of(_address("connecting_rod@R.centres"))
    axle = values.of(_address("frame@R.horn_at.2")) + values.of(_address("axlebox@2R.bore_forward"))
    expected = axle + r * np.cos(angles) + np.sqrt(long**2 - (r * np.sin(angles)) ** 2)
    assert np.allclose(scene.element("crosshead").poses.place.real, expected)


def test_the_cap_behind_the_crosshead_is_the_chain_of_the_book(right):
    """Across the engine the gap is what the book's own chain adds up, side play at its worst, and they do pass."""
    side, values = right
    model = Model(side, (side.body("pin cap 1"), side.body("slide bar lug")), lambda _a, _b: 0.5, 0.5)
    found = model.look(get_of(values)).finding
    chains = {f.subject: f for f in look(values, samples=0)}
    assert found.least.where == "across"
    assert found.least.gap_mm == pytest.approx(chains["leading pin to crosshead@1R"].value, abs=1e-9)
    row = model.row(get_of(values))
    assert row.exact
    assert row.terms[_address("leading_pin_cap@1R.flange")] == pytest.approx(-1.0, abs=1e-6)


def test_a_rod_follows_its_axles_stretch_by_stretch(right):
    side, values = right
    rod = side.body("coupling rod 23")
    scene = side.scene((rod,), get_of(values), even_angles(8))
    bars = [e for e in scene.elements if ", bar " in e.name]
    assert len(bars) == STRETCHES
    fore, aft = scene.element("coupling rod 23, fore"), scene.element("coupling rod 23, aft")
    assert fore.plays["side play of axle 2"] == pytest.approx(1.0)
    assert fore.plays["side play of axle 3"] == pytest.approx(0.0, abs=1e-12)
    assert aft.plays["side play of axle 3"] == pytest.approx(1.0)
    for bar in bars:
        both = bar.plays["side play of axle 2"] + bar.plays["side play of axle 3"]
        assert both == pytest.approx(1.0)


def test_a_knuckle_lies_ahead_of_its_pin_on_the_line_of_its_rod(right):
    """Both rods have the knuckle at one place: 3/4 in ahead of the driving pin, towards it from the trailing one."""
    side, values = right
    angles = even_angles(12)
    scene = side.scene((side.body("coupling rod 12"), side.body("coupling rod 23")), get_of(values), angles)
    front, rear = scene.element("coupling rod 12, tongue"), scene.element("coupling rod 23, knuckle")
    hung = front.poses.place + front.poses.along * front.pieces[0].x
    # The rod hung on it is as long as the axles ask, within the 0.02 mm of its chain.
    assert np.abs(hung - rear.poses.place).max() < 0.05
    assert scene.element("coupling rod 23, fore").pieces[0].x == pytest.approx(-0.75 * 25.4)


def test_what_bears_on_one_another_is_no_pair(right):
    side, _ = right
    for one, other in (("pin cap 1", "coupling rod 12"), ("crosshead", "upper slide bar"), ("coupling rod 12", "wheel 1"),
                       ("coupling rod 12", "coupling rod 23"), ("connecting rod", "crosshead"),
                       ("upper slide bar", "rear cylinder cover")):  # fmt: skip
        assert not bodies_apart(side.body(one), side.body(other)), (one, other)
    assert bodies_apart(side.body("pin cap 1"), side.body("crosshead"))
    assert bodies_apart(side.body("wheel 1"), side.body("wheel 2"))


def test_boxes_that_the_builder_adds_meet_as_by_hand(fold_text):
    """A square of 10 on pin 1 passes a fixed bar: pin at its lowest 24 below the axle, 5 more; bar's top at -40."""
    text = (
        BAR
        + GAP
        + """
[gap.bodies.block]
moves = "pin"
axle = "1"
inner = "50 mm"
length = "10 mm"
height = "10 mm"
width = "4 mm"
[gap.bodies.bar]
moves = "fixed"
x = "120 mm"
y = "-45 mm"
inner = "48 mm"
length = "200 mm"
height = "10 mm"
width = "10 mm"
"""
    )
    found = [f for f in look(compute(fold_text(text))) if f.code == "gap"]
    # The block turns with the crank: at its lowest a corner of it may lie lower than its side, sqrt(2) x 5 at 45 deg.
    angles = np.linspace(0, 2 * np.pi, 100_001)
    lowest = (-24 * np.sin(angles) - 5 * (np.abs(np.sin(angles)) + np.abs(np.cos(angles)))).min()
    assert found[0].value == pytest.approx(-(-40 - lowest), abs=1e-4)
    assert found[0].verdict == "holds"


def test_bodies_without_form_or_size_are_left_out_with_the_reason(fold_text):
    text = demo_text().replace(
        'boss_width       = { kind = "thickness", drawn = "9/16"', 'boss_width = { kind = "thickness", drawn = ""'
    )
    build = fold_text(text)
    values = compute(build)
    side = sides_of(relation_of(build.design), values.system.scope)[0]
    bodies, out = known_bodies(side, side.bodies, get_of(values))
    why = dict(out)
    assert "crosshead" in {body.name for body in bodies}
    assert "wheel@1L.boss_width" in why["wheel 1"]


def test_a_gap_that_opens_lets_the_model_find_the_next_pair(right):
    side, values = right
    model = Model(side, side.bodies, lambda _a, _b: 0.5, 0.5)
    looked = model.look(get_of(values))
    assert looked.finding.least.gap_mm == pytest.approx(model.value(get_of(values)))
    thin = _address("leading_pin_cap@1R.flange")

    def thinner(address):
        return get_of(values)(address) - (0.4 if address == thin else 0.0)

    assert model.value(thinner) > looked.finding.least.gap_mm
    assert model.value(thinner) < looked.finding.least.gap_mm + 0.4


@pytest.mark.parametrize(
    ("line", "fault", "words"),
    [
        ('pairs = [["pin cap 1", "crosshed"]]', Unknown, "crosshead"),
        ('pairs = ["crosshead"]', Refused, "a pair is two bodies"),
        ('rise = "-1 mm"', Refused, "rise"),
        ('wanted = { "wheel 1" = "2 mm" }', Refused, "no pair and amount"),
        ('bodies = "valance"', Refused, "tables by name"),
        ('[gap.bodies.box]\nmoves = "sideways"\ninner = "1 mm"', Unknown, "fixed"),
        ('[gap.bodies.box]\nlength = "1 mm"', Refused, "how far out"),
        ('[gap.bodies.box]\ninner = "1 mm"', Refused, "no part"),
    ],
)  # fmt: skip
def test_bad_gaps_are_refused_by_name(fold_text, line, fault, words):
    text = demo_text()
    at = text.index("[[gap]]")
    end = text.index("# ====", at)
    with pytest.raises(fault) as refused:
        compute(fold_text(text[:at] + GAP + line + "\n" + text[end:]))
    assert words in f"{refused.value.message} {refused.value.way_out}"


def test_a_size_that_makes_no_shape_leaves_its_body_out(fold_text):
    """A bush bored larger than the rod's boss: no outline, no stack trace, and the rest is told."""
    text = demo_text().replace(
        'big_end_outside    = { kind = "diameter", drawn = "3/4"',
        'big_end_outside    = { kind = "diameter", drawn = "1/4"',
    )
    found = {f.subject: f for f in look(compute(fold_text(text)), samples=0)}
    assert found["nothing touches, pin cap 1 to connecting rod@R"].verdict == "not known"
    assert found["nothing touches, pin cap 1 to slide bar lug@R"].verdict in ("holds", "close")
    assert math.isfinite(found["nothing touches, pin cap 1 to slide bar lug@R"].value)


def test_a_pair_whose_part_is_not_there_is_not_known_and_says_why(fold_text):
    """The caps are not on the drawing yet: the book still opens, and the finding names what is missing."""
    text = demo_text()
    at = text.index("[part.leading_pin_cap.dim]")
    bare = text[:at] + text[at:].replace(
        'diameter = { kind = "diameter", drawn = "7/16"', 'head = { kind = "diameter", drawn = "7/16"', 1
    )
    bare = bare.replace("leading_pin_cap@{place}.diameter", "leading_pin_cap@{place}.head")
    found = {f.subject: f for f in look(compute(fold_text(bare)), samples=0)}
    gap = found["nothing touches, pin cap 1 to slide bar lug@R"]
    assert gap.verdict == "not known"
    assert any("pin cap 1" in each and "diameter" in each for each in gap.missing)


def _address(text):
    from asmade.book.address import read_address

    return read_address(text)
