"""Dimension lists as people and spreadsheets write them: read as meant, or refused by row with the way out."""

from __future__ import annotations

import io
import re
from datetime import datetime, time
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.book.fold import fold
from asmade.book.ledger_entry import Entry
from asmade.book.spreadsheet.cells import read_sheet
from asmade.book.spreadsheet.columns import COLUMNS, HEADINGS, READ, find_column
from asmade.book.spreadsheet.plan import plan
from asmade.book.spreadsheet.shown import shown
from asmade.book.spreadsheet.writing import to_csv, to_xlsx
from asmade.book.text import Draft
from asmade.measure.errors import AsmadeError, OutOfRange, Refused

AT = "2026-03-14T19:05:00+01:00"
HEAD = "part,dimension,drawn,kind,quantity\n"
BOOK = {
    "book": {"drawing_unit": "inch"},
    "part": {
        "wheel": {
            "places": ["1L", "1R"],
            "dim": {
                "bore": {"kind": "bore", "drawn": "5/8", "reference": "sheet 2"},
                "thread": {"kind": "thread", "drawn": "5 BA"},
            },
        }
    },
}


def build_of(*drafts, tables=None):
    every = [Draft("design", {"set": tables or BOOK}), *drafts]
    return fold([Entry(k, d.kind, AT, d.body) for k, d in enumerate(every, start=1)])


def planned(csv, tables=None):
    data = csv if isinstance(csv, bytes) else csv.encode()
    return plan(read_sheet(data, ".csv"), build_of(tables=tables).design)


def design_after(csv, tables=None):
    found = planned(csv, tables)
    assert found.refused == ()
    return build_of(*found.drafts, tables=tables).design


def only_refusal(csv, tables=None):
    (refusal,) = planned(csv, tables).refused
    return refusal


def workbook(*rows, title="list", formats=None):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    for cell, code in (formats or {}).items():
        sheet[cell].number_format = code
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def drawn_in(value, code="General"):
    """The drawn cell of a sheet that holds ``value`` in the number format ``code``."""
    data = workbook(["part", "dimension", "drawn"], ["axle", "length", value], formats={"C2": code})
    return read_sheet(data, ".xlsx").rows[0].cells["drawn"]


# ---------------------------------------------------------------- headings


@pytest.mark.parametrize(
    "heading",
    ["Part", " PART ", "part name", "Component", "\ufeffpart", "Part:", "part_name"],
)
def test_headings_are_known_in_capitals_with_points_and_in_other_words(heading):
    found = find_column(heading)
    assert found is not None
    assert found[0].name == "part"


@pytest.mark.parametrize(
    ("heading", "name", "unit"),
    [
        ("Drawn (mm)", "drawn", "mm"), ("size in inches", "drawn", "inch"), ("Drg. No.", "reference", ""),
        ("No. off", "quantity", ""), ("Qty.", "quantity", ""), ("Matl", "material", ""), ("as drawn", "drawn", ""),
    ],
)  # fmt: skip
def test_a_heading_may_say_the_unit(heading, name, unit):
    column, said = find_column(heading)
    assert (column.name, said) == (name, unit)


def test_no_heading_names_two_columns():
    words = [word for column in COLUMNS for word in (column.name, *column.known_as)]
    assert len(words) == len(set(words))


def test_every_heading_written_is_read_again():
    for column in COLUMNS:
        assert find_column(HEADINGS[column.name]) == (column, "")


def test_missing_headings_are_named_with_those_found():
    with pytest.raises(Refused) as refused:
        read_sheet(b"part,dimenson,what else\nwheel,bore,1\n", ".csv")
    assert "part, dimenson, what else" in str(refused.value)
    assert "dimension (is it 'dimenson'?), drawn" in str(refused.value)
    assert "needed: part, dimension, drawn" in refused.value.way_out


def test_two_headings_for_one_column_are_refused():
    with pytest.raises(Refused, match="both are the column drawn"):
        read_sheet(b"part,dimension,drawn,size\nwheel,bore,1,2\n", ".csv")


def test_words_may_stand_above_the_headings_and_columns_not_known_are_named():
    sheet = read_sheet(b"Our engine,,,,\n,,,,\npart,dimension,drawn,colour,procss\naxle,length,1,red,turned\n", ".csv")
    assert sheet.rows[0].number == 4
    assert sheet.not_read == ("colour", "procss (is it process?)")


# ---------------------------------------------------------------- files of text


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_encodings_are_told_apart(encoding):
    data = "part,dimension,drawn,note\naxle,length,½,gehärtet\n".encode(encoding)
    sheet = read_sheet(data, ".csv")
    assert sheet.rows[0].cells["note"].text == "gehärtet"
    assert sheet.rows[0].cells["drawn"].text == "½"
    assert bool(sheet.notes) == (encoding == "cp1252")


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("first", ["", "sep="])
def test_delimiters_and_ends_of_line(delimiter, line_end, first):
    stated = f"{first}{delimiter}\r\n" if first else ""
    rows = [["part", "dimension", "drawn"], ["axle", "length", "12 mm"]]
    text = stated + line_end.join(delimiter.join(row) for row in rows)
    assert read_sheet(text.encode(), ".csv").rows[0].cells["drawn"].text == "12 mm"


def test_a_decimal_comma_between_semicolons_is_read_and_between_commas_refused():
    design = design_after("part;dimension;drawn;kind\naxle;width;12,5 mm;length\n")
    assert design.parts["axle"].dims["width"].drawn == "12,5 mm"
    assert "more cells than there are headings" in only_refusal(HEAD + "axle,width,12,5,length,1\n").reason


@pytest.mark.parametrize("cell", ['1 3/16"', '"1 3/16"""', '"1 3/16"', "1 3/16 in", '="1 3/16"'])
def test_inch_marks_and_quotes(cell):
    design = design_after(f"part,dimension,drawn\naxle,length,{cell}\n")
    assert design.parts["axle"].dims["length"].drawn.strip('" in') == "1 3/16"


def test_a_quote_left_open_swallows_no_row_in_silence():
    refused = planned('part,dimension,drawn,kind\naxle,seat,"5/8"",shaft\naxle,length,2,length\n').refused
    assert [r.row for r in refused] == [2]
    assert "lines 2 to 3 run into one" in refused[0].reason
    assert 'twice: "5/8"""' in refused[0].way_out


def test_a_note_of_two_lines_is_one_note_and_rows_keep_their_line_numbers():
    found = planned('part,dimension,drawn,note\naxle,length,1,"a\nb"\naxle,length2,x,\n')
    assert found.drafts[0].body["set"]["part"]["axle"]["dim"]["length"]["note"] == "a b"
    assert found.refused[0].row == 4


@pytest.mark.parametrize(
    ("data", "ending", "word"),
    [
        (b"PK\x03\x04 and so on", ".csv", "packed file"),
        (b"SQLite format 3\0", ".csv", "a database"),
        (b"part,dimension,drawn\n", ".csv", "no row below"),
        (b"\n\n", ".csv", "is empty"),
        (b"\x81\x8d", ".csv", "cp1252"),
        (b"part,dimension,drawn", ".xlsx", "damaged, or no .xlsx"),
        (b"\xd0\xcf\x11\xe0", ".xlsx", "save it as .xlsx"),
        (workbook(), ".xlsx", "is empty"),
    ],
)
def test_files_that_are_no_list(data, ending, word):
    with pytest.raises(Refused, match=word):
        read_sheet(data, ending)


def test_too_many_rows_or_columns():
    with pytest.raises(OutOfRange, match="rows"):
        read_sheet(b"part,dimension,drawn\n" + b"a,b,1\n" * 50_001, ".csv")
    with pytest.raises(OutOfRange, match="columns"):
        read_sheet(b"," * 300 + b"x\n", ".csv")


@settings(max_examples=300, deadline=None)
@given(
    st.binary(max_size=80)
    | st.text(max_size=80).map(lambda t: ("part,dimension,drawn\n" + t).encode("utf-8", "replace"))
)
def test_any_bytes_are_read_or_refused(data):
    for ending in (".csv", ".xlsx"):
        try:
            plan(read_sheet(data, ending), build_of().design)
        except AsmadeError as fault:
            assert fault.way_out or fault.message  # noqa: PT017  # any other exception is a mistake


# ---------------------------------------------------------------- numbers and dates of a spreadsheet


@pytest.mark.parametrize(
    ("value", "code", "text"),
    [
        (0.375, "General", "0.375"), (5, "General", "5"), (12.5, "0.00", "12.50"), (0.375, "# ?/?", "3/8"),
        (1.1875, "# ??/??", "1 3/16"), (1.1875, "#\\ ??/16", "1 3/16"), (0.5, "# ??/16", "8/16"), (2, "# ?/?", "2"),
        (12.5, '0.0" mm"', "12.5 mm"), (0.375, '# ?/?\\"', '3/8 "'), (-5.25, "# ?/?", "-5 1/4"),
        (0.1 + 0.2, "General", "0.3"), (1e-4, "General", "0.0001"), (0.5, "@", "0.5"), (3.5, "0.0#", "3.5"),
        (12.5, "0.00;[Red]-0.00", "12.50"),
    ],
)  # fmt: skip
def test_a_number_keeps_its_text_as_shown(value, code, text):
    assert shown(value, code, "drawn") == text
    assert drawn_in(value, code).text == text


@pytest.mark.parametrize(
    ("value", "code", "word"),
    [
        (0.1875, "0.00", "shows 0.19 but holds 0.1875"),
        (1.1875, "# ?/?", "shows 1 1/5 but holds 1.1875"),
        (0.5, "0%", "number format '0%'"),
        (0.5, "0.00E+00", "number format"),
        (0.5, '"about "0.0', "number format"),
    ],
)
def test_a_number_shown_as_another_is_refused(value, code, word):
    fault = drawn_in(value, code).fault
    assert word in str(fault)


@pytest.mark.parametrize(
    ("value", "typed"),
    [
        (datetime(2026, 2, 1), "1/2"),  # noqa: DTZ001  # as a spreadsheet holds it
        (datetime(2026, 1, 2), "1/2"),  # noqa: DTZ001
        (datetime(2026, 3, 16), "3/16"),  # noqa: DTZ001
        (datetime(1932, 1, 1), "1/32"),  # noqa: DTZ001  # month and year
        (datetime(1964, 5, 1), "5/64"),  # noqa: DTZ001
    ],
)
def test_a_fraction_turned_into_a_date_is_recognised(value, typed):
    fault = drawn_in(value, "d-mmm").fault
    assert f"turned it into a date, perhaps from {typed}" in str(fault)
    assert f"type {typed} again" in fault.way_out


@pytest.mark.parametrize(
    ("text", "typed"),
    [
        ("01-Feb", "1/2"),
        ("1-Feb", "1/2"),
        ("Jan-32", "1/32"),
        ("2026-03-16", "3/16"),
        ("16/03/2026", "3/16"),
        ("16 Mar", "3/16"),
    ],
)
def test_a_date_in_a_csv_is_recognised_too(text, typed):
    refusal = only_refusal(f"part,dimension,drawn\naxle,length,{text}\n")
    assert f"it is a date, perhaps from {typed}" in refusal.reason


def test_times_formulas_and_errors_of_a_sheet_are_refused():
    assert "time" in str(drawn_in(time(1, 2), "h:mm").fault)
    assert "formula" in str(drawn_in("=1/2").fault)
    assert "formula" in only_refusal("part,dimension,drawn\naxle,length,=1+1\n").reason
    assert "error" in str(drawn_in("#DIV/0!").fault)


def test_the_sheet_with_the_headings_is_read_whatever_its_place():
    book = openpyxl.Workbook()
    book.active.append(["some", "words"])
    for name in ("first", "second"):
        sheet = book.create_sheet(name)
        sheet.append(["part", "dimension", "drawn"])
        sheet.append([name, "length", "1"])
    out = io.BytesIO()
    book.save(out)
    found = read_sheet(out.getvalue(), ".xlsx")
    assert found.rows[0].cells["part"].text == "first"
    assert found.notes == ("sheet 'first' was read, not 'second'",)


# ---------------------------------------------------------------- what a list would change


def test_new_parts_get_their_places():
    design = design_after(
        "part,dimension,drawn,quantity,places\n"
        "Axle,length,5,,\nrod bush,length,1/4,2,\nrod bush,width,1/2,,\ncrank-pin,length,1,,1L 1R\nstay,length,1,1 off,\n"
    )
    assert {name: part.places for name, part in design.parts.items()} == {
        "wheel": ("1L", "1R"), "axle": ("engine",), "rod_bush": ("p1", "p2"), "crank_pin": ("1L", "1R"), "stay": ("engine",),
    }  # fmt: skip


def test_a_part_without_a_quantity_is_said_to_be_one():
    assert (
        planned("part,dimension,drawn\naxle,length,5\n").notes[-1] == "axle: no quantity is given: one, at place engine"
    )


def test_the_same_is_no_change_and_an_empty_cell_says_nothing():
    found = planned(
        "part,dimension,drawn,kind,reference\nwheel,bore,0.625,bore,sheet 2\nWHEEL,Bore,,,\nwheel,thread,5BA,,\n"
    )
    assert found.drafts == ()
    assert found.refused == ()
    assert {str(a) for a in found.named} == {"wheel.bore", "wheel.thread"}


def test_a_changed_figure_is_an_entry_of_its_own():
    found = planned("part,dimension,drawn,reference,process\nwheel,bore,11/16,sheet 2,reamed\n")
    assert [d.kind for d in found.drafts] == ["design", "drawn"]
    assert found.drafts[1].body == {"of": "wheel.bore", "drawn": "11/16", "reference": "sheet 2"}
    assert found.drafts[0].body["set"]["part"]["wheel"] == {"dim": {"bore": {"process": "reamed"}}}


def test_a_figure_for_one_place():
    assert planned("part,dimension,drawn\nwheel@1R,bore,11/16\n").drafts[0].body["of"] == "wheel@1R.bore"
    design = design_after("part,dimension,drawn,places\naxle,length,5,1 2\naxle@2,length,5 1/4,\n")
    assert dict(design.parts["axle"].dims["length"].drawn_at) == {"2": "5 1/4"}
    assert "no '3L'" in only_refusal("part,dimension,drawn\nwheel@3L,bore,1\n").reason


def test_a_dimension_stated_twice_keeps_both_and_a_second_import_changes_nothing():
    text = "part,dimension,drawn,reference\nwheel,bore,5/8,sheet 2\nwheel,bore,41/64,sheet 5\naxle,length,5,sheet 1\naxle,length,5.1,sheet 4\n"
    first = planned(text)
    build = build_of(*first.drafts)
    assert [(s.drawn, s.reference) for s in build.design.parts["wheel"].dims["bore"].also] == [("41/64", "sheet 5")]
    assert [(s.drawn, s.reference) for s in build.design.parts["axle"].dims["length"].also] == [("5.1", "sheet 4")]
    assert plan(read_sheet(text.encode(), ".csv"), build.design).drafts == ()
    changed = plan(read_sheet(text.replace("41/64", "21/32").encode(), ".csv"), build.design)
    after = build_of(*first.drafts, *changed.drafts).design.parts["wheel"].dims["bore"]
    assert (after.drawn, [(s.drawn, s.reference) for s in after.also]) == ("5/8", [("21/32", "sheet 5")])


@pytest.mark.parametrize(
    ("unit_cell", "heading", "kept"),
    [("mm", "drawn", "12.5 mm"), ("inch", "drawn", "12.5"), ("", "drawn (mm)", "12.5 mm"), ("", "drawn", "12.5")],
)
def test_the_unit_of_a_row_goes_with_its_figure(unit_cell, heading, kept):
    design = design_after(f"part,dimension,{heading},unit\naxle,length,12.5,{unit_cell}\n")
    assert design.parts["axle"].dims["length"].drawn == kept


@pytest.mark.parametrize(
    ("name", "drawn", "kind"),
    [
        ("bore", "1/2", "bore"),
        ("seat.length", "1", "length"),
        ("crank radius", "1", "crank radius"),
        ("cap", "5 BA", "thread"),
    ],
)
def test_kinds_that_the_name_or_the_callout_settles(name, drawn, kind):
    design = design_after(f"part,dimension,drawn\npin,{name},{drawn}\n")
    (found,) = design.parts["pin"].dims.values()
    assert found.kind == kind


@pytest.mark.parametrize(
    ("rows", "value", "reason", "way_out"),
    [
        ("wheel,bore,five,,", "five", "wheel.bore: ", "1 3/16"),
        ("axle,diameter,1/2,,", "", "its kind is not said", "one of: bore"),
        ("axle,length,1,lenght,", "lenght", "did you mean length", "one of: bore"),
        ("wheel,bore,1,slot,", "slot", "the book has wheel.bore as bore", "leave the kind empty"),
        ("wheel@1R,bore,1,,1", "1", "speaks of place 1R only", "a row of wheel itself"),
        ("wheel,bore,1,,3", "3", "the book has 2 of wheel, at 1L 1R", "text form"),
        ("axle,length,1,,some", "some", "no whole number", "2 off"),
        ("axle,length,1,,0", "0", "not within 1 to 200", ""),
        ("axle,length,-1,,", "-1", "negative", "kind position"),
        ("axle,bore.x,1,length,\naxle,bore,1,,", "bore", "axle has bore.x", "bore.size"),
        ("axle,length,1,,\naxle,length,2,,", "2", "row 2 says 1 of axle.length", "strike one out"),
        ("wheel,bore,5/8,,\nwheel,bore,2,,", "2", "row 2 says 5/8 of wheel.bore", "strike one out"),
        (",bore,1,,", "", "the part is not named", "in every row"),
        ("axle,,1,,", "1", "names no dimension", "bore or length"),
        ("wheel#W3,bore,1,,", "wheel#W3", "parts, not pieces", "wheel@2L"),
        ("<b>,bore,1,,", "<b>", "a name has letters", "write b"),
        ("../../etc,bore,1,,", "../../etc", "a name has letters", "write etc"),
        ("{axle},bore,1,,", "{axle}", "parts, not pieces", ""),
        ("5in wheel,bore,1,,", "5in wheel", "starts with a letter", "write part_5in_wheel"),
        (f"{'a' * 61},bore,1,,", "61 letters", "up to 60", ""),
        ("räder,bore,1,,", "räder", "a to z", "write r_der"),
        ("axle,bo\x07re,1,,", "bo\x07re", "control characters", "type it again"),
    ],
    ids=lambda value: str(value)[:24],
)  # fmt: skip
def test_a_row_that_cannot_be_taken_is_named_with_the_way_out(rows, value, reason, way_out):
    found = planned(HEAD + rows + "\n").refused
    assert len(found) == 1
    assert (found[0].row, found[0].value) == (1 + len(rows.splitlines()), value)
    assert reason in found[0].reason
    assert way_out in found[0].way_out


def test_no_row_of_a_part_is_taken_whose_number_cannot_be_read():
    found = planned(HEAD + "axle,length,1,,two\naxle,width,1,,\n")
    assert [r.row for r in found.refused] == [2, 3]
    assert "could not be read in row 2" in found.refused[1].reason
    assert found.drafts == ()


def test_processes_keeps_and_units_are_checked():
    head = "part,dimension,drawn,process,keep,unit\n"
    assert "did you mean reamed" in only_refusal(head + "axle,length,1,reemed,,\n").reason
    assert "exact, near, free" in only_refusal(head + "axle,length,1,,always,\n").way_out
    assert "mm, inch" in only_refusal(head + "axle,length,1,,,furlong\n").way_out
    dims = design_after(head + "axle,length,1,Die cut,Exact,IN\n").parts["axle"].dims
    assert (dims["length"].process, dims["length"].keep) == ("die-cut", "exact")


def test_rows_that_differ_in_other_cells_are_refused():
    head = "part,dimension,drawn,process,material,quantity\n"
    assert "row 2 says turned" in only_refusal(head + "axle,length,1,turned,,\naxle,length,1,faced,,\n").reason
    assert "another row says steel" in only_refusal(head + "axle,length,1,,steel,\naxle,width,1,,brass,\n").reason
    assert "row 2 says 2 of axle" in only_refusal(head + "axle,length,1,,,2\naxle,width,1,,,3\n").reason


def test_a_row_may_speak_of_the_part_alone():
    design = design_after(
        "part,dimension,drawn,places,material,note,reference\nbuffer beam,,,engine,mild steel,two of them,sheet 9\n"
    )
    part = design.parts["buffer_beam"]
    assert (part.places, part.material, part.note, part.reference) == (
        ("engine",),
        "mild steel",
        "two of them",
        "sheet 9",
    )


# ---------------------------------------------------------------- written and read again

cells = st.text(st.characters(exclude_categories=("C",)), max_size=20).map(lambda t: " ".join(t.split()))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(cells, cells, st.sampled_from(["1/2", "-5 1/4", "#40", "1/32", "2 BA"])), min_size=1, max_size=4)
)
def test_cells_written_are_read_again_as_they_were(rows):
    columns = ("part", "dimension", "drawn", "note")
    wanted = [
        {"part": f"p{k}", "dimension": dim, "drawn": drawn, "note": note} for k, (dim, note, drawn) in enumerate(rows)
    ]
    for data, ending in ((to_csv(wanted, columns), ".csv"), (to_xlsx(wanted, columns), ".xlsx")):
        got = [{name: row.cells[name].text for name in columns} for row in read_sheet(data, ending).rows]
        assert got == wanted, ending


@pytest.mark.parametrize(("write", "ending"), [(to_csv, ".csv"), (to_xlsx, ".xlsx")])
def test_a_text_that_looks_like_a_formula_stays_a_text(write, ending):
    for text in ("=1+1", "+1", "@x", "-x", "'=x"):
        data = write(
            [{"part": "a", "dimension": "b", "drawn": "1", "note": text}], ("part", "dimension", "drawn", "note")
        )
        assert read_sheet(data, ending).rows[0].cells["note"].text == text
    if ending == ".xlsx":
        sheet = openpyxl.load_workbook(io.BytesIO(data))["dimensions"]
        assert sheet["C2"].number_format == "@"
    else:
        assert b"\n=1" not in to_csv([{"part": "=1"}], ("part",)).replace(b"\r", b"")


def test_the_template_holds_no_row_and_its_cells_are_texts():
    for data, ending in ((to_csv((), READ, help_row=True), ".csv"), (to_xlsx((), READ, template=True), ".xlsx")):
        with pytest.raises(Refused, match="no row below the headings"):
            read_sheet(data, ending)
    sheet = openpyxl.load_workbook(io.BytesIO(to_xlsx((), READ, template=True)))["dimensions"]
    assert sheet.cell(200, 3).number_format == "@"


def test_the_examples_of_the_template_are_read_once_their_mark_is_taken_away():
    text = to_csv((), READ, help_row=True).decode("utf-8-sig").replace("# for example ", "")
    design = design_after(text, tables={"book": {"drawing_unit": "inch"}})
    assert list(design.parts) == ["wheel", "axle", "crank_pin"]
    assert design.parts["axle"].dims["seat.diameter"].drawn == "5/8"


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 400), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_a_binary_fraction_shown_as_a_fraction_is_that_fraction(over, under):
    text = shown(over / under, "# ??/??", "drawn")
    assert sum(Fraction(each) for each in text.split()) == Fraction(over, under)


def test_the_list_of_the_page_is_read():
    page = (Path(__file__).parents[2] / "docs" / "exchange.md").read_text(encoding="utf-8")
    (text,) = re.findall(r"```csv\n(.*?)```", page, re.DOTALL)
    design = design_after(text, tables={"book": {"drawing_unit": "inch"}})
    assert {name: part.places for name, part in design.parts.items()} == {
        "wheel": ("1L", "1R"), "crank_pin": ("p1", "p2"), "frame_stay": ("p1", "p2", "p3"),
    }  # fmt: skip
    assert dict(design.parts["wheel"].dims["bore"].drawn_at) == {"1R": "41/64"}
    assert design.parts["crank_pin"].dims["cap_thread"].kind == "thread"
    for column in COLUMNS:
        assert column.name in page
