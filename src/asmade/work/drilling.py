"""Drilling: how deep, in what pecks, and the ladder from a centre drill to a bored or reamed hole."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from asmade.measure.errors import OutOfRange, Refused
from asmade.measure.gauges import NamedSize, drills
from asmade.standards.tables import load, number
from asmade.work.checks import above_zero, not_below_zero
from asmade.work.times import point_length_mm

Finish = Literal["drilled", "reamed", "bored and reamed", "bored"]
STRINGY: Final = frozenset({"copper", "aluminium", "stainless steel", "plastic"})
"""Families whose chips do not break and clear badly: peck sooner."""
TOUGH: Final = frozenset({"stainless steel", "carbon steel", "tool steel", "alloy steel", "copper"})
"""Families in which a small drill breaks sooner, by load or by chips that jam: common practice, no source."""
WEB_SHARE: Final = 0.2
"""Thickness of a twist drill's web to its diameter, so the least pilot: common practice, no source."""
PILOT_FROM_MM: Final = 8.0
"""From here on a pilot hole is usual on a light machine: common practice, no source."""
HAND_REAMING_MOST_MM: Final = 0.0762
"""Metal left for a reamer turned by hand, on diameter, at most 0.003 in: US Army TM 1-1500-204-23-9."""
_OVERSIZE_IN: Final = ((0.0625, 0.0015), (0.125, 0.003), (0.5, 0.005), (1.0, 0.007))
"""Mean by which a drill cuts over its size, inches: Machinery's Handbook, from memory."""


@dataclass(frozen=True, slots=True)
class Rung:
    """One step of the ladder: what tool, its size, what size of hole it leaves at most, why."""

    tool: str
    size_mm: float
    leaves_mm: float
    why: str


@dataclass(frozen=True, slots=True)
class Ladder:
    """The steps to a hole; ``left_mm`` for the last tool, on diameter."""

    finish: Finish
    hole_mm: float
    rungs: tuple[Rung, ...]
    left_mm: float
    warnings: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Pecks:
    """Depths at which the drill is drawn right out, the last the full depth (of the point), and what to mind."""

    depths_mm: tuple[float, ...]
    diameters_deep: float
    warnings: tuple[str, ...]


def oversize_mm(drill_mm: float) -> float:
    """By how much a drill cuts over its size on average, mm; straight lines between the printed sizes.

    Source: Machinery's Handbook, oversize diameters in drilling (2800 holes in steel and cast iron), from memory.
    Range: 1/16 to 1 in; below it the smallest printed figure, above it `OutOfRange`.
    Anchor: 1/8 in: 0.003 in.
    """
    inches = above_zero("drill", drill_mm) / 25.4
    if inches > _OVERSIZE_IN[-1][0]:
        raise OutOfRange("drill", got=f"{drill_mm:g} mm", allowed="up to 25.4 mm", source="Machinery's Handbook",
                         way_out="drill smaller and bore")  # fmt: skip
    if inches <= _OVERSIZE_IN[0][0]:
        return _OVERSIZE_IN[0][1] * 25.4
    for (a, low), (b, high) in pairwise(_OVERSIZE_IN):
        if inches <= b:
            return (low + (high - low) * (inches - a) / (b - a)) * 25.4
    raise AssertionError(inches)


def left_to_ream_mm(hole_mm: float) -> tuple[float, float]:
    """Metal to leave on diameter for a machine reamer: least, most, mm.

    Source: training notes, common practice, no source. Range: up to 50 mm. Anchor: 5 to 20 mm: 0.2 to 0.3 mm.
    """
    row = load("reaming_allowance", "asmade.work").step(above_zero("hole", hole_mm))
    return number(row["least"]), number(row["most"])


def drill_depth_mm(full_depth_mm: float, drill_mm: float, *, for_tap_pitch_mm: float | None = None) -> float:
    """How deep the point goes for a hole of full diameter so deep; for a tap two or more threads deeper.

    Three pitches of run-out are added for a tap (a plug tap's lead: common practice, no source), then the point.

    Source: geometry. Range: above 0. Anchor: 20 mm with a 6 mm drill of 118 deg: 21.803 mm.
    """
    extra = 0.0 if for_tap_pitch_mm is None else 3 * above_zero("pitch", for_tap_pitch_mm)
    return above_zero("depth", full_depth_mm) + extra + point_length_mm(drill_mm)


def pecks(depth_mm: float, drill_mm: float, family: str = "mild steel") -> Pecks:
    """At what depths to draw the drill right out and clear it.

    First after three diameters (two in metals whose chips do not break), then each time two diameters deeper, and one
    past six: common practice, no source. Cast iron and free-cutting brass clear of themselves to four.

    Range: depth and drill above 0. Example: 5 mm drill, 30 mm deep in mild steel: 15, 25, 30.
    """
    above_zero("depth", depth_mm)
    above_zero("drill", drill_mm)
    first = 2.0 if family in STRINGY else 4.0 if family in ("cast iron", "brass") else 3.0
    depths, at = [], first
    while at * drill_mm < depth_mm - 1e-9:
        depths.append(at * drill_mm)
        at += (1.0 if family in STRINGY else 2.0) if at < 6 else 1.0
    deep = depth_mm / drill_mm
    warnings = []
    small, most = (3.0, 4.0) if family in TOUGH else (1.5, 5.0)
    if drill_mm < small and deep > most:
        metal = f" in {family}" if family in TOUGH else ""
        warnings.append(
            f"a small drill{metal} so deep breaks easily ({deep:.1f} diameters): high speed, light hand, sharp, oil, "
            "clear it each millimetre"
        )
    if deep > 10:
        warnings.append("past ten diameters a drill wanders: drill from both ends, or use a longer drill after a short")
    return Pecks((*depths, depth_mm), deep, tuple(warnings))


def ladder(
    hole_mm: float, *, finish: Finish = "reamed", owned: Iterable[NamedSize] | None = None, by_hand: bool = False,
    largest_drill_mm: float = 25.4,
) -> Ladder:  # fmt: skip
    """Centre drill, pilot, drill, bore and ream for a hole, with the drills owned (None: metric by tenths and halves).

    The last drill is the largest that, cutting over its size as drills do on average, still leaves the least that the
    reamer wants. Raises ``Refused`` where no drill owned is small enough.

    Range: hole 1 to 50 mm. Example: 10 mm reamed: centre, pilot, 9.7 mm, reamer.
    """
    if not 1 <= above_zero("hole", hole_mm) <= 50:
        raise OutOfRange("hole", got=f"{hole_mm:g} mm", allowed="1 to 50 mm", source="the allowances held")
    have = tuple(sorted(drills("metric") if owned is None else owned, key=lambda d: d.mm))
    least, most = _left(hole_mm, finish, by_hand=by_hand)
    bored = finish in ("bored", "bored and reamed")
    to_drill = hole_mm - (max(1.0, 0.06 * hole_mm) if bored else least)
    fits = [
        d for d in have if float(d.mm) <= largest_drill_mm and float(d.mm) + oversize_mm(float(d.mm)) <= to_drill + 1e-9
    ]
    if finish == "drilled":
        fits = [d for d in have if float(d.mm) <= hole_mm + 1e-9]
    if not fits:
        raise Refused("drills owned", got=[d.name for d in have][:8], reason=f"none is small enough for {hole_mm:g} mm",
                      way_out="list the drills you have, or bore the hole")  # fmt: skip
    last = float(fits[-1].mm)
    opened = last + oversize_mm(last)
    rungs = [
        Rung("centre drill", min(last, hole_mm) * 0.5, 0.0, "so that the drill starts true: spot to half its width")
    ]
    if last >= PILOT_FROM_MM:
        pilot = next((d for d in have if float(d.mm) >= max(WEB_SHARE * last, 0.3 * last)), fits[0])
        rungs.append(Rung("drill", float(pilot.mm), float(pilot.mm) + oversize_mm(float(pilot.mm)),
                          "pilot, a little over the web of the next"))  # fmt: skip
    rungs.append(Rung("drill", last, opened, "the largest that leaves enough" if finish != "drilled" else "to size"))
    warnings = []
    left = hole_mm - opened
    if bored:
        rungs.append(Rung("boring tool", hole_mm - (least + most) / 2 if finish == "bored and reamed" else hole_mm,
                          hole_mm - least if finish == "bored and reamed" else hole_mm,
                          "makes it true and straight, which a reamer cannot"))  # fmt: skip
        left = least if finish == "bored and reamed" else 0.0
    if "reamed" in finish:
        rungs.append(Rung("reamer", hole_mm, hole_mm, "by hand, never backwards" if by_hand else "half the speed, oil"))
        if left > most + 1e-9:
            warnings.append(
                f"{left:.2f} mm is left, more than the {most:g} usual: bore before reaming, or buy a drill between"
            )
    if finish == "drilled" and float(fits[-1].mm) < hole_mm - 1e-9:
        warnings.append(f"no drill of {hole_mm:g} mm: {fits[-1].name} is {hole_mm - last:.3f} under")
    if not bored and last > PILOT_FROM_MM:
        warnings.append("a drill follows its pilot, not the axis: bore where the hole must be true to something")
    return Ladder(finish, hole_mm, tuple(rungs), left, tuple(warnings),
                  "allowances common practice; oversize of drills Machinery's Handbook, from memory")  # fmt: skip


def _left(hole_mm: float, finish: Finish, *, by_hand: bool) -> tuple[float, float]:
    if "reamed" not in finish:
        return 0.0, 0.0
    return (HAND_REAMING_MOST_MM * 2 / 3, HAND_REAMING_MOST_MM) if by_hand else left_to_ream_mm(hole_mm)


def reaming_speed(drilling_m_min: float, *, by_machine: bool = True) -> float:
    """Cutting speed of a machine reamer, m/min: about half that of drilling. A hand reamer is turned by hand.

    Source: US War Department TM 1-420, sec. 37. Range: above 0. Anchor: half.
    """
    if not by_machine:
        raise Refused("speed of a hand reamer", got="by machine", reason="it is turned by hand, a wrench at the square",
                      way_out="take a machine reamer, or turn it by hand with the spindle stopped")  # fmt: skip
    return 0.5 * above_zero("drilling speed", drilling_m_min, "m/min")


def breakthrough_mm(plate_mm: float, drill_mm: float) -> float:
    """Feed by hand from when the point breaks through until the lips are clear: the point's length, mm.

    Source: geometry. Range: plate 0 or more. Anchor: 6 mm drill, 118 deg: 1.803 mm.
    """
    not_below_zero("plate", plate_mm)
    return point_length_mm(drill_mm)
