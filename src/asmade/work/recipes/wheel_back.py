"""The back of a wheel: rim and boss faced in one plane, the datum of all that follows."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import FINISHING_MM, Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "wheel back"
HELP = "rim and boss faced flush at the back"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter`` over the flange as cast, ``back`` allowance (NaN: as measured)."""
    diameter, back = f.figures["diameter"], f.figures.get("back", math.nan)
    speed = bench.speed("lathe", "facing", diameter)
    dial = bench.dial("lathe", "top_slide")
    much = f"{back:.2f}" if math.isfinite(back) else "what was written down"
    return (
        bench.operation(
            f,
            "faced",
            "Face rim and boss flush at the back: first cut under the skin (0.5 or more), then down to "
            f"{much} off; the last "
            f"{FINISHING_MM:g} at one setting over both, saddle locked",
            "face",
            tool="facing tool with a strong corner",
            face=True,
            dims=f.dims,
            dial=dial.words if dial else "",
            caution="facing",
            source=SOURCE,
            check="a straightedge over boss and rim shows no light",
            left=f"{FINISHING_MM:g} mm for the last cut over both",
            **{**speed, **bench.feed("facing", min(diameter, 250.0))},
        ),
    )
