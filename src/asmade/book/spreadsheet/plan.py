"""From the rows of a dimension list to what they would change in a design: entries to save, and every row refused.

Nothing is taken half: a row is taken whole or refused with its reason. An empty cell says nothing and takes nothing
away.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from asmade.book.address import Address
from asmade.book.model import Design, Dimension, Part
from asmade.book.sizes import read_size
from asmade.book.spreadsheet import words
from asmade.book.spreadsheet.cells import Row, Sheet
from asmade.book.spreadsheet.columns import UNIT_WORDS
from asmade.book.text import Draft
from asmade.measure.errors import AsmadeError, OutOfRange, Refused, Unknown
from asmade.measure.threads import read_thread


@dataclass(frozen=True, slots=True)
class Refusal:
    """One row that cannot be taken: its number in the file, the value, why not, and the way out."""

    row: int
    value: str
    reason: str
    way_out: str


@dataclass(frozen=True, slots=True)
class Plan:
    """What a list would change: entries, the dimensions it speaks of, rows refused, and what is worth telling."""

    drafts: tuple[Draft, ...]
    named: frozenset[Address]
    refused: tuple[Refusal, ...]
    notes: tuple[str, ...]


@dataclass(slots=True)
class _Part:
    """A part as the list speaks of it."""

    name: str
    held: Part | None
    places: tuple[str, ...] = ()
    said: tuple[int, tuple[str, ...], int | None] | None = None
    material: str = ""
    said_of_it: dict[str, str] = field(default_factory=dict)
    dims: dict[str, dict[str, Any]] = field(default_factory=dict)
    rows: dict[str, int] = field(default_factory=dict)
    taken: bool = False
    unsound: int = 0


@dataclass(slots=True)
class _Seat:
    """A row whose part and place are known."""

    row: Row
    part: _Part
    place: str


def plan(sheet: Sheet, design: Design) -> Plan:
    """Work out what ``sheet`` would change in ``design``; touches nothing."""
    return _Planner(sheet, design).work()


class _Planner:
    def __init__(self, sheet: Sheet, design: Design) -> None:
        self.sheet, self.design = sheet, design
        self.parts: dict[str, _Part] = {}
        self.names = {name.lower(): name for name in reversed(tuple(design.parts))} | {
            name: name for name in design.parts
        }
        self.refused: list[Refusal] = []
        self.notes: list[str] = list(sheet.notes)
        self.drawn: dict[Address, dict[str, str]] = {}
        self.stated: dict[Address, tuple[int, str, object, str]] = {}
        self.named: set[Address] = set()

    def work(self) -> Plan:
        seats = [seat for row in self.sheet.rows if (seat := self._try(row, self._seat, row)) is not None]
        for part in self.parts.values():
            self._settle_places(part)
        for seat in seats:
            if seat.part.unsound:
                self._refuse(
                    seat.row, seat.part.name, f"how many there are could not be read in row {seat.part.unsound}",
                    "mend that row first",
                )  # fmt: skip
            else:
                self._try(seat.row, self._take, seat)
        self.refused.sort(key=lambda each: each.row)
        return Plan(self._drafts(), frozenset(self.named), tuple(self.refused), tuple(self.notes))

    def _try(self, row: Row, do: Any, argument: Any) -> Any:
        try:
            return do(argument)
        except (Refused, Unknown, OutOfRange) as fault:
            self._refuse(row, _value(fault), _reason(fault), fault.way_out)
        except AsmadeError as fault:
            self._refuse(row, "", fault.message, fault.way_out)
        return None

    def _refuse(self, row: Row, value: str, reason: str, way_out: str) -> None:
        self.refused.append(Refusal(row.number, value, reason, way_out))

    # ------------------------------------------------------------ parts

    def _seat(self, row: Row) -> _Seat:
        if row.fault is not None:
            raise row.fault
        text = _text(row, "part")
        if not text:
            raise Refused("part", got="", reason="the part is not named", way_out="write the part in every row")
        name, place = words.part_name(text, self.names)
        self.names.setdefault(name.lower(), name)
        part = self.parts.setdefault(name, _Part(name, self.design.parts.get(name)))
        try:
            places, count = words.places_of(_text(row, "places")), words.quantity_of(_text(row, "quantity"))
            if places and count is not None and len(places) != count:
                raise Refused(
                    "places", got=f"{count}: {' '.join(places)}", reason=f"{len(places)} places for {count} pieces",
                    way_out="name as many places as there are",
                )  # fmt: skip
            if (places or count is not None) and place:
                raise Refused(
                    "quantity", got=" ".join(places) or str(count), reason=f"this row speaks of place {place} only",
                    way_out=f"say how many there are in a row of {name} itself",
                )  # fmt: skip
            if places or count is not None:
                self._say_places(part, row, places, count)
        except AsmadeError:
            part.unsound = part.unsound or (row.number if part.held is None and part.said is None else 0)
            raise
        return _Seat(row, part, place)

    def _say_places(self, part: _Part, row: Row, places: tuple[str, ...], count: int | None) -> None:
        if part.held is not None:
            have = part.held.places
            if (places and set(places) != set(have)) or (count is not None and count != len(have)):
                raise Refused(
                    "places" if places else "quantity", got=" ".join(places) or str(count),
                    reason=f"the book has {len(have)} of {part.name}, at {' '.join(have)}",
                    way_out="leave it empty, or change the places of the part in the text form first",
                )  # fmt: skip
            return
        if part.said is None:
            part.said = (row.number, places, count)
            return
        first, before, counted = part.said
        differs = places and before and set(places) != set(before)
        differs = differs or (count or len(places)) != (counted or len(before))
        if differs:
            raise Refused(
                "places" if places else "quantity", got=" ".join(places) or str(count),
                reason=f"row {first} says {' '.join(before) or counted} of {part.name}", way_out="make the rows agree",
            )  # fmt: skip
        part.said = (first, before or places, counted if counted is not None else count)

    def _settle_places(self, part: _Part) -> None:
        if part.held is not None:
            part.places = part.held.places
            return
        _, places, count = part.said or (0, (), None)
        part.places = places or words.numbered_places(count or 1)

    # ------------------------------------------------------------ rows

    def _take(self, seat: _Seat) -> None:
        row, part = seat.row, seat.part
        for name in ("drawn", "unit", "kind", "process", "reference", "material", "note", "keep", "tool", "dimension"):
            _text(row, name)  # a cell that cannot be taken refuses its row
        if seat.place and seat.place not in part.places:
            raise Unknown(f"place of {part.name}", got=seat.place, way_out=f"one of: {', '.join(part.places)}")
        material = _text(row, "material")
        if material and part.material and part.material != material:
            raise Refused(
                "material", got=material, reason=f"another row says {part.material} of {part.name}",
                way_out="make the rows agree",
            )  # fmt: skip
        if _text(row, "dimension"):
            self._take_dimension(seat)
        elif stray := [n for n in ("drawn", "kind", "process", "keep", "tool") if _text(row, n)]:
            raise Refused(
                "dimension", got=_text(row, stray[0]), reason=f"it gives a {stray[0]}, but names no dimension",
                way_out="name the dimension, such as bore or length",
            )  # fmt: skip
        else:
            part.said_of_it |= {key: text for key in ("note", "reference") if (text := _text(row, key))}
        part.material = material or part.material
        part.taken = True

    def _take_dimension(self, seat: _Seat) -> None:
        row, part = seat.row, seat.part
        held = part.held.dims if part.held else {}
        name = words.dimension_name(_text(row, "dimension"), (*held, *part.dims))
        self._refuse_group(part, name, (*held, *part.dims))
        address = Address(part.name, seat.place, dim=name)
        existing = held.get(name)
        if existing is not None:
            self._change(row, part, existing, address)
        elif name in part.dims:
            self._again(row, part, address)
        else:
            self._add(row, part, address)
        self.named.add(Address(part.name, dim=name))

    def _refuse_group(self, part: _Part, name: str, names: tuple[str, ...]) -> None:
        for other in names:
            if other.startswith(f"{name}.") or name.startswith(f"{other}."):
                raise Refused(
                    "dimension", got=name, reason=f"{part.name} has {other}, and no name is dimension and group",
                    way_out=f"name it {name}.size, or otherwise",
                )  # fmt: skip

    def _add(self, row: Row, part: _Part, address: Address) -> None:
        if address.place:
            raise Refused(
                "part", got=f"{part.name}@{address.place}",
                reason=f"{address.of_part} is not known yet, and this row speaks of one place only",
                way_out=f"give a row for {part.name} first",
            )  # fmt: skip
        drawn = _text(row, "drawn")
        kind, told = words.kind_of(_text(row, "kind"), address.dim, drawn, thing=str(address))
        drawn, _ = self._written(row, Dimension(address.dim, kind), drawn, str(address))
        if told:
            self.notes.append(f"row {row.number}: {address}: {told}")
        table = {"kind": kind, "drawn": drawn, **_fields(row), "reference": _text(row, "reference")}
        part.dims[address.dim] = {k: v for k, v in table.items() if v}
        part.rows[address.dim] = row.number

    def _again(self, row: Row, part: _Part, address: Address) -> None:
        """A further row for a dimension that is new in this list: a place drawn apart, stated again, or a slip."""
        table, first = part.dims[address.dim], part.rows[address.dim]
        drawn = _text(row, "drawn")
        dimension = Dimension(address.dim, table["kind"])
        self._refuse_other_kind(row, dimension, address, f"row {first}")
        drawn, exact = self._written(row, dimension, drawn, str(address))
        self._refuse_differing(row, table, f"row {first}")
        reference = _text(row, "reference")
        if address.place:
            if drawn:
                _put_apart(table.setdefault("drawn_at", {}), address, drawn)
        elif drawn and not table.get("drawn"):
            table["drawn"] = drawn
        elif drawn and exact != self._exact(dimension, table["drawn"]):
            if not reference or reference == table.get("reference", ""):
                raise Refused(
                    "drawn", got=drawn, reason=f"row {first} says {table['drawn']} of {address}",
                    way_out="strike one out; or give each its reference, if the drawing states it twice",
                )  # fmt: skip
            table.setdefault("also", []).append({"drawn": drawn, "reference": reference})
        table.update(_fields(row))

    def _change(self, row: Row, part: _Part, existing: Dimension, address: Address) -> None:
        drawn = _text(row, "drawn")
        self._refuse_other_kind(row, existing, address, "the book")
        drawn, exact = self._written(row, existing, drawn, str(address))
        edit = part.dims.setdefault(address.dim, {})
        first = part.rows.setdefault(address.dim, row.number)
        if first != row.number:
            self._refuse_differing(row, edit, f"row {first}")
        fields = {k: v for k, v in _fields(row).items() if v != getattr(existing, k)}
        reference = _text(row, "reference")
        stated = self.stated.setdefault(address, (row.number, drawn, exact, reference)) if drawn else None
        elsewhere = bool(reference) and reference != existing.reference
        if address.place:
            self._refuse_contradiction(stated, drawn, exact, "", address)
            if drawn and exact != self._held(existing, existing.drawn_at.get(address.place, existing.drawn)):
                self.drawn[address] = {"of": str(address), "drawn": drawn}
        elif elsewhere and (stated is None or stated[0] != row.number or _is_stated(existing, reference)):
            self._stated_again(existing, edit, drawn, exact, reference)
        elif drawn and exact != self._held(existing, existing.drawn):
            self._refuse_contradiction(stated, drawn, exact, reference, address)
            said = {"reference": reference} if reference else {}
            self.drawn[address] = {"of": str(address), "drawn": drawn} | said
        else:
            self._refuse_contradiction(stated, drawn, exact, reference, address)
            if elsewhere:
                fields["reference"] = reference
        edit.update(fields)

    def _refuse_contradiction(
        self, stated: tuple[int, str, object, str] | None, drawn: str, exact: object, reference: str, address: Address
    ) -> None:
        if stated is not None and stated[2] != exact:
            raise Refused(
                "drawn", got=drawn, reason=f"row {stated[0]} says {stated[1]} of {address}",
                way_out="strike one out; or give each its reference, if the drawing states it twice"
                if not reference else "strike one out",
            )  # fmt: skip

    def _stated_again(
        self, existing: Dimension, edit: dict[str, Any], drawn: str, exact: object, reference: str
    ) -> None:
        """The drawing states it in another place too: add that statement, or bring it up to date."""
        also = edit.get("also") or [{"drawn": s.drawn, "reference": s.reference} for s in existing.also]
        for statement in also:
            if statement["reference"] == reference:
                if drawn and exact != self._held(existing, statement["drawn"]):
                    statement["drawn"] = drawn
                    edit["also"] = also
                return
        if drawn and exact != self._held(existing, existing.drawn):
            edit["also"] = [*also, {"drawn": drawn, "reference": reference}]

    # ------------------------------------------------------------ cells

    def _refuse_other_kind(self, row: Row, dimension: Dimension, address: Address, where: str) -> None:
        text = _text(row, "kind")
        if text and words.kind_of(text, "", "")[0] != dimension.kind:
            raise Refused(
                "kind", got=text, reason=f"{where} has {address.of_part} as {dimension.kind}",
                way_out="leave the kind empty, or change it in the text form first",
            )  # fmt: skip

    def _refuse_differing(self, row: Row, table: dict[str, Any], where: str) -> None:
        for key, value in _fields(row).items():
            if table.get(key, value) != value:
                raise Refused(
                    key, got=value, reason=f"{where} says {table[key]} of the same dimension",
                    way_out="make the rows agree, or leave the cell empty in one",
                )  # fmt: skip

    def _written(self, row: Row, dimension: Dimension, drawn: str, thing: str) -> tuple[str, object]:
        """The drawn text to keep, and what it comes to: a bare figure gets its unit where the row says another."""
        if not drawn:
            return "", None
        unit_text = _text(row, "unit").casefold().rstrip(".") or self.sheet.unit
        unit = UNIT_WORDS.get(unit_text, unit_text)
        if unit not in ("", "mm", "inch"):
            if dimension.of_kind.angle and unit in ("deg", "degree", "degrees", "°"):
                unit = ""
            else:
                raise Unknown("unit", got=_text(row, "unit"), way_out="one of: mm, inch")
        home = self.design.drawing_unit
        if not unit or unit == home or dimension.of_kind.angle or dimension.of_kind.thread:
            return drawn, self._exact(dimension, drawn, thing)
        meant = _read(drawn, dimension, unit, thing)
        for spelling in (drawn, f"{drawn} {'mm' if unit == 'mm' else 'in'}"):
            try:
                if _worth(read_size(spelling, dimension, home, thing)) == _worth(meant):
                    return spelling, _worth(meant)
            except AsmadeError:
                continue
        raise Refused(
            "drawn", got=drawn, reason=f"bare figures are {unit} here and {home} in the book",
            way_out="write its unit behind each figure",
        )  # fmt: skip

    def _exact(self, dimension: Dimension, drawn: str, thing: str = "drawn") -> object:
        """What a drawn text comes to, for telling equal sizes."""
        if not drawn.strip():
            return None
        if dimension.of_kind.thread:
            return read_thread(drawn, thing=thing)
        return _worth(_read(drawn, dimension, self.design.drawing_unit, thing))

    def _held(self, dimension: Dimension, drawn: str) -> object:
        """What the book's own figure comes to; its text where it cannot be read."""
        try:
            return self._exact(dimension, drawn)
        except AsmadeError:
            return drawn

    # ------------------------------------------------------------ entries

    def _drafts(self) -> tuple[Draft, ...]:
        edits: dict[str, Any] = {}
        for part in self.parts.values():
            if not part.taken:
                continue
            edit: dict[str, Any] = {}
            if part.held is None:
                edit["places"] = list(part.places)
                if part.said is None:
                    self.notes.append(f"{part.name}: no quantity is given: one, at place engine")
            if part.material and (part.held is None or part.held.material != part.material):
                edit["material"] = part.material
            edit |= {k: v for k, v in part.said_of_it.items() if part.held is None or getattr(part.held, k) != v}
            for name, table in part.dims.items():
                if table:
                    _nest(edit.setdefault("dim", {}), name, table)
            if edit:
                edits[part.name] = edit
        drafts = [Draft("design", {"set": {"part": edits}})] if edits else []
        return (*drafts, *(Draft("drawn", body) for body in self.drawn.values()))


def _text(row: Row, name: str) -> str:
    cell = row.cells.get(name)
    if cell is None:
        return ""
    if isinstance(cell.fault, Refused):
        raise Refused(name, got=cell.fault.got, reason=cell.fault.reason, way_out=cell.fault.way_out)
    if cell.fault is not None:
        raise cell.fault
    return cell.text


def _fields(row: Row) -> dict[str, str]:
    found = {
        "process": words.process_of(_text(row, "process")), "tool": _text(row, "tool"),
        "keep": words.keep_of(_text(row, "keep")), "note": _text(row, "note"),
    }  # fmt: skip
    return {key: value for key, value in found.items() if value}


def _read(drawn: str, dimension: Dimension, unit: str, thing: str) -> Any:
    try:
        return read_size(drawn, dimension, unit, thing)
    except Refused as fault:
        if drawn.startswith(("-", "\u2212")) and "negative" in fault.reason:
            fault.way_out = "a figure from a datum, with a sign, is of the kind position"
        raise


def _is_stated(dimension: Dimension, reference: str) -> bool:
    return any(statement.reference == reference for statement in dimension.also)


def _worth(size: Any) -> object:
    return None if size is None else (size.exact, size.lower, size.upper, size.fit_class, size.remark)


def _put_apart(table: dict[str, str], address: Address, drawn: str) -> None:
    if table.get(address.place, drawn) != drawn:
        raise Refused(
            "drawn", got=drawn, reason=f"another row says {table[address.place]} of {address}", way_out="strike one out"
        )
    table[address.place] = drawn


def _nest(into: dict[str, Any], name: str, table: dict[str, Any]) -> None:
    *groups, last = name.split(".")
    for group in groups:
        into = into.setdefault(group, {})
    into[last] = table


def _value(fault: AsmadeError) -> str:
    got = str(getattr(fault, "got", ""))
    return got if len(got) <= 80 else f"{got[:77]}..."


def _reason(fault: AsmadeError) -> str:
    """The reason without the value, which stands beside it."""
    if isinstance(fault, Refused):
        return f"{fault.thing}: {fault.reason}" if fault.thing != "row" else fault.reason
    return fault.message
