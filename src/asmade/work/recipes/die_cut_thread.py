"""A thread cut by a die in its holder, on a diameter turned a little under the major one."""

from __future__ import annotations

import math

from asmade.measure.errors import AsmadeError
from asmade.standards.threads import thread
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "die-cut thread"
HELP = "a thread by a die held square"
SOURCE = "thread from the tables of its series; a tenth of the pitch under common practice, no source"
UNDER_SHARE = 0.1
"""The blank is turned under the major diameter by this share of the pitch, for a die raises metal."""


def blank_mm(callout: str) -> float:
    """Diameter to which the blank of a die-cut thread is turned, mm; NaN where the thread is not known.

    Source: major diameter of the thread's table, a tenth of the pitch under: common practice, no source.
    Range: threads of the tables. Anchor: M5 (5 mm, pitch 0.8): 4.92 mm.
    """
    try:
        found = thread(callout)
    except AsmadeError:
        return math.nan
    return found.major_mm - UNDER_SHARE * float(found.pitch)


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """``callout`` says the thread; figures: ``length`` of it."""
    try:
        found = thread(f.callout)
    except AsmadeError as fault:
        return (
            bench.operation(
                f,
                "die-cut",
                f"Thread {f.name} {f.callout}",
                "thread",
                dims=f.dims,
                source=SOURCE,
                warnings=(f"{fault.message}; {fault.way_out}",),
            ),
        )
    length = f.figures.get("length", math.nan)
    along = f"{length:.1f} long" if math.isfinite(length) else "as long as it must be (not said)"
    speed = bench.speed("lathe", "die-cutting", found.major_mm)
    speed["speed_words"] = "spindle turned by hand; slowest speed at most"
    speed.pop("rev_min", None)
    return (
        bench.operation(
            f,
            "die-cut",
            f"Chamfer the end to {found.core_mm:.2f}, then cut {found.designation}, {along}: die opened for "
            "the first cut, holder square against the tailstock, back off each half turn, oil; close and cut again",
            "thread",
            tool=f"die {found.designation} in a tailstock holder",
            dims=f.dims,
            source=SOURCE,
            check="a nut or its own tapped part goes on by the fingers without shake; over the crests "
            f"{found.major_mm:.2f} at most",
            instrument=bench.instrument("outside", found.major_mm),
            left="",
            caution="",
            **speed,
        ),
    )
