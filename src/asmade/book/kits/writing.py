"""Composed kits as the text of a book: in the order in which a builder would read them, each under its heading."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from asmade.book.kits import dims_of
from asmade.book.kits.expand import Composed

HEAD: Final = """\
A bare drawn figure is in the drawing's unit ({unit}). An empty text means "not known": fill in what the drawing says.
Whatever the kits do not know (the rest of the engine) is added in the same way, in this text or by command."""
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_WIDTH = 118


def write_book(book: Mapping[str, Any], places: Mapping[str, Any], composed: Sequence[Composed]) -> str:
    """Text form of a new book."""
    lines = [*_comment(f"{book['title']}: a book of asmade in its text form (TOML)."),
             *_comment(HEAD.format(unit=book["drawing_unit"])), "", "[book]"]  # fmt: skip
    lines += [*_pairs(book), "", "[places]", *_pairs(places), ""]
    figures = {name: table for each in composed for name, table in each.figures.items()}
    if figures:
        lines += ["[figure]"]
        lines += [f"{name} = {value({'kind': f['kind'], 'drawn': '', **f})}" for name, f in figures.items()]
        lines += [""]
    for each in composed:
        lines += list(kit_lines(each))
    return "\n".join(lines).rstrip("\n") + "\n"


def kit_lines(composed: Composed) -> Iterator[str]:
    """One kit under its heading: parts first, then what binds them."""
    yield f"# {'-' * 20} {composed.kit.title}"
    yield from _comment(composed.kit.words)
    yield ""
    for name, part in composed.parts.items():
        yield f"[part.{key(name)}]"
        yield from _pairs({k: v for k, v in part.items() if k != "dim"})
        yield f"[part.{key(name)}.dim]"
        flat = [(".".join(key(each) for each in path), dim) for path, dim in dims_of(part["dim"])]
        width = max(len(path) for path, _ in flat)
        yield from (f"{path.ljust(width)} = {value(dim)}" for path, dim in flat)
        yield ""
    for kind, row in composed.relations:
        yield f"[[{kind}]]"
        yield from _pairs({k: v for k, v in row.items() if k != "sizes"})
        if "sizes" in row:  # a table of many sums, one on a line
            yield f"[{kind}.sizes]"
            yield from _pairs(row["sizes"])
        yield ""


def _pairs(table: Mapping[str, Any]) -> Iterator[str]:
    return (f"{key(k)} = {value(v)}" for k, v in table.items())


def _comment(text: str) -> Iterator[str]:
    for line in text.splitlines():
        yield from (f"# {part}" for part in textwrap.wrap(line, _WIDTH))


def key(name: str) -> str:
    """A name as TOML writes it: bare where it may be."""
    return name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def value(of: Any) -> str:
    """A value as TOML writes it, on one line."""
    if isinstance(of, Mapping):
        return "{ " + ", ".join(f"{key(k)} = {value(v)}" for k, v in of.items()) + " }"
    if isinstance(of, list | tuple):
        return "[" + ", ".join(value(each) for each in of) + "]"
    if isinstance(of, bool):
        return "true" if of else "false"
    return json.dumps(of, ensure_ascii=False)
