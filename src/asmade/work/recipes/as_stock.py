"""A diameter left as the bar was bought: measured before anything is made to suit it."""

from __future__ import annotations

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "as-stock diameter"
HELP = "the bar as bought: chosen, measured, kept clean of the jaws"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter`` wanted."""
    diameter = f.figures["diameter"]
    return (
        bench.operation(
            f,
            "as bought",
            f"Measure the bar at three places, two ways each: {diameter:.2f} is wanted. Write it down: "
            "what runs on it is made to it",
            "look",
            dims=f.dims,
            tool="",
            needs=(),
            check=f"{f.name} {diameter:.3f} as bought, round and not worn by jaws",
            instrument=bench.instrument("outside", diameter),
            source=SOURCE,
        ),
    )
