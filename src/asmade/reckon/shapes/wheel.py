"""Shape of a wheel: flange and tread as discs, bosses, spokes."""

from __future__ import annotations

import math

import numpy as np

from asmade.book.forms.measures import Sizes
from asmade.book.forms.wheel import KIND, Wheel
from asmade.measure.errors import OutOfRange
from asmade.reckon.shapes.body import Layer, Shape, Taken
from asmade.reckon.shapes.pieces import Disc, Piece, Polygon, joined_area

__all__ = ["KIND", "shape"]


def shape(form: Wheel, sizes: Sizes) -> Shape:
    """Back of the wheel at 0, outward positive; the crank pin ahead on x.

    For gaps a wheel is a full disc as far out as its tyre (what reaches in between spokes would meet them on the next
    turn); spokes and the hollow under the rim come off the mass. Without spokes it is a plain disc from boss to rim.
    The tread is taken as cylindrical: its taper is a few hundredths.
    """
    taken = Taken(form.part, sizes)
    size = taken.size
    tread, width = size(form.tread, "diameter of the tread") / 2, size(form.tyre_width, "width of the tyre")
    flange, thick = (
        size(form.flange, "diameter of the flange") / 2,
        size(form.flange_thickness, "thickness of the flange"),
    )
    boss, boss_width = size(form.boss, "diameter of the boss") / 2, size(form.boss_width, "width of the boss")
    bore = size(form.bore, "bore") / 2
    if not bore < boss < tread < flange or thick >= width:
        raise OutOfRange(
            f"shape of {form.part}",
            got=f"bore {2 * bore:g}, boss {2 * boss:g}, tread {2 * tread:g}, flange {2 * flange:g}, "
            f"{thick:g} of {width:g} wide",
            allowed="each diameter larger than the one before, the flange thinner than the tyre",
        )
    layers = [
        Layer("flange", (Disc(0.0, 0.0, flange),), 0.0, thick),
        Layer("tyre", (Disc(0.0, 0.0, tread),), 0.0, width),
        Layer("boss", (Disc(0.0, 0.0, boss),), 0.0, boss_width),
    ]
    bosses: list[tuple[Piece, ...]] = [(Disc(0.0, 0.0, boss),)]
    outward, holes = boss_width, math.pi * bore**2 * boss_width
    if form.crank_radius is not None:
        radius = size(form.crank_radius, "crank radius")
        pin_boss, pin_hole = size(form.pin_boss, "diameter of the pin boss") / 2, size(form.pin_hole, "pin hole") / 2
        pin_width = size(form.pin_boss_width, "width of the pin boss")
        if radius + pin_boss > tread:
            raise OutOfRange(
                f"pin boss of {form.part}", got=radius + pin_boss, allowed=f"within the tread, {tread:g} mm"
            )
        if pin_hole >= pin_boss or radius - pin_hole <= bore:
            raise OutOfRange(
                f"pin hole of {form.part}", got=2 * pin_hole,
                allowed=f"smaller than its boss of {2 * pin_boss:g} mm, and clear of the bore of {2 * bore:g} mm",
                way_out="check pin hole, pin boss, bore and crank radius",
            )  # fmt: skip
        disc = Disc(radius, 0.0, pin_boss)
        layers.append(Layer("pin boss", (disc,), 0.0, pin_width))
        bosses.append((disc,))
        outward = min(boss_width, pin_width)
        holes += math.pi * pin_hole**2 * pin_width
    return Shape(form.part, tuple(layers), _volume(taken, form, (tread, width, flange, thick), bosses, outward) - holes)


def _volume(
    taken: Taken, form: Wheel, tyre: tuple[float, float, float, float], bosses: list[tuple[Piece, ...]], outward: float
) -> float:
    tread, width, flange, thick = tyre
    volume = math.pi * (flange**2 - tread**2) * thick
    pieces = tuple(piece for group in bosses for piece in group)
    boss_area = joined_area(pieces)
    if form.spokes is None:
        return volume + math.pi * tread**2 * width + boss_area * max(0.0, outward - width)
    rim = taken.size(form.rim, "depth of the rim")
    inside = tread - rim
    if inside <= 0:
        raise OutOfRange(f"rim of {form.part}", got=rim, allowed=f"less than half the tread, {tread:g} mm")
    volume += math.pi * (tread**2 - inside**2) * width + boss_area * outward
    wide = taken.size(form.spoke_width, "width of a spoke")
    deep = taken.size(form.spoke_thickness, "thickness of a spoke")
    arms: list[Piece] = []
    for number in range(form.spokes):
        along = np.array([math.cos(2 * math.pi * number / form.spokes), math.sin(2 * math.pi * number / form.spokes)])
        square = np.array([-along[1], along[0]]) * wide / 2
        arms.append(
            Polygon(np.stack([-square, inside * along - square, inside * along + square, square]), name="spoke")
        )
    return volume + (joined_area((*arms, *pieces)) - boss_area) * deep
