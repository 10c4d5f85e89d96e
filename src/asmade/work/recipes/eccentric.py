"""A bore out of the middle on purpose: packing under one jaw, the run-out read on an indicator."""

from __future__ import annotations

from asmade.measure.errors import AsmadeError
from asmade.work.packing import for_offset
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "eccentric setting"
HELP = "an eccentric bush set over in a three-jaw chuck"
SOURCE = "geometry of three jaws; the rule of 1.5 common practice"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``offset``, ``diameter`` of the round that is held."""
    offset, diameter = f.figures["offset"], f.figures["diameter"]
    try:
        found = for_offset(offset, diameter)
        words = (
            f"Set {offset:.3f} out of the middle: packing {found.narrow_jaws_mm:.3f} under one narrow jaw, "
            f"{found.flat_jaws_mm:.3f} under a flat one. The indicator must read {found.indicator_mm:.3f} over a turn; "
            "mark the high side"
        )
        warnings: tuple[str, ...] = ()
    except AsmadeError as fault:
        words, warnings = (
            f"Set {offset:.3f} out of the middle in the four-jaw chuck; the indicator reads {2 * offset:.3f}",
            (f"{fault.message}; {fault.way_out}",),
        )
    return (
        bench.operation(
            f,
            "set over",
            words,
            "look",
            tool="packing ground or filed to size",
            dims=f.dims,
            source=SOURCE,
            check=f"indicator {2 * offset:.3f} over a turn: twice the offset",
            instrument="dial indicator",
            warnings=warnings,
        ),
    )
