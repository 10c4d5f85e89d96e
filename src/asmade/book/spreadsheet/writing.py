"""Rows into a file: .csv for any program, .xlsx with figures as figures and fractions safe from the calendar."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any, Final

from asmade.book.kinds import KEEPS, KINDS
from asmade.book.spreadsheet.columns import COLUMNS, HEADINGS, READ

Row = Mapping[str, str | float | None]
TO_FILL_IN: Final = 400
"""Rows of a template whose cells are made text before anything is typed."""
EXAMPLES: Final = (
    {"part": "wheel", "dimension": "bore", "drawn": "5/8", "kind": "bore", "process": "reamed", "places": "1L 1R",
     "reference": "sheet 2", "material": "cast iron", "keep": "near"},
    {"part": "axle", "dimension": "seat.diameter", "drawn": "5/8", "kind": "shaft", "quantity": "1",
     "reference": "sheet 2"},
    {"part": "crank_pin", "dimension": "cap_thread", "drawn": "5 BA", "kind": "thread", "quantity": "2"},
)  # fmt: skip
"""Invented rows that show how a list is filled in; they stand behind a # (or on the help sheet) and are not read."""
_WIDTHS: Final = {"part": 24, "dimension": 22, "drawn": 14, "process": 14, "places": 18, "note": 40, "material": 20}


def to_csv(rows: Sequence[Row], columns: Sequence[str], *, help_row: bool = False) -> bytes:
    """Write rows as UTF-8 with commas; a text that could pass for a formula gets an apostrophe before it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([HEADINGS[name] for name in columns])
    if help_row:
        helps = {column.name: column.words for column in COLUMNS}
        writer.writerow([("# " if at == 0 else "") + helps[name] for at, name in enumerate(columns)])
        for example in EXAMPLES:
            cells = [str(example.get(name, "")) for name in columns]
            writer.writerow([f"# for example {cells[0]}", *cells[1:]])
    for row in rows:
        writer.writerow([csv_text(row.get(name)) for name in columns])
    return out.getvalue().encode("utf-8-sig")


def csv_text(value: str | float | None) -> str:
    """A cell of a .csv: nothing for what is not known, a mark before a text that could pass for a formula."""
    if value is None:
        return ""
    if not isinstance(value, str):
        return f"{value:.6f}".rstrip("0").rstrip(".")
    text = " ".join(value.split())
    if text.startswith(("=", "+", "@", "'")) or (text.startswith("-") and not text[1:2].isdigit()):
        return f"'{text}"
    return text


def to_xlsx(rows: Sequence[Row], columns: Sequence[str], *, about: Sequence[str] = (), template: bool = False) -> bytes:
    """Write rows as a sheet "dimensions" with a sheet "help" behind it; texts are stored as texts."""
    import openpyxl  # noqa: PLC0415  # 100 ms, wanted for .xlsx only
    from openpyxl.styles import Alignment, Font  # noqa: PLC0415

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "dimensions"
    for at, name in enumerate(columns, start=1):
        put(sheet.cell(1, at), HEADINGS[name]).font = Font(bold=True)
        sheet.column_dimensions[sheet.cell(1, at).column_letter].width = _WIDTHS.get(name, 12)
    sheet.freeze_panes = "A2"
    for number, row in enumerate(rows, start=2):
        for at, name in enumerate(columns, start=1):
            value = row.get(name)
            if value is not None and value != "":
                put(sheet.cell(number, at), value)
            elif name in READ:
                sheet.cell(number, at).number_format = "@"  # a figure typed in later stays as typed
    if template:
        _make_text(sheet, columns)
    helps = book.create_sheet("help")
    lines: list[tuple[str, ...]] = [*((text,) for text in about), ("column", "what it holds", "also known as")]
    lines += [
        (HEADINGS[c.name] + (" (needed)" if c.needed else ""), c.words, ", ".join(c.known_as))
        for c in COLUMNS
        if c.name in columns
    ]
    lines += [("",), ("An empty cell says nothing and takes nothing away. Examples, invented:",)]
    names = [name for name in READ if any(name in example for example in EXAMPLES)]
    lines += (
        [tuple(names), *(tuple(example.get(name, "") for name in names) for example in EXAMPLES)] if template else []
    )
    for number, line in enumerate(lines, start=1):
        for at, text in enumerate(line, start=1):
            if text:
                put(helps.cell(number, at), text).alignment = Alignment(vertical="top")
    for letter, width in (("A", 22), ("B", 90), ("C", 60)):
        helps.column_dimensions[letter].width = width
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def put(cell: Any, value: str | float) -> Any:
    """Put a value into a cell; a text stays a text, whatever it begins with."""
    if isinstance(value, str):
        cell.value = "".join(c if c.isprintable() else " " for c in value)
        cell.data_type, cell.number_format = "s", "@"
    else:
        cell.value = round(value, 6)
        cell.number_format = "0.000"
    return cell


def _make_text(sheet: Any, columns: Sequence[str]) -> None:
    """Make the cells to fill in texts, so that 1/2 stays 1/2, and offer the kinds and ways to keep."""
    from openpyxl.worksheet.datavalidation import DataValidation  # noqa: PLC0415

    for number in range(2, TO_FILL_IN + 2):
        for at in range(1, len(columns) + 1):
            sheet.cell(number, at).number_format = "@"
    for name, offered in (("kind", tuple(KINDS)), ("keep", KEEPS)):
        if name in columns:
            letter = sheet.cell(1, columns.index(name) + 1).column_letter
            choice = DataValidation(type="list", formula1=f'"{",".join(offered)}"', allow_blank=True)
            choice.showErrorMessage = False  # other words of the trade are understood too
            choice.add(f"{letter}2:{letter}{TO_FILL_IN + 1}")
            sheet.add_data_validation(choice)
