"""Loading the few tables of this room: drills, gauges, coarse pitches. Each carries its pedigree."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise
from typing import Any

from asmade.measure.errors import Damaged

_PEDIGREE = ("title", "source", "edition", "unit", "native", "read")


@dataclass(frozen=True, slots=True)
class Pedigree:
    """Where a table comes from: source and edition, its unit, which system is authoritative, how it was read."""

    title: str
    source: str
    edition: str
    unit: str
    native: str
    read: str


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its pedigree and its rows, every decimal exact (``Fraction``)."""

    meta: Pedigree
    rows: tuple[tuple[Any, ...], ...]

    def sizes(self) -> dict[str, Fraction]:
        """Return name and size of each row, in the table's own unit."""
        return {str(name): Fraction(size) for name, size in self.rows}

    def stepped_sizes(self) -> tuple[Fraction, ...]:
        """Return the sizes of a table given by rule: from first to last in steps, each step with its endings."""
        found: list[Fraction] = []
        for first, last, every, endings in self.rows:
            step = Fraction(first)
            while step <= last:
                found.extend(step + ending for ending in endings if step + ending <= last)
                step += every
        return tuple(found)


@cache
def read_table(name: str) -> Table:
    """Load ``data/NAME.toml`` of this room; a table without pedigree, out of order or with a repeat is refused."""
    import tomllib  # noqa: PLC0415  # a length without a drill in it needs no table
    from importlib.resources import files  # noqa: PLC0415

    return parse_table(name, tomllib.loads(_text(files("asmade.measure"), name), parse_float=Fraction))


def _text(package: Any, name: str) -> str:
    return str(package.joinpath("data", f"{name}.toml").read_text(encoding="utf-8"))


def parse_table(name: str, content: dict[str, Any]) -> Table:
    """Check the ``content`` of table ``name`` (TOML with decimals as ``Fraction``) and return it; see `read_table`."""
    meta, check, data = content.get("meta", {}), content.get("check", {}), content.get("data", {})
    missing = [key for key in _PEDIGREE if not meta.get(key)]
    if missing:
        raise _damaged(name, f"its [meta] lacks {', '.join(missing)}")
    columns, rows = data.get("columns", []), tuple(tuple(row) for row in data.get("rows", []))
    if not rows or any(len(row) != len(columns) for row in rows):
        raise _damaged(name, f"it is empty or a row has not {len(columns)} values")
    for column in check.get("unique", ()):
        found = [row[columns.index(column)] for row in rows]
        if len(set(found)) != len(found):
            raise _damaged(name, f"column {column} says something twice")
    for direction, sign in (("rising", 1), ("falling", -1)):
        for column in check.get(direction, ()):
            found = [row[columns.index(column)] for row in rows]
            if any((later - earlier) * sign < 0 for earlier, later in pairwise(found)):
                raise _damaged(name, f"column {column} is not {direction}")
    return Table(Pedigree(**{key: str(meta[key]) for key in _PEDIGREE}), rows)


def _damaged(name: str, reason: str) -> Damaged:
    return Damaged(f"table {name} is damaged: {reason}", way_out="install asmade again")
