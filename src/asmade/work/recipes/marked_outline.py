"""The outline of a plate: marked out from a datum edge, sawn outside the line, filed or milled to it."""

from __future__ import annotations

import math

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
    pair = (
        f"{together} pieces fastened together by two of their own holes, marked top, front and outside, "
        if together > 1
        else ""
    )
    datum = bench.operation(
        f,
        "datum edge",
        f"{pair}File or mill one long edge straight and one end square to it: all is measured from these",
        "face",
        tool="file, square, straightedge",
        source=SOURCE,
        makes=("datum edges",),
        check="no light under a straightedge; square",
        caution="",
    )
    marked = bench.operation(
        f,
        "marked out",
        f"Mark out from the two datum edges: outline {size}, holes and openings; dot-punch lightly",
        "centre",
        tool="height gauge, marking blue",
        needs=(*f.needs, "datum edges"),
        makes=("lines",),
        source=SOURCE,
        check="each hole measured from the next as well as from the edge",
        caution="",
        instrument=bench.instrument("length", length) if math.isfinite(length) else "",
    )
    cut = bench.operation(
        f,
        "sawn to line",
        "Saw 0.5 mm outside the lines, then mill or file to them; draw-file, break the edges",
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
