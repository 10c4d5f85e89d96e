"""Threads of the trade: sizes, drills for them, measurement over wires, tolerance limits, substitutes."""

from __future__ import annotations

from asmade.standards.threads.bands import Band, ThreadLimits
from asmade.standards.threads.catalogue import (
    all_threads,
    find,
    same_threads,
    series_names,
    series_title,
    usual_percent,
)
from asmade.standards.threads.drilling import (
    CLEARANCES,
    ClearanceDrill,
    TappingDrill,
    clearance_drill,
    engagement,
    hole_for,
    tapping_drill,
    usual_tapping_drill,
)
from asmade.standards.threads.forms import ThreadForm, form
from asmade.standards.threads.limits_british import whitworth_effective_tolerance
from asmade.standards.threads.limits_unified import unified_effective_tolerance
from asmade.standards.threads.lookup import thread
from asmade.standards.threads.sizes import Thread
from asmade.standards.threads.substitutes import Substitute, compare, nearest_substitutes
from asmade.standards.threads.tolerances import thread_limits
from asmade.standards.threads.wires import (
    OverWires,
    best_wire,
    effective_from_wires,
    over_wires,
    wire_limits,
)

__all__ = [
    "CLEARANCES",
    "Band",
    "ClearanceDrill",
    "OverWires",
    "Substitute",
    "TappingDrill",
    "Thread",
    "ThreadForm",
    "ThreadLimits",
    "all_threads",
    "best_wire",
    "clearance_drill",
    "compare",
    "effective_from_wires",
    "engagement",
    "find",
    "form",
    "hole_for",
    "nearest_substitutes",
    "over_wires",
    "same_threads",
    "series_names",
    "series_title",
    "tapping_drill",
    "thread",
    "thread_limits",
    "unified_effective_tolerance",
    "usual_percent",
    "usual_tapping_drill",
    "whitworth_effective_tolerance",
    "wire_limits",
]
