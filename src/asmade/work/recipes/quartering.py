"""Quartering a wheelset: both crank pins set by their heights over the axle, then the second wheel fixed for good."""

from __future__ import annotations

import math
from dataclasses import replace

from asmade.work.recipes import joint_made
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "quartering"
HELP = "the second wheel fixed on its axle with its crank at the quarter"
SOURCE = "geometry; the rest common practice, no source"


def over_axle_mm(pin_mm: float, axle_mm: float) -> float:
    """How far the top of a pin stands above that of the axle when both their middles are at one height, mm.

        (pin - axle) / 2

    Source: geometry. Range: any two diameters. Anchor: pin 8, axle 18: -5, the pin's top is 5 mm lower.
    """
    return (pin_mm - axle_mm) / 2


def aside_mm(radius_mm: float, quarter_rad: float) -> float:
    """How far the middle of the lagging pin stands off the upright through the axle, mm; forwards is plus.

    The leading pin points straight forward; at 90 degrees the lagging one points straight up, at more it has not come
    so far and leans back.

        r cos(quarter)

    Source: geometry. Range: radius above 0. Anchor: 24 mm at 91 degrees: -0.419 mm (by hand).
    """
    return radius_mm * math.cos(quarter_rad)


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures, in mm and rad: ``quarter``, ``lead_radius``, ``lag_radius``, ``lead_pin``, ``lag_pin``, ``axle``.

    ``words``: the joint's name, ``callout``: by what means it is fixed, and after a bar which side leads
    (``retaining adhesive|R``; empty where the book does not say).
    """
    by, _, leads = f.callout.partition("|")
    inner = replace(f, callout=by)
    set_up = bench.operation(
        f,
        "jig set",
        _words(f, leads),
        "look",
        tool="centres or two vee blocks of one height on the surface plate, height gauge, square, clamp to each crank",
        makes=(f"{f.name} jig",),
        source=SOURCE,
        check=_check(f, leads),
        instrument="height gauge",
        caution="quartering",
        warnings=() if leads else ('the book does not say which side leads: write leads = "R" (or "L") below [book]',),
    )
    rest = joint_made.operations(replace(inner, needs=(*f.needs, f"{f.name} jig")), bench)
    return (set_up, *rest)


def _words(f: Feature, leads: str) -> str:
    quarter, axle = f.figures.get("quarter", math.nan), f.figures.get("axle", math.nan)
    lead, lag = (("right", "left") if leads == "R" else ("left", "right")) if leads else ("leading", "other")
    said = f"{math.degrees(quarter):.2f} degrees" if math.isfinite(quarter) else "its quarter"
    start = (
        f"Axle level on centres or vee blocks, boxes on it. The {lead} side leads by {said}: clamp its crank straight "
        f"forward, the {lag} one straight up"
    )
    words = [start]
    pin, other = f.figures.get("lead_pin", math.nan), f.figures.get("lag_pin", math.nan)
    if math.isfinite(pin) and math.isfinite(axle):
        off = over_axle_mm(pin, axle)
        way = "below" if off < 0 else "above"
        words.append(f"top of the {lead} pin {abs(off):.3f} {way} the top of the axle (pin {pin:.3f}, axle {axle:.3f})")
    radius = f.figures.get("lag_radius", math.nan)
    if math.isfinite(other) and math.isfinite(axle):
        gap = -over_axle_mm(other, axle)
        lean = aside_mm(radius, quarter) if math.isfinite(radius) and math.isfinite(quarter) else 0.0
        front = gap - lean
        words.append(
            f"a square that touches the front of the axle stands {front:.3f} clear of the {lag} pin"
            if front >= 0
            else f"a square that touches the front of the {lag} pin stands {-front:.3f} clear of the axle"
        )
    return "; ".join(words)


def _check(f: Feature, leads: str) -> str:
    radius = f.figures.get("lag_radius", math.nan)
    tenth = f"; a tenth of a degree is {radius * math.radians(0.1):.3f} at the pin" if math.isfinite(radius) else ""
    side = {"R": "right", "L": "left"}.get(leads, "leading")
    return (
        f"facing forward, wheels turning forward, the {side} crank comes first; every axle is set in the same jig, for "
        f"being alike counts for more than being 90 degrees{tenth}"
    )
