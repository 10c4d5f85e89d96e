"""route, setups and sheet of the demo: verbs, commands, exit codes."""

from __future__ import annotations

import json

import pytest

from asmade.cli.app import run
from asmade.verbs import demo, route, sheet
from asmade.verbs.sheet_text import text_of


@pytest.fixture
def book(tmp_path):
    demo.demo(tmp_path)
    return str(next(tmp_path.glob("*.asmade")))


def test_a_sheet_has_what_the_bench_needs(book):
    text = text_of(sheet.sheet(book, "axle@1").sheets[0])
    for words in (
        "to wheel@1L.bore",
        "made",
        "drawn only",
        "in thou",
        "[ ] ",
        "Dial: cross slide",
        "measured: ____",
        "Mind: ",
        "as of entry",
        "READINGS",
    ):
        assert words in text, words
    assert max(map(len, text.splitlines())) <= 150


def test_an_edit_is_written_and_taken_back(book, capsys):
    assert run(["route", book, "axle@1", "--note", "left end faced", "--text", "use the back stop"]) == 0
    assert "use the back stop" in capsys.readouterr().out
    assert "your note: use the back stop" in text_of(sheet.sheet(book, "axle@2").sheets[0])
    entry = route.edits_of(route.read_build(book), "axle")[0].entry
    assert run(["withdraw", book, str(entry)]) == 0
    assert route.edits_of(route.read_build(book), "axle") == ()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["route", "BOOK", "axel@1"], "axle"),
        (["route", "BOOK", "axle@9"], "place of axle"),
        (["route", "BOOK", "wheelset@1"], "put together"),
        (["route", "BOOK", "hornblock@1L"], "nothing says what body"),
        (["route", "BOOK", "axle@1", "--remove", "blank sawn"], "needs 'blank'"),
        (["sheet", "BOOK"], "ask for all"),
    ],
    ids=lambda value: value[-1] if isinstance(value, list) else "",
)
def test_bad_input_is_named_and_ends_in_two(book, capsys, arguments, words):
    assert run([book if a == "BOOK" else a for a in arguments]) == 2
    assert words in capsys.readouterr().err


def test_set_ups_as_json(book, capsys):
    assert run(["setups", book, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["at_least"] <= found["count"] < found["each_alone"]
    wheels = next(s for s in found["set_ups"] if s["set_up"] == "2: front and tread")
    assert {p["piece"].partition("@")[0] for p in wheels["pieces"]} == {"wheel"}


def test_a_route_as_json_ends_its_cuts_in_the_aim(book, capsys):
    assert run(["route", book, "axle@1", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    turned = next(
        op for s in found["set_ups"] for op in s["operations"] if op["operation"] == "seat_left.diameter turned"
    )
    assert turned["passes"][-2]["measure"]
    assert turned["passes"][-1]["size_mm"] == pytest.approx(15.862, abs=0.02)  # bore 15.912 made, less 0.03 to 0.10


def test_every_sheet_of_the_demo(book, tmp_path):
    assert run(["sheet", book, "--all", "-o", str(tmp_path / "all.txt")]) == 0
    assert (tmp_path / "all.txt").read_text(encoding="utf-8").count("\f") > 100
