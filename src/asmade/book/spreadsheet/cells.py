"""Files into rows of cells under known headings: .csv and .xlsx, as people and spreadsheets write them."""

from __future__ import annotations

import csv
import io
import re
import warnings
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any, Final

from asmade.book.spreadsheet.columns import COLUMNS, NEEDED, Column, Heading, find_column, plain_heading
from asmade.book.spreadsheet.shown import date_refused, refuse_date_text, shown
from asmade.measure.errors import AsmadeError, OutOfRange, Refused, near

HEADING_WITHIN: Final = 30  # rows: a title, a date, a few words may stand above the headings
MOST_ROWS: Final = 50_000
MOST_COLUMNS: Final = 200
_UNPACKED: Final = 300 * 2**20  # bytes: a packed file may not blow up in memory
_NO_TEXT: Final = {
    b"PK\x03\x04": "a packed file, perhaps an .xlsx", b"SQLite format 3\0": "a database, perhaps a book",
    b"\xd0\xcf\x11\xe0": "an .xls of old", b"%PDF": "a PDF",
}  # fmt: skip
_DELIMITERS: Final = (",", ";", "\t")
_TEXT_FORMULA: Final = re.compile(r'="([^"=]*)"')  # how some programs keep a text from being read as a number
_HELD_BACK: Final = re.compile(r"'(?=[-=+@'])")  # an apostrophe that keeps a text from being taken for a formula

_COMMENT: Final = re.compile(r"\s*#\s*[^\W\d]")  # words behind a #; #40 is a drill


@dataclass(frozen=True, slots=True)
class Cell:
    """The text of a cell; ``fault`` says why it cannot be taken."""

    text: str
    fault: AsmadeError | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One row below the headings: its number in the file, and its cells by column."""

    number: int
    cells: Mapping[str, Cell]
    fault: AsmadeError | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """A dimension list as read; ``unit`` is what the heading says of bare figures, ``notes`` is worth telling."""

    rows: tuple[Row, ...]
    unit: str
    not_read: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Grid:
    """Cells as they stand, with the number of each row; ``name`` is the sheet's."""

    name: str
    rows: Sequence[tuple[int, Sequence[Cell]]]


def read_sheet(data: bytes, ending: str) -> Sheet:
    """Read a ``.csv`` or ``.xlsx`` file into rows; raises `Refused` where it is no dimension list."""
    if ending == ".xlsx":
        return _of_workbook(_workbook(data))
    text, notes = _decoded(data)
    return _of_text(text, notes)


# ---------------------------------------------------------------- CSV


def _decoded(data: bytes) -> tuple[str, tuple[str, ...]]:
    """The text of a file in UTF-8, UTF-16 or Windows-1252, told apart by their marks, not guessed by language."""
    for mark, what in _NO_TEXT.items():
        if data.startswith(mark):
            raise Refused(
                "file", got=what, reason="it is no text", way_out="name the right file, or give it its ending"
            )
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding, notes = "utf-16", ()
    elif data[1:2] == b"\0" or data[:1] == b"\0":
        encoding, notes = ("utf-16-le" if data[1:2] == b"\0" else "utf-16-be"), ()
    else:
        try:
            return data.decode("utf-8-sig"), ()
        except UnicodeDecodeError:
            encoding, notes = "cp1252", ("the file is not UTF-8: its letters were read as Windows-1252",)  # type: ignore[assignment]
    try:
        return data.decode(encoding), notes
    except UnicodeDecodeError as fault:
        raise Refused(
            "file", got=data[max(0, fault.start - 8) : fault.start + 8],
            reason=f"byte {fault.start} is no letter in {encoding}",
            way_out="save it as CSV UTF-8",
        ) from fault  # fmt: skip


def _of_text(text: str, notes: tuple[str, ...]) -> Sheet:
    stated = re.match(r"sep=(.)\r?\n", text)
    best: tuple[int, _Grid | None] = (-1, None)
    for delimiter in (stated[1],) if stated else _DELIMITERS:
        grid = _grid_of(text, delimiter, skip=1 if stated else 0)
        found = max((_known(row) for _, row in grid.rows[:HEADING_WITHIN]), default=0)
        if found > best[0]:
            best = (found, grid)
    grid_read = best[1]
    if grid_read is None or not grid_read.rows:
        raise _empty()
    return _under_headings(grid_read, notes)


def _grid_of(text: str, delimiter: str, *, skip: int) -> _Grid:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    rows: list[tuple[int, list[Cell]]] = []
    before = 0
    try:
        for cells in reader:
            number, before = before + 1, reader.line_num
            if number <= skip or not any(cell.strip() for cell in cells) or _COMMENT.match(cells[0]):
                continue
            rows.append((number, [_csv_cell(cell, delimiter, number, before) for cell in cells]))
            _refuse_long(len(rows), len(cells))
    except csv.Error as fault:
        raise Refused("file", got=f"line {before + 1}", reason=str(fault), way_out="look for a stray quote") from fault
    return _Grid("", rows)


def _csv_cell(text: str, delimiter: str, first: int, last: int) -> Cell:
    if "\n" in text.rstrip("\n") or text.endswith("\n"):
        if any(line.count(delimiter) > 1 for line in text.splitlines()[1:]) or text.endswith("\n"):
            return Cell(
                text.splitlines()[0].strip(),
                Refused(
                    "row", got=text.splitlines()[0].strip(),
                    reason=f"a quote was opened and not closed: lines {first} to {last} run into one",
                    way_out='an inch mark inside quotes is written twice: "5/8"""; or leave quotes and inch marks out',
                ),
            )  # fmt: skip
        text = " ".join(text.split())
    text = text.strip()
    if kept := _TEXT_FORMULA.fullmatch(text):
        return Cell(kept[1].strip())
    if text.startswith("="):
        return Cell(text, _formula(text))
    return Cell(_HELD_BACK.sub("", text, count=1) if text.startswith("'") else text)


# ---------------------------------------------------------------- XLSX


def _workbook(data: bytes) -> list[_Grid]:
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise Refused(
            "file", got="an .xls of old, or one with a password", reason="it is no .xlsx inside",
            way_out="save it as .xlsx without a password",
        )  # fmt: skip
    import openpyxl  # noqa: PLC0415  # 100 ms, wanted for .xlsx only

    try:
        _refuse_blown_up(data)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of drop-down lists and the like, which do not matter here
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
            try:
                sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
                return [_Grid(sheet.title, list(_xlsx_rows(sheet))) for sheet in sheets]
            finally:
                book.close()
    except AsmadeError:
        raise
    except Exception as fault:  # whatever a damaged file makes the library stumble over
        raise Refused(
            "file", got=data[:8], reason=f"it is damaged, or no .xlsx ({type(fault).__name__})",
            way_out="open it in the spreadsheet and save it anew as .xlsx",
        ) from fault  # fmt: skip


def _refuse_blown_up(data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        size = sum(info.file_size for info in packed.infolist())
    if size > _UNPACKED:
        raise OutOfRange("file", got=f"{size / 2**20:.0f} MB unpacked", allowed=f"up to {_UNPACKED // 2**20} MB")


def _xlsx_rows(sheet: Any) -> Iterator[tuple[int, list[Cell]]]:
    count = 0
    for number, row in enumerate(sheet.iter_rows(), start=1):
        cells = [_xlsx_cell(cell) for cell in row]
        while cells and not cells[-1].text:
            cells.pop()
        if not cells or _COMMENT.match(cells[0].text):
            continue
        count += 1
        _refuse_long(count, len(cells))
        yield number, cells


def _xlsx_cell(cell: Any) -> Cell:
    value = cell.value
    match value:
        case None:
            return Cell("")
        case str() if cell.data_type == "f":
            return Cell(value, _formula(value))
        case str() if cell.data_type == "e":
            return Cell(
                value, Refused("cell", got=value, reason="the sheet has an error here", way_out="mend it there")
            )
        case str():
            return Cell(" ".join(value.split()))
        case bool():
            return Cell("TRUE" if value else "FALSE")
        case int() | float():
            try:
                return Cell(shown(value, cell.number_format or "General", "cell"))
            except Refused as fault:
                return Cell(str(value), fault)
        case datetime() | date() | time():
            return Cell(value.isoformat(), date_refused(value, "cell"))
        case _:
            text = str(getattr(value, "text", "") or "a formula")
            return Cell(text, _formula(text))


def _of_workbook(grids: list[_Grid]) -> Sheet:
    with_rows = [grid for grid in grids if grid.rows]
    if not with_rows:
        raise _empty()
    lists = [
        grid
        for grid in with_rows
        if grid.name.casefold() != "help" and any(_is_headings(row) for _, row in grid.rows[:HEADING_WITHIN])
    ]
    if not lists:
        return _under_headings(with_rows[0], ())
    notes = (
        (f"sheet {lists[0].name!r} was read, not {', '.join(repr(g.name) for g in lists[1:])}",) if lists[1:] else ()
    )
    return _under_headings(lists[0], notes)


# ---------------------------------------------------------------- both


def _formula(text: str) -> Refused:
    return Refused(
        "cell", got=text, reason="it holds a formula, not a figure",
        way_out="put the figure itself there: copy the cells, then paste them as values",
    )  # fmt: skip


def _empty() -> Refused:
    return Refused(
        "file", got="", reason="the sheet is empty", way_out="asmade import --template NAME.xlsx makes one to fill in"
    )


def _refuse_long(rows: int, columns: int) -> None:
    if rows > MOST_ROWS:
        raise OutOfRange("rows of a dimension list", got=f"more than {MOST_ROWS}", allowed=f"up to {MOST_ROWS}")
    if columns > MOST_COLUMNS:
        raise OutOfRange("columns of a dimension list", got=columns, allowed=f"up to {MOST_COLUMNS}")


def _known(row: Iterable[Cell]) -> int:
    return sum(find_column(cell.text) is not None for cell in row if cell.text)


def _is_headings(row: Iterable[Cell]) -> bool:
    found = {column[0].name for cell in row if cell.text and (column := find_column(cell.text))}
    return found.issuperset(NEEDED)


def _under_headings(grid: _Grid, notes: tuple[str, ...]) -> Sheet:
    """Find the row of headings and read what stands below it."""
    start = next((k for k, (_, row) in enumerate(grid.rows[:HEADING_WITHIN]) if _is_headings(row)), None)
    if start is None:
        raise _no_headings(grid)
    headings, not_read = _headings(grid.rows[start][1])
    unit = next((heading.unit for heading in headings.values() if heading.unit), "")
    rows = tuple(
        row
        for number, cells in grid.rows[start + 1 :]
        if (row := _row(number, cells, headings, len(grid.rows[start][1])))
    )
    if not rows:
        raise Refused("file", got="headings only", reason="there is no row below the headings", way_out="fill in a row")
    return Sheet(rows, unit, not_read, notes)


def _no_headings(grid: _Grid) -> Refused:
    rows = [row for _, row in grid.rows[:HEADING_WITHIN]]
    likely = max(rows, key=_known)
    found = {column[0].name for cell in likely if (column := find_column(cell.text))}
    missing = [name for name in NEEDED if name not in found]
    texts = [cell.text for cell in likely if cell.text]
    meant = [f"{m} (is it {near(m, [plain_heading(t) for t in texts], 1)[0]!r}?)"
             if near(m, [plain_heading(t) for t in texts], 1) else m for m in missing]  # fmt: skip
    return Refused(
        "headings", got=", ".join(texts)[:200],
        reason=f"no row has all the headings that are needed; missing here: {', '.join(meant)}",
        way_out=f"needed: {', '.join(NEEDED)}; also known: {', '.join(c.name for c in COLUMNS if not c.needed)}",
    )  # fmt: skip


def _headings(row: Sequence[Cell]) -> tuple[dict[str, Heading], tuple[str, ...]]:
    found: dict[str, Heading] = {}
    not_read: list[str] = []
    for at, cell in enumerate(row):
        if not cell.text:
            continue
        known: tuple[Column, str] | None = find_column(cell.text)
        if known is None:
            guess = near(plain_heading(cell.text), [column.name for column in COLUMNS], 1)
            not_read.append(f"{cell.text} (is it {guess[0]}?)" if guess else cell.text)
            continue
        column, unit = known
        if column.name in found:
            other = row[found[column.name].at].text
            raise Refused(
                "headings", got=f"{other}, {cell.text}", reason=f"both are the column {column.name}",
                way_out="rename or take out one of the two",
            )  # fmt: skip
        if column.read:
            found[column.name] = Heading(at, column, unit)
        else:
            not_read.append(cell.text)
    return found, tuple(not_read)


def _row(number: int, cells: Sequence[Cell], headings: Mapping[str, Heading], width: int) -> Row | None:
    """One row, or None for one that says nothing in any column that is read."""
    fault = next((cell.fault for cell in cells if cell.fault and "opened and not closed" in str(cell.fault)), None)
    beyond = [cell.text for cell in cells[width:] if cell.text]
    if fault is None and beyond:
        fault = Refused(
            "row", got=", ".join(cell.text for cell in cells), reason="it has more cells than there are headings",
            way_out="a decimal comma or a comma in a note wants quotes around the cell, or semicolons between cells",
        )  # fmt: skip
    taken = {}
    for name, heading in headings.items():
        cell = cells[heading.at] if heading.at < len(cells) else Cell("")
        if cell.fault is None and cell.text:
            cell = _checked(cell, name)
        taken[name] = cell
    if fault is None and not any(cell.text for cell in taken.values()):
        return None
    return Row(number, taken, fault)


def _checked(cell: Cell, name: str) -> Cell:
    if not cell.text.isprintable():
        clean = "".join(c if c.isprintable() else "?" for c in cell.text)
        return Cell(clean, Refused(name, got=cell.text, reason="it holds control characters", way_out="type it again"))
    if name in ("drawn", "quantity"):
        try:
            refuse_date_text(cell.text, name)
        except Refused as fault:
            return Cell(cell.text, fault)
    return cell
