"""Holes along the axis of a turned part: right through at the first setting, blind ones from their own end."""

from __future__ import annotations

import math
from collections.abc import Iterator

from asmade.book.forms.turned import EndHole
from asmade.measure.errors import OutOfRange
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.schemes.result import dims, value
from asmade.work.routes.schemes.steps import hole_recipe
from asmade.work.routes.schemes.turned_layout import Layout


def through_holes(on: Layout, first: SetUp) -> Iterator[Feature]:
    """Holes right through, at the first setting; a bore out of the middle at a setting of its own."""
    for hole in on.form.end_holes:
        if hole.depth is not None:
            continue
        if on.offset and hole.name == "bore":
            top = on.steps[on.peak]
            held = f"by {top.name}, {top.diameter:.2f}, with packing under one jaw"
            over = SetUp(
                "3: set over",
                30,
                "lathe",
                held,
                f"{top.name} and {on.first} face",
                f"set over|{on.bench.part.name}",
                (top.name, f"{on.first} end", f"{on.second} end"),
                ("chuck", "packed chuck"),
            )
            yield Feature(
                "offset",
                "eccentric setting",
                over,
                {"offset": on.offset, "diameter": top.diameter},
                ("offset",),
                makes=("set over",),
            )
            yield from _hole(on, hole, over, on.total, through=True, needs=("set over",))
        else:
            yield from _hole(on, hole, first, on.total, through=True, needs=(f"{on.first} end",))


def blind_holes(on: Layout, first: SetUp, second: SetUp) -> Iterator[Feature]:
    """Holes with a depth, each at the setting of the end it goes in from."""
    for hole in on.form.end_holes:
        if hole.depth is not None:
            setup = first if hole.end == on.first else second
            depth = value(hole.depth, on.bench)
            yield from _hole(on, hole, setup, depth, through=False, needs=(f"{hole.end} end",))


def _inside(on: Layout, hole: EndHole, depth: float, size: float) -> None:
    """Refuse a hole that is not smaller than the outside it lies in."""
    rest = depth
    for step in on.steps if hole.end == "left" else on.steps[::-1]:
        if not (math.isfinite(step.diameter) and math.isfinite(step.length) and math.isfinite(rest)) or rest <= 0:
            return
        if size >= step.diameter:
            raise OutOfRange(
                f"{hole.name} of {on.bench.part.name}",
                got=f"{size:.2f} mm",
                allowed=f"smaller than {step.name}, {step.diameter:.2f} mm, in which it lies",
                way_out="check both sizes, and from which end the hole goes in",
            )
        rest -= step.length


def _hole(
    on: Layout, hole: EndHole, setup: SetUp, depth: float, *, through: bool, needs: tuple[str, ...]
) -> Iterator[Feature]:
    if hole.diameter is None:
        return
    own = dims(hole.diameter, hole.depth)
    if not own:
        return  # the inside of a tube, a sum of other sizes
    figures = {"diameter": value(hole.diameter, on.bench), "depth": depth, "through": float(through)}
    _inside(on, hole, depth, figures["diameter"])
    recipe = hole_recipe(on.bench.made_by(own[0]), threaded=bool(hole.thread))
    callout = on.bench.callout_of(hole.thread) if hole.thread else ""
    name = hole.name if hole.thread else own[0]
    yield Feature(name, recipe, setup, figures, own, needs, (hole.name,), callout=callout)
