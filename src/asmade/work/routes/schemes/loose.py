"""Dimensions of a part that its form does not place: holes and slots whose kind says enough to make them."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, SetUp


def holes_of_part(bench: Bench, setup: SetUp, claimed: frozenset[str], needs: tuple[str, ...] = ()) -> list[Feature]:
    """Bores and tapped holes of the part that no feature has yet, as placed holes of unknown place."""
    found = []
    for name, dimension in bench.part.dims.items():
        if name in claimed:
            continue
        if dimension.kind == "bore":
            figures = {"diameter": bench.size(name), "depth": math.nan, "through": 1.0, "x": math.nan, "y": math.nan}
            found.append(Feature(name, "placed hole", setup, figures, (name,), needs, (name,), words=dimension.made_by))
        elif dimension.kind == "thread" and dimension.sex != "male" and dimension.made_by == "tapped":
            figures = {"diameter": math.nan, "depth": math.nan, "x": math.nan, "y": math.nan}
            found.append(
                Feature(name, "placed hole", setup, figures, (name,), needs, (name,), callout=bench.callout_of(name))
            )
    return found


def _slot_figures(bench: Bench, name: str) -> dict[str, float]:
    """Width of a slot, and the radius of its middle line where the part has a dimension of that name."""
    found = {"width": bench.size(name)}
    curve = f"{name}_radius"
    return found | {"radius": bench.size(curve)} if curve in bench.part.dims else found


def slots_of_part(bench: Bench, setup: SetUp, claimed: frozenset[str], needs: tuple[str, ...] = ()) -> list[Feature]:
    """Slots of the part that no feature has yet."""
    return [
        Feature(name, "milled slot", setup, _slot_figures(bench, name), (name,), needs, (name,))
        for name, dimension in bench.part.dims.items()
        if name not in claimed and dimension.kind == "slot"
    ]
