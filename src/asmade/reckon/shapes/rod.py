"""Shape of a rod: a bar between eyes, a round boss at each."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from asmade.book.forms.measures import Sizes
from asmade.book.forms.rod import KIND, Rod
from asmade.measure.errors import OutOfRange
from asmade.reckon.shapes.body import Layer, Shape, Taken
from asmade.reckon.shapes.pieces import Disc, Piece, Polygon, joined_area

__all__ = ["KIND", "shape"]


def shape(form: Rod, sizes: Sizes) -> Shape:
    """Eyes on the x axis, the foremost at 0; every layer lies evenly about 0 across.

    Bosses are full discs (a pin stands in the eye); the bar runs from middle to middle of the outermost eyes.
    """
    taken = Taken(form.part, sizes)
    places = [0.0]
    for eye in form.eyes[1:]:
        places.append(places[-1] - taken.size(eye.behind, f"{eye.name} behind the eye before it"))
    fore, aft = (
        taken.size(form.depth_fore, "depth of the bar, fore"),
        taken.size(form.depth_aft, "depth of the bar, aft"),
    )
    thick = taken.size(form.thickness, "thickness of the bar")
    front, back = places[0], places[-1]
    bar = Polygon(
        np.array([(back, -aft / 2), (front, -fore / 2), (front, fore / 2), (back, aft / 2)], dtype=np.float64),
        name=f"bar of {form.part}",
    )
    layers = [Layer("bar", (bar,), -thick / 2, thick / 2)]
    bosses: list[tuple[Disc, float, float]] = []
    for eye, x in zip(form.eyes, places, strict=True):
        radius = taken.size(eye.outside, f"outside of the {eye.name} eye") / 2
        bore = taken.size(eye.bore, f"bore of the {eye.name} eye") / 2
        width = taken.size(eye.width, f"width of the {eye.name} eye")
        if bore >= radius:
            raise OutOfRange(f"bore of the {eye.name} eye of {form.part}", got=2 * bore,
                             allowed=f"less than its outside {2 * radius:g} mm")  # fmt: skip
        bosses.append((Disc(x, 0.0, radius), bore, width))
        layers.append(Layer(eye.name, (bosses[-1][0],), -width / 2, width / 2))
    for (one, bore_one, _), (two, bore_two, _) in pairwise(bosses):
        if abs(one.x - two.x) <= bore_one + bore_two:
            raise OutOfRange(
                f"eyes of {form.part}", got=f"{abs(one.x - two.x):g} mm between their middles",
                allowed=f"more than {bore_one + bore_two:g} mm, or their bores run into one another",
                way_out="check the bores and the distance of the eyes",
            )  # fmt: skip
    return Shape(form.part, tuple(layers), _volume(taken, form, bar, bosses, thick))


def _volume(taken: Taken, form: Rod, bar: Polygon, bosses: list[tuple[Disc, float, float]], thick: float) -> float:
    """Bar outside the bosses, bosses at their own width, less bores and flutes (flutes end where bosses begin)."""
    discs: tuple[Piece, ...] = tuple(disc for disc, _, _ in bosses)
    bar_alone = joined_area((bar, *discs)) - joined_area(discs)
    volume = bar_alone * thick
    for disc, bore, width in bosses:
        volume += (disc.area_mm2 - np.pi * bore**2) * width
    if form.flute_depth is not None and form.flute_height is not None:
        deep, high = (
            taken.size(form.flute_depth, "depth of the flute"),
            taken.size(form.flute_height, "height of the flute"),
        )
        if 2 * deep >= thick:
            raise OutOfRange(f"flutes of {form.part}", got=2 * deep, allowed=f"less than the bar, {thick:g} mm",
                             way_out="the depth of a flute is from one face")  # fmt: skip
        clear = sum(
            max(0.0, abs(one.x - two.x) - one.radius - two.radius) for (one, _, _), (two, _, _) in pairwise(bosses)
        )
        volume -= 2 * deep * high * clear
    return float(volume)
