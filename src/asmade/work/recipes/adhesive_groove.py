"""A shallow groove in a seat that is bonded: a store of adhesive that cannot be wiped off as the piece goes on."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "groove for adhesive"
HELP = "a shallow groove in a bonded seat"
SOURCE = "common practice, no source; the product's data sheet goes before it"
DEEPEST_SHARE = 0.05
"""Depth to the seat's diameter past which the groove costs more strength than it stores adhesive (our limit)."""


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter`` at its bottom, ``width``, ``start`` (the seat's diameter), ``length`` of the seat."""
    bottom, width = f.figures.get("diameter", math.nan), f.figures.get("width", math.nan)
    seat, length = f.figures.get("start", math.nan), f.figures.get("length", math.nan)
    if not (math.isfinite(bottom) and math.isfinite(width) and math.isfinite(seat)):
        return (
            bench.operation(
                f,
                "grooved",
                f"Groove {f.name} for adhesive: its size is not known yet",
                "recess",
                dims=f.dims,
                warnings=(f"{f.name} has no size yet",),
            ),
        )
    depth = (seat - bottom) / 2
    warnings: tuple[str, ...] = ()
    if depth <= 0:
        warnings += (f"{bottom:.2f} at its bottom is no groove in a seat of {seat:.3f}",)
    elif depth > DEEPEST_SHARE * seat:
        lost = 100 * (1 - (bottom / seat) ** 3)
        warnings += (f"{depth:.2f} deep takes {lost:.0f} % of the seat's strength in twist: 0.1 to 0.2 is enough",)
    land = (length - width) / 2
    if math.isfinite(land) and land < width:
        warnings += (f"only {land:.2f} of land is left at each side: narrower, for the lands carry the joint",)
    where = f", its middle {length / 2:.2f} from the shoulder" if math.isfinite(length) else ", in the middle"
    dial = bench.dial("lathe", "cross_slide")
    reads = ""
    if dial is not None and depth > 0:
        reads = f" (dial {depth * (2 if dial.reads == 'diameter' else 1):.2f} from the touch)"
    return (
        bench.operation(
            f,
            "grooved",
            f"Groove the seat for adhesive: {width:.2f} wide, {depth:.2f} deep{where}: after the seat has its "
            f"size, touch on, zero the dial, feed straight in{reads}, no dwell; take the burr off with a strip of fine "
            "emery on a flat stick",
            "recess",
            tool=f"grooving tool {min(width, 2.0):.2f} wide, corners a little round",
            dims=f.dims,
            dial=dial.words if dial else "",
            source=SOURCE,
            caution="parting",
            check=f"the seat still measures {seat:.3f} on both sides of the groove; no burr to scrape adhesive off",
            instrument=bench.instrument("outside", seat),
            **{
                **bench.speed("lathe", "parting", seat),
                **bench.feed("parting", max(min(seat, 60.0), 1.0)),
                "warnings": warnings,
            },
        ),
    )
