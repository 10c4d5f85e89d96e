"""The blank of a rod: sawn from bar that will not bend when its skin comes off, or a profile cut by laser or water."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "rod from bar or profile"
HELP = "a rod's blank sawn from bar, or its profile as delivered"
SOURCE = "common practice, no source"
PROFILES = ("laser cut", "water-jet cut", "plasma cut", "profile cut")
BRIGHT = ("bright",)


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``length`` over all finished, ``allowance`` in all. ``words``: of what, or how the profile was cut."""
    length, over = f.figures.get("length", math.nan), f.figures.get("allowance", 6.0)
    size = f"{length + over:.1f} long" if math.isfinite(length) else f"to its length and {over:g} over"
    if f.words in PROFILES:
        hard = " The cut edge is hard from the heat: file or grind its skin off before a cutter meets it." if (
            f.words in ("laser cut", "plasma cut")
        ) else ""  # fmt: skip
        return (
            bench.operation(
                f,
                "profile looked at",
                f"Look over the profile as delivered ({f.words}): flat on the surface plate within 0.1, "
                "allowance all round on every edge that is machined, eyes under size for drilling and reaming." + hard,
                "look",
                tool="surface plate, caliper, file",
                source=SOURCE,
                check="its eyes lie where they belong within the metal left round them; stamp it now",
                instrument=bench.instrument("length", length),
                left=f"{over / 2:g} mm at each end",
                caution="",
            ),
        )
    bright = any(word in bench.part.material.lower() for word in BRIGHT)
    warning = (
        "bright drawn bar holds strain in its skin and bends when one side is milled: black or normalised bar is "
        "safer; else a little off each face in turn, and look at it on the surface plate between"
    )
    return (
        bench.operation(
            f,
            "sawn",
            f"Saw a blank {size} {f.words}".rstrip(),
            "saw",
            tool="saw",
            left=f"{over:g} mm on the length, taken off when the ends are rounded",
            source=SOURCE,
            caution="sawing",
            check="straight on the surface plate; stamp or mark it now, where nothing is cut later",
            warnings=(warning,) if bright else (),
        ),
    )
