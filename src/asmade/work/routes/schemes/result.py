"""What a scheme gives: the stock, the features with their set-ups, and what could not be planned."""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.book.forms.measures import Measure
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature
from asmade.work.routes.rack import Choice


@dataclass(frozen=True, slots=True)
class Scheme:
    """Features in any order (the planner orders their operations)."""

    stock: Choice | None
    features: tuple[Feature, ...]
    warnings: tuple[str, ...] = ()
    claimed: frozenset[str] = frozenset()


def value(measure: Measure | None, bench: Bench) -> float:
    """A measure at the bench's sizes; NaN where it is lacking or something in it is not known.

    Source: the form of the part. Range: any. Anchor: a measure of one size that is 5 mm: 5.0.
    """
    if measure is None:
        return math.nan
    found = float(measure.value(bench.size))
    return found if math.isfinite(found) else math.nan


def dims(*measures: Measure | None) -> tuple[str, ...]:
    """The dimensions that measures are, each once; a sum names none."""
    found = [m.dimension for m in measures if m is not None and m.dimension]
    return tuple(dict.fromkeys(found))


def named(measure: Measure | None) -> frozenset[str]:
    """Every dimension in a measure."""
    return frozenset(measure.dims) if measure is not None else frozenset()
