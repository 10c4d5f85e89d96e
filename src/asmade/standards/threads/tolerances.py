"""Limits of size of a screw or nut, by the tolerance class of the standard its series belongs to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from asmade.measure.errors import Unknown
from asmade.standards.threads.limits_british import ba_limits, whitworth_limits
from asmade.standards.threads.limits_metric import metric_limits
from asmade.standards.threads.limits_unified import unified_limits

if TYPE_CHECKING:
    from asmade.standards.threads.bands import ThreadLimits
    from asmade.standards.threads.sizes import Thread


def thread_limits(thread: Thread, tolerance_class: str) -> ThreadLimits:
    """Return limits of major, effective and minor diameter of a screw or nut.

    Metric: 6g, 6H, 6h, 5g6g, 4h ... (ISO 965-1: the first figure and letter for the flanks, the second for the
    crests); small letters are screws, capitals nuts. Unified: 1A to 3A and 1B to 3B (ASME B1.1, length of engagement
    one diameter). Whitworth form: "close screw", "medium screw", "free screw", "close nut", "medium nut", "normal nut"
    (BS 84). BA: "close screw", "normal screw", "nut" (BS 93). Pipe threads are not held: raises ``Unknown``.

    Units: mm.

    Source: ISO 965-1, ASME B1.1, BS 84, BS 93, from memory, check before relying on it; the answer names its own.
    Range: metric M1 to M90 and the pitches ISO 965-1 tabulates for the diameter; BA 0 to 16.
    Anchor: M6 6g 5.794 to 5.974, effective 5.212 to 5.324; 6H effective 5.350 to 5.500, minor 4.917 to 5.153
    (ISO 965-2).
    """
    if thread.series == "M":
        return metric_limits(thread, tolerance_class)
    if thread.series in ("UNC", "UNF", "UNEF"):
        return unified_limits(thread, tolerance_class)
    if thread.series == "BA":
        return ba_limits(thread, tolerance_class)
    if thread.series in ("BSW", "BSF", "ME", "BSB"):
        return whitworth_limits(thread, tolerance_class)
    raise Unknown(
        f"tolerance class of {thread.designation}",
        got=tolerance_class,
        way_out=f"limits of {thread.series} are not held: make the thread to its mate or a gauge",
    )
