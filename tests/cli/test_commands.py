"""Every command as a builder types it: exit codes, tables, JSON by its documented keys, bad input."""

from __future__ import annotations

import json

import pytest

from asmade.book.text import read_text
from asmade.cli.app import run
from asmade.verbs import store

BOOK = """
[book]
title = "two wheels"
drawing_unit = "inch"
[figure]
load = { kind = "force", drawn = "" }
[part.wheel]
places = ["1L", "1R"]
[part.wheel.dim]
bore = { kind = "bore", drawn = "5/8", process = "reamed" }
face = { kind = "thickness", drawn = "9/16" }
[part.axle]
places = ["1"]
[part.axle.dim]
seat_left.diameter = { kind = "shaft", drawn = "5/8", process = "turned" }
seat_right.diameter = { kind = "shaft", drawn = "5/8", process = "turned" }
[[fit]]
name = "wheel on axle"
places = ["1L", "1R"]
hole = "wheel@{place}.bore"
shaft = "axle@{axle}.seat_{side_word}.diameter"
least = "0.03 mm"
most = "0.10 mm"
to_suit = "shaft"
[shop.instrument.mic]
unit = "mm"
reads_to = 0.002
[shop.tool.reamer]
kind = "reamer"
size = "15.9 mm"
"""


@pytest.fixture
def book(tmp_path):
    path = tmp_path / "two.asmade"
    store.start(path, read_text(BOOK))
    return str(path)


@pytest.fixture
def asmade(capsys):
    def call(*words, code=0):
        assert run([str(w) for w in words]) == code
        said = capsys.readouterr()
        return said.out if code != 2 or "--json" in words else said.err

    return call


def test_the_main_job_from_the_command_line(book, asmade):
    assert "two wheels" in asmade("show", book)
    assert "proven" in asmade("choose", book)
    said = asmade("made", book, "wheel@1R.bore", "15.90", "--instrument", "mic")
    assert "axle@1.seat_right.diameter" in said
    assert "15.8" in asmade("aim", book, "axle@1.seat_right.diameter")
    assert "axle#1" in asmade("next", book)
    assert "wheel#1R.bore made 15.90" in asmade("history", book)
    assert "15.90" in asmade("show", book, "wheel")
    assert "wheel on axle@1R" in asmade("show", book, "wheel@1R.bore")


def test_check_answers_in_json_by_its_documented_keys(book, asmade):
    data = json.loads(asmade("check", book, "--json"))
    wanted = {
        "code",
        "subject",
        "verdict",
        "value",
        "low",
        "high",
        "margin",
        "worst",
        "chance",
        "shares",
        "working",
        "source",
    }
    assert wanted <= set(data["findings"][0])
    assert set(data["findings"][0]["shares"][0]) == {"dimension", "share"}
    assert all(f["verdict"] in ("holds", "close", "fails", "not known", "no limits") for f in data["findings"])


def test_choose_aim_and_made_answer_in_json_by_their_documented_keys(book, asmade):
    data = json.loads(asmade("choose", book, "--json", "--what-if"))
    assert {"status", "could_improve_by", "changes", "conflict"} <= set(data)
    assert {"dimension", "drawn", "exact_mm", "chosen_mm", "why"} <= set(data["changes"][0])
    data = json.loads(asmade("made", book, "wheel@1R.bore", "15.90", "--instrument", "mic", "--json"))
    assert {"entry", "changed"} <= set(data)
    assert data["changed"][0]["dimension"] == "axle@1.seat_right.diameter"
    data = json.loads(asmade("aim", book, "axle@1.seat_right.diameter", "--json"))
    assert {"dimension", "low_mm", "high_mm", "target_mm", "because"} <= set(data)
    assert 15.80 < data["low_mm"] < data["target_mm"] < data["high_mm"] < 15.87


@pytest.mark.parametrize(
    "words",
    [["show"], ["show", "wheel"], ["show", "wheel@1R.bore"], ["check"], ["check", "--drawing"], ["next"], ["history"],
     ["shop"], ["pair", "wheel on axle"], ["choose", "--what-if", "--alternatives", "wheel.face"],
     ["drawn", "wheel.bore", "11/16", "--what-if"], ["piece", "wheel#W3", "--to", "spare", "--what-if"],
     ["withdraw", "1", "--what-if"]],
)  # fmt: skip
def test_every_command_answers_in_json(book, asmade, words):
    code = 2 if words[0] == "withdraw" else 0  # the first entry is the design: all the rest hangs on it
    data = json.loads(asmade(words[0], book, *words[1:], "--json", code=code))
    assert isinstance(data, dict)


def test_exit_code_1_when_something_fails_its_limits(book, asmade):
    asmade("made", book, "wheel@1R.bore", "15.90", "--instrument", "mic")
    asmade("made", book, "axle@1.seat_right.diameter", "15.95", "--instrument", "mic")
    said = asmade("check", book, code=1)
    assert "FAILS" in said


def test_a_conflict_has_exit_code_1_and_writes_nothing(book, asmade):
    asmade("choose", book, "--lock", "wheel.bore=17 mm", "--lock", "axle.seat_left.diameter=15 mm", code=1)
    assert len(json.loads(asmade("history", book, "--json"))["entries"]) == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["shw", "x"], "show"),
        (["show", "BOOK", "whel"], "wheel"),
        (["made", "BOOK", "wheel@1R.boor", "15.9"], "bore"),
        (["made", "BOOK", "wheel@1R.bore", "1.3/16"], "1.3/16"),
        (["made", "BOOK", "wheel@1R.bore"], "none"),
        (["aim", "BOOK"], "ADDRESS"),
        (["aim", "BOOK", "wheel@@"], "address"),
        (["choose", "BOOK", "--loosen", "wheel.bore"], "chosen"),
        (["pair", "BOOK", "axle on wheel"], "wheel on axle"),
        (["withdraw", "BOOK", "99"], "99"),
        (["withdraw", "BOOK", "x"], "x"),
        (["piece", "BOOK", "wheel#W1", "--to", "9Z"], "9Z"),
        (["shop", "BOOK", "--set", "[tool.x]"], "kind"),
        (["shop", "BOOK", "--remove", "tool.nothing"], "nothing"),
        (["drawn", "BOOK", "wheel.bore", "40 m"], "40 m"),
        (["check", "nowhere.asmade"], "nowhere"),
        (["show"], "BOOK"),
    ],
)
def test_bad_input_is_one_clear_line_and_exit_code_2(book, asmade, words, said):
    told = asmade(*(book if w == "BOOK" else w for w in words), code=2)
    assert said in told
    assert "Traceback" not in told


def test_refusals_in_json_too(book, asmade):
    data = json.loads(asmade("made", book, "wheel@1R.boor", "15.9", "--json", code=2))
    assert data["error"]["code"] == "unknown"
    assert "bore" in data["error"]["message"] + data["error"]["way_out"]


def test_readings_of_every_form(book, asmade):
    asmade("made", book, "wheel@1L.bore", "15.90", "15.91", "15.92", "--instrument", "mic")
    asmade("made", book, "wheel@1R.bore", "15.90", "15.94", "--spots", "--instrument", "mic")
    asmade("made", book, "wheel@1L.face", "--goes", "14.32", "--stops", "14.28")
    row = json.loads(asmade("show", book, "wheel@1L.bore", "--json"))
    assert row["best_mm"] == pytest.approx(15.91)
    assert json.loads(asmade("show", book, "wheel@1R.bore", "--json"))["best_mm"] == pytest.approx(15.90)


def test_addresses_are_completed(book):
    from asmade.verbs.addresses import beginning_with

    assert list(beginning_with(book, "wh")) == ["wheel"]
    assert "wheel@1L." in list(beginning_with(book, "wheel@"))
    assert list(beginning_with(book, "axle@1.seat_l")) == ["axle@1.seat_left.diameter"]
    assert list(beginning_with("nowhere.asmade", "wh")) == []


def test_nothing_found_is_said(asmade, book):
    assert "No requirement's name or sizes hold 'smokebox'" in asmade("check", book, "--about", "smokebox")
    assert "No entry speaks of 'smokebox'" in asmade("history", book, "smokebox")


@pytest.mark.parametrize("words", [("history", "--last", "-3"), ("next", "--most", "0"), ("choose", "--count", "0")])
def test_a_count_that_counts_nothing_is_bad_input(asmade, book, words):
    assert "is not in the range" in asmade(words[0], book, *words[1:], code=2)


def test_a_book_without_a_name_is_bad_input(asmade):
    assert "it has no name" in asmade("new", "", code=2)
    assert "it has no name" in asmade("show", " ", code=2)


def test_a_file_for_the_shop_that_is_no_text_is_refused(asmade, book, tmp_path):
    file = tmp_path / "shop.toml"
    file.write_bytes(b"\xff\xfe[shop]")
    assert "no text in UTF-8" in asmade("shop", book, "--file", file, code=2)


def test_a_machine_is_told_in_words(asmade, book):
    text = '[shop.machine.lathe]\nspeeds = [60, 110]\ncross_slide = { per_turn = "4 mm", reads = "diameter" }'
    said = " ".join(asmade("shop", book, "--set", text).split())
    assert "machine lathe: speeds 60, 110; cross slide (per turn 4 mm, reads diameter)" in said


def test_a_conflict_is_told_once_with_what_must_give(asmade, book):
    said = " ".join(asmade("choose", book, "--lock", "wheel.bore=99", "--what-if", code=1).split())
    assert "wheel.bore, locked at 99" in said
    assert said.count("The least that must give") == 1
    assert said.count("->") == 1
