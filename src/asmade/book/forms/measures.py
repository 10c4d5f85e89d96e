"""What a form is made of: measures (sums of the part's own dimensions) and the ways to find and to refuse them.

A measure is written as a sum in quotes, ``"centres"`` or ``"length - 0.5 * head.thickness"``; every name in it is a
dimension of the same part. Where the form's table does not say, the measure is looked for under its usual names;
one that is nowhere is *lacking*: the form stands, and whoever needs the measure is told what to add.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from asmade.book.grammar import Node, Size, addresses, evaluate, read_sum
from asmade.book.model import Dimension, Part
from asmade.book.schema import Taker
from asmade.measure.errors import AsmadeError, Refused, Unknown, near

Sizes = Callable[[str], Any]
"""From a dimension's name to its size in mm (rad for an angle, major or core diameter for a thread)."""

ROUND_KINDS = ("shaft", "diameter", "bore", "thread")
LENGTH_KINDS = ("length", "thickness", "width", "height", "depth")


@dataclass(frozen=True, slots=True)
class Measure:
    """A sum of the part's own dimensions, as written and as read."""

    text: str
    node: Node = field(repr=False)
    dims: tuple[str, ...]

    @property
    def dimension(self) -> str | None:
        """The dimension's name where the measure is that dimension and nothing else: what is turned to, aimed at."""
        return str(self.node.address) if isinstance(self.node, Size) else None

    def value(self, sizes: Sizes) -> Any:
        """Its value in mm (rad) for the sizes of one piece, floats or arrays of samples."""
        return evaluate(self.node, lambda address: sizes(str(address)))


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole: ``x`` and ``y`` of its middle in the form's own axes; ``depth`` None = right through.

    ``thread`` names the dimension that holds its callout; ``diameter`` is then that same dimension, and its size is
    the core diameter. ``way``: where the form has several, the way it goes through it.
    """

    name: str
    diameter: Measure | None
    x: Measure | None
    y: Measure | None
    depth: Measure | None = None
    thread: str = ""
    way: str = ""


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of an outline: x and y in the form's own axes, and the radius it is rounded with (None: sharp)."""

    x: Measure
    y: Measure
    radius: Measure | None = None


@dataclass(frozen=True, slots=True)
class Opening:
    """An opening with corners."""

    name: str
    corners: tuple[Corner, ...]


@dataclass(frozen=True, slots=True)
class Slot:
    """A slot with round ends: from the middle of one end to the middle of the other, so wide.

    ``radius``: its middle line is an arc, the centre to the left of the way from first to second; None: straight.
    """

    name: str
    width: Measure | None
    first: tuple[Measure, Measure]
    second: tuple[Measure, Measure]
    radius: Measure | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on a face where nothing is cut but from which other places are told: a centre line, a trunnion."""

    name: str
    x: Measure | None
    y: Measure | None


class Measures:
    """Reads the measures of one form and remembers what is lacking."""

    def __init__(self, part: Part, where: str = "") -> None:
        """Start on a part; ``where`` names the form's table in messages."""
        self.part = part
        self.where = where or f"part.{part.name}.form"
        self.lacking: list[str] = []

    @property
    def lacks(self) -> tuple[str, ...]:
        """What was looked for and is not there, each once."""
        return tuple(dict.fromkeys(self.lacking))

    def read(self, text: str, key: str) -> Measure:
        """Read a sum of the part's dimensions; a name that is none of them is refused with the near names."""
        try:
            node = read_sum(text)
        except AsmadeError as fault:
            raise Refused(
                f"{self.where}.{key}", got=text, reason=fault.message, way_out="write a dimension's name, or a sum"
            ) from fault
        names = []
        for address in addresses(node):
            name = str(address)
            if name not in self.part.dims:
                raise Unknown(
                    f"{self.where}.{key}: dimension of {self.part.name}",
                    got=name,
                    near=near(name, self.part.dims),
                    way_out=f"it has {', '.join(self.part.dims) or 'none yet'}",
                )
            names.append(name)
        return Measure(text, node, tuple(dict.fromkeys(names)))

    def take(
        self, taker: Taker, key: str, *usual: str, needed: bool = True, alike: tuple[str, ...] = ()
    ) -> Measure | None:
        """The measure ``key`` says, else the first of the ``usual`` names that is a dimension, else None (lacking).

        ``alike``: only dimensions of these kinds count under a usual name. ``needed`` False: absent is not lacking.
        """
        said = taker.text(key)
        if said:
            return self.read(said, key)
        found = self.usual(*usual, alike=alike)
        if found is None and needed:
            self.lacking.append(usual[0] if usual else key)
        return found

    def usual(self, *names: str, alike: tuple[str, ...] = ()) -> Measure | None:
        """The first of ``names`` that is a dimension of the part (of one of the kinds ``alike``)."""
        for name in names:
            dimension = self.part.dims.get(name)
            if dimension is not None and (not alike or dimension.kind in alike):
                return self.of(dimension)
        return None

    def of(self, dimension: Dimension) -> Measure:
        """A dimension as a measure."""
        return self.read(dimension.name, "dim")

    def thread(self, *names: str) -> str:
        """The first of ``names`` that is a thread callout of the part, or nothing."""
        for name in names:
            dimension = self.part.dims.get(name)
            if dimension is not None and dimension.of_kind.thread:
                return name
        return ""

    def holes(self, taker: Taker, key: str = "holes", *, ways: tuple[str, ...] = ("",)) -> tuple[Hole, ...]:
        """Read ``holes = [{ name = "...", x = "...", y = "..." }]``; bore, depth and thread by name or as said.

        ``ways``: the ways a hole may go through the form, the first where it does not say.
        """
        found = []
        for row in taker.rows(key):
            inner = Taker(row, f"{self.where}.{key}")
            name = inner.text("name", needed=True)
            thread = self.thread(f"{name}.callout", f"{name}.thread", name)
            usual = (thread,) if thread else (f"{name}.bore", f"{name}.diameter", name)
            found.append(
                Hole(
                    name,
                    self.take(inner, "bore", *usual),
                    self.take(inner, "x", f"{name}.x"),
                    self.take(inner, "y", f"{name}.y"),
                    self.take(inner, "depth", f"{name}.depth", needed=False),
                    thread,
                    inner.text("way", ways[0], among=ways) if len(ways) > 1 else "",
                )
            )
            inner.done()
        return tuple(found)

    def openings(self, taker: Taker, key: str = "openings") -> tuple[Opening, ...]:
        """Read ``openings = [{ name = "...", corners = [["0", "0"], ...] }]``."""
        found = []
        for row in taker.rows(key):
            inner = Taker(row, f"{self.where}.{key}")
            name = inner.text("name", needed=True)
            found.append(Opening(name, self.corners(inner, "corners", needed=True)))
            inner.done()
        return tuple(found)

    def slots(self, taker: Taker, key: str = "slots") -> tuple[Slot, ...]:
        """Read ``slots = [{ name = "...", from = ["0", "0"], to = ["10 mm", "0"] }]``; its width by name or as said."""
        found = []
        for row in taker.rows(key):
            inner = Taker(row, f"{self.where}.{key}")
            name = inner.text("name", needed=True)
            width = self.take(inner, "width", f"{name}.width", name)
            radius = self.take(inner, "radius", f"{name}.radius", needed=False)
            found.append(Slot(name, width, self._pair(inner, "from"), self._pair(inner, "to"), radius))
            inner.done()
        return tuple(found)

    def marks(self, taker: Taker, key: str = "marks") -> tuple[Mark, ...]:
        """Read ``marks = [{ name = "trunnion", x = "10 mm", y = "20 mm" }]``; x or y alone: a line square across."""
        found = []
        for row in taker.rows(key):
            inner = Taker(row, f"{self.where}.{key}")
            name = inner.text("name", needed=True)
            x, y = (self.take(inner, axis, needed=False) for axis in ("x", "y"))
            if x is None and y is None:
                raise Refused(inner.where, got=name, reason="it is nowhere", way_out='write x = "10 mm" or y = "10 mm"')
            found.append(Mark(name, x, y))
            inner.done()
        return tuple(found)

    def _pair(self, taker: Taker, key: str) -> tuple[Measure, Measure]:
        row = taker.table.get(key)
        taker.taken.add(key)
        if not isinstance(row, list | tuple) or len(row) != 2 or not all(isinstance(each, str) for each in row):
            raise Refused(f"{taker.where}.{key}", got=row, reason="it is two sums in quotes, x then y",
                          way_out=f'write {key} = ["0", "10 mm"]')  # fmt: skip
        return self.read(row[0], key), self.read(row[1], key)

    def corners(self, taker: Taker, key: str, *, needed: bool = False) -> tuple[Corner, ...]:
        """Read a list of corners ``[["0", "0"], ["length", "0"], ...]``, three or more, going round.

        A third sum in a corner is the radius it is rounded with.
        """
        rows = taker.table.get(key)
        taker.taken.add(key)
        where = f"{self.where}.{key}"
        if rows is None and not needed:
            return ()
        if not isinstance(rows, list | tuple) or len(rows) < 3:
            raise Refused(
                where, got=rows, reason="an outline has three corners or more",
                way_out='write [["0", "0"], ["length", "0"], ["length", "height"], ["0", "height"]]',
            )  # fmt: skip
        found = []
        for row in rows:
            if not isinstance(row, list | tuple) or len(row) not in (2, 3) or not all(isinstance(e, str) for e in row):
                raise Refused(where, got=row, reason="a corner is two sums in quotes, x then y, and a radius at most",
                              way_out='write ["0.5 * length", "height"] or ["0", "height", "3 mm"]')  # fmt: skip
            x, y, *radius = (self.read(each, key) for each in row)
            found.append(Corner(x, y, *radius))
        return tuple(found)


def number(taker: Taker, key: str, *, least: int) -> int | None:
    """Take a whole number of ``least`` or more; not said is None."""
    value = taker.number(key, least=least)
    if value is None:
        return None
    if value != int(value):
        raise Refused(f"{taker.where}.{key}", got=value, reason="it should be a whole number")
    return int(value)


def as_table(row: object, where: str) -> Mapping[str, Any]:
    """A name alone stands for a table with that name."""
    if isinstance(row, str):
        return {"name": row}
    if isinstance(row, Mapping):
        return row
    raise Refused(where, got=row, reason='it should be a name in quotes or a table such as { name = "seat" }')


def listed(taker: Taker, key: str) -> tuple[Mapping[str, Any], ...]:
    """Take a list whose entries are names or tables with a name; not said is empty."""
    rows = taker.table.get(key)
    taker.taken.add(key)
    if rows is None:
        return ()
    if not isinstance(rows, list | tuple):
        raise Refused(f"{taker.where}.{key}", got=rows, reason='it should be a list such as ["seat", "journal"]')
    found = tuple(as_table(row, f"{taker.where}.{key}") for row in rows)
    names = [row.get("name") for row in found]
    if len(set(names)) != len(names):
        raise Refused(f"{taker.where}.{key}", got=names, reason="a name stands there twice")
    return found
