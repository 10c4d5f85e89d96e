"""A turned diameter up to a shoulder: roughed, measured, and the rest taken as measured."""

from __future__ import annotations

import math

from asmade.work.deflection import holding
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "turned shoulder"
HELP = "an outside diameter turned to a shoulder or along the whole"
SOURCE = "common practice, no source; force Kienzle, deflection Shigley"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``start``, ``diameter``, ``length`` from the free end, ``out`` (how far the work stands out).

    ``centre`` above 0: a centre supports the free end. ``to`` names the finish wanted: a thread wants its diameter a
    little under.
    """
    start, target = f.figures["start"], f.figures["diameter"]
    length, out = f.figures.get("length", math.nan), f.figures.get("out", math.nan)
    if not math.isfinite(target):
        return (
            bench.operation(
                f,
                "turned",
                f"Turn {f.name}: its size is not known yet; measure what it must suit, then ask for its aim",
                "turn",
                dims=f.dims,
                tool="knife tool",
                source=SOURCE,
                caution="turning",
                warnings=(f"{f.dims[0] if f.dims else f.name} has no size yet",),
            ),
        )
    warnings: tuple[str, ...] = ()
    passes = None
    if math.isfinite(start) and start < target - 0.005:
        warnings = (f"the bar is {start:.2f}, smaller than the {target:.3f} wanted: a larger bar",)
    elif math.isfinite(start):
        way = holding("chuck and centre" if f.figures.get("centre", 0) > 0 else "chuck only")
        reach = length if math.isfinite(length) else out
        passes, warnings = bench.cuts(
            start,
            target,
            diameter_mm=start,
            held=way,
            out_mm=max(reach, 0.1) if math.isfinite(reach) else 0.0,
            stiff_mm=target,
            bore_mm=f.figures.get("bore", 0.0),
        )
    dial = bench.dial("lathe", "cross_slide")
    along = f", {length:.2f} long" if math.isfinite(length) else ""
    speed = bench.speed("lathe", "turning", start if math.isfinite(start) and start > target else target)
    shoulder = "; shoulder by the saddle stop, last 0.1 mm by the topslide" if f.figures.get("shoulder", 0) else ""
    suits = [bench.to_suit[name] for name in f.dims if name in bench.to_suit]
    if f.figures.get("sticking", 0) > 0:
        warnings += ("the tool must reach between shoulders: a narrow tool, fed in side by side",)
    if not math.isfinite(start):
        words = (
            f"Turn {f.name} to {target:.3f}{along}{shoulder}, from what it measures: under the skin first, then as for "
        )
        words += "any shaft, the last cut after measuring" + (f"; {f.words}" if f.words else "")
    elif passes is None and not warnings:
        words = (
            f"{f.name}: nothing to turn off, {start:.2f} is the size; measure, clean with fine emery on a flat stick"
        )
    else:
        words = f"Turn {f.name} to {target:.3f}{along}{shoulder}" + (f"; {f.words}" if f.words else "")
    return (
        bench.operation(
            f,
            "turned",
            words,
            "turn",
            tool="knife tool" if not f.figures.get("sticking") else "grooving tool",
            passes=passes,
            dims=f.dims,
            dial=dial.words if dial else "",
            left="0.2 mm on diameter, until it has been measured" if passes and len(passes.cuts) > 1 else "",
            check=f"{f.name} {target:.3f} at both ends of it and twice round"
            + (f"; made to suit {suits[0]}" if suits else ""),
            instrument=bench.instrument("outside", target),
            source=SOURCE,
            caution="turning",
            **{
                **speed,
                **bench.feed("turning, finishing", target),
                "warnings": (*speed.get("warnings", ()), *warnings),
            },
        ),
    )
