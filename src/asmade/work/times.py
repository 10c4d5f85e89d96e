"""How long a cut takes; the setting up, measuring and tea are the builder's own figure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from asmade.work.checks import above_zero, finite, not_below_zero, whole, within


@dataclass(frozen=True, slots=True)
class TimeEstimate:
    """Minutes at the machine: cutting, and handling as the builder reckons it for each cut and each set-up."""

    cutting_min: float
    handling_min: float
    setting_up_min: float

    @property
    def total_min(self) -> float:
        """All together."""
        return self.cutting_min + self.handling_min + self.setting_up_min


def cutting_time_min(length_mm: float, feed_mm: float, rev_min: float, passes: int = 1) -> float:
    """Minutes of cutting in turning, boring, facing: t = passes L / (f n).

    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology. Range: above 0.
    Anchor: 100 mm at 0.1 mm a turn, 500 rev/min: 2 min.
    """
    travel = above_zero("length of cut", length_mm)
    return whole("passes", passes, 1, 10_000) * travel / (above_zero("feed", feed_mm) * above_zero("speed", rev_min))


def point_length_mm(diameter_mm: float, point_rad: float = math.radians(118)) -> float:
    """Length of a drill's point, mm: D / (2 tan(sigma/2)).

    Source: geometry. Range: point 60 to 180 deg. Anchor: 6 mm, 118 deg: 1.803 mm (by hand).
    """
    within("point of the drill", math.degrees(finite("point of the drill", point_rad)), 60, 180, "deg")
    return above_zero("drill", diameter_mm) / (2 * math.tan(point_rad / 2))


def drilling_time_min(
    depth_mm: float, drill_mm: float, feed_mm: float, rev_min: float, point_rad: float = math.radians(118)
) -> float:
    """Minutes of drilling to a full depth, the point included: t = (depth + D / (2 tan(sigma/2))) / (f n).

    Source: trade-school tables. Range: above 0, point 60 to 180 deg.
    Anchor: 6 mm, 20 mm deep, 0.1 mm, 800 rev/min, 118 deg: 0.27253 min.
    """
    way = above_zero("depth", depth_mm) + point_length_mm(drill_mm, point_rad)
    return way / (above_zero("feed", feed_mm) * above_zero("spindle speed", rev_min, "rev/min"))


def approach_mm(cutter_mm: float, depth_mm: float) -> float:
    """Way from first touch to full depth of a slab or side cutter, mm: sqrt(D d - d^2).

    Source: Sharma, A Textbook of Production Engineering. Range: depth above 0, up to half the cutter.
    Anchor: 50 mm cutter, 3.2 mm deep: 12.24 mm (Sharma, within the time of its example).
    """
    above_zero("cutter", cutter_mm)
    within("depth of cut", depth_mm, 0, cutter_mm / 2)
    return math.sqrt(cutter_mm * depth_mm - depth_mm**2)


def milling_time_min(length_mm: float, table_feed_mm_min: float, extra_mm: float = 0.0, passes: int = 1) -> float:
    """Minutes of milling: t = passes (L + extra) / v; ``extra_mm`` is approach and overrun.

    Source: Kalpakjian and Schmid; Sharma. Range: above 0, extra 0 or more.
    Anchor: 300 mm, cutter 50 mm 3.2 mm deep, 500 mm/min: 37.5 s (Sharma).
    """
    way = above_zero("length of cut", length_mm) + not_below_zero("approach and overrun", extra_mm)
    return whole("passes", passes, 1, 10_000) * way / above_zero("table feed", table_feed_mm_min, "mm/min")


def estimate(
    cuts_min: Sequence[float], *, handling_each_min: float = 1.0, set_ups: int = 1, set_up_min: float = 15.0
) -> TimeEstimate:
    """Add up an operation: cutting times, a minute to measure and set at each cut, a quarter of an hour per set-up.

    Source: handling and setting up are common practice, no source: give your own.
    Range: 0 or more. Anchor: two cuts of 2 min, one set-up: 21 min.
    """
    cutting = sum(not_below_zero("cutting time", each, "min") for each in cuts_min)
    handling = len(cuts_min) * not_below_zero("handling", handling_each_min, "min")
    return TimeEstimate(
        cutting, handling, whole("set-ups", set_ups, 0, 1000) * not_below_zero("setting up", set_up_min, "min")
    )
