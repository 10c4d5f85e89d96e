"""What is milled or drilled across a turned part, when it has been turned: flats, squares, hexagons, cross holes."""

from __future__ import annotations

import math
from collections.abc import Iterator

from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.schemes.result import dims, value
from asmade.work.routes.schemes.turned_layout import Layout


def milled(on: Layout) -> Iterator[Feature]:
    """Flats and cross holes, from finished ends and rounds."""
    part = on.bench.part.name
    flats = [s for s in on.steps if s.section.shape != "round" and not (on.shaped and s is on.steps[on.peak])]
    done = (f"{on.second} end",)
    for step in flats:
        count = {"hexagon": 6, "square": 4}.get(step.section.shape, 2)
        own = dims(step.section.across_flats)
        setup = SetUp(
            "4: flats",
            40,
            "mill",
            "in the dividing head or a hexagon/square collet block, held by a finished round, end out",
            "finished round",
            f"flats|{part}",
            (step.name, *done),
        )
        across = value(step.section.across_flats, on.bench)
        if math.isfinite(across):
            figures = {"count": float(count), "across": across, "bar": step.diameter, "length": step.length}
            yield Feature(
                own[0] if own else f"{step.name} flats",
                "flats from round",
                setup,
                figures,
                own,
                done,
                (f"{step.name} flats",),
            )
    for cross in on.form.cross_holes:
        kind = "mill" if on.bench.machine("mill") else "drilling machine"
        setup = SetUp(
            "5: cross holes",
            50,
            kind,
            "in a vee block, clamped, end against a stop",
            f"{on.first} end and the round",
            f"vee block|{part}",
            (f"{on.first} end", f"{on.second} end"),
        )
        own = dims(cross.diameter, cross.from_left)
        size, at = value(cross.diameter, on.bench), value(cross.from_left, on.bench)
        through = _round_at(on, at)
        figures = {"diameter": size, "depth": through, "through": 1.0, "from_left": at, "round": through}
        yield Feature(
            own[0] if own else cross.name,
            "cross hole",
            setup,
            figures,
            own,
            done,
            (cross.name,),
            words=on.bench.made_by(own[0]) if own else "",
        )


def _round_at(on: Layout, at: float) -> float:
    end = 0.0
    for step in on.steps:
        end += step.length
        if at <= end:
            return step.diameter
    return on.largest
