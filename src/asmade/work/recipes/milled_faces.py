"""Two faces milled to a size between them: the first clean, the second to size."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation
from asmade.work.speeds import feed, table_feed_mm_min

NAME = "milled faces"
HELP = "a length, width, height or thickness between two milled faces"
SOURCE = "common practice, no source"
TEETH = 4


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``size``, ``start`` (NaN: as sawn); ``cutter`` in mm; ``first`` 1: a clean face only."""
    size, start = f.figures.get("size", math.nan), f.figures.get("start", math.nan)
    cutter = f.figures.get("cutter", 12.0)
    speed = bench.speed("mill", "milling", cutter)
    dial = bench.dial("mill", "z")
    both = bool(f.figures.get("both", 0))
    first = bool(f.figures.get("first", 0))
    passes, told = (
        (None, ())
        if first
        else bench.cuts(start, size, diameter_mm=cutter, kind="mill", dial="z", face=not both, finish_mm=0.2)
    )
    way = feed("milling", cutter)
    if speed.get("rev_min"):
        low, high = (table_feed_mm_min(each, TEETH, speed["rev_min"]) for each in (way.low_mm, way.high_mm))
        speed["feed_words"] = f"{low:.0f} to {high:.0f} mm a minute ({TEETH} teeth)"
    if first:
        words = f"Mill {f.words or 'the first face'} clean, no more than it needs"
    elif math.isfinite(size):
        words = f"Mill {f.words or f.name} to {size:.3f}"
    else:
        words = f"Mill {f.words or f.name}: its size is not known yet; measure what it must suit"
    suits = [bench.to_suit[name] for name in f.dims if name in bench.to_suit]
    return (
        bench.operation(
            f,
            "milled",
            words,
            "face" if first else "mill",
            tool=f"end mill {cutter:g} mm in a collet",
            tool_kind="end mill",
            passes=passes,
            face=not both,
            dims=f.dims,
            dial=dial.words if dial else "",
            caution="milling",
            source=SOURCE,
            check="" if first else f"{size:.3f} at four corners" + (f"; made to suit {suits[0]}" if suits else ""),
            instrument="" if first else bench.instrument("outside", size),
            left="0.2 mm, until it has been measured" if passes and len(passes.cuts) > 1 else "",
            **{**speed, "warnings": (*speed.get("warnings", ()), *told)},
        ),
    )
