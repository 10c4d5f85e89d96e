"""Kits: what the trade knows of a group of parts, one TOML file each, found by name.

A kit holds templates of parts and of relations. A template says for which ``places`` it is meant (``"axles x sides"``)
and may use two kinds of brackets:

- ``{axle} {side} {place} {section} {fore} {aft} {other} {side_word}`` stay in the book and stand for the place at hand;
- ``<which> <rod> <behind> <driven> ...`` are put in when the kit is composed for an arrangement; a template whose words
  come out differently at some places is written once for each group of places that come out alike.

``each = "axles"`` on a dimension makes one dimension for each axle, drawn 0 where ``zero_at`` says; ``of_each`` and
``over`` in a same list one size for each place. Every relation says in ``words`` what it holds: they stand beside it in
the book, and in the docs.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

from asmade.book.kinds import KINDS
from asmade.measure.errors import Damaged

RELATIONS: Final = (
    "formula", "fit", "chain", "play", "same", "wall", "binding", "gap", "piston_room", "valve_gear", "valve_event",
    "joint",
)  # fmt: skip
"""Kinds of relation a kit may hold, in the order in which they are explained."""
FIELDS: Final[Mapping[str, frozenset[str]]] = {
    "formula": frozenset({"gives", "is"}),
    "fit": frozenset({"hole", "shaft"}),
    "chain": frozenset({"is"}),
    "play": frozenset({"each_way"}),
    "same": frozenset(),
    "wall": frozenset({"is", "least"}),
    "binding": frozenset({"boxes"}),
    "gap": frozenset({"least"}),
    "piston_room": frozenset({"front", "back", "rod", "crank"}),
    "valve_gear": frozenset({"gear", "admission", "sizes"}),
    "valve_event": frozenset({"what"}),
    "joint": frozenset({"fit", "by"}),
}
"""What a relation of each kind cannot do without."""


@dataclass(frozen=True, slots=True)
class Template:
    """A part (kind ``part``) or relation of a kit before it is composed; ``places`` in words, empty = once."""

    kind: str
    name: str
    places: str
    fields: Mapping[str, Any]
    words: str = ""


@dataclass(frozen=True, slots=True)
class Kit:
    """One kit: its parts, relations and figures, and when it is wanted."""

    name: str
    title: str
    words: str
    order: int
    when: Mapping[str, str]
    parts: tuple[Template, ...]
    relations: tuple[Template, ...]
    figures: Mapping[str, Mapping[str, Any]]

    def wanted(self, options: Mapping[str, str]) -> bool:
        """Whether the options of a new book ask for this kit."""
        return all(options.get(key) == value for key, value in self.when.items())


@cache
def kits() -> tuple[Kit, ...]:
    """All kits in their order; raises `Damaged` naming the file and what is wrong in it."""
    found = [
        parse_kit(entry.name.removesuffix(".toml"), entry.read_text(encoding="utf-8"))
        for entry in files("asmade.book.kits").iterdir()
        if entry.name.endswith(".toml")
    ]
    return tuple(sorted(found, key=lambda kit: (kit.order, kit.name)))


def parse_kit(name: str, text: str) -> Kit:
    """Read and check one kit; every relation must have its words and what its kind cannot do without."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise _damaged(name, str(fault)) from fault
    head = tables.pop("kit", {})
    missing = [key for key in ("title", "words", "order") if key not in head]
    if missing:
        raise _damaged(name, f"its [kit] lacks {', '.join(missing)}")
    if unknown := set(head) - {"title", "words", "order", "when"}:
        raise _damaged(name, f"its [kit] has {', '.join(sorted(unknown))}")
    figures = tables.pop("figure", {})
    parts = tuple(_part(name, row) for row in tables.pop("part", []))
    if unknown := set(tables) - set(RELATIONS):
        raise _damaged(name, f"it has {', '.join(sorted(unknown))}, which no kit knows")
    relations = tuple(_relation(name, kind, row) for kind in RELATIONS for row in tables.get(kind, []))
    return Kit(name, head["title"], head["words"], head["order"], head.get("when", {}), parts, relations, figures)


def _part(kit: str, row: Mapping[str, Any]) -> Template:
    part = str(row.get("name", ""))
    if not part or not row.get("places"):
        raise _damaged(kit, f"a part lacks name or places: {part or dict(row)}")
    for path, dim in dims_of(row.get("dim", {})):
        if dim["kind"] not in KINDS:
            raise _damaged(kit, f"{part}.{'.'.join(path)} is of no known kind: {dim['kind']}")
    return Template("part", part, row["places"], {k: v for k, v in row.items() if k not in ("name", "places")})


def _relation(kit: str, kind: str, row: Mapping[str, Any]) -> Template:
    name = str(row.get("name", ""))
    needed = {"name", "words"} | FIELDS[kind]
    if lacking := needed - set(row):
        raise _damaged(kit, f"{kind} {name!r} lacks {', '.join(sorted(lacking))}")
    if kind == "same" and ("of" in row) == ("of_each" in row and "over" in row):
        raise _damaged(kit, f"same {name!r} needs either of, or of_each and over")
    fields = {k: v for k, v in row.items() if k not in ("name", "places", "words")}
    return Template(kind, name, row.get("places", ""), fields, row["words"])


def dims_of(tables: Mapping[str, Any], path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], dict[str, Any]]]:
    """Dimensions of a part's tables with the path of their names, groups seen through."""
    for name, table in tables.items():
        if isinstance(table.get("kind"), str):
            yield (*path, str(name)), table
        else:
            yield from dims_of(table, (*path, str(name)))


def _damaged(kit: str, reason: str) -> Damaged:
    return Damaged(f"kit {kit} is damaged: {reason}", way_out="install asmade again")
