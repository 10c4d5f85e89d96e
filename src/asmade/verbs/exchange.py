"""import and export: the text form, a dimension list in a spreadsheet, and the entries themselves."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from asmade.book.address import Address
from asmade.book.compare import Change, Differences, compare
from asmade.book.entry_lines import read_entries, write_entries
from asmade.book.files import ending_of, read_file, refuse_taken, write_file
from asmade.book.fold import fold, withdrawn
from asmade.book.ledger import Ledger
from asmade.book.ledger_entry import prepare
from asmade.book.model import Build, Dimension, Part
from asmade.book.sizes import check_written
from asmade.book.spreadsheet.cells import read_sheet
from asmade.book.spreadsheet.columns import READ
from asmade.book.spreadsheet.plan import Refusal, plan
from asmade.book.spreadsheet.writing import to_csv, to_xlsx
from asmade.book.tables import JOURNAL, UNITS
from asmade.book.text import Draft, dimensions_in, read_text, write_text
from asmade.measure.errors import AsmadeError, Damaged, Refused, Unknown
from asmade.verbs.store import Path_, Saved, read, save, start, to_entries

LISTS: Final = (".csv", ".xlsx")
TEXT: Final = ".toml"
ENTRIES: Final = ".jsonl"
ENTRIES_LIMIT: Final = 500 * 2**20  # bytes


@dataclass(frozen=True, slots=True)
class NewDimension:
    """A dimension that an import brings, and how its drawn figure was read."""

    address: Address
    kind: str
    drawn: str
    how: str


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import would change or has changed; ``saved`` is None where a refused row kept everything back."""

    new_parts: tuple[Part, ...]
    new_dimensions: tuple[NewDimension, ...]
    new_relations: tuple[str, ...]
    changed: tuple[Change, ...]
    same: int
    refused: tuple[Refusal, ...]
    not_read: tuple[str, ...]
    notes: tuple[str, ...]
    saved: Saved | None


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written where; ``notes`` say what is not in it."""

    path: Path
    what: str
    rows: int
    notes: tuple[str, ...]


def import_(
    book: Path_,
    file: Path_,
    *,
    new: bool = False,
    unit: str = "",
    title: str = "",
    leave_out_refused: bool = False,
    what_if: bool = False,
) -> Imported:
    """Bring ``file`` into ``book``, or with ``new`` into a new book.

    ``.toml`` is the text form (merged into an existing book: its design and shop), ``.csv`` and ``.xlsx`` a dimension
    list, ``.jsonl`` the entries of another book (with ``new`` only). A new book from a list needs the drawing's
    ``unit``. Nothing is half imported: if a row is refused nothing is saved, unless ``leave_out_refused``.
    """
    ending = ending_of(file, (TEXT, *LISTS, ENTRIES))
    if new:
        _refuse_book_name(book)
    _refuse_head(ending, new=new, unit=unit, title=title)
    if ending == ENTRIES:
        return _import_entries(book, file, new=new, what_if=what_if)
    return import_data(
        book, str(file), read_file(file), new=new, unit=unit, title=title, leave_out_refused=leave_out_refused,
        what_if=what_if,
    )  # fmt: skip


def import_data(
    book: Path_,
    name: str,
    data: bytes,
    *,
    new: bool = False,
    unit: str = "",
    title: str = "",
    leave_out_refused: bool = False,
    what_if: bool = False,
) -> Imported:
    """As `import_`, of a text or a list that is not on this machine's disk: its ``name`` tells what it is."""
    ending = ending_of(name, (TEXT, *LISTS))
    if new:
        _refuse_book_name(book)
    _refuse_head(ending, new=new, unit=unit, title=title)
    if ending == TEXT:
        return _import_text(book, name, data, new=new, what_if=what_if)
    return _import_list(
        book, data, ending, new=_head(Path(book), unit, title) if new else None,
        leave_out_refused=leave_out_refused, what_if=what_if,
    )  # fmt: skip


def _refuse_head(ending: str, *, new: bool, unit: str, title: str) -> None:
    if (unit or title) and not (new and ending in LISTS):
        raise Refused(
            "unit" if unit else "title", got=unit or title, reason="that is for a new book from a list",
            way_out="leave it out: the book has its own" if not new else "leave it out: the file has its own",
        )  # fmt: skip


def _refuse_book_name(book: Path_) -> None:
    if Path(book).suffix != ".asmade":
        raise Refused(
            "book", got=str(book), reason="a book's name ends in .asmade", way_out=f"write {Path(book).stem}.asmade"
        )
    if Path(book).exists():
        raise Damaged(
            f"{book}: there is a file of that name already", way_out="choose another name, or leave out --new"
        )


def _head(book: Path, unit: str, title: str) -> Draft:
    if unit not in UNITS:
        way_out = "say --unit inch or --unit mm: what a bare figure on the drawing means"
        if not unit:
            raise Refused("unit", got="", reason="a new book needs the drawing's unit", way_out=way_out)
        raise Unknown("unit", got=unit, way_out=way_out)
    return Draft("design", {"set": {"book": {"title": title.strip() or book.stem, "drawing_unit": unit}}})


# ---------------------------------------------------------------- the text form


def _import_text(book: Path_, file: str, data: bytes, *, new: bool, what_if: bool) -> Imported:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise Refused(
            "file", got=file, reason=f"byte {fault.start} is not UTF-8", way_out="save the text form as UTF-8"
        ) from fault
    drafts = read_text(text)
    if new:
        _refuse_unkept(drafts)
        saved = start(book, drafts, what_if=what_if)
        attached = sum(remark.kind == "attachment" for remark in saved.build.remarks)
        told = ("attachments are named in the text, but their data is not in it",) if attached else ()
        return replace(_all_new(saved), notes=told)
    opened = read(book)
    said: Mapping[str, Any] = drafts[0].body["set"]
    _refuse_other_unit(said.get("book"), opened.build)
    head = said.get("book")
    tables = dict(said)
    if isinstance(head, Mapping):
        tables["book"] = {k: v for k, v in head.items() if k != "format"}
    taken = [Draft("design", {"set": tables})] if any(tables.values()) else []
    taken += [draft for draft in drafts if draft.kind == "shop"]
    left = len([draft for draft in drafts if draft.kind in JOURNAL])
    if not taken:
        raise Refused(
            "text",
            got=str(file),
            reason="it holds no design and no shop",
            way_out="bring a journal into a new book: --new",
        )
    _refuse_unkept(taken)
    saved = save(opened, taken, what_if=True)
    found = compare(opened.build, saved.build)
    if not what_if and (found.touched or found.new_parts or found.new_relations or found.changed):
        saved = save(opened, taken, stand_on_read=True)
    named = _dimensions_of(tables.get("part"))
    notes = (
        [f"{left} journal rows (choices, readings, notes) were left out: a merge brings design and shop"]
        if left
        else []
    )
    result = _imported(found, saved.build, len(named - found.touched), replace(saved, what_if=what_if))
    return replace(result, notes=(*notes, *_standing(found, opened.build)))


def _refuse_unkept(drafts: Sequence[Draft]) -> None:
    """Refuse what the ledger could not keep (an infinite number) before anything is shown as possible."""
    for entry in to_entries(drafts, by="hand"):
        prepare(entry)


def _refuse_other_unit(head: Any, build: Build) -> None:
    unit = head.get("drawing_unit") if isinstance(head, Mapping) else None
    if unit is not None and unit != build.design.drawing_unit:
        raise Refused(
            "book.drawing_unit", got=unit, reason=f"the book's bare figures are {build.design.drawing_unit}",
            way_out="write the unit behind each figure of the file and take drawing_unit out of it",
        )  # fmt: skip


def _dimensions_of(parts: Any) -> frozenset[Address]:
    if not isinstance(parts, Mapping):
        return frozenset()
    return frozenset(
        Address(str(name), dim=".".join(path))
        for name, part in parts.items()
        if isinstance(part, Mapping) and isinstance(part.get("dim"), Mapping)
        for path, _ in dimensions_in(part["dim"])
    )


# ---------------------------------------------------------------- a dimension list


def _import_list(
    book: Path_, data: bytes, ending: str, *, new: Draft | None, leave_out_refused: bool, what_if: bool
) -> Imported:
    sheet = read_sheet(data, ending)
    opened = None if new else read(book)
    before = opened.build if opened else fold(to_entries([new] if new else [], by="hand", first=1))
    planned = plan(sheet, before.design)
    held_back = bool(planned.refused) and not (leave_out_refused and (planned.drafts or opened))
    dry = what_if or held_back
    drafts = planned.drafts
    if opened is None:
        every = [new, *drafts] if new else []
        _refuse_unkept(every)
        saved = start(book, every, what_if=dry)
    elif drafts:
        _refuse_unkept(drafts)
        saved = save(opened, drafts, what_if=dry, stand_on_read=True)
    else:
        saved = Saved((), dry, before)
    found = compare(before, saved.build)
    result = _imported(found, saved.build, len(planned.named - found.touched), None if held_back else saved)
    return replace(
        result, refused=planned.refused, not_read=sheet.not_read, notes=(*planned.notes, *_standing(found, before))
    )


def _all_new(saved: Saved) -> Imported:
    """All that a new book holds, set against an empty one."""
    head = {"book": {"drawing_unit": saved.build.design.drawing_unit}}
    empty = fold(to_entries([Draft("design", {"set": head})], by="", first=1))
    return replace(_imported(compare(empty, saved.build), saved.build, 0, saved), changed=())


def _imported(found: Differences, build: Build, same: int, saved: Saved | None) -> Imported:
    unit = build.design.drawing_unit
    return Imported(
        new_parts=found.new_parts,
        new_dimensions=tuple(NewDimension(a, d.kind, d.drawn, _how(d, unit)) for a, d in found.new_dimensions),
        new_relations=found.new_relations, changed=found.changed, same=same, refused=(),
        not_read=(), notes=(), saved=saved,
    )  # fmt: skip


def _how(dimension: Dimension, unit: str) -> str:
    try:
        return check_written(dimension.drawn, dimension, unit)
    except AsmadeError as fault:
        return fault.message


def _standing(found: Differences, before: Build) -> Iterator[str]:
    """Choices and readings that rest on a figure which the import changes: they stand, and are worth a look."""
    for change in found.changed:
        if change.what != "drawn" or not change.before:
            continue
        stem, _, dim = change.of.partition(".")
        part = stem.partition("@")[0]
        chosen = next((c for a, c in before.chosen.items() if (a.part, a.dim) == (part, dim)), None)
        if chosen is not None:
            yield f"{change.of}: the chosen size {chosen.size} stands: choose again if it should follow the drawing"
        readings = sum((r.piece.part, r.piece.dim) == (part, dim) for r in before.readings)
        if readings:
            yield f"{change.of}: {readings} reading{'s' if readings > 1 else ''} of it stand"


# ---------------------------------------------------------------- the entries themselves


def _import_entries(book: Path_, file: Path_, *, new: bool, what_if: bool) -> Imported:
    if not new:
        raise Refused("file", got=str(file), reason="entries make a new book only", way_out="say --new and a new name")
    entries, notes = read_entries(read_file(file, limit=ENTRIES_LIMIT))
    for entry in entries:
        prepare(entry)
    build = fold(entries)
    from asmade.reckon.system import compile_system  # noqa: PLC0415  # numpy is wanted only once something is written

    compile_system(build)
    numbers: tuple[int, ...] = ()
    if not what_if:
        with Ledger.create(book, entries=entries) as ledger:
            numbers = tuple(entry.number for entry in ledger.entries())
    saved = Saved(numbers, what_if, build)
    return replace(_all_new(saved), notes=notes)


# ---------------------------------------------------------------- export


def export(book: Path_, file: Path_, *, entries: bool = False, replace: bool = False) -> Exported:
    """Write ``book`` as text (``.toml``), as a dimension list (``.csv``, ``.xlsx``) or entry by entry (``.jsonl``).

    An existing file is replaced only with ``replace``; a book never is.
    """
    ending = ending_of(file, (ENTRIES,) if entries else (TEXT, *LISTS, ENTRIES))
    refuse_taken(file, replace=replace)
    path = Path(file)
    if ending == ENTRIES:
        with Ledger.open(book, write=False) as ledger:
            every, attached = ledger.entries(), len(ledger.attachments())
        write_file(path, write_entries(every, attached), replace=replace)
        return Exported(path, "entries", len(every), _not_in(attached))
    opened = read(book)
    if ending == TEXT:
        text = write_text(opened.build)
        write_file(path, text.encode(), replace=replace)
        gone = withdrawn(opened.entries)
        dropped = sum(e.kind == "withdrawn" or e.number in gone for e in opened.entries)
        notes = (f"{dropped} withdrawn entries and withdrawals are not in it",) if dropped else ()
        return Exported(path, "text", text.count("\n"), (*notes, *_not_in(_attachments(opened.build))))
    from asmade.verbs.exchange_list import COLUMNS_WRITTEN, about, rows_of  # noqa: PLC0415  # sums are wanted here only

    rows = rows_of(opened.build)
    data = (
        to_csv(rows, COLUMNS_WRITTEN)
        if ending == ".csv"
        else to_xlsx(rows, COLUMNS_WRITTEN, about=about(opened.build, opened.path))
    )
    write_file(path, data, replace=replace)
    return Exported(path, "dimension list", len(rows), ("relations, pieces and the journal are not in a list",))


def _attachments(build: Build) -> int:
    return sum(remark.kind == "attachment" for remark in build.remarks)


def _not_in(attachments: int) -> tuple[str, ...]:
    if not attachments:
        return ()
    return (
        f"the data of {attachments} attachment{'s is' if attachments > 1 else ' is'} not in it: it stays in the book",
    )


def template(file: Path_, *, replace: bool = False) -> Exported:
    """Write an empty dimension list with its headings explained, to be filled in and imported."""
    ending = ending_of(file, LISTS)
    about = ('A dimension list for asmade: fill in the sheet "dimensions", then: asmade import BOOK FILE --what-if',)
    data = to_csv((), READ, help_row=True) if ending == ".csv" else to_xlsx((), READ, about=about, template=True)
    write_file(file, data, replace=replace)
    notes = ("a spreadsheet may turn 1/2 into a date in a .csv: an .xlsx template has its cells made text",)
    return Exported(Path(file), "template", 0, notes if ending == ".csv" else ())


# ---------------------------------------------------------------- as plain data


def plain(result: Imported) -> dict[str, Any]:
    """An import for ``--json`` and the pages."""
    return {
        "new_parts": [{"part": part.name, "places": list(part.places)} for part in result.new_parts],
        "new_dimensions": [
            {"dimension": str(d.address), "kind": d.kind, "drawn": d.drawn, "read_as": d.how}
            for d in result.new_dimensions
        ],
        "new_relations": list(result.new_relations),
        "changed": [{"of": c.of, "what": c.what, "before": c.before, "after": c.after} for c in result.changed],
        "same": result.same,
        "refused": [
            {"row": r.row, "value": r.value, "reason": r.reason, "way_out": r.way_out} for r in result.refused
        ],
        "not_read": list(result.not_read),
        "notes": list(result.notes),
        "saved": {"entries": list(result.saved.entries), "what_if": result.saved.what_if} if result.saved else None,
    }  # fmt: skip


def plain_export(result: Exported) -> dict[str, Any]:
    """An export for ``--json``."""
    return {"file": str(result.path), "what": result.what, "rows": result.rows, "notes": list(result.notes)}
