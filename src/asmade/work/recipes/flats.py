"""Flats on round bar: hexagon, square or two flats, by depth per flat from the round as measured."""

from __future__ import annotations

import math

from asmade.measure.errors import AsmadeError
from asmade.work.flats import flats_on_bar
from asmade.work.indexing import plain
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "flats from round"
HELP = "square, hexagon or two flats milled from round"
SOURCE = "geometry; Machinery's Handbook (across corners)"


def _indexed(count: int, bench: Bench) -> str:
    """How the shop's dividing head is turned from flat to flat; empty where it has none, or no circle for it."""
    head = bench.machine("dividing head")
    if head is None or head.ratio is None:
        return ""
    moves = plain(head.ratio, count, head.circles)
    return f" ({moves[0].words} of the crank, {head.ratio}:1)" if moves else ""


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``count`` of flats, ``across``, ``bar`` (round they are cut on), ``length``."""
    count, across, bar = int(f.figures["count"]), f.figures["across"], f.figures.get("bar", math.nan)
    try:
        found = flats_on_bar(count, across, bar if math.isfinite(bar) else None)
    except AsmadeError as fault:
        return (
            bench.operation(
                f,
                "flats milled",
                f"Mill {count} flats {across:.2f} across",
                "mill",
                dims=f.dims,
                warnings=(f"{fault.message}; {fault.way_out}",),
                source=SOURCE,
            ),
        )
    cutter = 12.0
    speed = bench.speed("mill", "milling", cutter)
    dial = bench.dial("mill", "z")
    passes, told = bench.cuts(found.bar_mm, across, diameter_mm=cutter, kind="mill", dial="z")
    warnings = (
        ()
        if found.sharp or count == 2
        else (
            (
                f"on {found.bar_mm:.2f} round the corners stay {found.corners_mm:.2f} over and round; sharp "
                f"ones want {found.least_bar_mm:.2f}"
            ),
        )
    )
    return (
        bench.operation(
            f,
            "flats milled",
            f"Mill {count} flats {across:.2f} across: {found.depth_mm:.3f} deep from the top of the round, "
            f"each {found.flat_width_mm:.2f} wide; turn {found.turn_deg:g} degrees between{_indexed(count, bench)}. "
            "Opposite pairs at one depth, measure the first pair, then all the rest",
            "mill",
            tool=f"end mill {cutter:g} mm in a collet",
            tool_kind="end mill",
            passes=passes,
            dims=f.dims,
            dial=dial.words if dial else "",
            caution="milling",
            source=SOURCE,
            check=f"{across:.3f} across each pair",
            instrument=bench.instrument("outside", across),
            left="0.2 mm a flat, until the first pair has been measured" if passes else "",
            **{**speed, "warnings": (*speed.get("warnings", ()), *told, *warnings)},
        ),
    )
