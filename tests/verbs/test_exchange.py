"""Import and export of whole files: what is previewed is what is saved, nothing by halves, nothing overwritten."""

from __future__ import annotations

import json
from dataclasses import replace

import openpyxl
import pytest

from asmade.book.ledger import Ledger
from asmade.book.ledger_entry import Entry
from asmade.measure.errors import AsmadeError, Damaged, OutOfRange, Refused, Unknown
from asmade.verbs import drawn, exchange, history, made
from asmade.verbs.store import read, read_build

TEXT = """
[book]
title = "Harrowgill trial"   # invented
drawing_unit = "inch"
[part.wheel]
places = ["1L", "1R"]
[part.wheel.dim]
bore = { kind = "bore", drawn = "5/8", process = "reamed", reference = "sheet 2" }
boss.width = { kind = "thickness", drawn = "9/16" }
[part.axle]
places = ["1"]
[part.axle.dim]
seat = { kind = "shaft", drawn = "5/8" }
[[fit]]
name = "wheel on axle"
places = ["1L", "1R"]
hole = "wheel@{place}.bore"
shaft = "axle@{axle}.seat"
least = "0.03 mm"
most = "0.10 mm"
to_suit = "shaft"
[shop.instrument."micrometer 0-25"]
unit = "mm"
reads_to = 0.002
[[chosen]]
of = "wheel.bore"
size = "15.90 mm"
[[made]]
piece = "wheel#1L"
dim = "bore"
reading = "15.91"
instrument = "micrometer 0-25"
at = 2026-03-14T10:00:00+01:00
"""
LIST = "part,dimension,drawn,kind,quantity\n"


@pytest.fixture
def book(tmp_path):
    (tmp_path / "start.toml").write_text(TEXT)
    exchange.import_(tmp_path / "b.asmade", tmp_path / "start.toml", new=True)
    return tmp_path / "b.asmade"


def file(book, name, text):
    path = book.with_name(name)
    path.write_text(text, encoding="utf-8")
    return path


def told(build):
    return (
        build.design, build.shop, [replace(c, entry=0) for c in build.chosen.values()],
        [replace(r, entry=0) for r in build.readings], build.pieces, build.seated,
        [replace(r, entry=0) for r in build.remarks],
    )  # fmt: skip


# ---------------------------------------------------------------- lists


def test_a_preview_says_what_saving_then_does(book):
    path = file(book, "list.csv", LIST + "wheel,bore,11/16,,\nwheel,boss.width,9/16,,\nstay,length,4 1/16,length,2\n")
    before = read(book).entries
    seen = exchange.import_(book, path, what_if=True)
    assert read(book).entries == before
    done = exchange.import_(book, path)
    assert replace(done, saved=None) == replace(seen, saved=None)
    assert [part.name for part in done.new_parts] == ["stay"]
    assert [(str(d.address), d.how) for d in done.new_dimensions] == [("stay.length", "4 1/16 in = 103.1875 mm")]
    assert [(c.of, c.what, c.before, c.after) for c in done.changed] == [("wheel.bore", "drawn", "5/8", "11/16")]
    assert done.same == 1
    assert done.saved.entries == (len(before) + 1, len(before) + 2)
    assert read_build(book).design.parts["stay"].places == ("p1", "p2")
    again = exchange.import_(book, path)
    assert (again.same, again.saved.entries, again.changed) == (3, (), ())


def test_choices_and_readings_on_a_changed_figure_are_named(book):
    notes = exchange.import_(book, file(book, "l.csv", LIST + "wheel,bore,11/16,,\n"), what_if=True).notes
    assert any("the chosen size 15.90 mm stands" in note for note in notes)
    assert any("1 reading of it stand" in note for note in notes)


def test_one_refused_row_keeps_everything_back(book):
    path = file(book, "l.csv", LIST + "wheel,bore,11/16,,\nwheel,boss.width,wide,,\n")
    before = book.read_bytes()
    held = exchange.import_(book, path)
    assert held.saved is None
    assert [(r.row, r.value) for r in held.refused] == [(3, "wide")]
    assert [c.after for c in held.changed] == ["11/16"]
    assert book.read_bytes() == before
    done = exchange.import_(book, path, leave_out_refused=True)
    assert done.saved is not None
    assert read_build(book).design.parts["wheel"].dims["bore"].drawn == "11/16"
    assert read_build(book).design.parts["wheel"].dims["boss.width"].drawn == "9/16"


def test_one_change_of_an_import_can_be_withdrawn(book):
    done = exchange.import_(book, file(book, "l.csv", LIST + "wheel,bore,11/16,,\nwheel,boss.width,1/2,,\n"))
    history.withdraw(book, done.saved.entries[0], why="misread")
    dims = read_build(book).design.parts["wheel"].dims
    assert (dims["bore"].drawn, dims["boss.width"].drawn) == ("5/8", "1/2")


def test_a_new_book_from_a_list_needs_the_unit(tmp_path):
    path = tmp_path / "l.csv"
    path.write_text(LIST + "stay,length,4.5,,2\n")
    with pytest.raises(Refused, match="needs the drawing's unit"):
        exchange.import_(tmp_path / "n.asmade", path, new=True)
    with pytest.raises(Unknown, match="furlong"):
        exchange.import_(tmp_path / "n.asmade", path, new=True, unit="furlong")
    exchange.import_(tmp_path / "n.asmade", path, new=True, unit="mm", what_if=True)
    assert not (tmp_path / "n.asmade").exists()
    exchange.import_(tmp_path / "n.asmade", path, new=True, unit="mm", title="Stays")
    design = read_build(tmp_path / "n.asmade").design
    assert (design.title, design.drawing_unit, design.parts["stay"].dims["length"].drawn) == ("Stays", "mm", "4.5")


def test_a_refused_row_starts_no_new_book(tmp_path):
    (tmp_path / "l.csv").write_text(LIST + "stay,length,x,,2\n")
    for leave_out in (False, True):
        result = exchange.import_(
            tmp_path / "n.asmade", tmp_path / "l.csv", new=True, unit="mm", leave_out_refused=leave_out
        )
        assert result.saved is None
    assert not (tmp_path / "n.asmade").exists()


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_an_exported_list_comes_back_as_the_same(book, ending):
    made.made(book, "wheel@1R.bore", ["15.92"], instrument="micrometer 0-25")
    drawn.drawn(book, "wheel@1R.bore", "41/64")
    path = book.with_suffix(ending)
    exchange.export(book, path)
    back = exchange.import_(book, path)
    assert (back.changed, back.refused, back.saved.entries, back.same) == ((), (), (), 3)


def test_a_list_gives_drawn_exact_chosen_best_and_made(book):
    exchange.export(book, book.with_suffix(".xlsx"))
    sheet = openpyxl.load_workbook(book.with_suffix(".xlsx"))["dimensions"]
    heads, *rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    table = {(row[0], row[1]): dict(zip(heads, row, strict=True)) for row in rows}
    assert table["wheel", "bore"]["drawn"] == "5/8"
    assert table["wheel", "bore"]["exact (mm or degrees)"] == pytest.approx(15.875)  # 5/8 x 25.4, by hand
    left, right = table["wheel@1L", "bore"], table["wheel@1R", "bore"]
    assert (left["made (mm or degrees)"], right["made (mm or degrees)"]) == (15.91, None)
    assert (left["known from"], right["known from"]) == ("made", "chosen")
    assert right["chosen (mm or degrees)"] == 15.9
    assert table["wheel", "boss.width"]["known from"] == "drawn"
    help_sheet = openpyxl.load_workbook(book.with_suffix(".xlsx"))["help"]
    assert str(help_sheet["A1"].value).startswith("Harrowgill trial: b.asmade after entry 4")


def test_filling_in_the_exported_list_of_a_book_brings_the_figures(book):
    exchange.export(book, book.with_suffix(".xlsx"))
    work = openpyxl.load_workbook(book.with_suffix(".xlsx"))
    sheet = work["dimensions"]
    row = next(n for n in range(2, 20) if sheet.cell(n, 1).value == "axle")
    sheet.cell(row, 3).value = "11/16"
    work.save(book.with_suffix(".xlsx"))
    changed = exchange.import_(book, book.with_suffix(".xlsx")).changed
    assert [(c.of, c.after) for c in changed] == [("axle.seat", "11/16")]


# ---------------------------------------------------------------- the text form


def test_the_text_form_makes_the_same_build(book):
    made.made(book, "wheel@1R.bore", ["15.92"], instrument="micrometer 0-25")
    history.withdraw(book, 4, why="wrong wheel")
    out = exchange.export(book, book.with_suffix(".toml"))
    assert out.notes == ("2 withdrawn entries and withdrawals are not in it",)
    exchange.import_(book.with_name("c.asmade"), book.with_suffix(".toml"), new=True)
    assert told(read_build(book.with_name("c.asmade"))) == told(read_build(book))


def test_a_text_is_merged_into_a_book(book):
    path = file(
        book,
        "more.toml",
        """
[part.stay]
places = ["engine"]
[part.stay.dim]
length = { kind = "length", drawn = "4 1/16" }
[part.wheel.dim]
bore = { keep = "exact" }
[[wall]]
name = "metal"
is = "stay.length"
least = "4 mm"
[shop.tool."reamer"]
kind = "reamer"
[[note]]
text = "left out"
""",
    )
    seen = exchange.import_(book, path, what_if=True)
    assert seen.saved.entries == ()
    done = exchange.import_(book, path)
    assert [p.name for p in done.new_parts] == ["stay"]
    assert done.new_relations == ("wall metal",)
    assert {(c.of, c.what, c.after) for c in done.changed} == {
        ("wheel.bore", "keep", "exact"),
        ("shop tool reamer", "kind", "reamer"),
    }
    assert any("1 journal row" in note for note in done.notes)
    assert len(done.saved.entries) == 2
    build = read_build(book)
    assert build.design.parts["wheel"].dims["bore"].drawn == "5/8"
    assert build.readings[0].text == "15.91"
    assert exchange.import_(book, path).saved.entries == ()


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ('[book]\ndrawing_unit = "mm"\n', "bare figures are inch"),
        ("[[note]]\ntext = 'a'\n", "no design and no shop"),
        ("", "is empty"),
        ("# nothing\n", "no design and no shop"),
        ("[part.wheel.dim]\nbore = 3\n", "a dimension is a table"),
        ('[part.x]\nplaces = ["1"]\ndim = { a = { kind = "bore", drawn = "1/0" } }\n', "x@1.a"),
        ('[[later]]\nname = "a"\nx = nan\n', "finite"),
    ],
)
def test_a_text_that_cannot_be_merged_changes_nothing(book, text, word):
    before = book.read_bytes()
    for what_if in (True, False):
        with pytest.raises(AsmadeError, match=word):
            exchange.import_(book, file(book, "t.toml", text), what_if=what_if)
    assert book.read_bytes() == before


# ---------------------------------------------------------------- entries


def test_entries_make_the_very_same_book(book):
    made.made(book, "wheel@1R.bore", ["15.92"], instrument="micrometer 0-25", key="phone-1")
    history.withdraw(book, 4, why="wrong wheel")
    out = exchange.export(book, book.with_suffix(".jsonl"), entries=True)
    assert (out.rows, out.notes) == (6, ())
    exchange.import_(book.with_name("c.asmade"), book.with_suffix(".jsonl"), new=True)
    assert read(book.with_name("c.asmade")).entries == read(book).entries
    exchange.export(book.with_name("c.asmade"), book.with_name("c.jsonl"))
    assert book.with_name("c.jsonl").read_bytes() == book.with_suffix(".jsonl").read_bytes()


def test_the_data_of_attachments_is_said_to_be_missing(book):
    with Ledger.open(book) as ledger:
        digest = ledger.attach("photo.jpg", b"a picture", "image/jpeg")
        ledger.append([Entry(0, "attachment", "2026-03-14T19:05:00+01:00", {"digest": digest})])
    for ending in (".toml", ".jsonl"):
        assert "data of 1 attachment is not in it" in exchange.export(book, book.with_suffix(ending)).notes[-1]
        back = exchange.import_(book.with_name(f"c{ending[1]}.asmade"), book.with_suffix(ending), new=True)
        assert any("data" in note for note in back.notes)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda lines: lines[:-1], "cut short"),
        (lambda lines: [lines[0], *lines[2:]], r"number \(it should be 1\)"),
        (lambda lines: lines[1:], "first line does not say"),
        (lambda lines: [lines[0].replace('"format":1', '"format":9'), *lines[1:]], "format 1"),
        (lambda lines: [lines[0], "{", *lines[2:]], "no JSON"),
        (lambda lines: [lines[0], "[" * 100_000, *lines[2:]], "no JSON"),
        (lambda lines: [lines[0], "3", *lines[2:]], "no entry"),
        (lambda lines: [lines[0], json.dumps(json.loads(lines[1]) | {"body": []}), *lines[2:]], "body"),
        (lambda lines: [lines[0], json.dumps(json.loads(lines[1]) | {"kind": "xyz"}), *lines[2:]], "xyz"),
        (lambda lines: [lines[0], json.dumps(json.loads(lines[1]) | {"at": "noon"}), *lines[2:]], "noon"),
        (lambda _: [""], "first line"),
    ],
)  # fmt: skip
def test_entries_that_are_not_whole_make_no_book(book, change, word):
    path = book.with_suffix(".jsonl")
    exchange.export(book, path)
    path.write_text("\n".join(change(path.read_text().splitlines())) + "\n")
    with pytest.raises(AsmadeError, match=word):
        exchange.import_(book.with_name("c.asmade"), path, new=True)
    assert not book.with_name("c.asmade").exists()


# ---------------------------------------------------------------- files


@pytest.mark.parametrize("ending", [".toml", ".csv", ".xlsx", ".jsonl"])
def test_nothing_is_overwritten_unasked_and_a_book_never(book, ending):
    path = book.with_suffix(ending)
    path.write_text("mine")
    with pytest.raises(Damaged, match="is there already"):
        exchange.export(book, path)
    assert path.read_text() == "mine"
    exchange.export(book, path, replace=True)
    assert path.read_bytes() != b"mine"
    path.write_bytes(book.read_bytes())
    with pytest.raises(Damaged, match="is a book"):
        exchange.export(book, path, replace=True)
    assert not [p for p in path.parent.iterdir() if p.name.endswith(".unfinished")]


def test_an_import_never_starts_on_a_file_that_is_there(book):
    path = file(book, "t.toml", TEXT)
    with pytest.raises(Damaged, match="already"):
        exchange.import_(book, path, new=True)
    with pytest.raises(Refused, match=r"ends in \.asmade"):
        exchange.import_(book.with_name("c.db"), path, new=True)


def test_files_that_cannot_be_had(book, tmp_path, monkeypatch):
    for name, word in (
        ("none.csv", "no such file"),
        ("folder.csv", "is a folder"),
        ("empty.csv", "is empty"),
        ("a.ods", r"\.ods"),
        ("x", "missing"),
    ):
        if name.startswith("folder"):
            (tmp_path / name).mkdir()
        if name.startswith("empty"):
            (tmp_path / name).touch()
        with pytest.raises(AsmadeError, match=word):
            exchange.import_(book, tmp_path / name)
    with (tmp_path / "big.csv").open("wb") as big:
        big.truncate(10 * 2**20 + 1)
    with pytest.raises(OutOfRange, match="10 MB"):
        exchange.import_(book, tmp_path / "big.csv")
    with pytest.raises(Damaged, match="no folder"):
        exchange.export(book, tmp_path / "no" / "x.toml")
    (tmp_path / "l.toml").write_bytes(b"a = '\xff'")
    (tmp_path / "e.jsonl").write_text("{}")
    with pytest.raises(Refused, match="not UTF-8"):
        exchange.import_(book, tmp_path / "l.toml")
    with pytest.raises(Refused, match="say --new"):
        exchange.import_(book, tmp_path / "e.jsonl")
    with pytest.raises(Refused, match="new book from a list"):
        exchange.import_(book, tmp_path / "l.csv", unit="mm")


def test_a_template_is_written_and_explains_itself(tmp_path):
    for ending in (".csv", ".xlsx"):
        path = tmp_path / f"t{ending}"
        exchange.template(path)
        with pytest.raises(Damaged):
            exchange.template(path)
        exchange.template(path, replace=True)
    with pytest.raises(Refused, match=r"\.toml"):
        exchange.template(tmp_path / "t.toml")


def test_plain_data_of_an_import(book):
    path = file(book, "l.csv", LIST + "wheel,bore,11/16,,\nwheel,boss.width,wide,,\nstay,length,1,,2\n")
    data = exchange.plain(exchange.import_(book, path))
    assert data["new_parts"] == [{"part": "stay", "places": ["p1", "p2"]}]
    assert data["new_dimensions"][0]["dimension"] == "stay.length"
    assert data["changed"] == [{"of": "wheel.bore", "what": "drawn", "before": "5/8", "after": "11/16"}]
    assert set(data["refused"][0]) == {"row", "value", "reason", "way_out"}
    assert (data["same"], data["saved"]) == (0, None)
    json.dumps(data)
    path = file(book, "l.csv", LIST + "wheel,bore,11/16,,\n")
    assert exchange.plain(exchange.import_(book, path))["saved"] == {"entries": [5], "what_if": False}
