"""A shape: the layers of a body outward across the engine, each with its outline; envelope, volume, mass."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from asmade.book.forms.measures import Measure, Sizes
from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.reckon.shapes.pieces import SAGITTA_MM, Array, Disc, Piece, Polygon, bounds, joined


@dataclass(frozen=True, slots=True)
class Layer:
    """One thickness of a body: its outline in the plane of motion, from ``low_mm`` to ``high_mm`` outward."""

    name: str
    pieces: tuple[Piece, ...]
    low_mm: float
    high_mm: float

    def __post_init__(self) -> None:
        """Refuse a layer of no thickness, or none at all."""
        if not (math.isfinite(self.low_mm) and math.isfinite(self.high_mm)):
            raise Refused(self.name, got=(self.low_mm, self.high_mm), reason="where it lies across is not known")
        if self.high_mm <= self.low_mm:
            raise OutOfRange(f"thickness of {self.name}", got=self.high_mm - self.low_mm, allowed="more than 0 mm")


@dataclass(frozen=True, slots=True)
class Envelope:
    """The box a body goes into: fore and aft, up, across, mm."""

    length_mm: float
    height_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Shape:
    """A body at given sizes. x forward, y up, layers outward, all from the form's own datum, mm and mm3."""

    part: str
    layers: tuple[Layer, ...]
    volume_mm3: float

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Everything that is seen in the plane of motion."""
        return tuple(piece for layer in self.layers for piece in layer.pieces)

    @property
    def envelope(self) -> Envelope:
        """The box it goes into."""
        x_low, y_low, x_high, y_high = bounds(self.pieces)
        return Envelope(
            x_high - x_low, y_high - y_low,
            max(layer.high_mm for layer in self.layers) - min(layer.low_mm for layer in self.layers),
        )  # fmt: skip

    def outline(self, sagitta_mm: float = SAGITTA_MM) -> tuple[tuple[Array, tuple[Array, ...]], ...]:
        """Outline in the plane of motion, all layers run together: rings with their openings, see `joined`."""
        return joined(self.pieces, sagitta_mm)

    def mass_g(self, material: str) -> float:
        """Mass in grams in a material by its trade or standard name, with the density of the standards' table.

        Anchor: 1000 mm3 of a metal of 7.85 g/cm3 weigh 7.85 g. Raises ``Unknown`` for a material that is not held.
        """
        from asmade.standards.materials import material as known  # noqa: PLC0415

        if not material:
            raise Unknown(
                f"material of {self.part}", got=material, way_out='add material = "bright mild steel" or such'
            )
        return self.volume_mm3 * known(material).density_kg_m3 * 1e-6

    def for_side(self, side: str, *, hand: str, drawn_for: str = "R") -> Shape:
        """The shape as it sits on one side of the engine ("L" or "R"); x forward, layers outward on both.

        ``mirrored`` parts are one another's image in the engine's middle plane, ``own`` parts are drawn for each
        side: seen forward and outward both are as drawn. A part that is the ``same`` on both sides comes to the other
        one by half a turn about the upright: its face stays outward, and what was ahead is behind.
        """
        if side not in ("L", "R") or drawn_for not in ("", "L", "R"):
            raise Unknown("side of the engine", got=(side, drawn_for), way_out="L or R, facing forward")
        if hand not in ("same", "mirrored", "own"):
            raise Unknown("hand", got=hand, way_out="same, mirrored or own")
        if hand != "same" or side == (drawn_for or "R"):
            return self
        return replace(self, layers=tuple(_end_for_end(layer) for layer in self.layers))


def _end_for_end(layer: Layer) -> Layer:
    def turned(piece: Piece) -> Piece:
        if isinstance(piece, Disc):
            return Disc(-piece.x, piece.y, piece.radius)
        flip = np.array((-1.0, 1.0))
        return Polygon(piece.ring * flip, tuple(hole * flip for hole in piece.holes), piece.name)

    return replace(layer, pieces=tuple(turned(piece) for piece in layer.pieces))


class Taken:
    """Takes the sizes of one part, one by one, and refuses what is lacking, not known, or not more than nothing."""

    def __init__(self, part: str, sizes: Sizes) -> None:
        """Start on a part; ``sizes`` gives mm by dimension name."""
        self.part = part
        self.sizes = sizes

    def any(self, measure: Measure | None, what: str) -> float:
        """A size of either sign."""
        if measure is None:
            raise Refused(f"shape of {self.part}", got=what, reason="no dimension says it",
                          way_out=f"add the dimension to part {self.part}, or name it in its form")  # fmt: skip
        value = float(measure.value(self.sizes))
        if not math.isfinite(value):
            raise Refused(f"shape of {self.part}", got=f"{what} = {measure.text}", reason="it is not known yet",
                          way_out="enter its drawn, chosen or made size")  # fmt: skip
        return value

    def size(self, measure: Measure | None, what: str) -> float:
        """A size of more than nothing."""
        value = self.any(measure, what)
        if value <= 0:
            raise OutOfRange(f"shape of {self.part}: {what}", got=value, allowed="more than 0 mm",
                             way_out="check the dimension")  # fmt: skip
        return value
