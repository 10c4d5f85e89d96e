"""A hole square through a round, in a vee block, found by touching both sides."""

from __future__ import annotations

import math
from dataclasses import replace

from asmade.work.recipes import drilled_hole, reamed_hole, tapped_hole
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import RANKS, Feature, Operation

NAME = "cross hole"
HELP = "a hole square through a round part"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter``, ``depth`` (through), ``from_left``, ``round`` (the diameter it goes through)."""
    at, across = f.figures.get("from_left", math.nan), f.figures.get("round", math.nan)
    flat = 0.5 * (across - math.sqrt(max(0.0, across**2 - f.figures["diameter"] ** 2)))
    found = bench.operation(
        f,
        "found",
        "Touch both sides of the round with an edge finder and go to the middle"
        + (f"; then {at:.2f} from the left end" if math.isfinite(at) else "; its place along is not said"),
        "centre",
        tool="edge finder",
        makes=(f"{f.name} found",),
        source=SOURCE,
        check="the middle by two sides, not by eye: half a drill out shows",
        warnings=(
            (
                f"the drill meets a round that falls away {flat:.2f} mm: spot with a centre drill, or mill a "
                "small flat first"
            ),
        )
        if math.isfinite(flat) and flat > 0.15 * f.figures["diameter"]
        else (),
    )
    how = tapped_hole if f.callout else reamed_hole if f.words == "reamed" else drilled_hole
    inner = replace(f, needs=(*f.needs, f"{f.name} found"))
    # one hole is finished before the next is found: all its steps have one place in the trade's order
    return tuple(replace(op, rank=RANKS["cross"]) for op in (found, *how.operations(inner, bench)))
