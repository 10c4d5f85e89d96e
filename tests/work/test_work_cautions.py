"""Cautions: all that must be warned of is, at the step it belongs to and not at others."""

from __future__ import annotations

import pytest

from asmade.measure.errors import Unknown
from asmade.work.cautions import PLACES, cautions, every, operations


def names(*args, **kwargs):
    return {caution.name for caution in cautions(*args, **kwargs)}


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [
        (("turning",), "rotating work"),
        (("parting",), "parting"),
        (("milling",), "milling cutter in a drill chuck"),
        (("stripping an old engine",), "old lagging"),
        (("filing in the lathe",), "files and abrasives at the lathe"),
        (("tapping",), "small taps"),
        (("grinding",), "grinding wheel"),
        (("silver soldering",), "silver solder"),
        (("pickling",), "pickle"),
        (("hardening",), "hot oil"),
        (("stripping an old engine",), "no air test of vessels"),
        (("trial turning",), "fingers in the motion"),
        (("running on air",), "running on air"),
        (("running on air",), "no air test of vessels"),
        (("lifting",), "lifting"),
        (("bonding",), "skin and adhesive"),
        (("bonding",), "solvents"),
        (("undoing a bonded joint",), "heat and adhesive"),
    ],
)
def test_operations_carry_their_caution(asked, wanted):
    assert wanted in names(*asked)


@pytest.mark.parametrize(
    ("operation", "more", "wanted", "other"),
    [
        ("turning", {"features": ["chuck"]}, "chuck key", {"features": []}),
        ("turning", {"features": ["faceplate"]}, "unbalanced casting", {"features": ["chuck"]}),
        ("turning", {"features": ["coolant"]}, "coolant and skin", {}),
        ("jig boring", {"tool": "end mill"}, "end mill for a hole", {}),
        ("lifting", {"features": ["heavy"]}, "heavy set-up", {}),
        ("pressing", {"material_name": "cast iron 250"}, "pressing cast iron", {"material_name": "EN3B"}),
        ("turning", {"material_name": "cast iron 250"}, "dust of cast iron", {"material_name": "EN1A"}),
        ("drilling", {"material_name": "CZ121"}, "drill that grabs", {"material_name": "EN3B"}),
        ("turning", {"material_name": "CZ121"}, "lead in free-cutting metals", {"material_name": "EN3B"}),
        ("turning", {"material_name": "gunmetal"}, "lead in free-cutting metals", {"material_name": "phosphor bronze"}),
    ],
)
def test_conditions_are_held_to(operation, more, wanted, other):
    assert wanted in names(operation, **more)
    assert wanted not in names(operation, **other)


def test_every_page_points_to_makers_rules_and_licensed_practice():
    always = [caution for caution in cautions() if "page" in caution.shown]
    text = " ".join(caution.text for caution in always)
    for words in ("instructions", "law where you live", "tradesman", "code and inspector"):
        assert words in text
    assert cautions("turning")[-1].name == "makers and local rules"


def test_every_caution_can_be_met_and_says_where_and_on_what_standing():
    assert len(every()) >= 30
    for caution in every():
        assert caution.text.endswith(".")
        assert caution.standing
        assert caution.when
        assert caution.shown
        assert set(caution.shown) <= set(PLACES)
    reached = {
        found.name
        for operation in ("", *operations())
        for material in ("", "cast iron 250", "CZ121", "EN3B")
        for tool in ("", "end mill")
        for found in cautions(
            operation, material_name=material, tool=tool,
            features=("chuck", "bar through spindle", "faceplate", "mandrel", "coolant", "heavy", "tailstock set over"),
        )
    }  # fmt: skip
    assert reached == {caution.name for caution in every()}


def test_what_no_caution_knows_is_named_with_near_names():
    with pytest.raises(Unknown, match="did you mean turning"):
        cautions("turnning")
    with pytest.raises(Unknown, match="feature"):
        cautions("turning", features=["roof"])
    with pytest.raises(Unknown, match="place of a caution"):
        cautions(shown="poster")


def test_only_those_for_one_place():
    assert names("bonding", shown="joint") >= {"skin and adhesive", "solvents", "heat and adhesive"}
    assert "makers and local rules" not in names("bonding", shown="joint")
