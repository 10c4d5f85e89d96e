"""Planar linkages: arrays in, arrays out; the last axes are crank angles and samples.

A mechanism is one function built from a few pieces: ``turn`` (a pin going round), ``a + (b - a) * ratio`` (a point
carried by a body through two pins), ``Assembly.dyad`` (two links meeting, also a pin in an arc slot),
``Assembly.on_line`` (a pin on a straight guide) and ``Assembly.close`` (one unknown per closed loop).
"""

from __future__ import annotations

from asmade.motion.linkage.assembly import LEFT, RIGHT, Assembly, Links
from asmade.motion.linkage.dual import Dual, bearing, half_turn, sqrt, turn
from asmade.motion.linkage.solve import (
    CRANK,
    CannotMeet,
    DoesNotAssemble,
    Lengths,
    Mechanism,
    Motion,
    Outputs,
    solve,
)

__all__ = [
    "CRANK",
    "LEFT",
    "RIGHT",
    "Assembly",
    "CannotMeet",
    "DoesNotAssemble",
    "Dual",
    "Lengths",
    "Links",
    "Mechanism",
    "Motion",
    "Outputs",
    "bearing",
    "half_turn",
    "solve",
    "sqrt",
    "turn",
]
