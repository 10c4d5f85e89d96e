"""The pictures of the gaps: nothing overlaps at phone or desk width, everything to scale."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.book.forms import form_of
from asmade.book.tables import read_design
from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.gaps import Element, Scene, carried, even_angles, fixed, gudgeon, least_gap, pin, sliding, turning
from asmade.motion.gaps.nearest import nearest_points, outlines_at
from asmade.reckon.shapes import Disc, rectangle
from asmade.show.side_view import MarkedPair, side_view
from asmade.show.strokes import Circle, Label, Line, Polyline, lay_out
from asmade.show.wheel_dress import wheel_dress
from asmade.show.width_stack import MOST_PX_PER_MM, StackGap, StackLayer, width_stack

LAYERS = (
    StackLayer("frame", 52.4, 55.6, 22, "3.18", made=True, cut=True),
    StackLayer("axlebox flange", 55.6, 59.9, 19, "4.37", made=True),
    StackLayer("wheel boss", 60.3, 74.6, 15, "14.29 made", made=True, cut=True),
    StackLayer("coupling rod", 74.7, 79.46, 9.5, "4.76"),
    StackLayer("pin cap", 79.7, 80.5, 6, "0.80"),
    StackLayer("crosshead", 80.81, 92.8, 12, "11.99", middle_mm=2.0),
)
GAPS = (
    StackGap(59.9, 60.3, "side play 0.40, wants 0.40", "holds"),
    StackGap(79.46, 79.7, "end float 0.24, wants 0.10 to 0.40", "close"),
    StackGap(80.5, 80.81, "gap 0.31, wants 0.60 each way", "fails"),
)


@pytest.mark.parametrize("width", [360, 900])
def test_width_stack_has_no_clash_and_is_to_scale(width):
    picture = lay_out(width_stack(LAYERS, GAPS), width, most_px_per_mm=MOST_PX_PER_MM)
    assert picture.clashes() == ()
    texts = [stroke.text for stroke in picture.strokes if isinstance(stroke, Label)]
    assert {"coupling rod 4.76", "✕ gap 0.31, wants 0.60 each way", "● side play 0.40, wants 0.40"} <= set(texts)
    boxes = [stroke.points for stroke in picture.strokes if isinstance(stroke, Polyline)]
    assert [box[1][0] - box[0][0] for box in boxes[:6]] == pytest.approx([a.outer_mm - a.inner_mm for a in LAYERS])


@settings(deadline=None, max_examples=25)
@given(st.lists(st.tuples(st.floats(0.4, 15), st.floats(0.0, 2), st.floats(3, 25)), min_size=1, max_size=9))
def test_any_width_stack_has_no_clash(rows):
    layers, gaps, at = [], [], 50.0
    for number, (wide, gap, high) in enumerate(rows):
        layers.append(StackLayer(f"layer {number}", at, at + wide, high, f"{wide:.2f}"))
        if gap > 0.05:
            gaps.append(StackGap(at + wide, at + wide + gap, f"gap {gap:.2f}", "close"))
        at += wide + gap
    for width in (360, 900):
        assert lay_out(width_stack(layers, gaps), width, most_px_per_mm=MOST_PX_PER_MM).clashes() == ()


def test_a_closed_gap_is_still_drawn():
    layers = (StackLayer("cap", 60, 66, 5), StackLayer("head", 65.5, 80, 12))
    strokes = width_stack(layers, (StackGap(66.0, 65.5, "gap −0.50", "fails"), StackGap(66.0, 66.0, "none", "fails")))
    assert lay_out(strokes, 360).clashes() == ()
    assert any(isinstance(stroke, Line) and stroke.look == "fail" for stroke in strokes)


CRANK = even_angles(72)


def scene():
    pins = pin(CRANK, 0.0, 0.0, 24.0)
    fore = pin(CRANK, 130.0, 0.0, 24.0)
    little = gudgeon(pins, 170.0)
    return Scene(
        (
            Element("wheel 1", "wheel 1", (Disc(0, 0, 48),), turning(CRANK, 130.0, 0.0), 50, 60),
            Element("wheel 2", "wheel 2", (Disc(0, 0, 48),), turning(CRANK, 0.0, 0.0), 50, 60),
            Element("coupling rod", "coupling rod", (rectangle(-130, -4, 0, 4), Disc(0, 0, 9), Disc(-130, 0, 9)), carried(fore, pins), 60, 65),
            Element("connecting rod", "connecting rod", (rectangle(-170, -5, 0, 5), Disc(0, 0, 8), Disc(-170, 0, 11)), carried(little, pins), 66, 73),
            Element("crosshead", "crosshead", (rectangle(-14, -12, 14, 12),), sliding(little), 70, 84),
            Element("lower bar", "lower bar", (rectangle(120, -22, 200, -16),), fixed(CRANK), 68, 86),
        ),
        CRANK,
    )  # fmt: skip


@pytest.mark.parametrize("width", [360, 900])
@pytest.mark.parametrize("side", ["L", "R"])
def test_side_view_has_no_clash_at_any_angle(width, side):
    for at in range(0, 72, 5):
        strokes = side_view(scene(), at, side=side, marked=MarkedPair("connecting rod", "lower bar", "2.31, wants 1.00", "holds"),
                            made=("wheel 1",), rail_y_mm=-48.0)  # fmt: skip
        assert lay_out(strokes, width).clashes() == ()


def test_the_front_is_to_the_right_on_the_right_and_to_the_left_on_the_left():
    right, left = (side_view(scene(), 10, side=side) for side in ("R", "L"))
    circles = [[s for s in strokes if isinstance(s, Circle)] for strokes in (right, left)]
    assert [c.x for c in circles[0]] == pytest.approx([-c.x for c in circles[1]])
    assert [c.x for c in circles[0]] == pytest.approx([130.0, 0.0])
    assert any(isinstance(s, Label) and "50°" in s.text for s in right)


SIZES = {"tread": 96.0, "rim": 6.0, "boss": 26.0, "bore": 16.0, "crank_radius": 24.0, "pin_boss": 17.0, "pin_hole": 6.0, "spoke_width": 5.0}  # fmt: skip


@pytest.mark.parametrize("spokes", [None, 11])
def test_wheels_are_dressed_and_go_round(spokes):
    """The pin hole stands on the crank pin at every angle, spokes keep within the rim."""
    entry = {
        "places": ["1"],
        "form": {"kind": "wheel"} | ({"spokes": spokes} if spokes else {}),
        "dim": {k: {"kind": "diameter"} for k in SIZES},
    }
    form = form_of(read_design({"book": {"drawing_unit": "mm"}, "part": {"wheel": entry}}).parts["wheel"])
    dress = wheel_dress(form, SIZES.__getitem__)
    arms = [stroke for stroke in dress if isinstance(stroke, Polyline) and not stroke.closed]
    assert len(arms) == (spokes or 0)
    assert all(math.hypot(x, y) < 42.1 for arm in arms for x, y in arm.points)
    at = 17
    plain, dressed = side_view(scene(), at), side_view(scene(), at, dress={"wheel 2": dress})
    assert len(dressed) == len(plain) + len(dress)
    pin_there = pin(CRANK, 0.0, 0.0, 24.0)[at]
    holes = [stroke for stroke in dressed if isinstance(stroke, Circle) and stroke.radius == 3.0]
    assert [(hole.x, hole.y) for hole in holes] == [pytest.approx((pin_there.real, pin_there.imag))]
    assert lay_out(dressed, 360).clashes() == ()


def test_a_carrying_wheel_has_a_round_boss():
    dims = {name: {"kind": "diameter"} for name in ("tread", "rim", "boss", "bore")}
    entry = {"places": ["1"], "form": {"kind": "wheel"}, "dim": dims}
    form = form_of(read_design({"book": {"drawing_unit": "mm"}, "part": {"wheel": entry}}).parts["wheel"])
    assert [stroke.radius for stroke in wheel_dress(form, SIZES.__getitem__)] == [42.0, 13.0, 8.0]


def test_nearest_points_are_as_far_apart_as_the_gap():
    whole = scene()
    one, other = whole.element("connecting rod"), whole.element("lower bar")
    found = least_gap(whole, one, other)
    at = round(math.degrees(found.at_rad) / 5)
    near = nearest_points(whole, "connecting rod", "lower bar", at)
    assert math.dist(near.one, near.other) == pytest.approx(found.plane_mm, abs=0.01)
    meeting = nearest_points(whole, "wheel 2", "coupling rod", 0)
    assert meeting.one == meeting.other


def test_outlines_at_an_angle_are_moved_not_bent():
    ((ring, holes),) = outlines_at(scene().element("connecting rod"), 13)
    ((still, _),) = outlines_at(scene().element("connecting rod"), 0)
    assert holes == ()
    assert shapely.area(shapely.polygons(ring)) == pytest.approx(shapely.area(shapely.polygons(still)))


def test_what_cannot_be_drawn_is_refused():
    with pytest.raises(Refused, match="no layers"):
        width_stack(())
    with pytest.raises(OutOfRange, match="cap"):
        StackLayer("cap", 5, 5, 3)
    with pytest.raises(OutOfRange, match="crank angle"):
        side_view(scene(), 72)
    with pytest.raises(OutOfRange, match="crank angle"):
        nearest_points(scene(), "wheel 1", "wheel 2", -1)
    with pytest.raises(Unknown, match="side"):
        side_view(scene(), 0, side="left")
    with pytest.raises(Unknown, match="element"):
        side_view(scene(), 0, marked=MarkedPair("wheel 1", "valance", "0", "holds"))
