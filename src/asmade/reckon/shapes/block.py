"""Shape of a block: a rectangle about its middle, with bores."""

from __future__ import annotations

from asmade.book.forms.block import KIND, Block
from asmade.book.forms.measures import Sizes
from asmade.measure.errors import OutOfRange
from asmade.reckon.shapes.body import Layer, Shape, Taken
from asmade.reckon.shapes.pieces import Disc, Polygon, rectangle

__all__ = ["KIND", "shape"]


def shape(form: Block, sizes: Sizes) -> Shape:
    """The rectangle filled (what goes through its bores fills them), evenly about 0 across; bores come off the mass."""
    taken = Taken(form.part, sizes)
    length, height = taken.size(form.length, "length"), taken.size(form.height, "height")
    width = taken.size(form.width, "width")
    outline = rectangle(-length / 2, -height / 2, length / 2, height / 2, f"outline of {form.part}")
    volume = length * height * width
    bores = []
    for hole in form.holes:
        depth = width if hole.depth is None else taken.size(hole.depth, f"depth of {hole.name}")
        if depth > width + 1e-9:
            raise OutOfRange(f"depth of {hole.name} in {form.part}", got=depth, allowed=f"up to its width {width:g} mm")
        bore = Disc(
            taken.any(hole.x, f"{hole.name}, x"), taken.any(hole.y, f"{hole.name}, y"),
            taken.size(hole.diameter, f"diameter of {hole.name}") / 2,
        )  # fmt: skip
        bores.append(bore)
        volume -= bore.area_mm2 * depth
    Polygon(outline.ring, tuple(bore.ring() for bore in bores), name=f"outline of {form.part}")  # a bore over the edge
    return Shape(form.part, (Layer("block", (outline,), -width / 2, width / 2),), volume)
