"""A bored hole: drilled, then bored to size; true to the axis and of any size."""

from __future__ import annotations

import math
from dataclasses import replace

from asmade.work.recipes import _holes
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "bored hole"
HELP = "drilled, then bored to size"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter``, ``depth``, ``through``; ``cored``: size of a hole that is cast in, 0 for none."""
    hole, kind = f.figures["diameter"], f.setup.machine
    depth = f.figures.get("depth", math.nan)
    if not math.isfinite(hole):
        return (
            bench.operation(
                f,
                "bored",
                f"Bore the {f.name}: its size is not known yet",
                "bore",
                dims=f.dims,
                warnings=(f"{f.name} has no size yet",),
            ),
        )
    made: list[Operation] = []
    start, needs = f.figures.get("cored", 0.0), f.needs
    warnings: tuple[str, ...] = ()
    if not start:
        found, why = _holes.ladder_of(f, bench, "bored")
        if found is None:
            warnings = (why,)
            start = math.nan
        else:
            steps = tuple((r.why, r.size_mm) for r in found.rungs if r.tool == "drill")
            start = steps[-1][1]
            made += _holes.drilled(
                f, bench, steps, left=f"{hole - start:.2f} on diameter to bore", last_makes=(f"{f.name} drilled",)
            )
            needs = (*f.needs, f"{f.name} drilled")
    passes, told = bench.cuts(start, hole, diameter_mm=hole, kind=kind, finish_mm=0.15)
    speed = bench.speed(kind, "boring", hole)
    dial = bench.dial(kind, "cross_slide")
    dim = f.dims[0] if f.dims else ""
    suits = bench.to_suit.get(dim, "")
    made.append(
        bench.operation(
            f,
            "bored",
            f"Bore the {f.name} to {hole:.3f}, {_holes.depth_words(f)}; two spring cuts at the last setting",
            "bore",
            tool="boring tool, as thick and short as will go in",
            passes=passes,
            needs=needs,
            dims=f.dims,
            check=f"{hole:.3f}, two ways at both ends" + (f"; made to suit {suits}" if suits else ""),
            instrument=bench.instrument("inside", hole),
            dial=dial.words if dial else "",
            caution="boring",
            source=SOURCE,
            left="0.15 mm on the radius, until it has been measured" if passes else "",
            **{
                **speed,
                **bench.feed("boring", hole),
                "warnings": (*speed.get("warnings", ()), *warnings, *told, *bench.boring_bar(hole, depth)),
            },
        )
    )
    joint = bench.after_joint.get(dim, "")
    if joint:
        made[-1] = replace(made[-1], warnings=(*made[-1].warnings, f'"{joint}" changes it: measure it again after'))
    return tuple(made)
