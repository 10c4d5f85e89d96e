"""Where two elements are nearest in the plane of motion at one crank angle: for the picture that marks it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from asmade.measure.errors import OutOfRange
from asmade.motion.gaps.poses import Poses
from asmade.motion.gaps.scene import Element, Scene
from asmade.reckon.shapes import Disc, Piece
from asmade.reckon.shapes.pieces import Array, joined


@dataclass(frozen=True, slots=True)
class Nearest:
    """The two nearest points (x forward, y up, mm); where outlines overlap, both are the middle of the overlap."""

    one: tuple[float, float]
    other: tuple[float, float]


def nearest_points(scene: Scene, one: str, other: str, at: int) -> Nearest:
    """Nearest points of two elements at the crank angle with index ``at``; circles within a few microns."""
    import shapely  # noqa: PLC0415  # a sixth of a second, wanted for pictures only

    _there(scene.element(one), at)
    first, second = (_whole(scene.element(name), at) for name in (one, other))
    if shapely.intersects(first, second):
        x, y = shapely.get_coordinates(shapely.centroid(shapely.intersection(first, second)))[0]
        return Nearest((float(x), float(y)), (float(x), float(y)))
    (ax, ay), (bx, by) = shapely.get_coordinates(shapely.shortest_line(first, second))
    return Nearest((float(ax), float(ay)), (float(bx), float(by)))


def outlines_at(element: Element, at: int) -> tuple[tuple[Array, tuple[Array, ...]], ...]:
    """Outline of an element at the crank angle with index ``at``: rings with their openings, pieces run together."""
    _there(element, at)
    return tuple(
        (placed(ring, element.poses, at), tuple(placed(hole, element.poses, at) for hole in holes))
        for ring, holes in joined(element.pieces)
    )


def placed(points: Array, poses: Poses, at: int) -> Array:
    """Points (N, 2) of a body where it is at one crank angle."""
    moved = poses.place[at] + poses.along[at] * (points[:, 0] + 1j * points[:, 1])
    return np.stack([moved.real, moved.imag], axis=1)


def _there(element: Element, at: int) -> None:
    if not 0 <= at < element.poses.place.size:
        raise OutOfRange("number of a crank angle", got=at, allowed=f"0 to {element.poses.place.size - 1}")


def _whole(element: Element, at: int) -> Any:
    import shapely  # noqa: PLC0415

    def solid(piece: Piece) -> Any:
        if isinstance(piece, Disc):
            return shapely.polygons(placed(piece.ring(), element.poses, at))
        holes = [placed(hole, element.poses, at) for hole in piece.holes]
        return shapely.polygons(placed(piece.ring, element.poses, at), holes or None)

    return shapely.union_all([solid(piece) for piece in element.pieces])
