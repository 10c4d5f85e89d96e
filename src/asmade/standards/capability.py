"""What a process leaves in a small home workshop, until this shop's own readings say better."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, field, replace
from functools import cache

from asmade.measure.errors import OutOfRange, Unknown, near
from asmade.standards.materials import family_of
from asmade.standards.tables import Row, Value, load, number

_REFERENCE_SIZE_MM = 10.0  # where a prior is read when no size is told; the prior itself says so


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed of a process before its first reading, at one size.

    A piece comes out at ``aimed + bias + chance``. The bias is shared by all pieces of one tool, setting
    or bar; it is normal about ``bias_mm`` with standard deviation ``between_mm``. Chance differs from piece
    to piece with standard deviation ``scatter_mm``, a guess worth ``strength`` readings.
    """

    process: str
    tool_kind: str  # which tool the figures are for; "" = the process in general
    families: tuple[str, ...]  # families of materials the figures are for; empty = any
    size_mm: float
    bias_mm: float  # made less aimed; for a drill, reamer or bar made less its stated size
    scatter_mm: float
    between_mm: float
    strength: float
    source: str
    note: str
    _row: Row = field(repr=False, compare=False)

    @property
    def strength_of_bias(self) -> float:
        """Readings with one tool that the guess of its bias is worth: (scatter / between) squared."""
        return (self.scatter_mm / self.between_mm) ** 2

    @property
    def low_mm(self) -> float:
        """Smallest size for which the figures are given."""
        return _numbers(self._row, "at")[0]

    @property
    def high_mm(self) -> float:
        """Largest size for which the figures are given."""
        return _numbers(self._row, "at")[-1]

    def at(self, size_mm: float) -> Prior:
        """Return the same prior at another size: straight lines between the sizes of the table.

        Unit: mm. Range: ``low_mm`` to ``high_mm``; beyond it the nearest end is taken and the note says
        so, because a guess is still better than none, as long as it is called one. Raises ``OutOfRange``
        for a size that is not above 0.

        Anchor: hole from a 6.35 mm twist drill 0.1016 mm (0.004 in) larger than the drill on average
        (Machinery's Handbook, oversize diameters in drilling, from memory, check before relying on it).
        """
        if not (math.isfinite(size_mm) and size_mm > 0):
            raise OutOfRange("size of a dimension", got=size_mm, allowed="above 0 mm")
        note = str(self._row.get("note") or "")
        if not self.low_mm <= size_mm <= self.high_mm:
            note = _joined(note, f"figures end at {self.low_mm:g} to {self.high_mm:g} mm: those of the nearest end")
        return replace(
            self,
            size_mm=size_mm,
            bias_mm=_between(self._row, "bias", size_mm),
            scatter_mm=_between(self._row, "scatter", size_mm),
            between_mm=_between(self._row, "between", size_mm),
            note=note,
        )


def processes() -> tuple[str, ...]:
    """Names of all processes that have figures, in the order of the table."""
    return tuple(dict.fromkeys(str(row["process"]) for row in load("capability").rows))


def tool_kinds(process: str) -> tuple[str, ...]:
    """Kinds of tool (or of bar) for which ``process`` has figures of its own."""
    rows = _rows_of(process)
    return tuple(dict.fromkeys(name for row in rows for name in _tool_names(row)))


def process_prior(
    process: str, tool_kind: str | None = None, material: str | None = None, *, size_mm: float | None = None
) -> Prior:
    """Return what ``process`` leaves in a small home workshop, before this shop's own readings.

    The row of ``tool_kind`` is taken where there is one, else the process in general, and the ``note``
    says so; likewise for ``material``. Without ``size_mm`` the figures are those for 10 mm and ``size_mm``
    of the answer says so; use ``Prior.at`` for others.

    Raises ``Unknown`` with near names for a process without figures.

    Source: each row's own, mostly "common practice, no source"; the table is data/capability.toml.
    Range: the sizes of the row; beyond them its nearest end, and the note says so.
    Anchor: hole from a 6.35 mm twist drill 0.1016 mm (0.004 in) larger than the drill on average (Machinery's
    Handbook, oversize diameters in drilling, from memory).
    """
    rows = _rows_of(process)
    row, note = _best_row(rows, process, tool_kind, material)
    meta = load("capability").meta
    prior = Prior(
        process=str(row["process"]),
        tool_kind=str(row.get("tool_kind") or ""),
        families=_texts(row.get("families")),
        size_mm=_REFERENCE_SIZE_MM,
        bias_mm=0.0,
        scatter_mm=0.0,
        between_mm=0.0,
        strength=number(row["weight"]),
        source=str(row.get("source") or meta.source),
        note="",
        _row=row,
    ).at(_REFERENCE_SIZE_MM if size_mm is None else size_mm)
    return replace(prior, note=_joined(prior.note, note))


@cache
def _by_process() -> dict[str, tuple[Row, ...]]:
    """Rows by every name of their process, in lower case; each row checked once."""
    table = load("capability")
    found: dict[str, list[Row]] = {}
    for index, row in enumerate(table.rows):
        sizes = _numbers(row, "at")
        columns = [_numbers(row, name) for name in ("bias", "scatter", "between")]
        if any(len(column) != len(sizes) for column in columns) or list(sizes) != sorted(set(sizes)):
            raise table.fault_at(index, "at, bias, scatter and between need one figure per rising size")
        if min(columns[1] + columns[2]) <= 0:
            raise table.fault_at(index, "scatter and between are above 0: nothing is made without chance")
        aliases = () if row.get("tool_kind") else _also(row)
        for name in (str(row["process"]), *aliases):
            found.setdefault(name.lower(), []).append(row)
    return {name: tuple(rows) for name, rows in found.items()}


def _rows_of(process: str) -> tuple[Row, ...]:
    known = _by_process()
    rows = known.get(process.strip().lower())
    if rows is None:
        raise Unknown(
            "process",
            got=process,
            near=near(process, tuple(known)),
            way_out=f"known processes: {', '.join(processes())}",
        )
    return known[str(rows[0]["process"]).lower()]


def _best_row(rows: tuple[Row, ...], process: str, tool_kind: str | None, material: str | None) -> tuple[Row, str]:
    """Pick the row for tool and material, else for the tool, else for the material, else the process in general.

    Returned with what has to be said about the choice.
    """
    tool, family = (tool_kind or "").strip().lower(), family_of(material) if material else None
    of_tool = [row for row in rows if tool and tool in (name.lower() for name in _tool_names(row))]
    pool = of_tool or [row for row in rows if not row.get("tool_kind")]
    of_family = [row for row in pool if family and family in _texts(row.get("families"))]
    row = of_family[0] if of_family else next(row for row in pool if not row.get("families"))
    tool_note = f"no figures of its own for {tool_kind}: those of {process} in general" if tool and not of_tool else ""
    material_note = f"figures for any material, not for {material} alone" if material and not of_family else ""
    return row, _joined(tool_note, material_note)


def _tool_names(row: Row) -> tuple[str, ...]:
    kind = row.get("tool_kind")
    return (str(kind), *_also(row)) if kind else ()


def _also(row: Row) -> tuple[str, ...]:
    return _texts(row.get("also"))


def _texts(value: Value) -> tuple[str, ...]:
    if isinstance(value, tuple):
        return tuple(str(item) for item in value)
    return (str(value),) if value else ()


def _numbers(row: Row, column: str) -> tuple[float, ...]:
    values = row[column]
    return tuple(number(v) for v in values) if isinstance(values, tuple) else (number(values),)


def _between(row: Row, column: str, size_mm: float) -> float:
    """Straight line between the two sizes around ``size_mm``; the end value beyond them."""
    sizes, values = _numbers(row, "at"), _numbers(row, column)
    right = bisect_right(sizes, size_mm)
    if right == 0:
        return values[0]
    if right == len(sizes):
        return values[-1]
    share = (size_mm - sizes[right - 1]) / (sizes[right] - sizes[right - 1])
    return values[right - 1] + share * (values[right] - values[right - 1])


def _joined(*notes: str) -> str:
    return "; ".join(note for note in notes if note)
