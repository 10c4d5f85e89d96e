"""The gap of one pair at every crank angle of a turn: for a plot of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.motion.gaps.sweep import across, closing, sweep, together
from asmade.verbs.gaps import PairResult, SideResult

Array = NDArray[np.float64]
STEPS: Final = 720


@dataclass(frozen=True, slots=True, eq=False)
class GapTurn:
    """Gap (mm) at crank angles (deg) from 0 to a whole turn, both ends included; sideways freedoms at their worst.

    ``across_mm``: what of it lies across the engine, where the outlines pass over one another.
    """

    angles_deg: Array
    gap_mm: Array
    across_mm: float


def gap_over_turn(side: SideResult, pair: PairResult, *, steps: int = STEPS) -> GapTurn:
    """The nearest layers of a pair, at best known sizes, at some of the angles of the side's scene.

    What `verbs.gaps` finds besides, the rise of axles, moves nothing here: its least may be a little less.
    """
    scene = side.scene_for(pair)
    every = max(1, scene.crank_rad.size // steps)
    some = slice(None, None, every)
    one, other = (
        replace(element, poses=element.poses.at(some))
        for element in (scene.element(pair.finding.pair.one), scene.element(pair.finding.pair.other))
    )
    apart = across(one, other) - closing(scene, one, other)
    plane = sweep(one, other, depth=apart <= 0, keep_mm=math.inf).plane_mm
    gaps = together(plane, apart)
    angles = np.degrees(scene.crank_rad[some])
    return GapTurn(np.append(angles, 360.0), np.append(gaps, gaps[:1]), apart)
