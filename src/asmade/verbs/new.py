"""new: a book for one arrangement of wheels, composed from the kits, with every size still to be filled in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from asmade.book.arrangements import compose
from asmade.book.text import Draft, read_text
from asmade.measure.errors import Refused
from asmade.verbs.store import Path_, Saved, start


@dataclass(frozen=True, slots=True)
class NewResult:
    """The new book: how many parts, dimensions and relations it starts with, and which sizes are to be filled in."""

    path: Path
    arrangement: str
    parts: int
    dimensions: int
    relations: int
    to_fill_in: tuple[str, ...]
    text: str
    saved: Saved


def new(
    path: Path_,
    *,
    arrangement: str = "0-6-0",
    unit: str = "inch",
    title: str = "",
    rods: str = "plain",
    driven: str = "",
    leads: str = "R",
    gear: str = "",
    shop: Mapping[str, Any] | None = None,
    what_if: bool = False,
) -> NewResult:
    """Start a book; an existing file is refused untouched.

    ``unit`` is that of bare drawn figures (inch or mm), ``rods`` plain or knuckle, ``driven`` the coupled axle the
    connecting rods work on (counted from the front; empty = the usual one), ``leads`` the side whose crank is ahead by
    the quarter in forward running (R or L), ``gear`` a valve gear whose parts and relations are to be in the book too,
    ``shop`` the ``[shop]`` tables it begins with (those of another book, say).
    """
    named = title.strip() or Path(path).stem
    if not named.isprintable():
        raise Refused("title", got=named, reason="it holds control characters", way_out="write it in plain letters")
    text = compose(arrangement, unit=unit, title=named, rods=rods, driven=driven, leads=leads, gear=gear)
    drafts = [*read_text(text), *([Draft("shop", {"set": dict(shop)})] if shop else [])]
    saved = start(path, drafts, what_if=what_if)
    design = saved.build.design
    computed = {relation.text("gives").partition("@")[0] + "." + relation.text("gives").partition(".")[2]
                for relation in design.of_kind("formula")}  # fmt: skip
    every = [(f"{part.name}.{dim.name}", dim.drawn) for part in design.parts.values() for dim in part.dims.values()]
    to_fill_in = tuple(name for name, drawn in every if not drawn and name not in computed)
    return NewResult(
        Path(path), design.arrangement, len(design.parts), len(every), len(design.relations), to_fill_in, text, saved
    )
