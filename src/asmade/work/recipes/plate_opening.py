"""An opening or gap in a plate: its corners drilled, the middle sawn out, the edges milled or filed to the lines."""

from __future__ import annotations

import math
from dataclasses import replace

from asmade.work.recipes.bench import Bench, plain_name
from asmade.work.recipes.model import RANKS, Feature, Operation

NAME = "plate opening"
HELP = "an opening, or a gap open to an edge, sawn out and milled to its lines"
SOURCE = "common practice, no source"
LEFT_MM = 0.5
NARROW_MM = 10.0
"""Narrower than this a row of holes is drilled, for no saw goes in: common practice, no source."""
CUTTERS_MM = (3.0, 4.0, 6.0, 8.0, 10.0, 12.0)


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``width`` and ``height`` of it, ``depth`` of the plate (of all together), ``open`` 1: to an edge."""
    width, height = f.figures.get("width", math.nan), f.figures.get("height", math.nan)
    known = math.isfinite(width) and math.isfinite(height)
    size = f" {width:.2f} x {height:.2f}" if known else ""
    narrow = min(width, height) if known else 6.0
    cutter = max((each for each in CUTTERS_MM if each <= narrow - 1.0), default=CUTTERS_MM[0])
    gap = bool(f.figures.get("open", 0))
    plain = plain_name(f.name)
    what = f"the {plain}" if gap or "opening" in plain else f"the opening {plain}"
    roughed = (
        f"Drill a row of {max(narrow - 2 * LEFT_MM, 1.0):.1f} mm holes down the middle of {what}{size}, nearly "
        "touching, and break out what is left between them"
        if narrow < NARROW_MM
        else f"Drill inside the corners of {what}{size} and saw out between them, {LEFT_MM:g} inside the lines"
    )
    sawn = bench.operation(
        f,
        "sawn out",
        roughed,
        "drill",
        tool="drill, hacksaw or piercing saw",
        makes=(f"{f.name} sawn",),
        source=SOURCE,
        caution="drilling",
        left=f"{LEFT_MM:g} mm to the line, milled off",
        check="no saw cut past a line",
    )
    milled = bench.operation(
        f,
        "milled to line",
        f"Mill {what} to its lines, every edge from the same side of its slide's backlash; corners filed out where "
        "they must be sharp",
        "mill",
        tool=f"end mill {cutter:g} mm in a collet",
        tool_kind="end mill",
        needs=(*f.needs, f"{f.name} sawn"),
        dims=f.dims,
        source=SOURCE,
        caution="milling",
        check=(f"{width:.2f} x {height:.2f}" if known else "as drawn") + "; its middle measured from the datum edges",
        instrument=bench.instrument("inside", narrow),
        **{
            **bench.speed("mill", "milling", cutter),
            "warnings": bench.long_cutter(cutter, f.figures.get("depth", math.nan)),
        },
    )
    return tuple(replace(op, rank=RANKS["mill"]) for op in (sawn, milled))
