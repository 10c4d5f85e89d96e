"""The text form (TOML) of a book, both ways: all that stands in it, as a person would write it.

Reading gives entries for the ledger; writing gives a file that reads back to the same build. History that was
withdrawn or superseded stays in the ledger and is not in the text.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from asmade.book.model import Build
from asmade.book.tables import JOURNAL, SINGLE
from asmade.measure.errors import Refused

FORMAT: Final = 1
HEADER: Final = """\
# {title}: a book of asmade in its text form (TOML).
# A bare drawn figure is in the drawing's unit; readings are in their instrument's. An empty text means "not known".
# Not in here: what was withdrawn or superseded, and the data of attachments. Both stay in the book itself.
"""
OWN: Final = "own"
"""Where a row of the journal keeps fields of its own that are called as one of `RESERVED`."""
RESERVED: Final = ("n", "at", "by", OWN)
_AT_ONCE = ("piece", "chosen")
"""Without a time of their own these come first: who is who, and what was decided."""
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_LAST = dt.datetime.max.replace(tzinfo=dt.UTC)


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry before the ledger gives it a number."""

    kind: str
    body: Mapping[str, Any]
    at: str = ""
    by: str = ""
    number: int = 0


def read_text(text: str) -> tuple[Draft, ...]:
    """Read a book's text form into entries, the design first; raises `Refused` with line and reason.

    Only the TOML itself and the outline are checked here; folding the entries checks the rest in context.
    """
    tables = parse(text)
    drafts = [Draft("design", {"set": {k: v for k, v in tables.items() if k not in JOURNAL and k != "shop"}})]
    if "shop" in tables:
        drafts.append(Draft("shop", {"set": tables["shop"]}))
    drafts.extend(draft for _, draft in sorted(_journal(tables), key=lambda pair: pair[0]))
    return tuple(drafts)


def parse(text: str) -> dict[str, Any]:
    """Read the TOML of a text form into plain tables (dates become text); raises `Refused` with line and reason."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise Refused(
            "text", got=_line_of(text, str(fault)), reason=str(fault),
            way_out="each value is written key = value; texts stand in double quotes",
        ) from fault  # fmt: skip
    except ValueError as fault:  # a whole number of thousands of digits
        raise Refused("text", got=text[:60], reason=str(fault), way_out="write it as text") from fault
    except RecursionError as fault:
        raise Refused("text", got=text[:60], reason="it is nested too deep to be read") from fault
    head = tables.get("book")
    written = head.get("format", FORMAT) if isinstance(head, Mapping) else FORMAT
    if isinstance(written, bool) or not isinstance(written, int) or not 0 < written <= FORMAT:
        raise Refused(
            "book.format", got=written, reason=f"this asmade reads format {FORMAT}",
            way_out="a text of a later format needs a later asmade",
        )  # fmt: skip
    _refuse_twins(tables)
    plain: dict[str, Any] = _plain(tables)
    return plain


def _refuse_twins(tables: Mapping[str, Any]) -> None:
    """Two relations of one kind and name: the second would take the place of the first without a word."""
    for kind, rows in tables.items():
        if kind in SINGLE or kind in JOURNAL or not isinstance(rows, list):
            continue
        seen: set[str] = set()
        for row in rows:
            name = row.get("name") if isinstance(row, Mapping) else None
            if isinstance(name, str) and name in seen:
                raise Refused(
                    kind, got=name, reason="two of this kind have that name",
                    way_out="name one of them otherwise, or take one out",
                )  # fmt: skip
            if isinstance(name, str):
                seen.add(name)


def _line_of(text: str, message: str) -> str:
    _, _, after = message.partition("at line ")
    number = after.split(",")[0].strip(") ")
    lines = text.splitlines()
    return lines[int(number) - 1].strip() if number.isdigit() and 0 < int(number) <= len(lines) else text[:60]


def _plain(value: Any) -> Any:
    """Make TOML's dates into ISO text, so that every value is one that JSON knows."""
    if isinstance(value, Mapping):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_plain(each) for each in value]
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return value.isoformat()
    return value


def _journal(tables: Mapping[str, Any]) -> Iterator[tuple[tuple[Any, ...], Draft]]:
    """The journal's rows with what puts them in order: by number if they have one, else by time, else as written."""
    for order, kind in enumerate(JOURNAL):
        rows = tables.get(kind, [])
        if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
            raise Refused(kind, got=rows, reason="it is written with double brackets", way_out=f"write [[{kind}]]")
        for index, row in enumerate(rows):
            own = row.get(OWN, {})
            if not isinstance(own, Mapping):
                raise Refused(f"{kind}.{OWN}", got=own, reason="it should be a table")
            body = {k: v for k, v in row.items() if k not in RESERVED} | dict(own)
            at, by, place = row.get("at", ""), row.get("by", ""), row.get("n")
            when = _moment(at, kind)
            if not isinstance(by, str):
                raise Refused(f"{kind}.by", got=by, reason="it should be a text in quotes")
            if place is not None and (isinstance(place, bool) or not isinstance(place, int)):
                raise Refused(f"{kind}.n", got=place, reason="it should be a whole number, or be left out")
            first = place is None and kind in _AT_ONCE and when is None
            key = (
                (0, 0, order, index) if first
                else (1, place, order, index) if place is not None
                else (2, when or _LAST, order, index)
            )  # fmt: skip
            yield key, Draft("moved" if kind == "piece" else kind, body, str(at), by)


def _moment(at: object, kind: str) -> dt.datetime | None:
    """The moment a row names, for the order of rows; a time without offset is local, a date means its midnight."""
    if at == "":
        return None
    try:
        found = dt.datetime.fromisoformat(at) if isinstance(at, str) else None
        if found is not None:
            return found.astimezone() if found.tzinfo is None else found
    except (ValueError, OverflowError):
        pass
    raise Refused(f"{kind}.at", got=at, reason="it is no date and time", way_out="write at = 2026-03-14T19:05:00")


def write_text(build: Build) -> str:
    """Write the build as text; ``read_text`` of it folds to the same build.

    Raises `Refused` where a list holds a null, for which TOML has no sign; a field that is null is left out: the two
    mean the same, "not said".
    """
    lines = [HEADER.format(title=build.design.title)]
    tables = build.tables
    book = {"format": FORMAT, **{k: v for k, v in tables.get("book", {}).items() if k != "format"}}
    lines += ["[book]", *_pairs(book), ""]
    for name in ("places", "figure"):
        if tables.get(name):
            lines += [f"[{name}]", *_pairs(tables[name]), ""]
    for name, part in tables.get("part", {}).items():
        lines += [f"[part.{_key(name)}]", *_pairs({k: v for k, v in part.items() if k != "dim"})]
        if part.get("dim"):
            lines += [f"[part.{_key(name)}.dim]"]
            flat = [(".".join(_key(each) for each in path), dim) for path, dim in dimensions_in(part["dim"])]
            width = max(len(name) for name, _ in flat)
            lines += [f"{name.ljust(width)} = {_value(dim)}" for name, dim in flat]
        lines += [""]
    for kind, rows in tables.items():
        if kind not in SINGLE and kind not in JOURNAL:
            for row in rows:
                lines += [f"[[{_key(kind)}]]", *_pairs(row), ""]
    lines += _shop_lines(tables.get("shop", {}))
    for number, (kind, kept) in enumerate(build.journal, start=1):
        body = kept["body"]
        own = {k: v for k, v in body.items() if k in RESERVED}
        row = {"n": number, **{k: v for k, v in body.items() if k not in RESERVED}}
        row |= ({OWN: own} if own else {}) | {k: kept[k] for k in ("at", "by") if kept[k]}
        lines += [f"[[{kind}]]", *_pairs(row), ""]
    return "\n".join(lines).rstrip("\n") + "\n"


def _pairs(table: Mapping[str, Any]) -> list[str]:
    return [f"{_key(k)} = {_value(v)}" for k, v in table.items() if v is not None]


def _value(of: Any) -> str:
    """One value as TOML writes it."""
    match of:
        case bool():
            return "true" if of else "false"
        case int() | float():
            return repr(of)
        case str():
            return _quoted(of)
        case Mapping():
            inner = ", ".join(_pairs(of))
            return f"{{ {inner} }}" if inner else "{}"
        case list() | tuple():
            return f"[{', '.join(_value(each) for each in of)}]"
        case _:
            raise Refused(
                "text form", got=of, reason="TOML has no sign for it",
                way_out="export the entries instead: asmade export BOOK NAME.jsonl --entries",
            )  # fmt: skip


def _quoted(text: str) -> str:
    """A basic string: the escapes of JSON are those of TOML too, but for DEL, which TOML wants escaped as well."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _key(name: object) -> str:
    return str(name) if _BARE_KEY.fullmatch(str(name)) else _quoted(str(name))


def dimensions_in(
    tables: Mapping[str, Any], path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], Mapping[str, Any]]]:
    """Every dimension below a part's ``dim``, with the path of its name; what is no table is passed over."""
    for name, table in tables.items():
        if not isinstance(table, Mapping):
            continue
        if isinstance(table.get("kind"), str):
            yield (*path, name), table
        else:
            yield from dimensions_in(table, (*path, name))


def _shop_lines(shop: Mapping[str, Any]) -> list[str]:
    if not shop:
        return []
    lines = ["[shop]", *_pairs({k: v for k, v in shop.items() if not _is_tables(v)}), ""]
    for group, tables in shop.items():
        if isinstance(tables, Mapping) and _is_tables(tables):
            for name, table in tables.items():
                lines += [f"[shop.{_key(group)}.{_key(name)}]", *_pairs(table), ""]
        elif _is_tables(tables):
            for row in tables:
                lines += [f"[[shop.{_key(group)}]]", *_pairs(row), ""]
    return lines


def _is_tables(value: Any) -> bool:
    inner: Iterable[Any] = value.values() if isinstance(value, Mapping) else value if isinstance(value, list) else ()
    inner = list(inner)
    return bool(inner) and all(isinstance(each, Mapping) for each in inner)
