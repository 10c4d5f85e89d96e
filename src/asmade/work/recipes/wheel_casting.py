"""A wheel casting measured before the first cut: what there is to take off, in front and behind."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "wheel casting looked at"
HELP = "a wheel casting measured and shared out before the first cut"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``width`` finished over the boss, ``tread`` finished, ``back`` allowance (NaN: not said)."""
    width, back = f.figures.get("width", math.nan), f.figures.get("back", math.nan)
    said = f"; {back:.2f} is allowed on the back" if math.isfinite(back) else ""
    finished = f" (finished {width:.2f})" if math.isfinite(width) else ""
    return (
        bench.operation(
            f,
            "looked at",
            f"Measure the casting over boss and rim{finished}, spokes to both faces, tread and flange; share out "
            f"front and back so that the spokes stay in the middle of the rim{said}. Write down what "
            "comes off the back",
            "look",
            tool="file for flash and sand",
            needs=(),
            dims=(),
            source=SOURCE,
            instrument=bench.instrument("outside", width),
            check="no blow hole or chill where the tread and boss will be; a file that slides has found hard skin",
            warnings=("too much off the back first cuts into the spokes and the casting is lost",),
            caution="",
        ),
    )
