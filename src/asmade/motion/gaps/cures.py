"""Where to take it from: which size, by how much, and what that does to the other pairs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from asmade.measure.errors import OutOfRange
from asmade.motion.gaps.findings import GapFinding


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What a change does to another pair: its change, and what is then left over its wanted gap."""

    pair: str
    change_mm: float
    margin_mm: float


@dataclass(frozen=True, slots=True)
class Cure:
    """One size changed by so much gives the pair its gap. ``spoils``: pairs that then have less than they want."""

    size: str
    change_mm: float
    elsewhere: tuple[Elsewhere, ...]

    @property
    def spoils(self) -> tuple[Elsewhere, ...]:
        """Pairs that held and then no longer do."""
        return tuple(
            each for each in self.elsewhere if each.margin_mm < -1e-9 and each.margin_mm - each.change_mm >= -1e-9
        )


def where_to_take_it_from(
    finding: GapFinding,
    others: Sequence[GapFinding],
    may_change: Mapping[str, float],
    *,
    extra_mm: float = 0.0,
    worst: bool = False,
) -> tuple[Cure, ...]:
    """Single changes that give a pair the gap it wants, those that spoil nothing first, then the smallest.

    may_change: sizes that are still to be made, each with the most it may be changed by (mm). extra_mm: over the
    wanted gap. worst: give the wanted gap in the worst case, not only at best sizes. Linear in the sizes (a change of
    a millimetre is exact to a few hundredths: reckon again with it). Empty where nothing is short or nothing will do.
    """
    if not math.isfinite(extra_mm) or extra_mm < 0:
        raise OutOfRange("gap over the wanted one", got=extra_mm, allowed="0 mm or more")
    held = finding.worst.gap_mm if worst else finding.least.gap_mm
    short = finding.pair.wanted_mm + extra_mm - held
    if short <= 0:
        return ()
    found = []
    for size, most in may_change.items():
        rate = finding.rates.get(size, 0.0)
        if abs(rate) < 1e-3 or short / abs(rate) > most:
            continue
        change = short / rate
        elsewhere = tuple(
            Elsewhere(other.pair.name, other.rates[size] * change, other.margin_mm + other.rates[size] * change)
            for other in others
            if other.pair != finding.pair and size in other.rates
        )
        found.append(Cure(size, change, elsewhere))
    return tuple(sorted(found, key=lambda cure: (len(cure.spoils), abs(cure.change_mm), cure.size)))
