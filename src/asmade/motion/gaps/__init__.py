"""Gaps between moving parts: does anything touch, where in the turn, by how much, and where to take it from."""

from __future__ import annotations

from asmade.motion.gaps.cures import Cure, Elsewhere, where_to_take_it_from
from asmade.motion.gaps.findings import (
    GapFinding,
    Least,
    Model,
    Sizes,
    even_angles,
    find_gaps,
    least_gap,
    near_pairs,
    nearest_of_bodies,
)
from asmade.motion.gaps.on_curve import FirstTouch, first_to_touch, offsets_on_curve
from asmade.motion.gaps.poses import Poses, carried, fixed, given, gudgeon, pin, sliding, turning
from asmade.motion.gaps.scene import Element, Pair, Scene, elements_of, pairs_of
from asmade.motion.gaps.sweep import Sweep, across, closing, sweep, together

__all__ = [
    "Cure",
    "Element",
    "Elsewhere",
    "FirstTouch",
    "GapFinding",
    "Least",
    "Model",
    "Pair",
    "Poses",
    "Scene",
    "Sizes",
    "Sweep",
    "across",
    "carried",
    "closing",
    "elements_of",
    "even_angles",
    "find_gaps",
    "first_to_touch",
    "fixed",
    "given",
    "gudgeon",
    "least_gap",
    "near_pairs",
    "nearest_of_bodies",
    "offsets_on_curve",
    "pairs_of",
    "pin",
    "sliding",
    "sweep",
    "together",
    "turning",
    "where_to_take_it_from",
]
