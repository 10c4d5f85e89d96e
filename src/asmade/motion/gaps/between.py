"""How far apart two outlines are, at many poses at once: exact for circles, by shapely for polygons.

Everything is seen from the axes of the first body, in which it stands still; the second moves. Overlap is negative:
how far they would have to be moved apart. For a polygon that is not convex it is the narrow way across the overlap.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from asmade.motion.gaps.poses import Array, Complex, Poses
from asmade.reckon.shapes import Disc, Piece, Polygon

Indices = NDArray[np.intp]
_CHUNK = 2_000_000  # numbers held at once in a separating-axis sum


def seen_from(one: Poses, other: Poses) -> Poses:
    """Poses of the other body in the axes of the first."""
    back = np.conj(one.along)
    return Poses(back * (other.place - one.place), back * other.along)


def middle_and_reach(piece: Piece) -> tuple[complex, float]:
    """Middle of a piece in its body's axes and the radius of a circle about it that holds it."""
    if isinstance(piece, Disc):
        return complex(piece.x, piece.y), piece.radius
    low, high = piece.ring.min(axis=0), piece.ring.max(axis=0)
    middle = 0.5 * (low + high)
    return complex(*middle), float(np.hypot(*(piece.ring - middle).T).max())


def not_nearer_than(one: Piece, other: Piece, seen: Poses) -> Array:
    """A lower bound of their distance (K) from circles about them; exact for two discs."""
    (here, reach), (there, other_reach) = middle_and_reach(one), middle_and_reach(other)
    return np.asarray(np.abs(seen.place + seen.along * there - here) - reach - other_reach)


def boxes_apart(one: Piece, other: Piece, seen: Poses) -> Array:
    """A sharper lower bound (K): the distance of their upright boxes in the first one's axes; -inf where these meet."""
    low, high = _box(one)
    if isinstance(other, Disc):
        middle = seen.place + seen.along * complex(other.x, other.y)
        right = np.maximum(low[0] - middle.real, middle.real - high[0])
        up = np.maximum(low[1] - middle.imag, middle.imag - high[1])
        apart = np.hypot(np.maximum(right, 0), np.maximum(up, 0))
        return np.asarray(np.where(apart > 0, apart - other.radius, -np.inf))
    moved = _moved(other.ring, seen)
    x, y = moved.real, moved.imag
    right = np.maximum(low[0] - x.max(axis=1), x.min(axis=1) - high[0])
    up = np.maximum(low[1] - y.max(axis=1), y.min(axis=1) - high[1])
    apart = np.hypot(np.maximum(right, 0), np.maximum(up, 0))
    return np.asarray(np.where(apart > 0, apart, -np.inf))


def distance(one: Piece, other: Piece, seen: Poses, *, depth: bool) -> Array:
    """Distance (K) of two pieces; where they overlap how deep, if ``depth``, else 0."""
    if isinstance(one, Disc) and isinstance(other, Disc):
        apart = np.abs(seen.place + seen.along * complex(other.x, other.y) - complex(one.x, one.y))
        found: Array = apart - one.radius - other.radius
        return found if depth else np.maximum(found, 0.0)
    if isinstance(one, Disc):
        assert isinstance(other, Polygon)  # noqa: S101  # the case of two discs stands above
        turned = np.conj(seen.along)
        return distance(other, one, Poses(-turned * seen.place, turned), depth=depth)
    if isinstance(other, Disc):
        return _disc_from_polygon(one, other, seen, depth=depth)
    return _polygons(one, other, seen, depth=depth)


def _box(piece: Piece) -> tuple[tuple[float, float], tuple[float, float]]:
    if isinstance(piece, Disc):
        return (piece.x - piece.radius, piece.y - piece.radius), (piece.x + piece.radius, piece.y + piece.radius)
    low, high = piece.ring.min(axis=0), piece.ring.max(axis=0)
    return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))


def _moved(ring: Array, seen: Poses) -> Complex:
    """Corners (K, N) of a ring in the first body's axes."""
    return np.asarray(seen.place[:, None] + seen.along[:, None] * (ring[:, 0] + 1j * ring[:, 1]))


def _corners(moved: Complex) -> Array:
    return np.ascontiguousarray(moved).view(np.float64).reshape(*moved.shape, 2)


def _solid(piece: Polygon) -> Any:
    import shapely  # noqa: PLC0415  # a sixth of a second, wanted only where gaps are worked out

    return shapely.polygons(piece.ring, list(piece.holes) or None)


def _disc_from_polygon(one: Polygon, other: Disc, seen: Poses, *, depth: bool) -> Array:
    import shapely  # noqa: PLC0415

    middle = seen.place + seen.along * complex(other.x, other.y)
    solid = _solid(one)
    points = shapely.points(middle.real, middle.imag)
    found = np.asarray(shapely.distance(solid, points), dtype=np.float64)
    if depth:
        inside = np.flatnonzero(found == 0)
        if inside.size:
            found[inside] = -shapely.distance(shapely.boundary(solid), points[inside])
    found -= other.radius
    return found if depth else np.maximum(found, 0.0)


def _polygons(one: Polygon, other: Polygon, seen: Poses, *, depth: bool) -> Array:
    import shapely  # noqa: PLC0415

    solid = _solid(one)
    moved = _moved(other.ring, seen)
    outlines = shapely.polygons(_corners(moved))
    if other.holes:
        rings = [shapely.linearrings(_corners(_moved(hole, seen))) for hole in other.holes]
        shells = shapely.linearrings(_corners(moved))
        outlines = shapely.polygons(shells, np.stack(rings, axis=1))
    shapely.prepare(solid)
    found = np.zeros(len(outlines))
    free = np.flatnonzero(~shapely.intersects(solid, outlines))  # a fifteenth of the time a distance takes
    found[free] = shapely.distance(solid, outlines[free])
    if depth:
        inside = np.flatnonzero(found == 0)
        if inside.size and one.convex and other.convex:
            found[inside] = -_deep(one.ring, moved[inside])
        elif inside.size:
            found[inside] = -_narrow(shapely.intersection(solid, outlines[inside]))
    return found


def _deep(still: Array, moved: Complex) -> Array:
    """How far two convex outlines must be moved apart (K): least overlap over the normals of all their edges."""
    ring = still[:, 0] + 1j * still[:, 1]
    rows = max(1, _CHUNK // (ring.size * moved.shape[1]))
    found = np.empty(moved.shape[0])
    for start in range(0, moved.shape[0], rows):
        part = moved[start : start + rows]
        found[start : start + rows] = np.minimum(
            _least_overlap(ring[None, :], part), _least_overlap(part, np.broadcast_to(ring, (part.shape[0], ring.size)))
        )
    return found


def _least_overlap(outline: Complex, other: Complex) -> Array:
    edges = np.roll(outline, -1, axis=1) - outline
    normal = -1j * edges / np.abs(edges)  # outward of an anticlockwise ring
    reach = (np.conj(normal) * outline).real
    nearest = (np.conj(normal)[:, :, None] * other[:, None, :]).real.min(axis=2)
    return np.asarray((reach - nearest).min(axis=1))


def _narrow(overlaps: Any) -> Array:
    """Narrow way across each overlap, by its smallest surrounding rectangle; 0 where they only touch."""
    import shapely  # noqa: PLC0415

    found = np.zeros(len(overlaps))
    for at, overlap in enumerate(overlaps):
        for part in shapely.get_parts(overlap):
            if shapely.get_dimensions(part) < 2:
                continue
            corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(part))
            sides = np.hypot(*np.diff(corners[:3], axis=0).T)
            found[at] = max(found[at], float(sides.min()))
    return found
