"""What would be lost if every size were rounded by itself: the tempting way, shown so that nobody takes it unawares.

Each size not yet decided goes to the nearest half millimetre, or to the nearest stock or tool size where it is taken
as it comes; the drawing's own figure stands where it must be kept exactly. Requirements that the drawing keeps and the
rounded sizes do not are what the choice of sizes, which decides all at once, is for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from asmade.book.model import Build
from asmade.reckon.candidates import drawn_mm, named_candidates
from asmade.reckon.requirement import Limits
from asmade.reckon.rows import base_row
from asmade.reckon.values import MADE, Values

HALF_MM: Final = 0.5
AS_IT_COMES: Final = ("stock as is", "reamed", "drilled", "jig drilled")
CODES: Final = ("chain", "wall", "play")
"""Fits are made to suit whatever comes; sums of several parts are what rounding spoils."""


@dataclass(frozen=True, slots=True)
class Lost:
    """A requirement that rounding each size by itself would break, values in mm."""

    subject: str
    drawn: float
    rounded: float
    limits: Limits
    worst: tuple[tuple[str, float, float], ...]

    @property
    def short_by(self) -> float:
        """How far outside its limits the rounded sizes put it."""
        low, high = self.limits.low, self.limits.high
        below = 0.0 if low is None else low - self.rounded
        above = 0.0 if high is None else self.rounded - high
        return max(below, above)


def lost_by_rounding(build: Build, values: Values) -> tuple[Lost, ...]:
    """Requirements that the drawn figures keep and that would fail if each undecided size were rounded by itself.

    Of a relation that stands at several places the worst; sums of many sizes first, as those nobody sees coming.
    """
    system = values.system
    plain: dict[int, float] = {}
    rounded: dict[int, float] = {}
    for at, address in enumerate(system.names):
        dimension = system.dimensions[at]
        best, paper = float(values.best[at]), float(system.paper[at])
        settled = values.source[at] == MADE or dimension is None or bool(system.paper_is_chosen[at])
        drawn = None if dimension is None else drawn_mm(dimension, address.place, build.design.drawing_unit)
        plain[at] = paper if drawn is None else drawn
        rounded[at] = best if settled and not math.isnan(best) else plain[at]
        if not settled and drawn is not None and dimension is not None and not dimension.of_kind.angle:
            rounded[at] = _nearest(build, values, at, drawn)
    found: dict[str, tuple[int, Lost]] = {}
    for requirement in system.requirements:
        limits = requirement.limits
        if requirement.code not in CODES or requirement.unit != "mm":
            continue
        row = base_row(values, requirement)
        if row is None or not all(math.isfinite(plain[at]) for at in row.terms):
            continue
        before = row.constant + math.fsum(rate * plain[at] for at, rate in row.terms.items())
        after = row.constant + math.fsum(rate * rounded[at] for at, rate in row.terms.items())
        if _within(before, limits) and not _within(after, limits):
            moved = sorted(row.terms, key=lambda at: -abs(row.terms[at] * (rounded[at] - plain[at])))
            worst = tuple((str(system.names[at]), plain[at], rounded[at]) for at in moved[:4])
            lost = Lost(requirement.subject, before, after, limits, worst)
            name = requirement.subject.partition("@")[0]
            if name not in found or lost.short_by > found[name][1].short_by:
                found[name] = (len(row.terms), lost)
    return tuple(lost for _, lost in sorted(found.values(), key=lambda pair: (-pair[0], -pair[1].short_by)))


def _within(value: float, limits: Limits) -> bool:
    return (limits.low is None or value >= limits.low - 1e-9) and (limits.high is None or value <= limits.high + 1e-9)


def _nearest(build: Build, values: Values, at: int, drawn: float) -> float:
    """Nearest half millimetre; nearest size of stock or tool where the size is taken as it comes."""
    dimension = values.system.dimensions[at]
    if dimension is None or dimension.kept == "exact":
        return drawn
    if dimension.made_by in AS_IT_COMES:
        piece = build.piece_at(values.system.names[at])
        named = named_candidates(build, values.capability, piece, dimension, drawn)
        sizes = [float(n.size.removesuffix(" mm")) for n in named]
        if sizes:
            return min(sizes, key=lambda mm: abs(mm - drawn))
    return round(drawn / HALF_MM) * HALF_MM
