"""A pair of slide bars: ground faces kept, both drilled together, packed apart to the crosshead as made."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "slide bar"
HELP = "upper and lower bar of one side, made together and packed to the crosshead"
SOURCE = "common practice, no source"
PARALLEL_MM = 0.02


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``gap`` between the bars as fixed, ``length``, ``width``. Dims: the gap."""
    gap, length = f.figures.get("gap", math.nan), f.figures.get("length", math.nan)
    suits = [bench.to_suit[name] for name in f.dims if name in bench.to_suit]
    known = math.isfinite(gap)
    long = f" of {length:.1f}" if math.isfinite(length) else ""
    stoned = bench.operation(
        f,
        "stoned",
        f"Lay both bars{long} on the surface plate, each face in turn: a strip of paper is held at both ends. One that "
        "is bent is changed, not straightened by grinding. Stone the edges, leave the ground faces alone; mark upper "
        "and lower, front, and the faces that the crosshead runs on",
        "look",
        tool="surface plate, slip stone, paper",
        makes=(f"{f.name} faces",),
        source=SOURCE,
        check="no bar rocks; no burr to be felt with a finger nail",
        caution="",
    )
    drilled = bench.operation(
        f,
        "drilled together",
        "Clamp upper and lower bar together, running faces inwards, ends against one stop, and drill their fixing "
        "holes through both at one setting; countersink clear of the running faces",
        "drill",
        tool="drill by the screw's clearance, clamp",
        needs=(*f.needs, f"{f.name} faces"),
        makes=(f"{f.name} holes",),
        source=SOURCE,
        caution="drilling",
        check="the holes of one fall on those of the other turned end for end only if you mean them to: mark them",
    )
    apart = f"{gap:.3f}" if known else "what the crosshead asks for (measure it over its slippers first)"
    packed = bench.operation(
        f,
        "packed",
        f"Fix the upper bar parallel to the piston rod and square to the cylinder cover. Pack the lower one to {apart} "
        "from it at both ends, with shims between bar and bracket; slide the crosshead from end to end by hand with "
        "the rod in its gland before the screws are tight, and again after",
        "last",
        tool="shims, gauge blocks or a turned plug, feeler gauge",
        needs=(*f.needs, f"{f.name} holes"),
        dims=f.dims,
        source=SOURCE,
        check=(f"{gap:.3f} at both ends, alike within {PARALLEL_MM:g}" if known else "alike at both ends")
        + "; the crosshead falls from end to end of its own weight when the engine is stood up"
        + (f"; made to suit {suits[0]}" if suits else ""),
        instrument=bench.instrument("inside", gap),
        warnings=() if known else (f"{f.name} has no size yet",),
        caution="trial turning",
    )
    return (stoned, drilled, packed)
