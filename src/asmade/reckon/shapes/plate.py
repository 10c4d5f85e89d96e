"""Shape of a plate: its outline with holes where it stands upright, a bar seen edge-on where it does not."""

from __future__ import annotations

import numpy as np

from asmade.book.forms.measures import Sizes
from asmade.book.forms.plate import KIND, Plate
from asmade.reckon.shapes.body import Layer, Shape, Taken
from asmade.reckon.shapes.pieces import Array, Disc, Polygon, rectangle

__all__ = ["KIND", "shape"]


def shape(form: Plate, sizes: Sizes) -> Shape:
    """Upright: outline as drawn, from 0 outward. Flat and across: seen edge-on, as long and wide as it is."""
    taken = Taken(form.part, sizes)
    thick = taken.size(form.thickness, "thickness")
    outline = _outline(taken, form)
    holes = [_hole(taken, form, at) for at in range(len(form.holes))]
    openings = [
        np.array([(taken.any(x, each.name), taken.any(y, each.name)) for x, y in each.corners])
        for each in form.openings
    ]
    solid = Polygon(
        outline, (*(hole.ring() for hole in holes), *openings), name=f"outline of {form.part}"
    )  # refuses what reaches over the edge
    area = Polygon(outline).area_mm2 - sum(hole.area_mm2 for hole in holes)
    area -= sum(Polygon(opening).area_mm2 for opening in openings)
    volume = area * thick
    if form.lies == "upright":
        return Shape(form.part, (Layer("plate", (solid,), 0.0, thick),), volume)
    (u_low, v_low), (u_high, v_high) = outline.min(axis=0), outline.max(axis=0)
    if form.lies == "flat":
        edge = rectangle(float(u_low), 0.0, float(u_high), thick, form.part)
        return Shape(form.part, (Layer("plate", (edge,), float(v_low), float(v_high)),), volume)
    edge = rectangle(0.0, float(v_low), thick, float(v_high), form.part)
    return Shape(form.part, (Layer("plate", (edge,), float(u_low), float(u_high)),), volume)


def _outline(taken: Taken, form: Plate) -> Array:
    if form.corners:
        return np.array([(taken.any(x, "corner"), taken.any(y, "corner")) for x, y in form.corners], dtype=np.float64)
    length, height = taken.size(form.length, "length"), taken.size(form.height, "height")
    return np.array([(0.0, 0.0), (length, 0.0), (length, height), (0.0, height)], dtype=np.float64)


def _hole(taken: Taken, form: Plate, at: int) -> Disc:
    hole = form.holes[at]
    x, y = taken.any(hole.x, f"{hole.name}, x"), taken.any(hole.y, f"{hole.name}, y")
    radius = taken.size(hole.diameter, f"diameter of {hole.name}") / 2
    return Disc(x, y, radius)
