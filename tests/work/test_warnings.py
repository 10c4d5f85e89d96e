"""What a route warns of: stock too small, tool too long, drills and taps that break, whip, the motor."""

from __future__ import annotations

import math

import pytest

from asmade.reckon.values import compute
from asmade.work.blanks import NoBlank, blank_of
from asmade.work.recipes.bench import STEEL_MPA
from asmade.work.routes import RoutePlanner

SHOP = """
[shop.machine.lathe]
kind = "lathe"
speeds = [60, 110, 190, 340, 600, 950, 1500]
spindle_bore = "20 mm"
motor = "MOTOR"
efficiency = 0.7
cross_slide = { reads = "diameter", per_turn = "4 mm", division = "0.05 mm" }
top_slide = { reads = "length", per_turn = "2 mm", division = "0.02 mm" }
[shop.machine.mill]
kind = "mill"
speeds = [120, 240, 420, 750, 1300, 2200]
motor = "MOTOR"
efficiency = 0.7
[shop.tool.drills]
kind = "twist drill"
size = "1 to 13 by 0.1"
[[shop.stock]]
form = "round bar"
material = "bright mild steel"
size = "20 mm"
length = "LENGTH"
[[shop.stock]]
form = "round bar"
material = "stainless"
size = "20 mm"
length = "500 mm"
[[shop.stock]]
form = "flat"
material = "bright mild steel"
size = "30 x 10 mm"
length = "300 mm"
"""
TURNED = """
[part.x]
places = ["L"]
material = "MATERIAL"
form = { kind = "turned", sections = ["body"], ENDS }
[part.x.dim]
body.diameter = { kind = "shaft", drawn = "DIAMETER", process = "turned" }
body.length = { kind = "length", drawn = "LONG" }
hole.diameter = { kind = "bore", drawn = "HOLE", process = "PROCESS" }
hole.depth = { kind = "depth", drawn = "DEEP" }
thread.callout = { kind = "thread", drawn = "CALLOUT", process = "tapped", sex = "female" }
thread.depth = { kind = "depth", drawn = "DEEP" }
"""
BLOCK = """
[part.x]
places = ["L"]
material = "bright mild steel"
form = { kind = "block" MORE }
[part.x.dim]
length = { kind = "length", drawn = "60 mm", process = "milled" }
height = { kind = "height", drawn = "32 mm", process = "milled" }
width = { kind = "width", drawn = "8 mm", process = "milled" }
"""
USUAL = {
    "MOTOR": "370 W", "LENGTH": "500 mm", "MATERIAL": "bright mild steel", "DIAMETER": "16 mm", "LONG": "30 mm",
    "HOLE": "5 mm", "DEEP": "12 mm", "PROCESS": "drilled", "CALLOUT": "M5", "MORE": "",
    "ENDS": 'ends = { right = ["hole"] }',
}  # fmt: skip


def plan(fold_text, text, **other):
    for key, value in (USUAL | other).items():
        text = text.replace(key, value)
    build = fold_text(text)
    return build, RoutePlanner(build, compute(build)).plan("x", "L")


def warned(route):
    return [*route.warnings, *(words for op in route.operations for words in op.warnings)]


def test_a_usual_part_is_warned_of_nothing(fold_text):
    assert warned(plan(fold_text, SHOP + TURNED)[1]) == []


@pytest.mark.parametrize(
    ("text", "other", "words"),
    [
        (TURNED, {"LENGTH": "25 mm"}, "the bar in the rack is 25 long, 30 is wanted"),
        (TURNED, {"DIAMETER": "24 mm"}, "the thickest there is 20 mm: buy"),
        (TURNED, {"DIAMETER": "19.8 mm"}, "only 0.20 to turn off"),
        (BLOCK, {}, "(the nearest, flat 30 x 10 mm, is too small by 2.00)"),
        (TURNED, {"DIAMETER": "5 mm", "LONG": "80 mm", "HOLE": "2 mm"}, "unsupported: a steady"),
        (TURNED, {"MOTOR": "50 W"}, "beyond the motor of the lathe"),
        (TURNED, {"HOLE": "13 mm", "DEEP": "20 mm", "MOTOR": "60 W"}, "this drill wants about"),
        (TURNED, {"HOLE": "1.2 mm", "DEEP": "9 mm"}, "a small drill so deep breaks easily (7.8 diameters)"),
        (
            TURNED,
            {"HOLE": "2.5 mm", "DEEP": "12 mm", "MATERIAL": "stainless"},
            "a small drill in stainless steel so deep breaks easily (5.1 diameters)",
        ),
        (
            TURNED,
            {"CALLOUT": "8 BA", "MATERIAL": "stainless", "DEEP": "6 mm", "ENDS": 'ends = { right = ["thread"] }'},
            "the tap works at over half of what breaks it",
        ),
        (
            TURNED,
            {"HOLE": "6 mm", "DEEP": "28 mm", "PROCESS": "bored"},
            "a 4.2 mm bar 28 mm out is 6.7 times its thickness: it springs",
        ),
    ],
    ids=["bar too short", "bar too thin", "little to turn off", "flat too small", "whips", "motor", "motor at a drill", "small drill",
         "small drill in stainless", "tap", "boring bar"],
)  # fmt: skip
def test_what_will_go_wrong_is_warned_of(fold_text, text, other, words):
    found = warned(plan(fold_text, SHOP + text, **other)[1])
    assert any(words in each for each in found), found


def test_a_boring_bar_gives_as_a_beam_does(fold_text):
    """F L^3 / (3 E I), twice on diameter (Shigley); F half of Kienzle's kc1.1 1350, mc 0.21 at 0.1 deep, 0.02 feed."""
    found = warned(plan(fold_text, SHOP + TURNED, HOLE="6 mm", DEEP="28 mm", PROCESS="bored")[1])
    (words,) = [each for each in found if "springs" in each]
    force = 0.5 * 1350 * 0.02**-0.21 * 0.1 * 0.02
    inertia = math.pi * 4.2**4 / 64
    assert f"about {2 * force * 28**3 / (3 * STEEL_MPA * inertia):.2f} mm on diameter" in words


def test_a_blank_that_cannot_give_the_part_is_a_plain_finding(fold_text):
    said = ', blank = { shape = "flat bar", size = "30 x 10 mm", length = "65 mm" }'
    build, route = plan(fold_text, SHOP + BLOCK, MORE=said)
    words = "the blank cannot give the part: it is 32.00 wide, the blank is 30"
    assert any(words in each for each in route.warnings), route.warnings
    found = blank_of(build.design.parts["x"], {"length": 60, "height": 32, "width": 8})
    assert isinstance(found, NoBlank)
    assert words in found.reason
    fits = blank_of(build.design.parts["x"], {"length": 60, "height": 29, "width": 8})
    assert not isinstance(fits, NoBlank)


@pytest.mark.parametrize(
    ("size", "length", "words"),
    [("15 mm", "40 mm", "16.00 across, the blank is 15"), ("16 mm", "20 mm", "30.00 long, the blank gives 20.00")],
)
def test_a_round_blank_is_held_against_the_turned_part(fold_text, size, length, words):
    more = f'ends = {{ right = ["hole"] }}, blank = {{ shape = "round bar", size = "{size}", length = "{length}" }}'
    _, route = plan(fold_text, SHOP + TURNED, ENDS=more)
    assert any(words in each for each in route.warnings), route.warnings
