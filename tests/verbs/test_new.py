"""new: a book for one arrangement, with every size still to be filled in."""

from __future__ import annotations

import pytest

from asmade.measure.errors import Damaged, Unknown
from asmade.verbs.drawn import drawn
from asmade.verbs.new import new
from asmade.verbs.store import read_build


def test_a_new_book_is_there_and_says_what_is_to_be_filled_in(tmp_path):
    path = tmp_path / "shunter.asmade"
    made = new(path, arrangement="0-6-0", rods="knuckle", title="Shunter")
    design = read_build(path).design
    assert (design.title, design.arrangement, design.drawing_unit, design.leads) == ("Shunter", "0-6-0", "inch", "R")
    assert (made.parts, made.relations) == (len(design.parts), len(design.relations))
    assert made.dimensions == sum(len(part.dims) for part in design.parts.values())
    assert "wheel.bore" in made.to_fill_in
    assert "rod_bush.offset" not in made.to_fill_in, "the kit says 0"
    assert "frame.horn_at.2" not in made.to_fill_in, "the driving horn is where positions start"
    assert "wheelset.back_to_back" not in made.to_fill_in, "it comes of the axle"
    assert all(not design.parts[name.split(".")[0]].dims[name.partition(".")[2]].drawn for name in made.to_fill_in)


def test_without_a_title_the_file_gives_it(tmp_path):
    assert read_build(new(tmp_path / "pug.asmade", arrangement="0-4-0").path).design.title == "pug"


def test_a_size_is_filled_in_by_command(tmp_path):
    path = new(tmp_path / "a.asmade").path
    drawn(path, "wheel.bore", "5/8")
    assert read_build(path).design.parts["wheel"].dims["bore"].drawn == "5/8"


def test_options_reach_the_book(tmp_path):
    made = new(tmp_path / "a.asmade", arrangement="0-8-0", unit="mm", driven="2", leads="L")
    design = made.saved.build.design
    assert (design.drawing_unit, design.places.driven, design.leads) == ("mm", "2", "L")
    assert design.parts["crank_pin_driving"].places == ("2L", "2R")


def test_what_if_writes_nothing(tmp_path):
    path = tmp_path / "a.asmade"
    made = new(path, what_if=True)
    assert made.parts > 20
    assert made.saved.entries == ()
    assert not path.exists()


def test_an_existing_file_is_refused_untouched(tmp_path):
    path = tmp_path / "a.asmade"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(Damaged, match="there is a file of that name already"):
        new(path)
    assert path.read_text(encoding="utf-8") == "mine"


def test_an_arrangement_that_is_not_there_leaves_nothing_behind(tmp_path):
    with pytest.raises(Unknown, match="arrangement"):
        new(tmp_path / "a.asmade", arrangement="0-3-0")
    assert list(tmp_path.iterdir()) == []
