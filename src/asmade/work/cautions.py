"""Cautions: which ones belong to an operation, a material, a tool; each with where it is shown and its standing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from asmade.measure.errors import Unknown, near
from asmade.standards.materials import family_of, material
from asmade.standards.tables import Row, load

PLACES: Final = ("set-up", "operation", "joint", "trial", "page", "buying")
"""Where a caution is shown: at the set-up, at the operation, at a joint, at trials, on every page, when buying."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: its name, when it holds (for people), what to mind, where it is shown, what stands behind it."""

    name: str
    when: str
    text: str
    shown: tuple[str, ...]
    standing: str


def every() -> tuple[Caution, ...]:
    """All cautions in the order of the table."""
    return tuple(_caution(row) for row in load("cautions", "asmade.work").rows)


def operations() -> tuple[str, ...]:
    """Every operation, joint or trial that a caution names."""
    return _known("operations")


def of_every_page() -> tuple[Caution, ...]:
    """Cautions that stand on every page of a plan: those shown on pages, whatever is planned there."""
    return tuple(one for one in every() if "page" in one.shown)


def standing() -> str:
    """What goes before every route, set-up and sheet: instructions, local rules, licensed practice; pressure parts."""
    return next(one.text for one in of_every_page() if one.name == "makers and local rules")


def cautions(
    operation: str = "", *, material_name: str = "", tool: str = "", shown: str = "", features: Iterable[str] = ()
) -> tuple[Caution, ...]:
    """The cautions that hold for an operation (or joint, or trial), a material, a tool, and features of the set-up.

    A caution that names operations, materials, tools or features holds only where each kind it names is met; those of
    every page hold always and come last. ``shown`` keeps those for one place. Raises ``Unknown`` with near names for
    an operation, a tool, a feature or a place that no caution knows.
    """
    wanted = operation.strip().lower()
    tools = {tool.strip().lower()} - {""}
    traits = {each.strip().lower() for each in features} - {""}
    _check("operation", wanted, operations())
    for one in tools:
        _check("tool", one, _known("tools"))
    for one in traits:
        _check("feature", one, _known("features"))
    _check("place of a caution", shown, PLACES)
    kinds = _material(material_name)
    found: list[Caution] = []
    always: list[Caution] = []
    for row in load("cautions", "asmade.work").rows:
        asks = {column: _texts(row, column) for column in ("operations", "materials", "tools", "features")}
        meets = {"operations": {wanted} - {""}, "materials": kinds, "tools": tools, "features": traits}
        if any(asks[c] and asks[c].isdisjoint(meets[c]) for c in asks):
            continue
        caution = _caution(row)
        if shown and shown not in caution.shown:
            continue
        (found if any(asks.values()) else always).append(caution)
    return (*found, *always)


def _caution(row: Row) -> Caution:
    shown = row["shown"]
    places = tuple(str(place) for place in shown) if isinstance(shown, tuple) else ()
    return Caution(str(row["name"]), str(row["when"]), str(row["text"]), places, str(row["standing"]))


def _texts(row: Row, column: str) -> set[str]:
    value = row[column]
    return {str(each) for each in value} if isinstance(value, tuple) else set()


@lru_cache(maxsize=8)
def _known(column: str) -> tuple[str, ...]:
    rows = load("cautions", "asmade.work").rows
    return tuple(sorted({each for row in rows for each in _texts(row, column)}))


def _material(name: str) -> set[str]:
    """Names under which a material is met: its own, its family, and "leaded" where it holds lead."""
    if not name.strip():
        return set()
    family = family_of(name)
    if family is None:
        return {name.strip().lower()}
    stuff = material(name)
    leaded = {"leaded"} if stuff.name in _LEADED else set()
    return {stuff.name.lower(), family, name.strip().lower(), *leaded}


_LEADED: Final = frozenset({"11SMnPb30", "CW614N", "CC491K", "CC492K", "CC493K", "2011-T3"})
"""Metals that hold lead by their standards: leaded free-cutting steel, brass for turning, gunmetals, free-cutting
aluminium."""


def _check(thing: str, value: str, known: tuple[str, ...]) -> None:
    if value and value not in known:
        raise Unknown(thing, got=value, near=near(value, known), way_out=f"known: {', '.join(known)}")
