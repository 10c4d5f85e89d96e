"""The cutting list of a book: which pieces, from what, what is said where nothing can be told, exit codes, the demo."""

from __future__ import annotations

import json

import pytest

from asmade.cli.app import run
from asmade.measure.errors import Refused, Unknown
from asmade.verbs.cutlist import Asked, cutlist, cutlist_of, plain, plain_buy, read_asked
from asmade.verbs.demo import demo
from asmade.work.blanks import Allowances

BOOK = """
[part.pin]
places = ["1L", "1R", "2L", "2R"]
material = "silver steel"
form = { kind = "turned", sections = ["seat", "journal"] }
[part.pin.dim]
seat.diameter    = { kind = "shaft", drawn = "6 mm", process = "turned" }
seat.length      = { kind = "length", drawn = "12 mm" }
journal.diameter = { kind = "shaft", drawn = "8 mm", process = "stock as is" }
journal.length   = { kind = "length", drawn = "17 mm" }

[part.bush]
places = ["L", "R"]
material = "phosphor bronze"
form = { kind = "turned", sections = ["outside"] }
[part.bush.dim]
outside = { kind = "shaft", drawn = "12 mm", process = "turned" }
length  = { kind = "length", drawn = "10 mm" }

[part.bracket]
places = ["engine"]
material = "brass"
[part.bracket.dim]
length = { kind = "length", drawn = "30 mm" }

[part.wheel]
places = ["1L", "1R"]
material = "cast iron"
form = { kind = "casting", of = { kind = "block" } }
[part.wheel.dim]
length = { kind = "length", drawn = "30 mm" }

[[shop.stock]]
form = "ground bar"
material = "115CrV3"
size = "8 mm"
length = "70 mm"
count = 2
[[shop.stock]]
form = "round bar"
material = "phosphor bronze"
size = "16 mm"
length = "200 mm"
"""


@pytest.fixture
def build(fold_text):
    def make(more=""):
        return fold_text(BOOK + more)

    return make


def group(result, material):
    (found,) = [g for g in result.groups if g.section.material == material]
    return found


def test_pieces_come_from_the_rack_by_any_name_of_their_material(build):
    """Four pins of 30 mm and 2 a cut: two go on each 70 mm end of silver steel, whose number is 115CrV3 (by hand)."""
    pins = group(cutlist_of(build(), Asked()), "silver steel")
    assert (pins.section.shape, pins.section.size_mm) == ("ground bar", 8)
    assert [b.length_mm for b, _ in pins.blanks] == [30]
    assert [(bar.bar.length_mm, len(bar.pieces)) for bar in pins.plan.bars] == [(70, 2), (70, 2)]
    assert pins.plan.proven


def test_turned_sizes_come_from_the_next_bar_in_the_rack_that_is_no_waste(build):
    bush = group(cutlist_of(build(), Asked()), "phosphor bronze")
    assert bush.section.size_mm == 16
    empty = group(cutlist_of(build(), Asked(use_rack=False)), "phosphor bronze")
    assert empty.section.size_mm == 13  # 12 and 0.5 to turn off: the next metric size


def test_made_pieces_are_not_cut_again(build):
    made = """
    [[made]]
    piece = "pin#1L"
    dim = "seat.diameter"
    reading = "6.2"
    instrument = "mic"
    stage = "on the way"
    at = 2026-11-02T10:20:00
    """
    result = cutlist_of(build(made), Asked())
    assert sum(n for _, n in group(result, "silver steel").blanks) == 3
    assert result.made == 1


def test_a_part_without_a_blank_says_what_to_enter_and_takes_it(build):
    (nothing,) = cutlist_of(build(), Asked()).no_blank
    assert nothing.part == "bracket"
    assert "blank = {" in nothing.enter
    said = """
    [part.stay]
    places = ["1", "2", "3"]
    material = "brass"
    form = { kind = "turned", blank = { shape = "hexagon bar", size = "10 mm", length = "52 mm", pieces = 2 } }
    """
    result = cutlist_of(build(said), Asked())
    stay = group(result, "brass")
    assert (stay.section.shape, stay.section.size_mm) == ("hexagon bar", 10)
    assert [n for _, n in stay.blanks] == [2]  # three pieces, two out of each blank


def test_castings_are_bought_and_bars_have_their_mass(build):
    lines = cutlist_of(build(), Asked(use_rack=False)).buy
    assert [(b.what, b.count) for b in lines if b.section.material == "cast iron"] == [("casting", 2)]
    (steel,) = [b for b in lines if b.section.material == "silver steel"]
    assert steel.mass_kg == pytest.approx(3.14159 / 4 * 64 * 333 * 7.85e-6, rel=0.01)
    assert steel.for_parts == ("pin",)


def test_a_thick_bar_of_which_little_is_wanted_may_be_had_cut_to_length(build):
    cover = """
    [part.cover]
    places = ["L"]
    material = "cast iron"
    form = { kind = "turned", blank = { shape = "round bar", size = "85 mm", length = "8 mm" } }
    """
    assert "a piece of 10 mm would do" in group(cutlist_of(build(cover), Asked()), "cast iron").notes[0]


def test_allowances_change_the_length(build):
    asked = Asked(allow=Allowances(facing_each_end_mm=1, chucking_mm=10))
    assert [b.length_mm for b, _ in group(cutlist_of(build(), asked), "silver steel").blanks] == [41]


def test_a_piece_longer_than_any_bar_is_named(build):
    result = cutlist_of(build(), Asked(lengths_mm=(20.0,), use_rack=False))
    assert result.short
    assert "--lengths" in group(result, "silver steel").notes[-1]


@pytest.mark.parametrize(
    ("blank", "error", "words"),
    [
        ('{ shape = "roundbar", size = "10 mm", length = "20 mm" }', Unknown, "round bar"),
        ('{ shape = "round bar", length = "20 mm" }', Refused, "size is missing"),
        ('{ shape = "flat bar", size = "10 mm", length = "20 mm" }', Refused, "width and a thickness"),
        ('{ shape = "round bar", size = "10 mm", length = "20 mm", pieces = 1.5 }', Refused, "whole number"),
        ('{ shape = "round bar", size = "10 mm", length = "20 mm", colour = "red" }', Unknown, "colour"),
    ],
)
def test_a_blank_that_cannot_be_read_is_refused_by_key(build, blank, error, words):
    text = f'[part.x]\nplaces = ["engine"]\nmaterial = "brass"\nform = {{ kind = "turned", blank = {blank} }}\n'
    with pytest.raises(error, match=words) as caught:
        cutlist_of(build(text), Asked())
    assert "part.x.form.blank" in str(caught.value)


def test_what_is_typed_is_read():
    asked = read_asked(kerf="1 mm", facing="0", lengths="330 mm, 1000 mm", keep="1 in")
    assert (asked.kerf_mm, asked.allow.facing_each_end_mm, asked.lengths_mm) == (1, 0, (330, 1000))
    assert asked.keep_mm == pytest.approx(25.4)
    with pytest.raises(Refused, match="lengths to buy"):
        read_asked(lengths=",")


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    demo(folder)
    (found,) = folder.glob("*.asmade")
    return found


def test_the_demo_is_cut_and_every_piece_is_accounted_for(path):
    result = cutlist(path)
    for one in result.groups:
        cut = sum(len(bar.pieces) for bar in one.plan.bars) + len(one.plan.missing)
        assert cut == sum(n for _, n in one.blanks)
        assert one.plan.proven
        for bar in one.plan.bars:
            used = sum(length for _, length in bar.pieces) + one.plan.kerf_mm * (len(bar.pieces) - 1)
            assert used <= bar.bar.length_mm + 1e-6
    json.dumps(plain(result), allow_nan=False)
    assert plain_buy(result)["mass_kg"] > 0


def test_commands(path, capsys):
    assert run(["cutlist", str(path), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["groups"]
    assert data["no_blank"]
    assert run(["cutlist", str(path), "--part", "axle"]) in (0, 1)
    assert "pieces" in capsys.readouterr().out
    assert run(["buy", str(path)]) == 0
    said = capsys.readouterr().out
    assert "To buy" in said
    assert "kg in all" in said
    assert run(["buy", str(path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["buy"]


def test_bad_input_ends_with_2(path, capsys):
    assert run(["cutlist", str(path), "--part", "axel"]) == 2
    assert "did you mean axle" in capsys.readouterr().err
    assert run(["cutlist", str(path), "--kerf", "wide"]) == 2
    assert run(["buy", str(path), "--lengths", "0 mm"]) == 2
    assert run(["cutlist", "missing.asmade"]) == 2
