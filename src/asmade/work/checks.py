"""What every sum of the bench asks of its inputs; each refusal names the thing, the value and what is possible."""

from __future__ import annotations

import math

from asmade.measure.errors import OutOfRange, Refused


def finite(thing: str, value: float) -> float:
    """Take a number; refuse nan and infinity by name."""
    if not math.isfinite(value):
        raise Refused(thing, got=value, reason="it is not a number", way_out=f"give the {thing} as it is")
    return value


def above_zero(thing: str, value: float, unit: str = "mm", *, way_out: str = "") -> float:
    """Take a number above nothing."""
    if finite(thing, value) <= 0:
        raise OutOfRange(thing, got=f"{value:g} {unit}".strip(), allowed="above 0", way_out=way_out)
    return value


def not_below_zero(thing: str, value: float, unit: str = "mm") -> float:
    """Take a number that may be nothing but not less."""
    if finite(thing, value) < 0:
        raise OutOfRange(thing, got=f"{value:g} {unit}".strip(), allowed="0 or more")
    return value


def within(
    thing: str, value: float, low: float, high: float, unit: str = "mm", *, source: str = "", way_out: str = ""
) -> float:
    """Take a number from ``low`` to ``high``, ends included."""
    if not low <= finite(thing, value) <= high:
        raise OutOfRange(
            thing, got=f"{value:g} {unit}".strip(), allowed=f"{low:g} to {high:g} {unit}".strip(), source=source,
            way_out=way_out,
        )  # fmt: skip
    return value


def between(
    thing: str, value: float, low: float, high: float, unit: str = "mm", *, source: str = "", way_out: str = ""
) -> float:
    """Take a number strictly between ``low`` and ``high``."""
    if not low < finite(thing, value) < high:
        raise OutOfRange(
            thing, got=f"{value:g} {unit}".strip(), allowed=f"over {low:g} and under {high:g} {unit}".strip(),
            source=source, way_out=way_out,
        )  # fmt: skip
    return value


def whole(thing: str, value: int, least: int = 1, most: int = 100_000) -> int:
    """Take a whole number from ``least`` to ``most``."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise Refused(thing, got=value, reason="it is not a whole number", way_out=f"give {least} or more")
    if not least <= value <= most:
        raise OutOfRange(thing, got=value, allowed=f"{least} to {most}")
    return value
