"""Fixtures shared by all tests: a book from a text."""

from __future__ import annotations

import json
import re
import textwrap
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from asmade.book.fold import fold
from asmade.book.model import Build
from asmade.book.text import read_text

HEAD = """
[book]
title = "a book of a test"
drawing_unit = "mm"
[shop.instrument.mic]
unit = "mm"
zero = 0.0
reads_to = 0.002
"""


def build_of(text: str) -> Build:
    """Fold a text form; without its own [book] it gets a plain one in mm with one micrometer."""
    text = textwrap.dedent(text)
    whole = text if "[book]" in text else HEAD + text
    return fold([replace(draft, number=n) for n, draft in enumerate(read_text(whole), start=1)])


@pytest.fixture(scope="session")
def fold_text() -> Callable[[str], Build]:
    """Fold any text into a build."""
    return build_of


GEAR = {
    "wheel.crank_radius": "crank_radius", "connecting_rod.centres": "con_rod",
    "cylinder_setting.line_above_axle": "cyl_line_y", "cylinder_setting.incline": "cyl_incline",
    "return_crank.length": "return_crank_length", "return_crank.circle": "return_circle_radius",
    "eccentric_rod.centres": "ecc_rod", "motion_bracket.trunnion_ahead": "link_x",
    "motion_bracket.trunnion_above": "link_y", "expansion_link.foot_drop": "foot_drop",
    "expansion_link.foot_back": "foot_back", "expansion_link.slot_radius": "slot_radius",
    "expansion_link.slot_offset": "slot_offset", "expansion_link.slot_rise": "slot_rise",
    "expansion_link.half_slot": "link_half_slot", "radius_rod.centres": "radius_rod",
    "radius_rod.hanger_along": "hanger_along", "radius_rod.hanger_above": "hanger_above",
    "lifting_link.centres": "hanger", "weighshaft_bracket.ahead": "weigh_x", "weighshaft_bracket.above": "weigh_y",
    "lifting_arm.length": "lift_arm", "weighshaft.arm_forward": "lift_angle_fwd", "weighshaft.arm_mid": "lift_angle_mid",
    "weighshaft.arm_backward": "lift_angle_back", "combination_lever.top": "lever_top",
    "combination_lever.bottom": "lever_bottom", "combination_lever.set": "lever_set", "union_link.centres": "union_link",
    "drop_arm.pin_ahead": "drop_ahead", "drop_arm.pin_below": "drop_below", "steam_chest.spindle_ahead": "spindle_x",
    "steam_chest.spindle_above": "spindle_y", "steam_chest.spindle_incline": "spindle_incline",
    "port_face.steam_port": "steam_port",
}  # fmt: skip
"""Sizes of the Walschaerts kit by the keys of the demo gear's anchor."""


@pytest.fixture(scope="session")
def gear_text() -> str:
    """A book with the Walschaerts kit, the invented demo gear drawn in it (inches); the rest not filled in."""
    from asmade.book.arrangements import compose  # only the tests of valve gears want it

    anchor = json.loads((Path(__file__).parent / "anchors" / "demo_gear.json").read_text(encoding="utf-8"))
    text = compose("0-6-0", gear="walschaerts")
    drawn = {name: anchor["inches"].get(key) or f"{anchor['angles_deg'][key]} deg" for name, key in GEAR.items()}
    drawn = {
        name: size.replace("-", " ", 1) if "/" in size and size[0] != "-" else size for name, size in drawn.items()
    }
    # over the outer edges of the ports 3/4 in, lap 7/64 in at either end, exhaust lap nil
    drawn |= {"port_face.bridge": "7/64", "port_face.exhaust_port": "1/4", "slide_valve.over_edges": "31/32",
              "slide_valve.cavity": "15/32", "valve_spindle.thread": "1/8 x 40", "wheelset.quarter": "90 deg"}  # fmt: skip
    for name, size in drawn.items():
        text = _filled(text, *name.split("."), size)
    tomllib.loads(text)
    return text


def _filled(text: str, part: str, dim: str, size: str) -> str:
    """The text with one drawn size of a part put in."""
    start = text.index(f"[part.{part}.dim]")
    end = text.find("\n[", start + 1)
    lines = text[start:end].splitlines()
    at = next(n for n, line in enumerate(lines) if line.split("=")[0].strip() == dim)
    lines[at] = re.sub(r'drawn = "[^"]*"', f'drawn = "{size}"', lines[at])
    return text[:start] + "\n".join(lines) + text[end:]
