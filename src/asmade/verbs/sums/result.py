"""What every quick sum gives: tables for people, the sum written out, sources, cautions, and plain data.

Figures are put into words here once, so that every face shows the same; what a sum is made of stands in its own module.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from asmade.measure.errors import OutOfRange, Refused
from asmade.measure.lengths import Length, Unit, read_length
from asmade.measure.quantities import read_quantity
from asmade.measure.show import show_inch, show_thou, show_to

MM_PER_INCH: Final = 25.4
DIGITS: Final = 10


@dataclass(frozen=True, slots=True)
class Rows:
    """A table for people; ``figures`` are the columns that line up on the right."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class QuickSum:
    """One quick sum: how what was given was read, tables, working, sources, cautions, and plain data for machines."""

    name: str
    read_as: tuple[str, ...]
    tables: tuple[Rows, ...]
    working: tuple[str, ...]
    sources: tuple[str, ...]
    data: Mapping[str, Any]
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def plain(self) -> dict[str, Any]:
        """Plain data: the figures under their own names, then how they came about. No nan, no infinity."""
        return {
            **rounded(self.data),
            "read_as": list(self.read_as),
            "notes": list(self.notes),
            "working": list(self.working),
            "sources": list(self.sources),
            "cautions": list(self.cautions),
        }


def rounded(value: Any) -> Any:
    """Plain data with figures to ten digits; what has no finite value is None."""
    if isinstance(value, Mapping):
        return {str(k): rounded(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(v) for v in value]
    if isinstance(value, Fraction):
        value = float(value)
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}") + 0.0 if math.isfinite(value) else None
    return value


def size(text: str, thing: str, *, unit: Unit = "mm") -> Length:
    """Read a size that must be above 0, as shops write it; a bare figure is in ``unit``."""
    found = read_length(text, unit=unit, thing=thing)
    if found.mm <= 0:
        raise OutOfRange(
            thing,
            got=f"{float(found.mm):g} mm",
            allowed="what is possible: above 0 mm",
            way_out=f"give the {thing} as it is",
        )
    if found.upper is not None or found.fit_class is not None or found.remark is not None:
        raise Refused(thing, got=text, reason="one plain size is wanted here", way_out="leave the limits out")
    return found


def drill_size(text: str) -> Length:
    """Read a drill by number, letter or size; where a drill is asked for, a letter alone is one."""
    alone = text.strip()
    return size(f"letter {alone}" if len(alone) == 1 and alone.isalpha() else text, "drill")


def amount(text: str, thing: str, *, unit: Unit = "mm", signed: bool = False) -> Length:
    """Read an amount (a gap, a tightness) that may be 0, and below 0 where ``signed``."""
    return read_length(text, unit=unit, signed=signed, thing=thing)


def quantity(text: str, kind: str, thing: str, *, bare: str = "") -> tuple[float, str]:
    """Read a quantity; its value inside and how it was read."""
    found = read_quantity(text, kind=kind, bare=bare, thing=thing)
    return float(found.value), f"{thing} {found.how}"


def pair(text: str, kind: str, thing: str, *, bare: str = "") -> tuple[float, float, str]:
    """Read ``0.05 to 0.12``, least before most, or one figure that is both."""
    parts = [part.strip() for part in text.split(" to ")]
    if len(parts) > 2 or not all(parts):
        raise Refused(thing, got=text, reason="it is neither one figure nor two", way_out="write '0.05 to 0.12'")
    low, high = (float(read_quantity(part, kind=kind, bare=bare, thing=thing).value) for part in (parts[0], parts[-1]))
    if low > high:
        raise OutOfRange(thing, got=text, allowed="the least before the most", way_out="exchange the two")
    return low, high, f"{thing} {text}"


def length_pair(text: str, thing: str, *, signed: bool = False) -> tuple[float, float, str]:
    """Read two lengths, ``0.03 to 0.10 mm``, least before most."""
    parts = [part.strip() for part in text.split(" to ")]
    if len(parts) != 2 or not all(parts):
        raise Refused(thing, got=text, reason="it is not two sizes", way_out="write '0.03 to 0.10 mm'")
    low, high = (float(read_length(part, unit="mm", signed=signed, thing=thing).mm) for part in parts)
    if low > high:
        raise OutOfRange(thing, got=text, allowed="the least before the most", way_out="exchange the two")
    return low, high, f"{thing} {low:g} to {high:g} mm"


def mm(value: float, step: str = "0.001") -> str:
    """A length in mm for a table."""
    return show_to(float(value), step)


def inch(value_mm: float, step: str = "0.0001") -> str:
    """A length given in mm, in inches for a table."""
    return show_inch(float(value_mm), step)


def thou(value_mm: float) -> str:
    """A small length given in mm, in thousandths of an inch."""
    return show_thou(float(value_mm), "0.1")


def um(value: float) -> str:
    """A deviation in micrometres with its sign."""
    text = show_to(float(value), "0.1").removesuffix(".0")
    return text if value <= 0 else f"+{text}"


def figure(value: float | None, digits: int = 4) -> str:
    """A quantity to some significant digits; "not known" where there is none."""
    if value is None:
        return "not known"
    if not math.isfinite(value):
        return "no limit"
    if value == 0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{min(places, 6)}f}"


def clearance_words(low_mm: float, high_mm: float) -> str:
    """``0.007 to 0.041 mm clear``, ``0.001 to 0.035 mm tight``, ``0.010 tight to 0.020 clear``, all on diameter."""
    if low_mm >= 0:
        return f"{mm(low_mm)} to {mm(high_mm)} mm clear on diameter"
    if high_mm <= 0:
        return f"tight by {mm(-high_mm)} to {mm(-low_mm)} mm on diameter"
    return f"from tight by {mm(-low_mm)} to {mm(high_mm)} mm clear on diameter"


def unique(texts: Sequence[str]) -> tuple[str, ...]:
    """Texts once each, in order, empty ones left out."""
    return tuple(dict.fromkeys(text for text in texts if text))
