"""Links of a valve gear as bodies near the motion: where the gear's own description puts them, over the reverser too."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.bindings.gap_finder import sides_of
from asmade.motion.bindings.gap_model import known_bodies
from asmade.motion.bindings.gaps import relation_of
from asmade.motion.bindings.valves import bind
from asmade.motion.gaps.findings import even_angles
from asmade.reckon.shapes import Disc
from asmade.reckon.values import compute
from asmade.verbs.demo import demo_text
from asmade.verbs.gaps import gaps_of

GAP = '[[gap]]\nname = "gear"\nplaces = ["R"]\nleast = "0.5 mm"\n'
ROD = '[gap.links."radius rod"]\nwidth = "6 mm"\neye = "9 mm"\ninner = "90 mm"\nthickness = "4 mm"\n'
LINK = '[gap.links."expansion link"]\nwidth = "12 mm"\ninner = "90 mm"\nthickness = "4 mm"\n'
POST = """[gap.bodies.post]
moves = "fixed"
x = "170 mm"
y = "62 mm"
inner = "80 mm"
length = "12 mm"
height = "8 mm"
width = "30 mm"
"""


def with_gap(text):
    """The demo, its own gap put away, with another."""
    demo = demo_text()
    begin = demo.index("[[gap]]")
    end = min(at for at in (demo.find("\n[[", begin + 7), demo.find("\n# ====", begin)) if at > 0)
    return demo[:begin] + text + demo[end:]


def sides(fold_text, text):
    values = compute(fold_text(with_gap(text)))
    scope = values.system.scope
    return sides_of(relation_of(scope.design), scope)[0], values


def getter(values):
    index = values.system.index
    return lambda a: 0.0 if a.part == "rise_of_axle" else float(values.best[index[a]])


def reference(values, angles, position):
    """Places by the gear itself, seen from the driving horn."""
    scope = values.system.scope
    bound = next(b for r in scope.design.of_kind("valve_gear") for b in bind(r, scope) if b.side == "R")
    motion = bound.kind.move(bound.side_of(values.of).gear, angles, position)
    horn, box = (
        values.of(a) for a in values.system.index if str(a) in ("frame@R.horn_at.2", "axlebox@2R.bore_forward")
    )
    ahead = horn + box
    return lambda name: motion.place(name)[0, :, 0] + ahead


def test_a_link_lies_where_its_pins_are_at_every_reverser_position(fold_text):
    side, values = sides(fold_text, GAP + ROD + LINK)
    angles = side.angles(side.links, 24, 24)
    assert angles.size == 24 * len(side.positions)
    rod, link = (body.make(getter(values), angles)[0] for body in side.links)
    for turn, position in enumerate(side.positions):
        place = reference(values, even_angles(24), position)
        at = slice(24 * turn, 24 * turn + 24)
        ends = [
            rod.poses.place[at] + rod.poses.along[at] * complex(p.x, p.y) for p in rod.pieces if isinstance(p, Disc)
        ]
        assert ends[0] == pytest.approx(place("die pin"), abs=1e-6)
        assert ends[1] == pytest.approx(place("radius rod pin"), abs=1e-6)
        eyes = [
            link.poses.place[at] + link.poses.along[at] * complex(p.x, p.y) for p in link.pieces if isinstance(p, Disc)
        ]
        for name in ("slot top", "slot bottom", "trunnion", "foot pin"):
            assert min(np.abs(eye - place(name)).max() for eye in eyes) < 1e-6


def test_the_least_gap_over_turn_and_reverser_is_that_of_a_dense_search(fold_text):
    """Independent: the rod as a buffered line by shapely at 720 angles of every position."""
    book = GAP + 'pairs = [["radius rod", "post"]]\nreverser = [1.0, 0.4, -1.0]\n' + ROD + POST
    build = fold_text(with_gap(book))
    (side,) = gaps_of(build).sides
    (pair,) = side.pairs
    values = compute(build)
    post = shapely.box(170 - 6, 62 - 4, 170 + 6, 62 + 4)
    least = {}
    for position in (1.0, 0.4, -1.0):
        place = reference(values, even_angles(720), position)
        die, pin = place("die pin"), place("radius rod pin")
        bars = shapely.linestrings(np.stack([np.stack([die.real, die.imag], 1), np.stack([pin.real, pin.imag], 1)], 1))
        ends = [shapely.points(z.real, z.imag) for z in (die, pin)]
        gap = np.minimum(
            shapely.distance(bars, post) - 3.0, np.minimum(*(shapely.distance(e, post) for e in ends)) - 4.5
        )
        least[position] = float(gap.min())
    nearest = min(least, key=least.__getitem__)
    assert pair.reverser == nearest
    assert pair.finding.least.gap_mm == pytest.approx(least[nearest], abs=2e-3)
    assert pair.finding.least.where == "in the plane"
    assert max(least.values()) - min(least.values()) > 0.5, "the reverser matters here"


def test_what_is_pinned_together_is_no_pair_and_what_is_not_said_is_left_out(fold_text):
    crank = '[gap.links."return crank"]\nwidth = "9 mm"\ninner = "88 mm"\nthickness = "6 mm"\n'
    rod = '[gap.links."eccentric rod"]\nwidth = "6 mm"\ninner = "88 mm"\nthickness = "4 mm"\n'
    side, values = sides(fold_text, GAP + crank + rod + LINK + ROD)
    touch = {body.name: body.touches for body in side.links}
    assert "eccentric rod" in touch["return crank"]
    assert "crank pin 2" in touch["return crank"]
    assert "expansion link" in touch["eccentric rod"]
    assert "expansion link" in touch["radius rod"], "the die runs in the slot"
    assert "return crank" not in touch["expansion link"]
    ((left, why),) = [row for row in side.left_out if "union link" in row[0]]
    assert "combination lever" in left
    assert "how far out" in why
    plays = {body.name: body.make(getter(values), even_angles(8))[0].plays for body in side.links}
    assert plays["return crank"], "it goes sideways with its axle"
    assert not plays["expansion link"]


def test_the_slot_is_a_band_about_its_centre(fold_text):
    side, values = sides(fold_text, GAP + LINK)
    (link,) = side.links
    element = link.make(getter(values), np.array([0.3]))[0]
    band = element.pieces[0]
    place = reference(values, np.array([0.3]), 1.0)
    centre = (place("slot centre") - element.poses.place) * np.conj(element.poses.along)
    out = np.abs(band.ring[:, 0] + 1j * band.ring[:, 1] - centre)
    radius = abs(complex(place("slot top")[0] - place("slot centre")[0]))
    assert out.min() == pytest.approx(radius - 6, abs=1e-6)
    assert out.max() == pytest.approx(radius + 6, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "fault", "words"),
    [
        ('[gap.links."radius bar"]\nwidth = "6 mm"\n', Unknown, "radius rod"),
        ('[gap.links."radius rod"]\nwidth = "6 mm"\n', Refused, "inner and thickness"),
        ('[gap.links."radius rod"]\nwide = "6 mm"\n', Unknown, "width"),
        ('reverser = [1.5]\n[gap.links."radius rod"]\nwidth = "6 mm"\n', OutOfRange, "full backward"),
        ("reverser = []\n" + ROD, Refused, "no position"),
    ],
)
def test_bad_links_are_refused_by_name(fold_text, text, fault, words):
    with pytest.raises(fault, match=words):
        sides(fold_text, GAP + text)


def test_a_width_of_nothing_leaves_the_link_out(fold_text):
    side, values = sides(fold_text, GAP + ROD.replace('"6 mm"', '"0 mm"'))
    known, out = known_bodies(side, side.links, getter(values))
    assert known == ()
    assert "more than 0" in out[0][1]


def test_crank_angles_beyond_a_turn_stand_for_the_next_position(fold_text):
    side, _ = sides(fold_text, GAP + ROD)
    assert side.reverser_at(0.5) == side.positions[0]
    assert side.reverser_at(0.5 + 2 * math.pi) == side.positions[1]
    assert side.reverser_at(2 * math.pi * len(side.positions)) == side.positions[-1]
