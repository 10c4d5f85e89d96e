"""last-look, joined, undone, done, note and record as a builder types them: exit codes, tables, documented JSON."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from asmade.book.text import read_text
from asmade.cli.app import run
from asmade.verbs import store

BOOK = """
[book]
title = "one bush"
drawing_unit = "mm"
[part.rod]
places = ["L"]
[part.rod.dim]
eye = { kind = "bore", drawn = "10" }
[part.bush]
places = ["L"]
[part.bush.dim]
outside = { kind = "shaft", drawn = "10" }
bore = { kind = "bore", drawn = "8" }
[[fit]]
name = "bush in rod"
places = ["L"]
hole = "rod@{place}.eye"
shaft = "bush@{place}.outside"
least = "-0.03 mm"
most = "-0.01 mm"
[[joint]]
name = "bush pressed into rod"
places = ["L"]
fit = "bush in rod@{place}"
by = "press"
disturbs = ["bush@{place}.bore"]
[shop.instrument.mic]
unit = "mm"
reads_to = 0.001
"""
JOINT = "bush pressed into rod@L"


@pytest.fixture
def book(tmp_path):
    path = tmp_path / "bush.asmade"
    store.start(path, read_text(BOOK))
    return str(path)


@pytest.fixture
def measured(book, capsys):
    for size, reading in (("rod@L.eye", "10.000"), ("bush@L.outside", "10.020"), ("bush@L.bore", "7.9")):
        assert run(["made", book, size, reading, "--instrument", "mic"]) == 0
    capsys.readouterr()
    return book


def answer(capsys, *arguments, code=0):
    assert run([*arguments, "--json"]) == code
    return json.loads(capsys.readouterr().out)


def documented(command):
    """Keys that docs/json.md names for a command, outside the brackets that say what a key holds."""
    text = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")
    row = next(line for line in text.splitlines() if line.startswith(f"| `{command}`"))
    while "[" in row:
        shorter = re.sub(r"\[[^\[\]]*\]", "", row)
        assert shorter != row, "brackets that do not pair"
        row = shorter
    return set(re.findall(r"`([a-z_]+)`", re.sub(r"\([^()]*\)", "", row.split("|")[2])))


def test_stop_is_exit_code_one_and_go_is_nought(book, measured, capsys):
    assert run(["last-look", book, JOINT]) == 0
    shown = capsys.readouterr().out
    assert "GO" in shown
    assert "[ ]" in shown
    assert "not known until measured: bush@L.bore" in shown


def test_a_stop_names_its_reasons_and_the_way_out(book, capsys):
    assert run(["last-look", book, JOINT]) == 1
    shown = " ".join(capsys.readouterr().out.split())
    assert "STOP" in shown
    assert "rod@L.eye is not measured: out of reach afterwards" in shown
    assert "asmade made BOOK rod@L.eye READING" in shown
    assert run(["last-look", book, JOINT, "--despite", "tried on scrap"]) == 0
    assert "GO WITH A WRITTEN REASON" in capsys.readouterr().out


def test_joined_refuses_then_goes_with_a_written_reason(book, capsys):
    assert run(["joined", book, JOINT]) == 1
    err = capsys.readouterr().err
    assert "bush@L.outside is not measured" in err
    assert "--despite" in err
    stops = answer(capsys, "joined", book, JOINT, code=1)["error"]["stops"]
    assert {r["code"] for r in stops} == {"measure"}
    assert run(["joined", book, JOINT, "--despite", "tried on scrap", "--by", "H. G.", "--at", "2026-01-02T10:00"]) == 0
    shown = capsys.readouterr().out
    assert "despite: tried on scrap" in shown
    assert "measure bush@L.bore now" in shown
    assert run(["history", book, "--last", "1"]) == 0
    assert "2026-01-02 10:00" in capsys.readouterr().out


def test_the_answers_have_the_documented_keys(measured, capsys):
    look = answer(capsys, "last-look", measured, JOINT)
    assert set(look) == documented("last-look")
    assert look["verdict"] == "go"
    assert look["gap_mm"] == pytest.approx(-0.02)
    one = answer(capsys, "joined", measured, JOINT)
    assert set(one) == documented("joined")
    assert one["not_known_until_measured"] == ["bush@L.bore"]
    assert set(answer(capsys, "undone", measured, JOINT, "--how", "pressed out")) == documented("undone")
    assert set(answer(capsys, "done", measured, "rod@L", "eye reamed")) == documented("done")
    assert set(answer(capsys, "note", measured, "rod", "bent, straightened")) == documented("note")
    assert set(answer(capsys, "record", measured)) == documented("record")
    assert "curing" in answer(capsys, "show", measured)


def test_all_joints_at_a_glance(measured, capsys):
    assert run(["last-look", measured]) == 0
    assert JOINT in capsys.readouterr().out
    found = answer(capsys, "last-look", measured)["joints"]
    assert [(j["joint"], j["verdict"], j["joined"]) for j in found] == [(JOINT, "go", None)]
    assert run(["joined", measured, JOINT]) == 0
    capsys.readouterr()
    assert answer(capsys, "last-look", measured)["joints"][0]["joined"].startswith("20")


def test_near_names_and_refusals(measured, capsys):
    assert run(["last-look", measured, "bush presed into rod@L"]) == 2
    assert f"did you mean {JOINT}" in capsys.readouterr().err
    assert run(["lastlook", measured, JOINT]) == 2
    assert "did you mean last-look" in capsys.readouterr().err
    assert run(["undone", measured, JOINT, "--how", "pressed out"]) == 2
    assert "not joined" in capsys.readouterr().err
    assert run(["note", measured, "rodd", "x"]) == 2
    assert "did you mean rod" in capsys.readouterr().err


def test_the_record_on_screen_and_in_a_file(measured, tmp_path, capsys):
    assert run(["record", measured]) == 0
    shown = capsys.readouterr().out
    assert "WHERE IT WAS LEFT" in shown
    assert "10.020" in shown
    target = tmp_path / "record.txt"
    assert run(["record", measured, "-o", str(target)]) == 0
    assert "10.020" in target.read_text(encoding="utf-8")
    assert run(["record", measured, "-o", str(target)]) == 2
    assert run(["record", measured, "-o", str(target), "--replace"]) == 0


def test_photographs_come_out_again(measured, tmp_path, capsys):
    photo = tmp_path / "..bush.png"
    photo.write_bytes(b"\x89PNG\r\n\x1a\nxyz")
    assert run(["note", measured, "bush", "as turned", "--photo", str(photo)]) == 0
    out = tmp_path / "out"
    for _ in range(2):
        assert run(["record", measured, "--photos", str(out)]) == 0
    (found,) = out.iterdir()
    assert found.read_bytes() == photo.read_bytes()
    assert found.name.endswith("-__bush.png")
    assert "was there" in capsys.readouterr().err
