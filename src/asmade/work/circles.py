"""Hole circles and other holes by coordinates, and the dials of this machine with every approach from one side.

x to the right, y away from the builder, angles counter-clockwise from +x. A screw has backlash: every hole is
approached in the same direction on each slide; a move against it goes past by some turns' worth and comes back.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from asmade.measure.errors import OutOfRange
from asmade.work.checks import above_zero, finite, not_below_zero, whole
from asmade.work.machines import Dial
from asmade.work.passes import DialReading, dial_reading

PAST_MM: Final = 2.0
"""How far to go past before coming back: more than the backlash of a worn screw; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole: its number from 1, and where it lies from the datum, mm."""

    number: int
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class SlideMove:
    """One slide for one hole: where to, whether to go past first and how far back to go to, and the dial."""

    name: str
    to_mm: float
    by_mm: float
    back_to_mm: float | None
    dial: DialReading | None


@dataclass(frozen=True, slots=True)
class Approach:
    """How one hole is reached from the one before."""

    hole: Hole
    moves: tuple[SlideMove, ...]


def hole_circle(
    count: int, diameter_mm: float, *, start_rad: float = 0.0, centre_x_mm: float = 0.0, centre_y_mm: float = 0.0
) -> tuple[Hole, ...]:
    """Holes equally spaced on a circle, counter-clockwise from ``start_rad``: x = R cos(a), y = R sin(a).

    Source: geometry. Range: 1 to 1000 holes, diameter above 0.
    Anchor: six on 100 mm from 0 deg, the second: 25, 43.3013 mm.
    """
    whole("number of holes", count, 1, 1000)
    radius = above_zero("diameter of the circle", diameter_mm) / 2
    for thing, value in (("start", start_rad), ("centre x", centre_x_mm), ("centre y", centre_y_mm)):
        finite(thing, value)
    found = []
    for k in range(count):
        angle = start_rad + 2 * math.pi * k / count
        found.append(
            Hole(k + 1, centre_x_mm + radius * math.cos(angle) + 0.0, centre_y_mm + radius * math.sin(angle) + 0.0)
        )
    return tuple(found)


def chord_mm(count: int, diameter_mm: float) -> float:
    """Straight distance between neighbouring holes of a circle, mm: D sin(pi / n). The check with a caliper.

    Source: geometry; chord table of Machinery's Handbook. Range: 2 to 1000 holes.
    Anchor: 7 holes on 1: 0.43388 (Machinery's Handbook).
    """
    return above_zero("diameter of the circle", diameter_mm) * math.sin(
        math.pi / whole("number of holes", count, 2, 1000)
    )


def wall_between_mm(count: int, diameter_mm: float, hole_mm: float) -> float:
    """Metal between neighbouring holes, mm: the chord less one hole. Below nothing the holes break into one another.

    Source: geometry. Range: as `chord_mm`. Anchor: 6 holes of 5 mm on 30 mm: 10 mm.
    """
    return chord_mm(count, diameter_mm) - above_zero("hole", hole_mm)


def farthest_out_mm(holes: Sequence[Hole], wanted: Sequence[Hole]) -> float:
    """Greatest distance between two lists of holes, hole by hole, mm: what dials that round to marks make of it.

    Source: geometry. Range: lists of one length. Anchor: (0, 0) and (3, 4): 5 mm.
    """
    if len(holes) != len(wanted) or not holes:
        raise OutOfRange("holes", got=f"{len(holes)} and {len(wanted)}", allowed="two lists of one length, not empty")
    return max(math.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) for a, b in zip(holes, wanted, strict=True))


def on_marks(holes: Sequence[Hole], x: Dial, y: Dial) -> tuple[Hole, ...]:
    """The same holes with each coordinate at the nearest mark of its dial: what is got without judging between."""

    def nearest(value: float, dial: Dial) -> float:
        step = float(dial.division_mm) / (2 if dial.reads == "diameter" else 1)
        return round(value / step) * step

    return tuple(Hole(h.number, nearest(h.x_mm, x), nearest(h.y_mm, y)) for h in holes)


def approaches(
    holes: Sequence[Hole], *, x: Dial | None = None, y: Dial | None = None, past_mm: float = PAST_MM,
    positive: bool = True,
) -> tuple[Approach, ...]:  # fmt: skip
    """Reach the holes in the order given from the datum (0, 0), each slide always finishing in one direction.

    ``positive``: finish moving towards +x and +y. A move in that direction is made straight; one against it, or none
    at all, goes back ``past_mm`` beyond and comes forward. Readings are from zero at the datum.
    """
    above_zero("how far past", past_mm)
    at = {"x": 0.0, "y": 0.0}
    taken_up = {"x": False, "y": False}  # the datum may have been found from either side: the first move is made safe
    found = []
    for hole in holes:
        moves = []
        for name, dial, to in (("x", x, hole.x_mm), ("y", y, hole.y_mm)):
            by = finite(f"{name} of hole {hole.number}", to) - at[name]
            forward = by > 1e-9 if positive else by < -1e-9
            stays = abs(by) <= 1e-9 and taken_up[name]
            back = None
            if not stays and not (forward and (taken_up[name] or abs(by) >= past_mm)):
                back = to - past_mm if positive else to + past_mm
            reading = None if dial is None else dial_reading(dial, round(to, 9))
            moves.append(SlideMove(name, to, by, back, reading))
            at[name], taken_up[name] = to, True
        found.append(Approach(hole, tuple(moves)))
    return tuple(found)


def least_turning_back(holes: Sequence[Hole]) -> tuple[Hole, ...]:
    """The holes in an order that turns the x slide back never: by x, then by y.

    Their numbers stay, so that a sheet can name them.
    """
    return tuple(sorted(holes, key=lambda h: (round(h.x_mm, 6), round(h.y_mm, 6), h.number)))


def overshoot_needed_mm(backlash_mm: float) -> float:
    """How far past to go for a backlash that was measured: twice it, at least `PAST_MM`.

    Source: common practice, no source. Range: 0 or more. Anchor: 0.3 mm of backlash: 2 mm.
    """
    return max(PAST_MM, 2 * not_below_zero("backlash", backlash_mm))
