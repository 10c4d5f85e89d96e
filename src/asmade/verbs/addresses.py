"""Addresses of a book as a builder types them: completed, and refused with what was probably meant."""

from __future__ import annotations

from collections.abc import Iterator

from asmade.book.address import Address
from asmade.book.model import Design, Dimension, Part
from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.verbs.store import Path_, read_build


def part_of(design: Design, address: Address) -> Part:
    """The part an address names; a figure of the whole engine is told from a part that is not there."""
    part = design.parts.get(address.part)
    if part is not None:
        return part
    if address.part in design.figures:
        raise Refused("address", got=str(address), reason="it is a figure of the whole engine, not a size that is cut",
                      way_out="name a part's size, such as wheel@2L.bore")  # fmt: skip
    raise Unknown("part", got=address.part, near=near(address.part, (*design.parts, *design.figures)))


def dimension_of(design: Design, address: Address, *, way_out: str = "") -> tuple[Part, Dimension]:
    """The part and the dimension an address names; ``way_out`` where there is more to say than which there are."""
    part = part_of(design, address)
    known = ", ".join(part.dims) or "none yet"
    if not address.dim:
        raise Refused("address", got=str(address), reason=f"it names {part.name}, but no size of it",
                      way_out=way_out or f"add one of its sizes: {known}")  # fmt: skip
    if address.dim not in part.dims:
        stems = (f"{address.dim}.diameter", f"{address.dim}.length", f"{address.dim}.callout")
        close = tuple(n for n in stems if n in part.dims) or near(address.dim, part.dims)
        raise Unknown(f"dimension of {part.name}", got=address.dim, near=close, way_out=way_out or f"it has: {known}")
    return part, part.dims[address.dim]


def beginning_with(path: Path_, typed: str) -> Iterator[str]:
    """Addresses that begin as ``typed``: parts, then places, then dimensions; none where the book cannot be read."""
    try:
        build = read_build(path)
    except AsmadeError:
        return
    for part in build.design.parts.values():
        if not part.name.startswith(typed.partition("@")[0].partition("#")[0].partition(".")[0]):
            continue
        seats = [*part.seats, *(p.seat for p in build.pieces.values() if p.part == part.name)]
        if "." in typed:
            stem = typed.partition(".")[0]
            yield from (a for d in part.dims if (a := f"{stem}.{d}").startswith(typed))
        elif "@" in typed or "#" in typed:
            yield from (f"{seat}." for seat in seats if seat.startswith(typed))
        else:
            yield part.name
