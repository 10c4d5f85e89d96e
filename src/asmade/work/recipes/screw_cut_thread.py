"""A thread cut by a single point, the change gears from the shop's own set."""

from __future__ import annotations

import math

from asmade.measure.errors import AsmadeError
from asmade.standards.threads import thread
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "screw-cut thread"
HELP = "a thread by a single point and change gears"
SOURCE = "thread from the tables of its series; infeeds common practice, no source"
FIRST_MM = 0.1


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """``callout`` says the thread; figures: ``length`` of it."""
    try:
        found = thread(f.callout)
    except AsmadeError as fault:
        return (
            bench.operation(
                f,
                "screw-cut",
                f"Thread {f.name} {f.callout}",
                "thread",
                dims=f.dims,
                source=SOURCE,
                warnings=(f"{fault.message}; {fault.way_out}",),
            ),
        )
    pitch, depth = float(found.pitch), found.depth_mm
    count = max(4, math.ceil((depth / FIRST_MM) ** 2))
    depths = tuple(depth * math.sqrt((k + 1) / count) for k in range(count))
    dial = bench.dial("lathe", "cross_slide")
    speed = bench.speed("lathe", "screw-cutting", found.major_mm)
    return (
        bench.operation(
            f,
            "screw-cut",
            f"Cut {found.designation}, pitch {pitch:.4g}, in {count} cuts to {depth:.3f} on the radius, each "
            "taking as much metal as the last; then a cut without infeed",
            "thread",
            dims=f.dims,
            source=SOURCE,
            tool=f"single point, {found.form.name}"
            if hasattr(found.form, "name")
            else "single point to the thread's angle",
            depths_mm=depths,
            dial=dial.words if dial else "",
            caution="screw-cutting",
            check="its own tapped part or a gauge goes on without shake",
            **speed,
        ),
    )
