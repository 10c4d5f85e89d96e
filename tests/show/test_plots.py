"""Plots and the moving drawing: figures that can be read at every width, groups that stand where the tracks say."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from asmade.measure.errors import OutOfRange
from asmade.reckon.values import compute
from asmade.show.board_picture import Mark, board_svg, drawn_side
from asmade.show.plots import Axes, Plot, plot_svg, ticks
from asmade.show.plots_gap import gap_plot
from asmade.show.plots_slack import slack_plot
from asmade.show.plots_valves import Curve, differences_plot, opening_over_stroke, openings_plot, oval_plot, polar_plot
from asmade.show.strokes import Line, lay_out
from asmade.verbs import demo, store
from asmade.verbs.gap_turn import gap_over_turn
from asmade.verbs.gaps import gaps_of
from asmade.verbs.motion_frames import frames_of
from asmade.verbs.valves import gears_of
from asmade.verbs.wheels import wheels_of

WIDTHS = (300.0, 480.0, 900.0)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def build(tmp_path_factory):
    return store.read_build(demo.demo(tmp_path_factory.mktemp("plots")).path)


@pytest.fixture(scope="module")
def frames(build):
    return frames_of(compute(build))


@pytest.fixture(scope="module")
def curves(build):
    best, drawn = gears_of(build, "best"), gears_of(build, "drawn")
    return [Curve(f"{name} {g.which}", side) for g in (best, drawn) for name, side in g.engine.sides()]


@pytest.fixture(scope="module", params=["free", "blocked"])
def wheels(build, request):
    return wheels_of(build, boxes=request.param, samples=50)


def read(text):
    return ET.fromstring(text)  # noqa: S314  # our own text


def clashes(plot, width):
    return lay_out(plot.strokes, width, margin_px=6.0, most_px_per_mm=1.0).clashes()


def test_ticks_are_round_and_within():
    assert ticks(0.0, 1.0, 5) == ((0.0, "0.0"), (0.2, "0.2"), (0.4, "0.4"), (0.6000000000000001, "0.6"), (0.8, "0.8"),
                                  (1.0, "1.0"))  # fmt: skip
    assert [text for _, text in ticks(-0.017, 0.041, 4)] == ["0.00", "0.02", "0.04"]
    assert [text for _, text in ticks(0, 360, 4)] == ["0", "100", "200", "300"]
    for low, high in ((0.0, 1e-4), (-3.0, 7.5), (100.0, 1e5)):
        found = ticks(low, high, 6)
        assert 2 <= len(found) <= 8
        assert all(low - 1e-9 <= value <= high + 1e-9 for value, _ in found)
    with pytest.raises(OutOfRange):
        ticks(1.0, 1.0)


def test_axes_go_from_edge_to_edge():
    axes = Axes(10.0, 0.0, 110.0, 50.0, 0.0, 360.0, -1.0, 1.0)
    assert (axes.x(0.0), axes.x(180.0), axes.x(360.0)) == (10.0, 60.0, 110.0)
    assert (axes.y(-1.0), axes.y(0.0), axes.y(1.0)) == (0.0, 25.0, 50.0)
    with pytest.raises(OutOfRange):
        Axes(10.0, 0.0, 10.0, 50.0, 0.0, 1.0, 0.0, 1.0)


def test_a_mark_stands_where_it_is_asked_for():
    axes = Axes(10.0, 0.0, 110.0, 50.0, 0.0, 360.0, 0.0, 1.0)
    text = plot_svg(Plot((Line(0, 0, 120, 0),), axes), width_px=160, title="t", at=0.25)
    assert re.search(r'class="cursor" data-from="10.00" data-to="110.00" transform="translate\(35.00 0\)"', text)
    read(text)
    assert "cursor" not in plot_svg(Plot((Line(0, 0, 120, 0),)), width_px=160, title="t", at=0.25)


@pytest.mark.parametrize("width", WIDTHS)
def test_figures_of_the_slack_can_be_read(wheels, width):
    assert clashes(slack_plot(wheels, width), width) == ()


@pytest.mark.parametrize("width", WIDTHS)
def test_figures_of_the_gaps_can_be_read(build, width):
    result = gaps_of(build, angles=180)
    for side in result.sides:
        for pair in side.pairs:
            assert clashes(gap_plot(pair, gap_over_turn(side, pair), width), width) == ()


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("position", [1.0, 0.25, 0.0, -1.0])
def test_figures_of_the_valve_diagrams_can_be_read(curves, width, position):
    for plot in (
        oval_plot(curves, position, width), openings_plot(curves, position, 0, width),
        openings_plot(curves, position, 1, width), differences_plot(curves, position, width),
        polar_plot(curves, position, width),
    ):  # fmt: skip
        assert [c for c in clashes(plot, width) if "overlaps" in c or "edge" in c] == []


def test_an_opening_is_the_lead_at_the_dead_centre_and_shut_at_its_cut_off(build, curves):
    """Steam is admitted from the lead on, and cut off where the events say."""
    from asmade.motion.valves.report import engine_events

    engine = gears_of(build, "best").engine
    row = next(r for r in engine_events(engine, (1.0,)).positions if r.side == "R")
    for number, end in enumerate(row.ends):
        found = opening_over_stroke(curves[0].side, 1.0, number)
        assert found.opening_mm[0] == pytest.approx(end.lead_mm, abs=0.01)
        last = found.curve_per_cent[np.flatnonzero(found.curve_mm > 0)[-1]]
        assert last == pytest.approx(end.cutoff.per_cent, abs=1.0)
        assert found.opening_mm.max() == pytest.approx(end.port_opening_mm, abs=0.02)


# ---------------------------------------------------------------------- the moving drawing
@pytest.mark.parametrize("side", ["R", "L"])
def test_every_body_is_a_group_that_stands_where_its_track_says(frames, side):
    drawing = drawn_side(frames, side)
    root = read(board_svg(drawing, crank_deg=97.0, position=0.5, title="Running gear"))
    groups = [g for g in root.iter(f"{SVG}g") if "data-track" in g.attrib]
    bodies = frames.side(side).bodies
    assert [g.get("data-body") for g in groups] == [body.name for body in bodies]
    for at, (group, body) in enumerate(zip(groups, bodies, strict=True)):
        assert group.get("data-track") == str(at)
        x, y, turn = body.track.at(frames.row_of(0.5), 97.0 / 360)
        told = [float(v) for v in re.findall(r"-?\d+(?:\.\d+)?", group.get("transform"))]
        assert told == pytest.approx([x, -y, -turn], abs=0.006)
        assert len(list(group)) > 1
    gear = next(g for g in root.iter(f"{SVG}g") if g.get("class") == "gear")
    assert gear.get("transform") == ("scale(-1 1)" if side == "L" else None)
    assert gear.get("aria-label") == "Running gear"


def test_everything_stays_within_what_is_shown(frames):
    drawing = drawn_side(frames, "R")
    frame = drawing.frame
    for name, strokes in drawing.bodies.items():
        body = next(b for b in drawing.side.bodies if b.name == name)
        for part in np.linspace(0, 1, 25):
            x, y, _ = body.track.at(0.0, float(part))
            assert frame.left - 1 <= x <= frame.right + 1, name
            assert frame.bottom - 1 <= y <= frame.top + 1, name
        assert strokes


def test_marks_do_not_overlap_at_any_width(frames):
    names = [body.name for body in frames.side("R").bodies][:14]
    marks = [Mark(str(n), name, "close", f"#f{n}") for n, name in enumerate(names, start=1)]
    root = read(board_svg(drawn_side(frames, "R"), crank_deg=0.0, position=1.0, marks=marks))
    for layer in (g for g in root.iter(f"{SVG}g") if (g.get("class") or "").startswith("laid")):
        boxes = [[float(r.get(k)) for k in ("x", "y", "width", "height")] for r in layer.iter(f"{SVG}rect")]
        assert len(boxes) == len(marks)
        for at, (x, y, w, h) in enumerate(boxes):
            for ox, oy, ow, oh in boxes[at + 1 :]:
                assert x + w <= ox or ox + ow <= x or y + h <= oy or oy + oh <= y


def test_names_are_escaped_and_an_angle_must_be_a_number(frames):
    drawing = drawn_side(frames, "R")
    text = board_svg(drawing, crank_deg=0, position=1, title='<b> & "c"', marks=[Mark("1", "wheel 1", "fails", '"><x')])
    assert "<b>" not in text
    read(text)
    with pytest.raises(OutOfRange):
        board_svg(drawing, crank_deg=math.nan, position=1)
