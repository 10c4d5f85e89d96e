"""asmade sketch and asmade profile: what they say, what they write, what they refuse."""

from __future__ import annotations

import json

import pytest

from asmade.cli.app import run
from asmade.verbs.demo import demo


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    return str(demo(tmp_path_factory.mktemp("sketch")).path)


def test_a_sketch_in_words_as_json_and_drawn(book, tmp_path, capsys):
    out = tmp_path / "axle.svg"
    assert run(["sketch", book, "axle@2", "--svg", str(out), "--width", "128 mm"]) == 0
    said = capsys.readouterr().out
    assert "goes into 147.5" in said
    assert out.read_text().startswith("<svg")
    assert 'width="483.78' in out.read_text()  # 128 mm at 96 px to the inch
    assert run(["sketch", book, "axle@2", "--values", "drawn", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    seat = next(d for d in data["dimensions"] if d["name"] == "seat_left.diameter")
    assert seat["written"] == ["5/8 in"]
    assert run(["sketch", book, "axle@2", "--svg", str(out)]) == 2  # it is there already
    assert "--replace" in capsys.readouterr().err


def test_a_profile_is_written(book, tmp_path, capsys):
    out = tmp_path / "rod.dxf"
    assert run(["profile", book, "coupling_rod_front@12L", "-o", str(out), "--allowance", "0.3 mm"]) == 0
    said = capsys.readouterr().out
    assert "outline 0.3 mm outside" in said
    assert "the other hand" in said
    assert b"AC1024" in out.read_bytes()
    assert run(["profile", book, "coupling_rod_front@12L", "--json", "--holes-under", "0.5 mm"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {round(h["finished_mm"] - h["cut_mm"], 6) for h in data["holes"]} == {0.5}


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (["sketch", "BOOK", "cylinder_setting"], "nothing says what it looks like"),
        (["sketch", "BOOK", "axel"], "axle"),
        (["sketch", "BOOK", "axle", "--values", "chose"], "chosen"),
        (["sketch", "BOOK", "axle", "--svg", "x.svg", "--width", "20 mm"], "240 px"),
        (["profile", "BOOK", "axle"], "only a rod or a plate"),
        (["profile", "BOOK", "frame", "--allowance", "9 mm"], "0 to 5 mm"),
    ],
)
def test_what_is_refused_says_why(book, call, words, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run([book if word == "BOOK" else word for word in call]) == 2
    assert words in capsys.readouterr().err
