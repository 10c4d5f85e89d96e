"""Pictures of the valve gear: they show what the sums say, and no text stands on another or on a line."""

from __future__ import annotations

import math

import pytest

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.bindings.valve_sweeps import envelopes
from asmade.motion.gears import gear, gears
from asmade.motion.valves.engine import Side, Valve
from asmade.motion.valves.events import events
from asmade.motion.valves.setting import set_valve
from asmade.show.strokes import Label, Line, Polyline, lay_out, svg
from asmade.show.valve_pictures import DRAWN, WIDE, strokes_of
from asmade.verbs.valves import gears_of

WIDTHS = (360, 720)


def a_side(name: str) -> Side:
    """An invented gear of a kind with a lap that leaves 0.2 mm of lead."""
    example = gear(name).example()
    at = gear(name).move(example, [0.0, math.pi], 1.0).place("valve")[0, :, 0]
    lap = 0.5 * abs(float(at[1] - at[0])) - 0.2
    return set_valve(Side(example, Valve.alike("outside", lap=lap, exhaust_lap=0.1, port=1.3 * lap)))


@pytest.fixture(scope="module")
def demo(fold_text, gear_text):
    return gears_of(fold_text(gear_text), "drawn")


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("side", ["R", "L"])
@pytest.mark.parametrize("name", DRAWN)
def test_no_text_stands_on_another_or_runs_over_the_edge(demo, name, side, width):
    picture = lay_out(strokes_of(demo, name, side=side), width)
    assert picture.clashes() == ()
    assert 0.2 < picture.height_px / picture.width_px < 1.5
    assert svg(picture).startswith("<svg")


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("kind", sorted(gears()))
@pytest.mark.parametrize("name", DRAWN)
def test_every_gear_has_every_picture(kind, name, width):
    drawn = DRAWN[name](a_side(kind), (), 60.0, 1.0, "right side, drawn sizes")
    assert lay_out(drawn, width).clashes() == ()


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("kind", sorted(gears()))
def test_every_gear_at_any_angle(kind, width):
    side = a_side(kind)
    for crank in range(0, 360, 45):
        for position in gear(kind).positions(side.gear.choices) or (1.0, 0.0, -1.0):
            drawn = DRAWN["gear"](side, (position,), float(crank), 1.0, "right side, drawn sizes")
            assert lay_out(drawn, width).clashes() == (), (crank, position)


def test_slots_are_arcs_about_their_own_centre():
    """Walschaerts: centre ahead, at the radius rod's end; Stephenson: towards the axle. Every corner at the radius."""
    for kind, ahead in (("walschaerts", True), ("stephenson", False)):
        side = a_side(kind)
        radius = float(side.gear["slot_radius"])
        motion = gear(kind).move(side.gear, math.radians(60.0), 1.0)
        centre = complex(motion.place("slot centre")[0, 0, 0])
        drawn = DRAWN["gear"](side, (1.0,), 60.0, 1.0, "head")
        (slot,) = (s for s in drawn if isinstance(s, Polyline) and s.look == "bold")
        assert [abs(complex(*p) - centre) for p in slot.points] == pytest.approx([radius] * 25)
        assert (centre.real > slot.points[12][0]) == ahead


def test_the_oval_reaches_to_half_the_travel_and_crosses_the_laps_at_the_cut_offs(demo):
    side = demo.engine.right
    found = events(side, (1.0,), details=False)
    strokes = DRAWN["oval"](side, (1.0,), 0.0, 1.0, "head")
    (curve,) = (s for s in strokes if isinstance(s, Polyline) and s.look == "bold")
    laps = sorted(s.y1 for s in strokes if isinstance(s, Line) and s.look == "hidden" and s.x2 - s.x1 == WIDE)
    tall = max(y for _, y in curve.points) - min(y for _, y in curve.points)
    per_mm = (laps[1] - laps[0]) / (2 * 25.4 * 7 / 64)
    assert tall / per_mm == pytest.approx(float(found.travel[0, 0]), rel=1e-3)
    # back cut-off: the curve comes down through the upper lap line that far from the back end
    crossings = [
        x1 + (laps[1] - y1) / (y2 - y1) * (x2 - x1)
        for (x1, y1), (x2, y2) in zip(curve.points, curve.points[1:], strict=False)
        if (y1 - laps[1]) * (y2 - laps[1]) < 0
    ]
    assert min(abs(x - float(found.cutoff.per_cent[0, 1, 0])) for x in crossings) < 0.1


def test_openings_end_at_the_cut_offs(demo):
    side = demo.engine.right
    found = events(side, (0.5,), details=False)
    strokes = DRAWN["openings"](side, (0.5,), 0.0, 1.0, "head")
    ends = [
        s.points[-1][0] for s in strokes if isinstance(s, Polyline) and s.look in ("outline", "close") and not s.closed
    ]
    assert ends == pytest.approx(found.cutoff.per_cent[0, :, 0].tolist(), abs=0.5)


def test_polar_letters_name_each_event_of_both_ends(demo):
    text = " ".join(s.text for s in strokes_of(demo, "polar") if isinstance(s, Label))
    assert {f"{letter}{end}" for letter in "acrk" for end in "12"} <= set(text.split())


def test_left_is_the_mirror_image_of_right(demo):
    right, left = (strokes_of(demo, "gear", side=side) for side in ("R", "L"))
    one, two = (
        [s.points for s in strokes if isinstance(s, Polyline) and s.look == "outline"] for strokes in (right, left)
    )
    assert [c for line in one for x, y in line for c in (-x, y)] == pytest.approx(
        [c for line in two for point in line for c in point]
    )


def test_envelopes_hold_every_place_of_their_link(demo):
    """The connecting rod's sweep is a crank circle at one end and the stroke at the other."""
    found = {each.link: each for each in envelopes(demo.engine.right, (1.0, 0.0, -1.0))}
    rod = [point for ring in found["connecting rod"].outlines for point in ring]
    radius, length = 15 / 16 * 25.4, 7 * 25.4
    assert min(x for x, _ in rod) == pytest.approx(-radius, abs=0.05)
    assert max(x for x, _ in rod) == pytest.approx(length + radius, abs=0.05)
    assert max(y for _, y in rod) == pytest.approx(radius, abs=0.05)
    assert found["return crank"].holes  # it goes round the axle and never over it
    assert "valve spindle" not in found


@pytest.mark.parametrize(("how", "kind", "word"), [
    ({"name": "ovals"}, Unknown, "oval"),
    ({"name": "oval", "side": "X"}, Unknown, "R or L"),
    ({"name": "gear", "crank_deg": math.nan}, OutOfRange, "degrees"),
    ({"name": "gear", "positions": (2.0,)}, OutOfRange, "full backward"),
])  # fmt: skip
def test_what_cannot_be_drawn_is_refused(demo, how, kind, word):
    with pytest.raises(kind, match=word) as fault:
        strokes_of(demo, **how)
    assert word in f"{fault.value.message} {fault.value.way_out}"
