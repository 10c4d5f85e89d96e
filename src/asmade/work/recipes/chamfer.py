"""A chamfer, or an edge merely broken."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "chamfer"
HELP = "a chamfer or a broken edge"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``size`` of it (NaN: only broken), ``diameter`` where it is."""
    size, diameter = f.figures.get("size", math.nan), f.figures.get("diameter", math.nan)
    words = f"Chamfer {size:.2f} at 45 degrees" if math.isfinite(size) else "Break the edges by 0.1 to 0.2, no more"
    return (
        bench.operation(
            f,
            "chamfered" if math.isfinite(size) else "edges broken",
            words,
            "chamfer",
            dims=f.dims,
            tool="chamfering tool or the corner of a knife tool"
            if math.isfinite(size)
            else "fine file with a handle, or the tool's corner",
            source=SOURCE,
            check="even all round, no burr behind it" if math.isfinite(size) else "no edge cuts a finger nail",
            caution="turning" if math.isfinite(size) else "filing in the lathe",
            **bench.speed("lathe", "turning", diameter),
        ),
    )
