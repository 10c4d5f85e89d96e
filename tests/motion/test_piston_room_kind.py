"""Room for the piston as a requirement: by the sizes, by bumping marks once they are read, past an axle off the line."""

from __future__ import annotations

import math

import pytest

from asmade.measure.errors import Refused, Unknown
from asmade.motion.gaps.piston import rod_that_shares, room_from_marks
from asmade.reckon.findings import look
from asmade.reckon.values import compute
from asmade.verbs.demo import demo_text
from asmade.verbs.piston_ends import piston_ends

PLAIN = """
[places]
axles = ["1", "2"]
sides = ["L", "R"]
sections = ["12"]
driven = "2"
[part.wheel]
places = ["2L", "2R"]
[part.wheel.dim]
crank_radius = { kind = "crank radius", drawn = "30" }
[part.connecting_rod]
places = ["L", "R"]
[part.connecting_rod.dim]
centres = { kind = "centres", drawn = "90" }
[part.bumping_marks]
places = ["L", "R"]
[part.bumping_marks.dim]
front = { kind = "position", drawn = "121" }
back = { kind = "position", drawn = "58" }
"""
ROOM = '[[piston_room]]\nname = "room"\nplaces = ["R"]\nleast = "0.8 mm"\n'


def ends(fold_text, text):
    values = compute(fold_text(text))
    return {f.subject: f for f in look(values) if f.code == "piston_room"}, piston_ends(values)


def test_by_hand(fold_text):
    """Marks 121 and 58, rod 90, crank 30: front 121 - 120 = 1, back 60 - 58 = 2; a rod of 89.5 gives 1.5 at both."""
    found, (side,) = ends(fold_text, PLAIN + ROOM)
    assert found["room, front@R"].value == pytest.approx(1.0)
    assert found["room, back@R"].value == pytest.approx(2.0)
    assert side.shares_mm == pytest.approx(89.5)
    assert side.change_mm == pytest.approx(-0.5)
    assert side.each_mm == pytest.approx(1.5)
    assert found["room, front@R"].worst_low < 1.0


def test_a_line_that_passes_the_axle_is_the_exact_slider_crank(fold_text):
    found, (side,) = ends(fold_text, PLAIN + ROOM + 'off = "8 mm"\n')
    room = room_from_marks(121, 58, 90, 30, 8)
    assert found["room, front@R"].value == pytest.approx(room.front_mm, abs=1e-9)
    assert found["room, back@R"].value == pytest.approx(room.back_mm, abs=1e-9)
    assert room.front_mm == pytest.approx(121 - math.sqrt(120**2 - 64))
    assert side.shares_mm == pytest.approx(rod_that_shares(121, 58, 90, 30, 8).rod_mm)


def test_read_marks_take_the_place_of_the_sizes(fold_text):
    before, sides = ends(fold_text, demo_text())
    assert not any(side.marks_read for side in sides)
    marks = "".join(
        f'[[made]]\npiece = "bumping_marks#R"\ndim = "{dim}"\nreading = "{mm}"\ninstrument = "caliper 150"\n'
        f"at = 2026-11-20T10:0{n}:00\n"
        for n, (dim, mm) in enumerate((("front", "202.90"), ("back", "153.00")))
    )
    after, sides = ends(fold_text, demo_text() + "\n" + marks)
    (right,) = [side for side in sides if side.side == "R"]
    assert right.marks_read
    front = "room by the bumping marks, front@R"
    assert after[front].value == pytest.approx(202.90 - 177.8 - 23.8, abs=0.06)
    assert before[front].value != pytest.approx(after[front].value, abs=1e-3)
    assert right.shares_mm == pytest.approx((202.90 + 153.00) / 2, abs=1e-6)


def test_what_is_not_known_is_named(fold_text):
    found, (side,) = ends(fold_text, PLAIN.replace('drawn = "58"', 'drawn = ""') + ROOM)
    assert found["room, back@R"].verdict == "not known"
    assert found["room, back@R"].missing == ("bumping_marks@R.back",)
    assert found["room, front@R"].value == pytest.approx(1.0)
    assert side.shares_mm is None
    assert side.fault


@pytest.mark.parametrize(
    ("text", "fault", "words"),
    [
        (ROOM.replace('"R"', '"2R"'), Refused, "at a side"),
        (ROOM + 'front = "marks@R.front"\n', Unknown, "front, back, rod and crank"),
    ],
)
def test_bad_ones_are_refused_by_name(fold_text, text, fault, words):
    with pytest.raises(fault) as refused:
        ends(fold_text, PLAIN + text)
    assert words in f"{refused.value.message} {refused.value.way_out}"
