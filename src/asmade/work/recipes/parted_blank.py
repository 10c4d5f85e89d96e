"""A piece parted from the bar with metal left to face, or a blank sawn to length first."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "parted blank"
HELP = "parted off with metal left for the second face"
SOURCE = "leave 0.3 to 0.5 mm to face: common practice, no source"
LEFT_MM = 0.4
BLADE_LONGEST = 8.0
"""Overhang of a parting blade to its width, past which it wanders: common practice, no source."""
PARTING_MOST_MM = 25.0
"""Diameter past which a light lathe parts badly: saw it instead. Common practice, no source."""


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``length`` finished, ``diameter`` of the bar there, ``bore``."""
    length, diameter = f.figures.get("length", math.nan), f.figures["diameter"]
    at = f"{length + LEFT_MM:.1f} from the faced end" if math.isfinite(length) else "with 0.4 over its length"
    if diameter > PARTING_MOST_MM:
        return (
            bench.operation(
                f,
                "sawn off",
                f"Saw off {at} (take it out of the chuck for it): {diameter:.0f} mm is much to part on a light lathe",
                "part",
                tool="hacksaw",
                left="0.4 mm and the saw's marks, faced in the next set-up",
                source=SOURCE,
                caution="sawing",
            ),
        )
    speed = bench.speed("lathe", "parting", diameter)
    blade = 1.5 if diameter <= 12 else 2.0 if diameter <= 20 else 2.5
    bore = f.figures.get("bore", 0.0)
    out = (diameter - bore) / 2 + 2
    long = (
        (f"a {blade:g} mm blade {out:.0f} mm out is over {BLADE_LONGEST:g} times its width: half way, then saw",)
        if out > BLADE_LONGEST * blade
        else ()
    )
    return (
        bench.operation(
            f,
            "parted",
            f"Part off {at}",
            "part",
            tool=f"parting tool {blade:g} wide, {out:.0f} out",
            left=f"{LEFT_MM:g} mm on the length, faced in the next set-up",
            source=SOURCE,
            caution="parting",
            **{
                **speed,
                **bench.feed("parting", min(diameter, 60.0)),
                "warnings": (*speed.get("warnings", ()), *long),
            },
        ),
    )
