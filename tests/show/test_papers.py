"""Sheets, lists and record on paper: what is on them is what the sums say, on paper of the size asked for.

Sizes of paper: ISO 216 (A4 210 x 297, A5 148 x 210, A6 105 x 148 mm). What a PDF says is read back with pypdf, a
workbook with openpyxl: other people's programs.
"""

from __future__ import annotations

import csv
import dataclasses
import io
import struct
import zlib

import openpyxl
import pytest
from pypdf import PdfReader

from asmade.cli.app import run
from asmade.measure.errors import Unknown
from asmade.show.papers.lists import list_file, to_csv, to_xlsx
from asmade.show.papers.record import record_pdf
from asmade.show.papers.sheets import set_ups_pdf, sheets_pdf
from asmade.show.papers.typeset import qr
from asmade.verbs import cutlist, demo, record, sheet
from asmade.verbs.lists import Listing, buying, cutting
from asmade.verbs.store import read


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    folder = tmp_path_factory.mktemp("papers")
    demo.demo(folder)
    return str(next(folder.glob("*.asmade")))


@pytest.fixture(scope="module")
def axle(book):
    return sheet.sheet(book, "axle@2").sheets


def words(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages]


@pytest.mark.parametrize(("paper", "width", "height"), [("a4", 210, 297), ("a5", 148, 210), ("A6", 105, 148)])
def test_the_paper_is_the_one_asked_for(axle, paper, width, height):
    page = PdfReader(io.BytesIO(sheets_pdf(axle, paper=paper))).pages[0].mediabox
    assert float(page.width) * 25.4 / 72 == pytest.approx(width, abs=0.01)
    assert float(page.height) * 25.4 / 72 == pytest.approx(height, abs=0.01)


def test_an_unknown_paper_is_named_with_those_there_are(axle):
    with pytest.raises(Unknown, match="a3"):
        sheets_pdf(axle, paper="a3")


def test_a_sheet_states_both_limits_every_operation_and_what_goes_before_it(axle):
    pages = words(sheets_pdf(axle, paper="a4"))
    whole = " ".join(pages)
    (one,) = axle
    for size in one.sizes:
        assert size.shown in whole
        if size.aim is not None and size.aim.low is not None:
            assert f"{size.aim.low:.3f}" in whole
            assert f"{size.aim.high:.3f}" in whole
    for setup, ops in one.set_ups:
        assert " ".join(setup.held.split())[:40] in whole
        for op in ops:
            assert " ".join(op.words.split()) in whole
            for caution in op.cautions:
                assert " ".join(caution.text.split())[:60] in whole
    assert all("licensed practice" in page and "as of entry" in page for page in pages)


def test_no_operation_is_cut_between_two_pages(book):
    every = sheet.sheet(book, "wheel@1L").sheets
    pages = words(sheets_pdf(every, paper="a5"))
    ops = [op for _, found in every[0].set_ups for op in found if op.check]
    assert len(pages) > 2
    for op in ops:
        head, foot = " ".join(op.words.split()), " ".join(op.check.split())
        assert any(head in page and foot in page for page in pages), op.words


def test_the_same_book_gives_the_same_bytes(axle):
    assert sheets_pdf(axle, at="http://192.0.2.7:8640") == sheets_pdf(axle, at="http://192.0.2.7:8640")


@pytest.mark.parametrize(("characters", "modules"), [(26, 25), (27, 29), (42, 29), (43, 33)])
def test_a_code_is_as_wide_as_its_standard_says_with_its_quiet_zone(characters, modules):
    """ISO/IEC 18004, level M, 8-bit: version 2 (25 modules) holds 26 bytes, version 3 (29) 42; 4 modules of quiet."""
    code = qr("http://192.0.2.7/".ljust(characters, "x"))
    assert f'width="{modules + 8}" height="{modules + 8}"' in code


def test_set_ups_have_each_piece_once_and_those_alike_together(book):
    found = sheet.set_up_sheets(book)
    pages = words(set_ups_pdf(found.sheets[:12], paper="a4"))
    whole = " ".join(pages)
    for one in found.sheets[:12]:
        assert f"Set-up {one.number} of {one.of}" in whole
        for piece, _ in one.pieces:
            assert piece in whole


def test_a_sheet_has_the_sketch_of_its_piece_but_the_pocket_card(axle):
    (one,) = axle
    figure = one.sketch.figures["journal.diameter"].lines[0]
    assert f"Ø{figure}" in words(sheets_pdf(axle, paper="a5"))[0].split("Sizes")[0]
    assert f"Ø{figure}" not in words(sheets_pdf(axle, paper="a6"))[0]


@pytest.fixture(scope="module")
def cuts(book):
    return cutlist.cutlist(book)


def test_lists_read_back_as_they_were_written(book, cuts):
    heading = sheet.heading_of(read(book))
    for which, listing in (("cutting", cutting(cuts)), ("buying", buying(cuts))):
        text = list_file(cuts, heading, which, ".csv").decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text)))
        assert tuple(rows[0]) == listing.headings
        assert len(rows) == len(listing.rows) + 1
        grid = openpyxl.load_workbook(io.BytesIO(list_file(cuts, heading, which, ".XLSX")))[which]
        back = [[cell.value for cell in row] for row in grid.iter_rows(min_row=2)]
        for was, now, flat in zip(listing.rows, back, rows[1:], strict=True):
            for cell, read_back, as_text in zip(was, now, flat, strict=True):
                if isinstance(cell, int | float):
                    assert read_back == pytest.approx(cell, abs=1e-6)
                    assert float(as_text) == pytest.approx(cell, abs=1e-6)
                else:
                    assert (read_back or "") == (cell or "")


def test_every_piece_of_the_cutting_list_is_on_paper(book, cuts):
    whole = " ".join(words(list_file(cuts, sheet.heading_of(read(book)), "cutting", ".pdf")))
    for group in cuts.groups:
        assert group.section.words in whole
        for bar in group.plan.bars:
            for name, length in bar.pieces:
                assert name in whole
                assert f"{length:.1f}" in whole


def test_another_ending_is_refused_with_those_there_are(book, cuts):
    with pytest.raises(Unknown, match=r"\.doc"):
        list_file(cuts, sheet.heading_of(read(book)), "buying", ".doc")


def test_a_name_that_could_pass_for_a_formula_stays_a_text():
    listing = Listing("buying", "Buying list", ("material", "count"), (("=1+1", 2),), ())
    assert to_csv(listing).decode("utf-8-sig").splitlines()[1].startswith("'=1+1")
    sheet_ = openpyxl.load_workbook(io.BytesIO(to_xlsx(listing, sheet.Heading("x", 1, ""))))["buying"]
    assert sheet_["A2"].data_type == "s"


def png(width: int = 8, height: int = 8) -> bytes:
    """A grey picture by the PNG specification (ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    raw = b"".join(b"\0" + b"\x80" * width for _ in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(raw)) + chunk(b"IEND", b"")


def test_the_record_has_every_part_and_reading_and_its_photographs(book):
    found = record.record(book)
    pdf = record_pdf(found)
    whole = " ".join(words(pdf))
    for part in found.parts:
        assert part.name in whole
    made = [m for part in found.parts for d in part.dimensions for m in d.made]
    assert made
    assert all(m.at[:10] in whole for m in made)
    assert "Where it was left" in whole
    note = record.NoteRecord("book", "2026-11-01T10:00", "the frames", "frames.png", "ab" * 32)
    with_photo = dataclasses.replace(found, notes=(note,))
    shown = PdfReader(io.BytesIO(record_pdf(with_photo, {note.digest: ("image/png", png())})))
    assert sum(len(page.images) for page in shown.pages) == 1


def test_commands_write_papers_whole_and_never_over_another(book, tmp_path, capsys):
    target = tmp_path / "axle.pdf"
    assert run(["sheet", book, "axle@2", "-o", str(target)]) == 0
    before = target.read_bytes()
    assert before.startswith(b"%PDF")
    assert run(["sheet", book, "axle@1", "-o", str(target)]) != 0
    assert "is there already" in capsys.readouterr().err
    assert target.read_bytes() == before
    assert run(["sheet", book, "axle@1", "-o", str(target), "--replace"]) == 0
    for command, name in (("cutlist", "cut.xlsx"), ("buy", "buy.pdf"), ("record", "record.pdf")):
        assert run([command, book, "-o", str(tmp_path / name)]) in (0, 1)
        assert (tmp_path / name).stat().st_size > 1000
    assert run(["sheet", book, "--set-up", "--all"]) != 0
    assert "--set-up alone" in capsys.readouterr().err
