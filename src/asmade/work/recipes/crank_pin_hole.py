"""The crank-pin hole of a wheel by a jig located in the bore: every wheel at one crank radius."""

from __future__ import annotations

import math
from dataclasses import replace

from asmade.work.recipes import reamed_hole
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "crank-pin hole by jig"
HELP = "all crank-pin holes by one jig from the bore"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter`` of the hole, ``radius`` (crank), ``bore`` of the wheel, ``depth``. Dims: hole, radius."""
    radius, bore = f.figures.get("radius", math.nan), f.figures.get("bore", math.nan)
    far = f"{radius:.3f}" if math.isfinite(radius) else "the crank radius"
    jig = bench.operation(
        f,
        "jig set",
        f"Jig: plate with a peg that fits the bore ({bore:.3f}, without shake) and a hardened bush {far} "
        "from it. Measure it "
        "before the first wheel: (inside + outside) / 2 over peg and a plug in the bush",
        "look",
        tool="jig, clamp",
        dims=f.dims[1:],
        makes=(f"{f.name} jig",),
        source=SOURCE,
        instrument=bench.instrument("length", radius),
        check=f"{far}, and square: a plug through the bush stands square on the back of the wheel",
        caution="",
    )
    inner = replace(f, needs=(*f.needs, f"{f.name} jig"), dims=f.dims[:1])
    made = list(reamed_hole.operations(inner, bench))
    kept = [op for op in made if op.process != "centred"]
    return (jig, *(replace(op, needs=tuple(n for n in op.needs if n != f"{f.name} centre")) for op in kept))
