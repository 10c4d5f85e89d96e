"""Addresses of a book, for completion and for "did you mean"."""

from __future__ import annotations

from collections.abc import Iterator

from asmade.measure.errors import AsmadeError
from asmade.verbs.store import Path_, read_build


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
