"""What every joint sum demands of its inputs: finite, of the right sign, in the right order, one value or many."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, TypeAlias

from asmade.measure.errors import OutOfRange

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    import numpy.typing as npt

    Values: TypeAlias = float | npt.NDArray[np.float64]


def positive(thing: str, value: Values, unit: str, way_out: str = "") -> None:
    """Refuse ``value`` unless every entry is finite and above 0."""
    _demand(thing, value, lambda v: v > 0, unit, f"what is possible: above 0 {unit}", way_out)


def not_negative(thing: str, value: Values, unit: str, way_out: str = "") -> None:
    """Refuse ``value`` unless every entry is finite and 0 or more."""
    _demand(thing, value, lambda v: v >= 0, unit, f"what is possible: 0 {unit} or more", way_out)


def within(
    thing: str, value: Values, low: float, high: float, unit: str, *, source: str = "", way_out: str = ""
) -> None:
    """Refuse ``value`` unless every entry is finite and from ``low`` to ``high``, both included."""
    _demand(thing, value, lambda v: (low <= v) & (v <= high), unit, f"{low:g} to {high:g} {unit}", way_out, source)


def larger(thing: str, value: Values, than: str, other: Values, unit: str, way_out: str = "") -> None:
    """Refuse ``value`` unless every entry is finite and greater than its ``other``."""
    positive(thing, value, unit, way_out)
    gap = value - other
    if _first_bad(gap, lambda v: v > 0) is None:
        return
    if isinstance(gap, int | float):
        first, second = float(value), float(other)
    else:
        at = int(gap.argmin())
        first, second = (float((gap * 0 + side).flat[at]) for side in (value, other))
    raise OutOfRange(
        thing, got=f"{first:g} {unit}", allowed=f"what is possible: above {than} {second:g} {unit}", way_out=way_out
    )


def _demand(
    thing: str, value: Values, holds: Callable[[Any], Any], unit: str, allowed: str, way_out: str, source: str = ""
) -> None:
    bad = _first_bad(value, holds)
    if bad is not None:
        raise OutOfRange(
            thing, got=f"{bad:g} {unit}".rstrip(), allowed=allowed.rstrip(), source=source, way_out=way_out
        )


def _first_bad(value: Values, holds: Callable[[Any], Any]) -> float | None:
    if isinstance(value, int | float):
        return None if math.isfinite(value) and holds(value) else value
    import numpy as np  # noqa: PLC0415  # a sum of single values starts without it

    bad = ~(np.isfinite(value) & holds(value))
    return float(value[bad].flat[0]) if bad.any() else None
