"""Shape of a coil spring: the cylinder it stands in; its mass is that of the wire."""

from __future__ import annotations

import math

from asmade.book.forms.measures import Sizes
from asmade.book.forms.spring import KIND, Spring
from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.shapes.body import Layer, Shape, Taken
from asmade.reckon.shapes.pieces import rectangle

__all__ = ["KIND", "shape"]


def shape(form: Spring, sizes: Sizes) -> Shape:
    """Upright, from its foot at 0; as wide across as its outside. The wire of a helix of so many coils.

    Refuses wire too thick for the outside, and coils that are not said or touch at the free length.
    """
    taken = Taken(form.part, sizes)
    wire, outside = taken.size(form.wire, "diameter of the wire"), taken.size(form.outside, "outside")
    length = taken.size(form.free_length, "free length")
    if 2 * wire >= outside:
        raise OutOfRange(f"wire of {form.part}", got=wire, allowed=f"less than half its outside, {outside / 2:g} mm",
                         way_out="check wire and outside")  # fmt: skip
    coils = form.coils
    if coils is None:
        raise Refused(f"shape of {form.part}", got="coils", reason="how many is not said", way_out="write coils = 8")
    if coils * wire > length:
        raise OutOfRange(f"coils of {form.part}", got=coils, allowed=f"up to {int(length / wire)}, where they touch",
                         way_out="fewer coils, thinner wire, or a longer spring")  # fmt: skip
    along = math.hypot(coils * math.pi * (outside - wire), length - wire)
    body = rectangle(-outside / 2, 0.0, outside / 2, length, form.part)
    return Shape(form.part, (Layer("coil", (body,), -outside / 2, outside / 2),), math.pi * wire**2 / 4 * along)
