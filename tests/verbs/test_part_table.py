"""The table of a part entered in place: what is changed is saved as one, what cannot be read keeps all of it unsaved."""

from __future__ import annotations

import pytest

from asmade.book.address import Address
from asmade.reckon.values import compute
from asmade.verbs import demo, show
from asmade.verbs.check import findings_of
from asmade.verbs.part_table import Cell, enter, table_of
from asmade.verbs.store import read


@pytest.fixture
def book(tmp_path):
    return demo.demo(tmp_path).path


def seen(book, part="wheel"):
    opened = read(book)
    values = compute(opened.build)
    return opened, values, show.part_of(opened.build, part, values, findings_of(values))


def test_a_table_has_every_size_of_every_place(book):
    _, _, view = seen(book)
    groups = table_of(view.part, view.rows)
    assert [g.dimension.name for g in groups] == list(view.part.dims)
    assert sum(len(g.rows) for g in groups) == len(view.rows)


def test_what_is_left_as_it_stands_is_passed_over(book):
    opened, values, view = seen(book)
    cells = {Cell("drawn", d.name): d.drawn for d in view.part.dims.values()}
    cells |= {Cell("made", r.address.dim, r.address.place): r.made for r in view.rows}
    cells |= {Cell("chosen", g.dimension.name): g.chosen for g in table_of(view.part, view.rows)}
    entered = enter(opened, values, view, cells)
    assert entered.saved is None
    assert not entered.read
    assert not entered.refused


def test_all_columns_are_saved_as_one(book):
    opened, values, view = seen(book)
    cells = {Cell("drawn", "rim"): "3/16", Cell("chosen", "tyre_width"): "12.7", Cell("made", "bore", "2R"): "15.90"}
    entered = enter(
        opened, values, view, cells, instrument="telescopic gauge with micrometer 0-25", reference="sheet 9"
    )
    assert not entered.refused
    assert len(entered.saved.entries) == 3
    build = read(book).build
    assert build.design.parts["wheel"].dims["rim"].drawn == "3/16"
    assert build.chosen[Address("wheel", dim="tyre_width")].size == "12.7"
    assert build.readings[-1].piece.seat == build.piece_at(Address("wheel", "2R")).seat


def test_one_that_cannot_be_read_keeps_all_unsaved_and_is_named(book):
    opened, values, view = seen(book)
    bad, good = Cell("drawn", "rim"), Cell("chosen", "tyre_width")
    entered = enter(opened, values, view, {bad: "three", good: "12.7"})
    assert set(entered.refused) == {bad}
    assert "three" in entered.refused[bad].message
    assert entered.saved is None
    assert read(book).last == opened.last


def test_a_slip_is_asked_about_before_it_is_saved(book):
    opened, values, view = seen(book)
    cell = Cell("made", "bore", "2R")
    entered = enter(opened, values, view, {cell: "159.0"})
    assert entered.slips[cell]
    assert entered.saved is None
    assert enter(opened, values, view, {cell: "159.0"}, sure=True).saved is not None
