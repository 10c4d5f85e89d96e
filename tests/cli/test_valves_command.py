"""asmade valves as typed: exit codes, words, JSON, pictures."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET

import pytest

from asmade.book.text import read_text
from asmade.cli import app
from asmade.verbs.store import start


@pytest.fixture(scope="module")
def book(tmp_path_factory, gear_text):
    path = tmp_path_factory.mktemp("valves") / "g.asmade"
    start(path, read_text(gear_text))
    return str(path)


@pytest.fixture
def asmade(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "120")  # a terminal in which no line of the answer is broken

    def call(*words, code=0):
        assert app.run([*words]) == code
        return capsys.readouterr()

    return call


def test_advice_stands_first_and_then_the_table(book, asmade):
    said = asmade("valves", book).out
    assert said.index("shorten the eccentric rod") < said.index("right side, facing forward")
    assert said.index("right side, facing forward") < said.index("left side, facing forward")
    assert "75.5  75.0" in said  # cut-off, front and back, full forward gear, by the independent program 75.451, 74.983


def test_json_by_its_documented_keys(book, asmade):
    told = json.loads(asmade("valves", book, "--json", "--position", "1", "--position", "-0.5").out)
    keys = "gear kind values set not_measured advice positions beats differences findings estimates"
    assert set(keys.split()) == set(told)
    assert [row["reverser"] for row in told["positions"]] == [1.0, 1.0, -0.5, -0.5]
    ends = told["positions"][0]["ends"]
    assert {"lead_mm", "admission", "cutoff", "release", "compression", "max_opening_mm"} <= set(ends["front"])
    assert set(ends) == {"front", "back"}


@pytest.mark.parametrize("values", ["best", "drawn", "chosen"])
def test_which_sizes(book, asmade, values):
    assert f"{values} sizes" in asmade("valves", book, "--values", values).out


def test_what_to_set_and_what_matters(book, asmade):
    said = asmade("valves", book, "--set").out
    assert said.index("Find both dead centres first") < said.index("Check the leads")
    assert "no steam on" in said
    assert json.loads(asmade("valves", book, "--set", "--adjust", "mid", "--json").out)["sides"][0]["side"] == "R"
    said = asmade("valves", book, "--matters").out
    assert "being out does" in said
    assert json.loads(asmade("valves", book, "--matters", "--json").out)["sides"][1]["dimensions"]


def test_a_proposal_is_shown_and_writes_nothing(book, asmade):
    words = ("--wish", "cutoff=75 %", "--wish", "lead=0.25 mm", "--wish", "travel=12 mm")
    said = asmade("valves", book, "--propose", *words).out
    assert "combination_lever@R.top" in said
    assert "Nothing is written" in said
    assert json.loads(asmade("valves", book, "--propose", *words, "--json").out)["sizes"]
    assert "NAME=AMOUNT" in asmade("valves", book, "--propose", "--wish", "cutoff", code=2).err


@pytest.mark.parametrize("picture", ["oval", "openings", "polar", "gear", "sweeps"])
def test_pictures(book, asmade, tmp_path, picture):
    file = tmp_path / "p.svg"
    asmade("valves", book, "--svg", str(file), "--picture", picture, "--width", "360", "--side", "L")
    root = ET.fromstring(file.read_text(encoding="utf-8"))  # noqa: S314  # our own file
    assert root.tag.endswith("svg")
    assert "left side" in "".join(root.itertext())


@pytest.mark.parametrize(("words", "said"), [
    (("--position", "1.5"), "is not within -1 (full backward) to +1"),
    (("--values", "wanted"), "one of: best, drawn"),
    (("--values", "made"), "not known"),
    (("--gear", "other"), "valve gear"),
    (("--svg", "x.svg", "--picture", "ovl"), "did you mean oval"),
    (("--svg", "x.svg", "--side", "both"), "R or L"),
    (("--set", "--adjust", "nothing"), "dimension to adjust"),
])  # fmt: skip
def test_bad_input_is_one_clear_line_and_exit_code_2(book, asmade, words, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    told = asmade("valves", book, *words, code=2)
    assert said in told.err + told.out
    assert not (tmp_path / "x.svg").exists()


def test_a_book_without_a_gear_says_so(tmp_path, asmade):
    path = tmp_path / "n.asmade"
    asmade("new", str(path))
    said = asmade("valves", str(path), code=2).err
    assert "no [[valve_gear]]" in said
    assert "--gear walschaerts" in said


def test_a_new_book_with_the_gear_names_what_is_to_be_filled_in(tmp_path, asmade):
    path = tmp_path / "n.asmade"
    asmade("new", str(path), "--gear", "walschaerts")
    said = asmade("valves", str(path), code=2).err
    assert "not known" in said
    assert "wheel@2R.crank_radius" in said
    assert "asmade drawn" in said
    asmade("new", str(tmp_path / "m.asmade"), "--gear", "walschart", code=2)


def test_what_is_farthest_and_the_beats_stand_under_the_table(book, asmade):
    said = " ".join(asmade("valves", book, "--position", "1", "--position", "0.5").out.split())
    assert re.search(r"die slips up to \d\.\d\d mm \(\+\d\.\d\d\); link swings up to 4\d\.\d deg in all", said)
    assert "nearest to a line: eccentric rod and expansion link" in said
    assert said.count("deg of crank apart.") == 2
