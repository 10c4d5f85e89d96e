"""The gap of one pair over the turn: bounds first, then the exact distance only where it may count."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from asmade.motion.gaps.between import boxes_apart, distance, not_nearer_than, seen_from
from asmade.motion.gaps.poses import Array
from asmade.motion.gaps.scene import Element, Scene
from asmade.reckon.shapes import Disc

Where = Literal["across", "in the plane", "past the corner", "overlap"]


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """In the plane of motion over all crank angles (K): the distance where it is ``exact``, else no less than it."""

    plane_mm: Array
    exact: NDArray[np.bool_]


def sweep(one: Element, other: Element, *, depth: bool, keep_mm: float = 0.0) -> Sweep:
    """Least distance of two elements' outlines at every crank angle.

    depth: overlaps as negative distances (else 0). keep_mm: exact at every angle within this of the least one.
    """
    seen = seen_from(one.poses, other.poses)
    duos = [(a, b) for a in one.pieces for b in other.pieces]
    bounds = np.stack([not_nearer_than(a, b, seen) for a, b in duos])
    floor = -math.inf if depth else 0.0
    np.maximum(bounds, floor, out=bounds)
    circles = np.array([isinstance(a, Disc) and isinstance(b, Disc) for a, b in duos])
    settled = np.repeat(circles[:, None], bounds.shape[1], axis=1)
    row, at = np.unravel_index(int(np.argmin(bounds)), bounds.shape)
    if not settled[row, at]:  # one exact figure near the least tells how near the rest must be to count
        bounds[row, at] = distance(*duos[row], seen.at(np.array([at])), depth=depth)[0]
        settled[row, at] = True
    sure = np.where(settled, bounds, math.inf).min(axis=0)
    for number in np.argsort(bounds.min(axis=1)):
        a, b = duos[number]
        may_count = ~settled[number] & (bounds[number] <= sure.min() + keep_mm) & (bounds[number] < sure)
        if not may_count.any():
            continue
        some = np.flatnonzero(may_count)
        bounds[number, some] = np.maximum(bounds[number, some], boxes_apart(a, b, seen.at(some)))
        some = some[(bounds[number, some] <= sure.min() + keep_mm) & (bounds[number, some] < sure[some])]
        bounds[number, some] = distance(a, b, seen.at(some), depth=depth)
        settled[number, some] = True
        sure[some] = np.minimum(sure[some], bounds[number, some])
    least = bounds.min(axis=0)
    return Sweep(least, sure <= least)


def across(one: Element, other: Element) -> float:
    """Gap across the engine with every freedom in its middle; negative = how far the widths overlap."""
    return max(other.inner_mm - one.outer_mm, one.inner_mm - other.outer_mm)


def closing(scene: Scene, one: Element, other: Element) -> float:
    """By how much the sideways freedoms can close the gap across; one that carries both alike closes nothing."""
    names = {*one.plays, *other.plays}
    return math.fsum(
        abs(one.plays.get(name, 0.0) - other.plays.get(name, 0.0)) * scene.sideways[name] for name in names
    )


def together(plane_mm: Array, across_mm: float) -> Array:
    """Gap in space (K) from the two gaps: the way past the corner where both are open.

    Where outlines overlap it is the gap across, where widths overlap that in the plane; where both overlap it is
    negative: the shorter way out.
    """
    if across_mm <= 0:
        return np.asarray(np.where(plane_mm > 0, plane_mm, np.maximum(plane_mm, across_mm)))
    return np.asarray(np.hypot(np.maximum(plane_mm, 0.0), across_mm))


def where(plane_mm: float, across_mm: float) -> Where:
    """Which of the gaps a figure is."""
    if across_mm > 0:
        return "across" if plane_mm <= 0 else "past the corner"
    return "in the plane" if plane_mm > 0 else "overlap"
