"""From the templates of a kit to the parts and relations of a book, for one layout of axles."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from asmade.book.address import spread_out
from asmade.book.kits import Kit, Template, dims_of
from asmade.measure.errors import Contradiction, Unknown

_WORD = re.compile(r"<([a-z_]+)>")


class Layout(Protocol):
    """What a kit must know of an arrangement: places by their words, and the words of each place."""

    def places(self, text: str) -> tuple[str, ...]:
        """Places meant by ``axles x sides``."""

    def words(self, place: str) -> Mapping[str, str]:
        """What ``<which>`` and its like stand for at a place (empty text: of the whole engine)."""


@dataclass(frozen=True, slots=True)
class Composed:
    """What one kit brings into a book: figures, parts by name, and relations as (kind, row)."""

    kit: Kit
    figures: Mapping[str, Mapping[str, Any]]
    parts: Mapping[str, Mapping[str, Any]]
    relations: tuple[tuple[str, Mapping[str, Any]], ...]


def expand(kit: Kit, layout: Layout) -> Composed:
    """Write a kit out for a layout; templates for places that the layout has not are left out."""
    parts: dict[str, dict[str, Any]] = {}
    for template in kit.parts:
        for name, places, fields in _groups(template, layout):
            part = {"places": list(places), **fields, "dim": _dims(fields.get("dim", {}), layout)}
            held = parts.get(name)
            if held is None:
                parts[name] = part
            elif held["places"] != part["places"]:
                raise Contradiction(f"kit {kit.name}: {name} has two lists of places")
            else:
                held["dim"] |= part["dim"]
    relations = tuple(
        (template.kind, row) for template in kit.relations for row in _rows(template, layout)
    )  # fmt: skip
    return Composed(kit, kit.figures, parts, relations)


def _groups(template: Template, layout: Layout) -> Iterator[tuple[str, tuple[str, ...], dict[str, Any]]]:
    """Name, places and fields: one group for each way in which the ``<words>`` come out."""
    found: dict[str, list[str]] = {}
    for place in layout.places(template.places) if template.places else ("",):
        words = layout.words(place)
        text = json.dumps([template.name, template.words, template.fields])
        found.setdefault(_put(text, words, template), []).append(place)
    for text, places in found.items():
        name, said, fields = json.loads(text)
        yield name, tuple(places), {**fields, **({"note": said} if said else {})}


def _put(text: str, words: Mapping[str, str], template: Template) -> str:
    def word(found: re.Match[str]) -> str:
        if found[1] not in words:
            raise Unknown(f"word of {template.kind} {template.name!r}", got=found[0],
                          way_out=f"at {template.places or 'engine'} there are: {', '.join(words)}")  # fmt: skip
        return words[found[1]]

    return _WORD.sub(word, text)


def _dims(tables: Mapping[str, Any], layout: Layout) -> dict[str, Any]:
    """Dimensions with nothing drawn yet; one with ``each`` becomes one for each of those places, 0 at the datum."""
    found: dict[str, Any] = {}
    for path, dim in dims_of(tables):
        fields = {k: v for k, v in dim.items() if k not in ("each", "zero_at", "kind", "drawn")}
        nought = layout.places(dim["zero_at"]) if "zero_at" in dim else ()
        ends = [(*path, place) for place in layout.places(dim["each"])] if "each" in dim else [path]
        for end in ends:
            here = found
            for key in end[:-1]:
                here = here.setdefault(key, {})
            drawn = "0" if end[-1] in nought else dim.get("drawn", "")
            here[end[-1]] = copy.deepcopy({"kind": dim["kind"], "drawn": drawn, **fields})
    return found


def _rows(template: Template, layout: Layout) -> Iterator[Mapping[str, Any]]:
    for name, places, fields in _groups(template, layout):
        note = {"note": fields.pop("note")} if "note" in fields else {}
        row = {"name": name, **note, **({"places": list(places)} if template.places else {}), **fields}
        if "of_each" in row:
            each, over = row.pop("of_each"), row.pop("over")
            row["of"] = [spread_out(each, place) for place in layout.places(over)]
            if len(row["of"]) < 2:
                continue  # a single axle has nothing to be alike to
        yield row
