"""The rows of an exported dimension list: each dimension as drawn, exactly, as chosen, as best known, as made."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from asmade.book.address import Address
from asmade.book.model import Build, Chosen, Dimension, Part, Reading
from asmade.book.sizes import read_size
from asmade.book.spreadsheet.writing import Row
from asmade.measure.errors import AsmadeError
from asmade.reckon.upnext import known_share
from asmade.reckon.values import SOURCES, Values, compute, last_made
from asmade.verbs.store import now

COLUMNS_WRITTEN: Final = (
    "part", "dimension", "drawn", "exact", "chosen", "best", "known from", "made", "kind", "process", "tool", "keep",
    "places", "reference", "material", "note",
)  # fmt: skip


def rows_of(build: Build) -> tuple[Row, ...]:
    """One row for each dimension, one more where the drawing states it again, one for each place that has its own say.

    A part with one place has all in one row. Where a part has several, chosen, best and made stand in the part's row
    if they are the same everywhere, else in a row for each place (``wheel@2L``).
    """
    values, made = compute(build), last_made(build)
    return tuple(
        row
        for part in build.design.parts.values()
        for dimension in part.dims.values()
        for row in _rows(build, values, made, part, dimension)
    )


def about(build: Build, path: Path) -> tuple[str, ...]:
    """What a printed list says of itself: which book, when, how much of it is made."""
    made, sizes = known_share(compute(build))
    return (
        f"{build.design.title}: {path.name} after entry {build.last_entry}, written {now()[:16].replace('T', ' ')}",
        f"{made} of {sizes} sizes made. A bare drawn figure is in {build.design.drawing_unit}.",
    )


def _rows(
    build: Build, values: Values, made: dict[Address, Reading], part: Part, dimension: Dimension
) -> Iterator[Row]:
    at_places = {
        place: _known(build, values, made, Address(part.name, place, dim=dimension.name), dimension)
        for place in part.places
    }
    alike = len({tuple(sorted(each.items(), key=str)) for each in at_places.values()}) == 1
    whole: dict[str, str | float | None] = {
        "part": part.name, "dimension": dimension.name, "drawn": dimension.drawn,
        "exact": _figure(dimension.drawn, dimension, build.design.drawing_unit), "kind": dimension.kind,
        "process": dimension.process, "tool": dimension.tool, "keep": dimension.keep, "places": " ".join(part.places),
        "reference": dimension.reference, "material": part.material, "note": dimension.note,
    }  # fmt: skip
    if alike:
        whole |= next(iter(at_places.values()))
    yield whole
    for statement in dimension.also:
        exact = _figure(statement.drawn, dimension, build.design.drawing_unit)
        again = {"part": part.name, "dimension": dimension.name, "drawn": statement.drawn, "exact": exact}
        yield {**again, "reference": statement.reference}
    for place, known in at_places.items():
        apart = dimension.drawn_at.get(place, "")
        if apart or not alike:
            exact = _figure(apart, dimension, build.design.drawing_unit)
            row = {"part": f"{part.name}@{place}", "dimension": dimension.name, "drawn": apart, "exact": exact}
            yield {**row, **known}


def _known(
    build: Build, values: Values, made: dict[Address, Reading], address: Address, dimension: Dimension
) -> dict[str, str | float | None]:
    """What is known of one size at one place: numbers in mm or degrees; a thread's are its callouts."""
    piece = build.piece_at(address)
    chosen: Chosen | None = build.chosen_for(address)
    if dimension.of_kind.thread:
        readings = [r.text for r in build.readings if r.piece == piece and r.stage != "on the way"]
        return {"chosen": chosen.size if chosen else None, "made": readings[-1] if readings else None}
    reading = made.get(piece)
    at = values.system.index.get(address)
    best = float(values.best[at]) if at is not None else math.nan
    return {
        "chosen": _figure(chosen.size, dimension, "mm") if chosen else None,
        "best": None if math.isnan(best) else _out(best, dimension),
        "known from": SOURCES[int(values.source[at])] if at is not None and not math.isnan(best) else "not known",
        "made": _out(reading.middle, dimension) if reading else None,
    }


def _figure(text: str, dimension: Dimension, unit: str) -> float | None:
    """A written size as a number; None for a thread, an empty text, or one that cannot be read (the check says why)."""
    if dimension.of_kind.thread:
        return None
    try:
        written = read_size(text, dimension, unit)
    except AsmadeError:
        return None
    return None if written is None else float(written.exact)


def _out(value: float, dimension: Dimension) -> float:
    return round(math.degrees(value) if dimension.of_kind.angle else value, 6) + 0.0
