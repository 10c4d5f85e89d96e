"""The second face of a thin piece, on a mandrel turned where it stands."""

from __future__ import annotations

import math

from asmade.measure.errors import AsmadeError
from asmade.work.mandrels import plain_mandrel
from asmade.work.recipes import faced_end
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "thin spacer on a mandrel"
HELP = "a thin washer or spacer faced to thickness on its own mandrel"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``bore``, ``length`` (thickness), ``start``, ``diameter``."""
    bore, length = f.figures["bore"], f.figures.get("length", math.nan)
    warnings: tuple[str, ...] = ()
    try:
        found = plain_mandrel(bore, length)
        words = (
            f"Turn a stub where it stands to {found.least_mm:.3f} to {found.greatest_mm:.3f}, "
            f"{found.length_mm:.2f} long, with a "
            "shoulder faced true at the same setting and a nut; do not take it out of the chuck until "
            "all pieces are done"
        )
        check = f"each piece slides on without shake; it may run out {found.runout_mm:.3f}"
    except AsmadeError as fault:
        words = "Face a disc in the chuck and hold the piece on it with adhesive or double-sided tape"
        check = "the disc runs true"
        warnings = (f"{fault.message}; {fault.way_out}",)
    stub = bench.operation(
        f,
        "mandrel made",
        words,
        "look",
        tool="knife tool",
        makes=(f"{f.name} mandrel",),
        needs=(),
        check=check,
        warnings=warnings,
        source=SOURCE,
        caution="turning",
        **{k: v for k, v in bench.speed("lathe", "turning", bore).items() if k != "warnings"},
    )
    faced = faced_end.operations(f, bench)
    from dataclasses import replace  # noqa: PLC0415

    return (stub, *(replace(op, needs=(*op.needs, f"{f.name} mandrel")) for op in faced))
