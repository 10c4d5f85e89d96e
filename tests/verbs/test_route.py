"""route, setups and sheet of the demo: verbs, commands, exit codes."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from asmade.book.text import Draft
from asmade.cli.app import run
from asmade.measure.errors import Refused, Unknown
from asmade.verbs import demo, done, piece, progress, route, sheet, store
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
        (["route", "BOOK", "frames_assembled"], "put together"),
        (["route", "BOOK", "cylinder_setting@L"], "nothing says what body"),
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


# ---- progress: what is done, what comes next
def test_an_operation_is_done_by_its_key_and_shown_in_route_and_set_ups(book):
    result = done.done(book, "wheel@2R", "Back Faced", at="2026-11-08T10:00")
    assert result.operation == "back faced"
    assert result.planned
    assert result.skipped == ("casting looked at",)  # it comes before and nobody entered it
    assert result.next.key == "bore centred"
    found = {op.key: op for op in route.route(book, "wheel#W4").route.operations}
    assert found["back faced"].done_words == "done 2026-11-08"
    assert found["casting looked at"].state == "gone by"
    assert found["bore centred"].state == ""


def test_words_that_are_no_operation_are_kept_with_those_that_read_like_it(book):
    result = done.done(book, "wheel@2R", "bore reemed")
    assert not result.planned
    assert "bore reamed" in result.near
    assert result.operation == "bore reemed"


def test_an_operation_is_undone_by_withdrawing_its_entry(book):
    done.done(book, "wheel@2R", "back faced")
    saved = done.undo(book, "wheel@2R", "back faced", why="wrong wheel")
    assert saved.entries
    assert not any(op.state == "done" for op in route.route(book, "wheel@2R").route.operations)
    with pytest.raises(Unknown, match="operation done to wheel#W4"):
        done.undo(book, "wheel@2R", "back faced")


def test_what_is_measured_need_not_be_done_and_progress_goes_with_the_piece(book):
    begun = {p.piece: p for p in progress.progress(book) if p.begun}
    wheel = begun["wheel#W1"]  # its bore has been measured
    states = {op.key: op.state for op in route.route(book, "wheel#W1").route.operations}
    assert states["bore reamed"] == "measured"
    assert states["bore drilled"] == "gone by"
    assert 0 < wheel.done < wheel.operations
    done.done(book, "wheel#W4", "back faced")
    piece.piece(book, "wheel#W5", "2R")
    assert "done" not in {op.state for op in route.route(book, "wheel@2R").route.operations}


def test_set_ups_that_are_done_are_left_out(book):
    def members():
        found = route.setups(book)
        return {
            (piece, found.setup((piece, k))[0].name) for b in found.batches.batches for piece, k in b.members
        }  # fmt: skip

    assert ("brake_beam@1", "0: blank") in members()
    done.done(book, "brake_beam@1", "blank sawn")
    assert ("brake_beam@1", "0: blank") not in members()
    assert ("brake_beam@1", "1: left end") in members()


# ---- the builder's changes
def test_changes_by_function_are_entries_and_can_be_withdrawn(book):
    one = route.add(book, "axle@1", "blued", before="seat_left.diameter turned", text="blue it")
    two = route.move(book, "axle@1", "left end faced", after="journal.diameter as bought")
    three = route.edit(book, "axle@1", "left end faced", "face it my way")
    four = route.note(book, "axle@1", "left end faced", "use the back stop")
    five = route.add(book, "axle@1", "wiped", after="blued")
    for each in (one, two, three, four, five):
        assert each.saved.entries
    keys = [op.key for op in five.route.operations]
    assert keys.index("blued") + 1 == keys.index("wiped")
    op = next(op for op in five.route.operations if op.key == "left end faced")
    assert (op.words, op.note) == ("face it my way", "use the back stop")
    assert len(route.route(book, "axle@3").route.edits) == 5
    with pytest.raises(Refused, match=r"needs 'blank' from it"):
        route.remove(book, "axle@1", "blank sawn")
    gone = route.remove(book, "axle@1", "wiped", what_if=True)
    assert "wiped" not in [op.key for op in gone.route.operations]
    assert "wiped" in [op.key for op in route.route(book, "axle@1").route.operations]


def test_an_old_change_that_no_longer_fits_does_not_stop_a_new_one(book):
    """A note to an operation that another form had: the next change is made, the old one still named."""
    opened = store.read(book)
    old = route.Edit("axle", "note", "keyway milled", text="from the first drawing")
    store.save(opened, [Draft("note", old.body())])
    result = route.note(book, "axle@1", "left end faced", "use the back stop")
    assert any("keyway milled" in words and "no longer fits" in words for words in result.route.warnings)
    assert next(op for op in result.route.operations if op.key == "left end faced").note == "use the back stop"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--add", "blued"], "--before OPERATION, or --after OPERATION"),
        (["--edit", "left end faced"], "--text WORDS"),
        (["--move", "left end faced", "--after", "left end faked"], "did you mean left end faced"),
        (["--edit", "left end faked", "--text", "x"], "did you mean left end faced"),
    ],
    ids=["beside", "text", "after what", "which"],
)
def test_a_change_that_cannot_be_is_named(book, capsys, arguments, words):
    assert run(["route", book, "axle@1", *arguments]) == 2
    assert words in " ".join(capsys.readouterr().err.split())


def test_done_without_an_operation_shows_how_far_it_is(book, capsys):
    assert run(["done", book, "wheel#W4", "back faced"]) == 0
    assert "next: bore centred (1: back and bore)" in capsys.readouterr().out
    assert run(["done", book, "wheel#W4"]) == 0
    shown = capsys.readouterr().out
    assert "x back faced  done 20" in shown
    assert "> bore centred" in shown
    assert run(["done", book]) == 0
    assert "wheel#W4" in capsys.readouterr().out
    assert run(["done", book, "wheel#W4", "back faced", "--undo"]) == 0
    assert "taken back by entry" in capsys.readouterr().out


def test_a_sheet_ticks_what_is_done(book):
    done.done(book, "wheel@2R", "back faced", at="2026-11-08")
    text = text_of(sheet.sheet(book, "wheel@2R").sheets[0])
    assert "[x] done 2026-11-08: Face rim and boss flush" in " ".join(text.split())
    assert "[ ] Centre drill for the bore" in " ".join(text.split())


def test_the_answers_have_the_documented_keys(book, capsys):
    """Keys of the answers stand in docs/json.md."""
    text = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")

    def keys(*arguments):
        assert run([*arguments, "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    found = keys("route", book, "axle@1")
    row = next(line for line in text.splitlines() if line.startswith("| `route` |"))
    named = set(re.findall(r"`(\w+)`", row))
    operation = found["set_ups"][0]["operations"][0]
    assert {*found, *found["set_ups"][0], *operation, *found["stock"]} <= named
    row = next(line for line in text.splitlines() if line.startswith("| `setups` |"))
    assert set(keys("setups", book)) <= set(re.findall(r"`(\w+)`", row))
    assert set(keys("done", book)["pieces"][0]) == {"piece", "place", "done", "operations", "last", "next"}
