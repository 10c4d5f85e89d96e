"""Drills for threads: tapping drills for a share of full depth, and clearance drills."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Literal, get_args

from asmade.measure.errors import OutOfRange, Unknown
from asmade.measure.gauges import NamedSize, Series, drill_not_below, drills, nearest_drills
from asmade.standards.tables import exact, load
from asmade.standards.threads.catalogue import usual_percent

if TYPE_CHECKING:
    from collections.abc import Iterable

    from asmade.standards.threads.sizes import Thread

Clearance = Literal["close", "medium", "free"]
CLEARANCES: tuple[Clearance, ...] = get_args(Clearance)

_HANDBOOK = "Machinery's Handbook, percentage of full thread"
# Below 50 per cent a thread is soon stripped, above 100 the tap has nothing left to cut. Common practice, no source.
_LEAST_PERCENT, _MOST_PERCENT = 40.0, 100.0
_METRIC: tuple[Series, ...] = ("metric",)


@dataclass(frozen=True, slots=True)
class TappingDrill:
    """A drill for tapping: its size, the share of full depth it leaves, and where the choice comes from."""

    drill: NamedSize
    percent: float
    wanted_percent: float | None  # None when the size is printed in the source
    source: str

    @property
    def mm(self) -> float:
        """Diameter of the drill."""
        return float(self.drill.mm)


@dataclass(frozen=True, slots=True)
class ClearanceDrill:
    """A drill through which the screw passes, with the room it leaves on diameter."""

    drill: NamedSize
    fit: Clearance
    room_mm: float
    source: str

    @property
    def mm(self) -> float:
        """Diameter of the drill."""
        return float(self.drill.mm)


def hole_for(thread: Thread, percent: float) -> float:
    """Hole in mm that leaves ``percent`` of the full depth of ``thread``.

        hole = major - percent / 100 x full depth on diameter

    Source: full depth on diameter 1.299038 P for ISO and Unified (Machinery's Handbook), 1.280654 p for the Whitworth
    form (BS 84), twice the printed depth for BA (BS 93). Range: 40 to 100 per cent.
    Anchor: M6 at 75 per cent, 5.02572 mm (Machinery's Handbook formula).
    """
    if not _LEAST_PERCENT <= percent <= _MOST_PERCENT:
        raise OutOfRange(
            "share of full thread",
            got=f"{percent:g} %",
            allowed=f"{_LEAST_PERCENT:g} to {_MOST_PERCENT:g} %",
            source="common practice, no source",
            way_out="75 in steel, 60 in tube and hard stuff, 80 in soft metals is usual",
        )
    return thread.major_mm - 0.01 * percent * thread.full_depth_mm


def engagement(thread: Thread, drill_mm: float) -> float:
    """Share of full depth in per cent that a hole of ``drill_mm`` leaves.

        percent = 100 (major - hole) / full depth on diameter

    Source: as ``hole_for``. Range: over the core up to under the major diameter.
    Anchor: M10 with 8.5 mm, 76.98 (Machinery's Handbook formula).
    """
    smallest = thread.major_mm - thread.full_depth_mm
    if not (math.isfinite(drill_mm) and smallest * (1 - 1e-12) <= drill_mm < thread.major_mm):
        raise OutOfRange(
            f"tapping drill for {thread.designation}",
            got=f"{drill_mm:g} mm",
            allowed=f"{smallest:.3f} mm (full depth) to under {thread.major_mm:.3f} mm (major diameter)",
            source=thread.source,
            way_out="a larger hole leaves no thread, a smaller one breaks the tap",
        )
    return 100 * (thread.major_mm - drill_mm) / thread.full_depth_mm


def tapping_drill(thread: Thread, percent: float, drills: Iterable[NamedSize] | None = None) -> TappingDrill:
    """Return the drill nearest to ``percent`` of full depth, from ``drills`` (those in the shop) or the metric series.

    The nearest in diameter is taken; of two equally near the larger, for a tap that turns is worth more than a
    few per cent. The answer says what share it leaves. Raises ``OutOfRange`` when no drill given leaves 40 to 100 per
    cent.

    Source: Machinery's Handbook, percentage of full thread.
    Range: 40 to 100 per cent; metric drills of 0.2 to 25 mm unless others are given.
    Anchor: M6, 77 per cent, 5.0 mm (ISO 2306).
    """
    wanted = hole_for(thread, percent)
    usable = [
        drill
        for drill in (_metric_drills() if drills is None else drills)
        if thread.major_mm - 0.01 * _MOST_PERCENT * thread.full_depth_mm
        <= float(drill.mm)
        <= thread.major_mm - 0.01 * _LEAST_PERCENT * thread.full_depth_mm
    ]
    if not usable:
        raise OutOfRange(
            f"drills for tapping {thread.designation}",
            got="none of the drills given",
            allowed=f"{hole_for(thread, 100):.3f} to {hole_for(thread, _LEAST_PERCENT):.3f} mm",
            source=_HANDBOOK,
            way_out=f"buy {wanted:.2f} mm, or bore the hole",
        )
    chosen = min(usable, key=lambda drill: (round(abs(float(drill.mm) - wanted), 9), -drill.mm))
    return TappingDrill(chosen, engagement(thread, float(chosen.mm)), percent, _HANDBOOK)


def usual_tapping_drill(thread: Thread) -> TappingDrill:
    """Return the tapping drill that the source of the thread prints, else the one for its series' usual percentage.

    Source: ISO 2306 (metric), BS 1157 (BA, BSW, BSF); the answer names its own.
    Range: every listed thread for which a drill of the metric series will do.
    Anchor: 0 BA, 5.1 mm (BS 1157); M10, 8.5 mm (ISO 2306).
    """
    if thread.printed_drill_mm is None:
        return tapping_drill(thread, usual_percent(thread.series))
    size = Fraction(str(thread.printed_drill_mm))
    source = str(load("thread_series").row(thread.series)["drill_source"])
    return TappingDrill(_named(size), engagement(thread, float(size)), None, source)


def clearance_drill(thread: Thread, fit: Clearance) -> ClearanceDrill:
    """Return the drill through which the screw passes: "close", "medium" or "free".

    ISO metric threads of the sizes in ISO 273 take its fine, medium and coarse series. All others by rule: room on
    diameter 0.04 + 0.01 d (close; the next drill not smaller), 0.2 + 0.01 d (medium) and 0.4 + 0.03 d (free; both the
    nearest drill) in mm, of the metric series.

    Source: ISO 273:1979, from memory; the rule is common practice, no source; the answer says which.
    Range: ISO 273 M1 to M120; the rule to 25 mm, where the drills end.
    Anchor: M6 6.4, 6.6, 7.0 mm (ISO 273); 1/8 x 40 medium 3.5 mm (trade table).
    """
    if fit not in CLEARANCES:
        raise Unknown("clearance", got=fit, near=CLEARANCES, way_out="close, medium or free")
    if thread.series == "M":
        table = load("clearance_holes")
        for row in table.rows:
            if exact(row["major"]) == thread.major:
                return _clearance(thread, exact(row[fit]), fit, f"{table.meta.source}:{table.meta.edition}")
    if fit == "medium" and thread.printed_clearance_mm is not None:
        size = Fraction(str(thread.printed_clearance_mm))
        return _clearance(thread, size, fit, "trade table of model engineers' threads, one copy found")
    fixed, share = {"close": (0.04, 0.01), "medium": (0.2, 0.01), "free": (0.4, 0.03)}[fit]
    wanted = Fraction(thread.major_mm + fixed + share * thread.major_mm)
    if fit == "close":
        drill = drill_not_below(wanted, series=_METRIC)
    else:
        drill = nearest_drills(wanted, series=_METRIC, count=1)[0].drill
    return ClearanceDrill(drill, fit, float(drill.mm - thread.major), "by rule of size: common practice, no source")


def _clearance(thread: Thread, size: Fraction, fit: Clearance, source: str) -> ClearanceDrill:
    return ClearanceDrill(_named(size), fit, float(size - thread.major), source)


def _metric_drills() -> tuple[NamedSize, ...]:
    return drills("metric")


def _named(size: Fraction) -> NamedSize:
    text = f"{float(size):.3f}".rstrip("0").rstrip(".")
    return NamedSize(f"{text} mm", "metric", size)
