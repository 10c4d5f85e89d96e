"""The text form (TOML) of a book, both ways: all that stands in it, as a person would write it.

Reading gives entries for the ledger; writing gives a file that reads back to the same build. History that was
withdrawn or superseded stays in the ledger and is not in the text.
"""

from __future__ import annotations

import datetime as dt
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
"""
_AT_ONCE = ("piece", "chosen")
"""Without a time of their own these come first: who is who, and what was decided."""


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
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise Refused(
            "text", got=_line_of(text, str(fault)), reason=str(fault),
            way_out="each value is written key = value; texts stand in double quotes",
        ) from fault  # fmt: skip
    written = tables.get("book", {}).get("format", FORMAT) if isinstance(tables.get("book"), Mapping) else FORMAT
    if not isinstance(written, int) or written > FORMAT:
        raise Refused("book.format", got=written, reason=f"this asmade reads format {FORMAT}")
    tables = _plain(tables)
    drafts = [Draft("design", {"set": {k: v for k, v in tables.items() if k not in JOURNAL and k != "shop"}})]
    if "shop" in tables:
        drafts.append(Draft("shop", {"set": tables["shop"]}))
    drafts.extend(draft for _, draft in sorted(_journal(tables), key=lambda pair: pair[0]))
    return tuple(drafts)


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
    for order, kind in enumerate(JOURNAL):
        rows = tables.get(kind, [])
        if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
            raise Refused(kind, got=rows, reason="it is written with double brackets", way_out=f"write [[{kind}]]")
        for index, row in enumerate(rows):
            body = {k: v for k, v in row.items() if k not in ("at", "by", "n")}
            at = str(row.get("at", ""))
            place = row.get("n")
            first = place is None and (kind in _AT_ONCE and not at)
            key = (
                (0, order, index) if first
                else (1, int(place), order, index) if isinstance(place, int)
                else (2, at or "~", order, index)
            )  # fmt: skip
            kind_of_entry = "moved" if kind == "piece" else kind
            yield key, Draft(kind_of_entry, body, at, str(row.get("by", "")))


def write_text(build: Build) -> str:
    """Write the build as text; ``read_text`` of it folds to the same build."""
    import tomlkit  # noqa: PLC0415  # only an export needs it

    def value(of: Any) -> str:
        if isinstance(of, Mapping):
            inner = ", ".join(f"{key(k)} = {value(v)}" for k, v in of.items())
            return f"{{ {inner} }}" if inner else "{}"
        if isinstance(of, list | tuple):
            return f"[{', '.join(value(each) for each in of)}]"
        return tomlkit.item(of).as_string()

    def key(of: object) -> str:
        return tomlkit.item({str(of): 0}).as_string().partition("=")[0].strip()

    lines = [HEADER.format(title=build.design.title.replace("\n", " "))]
    tables = build.tables
    book = {"format": FORMAT, **{k: v for k, v in tables.get("book", {}).items() if k != "format"}}
    lines += ["[book]", *(f"{key(k)} = {value(v)}" for k, v in book.items()), ""]
    for name in ("places", "figure"):
        if tables.get(name):
            lines += [f"[{name}]", *(f"{key(k)} = {value(v)}" for k, v in tables[name].items()), ""]
    for name, part in tables.get("part", {}).items():
        lines += [f"[part.{key(name)}]"]
        lines += [f"{key(k)} = {value(v)}" for k, v in part.items() if k != "dim"]
        if part.get("dim"):
            lines += [f"[part.{key(name)}.dim]"]
            flat = [(".".join(key(each) for each in path), dim) for path, dim in _flat(part["dim"], ())]
            width = max(len(name) for name, _ in flat)
            lines += [f"{name.ljust(width)} = {value(dim)}" for name, dim in flat]
        lines += [""]
    for kind, rows in tables.items():
        if kind not in SINGLE and kind not in JOURNAL:
            for row in rows:
                lines += [f"[[{key(kind)}]]", *(f"{key(k)} = {value(v)}" for k, v in row.items()), ""]
    lines += _shop_lines(tables.get("shop", {}), key, value)
    for number, (kind, body) in enumerate(build.journal, start=1):
        kept = {k: v for k, v in body.items() if not (k in ("at", "by") and v == "")}
        lines += [f"[[{kind}]]", f"n = {number}", *(f"{key(k)} = {value(v)}" for k, v in kept.items()), ""]
    return "\n".join(lines).rstrip("\n") + "\n"


def _flat(tables: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Mapping[str, Any]]]:
    for name, table in tables.items():
        if isinstance(table.get("kind"), str):
            yield (*path, name), table
        else:
            yield from _flat(table, (*path, name))


def _shop_lines(shop: Mapping[str, Any], key: Any, value: Any) -> list[str]:
    if not shop:
        return []
    lines = ["[shop]", *(f"{key(k)} = {value(v)}" for k, v in shop.items() if not _is_tables(v)), ""]
    for group, tables in shop.items():
        if isinstance(tables, Mapping) and _is_tables(tables):
            for name, table in tables.items():
                lines += [f"[shop.{key(group)}.{key(name)}]", *(f"{key(k)} = {value(v)}" for k, v in table.items()), ""]
        elif _is_tables(tables):
            for row in tables:
                lines += [f"[[shop.{key(group)}]]", *(f"{key(k)} = {value(v)}" for k, v in row.items()), ""]
    return lines


def _is_tables(value: Any) -> bool:
    inner: Iterable[Any] = value.values() if isinstance(value, Mapping) else value if isinstance(value, list) else ()
    inner = list(inner)
    return bool(inner) and all(isinstance(each, Mapping) for each in inner)
