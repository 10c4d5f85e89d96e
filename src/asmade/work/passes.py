"""Depths of cut from a size to another, and what this machine's dial reads after each: the last cut is measured for.

Roughing cuts are equal; then half of what was left for finishing is taken, the work is measured, and the rest is
taken by what was measured: "measure, then take the rest".
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from asmade.measure.errors import OutOfRange, Refused
from asmade.measure.show import exact
from asmade.measure.writing import MM_PER_INCH
from asmade.work.checks import above_zero, not_below_zero
from asmade.work.machines import Dial

LEAST_CUT_MM: Final = 0.02
"""On the radius, below which a tool rubs rather than cuts unless it is very keen: common practice, no source."""


@dataclass(frozen=True, slots=True)
class DialReading:
    """Where a dial is turned to: whole turns from zero, the mark, and what lies between marks; mm as dialled.

    Below zero the turns are below zero and the mark is what the dial then shows: -0.14 on a dial of 2 is one turn back
    and 1.86.
    """

    turns: int
    mark: Fraction
    off_mark: Fraction
    unit: str

    @property
    def words(self) -> str:
        """``2 turns + 1.35``, with what must be judged between marks."""
        unit = "mm" if self.unit == "mm" else "in"
        scale = Fraction(1) if self.unit == "mm" else MM_PER_INCH
        places = 3 if self.unit == "mm" else 4
        back = " back" if self.turns < 0 else ""
        turned = f"{abs(self.turns)} turn{'s' if abs(self.turns) != 1 else ''}{back} + " if self.turns else ""
        text = f"{turned}{float(self.mark / scale):.{places}f} {unit}"
        if self.off_mark:
            text += f" ({'+' if self.off_mark > 0 else '-'}{abs(float(self.off_mark / scale)):.{places + 1}f} by eye)"
        return text


@dataclass(frozen=True, slots=True)
class Pass:
    """One cut: what it is for, size after it, cut on the radius, the dial after it from zero at the start."""

    words: str
    size_mm: float
    cut_mm: float
    dial: DialReading | None
    measure: bool = False


@dataclass(frozen=True, slots=True)
class Passes:
    """All cuts from ``start_mm`` to ``target_mm`` on diameter (or thickness for a face)."""

    start_mm: float
    target_mm: float
    cuts: tuple[Pass, ...]
    warnings: tuple[str, ...] = ()


def dial_reading(dial: Dial, moved_mm: float | Fraction) -> DialReading:
    """Where the dial stands after the slide moved so far from zero: by what it reads, turns and the nearest mark.

    ``moved_mm`` is the slide's own way, either way; a dial that reads diameter shows twice that.
    """
    way = exact(moved_mm) * (2 if dial.reads == "diameter" else 1)
    on_mark = round(way / dial.division_mm) * dial.division_mm
    turns, mark = divmod(on_mark, dial.per_turn_mm)
    return DialReading(int(turns), mark, way - on_mark, dial.unit)


def cut_for(dial: Dial, reading_mm: float) -> float:
    """Cut on the radius (way of the slide) for a change of the dial's reading, mm.

    Source: definition of the dial. Range: 0 or more. Anchor: 0.40 mm on a dial that reads diameter: 0.20 mm.
    """
    return not_below_zero("reading", reading_mm) / (2 if dial.reads == "diameter" else 1)


def plan(
    start_mm: float, target_mm: float, *, rough_mm: float, finish_mm: float = 0.2, dial: Dial | None = None,
    face: bool = False,
) -> Passes:  # fmt: skip
    """Cuts from one size to another: a diameter turned down or a bore opened; ``face`` for a length or thickness.

    ``rough_mm``: deepest roughing cut (on the radius, or off the face); ``finish_mm``: left for finishing, on the same
    side. Roughing cuts are equal and none deeper; then half of the finishing metal, measure, then the rest as
    measured. Raises ``OutOfRange`` where there is nothing to take off, or less than a tool can cut.

    Range: sizes above 0; cut above 0.02 mm on the radius (a tool rubs below it: common practice, no source).
    Example: 20 to 16 mm, 0.75 mm deep, 0.2 left: three cuts of 0.6, then 0.1, measure, 0.1.
    """
    above_zero("size at the start", start_mm)
    above_zero("size wanted", target_mm)
    above_zero("deepest cut", rough_mm)
    not_below_zero("left for finishing", finish_mm)
    whole_way = abs(start_mm - target_mm) / (1 if face else 2)
    if whole_way < LEAST_CUT_MM / 2:
        raise OutOfRange(
            "metal to take off", got=f"{whole_way:.4f} mm{'' if face else ' on the radius'}",
            allowed=f"at least {LEAST_CUT_MM / 2:g} mm",
            way_out="a tool rubs on so little: use a fine file, emery on a board, or a lap, with care",
        )  # fmt: skip
    if face and target_mm > start_mm:
        raise Refused("facing", got=(start_mm, target_mm), reason="metal cannot be put on",
                      way_out="give the size at the start first")  # fmt: skip
    left = min(finish_mm, whole_way)
    roughing = whole_way - left
    count = math.ceil(roughing / rough_mm - 1e-9)
    inward = -1 if target_mm < start_mm else 1
    per = 1 if face else 2
    cuts: list[Pass] = []
    gone = 0.0

    def add(words: str, cut: float, *, measure: bool = False) -> None:
        nonlocal gone
        gone += cut
        reading = None if dial is None else dial_reading(dial, round(gone, 9))
        cuts.append(Pass(words, start_mm + inward * per * gone, cut, reading, measure))

    for number in range(count):
        add(f"roughing {number + 1} of {count}", roughing / count)
    if left >= 2 * LEAST_CUT_MM:
        add("half of the rest: then stop and measure", left / 2, measure=True)
        add("the rest, as measured", left / 2)
    elif left:
        add("finishing, after measuring", left)
    return Passes(start_mm, target_mm, tuple(cuts), _warnings(left, dial, whole_way))


def _warnings(left: float, dial: Dial | None, way: float) -> tuple[str, ...]:
    found = []
    if left < 2 * LEAST_CUT_MM:
        found.append(
            f"only {left:.3f} mm is left for finishing: not enough to cut, measure and cut again; measure before it"
        )
    if dial is not None and dial.travel_mm is not None and way > dial.travel_mm:
        found.append(f"{dial.name.replace('_', ' ')} goes {dial.travel_mm:g} mm only, {way:g} is wanted")
    return tuple(found)
