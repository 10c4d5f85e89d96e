"""A list as a file: .csv for any program, .xlsx with figures as figures, .pdf for the counter and the saw."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any

from asmade.book.spreadsheet.writing import csv_text, put
from asmade.measure.errors import Unknown
from asmade.show.papers.typeset import paper_of, typeset
from asmade.verbs.cutlist import CutListResult, Group
from asmade.verbs.lists import Listing, buying, cutting
from asmade.verbs.sheet import Heading

ENDINGS = (".csv", ".xlsx", ".pdf")


def list_file(result: CutListResult, heading: Heading, which: str, ending: str, *, paper: str = "a4") -> bytes:
    """The list ``which`` ("cutting" or "buying") as a file of that ending; ``Unknown`` for another ending."""
    listing = cutting(result) if which == "cutting" else buying(result)
    match ending.casefold():
        case ".csv":
            return to_csv(listing)
        case ".xlsx":
            return to_xlsx(listing, heading)
        case ".pdf":
            return to_pdf(listing, heading, result.groups if which == "cutting" else (), paper=paper)
    raise Unknown("kind of file", got=ending, way_out=f"end its name in {', '.join(ENDINGS)}")


def to_csv(listing: Listing) -> bytes:
    """UTF-8 with commas, headings first."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(listing.headings)
    writer.writerows([csv_text(cell) for cell in row] for row in listing.rows)
    return out.getvalue().encode("utf-8-sig")


def to_xlsx(listing: Listing, heading: Heading) -> bytes:
    """One sheet with the rows, one with where it comes from and the notes."""
    import openpyxl  # noqa: PLC0415  # 100 ms, wanted for .xlsx only
    from openpyxl.styles import Font  # noqa: PLC0415

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = listing.name
    for at, name in enumerate(listing.headings, start=1):
        put(sheet.cell(1, at), name).font = Font(bold=True)
        widest = max((len(str(row[at - 1] or "")) for row in listing.rows), default=0)
        sheet.column_dimensions[sheet.cell(1, at).column_letter].width = min(60, max(len(name), widest) + 2)
    sheet.freeze_panes = "A2"
    for number, row in enumerate(listing.rows, start=2):
        for at, cell in enumerate(row, start=1):
            if cell is not None and cell != "":
                put(sheet.cell(number, at), cell)
                if isinstance(cell, int):
                    sheet.cell(number, at).number_format = "0"
    notes = book.create_sheet("notes")
    for number, line in enumerate((f"{listing.title}: {heading.words}", *listing.notes), start=1):
        put(notes.cell(number, 1), line)
    notes.column_dimensions["A"].width = 110
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def to_pdf(listing: Listing, heading: Heading, groups: Iterable[Group] = (), *, paper: str = "a4") -> bytes:
    """The list on paper; a cutting list with every bar drawn to scale, its cuts in order and what is left of it."""
    return typeset(
        "list",
        {
            "paper": paper_of(paper), "title": listing.title, "build": heading.title, "heading": heading.words,
            "state": f"entry {heading.entry}" + (f", {heading.date}" if heading.date else ""),
            "headings": list(listing.headings),
            "rows": [[_shown(cell, name) for cell, name in zip(row, listing.headings, strict=True)]
                     for row in listing.rows],
            "figures": [any(isinstance(row[at], int | float) for row in listing.rows)
                        for at in range(len(listing.headings))],
            "notes": list(listing.notes), "groups": [_bars(group) for group in groups],
        },
    )  # fmt: skip


def _shown(cell: str | float | None, heading: str) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str | int):
        return str(cell)
    return f"{cell:.3f}" if heading.startswith("mass") else f"{cell:.1f}"


def _bars(group: Group) -> dict[str, Any]:
    """The bars of one section to scale: shares of the longest bar, pieces in the order they are cut."""
    longest = max((cut.bar.length_mm for cut in group.plan.bars), default=1.0)
    bars: list[dict[str, Any]] = []
    for cut in group.plan.bars:
        said = {
            "name": cut.bar.name, "share": cut.bar.length_mm / longest, "length": cut.bar.length_mm,
            "pieces": [{"name": name, "length": f"{length:.1f}", "share": length / cut.bar.length_mm}
                       for name, length in cut.pieces],
            "rest": f"{cut.rest_mm:.1f}", "rest_share": cut.rest_mm / cut.bar.length_mm, "kept": cut.kept, "count": 1,
        }  # fmt: skip
        same = next((b for b in bars if {**b, "count": 1} == said), None)
        if same is None:
            bars.append(said)
        else:
            same["count"] += 1
    return {
        "title": f"{group.section.material}, {group.section.words}", "words": group.plan.words,
        "kerf": f"{group.plan.kerf_mm:g}", "bars": bars, "notes": list(group.notes),
        "missing": [f"{length:.1f} mm {name}" for name, length in group.plan.missing],
    }  # fmt: skip
