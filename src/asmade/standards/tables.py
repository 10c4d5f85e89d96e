"""The one loader of table files: pedigree demanded, steps and monotony checked, faults named by line.

A table is ``data/NAME.toml`` inside a package of asmade (``asmade.standards`` unless another is named)::

    [meta]                                  # all required, none may be empty
    title   = "Standard tolerances"
    source  = "ISO 286-1 Table 1"
    edition = "2010"
    unit    = "um"                          # one unit for all columns, or {column = "unit", ...}
    native  = "metric"                      # or "inch": which system the source holds authoritative
    read    = "printed copy, and worked from the formula"

    [check]                                 # what the loader must hold the rows to; every line optional
    unique  = ["name"]                      # no value twice
    steps   = ["over", "upto"]              # over < upto, and each row starts where the one before ended
    rising  = ["IT6", "IT7"]                # down the rows, never falling (gaps skipped)
    falling = ["tpi"]                       # down the rows, never rising
    across  = ["IT6", "IT7"]                # within each row, left to right, never falling
    positive = ["core"]                     # above 0
    required = ["name", "pitch"]            # must be there in every block, as every checked column must

    [data]                                  # either: ONE ROW PER LINE, "-" for a gap as printed
    columns = ["over", "upto", "IT6", "IT7"]
    rows = [
      [0, 3, 6, 10],
      [3, 6, 8, 12],
    ]

    [[rows]]                                 # or: one block per row, for tables with many kinds of column
    name = "2 BA"
    pitch = 0.81

A gap is read as ``None``, never as zero.
"""

from __future__ import annotations

import math
import re
import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib import resources
from itertools import pairwise
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from asmade.measure.errors import OutOfRange, Refused, Unknown, near

if TYPE_CHECKING:
    from collections.abc import Mapping
    from importlib.resources.abc import Traversable

Value = str | int | float | bool | tuple[Any, ...] | None
Row = MappingProxyType[str, Value]

GAP = "-"
_NEEDED = ("title", "source", "edition", "unit", "native", "read")
_CHECKS = ("unique", "steps", "rising", "falling", "across", "positive", "required")


@dataclass(frozen=True, slots=True)
class Meta:
    """Pedigree of a table: what it is, who printed it, in which unit, and how it was read."""

    title: str
    source: str
    edition: str
    unit: str | Mapping[str, str]
    native: str
    read: str
    note: str = ""

    def unit_of(self, column: str) -> str:
        """Return the unit of ``column``: "1" for a pure number or a name if units are listed by column."""
        return self.unit if isinstance(self.unit, str) else self.unit.get(column, "1")


@dataclass(frozen=True, slots=True)
class Table:
    """A checked table: rows in the order of the source, each a read-only mapping of column to value."""

    name: str
    meta: Meta
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    lines: tuple[int, ...]  # line of the file on which each row stands
    key: str  # the column by which rows are found, "" if none was declared unique
    steps: tuple[str, str] | None
    _index: Mapping[Value, int]

    def column(self, name: str) -> tuple[Value, ...]:
        """All values of one column, in order; gaps are ``None``."""
        if name not in self.columns:
            raise Unknown(f"column of table {self.name}", got=name, near=near(name, self.columns))
        return tuple(row.get(name) for row in self.rows)

    def row(self, key: Value) -> Row:
        """Return the row whose key column (the first declared ``unique``) holds ``key``."""
        try:
            return self.rows[self._index[key]]
        except KeyError:
            names = tuple(str(value) for value in self._index)
            raise Unknown(self.meta.title, got=key, near=near(str(key), names)) from None

    def step(self, value: float | Fraction) -> Row:
        """Return the row with over < ``value`` <= upto, as the standards read their steps."""
        if self.steps is None:
            raise Refused(self.name, got=value, reason="this table has no steps")
        over, upto = self.steps
        if math.isfinite(value):
            for row in self.rows:
                if number(row[over]) < value <= number(row[upto]):
                    return row
        low, high = self.rows[0][over], self.rows[-1][upto]
        raise OutOfRange(
            self.meta.title,
            got=value,
            allowed=f"over {low} up to {high}",
            source=f"{self.meta.source}, {self.meta.edition}",
        )

    def fault_at(self, index: int, reason: str) -> Refused:
        """Make a refusal that names file and line of row ``index``, for a check made by the table's user."""
        return _fault(self.name, self.lines[index], reason)


def number(value: Value) -> float:
    """Take a table value that must be a number; refuse a gap, a text or a truth value by name."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return value
    raise Refused("table value", got=value, reason="a number is needed here")


def exact(value: Value) -> Fraction:
    """Take a table number as the exact decimal that is printed (0.1 is 1/10)."""
    return Fraction(str(number(value)))


@cache
def load(name: str, package: str = "asmade.standards") -> Table:
    """Read and check ``data/NAME.toml`` of ``package``; the same table is read once only.

    Raises ``Unknown`` for a name that is not there, ``Refused`` with file and line for a fault in the file.
    """
    file = resources.files(package) / "data" / f"{name}.toml"
    if not file.is_file():
        raise Unknown(f"table of {package}", got=name, near=near(name, names(package)))
    return read(name, file.read_text(encoding="utf-8"))


def names(package: str = "asmade.standards") -> tuple[str, ...]:
    """Names of all table files of ``package``, sorted."""
    folder: Traversable = resources.files(package) / "data"
    if not folder.is_dir():
        return ()
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.name.endswith(".toml")))


def all_tables(package: str = "asmade.standards") -> tuple[Table, ...]:
    """Every table of ``package``, loaded and checked, for the page that lists them."""
    return tuple(load(name, package) for name in names(package))


def read(name: str, text: str) -> Table:
    """Check the ``text`` of a table file called ``name`` and make the table of it."""
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"at line (\d+)", str(error))
        raise _fault(name, int(at[1]) if at else 1, str(error)) from None
    meta = _meta(name, content.pop("meta", None), text)
    check = content.pop("check", {})
    if unknown := sorted(set(check) - set(_CHECKS)):
        raise _fault(
            name,
            _line_of(text, r"\[check\]"),
            f"unknown check {', '.join(unknown)}; known: {', '.join(_CHECKS)}",
        )
    rows, lines = _rows(name, content, text)
    if not rows:
        raise _fault(name, 1, "the table has no rows")
    columns = tuple(dict.fromkeys(column for row in rows for column in row))
    _check_columns(name, text, check, columns)
    _check_complete(name, rows, lines, {column for wanted in check.values() for column in wanted})
    _check_rows(name, rows, lines, check)
    key = check["unique"][0] if check.get("unique") else ""
    index = {row[key]: i for i, row in enumerate(rows)} if key else {}
    steps = tuple(check["steps"]) if "steps" in check else None
    return Table(name, meta, columns, tuple(rows), tuple(lines), key, steps, MappingProxyType(index))


def _fault(name: str, line: int, reason: str) -> Refused:
    return Refused("table", got=f"{name}.toml, line {line}", reason=reason)


def _line_of(text: str, pattern: str, start: int = 0) -> int:
    for count, line in enumerate(text.splitlines(), 1):
        if count > start and re.match(rf"\s*{pattern}", line):
            return count
    return 1


def _meta(name: str, meta: Any, text: str) -> Meta:
    line = _line_of(text, r"\[meta\]")
    if not isinstance(meta, dict):
        raise _fault(name, line, "there is no [meta]: a table without a source is not used")
    if missing := [field for field in _NEEDED if not meta.get(field)]:
        raise _fault(name, line, f"[meta] lacks {', '.join(missing)}")
    if unknown := sorted(set(meta) - set(_NEEDED) - {"note"}):
        raise _fault(name, line, f"[meta] has unknown {', '.join(unknown)}")
    if meta["native"] not in ("metric", "inch"):
        raise _fault(name, _line_of(text, "native", line), 'native is "metric" or "inch"')
    unit = meta["unit"]
    given: dict[str, Any] = {**meta, "unit": unit if isinstance(unit, str) else MappingProxyType(unit)}
    if wrong := [field for field in _NEEDED if field != "unit" and not isinstance(given[field], str)]:
        raise _fault(name, line, f"[meta] {', '.join(wrong)} must be text")
    return Meta(**given)


def _rows(name: str, content: dict[str, Any], text: str) -> tuple[list[Row], list[int]]:
    """Rows of either form with the line of each."""
    if set(content) == {"data"}:
        columns, raw = content["data"].get("columns", []), content["data"].get("rows", [])
        first = _line_of(text, r"rows\s*=")
        numbered = enumerate(text.splitlines(), 1)
        lines = [count for count, line in numbered if count > first and re.match(r"\s*\[(?!\[)", line)]
        if len(lines) != len(raw):
            raise _fault(name, first, f"{len(raw)} rows on {len(lines)} lines: write one row per line")
        for values, line in zip(raw, lines, strict=True):
            if len(values) != len(columns):
                raise _fault(name, line, f"{len(values)} values for {len(columns)} columns")
        dicts = [dict(zip(columns, values, strict=True)) for values in raw]
    elif set(content) == {"rows"}:
        dicts = content["rows"]
        lines = [count for count, line in enumerate(text.splitlines(), 1) if re.match(r"\s*\[\[rows\]\]", line)]
    else:
        raise _fault(name, 1, f"besides [meta] and [check] a table has [data] or [[rows]], not {sorted(content)}")
    return [MappingProxyType({c: _value(v) for c, v in row.items()}) for row in dicts], lines


def _value(value: Any) -> Value:
    if value == GAP:
        return None
    return tuple(_value(item) for item in value) if isinstance(value, list) else value


def _check_columns(name: str, text: str, check: dict[str, list[str]], columns: tuple[str, ...]) -> None:
    for kind, wanted in check.items():
        if absent := [column for column in wanted if column not in columns]:
            raise _fault(name, _line_of(text, kind), f"check {kind} names no column of the table: {', '.join(absent)}")
    if "steps" in check and len(check["steps"]) != 2:
        raise _fault(name, _line_of(text, "steps"), "steps takes two columns, lower end and upper end")


def _check_complete(name: str, rows: list[Row], lines: list[int], required: set[str]) -> None:
    for row, line in zip(rows, lines, strict=True):
        if missing := sorted(required - set(row)):
            raise _fault(name, line, f"{', '.join(missing)} missing (write {GAP!r} for a gap as printed)")
        for column, value in row.items():
            if isinstance(value, float) and not math.isfinite(value):
                raise _fault(name, line, f"{column} is {value}")


def _check_rows(name: str, rows: list[Row], lines: list[int], check: dict[str, list[str]]) -> None:
    """Hold the rows to everything that ``[check]`` declares."""
    numbered = list(zip(lines, rows, strict=True))
    for column in check.get("rising", ()):
        _check_order(name, numbered, column, sign=1)
    for column in check.get("falling", ()):
        _check_order(name, numbered, column, sign=-1)
    for column in check.get("positive", ()):
        for line, value in _numbers(name, numbered, column):
            if value <= 0:
                raise _fault(name, line, f"{column} is not above 0: {value}")
    for column in check.get("unique", ()):
        _check_unique(name, numbered, column)
    if across := check.get("across"):
        _check_across(name, numbered, across)
    if "steps" in check:
        _check_steps(name, numbered, *check["steps"])


_Numbered = list[tuple[int, Row]]


def _numbers(name: str, numbered: _Numbered, column: str) -> list[tuple[int, float]]:
    """Line and value of each row that has a value in ``column``."""
    given = [(line, row.get(column)) for line, row in numbered]
    return [(line, _number_at(name, line, column, value)) for line, value in given if value is not None]


def _check_order(name: str, numbered: _Numbered, column: str, sign: int) -> None:
    for (_, before), (line, now) in pairwise(_numbers(name, numbered, column)):
        if sign * (now - before) < 0:
            raise _fault(name, line, f"{column} {'falls' if sign > 0 else 'rises'}: {now} after {before}")


def _check_unique(name: str, numbered: _Numbered, column: str) -> None:
    seen: dict[Value, int] = {}
    for line, row in numbered:
        if row[column] in seen:
            raise _fault(name, line, f"{column} {row[column]!r} stands on line {seen[row[column]]} already")
        seen[row[column]] = line


def _check_across(name: str, numbered: _Numbered, across: list[str]) -> None:
    for line, row in numbered:
        values = [(c, _number_at(name, line, c, row[c])) for c in across if row.get(c) is not None]
        for (_, before), (column, now) in pairwise(values):
            if now < before:
                raise _fault(name, line, f"{column} falls: {now} after {before}")


def _check_steps(name: str, numbered: _Numbered, over: str, upto: str) -> None:
    end: float | None = None
    for (line, low), (_, high) in zip(_numbers(name, numbered, over), _numbers(name, numbered, upto), strict=True):
        if low >= high:
            raise _fault(name, line, f"step over {low} up to {high} is empty")
        if end is not None and low != end:
            raise _fault(name, line, f"step starts over {low} but the one before ended at {end}")
        end = high


def _number_at(name: str, line: int, column: str, value: Value) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return value
    raise _fault(name, line, f"{column} is {value!r}, not a number")
