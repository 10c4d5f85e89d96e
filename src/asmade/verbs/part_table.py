"""The sizes of a part as one table, entered in place: as drawn, as chosen, as made on each piece; all or none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from asmade.book.address import Address
from asmade.book.model import Dimension, Part
from asmade.book.sizes import check_written
from asmade.book.text import Draft
from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.reckon.values import Values
from asmade.verbs.made import tried
from asmade.verbs.show import PartView, SizeRow
from asmade.verbs.store import Opened, Saved, save

COLUMNS = ("drawn", "chosen", "made")


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of the table: which column, which dimension, at which place (a reading; empty for the whole part)."""

    column: str
    dim: str
    place: str = ""


@dataclass(frozen=True, slots=True)
class Entered:
    """How each cell was read; why some were refused; which look like a slip (asked about before they are saved).

    Where anything is refused or to be asked about, nothing is saved.
    """

    read: Mapping[Cell, str]
    refused: Mapping[Cell, AsmadeError]
    slips: Mapping[Cell, tuple[str, ...]]
    saved: Saved | None


@dataclass(frozen=True, slots=True)
class Group:
    """One dimension of a part with its size on every piece."""

    dimension: Dimension
    how: str
    chosen: str
    chosen_why: str
    locked: bool
    apart: bool
    rows: tuple[SizeRow, ...]


def table_of(part: Part, rows: Sequence[SizeRow]) -> tuple[Group, ...]:
    """The rows of a part, grouped by dimension. ``apart``: it is chosen otherwise on some of its pieces."""
    found = []
    for dimension in part.dims.values():
        mine = tuple(row for row in rows if row.address.dim == dimension.name)
        said = {(row.chosen, row.locked) for row in mine}
        first = mine[0] if mine else None
        found.append(
            Group(dimension, first.how if first else "", first.chosen if first and len(said) == 1 else "",
                  first.chosen_why if first and len(said) == 1 else "", bool(first and first.locked), len(said) > 1,
                  mine)
        )  # fmt: skip
    return tuple(found)


def enter(
    opened: Opened, values: Values, view: PartView, cells: Mapping[Cell, str], *, instrument: str = "",
    reference: str = "", sure: bool = False, key: str = "",
) -> Entered:  # fmt: skip
    """Enter what is new or changed; a cell left as it stands is passed over, an emptied drawn one says: not known.

    ``view`` is the part as it was shown. An emptied reading or choice says nothing: those are withdrawn by their entry.
    """
    of, held = view.part, {(row.address.place, row.address.dim): row.made for row in view.rows}
    read: dict[Cell, str] = {}
    refused: dict[Cell, AsmadeError] = {}
    slips: dict[Cell, tuple[str, ...]] = {}
    drafts: list[Draft] = []
    for cell, text in cells.items():
        if cell.column == "made" and text.strip() == held.get((cell.place, cell.dim)):
            continue
        try:
            draft, how, looks = _one(opened, values, of, cell, text.strip(), instrument, reference)
        except AsmadeError as fault:
            refused[cell] = fault
            continue
        if draft is not None:
            read[cell] = how
            drafts.append(draft)
            if looks and not sure:
                slips[cell] = looks
    saved = save(opened, drafts, key=key) if drafts and not refused and not slips else None
    return Entered(read, refused, slips, saved)


def _one(
    opened: Opened, values: Values, part: Part, cell: Cell, text: str, instrument: str, reference: str
) -> tuple[Draft | None, str, tuple[str, ...]]:
    build = opened.build
    dimension = part.dims.get(cell.dim)
    if dimension is None:
        raise Unknown(f"dimension of {part.name}", got=cell.dim, near=near(cell.dim, part.dims))
    name = f"{part.name}.{cell.dim}"
    match cell.column:
        case "drawn":
            if text == dimension.drawn:
                return None, "", ()
            how = check_written(text, dimension, build.design.drawing_unit, name)
            return (
                Draft("drawn", {"of": name, "drawn": text} | ({"reference": reference} if reference else {})),
                how,
                (),
            )
        case "chosen":
            held = build.chosen.get(Address(part.name, dim=cell.dim))
            if not text or (held is not None and held.size == text):
                return None, "", ()
            how = check_written(text, dimension, "mm", f"{name} chosen")
            return Draft("chosen", {"of": name, "size": text, "why": "by hand", "locked": True}), how, ()
        case "made":
            return _reading(opened, values, f"{part.name}@{cell.place}.{cell.dim}", text, instrument)
    raise Refused("column", got=cell.column, reason="it is not entered", way_out=f"one of: {', '.join(COLUMNS)}")


def _reading(
    opened: Opened, values: Values, address: str, text: str, instrument: str
) -> tuple[Draft | None, str, tuple[str, ...]]:
    if not text:
        return None, "", ()
    if instrument and instrument not in opened.build.shop.instruments:
        raise Unknown("instrument", got=instrument, near=near(instrument, opened.build.shop.instruments))
    several = tuple(filter(None, (each.strip() for each in text.split(";"))))
    found, _ = tried(opened, values, address, several, instrument=instrument)
    known = opened.build.shop.instruments.get(instrument)
    body: dict[str, object] = {"piece": found.piece.seat, "dim": found.piece.dim, "unit": known.unit if known else "mm"}
    body |= {"reading": several[0]} if len(several) == 1 else {"repeats": list(several)}
    body |= {"instrument": instrument} if instrument else {}
    return Draft("made", body | {"stage": "finished"}), found.how, found.slips
