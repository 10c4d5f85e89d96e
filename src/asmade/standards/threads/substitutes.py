"""The nearest thread of another series, when a tap or die is not to be had."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.measure.errors import Refused
from asmade.standards.threads.catalogue import all_threads, series_names

if TYPE_CHECKING:
    from collections.abc import Iterable

    from asmade.standards.threads.sizes import Thread

# How much a ratio of 1.1 counts beside the same ratio of another size: the diameter decides whether parts still go
# together, the strength whether they hold, the pitch how finely it adjusts. Common practice, no source.
_WEIGHT_STRENGTH, _WEIGHT_PITCH, _WEIGHT_MAJOR = 1.0, 0.35, 3.0
_WEAKER_COUNTS = 1.5  # a loss of strength counts half as much again as a gain
_WIDEST = 1.6  # a diameter further off than this is no substitute


@dataclass(frozen=True, slots=True)
class Substitute:
    """A thread that may stand for another, with its ratios to it (substitute / original)."""

    thread: Thread
    instead_of: str
    strength_ratio: float  # of the area that carries tension
    pitch_ratio: float
    major_ratio: float
    major_change_mm: float  # substitute less original: above 0 asks for a larger hole
    unlikeness: float  # what the ranking is by; 0 = the same thread

    @property
    def fits_the_old_hole(self) -> bool:
        """Whether a screw of the substitute passes where the original passed."""
        return self.major_change_mm <= 0


def nearest_substitutes(
    thread: Thread,
    series: str | Iterable[str] | None = None,
    have: Iterable[Thread] | None = None,
    most: int = 5,
) -> tuple[Substitute, ...]:
    """Rank the threads that could stand for ``thread``, nearest first.

    ``series``: from which series (a name or several; None = every other series and its own). ``have``: only threads
    for which the shop has taps and dies (None = every listed thread). The thread itself, under whatever name, is never
    among them: ``same_threads`` tells those.

        unlikeness = k |ln strength| + 0.35 |ln pitch| + 3 |ln major|

    each the ratio of substitute to original; k = 1, or 1.5 if the substitute is weaker.

    Source: common practice, no source, for the weights.
    Range: diameters off by a ratio up to 1.6; the others are left out.
    Anchor: for 7/32 x 40 (5.556 mm) the nearest metric threads are M5.5 x 0.5 and M6 x 0.75 (by hand).
    """
    if most < 1:
        raise Refused("number of substitutes", got=most, reason="at least one must be asked for")
    wanted = series_names() if series is None else ((series,) if isinstance(series, str) else tuple(series))
    pool = [t for name in wanted for t in all_threads(name)] if have is None else list(have)
    if have is not None and series is not None:
        names = {name.strip().upper() for name in wanted}
        pool = [t for t in pool if t.series.upper() in names]
    found: dict[str, Substitute] = {}
    for other in pool:
        if not thread.is_the_same_as(other) and other.designation not in found:
            candidate = compare(thread, other)
            if 1 / _WIDEST <= candidate.major_ratio <= _WIDEST:
                found[other.designation] = candidate
    return tuple(sorted(found.values(), key=lambda s: (s.unlikeness, s.thread.designation))[:most])


def compare(thread: Thread, other: Thread) -> Substitute:
    """Compare ``other`` with ``thread``: the ratios, and how unlike both are."""
    strength = other.stress_area_mm2 / thread.stress_area_mm2
    pitch = other.pitch_mm / thread.pitch_mm
    major = other.major_mm / thread.major_mm
    weaker = _WEAKER_COUNTS if strength < 1 else 1.0
    unlike = (
        _WEIGHT_STRENGTH * weaker * abs(math.log(strength))
        + _WEIGHT_PITCH * abs(math.log(pitch))
        + _WEIGHT_MAJOR * abs(math.log(major))
    )
    change = other.major_mm - thread.major_mm
    return Substitute(other, thread.designation, strength, pitch, major, change, unlike)
