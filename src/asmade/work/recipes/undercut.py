"""An undercut against a shoulder, so that a mate seats or a thread runs out."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "undercut"
HELP = "a groove against a shoulder"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter`` at its bottom, ``width``, ``start`` (diameter before it)."""
    bottom, width, start = f.figures["diameter"], f.figures["width"], f.figures.get("start", math.nan)
    if not (math.isfinite(bottom) and math.isfinite(width)):
        return (
            bench.operation(
                f,
                "undercut",
                f"Undercut {f.name}: its size is not known yet",
                "recess",
                dims=f.dims,
                warnings=(f"{f.name} has no size yet",),
            ),
        )
    speed = bench.speed("lathe", "parting", start if math.isfinite(start) else bottom)
    deep = f"{(start - bottom) / 2:.2f} deep" if math.isfinite(start) else ""
    dial = bench.dial("lathe", "cross_slide")
    return (
        bench.operation(
            f,
            "undercut",
            f"Undercut to {bottom:.2f}, {width:.2f} wide {deep}: touch on, zero the dial, feed straight in",
            "recess",
            tool=f"grooving tool, {min(width, 2.0):.2f} wide, corners a little round",
            dims=f.dims,
            source=SOURCE,
            caution="parting",
            dial=dial.words if dial else "",
            check="the shoulder is square and clean",
            **{**speed, **bench.feed("parting", bottom)},
        ),
    )
