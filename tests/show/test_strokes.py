"""Strokes: measured text, pictures that fit their width, clashes that are found, clean SVG."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.show.strokes import (
    LOOKS,
    Arc,
    Circle,
    Dimension,
    Hatch,
    Label,
    Leader,
    Line,
    Polyline,
    lay_out,
    shifted,
    svg,
    width_of,
)

SQUARE = Polyline(((0, 0), (60, 0), (60, 20), (0, 20)), closed=True)
SVG = "{http://www.w3.org/2000/svg}"


def read(text):
    return ET.fromstring(text)  # noqa: S314  # our own output


def test_text_is_measured_by_the_face():
    """Advance widths of DejaVu Sans 2.37, table hmtx: H 0.752, i 0.278; DejaVu Sans Mono 0.602."""
    assert width_of("H", 100) == pytest.approx(75.2)
    assert width_of("Hi", 100) == pytest.approx(75.2 + 27.8)
    assert width_of("12.34", 100, figure=True) == pytest.approx(5 * 60.2)
    assert width_of("-", 100) == pytest.approx(36.1)
    assert width_of("☃", 10) == 10.0  # a sign that is not listed counts as a full square
    assert width_of("H", 100, strong=True) > 75.2


@pytest.mark.parametrize("width", [360, 720, 1200])
def test_a_picture_fills_its_width_and_no_more(width):
    picture = lay_out([SQUARE, Label("a good long note beside it", 60, 10, anchor="start", dx_px=6)], width)
    assert picture.width_px == width
    right = max(box.right for box in picture.boxes)
    assert right == pytest.approx(width - 6, abs=1.5)
    assert picture.clashes() == ()


def test_text_that_hangs_over_at_both_ends_still_fits():
    """Too small a scale makes such a picture wide again; the greatest that fits is taken."""
    notes = [Leader(20, 0, 20, 5, "a note that runs a good way right"), Leader(50, 0, 50, 8, "one that runs a good way left", anchor="end", dy_px=20)]  # fmt: skip
    picture = lay_out([SQUARE, *notes], 300)
    assert min(box.left for box in picture.boxes) >= 5.5
    assert max(box.right for box in picture.boxes) <= 294.5


def test_text_that_cannot_fit_is_refused_with_the_width_it_needs():
    with pytest.raises(OutOfRange, match="px or more"):
        lay_out([SQUARE, Label("a very long note " * 5, 0, 0)], 200)


def test_the_greatest_scale_may_be_given():
    picture = lay_out([SQUARE], 2000, most_px_per_mm=9)
    assert picture.scale == 9
    text = svg([SQUARE], width_px=2000, most_px_per_mm=9)
    left, _, width, _ = map(float, read(text).get("viewBox").split())
    assert left + width / 2 == pytest.approx(30, abs=0.1)  # it stands in the middle


def test_clashes_are_found():
    close = [SQUARE, Label("one", 30, 10), Label("other", 31, 10)]
    assert any("'one' overlaps 'other'" in each for each in lay_out(close, 360).clashes())
    on_edge = [SQUARE, Label("note", 30, 20)]
    assert any("stands on a line" in each for each in lay_out(on_edge, 360).clashes())
    allowed = [SQUARE, Label("note", 30, 20, over=("outline",))]
    assert lay_out(allowed, 360).clashes() == ()
    hatch = Hatch(SQUARE.points)
    assert any("soft" in each for each in lay_out([SQUARE, hatch, Label("note", 30, 10)], 360).clashes())
    assert lay_out([SQUARE, hatch, Label("note", 30, 10, paper=True)], 360).clashes() == ()
    assert lay_out(
        [Label("note", 30, 10, paper=True), SQUARE, hatch], 360
    ).clashes()  # a ground drawn first hides nothing
    inside_circle = [Circle(0, 0, 20), Label("in it", 0, 0)]
    assert lay_out(inside_circle, 360).clashes() == ()
    assert lay_out([Circle(0, 0, 20), Label("on it", 20, 0)], 360).clashes()
    assert lay_out([Arc(0, 0, 20, -1, 1), Label("on it", 20, 0)], 360).clashes()
    assert not lay_out([Arc(0, 0, 20, 1, 2), Label("off it", 20, 0)], 360).clashes()


@settings(deadline=None, max_examples=60)
@given(
    st.floats(1, 300), st.floats(1, 100), st.floats(0, 360), st.sampled_from(["x", "y", ""]),
    st.sampled_from([-30.0, 24.0, 40.0]), st.sampled_from(["4.76", "1 3/16 in", "12.700 made"]), st.sampled_from([360, 900]),
)  # fmt: skip
def test_a_dimension_never_runs_through_its_own_figure(long, high, turn, along, away, text, width):
    """Its own lines count too: extension lines, dimension line, arrows."""
    dx, dy = long * math.cos(math.radians(turn)), long * math.sin(math.radians(turn))
    if along == "x" and abs(dx) < 0.5:
        dx = 0.5
    if along == "y" and abs(dy) < 0.5:
        dy = 0.5
    frame = Polyline(((-400, -400), (400, -400)), "thin")
    picture = lay_out([frame, Dimension(0, 0, dx, dy, text, away_px=away, along=along)], width)
    assert picture.clashes() == ()


def test_dimension_figures_stand_above_level_lines_and_outside_small_ones():
    wide = lay_out([SQUARE, Dimension(0, 20, 60, 20, "60.00")], 500)
    (label,) = [stroke for stroke in wide.strokes if isinstance(stroke, Label)]
    assert label.dy_px > 6
    assert not label.turned
    small = lay_out([SQUARE, Dimension(20, 20, 22, 20, "2.00")], 360)
    (label,) = [stroke for stroke in small.strokes if isinstance(stroke, Label)]
    assert label.x == pytest.approx(22)
    assert label.dx_px > 20
    upright = lay_out([SQUARE, Dimension(60, 0, 60, 20, "20.00", away_px=-24)], 500)
    (label,) = [stroke for stroke in upright.strokes if isinstance(stroke, Label)]
    assert label.turned
    assert upright.clashes() == ()


def test_svg_is_well_formed_and_plain():
    strokes = [
        SQUARE, Circle(30, 10, 5, fill="tint"), Arc(30, 10, 8, 0.2, 4.5, "thin"), Line(0, 10, 60, 10, "centre"),
        Hatch(((0, 0), (10, 0), (0, 10))), Dimension(0, 20, 60, 20, "Ø60 ±0.02"), Label("rod & <pin>", 30, -5, strong=True),
        Polyline(((0, 0), (9, 0), (9, 9), (0, 9)), closed=True, fill="deep", openings=(((2, 2), (4, 2), (4, 4)),)),
    ]  # fmt: skip
    text = svg(strokes, width_px=360, title='a "rod" & pin')
    root = read(text)
    assert root.tag == SVG + "svg"
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'a "rod" & pin'
    assert root.find(SVG + "title").text == 'a "rod" & pin'
    assert "rod & <pin>" in [each.text for each in root.iter(SVG + "text")]
    assert "style" not in text
    assert "script" not in text
    for tag in ("line", "circle", "path"):
        assert all(each.get("vector-effect") == "non-scaling-stroke" for each in root.iter(SVG + tag))
    classes = {name for group in root.iter(SVG + "g") for name in group.get("class", "").split()}
    assert {"outline", "thin", "centre", "soft", "label", "figure", "fill-tint"} <= classes
    left, top, width, height = map(float, root.get("viewBox").split())
    assert width / height == pytest.approx(float(root.get("width")) / float(root.get("height")), rel=0.01)
    assert left < 0 < left + width
    assert top < 0 < top + height


def test_no_text_is_under_eleven_px_at_the_width_drawn_for():
    text = svg([SQUARE, Dimension(0, 20, 60, 20, "60"), Label("note", 30, 10, size_px=11)], width_px=360)
    root = read(text)
    scale = 360 / float(root.get("viewBox").split()[2])
    sizes = [float(group.get("font-size")) * scale for group in root.iter(SVG + "g") if group.get("font-size")]
    assert sizes
    assert min(sizes) >= 10.95
    with pytest.raises(OutOfRange, match="11 px"):
        Label("note", 0, 0, size_px=10)
    with pytest.raises(OutOfRange, match="11 px"):
        Dimension(0, 0, 1, 0, "1", size_px=9)
    with pytest.raises(OutOfRange, match="11 px"):
        Leader(0, 0, 1, 0, "1", size_px=9)


def test_hairlines_for_paper_have_their_width_in_mm_at_the_size_drawn():
    text = svg([SQUARE], width_px=720, hairlines="paper")
    assert "vector-effect" not in text
    scale = 720 / float(read(text).get("viewBox").split()[2])
    widths = [float(found) for found in re.findall(r'stroke-width="([\d.]+)"', text)]
    assert widths == [pytest.approx(LOOKS["outline"].width_px / scale, rel=0.02)]


@pytest.mark.parametrize("factor", [1e-4, 1.0, 1e4])
def test_small_and_large_things_keep_their_corners(factor):
    ring = tuple((x * factor, y * factor) for x, y in SQUARE.points)
    root = read(svg([Polyline(ring, closed=True)], width_px=360))
    path = next(root.iter(SVG + "path")).get("d")
    numbers = [float(each) for each in re.findall(r"-?[\d.]+", path)]
    scale = 360 / float(root.get("viewBox").split()[2])
    assert numbers[::2] == pytest.approx([x for x, _ in ring], abs=0.02 / scale)


def test_hatch_lines_lie_within_the_outline_and_apart():
    ring = ((0, 0), (40, 0), (40, 30), (20, 10), (0, 30))
    picture = lay_out([Polyline(ring, closed=True), Hatch(ring, spacing_px=8)], 400)
    lines = [stroke for stroke in picture.strokes if isinstance(stroke, Line)]
    assert len(lines) > 10
    import shapely

    outline = shapely.polygons(ring).buffer(1e-6)
    for line in lines:
        assert shapely.covers(outline, shapely.linestrings([(line.x1, line.y1), (line.x2, line.y2)]))
    offs = sorted({round((line.y1 - line.x1) / math.sqrt(2), 6) for line in lines})
    gaps = [b - a for a, b in pairwise(offs)]
    assert min(gaps) == pytest.approx(8 / picture.scale, rel=1e-3)


def test_an_arc_is_drawn_the_right_way_round():
    """From the right over the top to the left, y up: in SVG, y down, with the sweep flag 0."""
    path = next(read(svg([Arc(0, 0, 10, 0.0, math.pi * 0.9)], width_px=100)).iter(SVG + "path")).get("d")
    assert path.startswith("M10 0A10 10 0 0 0 -9.5")
    picture = lay_out([Arc(0, 0, 10, 0.0, math.pi * 0.9)], 100)
    assert picture.top > 9.9  # its top is in the picture


def test_moved_strokes():
    strokes = [SQUARE, Line(0, 0, 1, 1), Label("a", 0, 0), Circle(0, 0, 1), Arc(0, 0, 1, 0, 1), Hatch(SQUARE.points),
               Dimension(0, 0, 1, 0, "1"), Leader(0, 0, 1, 1, "b")]  # fmt: skip
    there = shifted(strokes, 5, -2)
    assert there[0].points[0] == (5, -2)
    assert (there[1].x2, there[1].y2) == (6, -1)
    assert (there[2].x, there[3].y, there[4].x, there[5].points[1]) == (5, -2, 5, (65, -2))
    assert (there[6].x1, there[7].y2) == (5, -1)
    assert shifted(there, -5, 2) == tuple(strokes)


@pytest.mark.parametrize(
    ("wrong", "kind", "says"),
    [
        (lambda: Line(0, math.nan, 1, 1), Refused, "y1"),
        (lambda: Polyline(((0, 0), (math.inf, 1))), Refused, "points"),
        (lambda: Polyline(((0, 0),)), Refused, "two corners"),
        (lambda: Line(0, 0, 1, 1, "dashed"), Unknown, "hidden"),
        (lambda: Circle(0, 0, 1, fill="blue"), Unknown, "tint"),
        (lambda: Circle(0, 0, 0), OutOfRange, "circle"),
        (lambda: Arc(0, 0, 1, 1, 1), OutOfRange, "arc"),
        (lambda: Arc(0, 0, -1, 0, 1), OutOfRange, "arc"),
        (lambda: Label("  ", 0, 0), Refused, "one line"),
        (lambda: Label("a\nb", 0, 0), Refused, "one line"),
        (lambda: Dimension(1, 1, 1, 5, "4", along="x"), OutOfRange, "length"),
        (lambda: Hatch(((0, 0), (1, 1))), Refused, "three corners"),
        (lambda: Hatch(SQUARE.points, spacing_px=1), OutOfRange, "2 px"),
        (lambda: lay_out([], 300), Refused, "nothing"),
        (lambda: lay_out([SQUARE], 5), OutOfRange, "12 px"),
        (lambda: lay_out([SQUARE], math.nan), OutOfRange, "12 px"),
    ],
)
def test_what_cannot_be_drawn_is_refused(wrong, kind, says):
    with pytest.raises(kind, match=says):
        wrong()
