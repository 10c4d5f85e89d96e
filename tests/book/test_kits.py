"""Kits: every relation says in words what it holds, and the page of all kits is what the kit files say."""

from __future__ import annotations

from pathlib import Path

import pytest

from asmade.book.arrangements import wheels_of
from asmade.book.kits import Kit, Template, kits, parse_kit
from asmade.book.kits.expand import expand
from asmade.book.kits.page import page
from asmade.measure.errors import Contradiction, Damaged, Unknown

PAGE = Path(__file__).parents[2] / "docs" / "kits.md"
HEAD = '[kit]\ntitle = "Kit"\nwords = "A kit."\norder = 1\n'

KITS = kits()
RELATIONS = [(kit, relation) for kit in KITS for relation in kit.relations]


def named(kit: str) -> Kit:
    return next(each for each in KITS if each.name == kit)


def relation(kit: str, name: str) -> Template:
    return next(each for each in named(kit).relations if each.name == name)


def test_kits_stand_in_the_order_of_the_drawing():
    running_gear = (
        "axleboxes", "coupled_wheelset", "plain_crank_pin", "driving_crank_pin", "coupling_rods_knuckle",
        "coupling_rods_plain", "connecting_rod", "crosshead", "cylinder", "carrying_wheels",
    )  # fmt: skip
    assert tuple(kit.name for kit in KITS if kit.name in running_gear) == running_gear


@pytest.mark.parametrize(("kit", "each"), RELATIONS, ids=[f"{k.name}: {r.name}" for k, r in RELATIONS])
def test_every_relation_is_told_in_words(kit, each):
    assert each.words.endswith("."), each.words
    assert each.words[0].isupper(), each.words
    assert len(each.words.split()) >= 6, each.words


@pytest.mark.parametrize(
    ("kit", "each"),
    [(k, r) for k, r in RELATIONS if {"least", "most", "within"} & set(r.fields)],
    ids=[f"{k.name}: {r.name}" for k, r in RELATIONS if {"least", "most", "within"} & set(r.fields)],
)
def test_every_figure_of_the_trade_says_who_set_it(kit, each):
    assert "common practice, no source" in each.fields["source"]


@pytest.mark.parametrize(("kit", "name"), [
    ("plain_crank_pin", "<which> pin in wheel"),
    ("driving_crank_pin", "driving pin in wheel"),
    ("coupled_wheelset", "wheel on axle"),
    ("coupled_wheelset", "back-to-back"),
    ("axleboxes", "journal in axlebox"),
    ("axleboxes", "axlebox in horn"),
    ("axleboxes", "side play"),
    ("coupling_rods_knuckle", "<which> pin in its bush"),
    ("coupling_rods_knuckle", "<fore> bush in the <rod_words>"),
    ("coupling_rods_knuckle", "rod centres against axle centres, <rod_words>"),
    ("coupling_rods_plain", "rod centres against axle centres, <rod_words>"),
    ("coupling_rods_plain", "end float on the <which> pin"),
    ("connecting_rod", "big end on the driving pin"),
    ("connecting_rod", "gudgeon pin in the little end"),
    ("crosshead", "crosshead between the slide bars"),
    ("plain_crank_pin", "leading pin to crosshead"),
    ("cylinder", "room at the front of the stroke"),
    ("cylinder", "room at the back of the stroke"),
    ("carrying_wheels", "<truck> back-to-back as the coupled wheels"),
])  # fmt: skip
def test_what_the_trade_knows_is_there(kit, name):
    assert relation(kit, name)


def test_figures_as_builders_give_them():
    """Common practice, no source: box 0.02 to 0.05 mm a side in its horn; about 0.8 mm side play each way; 0.8 mm at
    each end of the stroke; axle end and bushes flush or a little below; the guide figures must lie inside the limits.
    """
    horn = relation("axleboxes", "axlebox in horn").fields
    assert (horn["least"], horn["most"]) == ("0.04 mm", "0.10 mm")
    for kit, name, figure in (
        ("axleboxes", "side play", 0.8), ("cylinder", "room at the front of the stroke", 0.8),
        ("cylinder", "room at the back of the stroke", 0.8), ("coupled_wheelset", "axle end flush with the boss", 0.1),
    ):  # fmt: skip
        fields = relation(kit, name).fields
        assert float(fields["least"].split()[0]) < figure < float(fields["most"].split()[0])


def test_the_page_is_what_the_kits_say():
    assert PAGE.read_text(encoding="utf-8") == page(), "write it anew: python -m asmade.book.kits.page > docs/kits.md"


def test_the_page_tells_every_relation_and_every_dimension():
    text = page().replace("*", "")
    for _, each in RELATIONS:
        assert each.name.replace("<", "").replace(">", "") in text
        assert each.words.replace("<", "").replace(">", "") in text


def test_one_template_is_written_once_for_each_way_its_words_come_out():
    kit = parse_kit("a", HEAD + """
[[part]]
name = "pin_<which>"
places = "axles x sides"
[part.dim]
length = { kind = "length" }
""")  # fmt: skip
    parts = expand(kit, wheels_of("0-6-0")).parts
    assert {name: part["places"] for name, part in parts.items()} == {
        "pin_leading": ["1L", "1R"], "pin_driving": ["2L", "2R"], "pin_trailing": ["3L", "3R"],
    }  # fmt: skip
    assert parts["pin_leading"]["dim"]["length"] == {"kind": "length", "drawn": ""}


def test_one_dimension_for_each_axle_and_nought_at_the_datum():
    kit = parse_kit("a", HEAD + """
[[part]]
name = "frame"
places = "sides"
[part.dim]
horn_at = { each = "axles", zero_at = "driven axle", kind = "position" }
""")  # fmt: skip
    dims = expand(kit, wheels_of("0-6-0")).parts["frame"]["dim"]["horn_at"]
    assert {axle: dim["drawn"] for axle, dim in dims.items()} == {"1": "", "2": "0", "3": ""}


def test_templates_of_one_part_add_up_and_must_agree_on_places():
    text = (
        HEAD
        + """
[[part]]
name = "rod"
places = "sections x sides"
[part.dim]
centres = { kind = "centres" }
[[part]]
name = "rod"
places = "%s"
[part.dim]
eye = { kind = "bore" }
"""
    )
    parts = expand(parse_kit("a", text % "sections x sides"), wheels_of("0-6-0")).parts
    assert list(parts["rod"]["dim"]) == ["centres", "eye"]
    with pytest.raises(Contradiction, match="rod has two lists of places"):
        expand(parse_kit("a", text % "last section x sides"), wheels_of("0-6-0"))


def test_all_alike_lists_every_place_and_nothing_where_there_is_but_one():
    kit = parse_kit("a", HEAD + """
[[same]]
name = "alike"
words = "They are alike."
of_each = "wheelset@{axle}.quarter"
over = "axles"
within = "0.1 deg"
""")  # fmt: skip
    rows = expand(kit, wheels_of("0-4-0")).relations
    assert [row["of"] for _, row in rows] == [["wheelset@1.quarter", "wheelset@2.quarter"]]
    one = parse_kit("a", HEAD + """
[[same]]
name = "alike"
words = "They are alike."
of_each = "pin@{axle}.length"
over = "driven axle"
""")  # fmt: skip
    assert expand(one, wheels_of("0-4-0")).relations == ()


@pytest.mark.parametrize(("text", "says"), [
    ("[kit]\ntitle = 'a'\n", "lacks words, order"),
    (HEAD.replace("order", "colour = 1\norder"), "its \\[kit\\] has colour"),
    (HEAD + "[[fit]]\nname = 'a'\nhole = 'b'\nshaft = 'c'\n", "fit 'a' lacks words"),
    (HEAD + "[[fit]]\nname = 'a'\nwords = 'b'\nhole = 'b'\n", "fit 'a' lacks shaft"),
    (HEAD + "[[wall]]\nname = 'a'\nwords = 'b'\nis = 'b'\n", "wall 'a' lacks least"),
    (HEAD + "[[same]]\nname = 'a'\nwords = 'b'\nof_each = 'b'\n", "needs either of, or of_each and over"),
    (HEAD + "[[gear]]\nname = 'a'\n", "it has gear, which no kit knows"),
    (HEAD + "[[part]]\nname = 'a'\n", "a part lacks name or places: a"),
    (HEAD + "[[part]]\nname = 'a'\nplaces = 'sides'\ndim.b = { kind = 'hole' }\n", "a.b is of no known kind: hole"),
    ("[kit", "is damaged"),
])  # fmt: skip
def test_a_damaged_kit_is_refused_by_name(text, says):
    with pytest.raises(Damaged, match=says) as refusal:
        parse_kit("wheels", text)
    assert refusal.value.message.startswith("kit wheels is damaged")


def test_a_word_without_meaning_is_refused_with_those_there_are():
    kit = parse_kit("a", HEAD + "[[part]]\nname = 'a_<rod>'\nplaces = 'axles x sides'\ndim.b = { kind = 'bore' }\n")
    with pytest.raises(Unknown, match="<rod>") as refusal:
        expand(kit, wheels_of("0-6-0"))
    assert "which" in refusal.value.way_out


def test_places_without_meaning_are_refused_with_near_ones():
    kit = parse_kit("a", HEAD + "[[part]]\nname = 'a'\nplaces = 'axels x sides'\ndim.b = { kind = 'bore' }\n")
    with pytest.raises(Unknown, match="did you mean axles"):
        expand(kit, wheels_of("0-6-0"))
