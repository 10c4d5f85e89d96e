"""A faced end: the first, cleaned up; the second, faced to length."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "faced end"
HELP = "an end faced square, or faced to length"
SOURCE = "common practice, no source"
FIRST_MM = 0.5


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter``; ``start`` and ``length`` (from the far end) where it is faced to length."""
    diameter, start = f.figures["diameter"], f.figures.get("start", math.nan)
    length = f.figures.get("length", math.nan)
    to_length = math.isfinite(length)
    passes, told = bench.cuts(start, start, diameter_mm=diameter)
    if to_length:
        passes, told = bench.cuts(start, length, diameter_mm=diameter, dial="top_slide", face=True, finish_mm=0.2)
        words = f"Face to {length:.2f} {f.words or 'long'}"
        left, check = "", f"{f.words or 'length'} {length:.2f}, from the other faced end"
    elif f.dims:
        words = f"Face to the size of {f.dims[0]}: it is not known yet, measure what it must suit"
        left, check = "", f.dims[0]
    else:
        words = "Face clean, no more than it needs" + (f" ({f.words})" if f.words else "")
        left, check = "", "no pip, no step at the middle; square by the tool's own travel"
    speed = bench.speed("lathe", "facing", diameter)
    dial = bench.dial("lathe", "top_slide")
    return (
        bench.operation(
            f,
            "faced",
            words,
            "face",
            tool="facing tool on centre height",
            passes=passes,
            face=True,
            left=left,
            dims=f.dims,
            check=check,
            instrument=bench.instrument("length", length) if to_length else "",
            dial=dial.words if dial and to_length else "",
            source=SOURCE,
            **{**speed, **bench.feed("facing", diameter), "warnings": (*speed.get("warnings", ()), *told)},
            caution="facing",
        ),
    )
