"""Where each link of a valve gear goes: the envelope of its middle line over whole turns and reverser positions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from asmade.motion.gears import gear, sweeps
from asmade.motion.valves.engine import Side

Point = tuple[float, float]
TURN = 120
"""Crank angles in a turn: a crank of 25 mm comes out small by 0.01 mm at most between two of them."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """Rings that bound the sweep of a link (x forward, y up, mm): outlines first, then the holes in them."""

    link: str
    outlines: tuple[tuple[Point, ...], ...]
    holes: tuple[tuple[Point, ...], ...]


def envelopes(side: Side, positions: tuple[float, ...]) -> tuple[Envelope, ...]:
    """Envelope of every moving link: the union of what it sweeps from each crank angle to the next.

    Refuses a gear that does not go together. Source: geometry; between neighbouring angles and positions a link is
    taken to sweep the convex hull of its places there.
    """
    kind = gear(side.gear.gear)
    motion = kind.move(side.gear, np.arange(TURN) * (2 * np.pi / TURN), positions).required()
    still = {member.name for member in kind.members if member.fixed}
    return tuple(
        _envelope(name, path.reshape(len(positions), TURN, -1))
        for name, path in sweeps(kind, motion).items()
        if name not in still and _moves(path)
    )


def _moves(path: NDArray[np.complex128]) -> bool:
    """Whether a link has a length and goes anywhere; one that is not there in this form of the gear has none."""
    length = np.abs(np.diff(path[:1], axis=1)).sum()
    return bool(length > 1e-6 and np.abs(path - path[:1]).max() > 1e-6)


def _envelope(name: str, path: NDArray[np.complex128]) -> Envelope:
    import shapely  # noqa: PLC0415  # a sixth of a second that only this picture should cost

    if np.ptp(path, axis=0).max() < 1e-6:
        path = path[:1]  # the reverser does not move it
    cells = _cells(path)
    hulls = shapely.convex_hull(shapely.multipoints(np.stack([cells.real, cells.imag], axis=-1)))
    whole = shapely.union_all(shapely.buffer(hulls, 1e-3, quad_segs=1))
    shapes = [shape for shape in getattr(whole, "geoms", [whole]) if not shape.is_empty]
    return Envelope(
        name,
        tuple(_ring(shape.exterior) for shape in shapes),
        tuple(_ring(hole) for shape in shapes for hole in shape.interiors if shapely.area(shapely.polygons(hole)) > 1),
    )


def _cells(path: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Corners of what each stretch of a link sweeps from angle to angle and position to position: (cells, corners)."""
    angles = np.stack([path, np.roll(path, -1, axis=1)])
    both = np.stack([angles[:, :-1], angles[:, 1:]]) if path.shape[0] > 1 else angles[None]
    stretches = np.stack([both[..., :-1], both[..., 1:]])
    corners = stretches.shape[0] * stretches.shape[1] * stretches.shape[2]
    return np.asarray(stretches.reshape(corners, -1).T)


def _ring(ring: Any) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in ring.simplify(0.02).coords)
