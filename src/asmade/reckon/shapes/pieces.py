"""What outlines are made of: discs, kept exact, and polygons. Lengths in mm, in the plane of motion, y up."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange, Refused

Array: TypeAlias = NDArray[np.float64]

SAGITTA_MM = 0.005
"""A curve drawn as a polygon departs from the curve by no more than this, to either side."""


@dataclass(frozen=True, slots=True)
class Disc:
    """A full circle about (x, y); sums keep it a circle, so its gaps are exact."""

    x: float
    y: float
    radius: float

    def __post_init__(self) -> None:
        """Refuse what is not a circle."""
        if not (math.isfinite(self.x) and math.isfinite(self.y) and math.isfinite(self.radius)):
            raise Refused("circle", got=(self.x, self.y, self.radius), reason="a size in it is not known")
        if self.radius <= 0:
            raise OutOfRange("radius of a circle", got=self.radius, allowed="more than 0 mm",
                             way_out="check the diameter it comes from")  # fmt: skip

    @property
    def area_mm2(self) -> float:
        """Exact area."""
        return math.pi * self.radius**2

    def ring(self, sagitta_mm: float = SAGITTA_MM) -> Array:
        """As a polygon that departs by ``sagitta_mm`` at most, half of it to either side."""
        return arc(self.x, self.y, self.radius, 0.0, 2 * math.pi, sagitta_mm)[:-1]


@dataclass(frozen=True, slots=True, eq=False)
class Polygon:
    """A polygon, corners (N, 2) going round once, with openings; a ring that crosses itself is refused."""

    ring: Array
    holes: tuple[Array, ...] = ()
    name: str = "outline"
    convex: bool = field(init=False)

    def __post_init__(self) -> None:
        """Refuse rings that are no outline."""
        ring, convex = _checked(self.ring, self.name)
        object.__setattr__(self, "ring", ring)
        object.__setattr__(self, "holes", tuple(_checked(hole, f"opening in {self.name}")[0] for hole in self.holes))
        object.__setattr__(self, "convex", not self.holes and convex)
        if self.holes:
            _holes_inside(self)

    @property
    def area_mm2(self) -> float:
        """Area less its openings."""
        return abs(ring_area(self.ring)) - sum(abs(ring_area(hole)) for hole in self.holes)


Piece: TypeAlias = Disc | Polygon


def ring_area(ring: Array) -> float:
    """Signed area of a ring, anticlockwise positive."""
    x, y = ring.T
    return 0.5 * float(x[:-1] @ y[1:] - y[:-1] @ x[1:] + x[-1] * y[0] - y[-1] * x[0])


def _checked(points: Array, name: str) -> tuple[Array, bool]:
    """The ring anticlockwise without repeated corners, and whether it is convex.

    Refuses fewer than three corners, no area, NaN, a crossing.
    """
    ring = np.array(points, dtype=np.float64)
    if ring.ndim != 2 or ring.shape[1:] != (2,):
        raise Refused(name, got=ring.shape, reason="an outline is a list of corners, x and y of each")
    if not np.isfinite(ring).all():
        at = int(np.argmax(~np.isfinite(ring).all(axis=1)))
        raise Refused(name, got=tuple(ring[at]), reason=f"corner {at + 1} is not known",
                      way_out="give every size that its outline is made of")  # fmt: skip
    edges = ring - np.concatenate([ring[-1:], ring[:-1]])
    apart = np.abs(edges).max(axis=1) > 1e-9
    if not apart.all():
        ring = ring[apart]
    if len(ring) < 3:
        raise Refused(name, got=len(ring), reason="fewer than three different corners are left",
                      way_out="a size in it is 0: check the sizes it is made of")  # fmt: skip
    area = ring_area(ring)
    if area < 0:
        ring = ring[::-1].copy()
    convex = _is_convex(ring)
    if not convex:
        crossing = _crossing(ring)
        if crossing:
            raise Refused(name, got=crossing, reason="the outline crosses itself",
                          way_out="name its corners in order, going round once")  # fmt: skip
    if abs(area) < 1e-9:
        raise Refused(name, got=f"area {area:g} mm2", reason="the outline has no area",
                      way_out="a size in it is 0: check the sizes it is made of")  # fmt: skip
    ring.flags.writeable = False
    return ring, convex


def _crossing(ring: Array) -> str:
    """Where a ring crosses or touches itself, in words; empty where it does not."""
    import shapely  # noqa: PLC0415  # a sixth of a second, wanted for outlines that are not convex only

    outline = shapely.polygons(ring)
    if shapely.is_valid(outline):
        return ""
    return str(shapely.is_valid_reason(outline)).replace("Self-intersection", "near x, y =")


def _is_convex(ring: Array) -> bool:
    """Whether an anticlockwise ring turns left everywhere and goes round once."""
    edges = np.concatenate([ring[1:], ring[:1]]) - ring
    along = edges[:, 0] + 1j * edges[:, 1]
    turn = np.concatenate([along[1:], along[:1]]) * along.conj()
    if (turn.imag < -1e-12).any():
        return False
    return bool(abs(np.angle(turn).sum() - 2 * math.pi) < 1e-6)


def _holes_inside(polygon: Polygon) -> None:
    import shapely  # noqa: PLC0415

    whole = shapely.polygons(polygon.ring)
    for number, hole in enumerate(polygon.holes, start=1):
        if not shapely.contains_properly(whole, shapely.polygons(hole)):
            raise Refused(polygon.name, got=f"opening {number}", reason="it reaches the edge of the outline or beyond",
                          way_out="check where the opening is and how large")  # fmt: skip
    for one, hole in enumerate(polygon.holes):
        for other in polygon.holes[one + 1 :]:
            if shapely.intersects(shapely.polygons(hole), shapely.polygons(other)):
                raise Refused(polygon.name, got="two openings", reason="they run into one another")


def arc(x: float, y: float, radius: float, start_rad: float, end_rad: float, sagitta_mm: float = SAGITTA_MM) -> Array:
    """Points (N, 2) along an arc, both ends included; between them the polygon departs to either side alike."""
    count = arc_steps(radius, abs(end_rad - start_rad), sagitta_mm)
    angles = np.linspace(start_rad, end_rad, count + 1)
    half = 0.5 * abs(end_rad - start_rad) / count
    out = radius * 2 / (1 + math.cos(half))
    return np.stack([x + out * np.cos(angles), y + out * np.sin(angles)], axis=1)


def arc_steps(radius: float, turn_rad: float, sagitta_mm: float = SAGITTA_MM) -> int:
    """Into how many straights an arc is cut so that it departs by ``sagitta_mm`` in all, half to either side."""
    if radius <= sagitta_mm:
        return max(8, math.ceil(turn_rad / (math.pi / 4)))
    step = 2 * math.acos((2 * radius - sagitta_mm) / (2 * radius + sagitta_mm))  # corners as far out as sides are in
    return max(2, math.ceil(turn_rad / step))


def rectangle(x_low: float, y_low: float, x_high: float, y_high: float, name: str = "outline") -> Polygon:
    """An upright rectangle."""
    return Polygon(
        np.array([(x_low, y_low), (x_high, y_low), (x_high, y_high), (x_low, y_high)], dtype=np.float64), name=name
    )


def bounds(pieces: tuple[Piece, ...]) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y of pieces together."""
    lows, highs = [], []
    for piece in pieces:
        if isinstance(piece, Disc):
            lows.append((piece.x - piece.radius, piece.y - piece.radius))
            highs.append((piece.x + piece.radius, piece.y + piece.radius))
        else:
            lows.append(tuple(piece.ring.min(axis=0)))
            highs.append(tuple(piece.ring.max(axis=0)))
    low, high = np.min(lows, axis=0), np.max(highs, axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def joined(pieces: tuple[Piece, ...], sagitta_mm: float = SAGITTA_MM) -> tuple[tuple[Array, tuple[Array, ...]], ...]:
    """Pieces run together: each outline as its ring and the rings of its openings, all (N, 2), not closed.

    Ready for ``shapely.polygons(ring, holes)``. Circles become polygons within ``sagitta_mm``.
    """
    import shapely  # noqa: PLC0415

    whole = shapely.union_all(
        [
            shapely.polygons(piece.ring(sagitta_mm)) if isinstance(piece, Disc) else _as_shapely(piece)
            for piece in pieces
        ]
    )
    found = []
    for part in shapely.get_parts(whole):
        ring = shapely.get_coordinates(shapely.get_exterior_ring(part))[:-1]
        holes = tuple(
            shapely.get_coordinates(shapely.get_interior_ring(part, at))[:-1]
            for at in range(int(shapely.get_num_interior_rings(part)))
        )
        found.append((ring, holes))
    return tuple(found)


def joined_area(pieces: tuple[Piece, ...]) -> float:
    """Area of pieces run together, mm2; circles exact where nothing overlaps, else within a few parts in 100,000."""
    if len(pieces) == 1:
        return pieces[0].area_mm2
    return sum(
        abs(ring_area(ring)) - sum(abs(ring_area(hole)) for hole in holes) for ring, holes in joined(pieces, 1e-4)
    )


def _as_shapely(piece: Polygon) -> object:
    import shapely  # noqa: PLC0415

    return shapely.polygons(piece.ring, list(piece.holes) or None)
