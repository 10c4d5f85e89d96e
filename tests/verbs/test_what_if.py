"""what if: what would move is what does move once it is saved; nothing is saved by asking."""

from __future__ import annotations

import json

import pytest

from asmade.cli.app import run
from asmade.measure.errors import AsmadeError
from asmade.reckon.values import compute
from asmade.verbs import choose, demo
from asmade.verbs.check import findings_of
from asmade.verbs.store import read
from asmade.verbs.what_if import what_if


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    return demo.demo(tmp_path_factory.mktemp("what-if")).path


def asked(book, **sizes):
    opened = read(book)
    values = compute(opened.build)
    return what_if(opened, values, findings_of(values), {k.replace("__", "."): v for k, v in sizes.items()})


def test_what_would_move_is_what_does_move(tmp_path):
    book = demo.demo(tmp_path).path
    found = asked(book, wheel__boss_width="13.5")
    last = read(book).last
    before = {(f.code, f.subject): f for f in findings_of(compute(read(book).build))}
    assert read(book).last == last
    choose.set_chosen(book, "wheel.boss_width", "13.5")
    after = {(f.code, f.subject): f for f in findings_of(compute(read(book).build))}
    moved = {key for key, f in before.items() if (f.verdict, f.value, f.margin) != (
        after[key].verdict, after[key].value, after[key].margin)}  # fmt: skip
    assert moved
    assert {(m.after.code, m.after.subject) for m in found.moved} == moved
    for m in found.moved:
        assert m.after.margin == pytest.approx(after[m.after.code, m.after.subject].margin, abs=1e-9)
    assert found.still == len(before) - len(moved)


def test_a_made_size_is_tried_as_if_it_measured_so(book):
    found = asked(book, **{"wheel@1L__bore": "16.2"})
    (put,) = found.put
    assert put.made
    assert put.after == pytest.approx(16.2, abs=0.02)
    assert any("1L" in m.after.subject or "axle@1" in m.after.subject for m in found.moved)


@pytest.mark.parametrize(
    ("sizes", "said"),
    [({}, "no size"), ({"wheel.bor": "16"}, "bore"), ({"whel.bore": "16"}, "wheel"), ({"wheel.bore": "16"}, "name one"),
     ({"wheel@9X.bore": "16"}, "place"), ({"wheel.boss_width": ""}, "figure"), ({"wheel.boss_width": "1e999"}, "1e999"),
     ({"wheel#W1.bore": "16"}, "mark")],
)  # fmt: skip
def test_what_cannot_be_tried_is_named(book, sizes, said):
    opened = read(book)
    values = compute(opened.build)
    with pytest.raises(AsmadeError, match=said):
        what_if(opened, values, (), sizes)


def test_the_command_says_it_and_saves_nothing(book, capsys):
    last = read(book).last
    assert run(["what-if", str(book), "wheel.boss_width=13.5", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["put"][0]["after"] == pytest.approx(13.5, abs=0.02)  # what turning usually leaves over is known of
    assert run(["what-if", str(book), "wheel.boss_width=13.5"]) == 0
    assert "nothing was saved" in capsys.readouterr().out
    assert run(["what-if", str(book), "wheel.boss_width"]) == 2
    assert "there is no =" in capsys.readouterr().err
    assert read(book).last == last
