"""The two axleboxes of an axle as a pair: marked together, stepped behind the flange alike, bored at one setting."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.milled_faces import TEETH
from asmade.work.recipes.model import Feature, Operation
from asmade.work.speeds import feed, table_feed_mm_min

NAME = "axlebox pair"
HELP = "both boxes of an axle marked and stepped as a pair"
SOURCE = "common practice, no source"
CUTTER_MM = 10.0


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``size`` of the flange, ``across`` the box, ``start`` (flange and step before the cut)."""
    size, across = f.figures.get("size", math.nan), f.figures.get("across", math.nan)
    mirrored = bench.part.hand == "mirrored"
    paired = bench.operation(
        f,
        "paired",
        "Lay out both boxes of the axle side by side as they will stand: top, outside and side stamped on each"
        + (", one the mirror image of the other" if mirrored else "")
        + ". From here on they stay a pair",
        "look",
        tool="letter stamps",
        makes=(f"{f.name} paired",),
        source=SOURCE,
        check="read the marks aloud with the drawing beside: outside is where the flange is",
        caution="",
    )
    speed = bench.speed("mill", "milling", CUTTER_MM)
    if speed.get("rev_min"):
        way = feed("milling", CUTTER_MM)
        low, high = (table_feed_mm_min(each, TEETH, speed["rev_min"]) for each in (way.low_mm, way.high_mm))
        speed["feed_words"] = f"{low:.0f} to {high:.0f} mm a minute ({TEETH} teeth)"
    start = f.figures.get("start", math.nan)
    passes, told = bench.cuts(start, size, diameter_mm=CUTTER_MM, kind="mill", dial="z", face=True, finish_mm=0.2)
    dial = bench.dial("mill", "z")
    if math.isfinite(size):
        words = "Mill the step behind the flange, front and back of each box at one height of the cutter, to leave "
        words += f"{size:.3f} of flange" + (f" on {across:.2f}" if math.isfinite(across) else "")
    else:
        words = "Mill the step behind the flange: its size is not known yet"
    suits = [bench.to_suit[name] for name in f.dims if name in bench.to_suit]
    stepped = bench.operation(
        f,
        "milled",
        words,
        "mill",
        tool=f"end mill {CUTTER_MM:g} mm in a collet",
        tool_kind="end mill",
        needs=(*f.needs, f"{f.name} paired"),
        passes=passes,
        face=True,
        dims=f.dims,
        dial=dial.words if dial else "",
        caution="milling",
        source=SOURCE,
        check=(f"{size:.3f} on all four flanges" if math.isfinite(size) else "all four flanges alike")
        + "; the same height front and back, or the box stands askew in its horn"
        + (f"; made to suit {suits[0]}" if suits else ""),
        instrument=bench.instrument("outside", size),
        left="0.2 mm, until it has been measured" if passes and len(passes.cuts) > 1 else "",
        **{**speed, "warnings": (*speed.get("warnings", ()), *told)},
    )
    return (paired, stepped)
