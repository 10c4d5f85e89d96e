"""A rod across the engine: every layer, and every stretch of the bar, where the line from eye to eye has it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from asmade.motion.gaps.poses import Poses
from asmade.motion.gaps.scene import Element
from asmade.reckon.shapes import Disc, Layer, Piece, Polygon, Shape

STRETCHES: Final = 6
"""Stretches of a bar: each goes sideways as its middle does, which is within a twelfth of what its ends do."""


@dataclass(frozen=True, slots=True)
class RodLine:
    """Where two places along a rod (x, forward) lie across the engine, and which sideways freedoms carry each."""

    fore_x: float
    aft_x: float
    fore_mm: float
    aft_mm: float
    fore_plays: Mapping[str, float]
    aft_plays: Mapping[str, float]

    def elements(self, shape: Shape, name: str, poses: Poses) -> tuple[Element, ...]:
        """One element for every eye, several for the bar."""
        found = []
        for layer in shape.layers:
            stretches = [(layer.name, layer.pieces)]
            if layer.name == "bar":
                stretches = [(f"bar {n}", (piece,)) for n, piece in enumerate(_stretched(layer), start=1)]
            for label, pieces in stretches:
                out, plays = self._at(_middle(pieces))
                found.append(
                    Element(f"{name}, {label}", name, pieces, poses, out + layer.low_mm, out + layer.high_mm, plays)
                )
        return tuple(found)

    def _at(self, x: float) -> tuple[float, dict[str, float]]:
        """How far out the rod's middle is at x, and what carries it there."""
        part = (self.fore_x - x) / (self.fore_x - self.aft_x)
        rates = {
            name: (1 - part) * self.fore_plays.get(name, 0.0) + part * self.aft_plays.get(name, 0.0)
            for name in {**self.fore_plays, **self.aft_plays}
        }
        return self.fore_mm + part * (self.aft_mm - self.fore_mm), rates


def _middle(pieces: tuple[Piece, ...]) -> float:
    piece = pieces[0]
    return piece.x if isinstance(piece, Disc) else float(piece.ring[:, 0].min() + piece.ring[:, 0].max()) / 2


def _stretched(layer: Layer) -> list[Polygon]:
    """The bar, four corners from back to front, in stretches."""
    (bar,) = layer.pieces
    if not isinstance(bar, Polygon):
        raise TypeError
    (back, low_back), (front, low_front), (_, high_front), (_, high_back) = bar.ring[:4]
    ends = np.linspace(0.0, 1.0, STRETCHES + 1)
    x = back + ends * (front - back)
    low, high = low_back + ends * (low_front - low_back), high_back + ends * (high_front - high_back)
    return [
        Polygon(
            np.array([(x[k], low[k]), (x[k + 1], low[k + 1]), (x[k + 1], high[k + 1]), (x[k], high[k])]), name="bar"
        )
        for k in range(STRETCHES)
    ]
