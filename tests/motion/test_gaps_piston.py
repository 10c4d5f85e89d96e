"""Room for the piston: bumping marks, the rod that shares it, sizes with spreads. Closed forms by hand."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused
from asmade.motion.gaps import gudgeon, pin
from asmade.motion.gaps.piston import PistonStack, find_ends, reach, rod_that_shares, room_from_marks, room_from_sizes

STACK = PistonStack(
    crank_radius=24.0, connecting_rod=180.0, middle=260.0, length=62.0, front_register=3.0, back_register=3.0,
    gudgeon_to_piston=75.0, piston=6.0, off=2.0, play=0.1,
)  # fmt: skip


def test_reach_is_where_the_slider_crank_turns_back():
    crank = np.linspace(0, 2 * math.pi, 200_001)
    places = gudgeon(pin(crank, 0.0, 0.0, 24.0), 180.0, line_y_mm=5.0).real
    assert reach(180.0, 24.0, 5.0) == pytest.approx((places.max(), places.min()), abs=1e-6)


def test_marks_by_hand():
    room = room_from_marks(121.0, 58.0, 90.0, 30.0)
    assert (room.front_mm, room.back_mm, room.least_mm) == (1.0, 2.0, 1.0)
    shared = rod_that_shares(121.0, 58.0, 90.0, 30.0)
    assert shared.rod_mm == pytest.approx(89.5)
    assert shared.change_mm == pytest.approx(-0.5)
    assert (shared.room.front_mm, shared.room.back_mm) == pytest.approx((1.5, 1.5))


@given(st.floats(10, 60), st.floats(2.2, 9), st.floats(-0.6, 0.6), st.floats(-3, 3), st.floats(0.0, 3))
def test_shared_rod_gives_the_same_room_at_both_ends(crank, ratio, off_part, shift, spare):
    rod, off = crank * ratio, off_part * crank
    assume(rod - crank - abs(off) > 2)
    front, back = reach(rod, crank, off)
    shared = rod_that_shares(front + spare + shift, back - spare + shift, rod, crank, off)
    assert shared.room.front_mm == pytest.approx(shared.room.back_mm, abs=1e-8)


def test_room_from_sizes_by_hand():
    room = room_from_sizes(STACK)
    front = (260 + 31 - 3) - (math.sqrt(204**2 - 4) + 75 + 6) - 0.1
    back = (math.sqrt(156**2 - 4) + 75) - (260 - 31 + 3) - 0.1
    assert (room.front_mm, room.back_mm) == pytest.approx((front, back))


def test_both_ways_of_finding_the_room_agree():
    """The marks are where the gudgeon stands with the piston on each cover."""
    stack = replace(STACK, play=0.0)
    front_mark = stack.middle + stack.length / 2 - stack.front_register - stack.piston - stack.gudgeon_to_piston
    back_mark = stack.middle - stack.length / 2 + stack.back_register - stack.gudgeon_to_piston
    marks = room_from_marks(front_mark, back_mark, stack.connecting_rod, stack.crank_radius, stack.off)
    assert marks.front_mm == pytest.approx(room_from_sizes(stack).front_mm)
    assert marks.back_mm == pytest.approx(room_from_sizes(stack).back_mm)


def test_rates_against_difference_quotients_and_the_worst_corner():
    sigma = {"connecting_rod": 0.05, "middle": 0.1, "piston": 0.02}
    way = {"connecting_rod": 0.1, "middle": 0.2, "piston": 0.04}
    front, back = find_ends(STACK, sigma, way)
    for end, pick in ((front, "front_mm"), (back, "back_mm")):
        for each in fields(PistonStack):
            high = replace(STACK, **{each.name: getattr(STACK, each.name) + 1e-5})
            low = replace(STACK, **{each.name: getattr(STACK, each.name) - 1e-5})
            slope = (getattr(room_from_sizes(high), pick) - getattr(room_from_sizes(low), pick)) / 2e-5
            assert end.rates.get(each.name, 0.0) == pytest.approx(slope, abs=1e-6)
        assert sum(share for _, share in end.shares) == pytest.approx(100.0)
    assert front.worst_mm == pytest.approx(front.room_mm - 0.1 - 0.2 - 0.04, abs=1e-3)
    assert back.worst_mm == pytest.approx(back.room_mm - 0.1 - 0.2, abs=1e-3)
    assert front.shares[0][0] == "middle"
    assert front.deviation_mm == pytest.approx(math.sqrt(0.05**2 + 0.1**2 + 0.02**2), rel=1e-3)


@pytest.mark.parametrize(
    ("wrong", "kind", "says"),
    [
        (lambda: reach(50.0, 0.0), OutOfRange, "crank radius"),
        (lambda: reach(50.0, 49.0, 2.0), OutOfRange, "connecting rod"),
        (lambda: reach(math.nan, 20.0), Refused, "not known"),
        (lambda: room_from_marks(50.0, 60.0, 90.0, 20.0), Refused, "front mark"),
        (lambda: replace(STACK, piston=0.0), OutOfRange, "piston"),
        (lambda: replace(STACK, play=-0.1), OutOfRange, "play"),
        (lambda: replace(STACK, middle=math.inf), Refused, "middle"),
        (lambda: find_ends(STACK, {"bore": 0.1}, {}), Refused, "known are"),
        (lambda: find_ends(STACK, {"piston": -0.1}, {}), OutOfRange, "0 mm"),
    ],
)
def test_what_cannot_be_is_refused(wrong, kind, says):
    with pytest.raises(kind, match=says):
        wrong()
