"""Words of a dimension list into those of the book: names, kinds, quantities, places; never a silent guess."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from asmade.book.address import is_place, read_address
from asmade.book.kinds import KEEPS, KINDS
from asmade.measure.errors import AsmadeError, OutOfRange, Refused, Unknown, near
from asmade.measure.threads import read_thread
from asmade.standards.capability import processes

LONGEST_NAME: Final = 60
MOST_PIECES: Final = 200
_NAME: Final = re.compile(r"[a-z_][a-z0-9_]*")
_DIMENSION: Final = re.compile(r"[a-z0-9_]+(\.[a-z0-9_]+)*")
_QUANTITY: Final = re.compile(r"(?:x ?)?(\d+)(?: ?(?:off|no\.?|x|pcs?|pieces?))?", re.IGNORECASE)

KIND_WORDS: Final = {
    "hole": "bore", "hole diameter": "bore", "inside diameter": "bore", "bore diameter": "bore", "i/d": "bore",
    "shaft diameter": "shaft", "pin": "shaft", "pin diameter": "shaft", "journal": "shaft",
    "outside diameter": "diameter", "overall diameter": "diameter", "o/d": "diameter",
    "groove": "slot", "keyway": "slot", "thick": "thickness", "wide": "width", "high": "height", "deep": "depth",
    "overall length": "length", "long": "length", "a/f": "across flats", "af": "across flats",
    "centers": "centres", "between centres": "centres", "between centers": "centres", "centre to centre": "centres",
    "center to center": "centres", "corner radius": "radius", "end radius": "radius", "screw thread": "thread",
}  # fmt: skip
"""Other words of the trade for the kinds of dimension."""
NOT_FROM_NAME: Final = ("diameter", "radius", "shaft")
"""Kinds that a dimension's name does not settle: a diameter may be a hole's."""


def part_name(text: str, known: Mapping[str, str]) -> tuple[str, str]:
    """The part and place that a cell names; spaces and hyphens become underscores, capitals small letters.

    ``known`` are parts by their names, and by their names in small letters.
    """
    stem, _, place = text.partition("@")
    if "#" in text or "{" in text:
        raise Refused("part", got=text, reason="a list names parts, not pieces", way_out="write wheel, or wheel@2L")
    stem, place = stem.strip(), place.strip()
    if place and not is_place(place):
        raise Refused("part", got=text, reason=f"{place!r} is no place", way_out="a place is like 2L, L, 12L or engine")
    if stem in known:
        return known[stem], place
    name = _as_name(stem)
    if name in known:
        return known[name], place
    _refuse_name("part", text, name, _NAME)
    return read_address(name).part, place


def dimension_name(text: str, dims: tuple[str, ...]) -> str:
    """The dimension that a cell names, with dots between groups as written."""
    if text in dims:
        return text
    name = ".".join(_as_name(each) for each in text.split("."))
    same = [dim for dim in dims if dim.lower() == name]
    if same:
        return same[0]
    _refuse_name("dimension", text, name, _DIMENSION)
    return name


def _as_name(text: str) -> str:
    return re.sub(r"[\s\-\u2010-\u2015]+", "_", text.strip().lower())


def _refuse_name(thing: str, text: str, name: str, pattern: re.Pattern[str]) -> None:
    if len(name) > LONGEST_NAME:
        raise OutOfRange(f"the name of a {thing}", got=f"{len(name)} letters", allowed=f"up to {LONGEST_NAME} letters")
    if pattern.fullmatch(name) is None:
        offered = re.sub(r"_+", "_", re.sub(r"[^a-z0-9_.]+", "_", name)).strip("_.")
        if not pattern.fullmatch(offered):
            offered = f"{thing}_{offered}" if pattern.fullmatch(f"{thing}_{offered}") and offered else ""
        raise Refused(
            thing, got=text, reason="a name has letters (a to z), digits and spaces, and a part's starts with a letter",
            way_out=f"write {offered}" if offered else "give it a plain name",
        )  # fmt: skip


def kind_of(text: str, dimension: str, drawn: str, *, thing: str = "kind") -> tuple[str, str]:
    """The kind of a new dimension, and what it was read from: its own cell, the dimension's name, or a callout."""
    word = " ".join(text.casefold().replace("_", " ").split())
    if word:
        kind = KIND_WORDS.get(word, word)
        if kind not in KINDS:
            known = (*KINDS, *KIND_WORDS)
            hint = tuple(dict.fromkeys(KIND_WORDS.get(each, each) for each in near(word, known)))
            raise Unknown("kind", got=text, near=hint, way_out=f"one of: {', '.join(KINDS)}")
        return kind, ""
    last = dimension.rpartition(".")[2].replace("_", " ")
    kind = KIND_WORDS.get(last, last)
    if kind in KINDS and kind not in NOT_FROM_NAME and last != "pin":
        return kind, f"kind {kind}, from its name"
    if _is_thread(drawn):
        return "thread", f"kind thread, from its callout {drawn}"
    raise Refused(
        thing, got="", reason="it is new and its kind is not said",
        way_out=f"one of: {', '.join(KINDS)}",
    )  # fmt: skip


def _is_thread(drawn: str) -> bool:
    try:
        read_thread(drawn)
    except AsmadeError:
        return False
    return True


def process_of(text: str) -> str:
    """A process as the book names it."""
    word = " ".join(text.casefold().replace("_", " ").split())
    known = processes()
    if word and word not in known:
        bare = word.replace("-", " ")
        if match := [each for each in known if each.replace("-", " ") == bare]:
            return match[0]
        raise Unknown("process", got=text, near=near(word, known), way_out=f"one of: {', '.join(known)}")
    return word


def keep_of(text: str) -> str:
    """How near to the drawing."""
    word = text.casefold().strip()
    if word and word not in KEEPS:
        raise Unknown("keep", got=text, near=near(word, KEEPS), way_out=f"one of: {', '.join(KEEPS)}")
    return word


def quantity_of(text: str) -> int | None:
    """How many there are: ``2``, ``2 off``; None where the cell is empty."""
    if not text:
        return None
    found = _QUANTITY.fullmatch(text.strip())
    if found is None:
        raise Refused("quantity", got=text, reason="it is no whole number", way_out="write 2, or 2 off")
    count = int(found[1]) if len(found[1]) < 9 else MOST_PIECES + 1
    if not 1 <= count <= MOST_PIECES:
        raise OutOfRange("quantity", got=text, allowed=f"1 to {MOST_PIECES}")
    return count


def places_of(text: str) -> tuple[str, ...]:
    """The places a cell names, parted by spaces, commas, semicolons or strokes."""
    found = tuple(each for each in re.split(r"[\s,;/+]+|\band\b", text) if each)
    for place in found:
        if not is_place(place):
            raise Refused("places", got=text, reason=f"{place!r} is no place", way_out="write them like 1L 1R 2L 2R")
    if len(set(found)) != len(found):
        raise Refused("places", got=text, reason="a place stands there twice", way_out="name each once")
    return found


def numbered_places(count: int) -> tuple[str, ...]:
    """Places of a part of which only the number is said: engine for one, p1, p2, ... for more."""
    return ("engine",) if count == 1 else tuple(f"p{k}" for k in range(1, count + 1))
