"""Arrangements: the kits composed for each of them give a book without rings, in which only figures are missing."""

from __future__ import annotations

import math
import re
import tomllib
from collections import Counter

import pytest

from asmade.book.arrangements import ARRANGEMENTS, RODS, arrangement, compose, kits_for, wheels_of
from asmade.book.forms import form_of
from asmade.book.kits import dims_of
from asmade.measure.errors import Refused, Unknown
from asmade.reckon.drawing import check_drawing
from asmade.reckon.system import compile_system
from asmade.reckon.values import compute
from asmade.verbs.check import check_build
from asmade.verbs.demo import demo_text

EVERY = [
    (name, rods, str(driven))
    for name, each in ARRANGEMENTS.items()
    for rods in RODS
    for driven in range(1, each.coupled + 1)
]
USUAL = [(name, rods) for name in ARRANGEMENTS for rods in RODS]


@pytest.mark.parametrize(("name", "rods", "driven"), EVERY)
def test_every_arrangement_compiles_without_a_ring(fold_text, name, rods, driven):
    build = fold_text(compose(name, rods=rods, driven=driven))
    system = compile_system(build)  # a ring of sizes made to suit one another, or a formula twice, is refused here
    assert len(system.requirements) > 100
    assert len({joint.subject for joint in system.joints}) == len(system.joints)


def test_axles_places_and_carrying_axles(fold_text):
    design = fold_text(compose("4-6-2")).design
    assert design.places.axles == ("1", "2", "3")
    assert design.places.sections == ("12", "23")
    assert design.parts["bogie_wheel"].places == ("b1L", "b1R", "b2L", "b2R")
    assert design.parts["trailing_truck_axle"].places == ("t1",)
    assert design.parts["wheel"].places == ("1L", "1R", "2L", "2R", "3L", "3R")
    assert fold_text(compose("2-6-0")).design.parts["pony_truck_axlebox"].places == ("b1L", "b1R")


def test_pins_are_called_by_what_they_do():
    def pins(name, driven=""):
        wheels = wheels_of(name, driven)
        return [wheels.which(axle) for axle in wheels.axles]

    assert pins("0-4-0") == ["leading", "driving"]
    assert pins("0-6-0") == ["leading", "driving", "trailing"]
    assert pins("0-8-0") == ["leading", "intermediate", "driving", "trailing"]
    assert pins("0-8-0", "4") == ["leading", "second", "third", "driving"]
    assert pins("4-4-0") == ["driving", "trailing"]


def test_a_leading_pin_passes_the_crosshead_and_one_between_passes_the_connecting_rod(fold_text):
    def chains(name, driven=""):
        relations = fold_text(compose(name, driven=driven)).design.of_kind("chain")
        return {relation.name: relation.places for relation in relations}

    assert chains("0-6-0")["leading pin to crosshead"] == ("1L", "1R")
    assert chains("0-8-0")["intermediate pin to connecting rod"] == ("2L", "2R")
    assert "leading pin to crosshead" not in chains("4-4-0")


def test_plain_rods_share_the_inner_pins(fold_text):
    """Two rods side by side on the driving pin of a 0-6-0: its journal carries both bosses."""
    design = fold_text(compose("0-6-0", rods="plain")).design
    float_ = [r for r in design.of_kind("chain") if r.name == "end float on the driving pin"]
    assert [r.text("is") for r in float_] == [
        "crank_pin_driving@{place}.journal.length - coupling_rod_front@12{side}.boss_aft - coupling_rod_rear@23{side}.boss_fore"
    ]


def test_knuckle_rods_hang_each_from_the_one_behind(fold_text):
    design = fold_text(compose("0-8-0", rods="knuckle")).design
    centres = {r.name: r.text("is") for r in design.of_kind("chain") if r.name.startswith("rod centres")}
    assert (
        "coupling_rod_middle@23{side}.knuckle_ahead" in centres["rod centres against axle centres, front coupling rod"]
    )
    assert (
        "coupling_rod_rear@34{side}.knuckle_ahead" in centres["rod centres against axle centres, middle coupling rod"]
    )
    assert "knuckle" not in centres["rod centres against axle centres, rear coupling rod"]
    assert "knuckle_ahead" not in design.parts["coupling_rod_front"].dims
    assert "eye_aft" not in design.parts["coupling_rod_middle"].dims
    assert {"fork_gap", "tongue"} <= set(design.parts["coupling_rod_middle"].dims)


def test_a_four_coupled_engine_has_one_rod_a_side(fold_text):
    design = fold_text(compose("0-4-0", rods="knuckle")).design
    assert "coupling_rod" in design.parts
    assert not [name for name in design.parts if name.startswith("coupling_rod_") or name == "knuckle_pin"]


def test_kits_share_parts_but_no_relation_and_no_part_twice():
    for name, rods in USUAL:
        composed = kits_for(wheels_of(name), rods=rods)
        parts = Counter(part for each in composed for part in each.parts)
        assert max(parts.values()) == 1
        names = Counter(row["name"] for each in composed for _, row in each.relations)
        assert max(names.values()) == 1, names.most_common(2)


# Sizes that the demo engine has not; invented, as its own are.
MORE = {
    "rod_bush_fore.outside": "1/2", "rod_bush_fore.bore": "3/8", "rod_bush_fore.length": "1/4",
    "rod_bush_aft.outside": "7/16", "rod_bush_aft.bore": "5/16", "rod_bush_aft.length": "1/4", "tongue": "1/8",
    "tongue_hole": "3/16", "outside_tongue": "3/8", "boss_aft": "1/4", "eye_aft": "7/16", "outside_aft": "5/8",
    "over_outside": "3 3/4", "horn": "3/4",
}  # fmt: skip
KIN = (
    (re.compile(r"(pony_truck|bogie|trailing_truck)_(?=wheel|axle)"), ""),
    (re.compile(r"intermediate|second|third"), "trailing"),
    (re.compile(r"coupling_rod(_middle)?$"), "coupling_rod_rear"),
)


def kin_of(part: str) -> str:
    """The part of the demo engine that is most like a part."""
    for pattern, name in KIN:
        part = pattern.sub(name, part)
    return part


def plausible(text: str) -> str:
    """The text with figures put in wherever nothing is drawn yet and no formula gives it."""
    demo = {
        f"{part}.{'.'.join(path)}": dim.get("drawn", "")
        for part, table in tomllib.loads(demo_text())["part"].items()
        for path, dim in dims_of(table["dim"])
    }
    driven = int(tomllib.loads(text)["places"]["driven"])
    given = {f["gives"].split("@")[0] + "." + f["gives"].partition(".")[2] for f in tomllib.loads(text)["formula"]}
    lines, part = [], ""
    for line in text.splitlines():
        if line.startswith("[part."):
            part = line.removeprefix("[part.").removesuffix("]").removesuffix(".dim")
        name = line.partition("=")[0].strip()
        if 'drawn = ""' in line and part and f"{part}.{name}" not in given:
            if name.startswith("horn_at."):  # in order from the front, whichever is driven
                figure = f"{5.5 * (driven - int(name[-1])):g}"
            else:
                figure = MORE.get(f"{part}.{name}") or demo.get(f"{kin_of(part)}.{name}") or MORE[name]
            lines.append(line.replace('drawn = ""', f'drawn = "{figure}"'))
        else:
            lines.append(line)
    return "\n".join(lines)


@pytest.mark.parametrize(("name", "rods"), USUAL)
def test_with_figures_filled_in_nothing_is_unknown_and_every_form_stands(fold_text, name, rods):
    build = fold_text(plausible(compose(name, rods=rods)))
    assert check_build(build).counts.get("not known", 0) == 0
    values = compute(build)
    unknown = {str(a) for a, v in zip(values.system.names, values.best, strict=True) if math.isnan(v) and a.dim}
    assert not unknown
    found = check_drawing(build)
    assert not [f for f in found.findings if f.verdict == "not known"]
    for part in build.design.parts.values():
        form = form_of(part)
        if form is not None and part.name not in ("cylinder", "frame"):
            assert form.lacks == (), (part.name, form.lacks)


def test_a_new_book_says_so_in_its_drawing_check(fold_text):
    """Nothing is drawn: every size is missing, nothing contradicts."""
    found = check_drawing(fold_text(compose("0-6-0")))
    assert found.not_stated > 100
    assert {f.code for f in found.findings if f.verdict != "holds"} == {"drawing.missing"}


@pytest.mark.parametrize(("call", "says", "way_out"), [
    (lambda: arrangement("0-6-2"), "there is no '0-6-2'; did you mean", "0-6-0"),
    (lambda: compose("0-6-0", unit="cm"), "unit", "inch, mm"),
    (lambda: compose("0-6-0", leads="left"), "leads", "R, L"),
    (lambda: compose("0-6-0", rods="knuckles"), "did you mean knuckle", "plain, knuckle"),
])  # fmt: skip
def test_what_there_is_not_is_refused_with_the_way_out(call, says, way_out):
    with pytest.raises(Unknown, match=says) as refusal:
        call()
    assert way_out in refusal.value.way_out


@pytest.mark.parametrize("driven", ["4", "0", "b1", "two"])
def test_an_axle_that_is_not_coupled_cannot_be_driven(driven):
    with pytest.raises(Refused, match="coupled axles 1, 2, 3"):
        wheels_of("0-6-0", driven)


def test_the_text_says_what_it_is_for(fold_text):
    text = compose("2-6-0", unit="mm", title='Shed "B" No. 1', leads="L")
    assert text.startswith('# Shed "B" No. 1: a book of asmade')
    design = fold_text(text).design
    assert (design.title, design.drawing_unit, design.leads) == ('Shed "B" No. 1', "mm", "L")
    assert (design.arrangement, design.places.driven) == ("2-6-0", "2")
    notes = [relation.text("note") for relation in design.relations]
    assert all(notes), "every relation tells in words what it holds"
