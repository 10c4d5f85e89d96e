"""The choice beside sizes that are facts or kept as drawn, and sizes made to suit that are drawn apart by place."""

from __future__ import annotations

import pytest

from asmade.reckon.choice import choose
from asmade.reckon.drawing import check_drawing


def test_room_for_scatter_is_not_asked_of_what_nobody_can_change(fold_text):
    """A radius kept as drawn beside one that is made 0.03 out of 0.05: nothing is left to decide, so nothing fails."""
    build = fold_text("""
        [part.wheel]
        places = ["L", "R"]
        [part.wheel.dim]
        radius = { kind = "crank radius", drawn = "23.81 mm" }
        width = { kind = "thickness", drawn = "14.29 mm", process = "faced" }
        [[same]]
        name = "radii alike"
        of = ["wheel@L.radius", "wheel@R.radius"]
        within = "0.05 mm"
        [[made]]
        piece = "wheel#L"
        dim = "radius"
        reading = "23.84"
        instrument = "mic"
    """)
    found = choose(build)
    assert found.status == "proven"
    assert found.assured == 1.0


def test_a_size_to_suit_is_written_for_each_place_that_is_drawn_apart(fold_text):
    build = fold_text("""
        [part.frame]
        places = ["engine"]
        [part.frame.dim]
        fore = { kind = "centres", drawn = "146 mm" }
        aft = { kind = "centres", drawn = "133 mm" }
        [part.rod]
        places = ["12", "23"]
        [part.rod.dim]
        centres = { kind = "centres", drawn = "146 mm", drawn_at = { "23" = "133 mm" } }
        [[chain]]
        name = "fore rod"
        is = "rod@12.centres - frame@engine.fore"
        least = "-0.1 mm"
        most = "0.1 mm"
        to_suit = "rod@12.centres"
        [[chain]]
        name = "aft rod"
        is = "rod@23.centres - frame@engine.aft"
        least = "-0.1 mm"
        most = "0.1 mm"
        to_suit = "rod@23.centres"
    """)
    found = choose(build)
    sizes = {str(change.dimension): change.chosen_mm for change in found.changes}
    assert sizes["rod.centres"] == pytest.approx(146.0, abs=0.1)
    assert sizes["rod@23.centres"] == pytest.approx(133.0, abs=0.1)


def test_a_depth_is_no_drill(fold_text):
    """How deep a hole goes is not chosen from the drills in the drawer."""
    build = fold_text("""
        [part.pin]
        places = ["engine"]
        [part.pin.dim]
        hole = { kind = "bore", drawn = "6.35 mm", process = "drilled" }
        depth = { kind = "depth", drawn = "6.35 mm", process = "drilled" }
        [shop.tool."drill 6.3"]
        kind = "twist drill"
        size = "6.3 mm"
    """)
    tools = {str(change.dimension): change.tool for change in choose(build).changes}
    assert tools["pin.hole"] == "drill 6.3"
    assert tools["pin.depth"] == ""


def test_a_same_of_several_parts_is_checked_pair_by_pair(fold_text):
    build = fold_text("""
        [part.beam]
        places = ["engine"]
        [part.beam.dim]
        width = { kind = "width", drawn = "103 mm" }
        [part.saddle]
        places = ["engine"]
        [part.saddle.dim]
        width = { kind = "width", drawn = "104 mm" }
        [part.stretcher]
        places = ["engine"]
        [part.stretcher.dim]
        width = { kind = "width", drawn = "103 mm" }
        [[same]]
        name = "one width"
        of = ["beam@engine.width", "saddle@engine.width", "stretcher@engine.width"]
        within = "0.1 mm"
    """)
    wrong = [f for f in check_drawing(build).findings if f.verdict == "fails"]
    assert wrong
    assert all("saddle.width" in f.working for f in wrong)
