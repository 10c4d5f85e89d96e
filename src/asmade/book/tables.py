"""From tables (as TOML or a design entry holds them) to the typed design and shop; unknown keys refused by name.

A design is kept as plain tables through all its edits and read into frozen values once, after the last edit: so the
text form is lossless by construction, and an edit is checked in the context of the whole.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any, Final

from asmade.book.address import is_name, is_place
from asmade.book.kinds import FIGURE_KINDS, HANDS, KEEPS, KINDS, SIDES
from asmade.book.model import (
    Adhesive,
    Design,
    Dimension,
    Figure,
    Instrument,
    Part,
    Places,
    Relation,
    Shop,
    Statement,
    Stock,
    Tool,
)
from asmade.book.schema import Taker
from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.measure.lengths import read_length

JOURNAL: Final = (
    "piece", "moved", "scrapped", "chosen", "aimed", "made", "done", "joined", "undone", "note", "attachment",
)  # fmt: skip
"""Names of lists that are entries of their own, not relations."""

SINGLE: Final = ("book", "places", "figure", "part", "shop")
UNITS: Final = ("inch", "mm")
LEAST_STEP_MM: Final = 0.001


def merge(tables: dict[str, Any], edit: Mapping[str, Any], remove: tuple[str, ...] = ()) -> None:
    """Put one edit of the design into ``tables`` in place: tables merge, relations are replaced by kind and name."""
    for path in remove:
        _remove(tables, path)
    for key, value in edit.items():
        if isinstance(value, list | tuple):
            _merge_relations(tables.setdefault(key, []), value, key)
        elif isinstance(value, Mapping):
            _merge_tables(tables.setdefault(key, {}), value)
        else:
            raise Refused(key, got=value, reason="it stands outside every table", way_out="put it below [book]")


def _merge_tables(into: dict[str, Any], edit: Mapping[str, Any]) -> None:
    for key, value in edit.items():
        if isinstance(value, Mapping) and isinstance(into.get(key), dict):
            _merge_tables(into[key], value)
        else:
            into[key] = copy.deepcopy(value)


def _merge_relations(into: list[Any], edit: list[Any] | tuple[Any, ...], kind: str) -> None:
    at = {row.get("name"): index for index, row in enumerate(into)}
    for row in edit:
        name = row.get("name") if isinstance(row, Mapping) else None
        if not isinstance(name, str) or not name.strip():
            raise Refused(kind, got=row, reason="a relation has no name", way_out='add name = "..." in plain words')
        if name in at:
            into[at[name]] = copy.deepcopy(dict(row))
        else:
            at[name] = len(into)
            into.append(copy.deepcopy(dict(row)))


def _remove(tables: dict[str, Any], path: str) -> None:
    kind, _, rest = path.partition(".")
    held = tables.get(kind)
    if isinstance(held, list):
        kept = [row for row in held if row.get("name") != rest]
        if len(kept) == len(held):
            raise Unknown(kind, got=rest, way_out="remove one that is there")
        tables[kind] = kept
        return
    if not _taken_out(tables, path):
        raise Unknown("remove", got=path, way_out="name it as part.wheel.dim.bore, figure.NAME or fit.NAME")


def _taken_out(here: dict[str, Any], path: str) -> bool:
    """Take out what a dotted path names; a name may hold dots itself, as that of a tool does."""
    if path in here:
        del here[path]
        return True
    ends = (at for at, sign in enumerate(path) if sign == ".")
    return any(
        isinstance(inside := here.get(path[:at]), dict) and _taken_out(inside, path[at + 1 :]) for at in ends
    )  # fmt: skip


def read_design(tables: Mapping[str, Any]) -> Design:
    """Read the merged tables into a `Design`; raises with the very key that cannot be read."""
    book = Taker(tables.get("book", {}), "book")
    book.number("format")
    title = printable(book.text("title", "untitled build"), "book.title")
    unit = book.text("drawing_unit", among=UNITS, needed=True)
    arrangement, leads = book.text("arrangement"), book.text("leads", among=SIDES)
    leads_drawn, note = book.text("leads_drawn"), book.text("note")
    book.done()
    places = _places(tables.get("places", {}))
    parts = {name: _part(name, table) for name, table in _named(tables, "part")}
    figures = {name: _figure(name, table) for name, table in _named(tables, "figure")}
    relations = tuple(
        _relation(kind, row)
        for kind, rows in tables.items()
        if kind not in SINGLE and kind not in JOURNAL
        for row in _rows(kind, rows)
    )
    return Design(
        title=title, drawing_unit=unit, places=places, parts=parts, relations=relations, figures=figures,
        arrangement=arrangement, leads=leads, leads_drawn=leads_drawn, note=note,
    )  # fmt: skip


def _rows(kind: str, rows: object) -> list[Mapping[str, Any]]:
    if not isinstance(rows, list):
        raise Refused(kind, got=rows, reason="a relation is written with double brackets", way_out=f"write [[{kind}]]")
    return rows


def _named(tables: Mapping[str, Any], key: str) -> list[tuple[str, Any]]:
    found = tables.get(key, {})
    if not isinstance(found, Mapping):
        raise Refused(key, got=found, reason="it should be tables by name", way_out=f"write [{key}.NAME]")
    for name in found:
        if not is_name(name):
            raise Refused(
                key, got=name, reason="a name has letters, digits and underscores and starts with a letter",
                way_out=f"write [{key}.{''.join(c if c.isalnum() else '_' for c in name).strip('_') or 'name'}]",
            )  # fmt: skip
    return list(found.items())


def _places(table: object) -> Places:
    taker = Taker(table, "places")
    found = Places(
        axles=taker.texts("axles"), sides=taker.texts("sides"), sections=taker.texts("sections"),
        driven=taker.text("driven"), named=taker.texts("named") or ("engine",),
    )  # fmt: skip
    taker.done()
    return found


def _part(name: str, table: object) -> Part:
    where = f"part.{name}"
    taker = Taker(table, where)
    places = taker.texts("places")
    if not places:
        raise Refused(where, got=table, reason="places is missing", way_out='add places = ["engine"] or ["L", "R"] ...')
    for place in places:
        if not is_place(place):
            raise Refused(f"{where}.places", got=place, reason="a place is letters, digits and underscores only")
    if len(set(places)) != len(places):
        raise Refused(f"{where}.places", got=places, reason="a place stands there twice")
    part = Part(
        name=name, places=places, dims=_dims(taker.inner("dim"), where, places),
        hand=taker.text("hand", "same", among=HANDS), drawn_for=taker.text("drawn_for"),
        material=taker.text("material"), form=taker.inner("form"), assembled_from=taker.texts("assembled_from"),
        across=taker.inner("across"), reference=taker.text("reference"), note=taker.text("note"),
    )  # fmt: skip
    taker.done()
    return part


def _dims(tables: Mapping[str, Any], where: str, places: tuple[str, ...]) -> dict[str, Dimension]:
    found: dict[str, Dimension] = {}

    def walk(inner: Mapping[str, Any], path: str) -> None:
        for key, table in inner.items():
            name = f"{path}.{key}" if path else str(key)
            if not is_place(str(key)):
                raise Refused(f"{where}.dim", got=name, reason="a dimension's name is letters, digits, underscores")
            if not isinstance(table, Mapping):
                raise Refused(
                    f"{where}.dim.{name}", got=table, reason="a dimension is a table",
                    way_out=f'write {name} = {{ kind = "bore", drawn = "{table}" }}',
                )  # fmt: skip
            if isinstance(table.get("kind"), str):
                found[name] = _dimension(name, table, f"{where}.dim.{name}", places)
            elif table and all(isinstance(each, Mapping) for each in table.values()):
                walk(table, name)
            else:
                raise Refused(
                    f"{where}.dim.{name}", got=dict(table), reason="kind is missing",
                    way_out=f"add kind = one of: {', '.join(KINDS)}",
                )  # fmt: skip

    walk(tables, "")
    return found


def _dimension(name: str, table: Mapping[str, Any], where: str, places: tuple[str, ...]) -> Dimension:
    taker = Taker(table, where)
    drawn_at = {}
    for place, text in taker.inner("drawn_at").items():
        if place not in places:
            raise Unknown(f"{where}.drawn_at", got=place, way_out=f"one of: {', '.join(places)}")
        drawn_at[place] = str(text)
    also = []
    for row in taker.rows("also"):
        inner = Taker(row, f"{where}.also")
        also.append(Statement(inner.text("drawn", needed=True), inner.text("reference")))
        inner.done()
    found = Dimension(
        name=name, kind=taker.text("kind", among=KINDS), drawn=taker.text("drawn"),
        reference=taker.text("reference"), also=tuple(also), drawn_at=drawn_at, process=taker.text("process"),
        tool=taker.text("tool"), stock=taker.text("stock"), keep=taker.text("keep", among=KEEPS),
        signed=taker.flag("signed"), least=taker.text("least"), most=taker.text("most"),
        sex=taker.text("sex", among=("male", "female")), datum=taker.text("from"), note=taker.text("note"),
    )  # fmt: skip
    taker.done()
    return found


def _figure(name: str, table: object) -> Figure:
    taker = Taker(table, f"figure.{name}")
    found = Figure(
        name=name, kind=taker.text("kind", among=FIGURE_KINDS, needed=True), drawn=taker.text("drawn"),
        chosen=taker.text("chosen"), source=taker.text("source"), note=taker.text("note"),
    )  # fmt: skip
    taker.done()
    return found


def _relation(kind: str, row: object) -> Relation:
    taker = Taker(row, kind)
    name = printable(taker.text("name", needed=True), f"{kind} name")
    places = taker.texts("places")
    return Relation(kind, name, places, {k: v for k, v in taker.table.items() if k not in ("name", "places")})


def printable(name: str, what: str) -> str:
    """A name as it is shown everywhere: one that holds control characters would play with the terminal."""
    if not name.isprintable():
        raise Refused(what, got=name, reason="it holds control characters", way_out="write it in plain letters")
    return name


def read_shop(table: object) -> Shop:
    """Read the ``[shop]`` tables; figures the builder typed carry their unit or the table's ``unit``."""
    taker = Taker(table, "shop")
    for group in ("instrument", "tool", "adhesive", "machine"):
        for name in taker.inner(group):
            printable(name, f"shop.{group}")
    found = Shop(
        instruments={n: _instrument(n, t) for n, t in taker.inner("instrument").items()},
        tools={n: _tool(n, t) for n, t in taker.inner("tool").items()},
        stock=tuple(_stock(row) for row in taker.rows("stock")),
        adhesives={n: _adhesive(n, t) for n, t in taker.inner("adhesive").items()},
        machines=dict(taker.inner("machine")),
        rounding_mm={process: _step(process, step) for process, step in taker.inner("rounding").items()},
        buys=taker.texts("buys") or ("metric",),
    )
    taker.done()
    return found


def _step(process: str, text: object) -> float:
    step = float(read_length(str(text), unit="mm", thing=f"shop.rounding.{process}").mm)
    if step < LEAST_STEP_MM:
        raise OutOfRange(f"shop.rounding.{process}", got=text, allowed=f"steps of {LEAST_STEP_MM} mm or more")
    return step


MEASURES: Final = ("outside", "inside", "depth", "length", "angle")


def _instrument(name: str, table: object) -> Instrument:
    taker = Taker(table, f"shop.instrument.{name}")
    measures = taker.texts("measures")
    for what in measures:
        if what not in MEASURES:
            raise Unknown(f"{taker.where}.measures", got=what, way_out=f"one of: {', '.join(MEASURES)}")
    ends = taker.texts("range")
    if ends and len(ends) != 2:
        raise Refused(f"{taker.where}.range", got=ends, reason='it is two sizes, such as ["0 mm", "25 mm"]')
    low, high = (float(read_length(e, unit="mm", thing=f"{taker.where}.range").mm) for e in ends or ("0", "0"))
    found = Instrument(
        name=name, unit=taker.text("unit", among=(*UNITS, "deg"), needed=True),
        zero_mm=taker.number("zero", least=0) or 0.0, reads_to_mm=_needed(taker, "reads_to"),
        zero_known_mm=taker.number("zero_known") or 0.0, measures=measures,
        range_mm=(low, high) if ends else (None, None), note=taker.text("note"),
    )  # fmt: skip
    taker.done()
    return found


def _needed(taker: Taker, key: str) -> float:
    value = taker.number(key, least=0)
    if value is None:
        raise Refused(
            taker.where, got=dict(taker.table), reason=f"{key} is missing",
            way_out=f"add {key} = 0.005, the standard uncertainty of one reading in mm",
        )  # fmt: skip
    return value


def _tool(name: str, table: object) -> Tool:
    taker = Taker(table, f"shop.tool.{name}")
    adjusts = taker.texts("adjusts_to")
    if adjusts and len(adjusts) != 2:
        raise Refused(taker.where, got=adjusts, reason='adjusts_to is two sizes, such as ["15.4 mm", "16.5 mm"]')
    cuts = Taker(taker.inner("cuts"), f"{taker.where}.cuts")
    bias = cuts.number("bias")
    cuts.text("from")
    cuts.number("readings")
    cuts.done()
    found = Tool(
        name=name, kind=taker.text("kind", needed=True), size=taker.text("size"),
        adjusts_to=(adjusts[0], adjusts[1]) if adjusts else None, bias_mm=bias, note=taker.text("note"),
    )  # fmt: skip
    taker.done()
    return found


def _stock(row: Mapping[str, Any]) -> Stock:
    taker = Taker(row, "shop.stock")
    length = taker.text("length")
    found = Stock(
        form=taker.text("form", needed=True), material=taker.text("material"), size=taker.text("size", needed=True),
        length_mm=float(read_length(length, unit="mm", thing="shop.stock.length").mm) if length else None,
        count=int(taker.number("count", least=0) or 0) if "count" in row else 1,
        note=taker.text("note"), bar=taker.text("bar"),
    )  # fmt: skip
    taker.number("count")
    taker.done()
    return found


def _adhesive(name: str, table: object) -> Adhesive:
    taker = Taker(table, f"shop.adhesive.{name}")
    key, by = ("gap_on_diameter", 1.0) if "gap_on_diameter" in taker.table else ("gap_radial", 2.0)
    gap = taker.texts(key)
    if len(gap) != 2:
        raise Refused(
            taker.where, got=dict(taker.table), reason="the data sheet's gap is missing",
            way_out='add gap_on_diameter = ["0.03 mm", "0.10 mm"], or gap_radial if the sheet says radial',
        )  # fmt: skip
    least, most = (float(read_length(each, unit="mm", thing=f"{taker.where}.{key}").mm) * by for each in gap)
    return Adhesive(name, least, most, {k: v for k, v in taker.table.items() if k != key})
