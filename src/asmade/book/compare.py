"""Two designs side by side: what a change of the book would bring, said before it is saved."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any

from asmade.book.address import Address
from asmade.book.model import Build, Design, Dimension, Part


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that differs: of what, which field, before and after, as text."""

    of: str
    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Differences:
    """What a later build has that an earlier has not, and what differs between them."""

    new_parts: tuple[Part, ...]
    new_dimensions: tuple[tuple[Address, Dimension], ...]
    new_relations: tuple[str, ...]
    changed: tuple[Change, ...]

    @property
    def touched(self) -> frozenset[Address]:
        """Dimensions that are new or differ."""
        return frozenset(a for a, _ in self.new_dimensions) | self._changed_dimensions()

    def _changed_dimensions(self) -> frozenset[Address]:
        found = set()
        for change in self.changed:
            stem, _, dim = change.of.partition(".")
            found.add(Address(stem.partition("@")[0], dim=dim))
        return frozenset(found)


def compare(before: Build, after: Build) -> Differences:
    """What ``after`` brings over ``before``: design and shop, not the journal."""
    old, new = before.design, after.design
    held = {(r.kind, r.name): r for r in old.relations}
    return Differences(
        new_parts=tuple(part for name, part in new.parts.items() if name not in old.parts),
        new_dimensions=tuple(
            (Address(part.name, dim=name), dimension)
            for part in new.parts.values()
            for name, dimension in part.dims.items()
            if part.name not in old.parts or name not in old.parts[part.name].dims
        ),
        new_relations=tuple(f"{r.kind} {r.name}" for r in new.relations if (r.kind, r.name) not in held),
        changed=tuple(_changes(old, new, before.tables.get("shop", {}), after.tables.get("shop", {}))),
    )


def _changes(
    old: Design, new: Design, shop_before: Mapping[str, Any], shop_after: Mapping[str, Any]
) -> Iterator[Change]:
    for name, part in new.parts.items():
        was = old.parts.get(name)
        if was is None:
            continue
        yield from _fields(name, was, part, skip=("dims",))
        for dim, dimension in part.dims.items():
            if dim in was.dims:
                yield from _dimension(Address(name, dim=dim), was.dims[dim], dimension)
    for name, figure in new.figures.items():
        if name not in old.figures:
            yield Change(name, "figure", "", figure.text or "not known")
        else:
            yield from _fields(name, old.figures[name], figure)
    held = {(r.kind, r.name): r for r in old.relations}
    for relation in new.relations:
        earlier = held.get((relation.kind, relation.name))
        if earlier is not None:
            of = f"{relation.kind} {relation.name}"
            yield from _tables(
                of, {"places": earlier.places, **earlier.fields}, {"places": relation.places, **relation.fields}
            )
    yield from _fields("book", old, new, skip=("parts", "relations", "figures", "places"))
    yield from _fields("places", old.places, new.places)
    yield from _tables("shop", shop_before, shop_after)


def _dimension(address: Address, was: Dimension, now: Dimension) -> Iterator[Change]:
    yield from _fields(str(address), was, now, skip=("drawn_at",))
    for place, text in now.drawn_at.items():
        if was.drawn_at.get(place) != text:
            apart = Address(address.part, place, dim=address.dim)
            yield Change(str(apart), "drawn", was.drawn_at.get(place, was.drawn), text)


def _fields(of: str, was: Any, now: Any, skip: tuple[str, ...] = ()) -> Iterator[Change]:
    for field in fields(now):
        if field.name not in skip:
            one, two = getattr(was, field.name), getattr(now, field.name)
            if one != two:
                yield Change(of, field.name, _words(one), _words(two))


def _tables(of: str, was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[Change]:
    for key in (*was, *(k for k in now if k not in was)):
        one, two = was.get(key), now.get(key)
        if one == two:
            continue
        if isinstance(two, Mapping) and (one is None or isinstance(one, Mapping)):
            yield from _tables(f"{of} {key}", one or {}, two)
        else:
            yield Change(of, key, _words(one), _words(two))


def _words(value: Any) -> str:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case Mapping():
            return ", ".join(f"{k} {_words(v)}" for k, v in value.items())
        case list() | tuple():
            return ", ".join(_words(each) for each in value)
        case _ if hasattr(value, "drawn"):
            return f"{value.drawn} ({value.reference})" if value.reference else str(value.drawn)
        case _:
            return str(value)
