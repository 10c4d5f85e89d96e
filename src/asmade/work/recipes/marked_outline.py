"""The outline of a plate: marked out from a datum edge, sawn outside the line, filed or milled to it."""

from __future__ import annotations

import math
from dataclasses import replace

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "plate outline"
HELP = "an outline sawn and filed or milled to a line"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``length``, ``height``; ``together`` pieces at once."""
    length, height = f.figures.get("length", math.nan), f.figures.get("height", math.nan)
    together = int(f.figures.get("together", 1))
    size = " x ".join(f"{each:.2f}" if math.isfinite(each) else "?" for each in (length, height))
    start = "File or mill one long edge straight and one end square to it: all is measured from these"
    if together > 1:
        start = (
            f"Fasten {together} pieces together by two of their own holes, marked top, front and outside, and "
            f"{start[:1].lower()}{start[1:]}"
        )
    datum = bench.operation(
        f,
        "datum edge",
        start,
        "face",
        tool="file, square, straightedge",
        source=SOURCE,
        makes=("datum edges",),
        check="no light under a straightedge; square",
        caution="filing",
    )
    places = f"; {f.words}" if f.words else ""
    marked = bench.operation(
        f,
        "marked out",
        f"Mark out from the two datum edges: outline {size}, holes and openings{places}; dot-punch lightly",
        "centre",
        tool="height gauge, marking blue",
        needs=(*f.needs, "datum edges"),
        makes=("lines",),
        source=SOURCE,
        check="each hole measured from the next as well as from the edge",
        caution="",
        instrument=bench.instrument("length", length) if math.isfinite(length) else "",
    )
    last = replace(
        f.setup, name="3: edges", order=40, datum="the lines", alike=f"{f.setup.alike}|edges", locates_from=("lines",)
    )
    cut = bench.operation(
        replace(f, setup=last),
        "sawn to line",
        "With every hole and opening made while it was whole: saw 0.5 mm outside the lines, then mill or file to them; "
        "draw-file, break the edges",
        "mill",
        tool="saw, files",
        needs=(*f.needs, "lines"),
        dims=f.dims,
        source=SOURCE,
        caution="sawing",
        check=f"outline {size}",
        left="0.5 mm to the line, filed off",
    )
    return (datum, marked, cut)
