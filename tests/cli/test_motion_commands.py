"""wheels, gaps, diagnose and the bench sums as a builder types them: exit codes, tables, JSON, bad input."""

from __future__ import annotations

import json

import pytest

from asmade.cli.app import run
from asmade.verbs.demo import demo


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    return str(demo(tmp_path_factory.mktemp("demo")).path)


@pytest.fixture
def asmade(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "200")  # so that no word is folded over two lines

    def call(*words, code=0):
        assert run([str(w) for w in words]) == code
        said = capsys.readouterr()
        return said.err if code == 2 and "--json" not in words else said.out

    return call


def test_wheels_holds_free_and_fails_blocked(asmade, book, tmp_path):
    picture = tmp_path / "slack.svg"
    said = asmade("wheels", book, "--samples", "50", "--svg", picture)
    assert "blocked" in said
    assert "free" in said
    assert "drawn only" in said
    assert picture.read_text().startswith("<svg")
    said = asmade("wheels", book, "--boxes", "blocked", "--samples", "50", "--working", code=1)
    assert "quarter axles 1 and 2, not yet set, at 90.450 degrees" in said
    assert "only hides it" in said


def test_wheels_as_json(asmade, book):
    data = json.loads(asmade("wheels", book, "--json", "--boxes", "blocked", "--samples", "50", code=1))
    assert [s["section"] for s in data["sections"]] == ["12", "23"]
    assert data["sections"][1]["slack_blocked_mm"] < 0 < data["sections"][1]["slack_mm"]
    assert json.loads(asmade("wheels", book, "--json", "--wanted", "x", code=2))["error"]["code"] == "unreadable"


def test_gaps(asmade, book, tmp_path):
    for more in ([], ["--stack", "1R"], ["--at", "90"]):
        picture = tmp_path / "gap.svg"
        said = asmade("gaps", book, "--side", "R", "--svg", picture, *more)
        assert "slide bar lug" in said
        assert picture.read_text().startswith("<svg")
    said = asmade("gaps", book, "--wanted", "0.8 mm", "--curve", "6000 mm", "--gauge", "5 in", code=1)
    assert "leading_pin_cap@1R.flange" in said
    assert "least curve by side play and flanges" in said
    data = json.loads(asmade("gaps", book, "--json", "--side", "R"))
    assert {"a", "b", "gap_mm", "at_deg", "worst_mm", "shares"} <= set(data["pairs"][0])
    assert "x" in asmade("gaps", book, "--side", "x", code=2)
    assert "cannot" in asmade("gaps", book, "--svg", tmp_path / "no" / "such" / "folder.svg", code=2)


def test_diagnose(asmade, book):
    said = asmade("diagnose", book, "23: 15-70, 195-250", "--builds", "40")
    assert "What is probably wrong" in said
    assert "Tells most" in said
    data = json.loads(asmade("diagnose", book, "23: 15-70, 195-250", "--builds", "40", "--json"))
    assert data["causes"]
    assert "nothing was observed" in asmade("diagnose", book, code=2)
    assert "write for example" in asmade("diagnose", book, "23 tight", code=2)


@pytest.mark.parametrize("command", ["wheels", "gaps", "diagnose"])
def test_a_book_without_wheels_is_refused_by_name(asmade, tmp_path, command):
    text = tmp_path / "bare.toml"
    text.write_text('[book]\nformat = 1\ntitle = "bare"\ndrawing_unit = "mm"\n')
    asmade("import", tmp_path / "bare.asmade", text, "--new")
    said = asmade(command, tmp_path / "bare.asmade", *(["23: nowhere"] if command == "diagnose" else []), code=2)
    assert "axles" in said or "sides" in said


def test_check_holds_bindings_and_gaps(asmade, book):
    data = json.loads(asmade("check", book, "--json", code=1))
    of = {f["subject"]: f for f in data["findings"] if f["code"] in ("binding", "gap", "piston_room")}
    assert of["wheels turn freely@23"]["verdict"] == "close"
    assert of["nothing touches, pin cap 1 to slide bar lug@R"]["verdict"] in ("close", "holds")
    assert of["room by the bumping marks, front@R"]["verdict"] in ("close", "holds")
    assert len(of) == 2 + 10 + 4


@pytest.mark.parametrize("name", ["quarter", "radius", "centres", "curve"])
def test_bench_sums_show_an_example(asmade, name):
    said = asmade("reckon", name)
    assert said.startswith(f"for example: asmade reckon {name} ")
    assert "source: " in said


def test_quarter_from_heights(asmade):
    """By hand: r 24, both pins 24 sin 45 = 16.9706 above the axle is 90 degrees."""
    over = str(50 + 16.9705627 + 4)
    data = json.loads(asmade("reckon", "quarter", "--leading", over, "--following", over, "--over-journal", "59",
                             "--journal", "18", "--pin", "8", "--radius", "24", "--json"))  # fmt: skip
    assert data["quarter_deg"] == pytest.approx(90.0, abs=1e-5)
    assert data["uncertainty_minutes"] > 0
    assert "missing are" in asmade("reckon", "quarter", "--leading", "70", code=2)
    assert "45 degrees" in asmade("reckon", "quarter", "--leading", "78", "--following", "78", "--over-journal", "59",
                                  "--journal", "18", "--pin", "8", "--radius", "24", code=2)  # fmt: skip


def test_radius_and_its_proof(asmade):
    data = json.loads(asmade("reckon", "radius", "14", "34", "--json"))
    assert data["radius_mm"] == pytest.approx(24.0)
    assert "differ" in asmade("reckon", "radius", "14", "34", "--sizes", "20.2", code=2)


def test_centres(asmade):
    """Anchors by hand: 128 over 8 and 8 is 120; 136.01, 136.03, 136.02 over 16 is 120.02; horns 120.04, 119.98: 120.01."""
    assert json.loads(asmade("reckon", "centres", "128", "--pins", "8", "--json"))["centres_mm"] == pytest.approx(120)
    data = json.loads(asmade("reckon", "centres", "136.01", "136.03", "136.02", "--pins", "16", "--slack", "0.06",
                             "--reads-to", "0.002", "--json"))  # fmt: skip
    assert data["centres_mm"] == pytest.approx(120.02)
    assert data["suffices"] is False
    assert data["more_readings"] > 0
    data = json.loads(asmade("reckon", "centres", "120.04", "119.98", "--horns", "--json"))
    assert data["centres_mm"] == pytest.approx(120.01)
    assert "two" in asmade("reckon", "centres", "120", "--horns", code=2)


def test_curve(asmade):
    """W 220, h 2: 3026 mm; 3.5 - 3.28 - 2 x 0.080 in is 0.060 in (published comparison of wheel standards)."""
    data = json.loads(asmade("reckon", "curve", "--centres", "110", "--centres", "110", "--freedom", "1", "--json"))
    assert data["least_radius_mm"] == pytest.approx(3026)
    data = json.loads(asmade("reckon", "curve", "--gauge", "3.5 in", "--back-to-back", "3.28 in", "--flange", "0.080 in",
                             "--json"))  # fmt: skip
    assert data["between_rails_mm"] == pytest.approx(0.060 * 25.4)
    assert "3 axles" in asmade("reckon", "curve", "--centres", "110", "--centres", "110", "--freedom", "1", "--freedom",
                               "1", code=2)  # fmt: skip
    assert "wants" in asmade("reckon", "curve", "--freedom", "1", code=2)
