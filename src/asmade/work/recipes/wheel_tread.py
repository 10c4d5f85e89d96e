"""Tread and flange of a wheel, all wheels at one setting of the tool."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "wheel tread"
HELP = "tread, flange and their radius, all wheels at one setting"
SOURCE = "common practice, no source; profile as the society's standard for the gauge says"
CAST_OVER_MM = 3.0
"""On diameter, what a casting is assumed to have over its finished tread where nothing is said."""


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``tread``, ``flange`` (diameters), ``flange_thickness``, ``over`` (as cast, on diameter)."""
    tread, flange = f.figures["tread"], f.figures.get("flange", math.nan)
    over = f.figures.get("over", CAST_OVER_MM)
    made = []
    dial = bench.dial("lathe", "cross_slide")
    if math.isfinite(flange):
        passes, told = bench.cuts(flange + over, flange, diameter_mm=flange + over, finish_mm=0.1)
        speed = bench.speed("lathe", "turning", flange)
        made.append(
            bench.operation(
                f,
                "flange turned",
                f"Turn the flange to {flange:.2f} over its top",
                "rough",
                tool="knife tool",
                passes=passes,
                dims=tuple(d for d in f.dims if d == "flange" or d.endswith("flange_diameter")),
                dial=dial.words if dial else "",
                check=f"{flange:.2f} over the flange",
                instrument=bench.instrument("outside", flange),
                source=SOURCE,
                caution="turning",
                makes=(f"{f.name} flange",),
                **{**speed, **bench.feed("turning, roughing", flange), "warnings": (*speed.get("warnings", ()), *told)},
            )
        )
    passes, told = bench.cuts(tread + over, tread, diameter_mm=tread + over, finish_mm=0.15)
    speed = bench.speed("lathe", "turning", tread)
    thick = f.figures.get("flange_thickness", math.nan)
    up_to = f" up to {thick:.2f} from the back" if math.isfinite(thick) else " up to the flange"
    made.append(
        bench.operation(
            f,
            "turned",
            f"Turn the tread to {tread:.2f}{up_to}; leave the last cut until every wheel has come so far, "
            "then take it on all "
            "of them without touching the cross-slide",
            "turn",
            tool="knife tool",
            passes=passes,
            dims=tuple(d for d in f.dims if not (d == "flange" or d.endswith("flange_diameter"))),
            dial=dial.words if dial else "",
            check="all treads alike: the same dial, measured on each before it leaves the mandrel",
            source=SOURCE,
            caution="turning",
            instrument=bench.instrument("outside", tread),
            left="the last 0.15 on the radius, taken on all wheels at one setting",
            needs=(*f.needs, *((f"{f.name} flange",) if made else ())),
            **{**speed, **bench.feed("turning, finishing", tread), "warnings": (*speed.get("warnings", ()), *told)},
        )
    )
    made.append(
        bench.operation(
            f,
            "profiled",
            "Radius between tread and flange, round the flange, coning if the profile has it, chamfer "
            "outside: one form tool "
            "for all wheels",
            "chamfer",
            tool="form tool of the wheel profile, slow speed",
            needs=(*f.needs, *f.makes),
            makes=(f"{f.name} profile",),
            source=SOURCE,
            caution="turning",
            check="a gauge of the profile",
            **bench.speed("lathe", "parting", tread),
        )
    )
    return tuple(made)
