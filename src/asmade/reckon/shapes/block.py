"""Shape of a block: a rectangle about its middle, with bores."""

from __future__ import annotations

import math

from asmade.book.forms.block import FACES, KIND, Block, Channel
from asmade.book.forms.measures import Hole, Sizes
from asmade.measure.errors import OutOfRange
from asmade.reckon.shapes.body import Layer, Shape, Taken
from asmade.reckon.shapes.pieces import Disc, Polygon, rectangle

__all__ = ["KIND", "channel_box", "faces", "shape"]


def shape(form: Block, sizes: Sizes) -> Shape:
    """The rectangle filled (what goes through its bores fills them), evenly about 0 across; bores come off the mass.

    Bores that cross one another inside count twice off the mass: a few grams at most.
    """
    taken = Taken(form.part, sizes)
    length, height = taken.size(form.length, "length"), taken.size(form.height, "height")
    width = taken.size(form.width, "width")
    outline = rectangle(-length / 2, -height / 2, length / 2, height / 2, f"outline of {form.part}")
    volume = length * height * width
    for way, (across, up, deep) in faces(length, height, width).items():
        bores = []
        for hole in form.holes:
            if hole.way != way:
                continue
            bore, depth = _bore(taken, hole, deep)
            bores.append(bore)
            volume -= bore.area_mm2 * depth
        end = rectangle(-across / 2, -up / 2, across / 2, up / 2, f"outline of {form.part}, {way}")
        Polygon(end.ring, tuple(bore.ring() for bore in bores), name=end.name)  # refuses a bore over the edge
    for channel in form.channels:
        low, high = channel_box(taken, channel, (length, height, width))
        volume -= math.prod(b - a for a, b in zip(low, high, strict=True))
    layers = [Layer("block", (outline,), -width / 2, width / 2)]
    if form.flange is not None:
        thick, over = taken.size(form.flange, "flange"), taken.size(form.flange_over, "flange beyond the body")
        if thick >= width:
            raise OutOfRange(f"flange of {form.part}", got=thick, allowed=f"less than its width {width:g} mm",
                             way_out="the width is over body and flange")  # fmt: skip
        wide = rectangle(-length / 2 - over, -height / 2, length / 2 + over, height / 2, f"flange of {form.part}")
        layers.append(Layer("flange", (wide,), width / 2 - thick, width / 2))
        volume += 2 * over * height * thick
    return Shape(form.part, tuple(layers), volume)


def faces(length: float, height: float, width: float) -> dict[str, tuple[float, float, float]]:
    """By the way of a hole: the two sizes of the face it goes in at (x and y of its place), and how deep that is."""
    return {"across": (length, height, width), "along": (width, height, length), "up": (length, width, height)}


def channel_box(
    taken: Taken, channel: Channel, size: tuple[float, float, float]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Least and greatest corner of a channel about the block's middle: along, up, across; refuses one beyond it."""
    order = ("along", "up", "across")
    wide, deep = (
        taken.size(channel.width, f"width of {channel.name}"),
        taken.size(channel.depth, f"depth of {channel.name}"),
    )
    middle = 0.0 if channel.at is None else taken.any(channel.at, f"place of {channel.name}")
    low, high = [-each / 2 for each in size], [each / 2 for each in size]
    into = order.index(FACES[channel.face])
    aside = next(at for at, way in enumerate(order) if way not in (channel.runs, FACES[channel.face]))
    if deep >= size[into] or abs(middle) + wide / 2 >= size[aside] / 2:
        raise OutOfRange(
            f"{channel.name} of {taken.part}", got=f"{wide:g} wide, {deep:g} deep, {middle:g} from the middle",
            allowed=f"inside {size[aside]:g} mm, less deep than {size[into]:g} mm", way_out="check its width and depth",
        )  # fmt: skip
    low[aside], high[aside] = middle - wide / 2, middle + wide / 2
    if channel.face in ("front", "top", "outer"):
        low[into] = high[into] - deep
    else:
        high[into] = low[into] + deep
    return tuple(low), tuple(high)


def _bore(taken: Taken, hole: Hole, deep: float) -> tuple[Disc, float]:
    depth = deep if hole.depth is None else taken.size(hole.depth, f"depth of {hole.name}")
    if depth > deep + 1e-9:
        raise OutOfRange(f"depth of {hole.name} in {taken.part}", got=depth, allowed=f"up to {deep:g} mm",
                         way_out="a hole right through has no depth")  # fmt: skip
    bore = Disc(
        taken.any(hole.x, f"{hole.name}, x"), taken.any(hole.y, f"{hole.name}, y"),
        taken.size(hole.diameter, f"diameter of {hole.name}") / 2,
    )  # fmt: skip
    return bore, depth
