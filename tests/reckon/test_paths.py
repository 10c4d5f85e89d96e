"""Closed paths of straights and arcs: areas against closed forms and shapely, paths beside them against its buffer."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.shapes.paths import Rounded, arc_of, circle, parallel, ring, rod_outline, rounded, slot
from asmade.reckon.shapes.pieces import ring_area

FINE_MM = 1e-5


def polygon(path):
    return shapely.polygons(ring(path, FINE_MM))


def test_a_circle_a_slot_and_a_rounded_square_have_their_areas():
    """Closed forms: pi r2; length x width + pi w2/4; side2 - (4 - pi) r2."""
    assert polygon(circle(1.0, 2.0, 5.0)).area == pytest.approx(25 * math.pi, rel=1e-6)
    assert polygon(slot(0, 0, 10, 0, 4)).area == pytest.approx(40 + 4 * math.pi, rel=1e-6)
    square = rounded([Rounded(0, 0, 2), Rounded(10, 0, 2), Rounded(10, 10, 2), Rounded(0, 10, 2)], "square")
    assert polygon(square).area == pytest.approx(100 - (4 - math.pi) * 4, rel=1e-6)


def test_a_curved_slot_is_the_buffer_of_its_arc():
    """The centre lies to the left of the way; the band of shapely about the same arc."""
    radius, half = 50.0, math.asin(0.1)
    middle = [
        (radius * math.cos(a) - radius * math.cos(half), radius * math.sin(a)) for a in np.linspace(-half, half, 4000)
    ]
    want = shapely.LineString(middle).buffer(2.0, quad_segs=200)
    assert polygon(slot(0, -5, 0, 5, 4.0, radius)).symmetric_difference(want).area < 1e-3


@given(st.floats(0.02, 1.5), st.booleans())
def test_a_path_beside_is_the_buffer(out, inside):
    corners = [
        Rounded(0, 0, 2), Rounded(20, 0, 2), Rounded(20, 10, 3), Rounded(13, 10), Rounded(13, 5, 0.5), Rounded(7, 5, 0.5),
        Rounded(7, 10), Rounded(0, 10, 4),
    ]  # fmt: skip
    away = -out if inside else out
    whole = polygon(rounded(corners, "piece"))
    want = whole.buffer(away, quad_segs=100)
    got = polygon(rounded(parallel(corners, away), "piece"))
    assert got.symmetric_difference(want).area < 4e-3 * out + 1e-3


@settings(max_examples=30)
@given(
    eyes=st.lists(st.tuples(st.integers(0, 150), st.floats(3, 12)), min_size=2, max_size=4, unique_by=lambda e: e[0]),
    fore=st.floats(1, 3),
    aft=st.floats(1, 3),
    out=st.just(0.0) | st.floats(0.01, 1),
)
def test_a_rod_is_its_bosses_and_its_bar(eyes, fore, aft, out):
    """Against shapely's union of the discs and the bar, each moved out by as much."""
    back, front = min(x for x, _ in eyes), max(x for x, _ in eyes)
    bar = shapely.Polygon([(back, -aft), (front, -fore), (front, fore), (back, aft)])
    pieces = [shapely.Point(x, 0).buffer(r + out, quad_segs=200) for x, r in eyes]
    want = shapely.union_all([*pieces, bar.buffer(out, quad_segs=100)])
    path = rod_outline(eyes, (aft, fore), out)
    got = shapely.set_precision(polygon(path), 1e-7)
    assert ring_area(ring(path)) > 0  # anticlockwise
    assert got.symmetric_difference(want).area < 2e-4 * want.area + 0.02


def test_an_arc_from_its_bulge():
    """A half turn from (0, 0) to (2, 0), bulge 1: centre (1, 0), radius 1, below the line (anticlockwise)."""
    one, two = circle(1.0, 0.0, 1.0)
    x, y, radius, start, turn = arc_of(one, two)
    assert (x, y, radius, turn) == pytest.approx((1.0, 0.0, 1.0, math.pi))
    assert abs(start) == pytest.approx(math.pi)


def test_what_cannot_be_is_named():
    with pytest.raises(OutOfRange, match="radius of a corner of plate"):
        rounded([Rounded(0, 0, 6), Rounded(10, 0, 6), Rounded(10, 10), Rounded(0, 10)], "plate")
    with pytest.raises(OutOfRange, match="curved slot"):
        slot(0, 0, 10, 0, 4, 1.0)
    with pytest.raises(Refused, match="vanishes"):
        parallel([Rounded(0, 0), Rounded(10, 0), Rounded(10, 1), Rounded(0, 1)], -0.6)
