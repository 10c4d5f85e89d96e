"""Quick sums on their pages: every one of the commands, its figures from published tables, refusals beside the field."""

from __future__ import annotations

import re

import pytest

from asmade.cli.reckon import __path__ as commands
from asmade.measure.errors import AsmadeError
from asmade.verbs import shop
from asmade.web.asked import QUESTIONS, SUMS, answer, field_of

# What a sum accepts whatever it says, because what was asked does not need it; and two ways of saying one thing.
NOT_ASKED = {
    "fit": {"hole", "shaft", "clearance", "hole_material", "shaft_material"}, "hole": {"to_suit", "made"}, "shaft": {"to_suit", "made"},
    "drill": {"material_name"}, "length": {"tool"}, "stock": {"thickness"}, "press": {"want", "hole", "pressure"}, "pin": {"height"},
    "feed": {"teeth"}, "power": {"width", "teeth"}, "index": {"angle", "diameter"}, "taper": {"one_in", "angle", "fine", "dial"},
    "centres": {"loose"},
}  # fmt: skip


def test_every_command_has_its_page():
    import pkgutil

    assert {m.name for m in pkgutil.iter_modules(commands) if not m.name.startswith("_")} == set(SUMS)
    asked = [name for _, names in QUESTIONS for name in names]
    assert sorted(asked) == sorted(SUMS)
    assert {"Which drill?", "How tight?", "How fast?", "How many turns?", "How big?"} <= {q for q, _ in QUESTIONS}


@pytest.mark.parametrize("name", SUMS)
def test_what_cannot_be_read_is_said_at_its_field(name):
    asked = SUMS[name]
    for field in asked.fields:
        if field.of or field.name in set(NOT_ASKED.get(name, ())) | {"machine_name", "sheet", "condition"}:
            continue
        given = asked.filled(asked.example) | {field.name: "?!x"}
        with pytest.raises(AsmadeError) as refused:
            answer(name, given)
        assert field_of(asked, refused.value, given) == field.name


@pytest.mark.parametrize("name", SUMS)
def test_every_page_shows_its_working_and_sources(at_demo, name):
    page = at_demo.get(f"/sums/{name}").text
    assert '<p class="working">' in page
    assert "Where it comes from" in page
    wrong = next(f.name for f in SUMS[name].fields if f.name not in NOT_ASKED.get(name, ()) and not f.of)
    answer_ = at_demo.get(f"/sums/{name}", params={**SUMS[name].example, wrong: "?!x"})
    assert answer_.status_code == 422
    assert f'id="r-{wrong}"' in answer_.text
    assert 'value="?!x"' in answer_.text


ANCHORS = [
    ("index", {"text": "27"}, "13"),  # 40/27 = 1 13/27 turns: Machinery's Handbook (1916), plain indexing
    (
        "gears",
        {"text": "1 mm", "leadscrew": "8 tpi", "owned": "20 2x25 30 35 40 45 50 55 60 63 65 80"},
        "63",
    ),  # 8 tpi with a 63: 0.9921 mm, Sparey 1948 from memory
    ("taper", {"large": "20", "small": "18", "length": "40"}, "1.432"),  # atan(1/40), trigonometry
    ("packing", {"text": "3", "diameter": "25"}, "4.5"),  # 1.5 x the offset by the rule; exactly a little less or more
    ("square", {"text": "8"}, "11.31"),  # 8 x root 2
    ("circle", {"text": "6", "diameter": "40"}, "20"),  # the chord of six holes is the radius: Euclid IV.15
    ("radius", {"inside": "11.1", "outside": "36.9"}, "24.000"),  # half of 48
    ("curve", {"radius": "10000", "chord": "1000", "centres": ""}, "12.5"),  # c^2 / 8R
]


@pytest.mark.parametrize(("name", "given", "said"), ANCHORS, ids=[a[0] for a in ANCHORS])
def test_sums_of_the_bench(at_demo, name, given, said):
    page = at_demo.get(f"/sums/{name}", params=given)
    assert page.status_code == 200
    assert said in page.text


def test_a_machine_of_the_shop_gives_its_speeds_and_gears(at_own_demo):
    at = at_own_demo
    assert '<option value="lathe"' in at.get("/sums/speed").text
    page = at.get("/sums/speed", params={"text": "20", "machine_name": "lathe"})
    assert re.search(r"\b(?:340|190|600)\b", page.text)
    assert at.get("/sums/gears", params={"text": "1 mm", "machine_name": "lathe"}).status_code == 200
    assert 'id="r-machine_name"' in at.get("/sums/speed", params={"text": "20", "machine_name": "none such"}).text or (
        at.get("/sums/speed", params={"text": "20", "machine_name": "none such"}).status_code == 422
    )
    for name in ("lathe", "mill"):
        shop.put(at.book, {}, remove=[f"machine.{name}"])
    assert "Machine of this book" not in at.get("/sums/speed").text
