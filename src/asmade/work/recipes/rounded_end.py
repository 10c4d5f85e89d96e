"""The round end of a rod or lever, about its own hole: on a rotary table, or to filing buttons."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "rounded end"
HELP = "a boss or rod end rounded about its hole"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter`` over the boss, ``hole``."""
    over, hole = f.figures["diameter"], f.figures.get("hole", math.nan)
    table = next((name for name, one in bench.shop.machines.items() if one.get("kind") == "rotary table"), "")
    pin = f"a pin of {hole:.2f} that fits the hole" if math.isfinite(hole) else "a pin that fits the hole"
    if table:
        words = f"Round {f.name} to {over:.2f} about {pin} in the middle of the {table}; stops at both ends of the arc"
    else:
        words = (
            f"Round {f.name} to {over:.2f}: file to two hardened buttons on {pin}, or mill in small steps and file to "
            "a scribed line"
        )
    return (
        bench.operation(
            f,
            "rounded",
            words,
            "mill",
            tool="end mill and stops" if table else "file, filing buttons",
            tool_kind="end mill" if table else "",
            dims=f.dims,
            caution="milling" if table else "",
            source=SOURCE,
            check=f"{over:.2f} over the boss, even all round the hole",
            instrument=bench.instrument("outside", over),
        ),
    )
