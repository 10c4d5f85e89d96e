"""Sketches: text clear of text and of lines at every width, for every form of the demo and for turned parts at random.

Proportions are held to the sizes they come from; what stands on a sketch to the book.
"""

from __future__ import annotations

import itertools

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from asmade.book.text import read_text
from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.reckon.values import compute
from asmade.show.sketches import LEAST_PX, drawers, sketch_of, sketch_svg
from asmade.show.sketches.along import set_out
from asmade.show.strokes import LEAST_TEXT_PX, Circle, Label, Line, Polyline
from asmade.verbs.demo import demo_text
from asmade.verbs.sketch import FIGURES, sketch_in

WIDTHS = (348.0, 484.0, 720.0)
"""A phone of 360 px with its margins, A5 between margins (128 mm at 96 px to the inch), a page at the desk."""


@pytest.fixture(scope="module")
def engine(fold_text):
    build = fold_text(demo_text())
    return build, compute(build)


def bodies(build):
    return [part.name for part in build.design.parts.values() if part.form]


def words_of(picture):
    return [stroke.text for stroke in picture.strokes if isinstance(stroke, Label)]


def test_every_form_can_be_drawn():
    from asmade.book.forms import forms

    assert set(drawers()) == set(forms())


def test_every_body_of_the_demo_has_a_form(engine):
    build, _ = engine
    without = {p.name for p in build.design.parts.values() if not p.form and not p.assembled_from}
    assert without == {"cylinder_setting"}  # where the cylinder lies: set on the engine, nothing is cut


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_stands_on_anything_else(engine, width):
    build, values = engine
    clashes = {}
    for name in bodies(build):
        picture = sketch_of(sketch_in(build, values, name), width_px=width)
        if picture.clashes():
            clashes[name] = picture.clashes()
        sizes = [stroke.size_px for stroke in picture.strokes if isinstance(stroke, Label)]
        assert min(sizes) >= LEAST_TEXT_PX
    assert clashes == {}


@pytest.mark.parametrize("figures", [each for each in FIGURES if each != "best"])
def test_other_figures_stand_clear_too(engine, figures):
    build, values = engine
    names = [
        "axle",
        "wheel",
        "crank_pin_driving",
        "coupling_rod_rear",
        "axlebox",
        "frame",
        "rod_bush",
        "expansion_link",
    ]
    for name in names:
        assert sketch_of(sketch_in(build, values, name, figures=figures), width_px=348.0).clashes() == ()


def test_every_dimension_stands_on_the_sketch_or_under_it(engine):
    """Nothing of a part is left out: each figure is found among the labels."""
    build, values = engine
    for name in bodies(build):
        result = sketch_in(build, values, name)
        text = " ".join(words_of(sketch_of(result)))
        for figure in result.figures.values():
            for line in figure.lines:
                assert line.removeprefix("-") in text, f"{name}.{figure.name}"


@pytest.mark.parametrize(
    ("width", "part"), [(348.0, "axle"), (720.0, "axle"), (348.0, "crank_pin_driving"), (720.0, "buffer_stock")]
)
def test_a_turned_part_is_true_to_scale(engine, width, part):
    """Lengths of horizontal outline edges and their heights are in one ratio to the sizes they come from."""
    build, values = engine
    result = sketch_in(build, values, part)
    picture = sketch_of(result, width_px=width)
    tops = [s for s in picture.strokes if isinstance(s, Polyline) and s.look == "outline" and not s.closed]
    upper = max(tops, key=lambda s: max(y for _, y in s.points))
    height = 2 * (max(y for _, y in upper.points) - min(p for s in tops for _, p in s.points)) / 2
    length = upper.points[-1][0] - upper.points[0][0]
    box = result.envelope
    assert height / length == pytest.approx(box.height_mm / box.width_mm, rel=1e-6)


def test_a_made_figure_is_framed_and_a_drawn_one_has_a_ring(fold_text):
    build = fold_text("""
        [part.pin]
        places = ["1"]
        form = { kind = "turned", sections = ["seat"] }
        [part.pin.dim]
        seat.diameter = { kind = "shaft", drawn = "6 mm" }
        seat.length   = { kind = "length", drawn = "40 mm" }
        [[piece]]
        part = "pin"
        mark = "P1"
        place = "1"
        [[made]]
        piece = "pin#P1"
        dim = "seat.diameter"
        reading = "5.98"
        instrument = "mic"
        stage = "finished"
        """)
    picture = sketch_of(sketch_in(build, compute(build), "pin#P1"))
    frames = [s for s in picture.strokes if isinstance(s, Polyline) and s.closed and s.fill == "" and s.look == "thin"]
    rings = [s for s in picture.strokes if isinstance(s, Circle) and s.look == "thin" and s.fill == ""]
    made = next(box for box in picture.boxes if box.text == "Ø5.98")
    (frame,) = frames
    xs, ys = [x for x, _ in frame.points], [picture.top - y for _, y in frame.points]
    assert min(xs) < made.left < made.right < max(xs)
    assert min(ys) < made.bottom < max(ys) + 2
    assert len(rings) == 1  # the length is only drawn


def test_figures_asked_for(engine):
    build, values = engine
    drawn = sketch_in(build, values, "axle", figures="drawn")
    assert drawn.figures["seat_left.diameter"].lines == ("5/8 in",)
    aim = sketch_in(build, values, "axle", figures="aim")
    limits = [f for f in aim.figures.values() if f.state == "aim" and len(f.lines) == 2]
    assert limits
    assert all(float(f.lines[0]) >= float(f.lines[1]) for f in limits)  # the upper limit stands over the lower
    with pytest.raises(Unknown, match="best"):
        sketch_in(build, values, "axle", figures="bets")


def test_a_long_bar_is_broken_and_says_its_whole_length(engine):
    build, values = engine
    result = sketch_in(build, values, "handrail")
    assert "247.65" in " ".join(words_of(sketch_of(result, width_px=348.0)))
    way = set_out([10.0, 500.0, 8.0], room_px=300.0, high_mm=6.0, wanted_high_px=30.0, most_high_px=150.0,
                  plain=[False, True, False])  # fmt: skip
    assert [each.broken for each in way.stretches] == [False, True, False]
    assert way.length_px == pytest.approx(300.0)
    assert way.px(510.0) - way.px(500.0) == pytest.approx(10.0 * way.scale)  # near a break the scale is kept
    assert way.stretches[0].end_px == pytest.approx(10.0 * way.scale)


def test_too_narrow_is_refused(engine):
    build, values = engine
    with pytest.raises(OutOfRange, match="240"):
        sketch_of(sketch_in(build, values, "axle"), width_px=LEAST_PX - 1)


def test_svg_is_named_and_for_paper_in_mm(engine):
    build, values = engine
    result = sketch_in(build, values, "axle")
    assert 'aria-label="sketch of axle' in sketch_svg(result)
    assert "non-scaling-stroke" not in sketch_svg(result, width_mm=128, paper=True)


@pytest.mark.parametrize(
    ("form", "dims", "words"),
    [
        ("", 'a = { kind = "length", drawn = "5 mm" }', "no form"),
        ('form = { kind = "turned" }', 'diameter = { kind = "shaft", drawn = "5 mm" }', "no dimension says it"),
        ('form = { kind = "casting" }', 'a = { kind = "length", drawn = "5 mm" }', "finished"),
    ],
    ids=["no form", "a length lacking", "a casting of nothing"],
)  # fmt: skip
def test_what_cannot_be_drawn_is_named_with_the_way_out(fold_text, form, dims, words):
    build = fold_text(f'[part.pin]\nplaces = ["1"]\n{form}\n[part.pin.dim]\n{dims}\n')
    with pytest.raises(Refused, match=words) as fault:
        sketch_in(build, compute(build), "pin")
    assert fault.value.way_out


SECTION = st.tuples(
    st.floats(0.2, 120.0), st.floats(0.3, 60.0), st.sampled_from(["round", "hexagon", "square", "thread", "groove"])
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    sections=st.lists(SECTION, min_size=1, max_size=20),
    bore=st.sampled_from(["", "through", "left", "right"]),
    width=st.sampled_from([LEAST_PX, 348.0, 720.0]),
)
def test_turned_parts_at_random_stand_clear(sections, bore, width):
    """Very short, very long, tiny diameters, 20 sections: no text on text, none on a line, all inside the picture."""
    dims, rows = [], []
    for at, (length, diameter, sort) in enumerate(sections):
        if sort == "thread":
            dims += [f's{at}.callout = {{ kind = "thread", drawn = "M6", sex = "male" }}']
        elif sort in ("hexagon", "square"):
            dims += [f's{at}.across_flats = {{ kind = "across flats", drawn = "{diameter:.2f} mm" }}']
        else:
            dims += [f's{at}.diameter = {{ kind = "shaft", drawn = "{diameter:.2f} mm" }}']
        if sort == "groove":
            dims += [
                f's{at}.groove.width = {{ kind = "slot", drawn = "{0.3 * length:.3f} mm" }}',
                f's{at}.groove.diameter = {{ kind = "diameter", drawn = "{0.9 * diameter:.3f} mm" }}',
            ]
        dims += [f's{at}.length = {{ kind = "length", drawn = "{length:.2f} mm" }}']
        shape = sort if sort in ("hexagon", "square") else "round"
        rows.append(f'{{ name = "s{at}", shape = "{shape}" }}')
    ends = ""
    if bore:
        least = min([6.0, *(diameter for _, diameter, _ in sections)])
        dims += [f'hole = {{ kind = "bore", drawn = "{0.4 * least:.3f} mm" }}']
        if bore == "through":
            ends = ', ends = { left = [{ name = "hole" }] }'
        else:
            dims += [f'hole_depth = {{ kind = "depth", drawn = "{0.5 * sum(x for x, _, _ in sections):.2f} mm" }}']
            ends = f', ends = {{ {bore} = [{{ name = "hole", depth = "hole_depth" }}] }}'
    text = (
        '[part.pin]\nplaces = ["1"]\nmaterial = "brass"\n'
        f'form = {{ kind = "turned", sections = [{", ".join(rows)}]{ends} }}\n[part.pin.dim]\n' + "\n".join(dims)
    )
    build = folded(text)
    picture = sketch_of(sketch_in(build, compute(build), "pin"), width_px=width)
    assert picture.clashes() == ()


def folded(text):
    from dataclasses import replace

    from asmade.book.fold import fold

    head = '[book]\ntitle = "a pin"\ndrawing_unit = "mm"\n'
    return fold([replace(draft, number=n) for n, draft in enumerate(read_text(head + text), start=1)])


def test_leaders_never_cross(engine):
    """Of any two leaders of one row of notes neither crosses the other: posts stand in the order of their feet."""
    from asmade.show.sketches.drawing import Drawing, Written
    from asmade.show.sketches.flags import Flag, raise_flags

    drawing = Drawing()
    flags = [Flag(x, 0.0, Written((f"{x:.0f} mm",), 11.0)) for x in (3, 5, 40, 41, 42, 90, 200, 201, 202, 203)]
    raise_flags(drawing, flags, left=0.0, right=240.0, base=10.0, up=True)
    leaders = [s for s in drawing.strokes if isinstance(s, Polyline) and not s.closed and len(s.points) == 4]
    assert len(leaders) == len(flags)
    import shapely

    lines = [shapely.LineString(each.points) for each in leaders]
    assert not any(one.crosses(two) for one, two in itertools.combinations(lines, 2))
    assert isinstance(drawing.strokes[0], Line | Polyline)
