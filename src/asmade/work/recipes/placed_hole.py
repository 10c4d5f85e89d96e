"""A hole at a place on a flat face: found by coordinates from a datum, then drilled, bored, reamed or tapped."""

from __future__ import annotations

import math
from dataclasses import replace

from asmade.work.passes import dial_reading
from asmade.work.recipes import bored_hole, drilled_hole, reamed_hole, tapped_hole
from asmade.work.recipes.bench import Bench, plain_name
from asmade.work.recipes.model import RANKS, Feature, Operation

NAME = "placed hole"
HELP = "a hole at coordinates on a flat face"
SOURCE = "common practice, no source"
PAST_MM = 1.0
_HOW = {"reamed": reamed_hole, "bored": bored_hole, "jig bored": bored_hole, "tapped": tapped_hole}


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: of the hole as its own recipe wants them, and ``x``, ``y`` from the datum; ``words``: the process."""
    said, warnings = [], []
    for axis in ("x", "y"):
        at = f.figures.get(axis, math.nan)
        if not math.isfinite(at):
            warnings.append(f"its place along {axis} is not said")
            continue
        dial = bench.dial(f.setup.machine, axis)
        reading = f" (dial: {dial_reading(dial, round(at, 6)).words})" if dial and at else ""
        said.append(f"{axis} {at:.3f}{reading}")
    place = bench.operation(
        f,
        "placed",
        f"Go to {' and '.join(said) or 'its place as marked out'} from {f.setup.datum}, "
        f"coming from {PAST_MM:g} mm before it, always the same way, so that backlash does not count",
        "centre",
        tool="edge finder, dials",
        makes=(f"{f.name} placed",),
        source=SOURCE,
        dims=tuple(d for d in f.dims[1:]),
        check="spot lightly, measure the place of the spot before drilling",
        instrument="",
        warnings=tuple(warnings),
    )
    if f.setup.machine == "lathe":
        place = replace(
            place,
            words=f"Set the marked middle of {plain_name(f.name)} to run true by a button or a plug in it "
            "and an indicator"
            + (f"; {' and '.join(said)} from {f.setup.datum}" if any(f.figures.get(a) for a in ("x", "y")) else ""),
            tool="button or plug, dial indicator",
            check="the indicator stands still over a turn; measure the button from both faces before drilling",
        )
    how = tapped_hole if f.callout else _HOW.get(f.words, drilled_hole)
    inner = replace(f, needs=(*f.needs, f"{f.name} placed"), dims=f.dims[:1])
    # one hole is finished before the table goes on to the next: all its steps have one place in the trade's order
    return tuple(replace(op, rank=RANKS["drill"]) for op in (place, *how.operations(inner, bench)))
