"""A blank sawn from bar, strip, plate or sheet before the first set-up."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "sawn blank"
HELP = "sawn from stock with metal left all over"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``length`` finished, ``allowance`` in all; ``words`` says from what."""
    length, over = f.figures.get("length", math.nan), f.figures.get("allowance", 2.0)
    size = f"{length + over:.1f} long" if math.isfinite(length) else "to its length and 2 over"
    return (
        bench.operation(
            f,
            "sawn",
            f"Saw a blank {size} {f.words}".rstrip(),
            "saw",
            tool="saw",
            left=f"{over:g} mm on the length, faced off",
            source=SOURCE,
            caution="sawing",
            dims=f.dims,
            check="stamp or mark it now, where nothing is cut later",
        ),
    )
