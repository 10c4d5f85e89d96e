"""A drilled hole: good enough for a clearance hole or a bolt, not for a journal."""

from __future__ import annotations

import math
from dataclasses import replace

from asmade.work.recipes import _holes
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "drilled hole"
HELP = "a hole by a drill alone"
SOURCE = _holes.SOURCE


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter``, ``depth``, ``through``."""
    hole = f.figures["diameter"]
    if not math.isfinite(hole):
        return (
            bench.operation(
                f,
                "drilled",
                f"Drill the {f.name}: its size is not known yet",
                "drill",
                dims=f.dims,
                warnings=(f"{f.name} has no size yet",),
            ),
        )
    found, why = _holes.ladder_of(f, bench, "drilled")
    if found is None:
        return (
            bench.operation(
                f,
                "drilled",
                f"Open the {f.name} to {hole:.2f}, {_holes.depth_words(f)}",
                "drill",
                dims=f.dims,
                warnings=(why,),
                caution="drilling",
            ),
        )
    steps = tuple((rung.why, rung.size_mm) for rung in found.rungs if rung.tool == "drill")
    made = list(_holes.drilled(f, bench, steps, warnings=found.warnings, last_makes=f.makes))
    made[-1] = replace(made[-1], dims=f.dims, instrument=bench.instrument("inside", hole))
    return tuple(made)
