"""Where a size made to suit is wanted: its place by the mates as best known, and how it follows them."""

from __future__ import annotations

import math
from typing import Protocol

from asmade.reckon.system import FloatArray, System


class Placed(Protocol):
    """What placing a to-suit size needs to know."""

    system: System
    best: FloatArray

    def own_reach(self, at: int) -> float: ...  # noqa: D102


_Window = tuple[float | None, float | None, float | None, dict[int, float]]
"""Low, high, the place that keeps the amount on paper, rates to mates by number."""


def suited_place(known: Placed, at: int) -> tuple[float, dict[int, float]] | None:
    """Where a to-suit size is wanted for its mates as best known: value, and its rate to each mate by number.

    Within two-sided limits the amount wanted is that of the sizes on paper where they give one inside the limits,
    else the middle; within a one-sided limit the size on paper stands as long as it keeps the limit by its own
    scatter. A size made to suit several relations is placed by the first and kept inside the others; a relation whose
    mates are not known has no say, and None is given where there is no other.
    """
    system = known.system
    paper = float(system.paper[at])
    place: float | None = None if math.isnan(paper) else paper
    mates: dict[int, float] = {}
    tied = False
    reach = known.own_reach(at)
    windows = [found for number in system.suits.get(at, ()) if (found := _window(known, number, at)) is not None]
    if not windows:
        return None
    for low, high, amount, rest in windows:
        slack = reach
        if low is not None and high is not None:
            slack = min(reach, (high - low) / 2)
            wanted = min(max((low + high) / 2 if amount is None else amount, low + slack), high - slack)
            if not tied:
                place, mates, tied = wanted, dict(rest), True
                continue
        if place is None:
            place = (low + slack) if low is not None else (high - slack) if high is not None else None
            mates = dict(rest)
            continue
        if low is not None and place < low + slack:
            place, mates = low + slack, dict(rest)
        elif high is not None and place > high - slack:
            place, mates = high - slack, dict(rest)
    return None if place is None else (place, mates)


def _window(known: Placed, number: int, at: int) -> _Window | None:
    """Where a size keeps requirement ``number`` with its mates as best known; None where one is not."""
    system = known.system
    requirement = system.requirements[number]
    total = system.suit_sums[number]
    own = float(total.terms[system.names[at]])
    rest = {system.index[a]: float(rate) for a, rate in total.terms.items() if system.index[a] != at}
    constant = float(total.constant)
    known_rest = constant + math.fsum(rate * float(known.best[size]) for size, rate in rest.items())
    if math.isnan(known_rest):
        return None
    limits = requirement.limits
    ends = [None if end is None else (end - known_rest) / own for end in (limits.low, limits.high)]
    low, high = (ends[0], ends[1]) if own > 0 else (ends[1], ends[0])
    on_paper = constant + own * float(system.paper[at]) + math.fsum(
        rate * float(system.paper[size]) for size, rate in rest.items()
    )  # fmt: skip
    inside = not math.isnan(on_paper) and all(
        (limits.low is None or on_paper >= limits.low, limits.high is None or on_paper <= limits.high)
    )
    amount = (on_paper - known_rest) / own if inside else None
    return low, high, amount, {size: -rate / own for size, rate in rest.items()}
