"""Drills by number, letter, fraction and millimetre; sheet and wire by gauge number. All sizes exact."""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Literal, get_args

from asmade.measure.errors import OutOfRange, Unknown
from asmade.measure.tables import Pedigree, read_table
from asmade.measure.writing import MM_PER_INCH, decimal, mixed, plain, rounded_decimal

Series = Literal["number", "letter", "fractional", "metric"]
Gauge = Literal["SWG", "BWG"]
EVERY_SERIES: tuple[Series, ...] = get_args(Series)

_NUMBER = re.compile(r"(?:No\.? ?|# ?)([0-9]+)(?: drill)?", re.IGNORECASE)
_LETTER = re.compile(r"(?:(?:drill|letter) ?)?([A-Z])(?: drill)?", re.IGNORECASE)
_GAUGE_LAST = re.compile(r"(?:No\.? ?)?([0-9]+(?:/0)?) ?([SB])\.?W\.?G\.?", re.IGNORECASE)
_GAUGE_FIRST = re.compile(r"([SB])\.?W\.?G\.? ?(?:No\.? ?)?([0-9]+(?:/0)?)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class NamedSize:
    """A size that goes by a name: ``No. 40``, ``letter F``, ``17/64 in``, ``4.2 mm``, ``16 SWG``."""

    name: str
    series: str
    mm: Fraction

    @property
    def inch(self) -> Fraction:
        """The size in inches, exact."""
        return self.mm / MM_PER_INCH


@dataclass(frozen=True, slots=True)
class NearDrill:
    """A drill near a wanted size; ``over_mm`` is drill less wanted size (negative: the drill is smaller)."""

    drill: NamedSize
    over_mm: Fraction

    def __str__(self) -> str:
        """Name the drill, its size and by how much it is over or under: ``No. 40 (2.489 mm, 0.011 under)``."""
        size, off = rounded_decimal(self.drill.mm, 3), rounded_decimal(abs(self.over_mm), 3)
        side = "over" if self.over_mm > 0 else "under"
        return f"{self.drill.name} ({size} mm, {off + ' ' + side if self.over_mm else 'exact'})"


@cache
def drills(series: Series) -> tuple[NamedSize, ...]:
    """Return every drill of ``series``, smallest first.

    number 1 to 97 and letter A to Z (ASME B94.11M), fractional 1/64 to 1 in by sixty-fourths, metric 0.2 to 25 mm as
    BS 328 and ISO 235 list them. Anchor: No. 1 is 0.228 in, letter F 0.257 in.
    """
    if series not in EVERY_SERIES:
        raise Unknown("drill series", got=series, near=EVERY_SERIES)
    table = read_table(f"drills_{series}")
    if series == "number":
        named = [NamedSize(f"No. {name}", series, size * MM_PER_INCH) for name, size in table.sizes().items()]
    elif series == "letter":
        named = [NamedSize(f"letter {name}", series, size * MM_PER_INCH) for name, size in table.sizes().items()]
    elif series == "fractional":
        named = [NamedSize(f"{mixed(size)} in", series, size * MM_PER_INCH) for size in table.stepped_sizes()]
    else:
        named = [NamedSize(f"{decimal(size)} mm", series, size) for size in table.stepped_sizes()]
    return tuple(sorted(named, key=lambda drill: drill.mm))


def drill_source(series: Series) -> Pedigree:
    """Return the pedigree of the table behind ``series``."""
    return read_table(f"drills_{series}").meta


@cache
def _by_name(series: Series) -> dict[str, NamedSize]:
    return {drill.name: drill for drill in drills(series)}


@cache
def gauges(gauge: Gauge) -> dict[str, NamedSize]:
    """Return every size of ``gauge`` by its number (``16``, ``3/0``), thickest first.

    SWG 7/0 to 50 (Order in Council of 1883, BS 3737), BWG 5/0 to 36 (Stubs iron wire). Anchor: 16 SWG is 0.064 in.
    """
    if gauge not in get_args(Gauge):
        raise Unknown("gauge", got=gauge, near=get_args(Gauge))
    table = read_table(f"gauge_{gauge.lower()}")
    return {name: NamedSize(f"{name} {gauge}", gauge, size * MM_PER_INCH) for name, size in table.sizes().items()}


def drill_size(name: str) -> NamedSize:
    """Return the number or letter drill called ``name``: ``No. 40``, ``#40``, ``letter F``, ``drill F``, ``F``.

    Raises ``Unknown`` for any other name. Anchor: No. 40 is 0.098 in = 2.4892 mm exactly.
    """
    text = plain(name, "drill")
    if found := _NUMBER.fullmatch(text):
        drill = _by_name("number").get(f"No. {found[1]}")
        if drill is None:
            raise Unknown("number drill", got=name, way_out="number drills run from 'No. 1' to 'No. 97'")
        return drill
    if found := _LETTER.fullmatch(text):
        return _by_name("letter")[f"letter {found[1].upper()}"]
    raise Unknown("drill", got=name, way_out="write 'No. 40' or 'letter F'")


def gauge_size(name: str) -> NamedSize:
    """Return the sheet or wire gauge called ``name``: ``16 SWG``, ``SWG 16``, ``3/0 SWG``, ``000 SWG``, ``20 BWG``.

    A number alone says nothing: the gauges differ. Raises ``Unknown``. Anchor: 16 SWG is 0.064 in = 1.6256 mm exactly.
    """
    text = plain(name, "gauge")
    if found := _GAUGE_LAST.fullmatch(text):
        number, initial = found.groups()
    elif found := _GAUGE_FIRST.fullmatch(text):
        initial, number = found.groups()
    else:
        raise Unknown("gauge", got=name, way_out="write '16 SWG' or '20 BWG'; a gauge number alone could be either")
    gauge: Gauge = "SWG" if initial in "Ss" else "BWG"
    every = gauges(gauge)
    if len(number) > 1 and not number.strip("0"):  # 000 is the old way to write 3/0
        number = f"{len(number)}/0"
    size = every.get("0" if number == "1/0" else number)
    if size is None:
        names = list(every)
        raise Unknown(gauge, got=name, way_out=f"{gauge} runs from '{names[0]} {gauge}' to '{names[-1]} {gauge}'")
    return size


@cache
def _ladder(series: tuple[Series, ...]) -> tuple[tuple[Fraction, ...], tuple[NamedSize, ...]]:
    every = sorted((drill for kind in series for drill in drills(kind)), key=lambda drill: drill.mm)
    return tuple(drill.mm for drill in every), tuple(every)


def nearest_drills(mm: Fraction, *, series: tuple[Series, ...] = EVERY_SERIES, count: int = 3) -> tuple[NearDrill, ...]:
    """Return the ``count`` drills of ``series`` nearest to ``mm``, nearest first; of two alike the smaller first.

    Raises ``OutOfRange`` below the smallest and above the largest drill. Anchor: at 2.5 mm, No. 40 is 0.0108 under.
    """
    sizes, every = _ladder(series)
    _within(mm, sizes)
    at = bisect_left(sizes, mm)
    around = every[max(0, at - count) : at + count]
    ranked = sorted(around, key=lambda drill: (abs(drill.mm - mm), drill.mm))
    return tuple(NearDrill(drill, drill.mm - mm) for drill in ranked[:count])


def drill_not_above(mm: Fraction, *, series: tuple[Series, ...] = EVERY_SERIES) -> NamedSize:
    """Return the largest drill of ``series`` that is not above ``mm``. Anchor: metric, 4.23 mm -> 4.2 mm."""
    sizes, every = _ladder(series)
    _within(mm, sizes)
    at = bisect_left(sizes, mm)
    return every[at] if sizes[at] == mm else every[at - 1]


def drill_not_below(mm: Fraction, *, series: tuple[Series, ...] = EVERY_SERIES) -> NamedSize:
    """Return the smallest drill of ``series`` that is not below ``mm``. Anchor: metric, 4.23 mm -> 4.3 mm."""
    sizes, every = _ladder(series)
    _within(mm, sizes)
    return every[bisect_left(sizes, mm)]


def _within(mm: Fraction, sizes: tuple[Fraction, ...]) -> None:
    if not sizes[0] <= mm <= sizes[-1]:
        low, high = rounded_decimal(sizes[0], 3), rounded_decimal(sizes[-1], 3)
        raise OutOfRange(
            "drill diameter",
            got=f"{float(mm):g} mm",
            allowed=f"{low} to {high} mm",
            source="the drill tables",
            way_out="bore it, or name a drill of your own",
        )
