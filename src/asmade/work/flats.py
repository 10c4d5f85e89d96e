"""Squares, hexagons and other flats from round bar: what bar it needs, how deep each flat, how wide it comes out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.measure.errors import OutOfRange
from asmade.work.checks import above_zero, whole


@dataclass(frozen=True, slots=True)
class Flats:
    """Flats on a round bar. ``corners_mm`` is over the corners where they are sharp, else the bar that is left."""

    count: int
    across_flats_mm: float
    bar_mm: float
    depth_mm: float
    flat_width_mm: float
    corners_mm: float
    sharp: bool
    least_bar_mm: float
    turn_deg: float


def across_corners_mm(count: int, across_flats_mm: float) -> float:
    """Over the corners of a regular figure with an even number of flats, mm: s / cos(pi / n).

    Source: geometry; Machinery's Handbook (hexagon 1.154701 s, square 1.414214 s).
    Range: 4, 6, 8 ... 60 flats, s above 0. Anchor: hexagon 5 mm: 5.7735 mm; square 0.5 in: 0.7071 in.
    """
    _even(count)
    return above_zero("across flats", across_flats_mm) / math.cos(math.pi / count)


def across_flats_mm(count: int, bar_mm: float) -> float:
    """Greatest size across the flats, with sharp corners, that comes out of a round bar, mm: D cos(pi / n).

    Source: geometry. Range: as `across_corners_mm`. Anchor: hexagon from 5 mm round: 4.3301 mm.
    """
    _even(count)
    return above_zero("bar", bar_mm) * math.cos(math.pi / count)


def depth_per_flat_mm(bar_mm: float, flats_mm: float) -> float:
    """How deep each flat is cut below the round, mm: (D - s) / 2.

    Source: geometry. Range: s above 0, below D. Anchor: 8 mm across flats on 9.24 mm round: 0.62 mm.
    """
    above_zero("across flats", flats_mm)
    if flats_mm >= above_zero("bar", bar_mm):
        raise OutOfRange("across flats", got=f"{flats_mm:g} mm", allowed=f"less than the bar, {bar_mm:g} mm",
                         way_out="take a larger bar")  # fmt: skip
    return (bar_mm - flats_mm) / 2


def flat_width_mm(bar_mm: float, flats_mm: float) -> float:
    """Width of one flat cut on a round bar before it meets its neighbours, mm: sqrt(D^2 - s^2).

    Source: geometry (chord). Range: s above 0, below D. Anchor: D 10, s 8: 6 mm.
    """
    depth_per_flat_mm(bar_mm, flats_mm)
    return math.sqrt(bar_mm**2 - flats_mm**2)


def flats_on_bar(count: int, flats_mm: float, bar_mm: float | None = None) -> Flats:
    """Flats on a bar; without ``bar_mm`` the least bar that gives sharp corners is taken.

    Two flats have no corners: a bar must be given for them. Raises ``OutOfRange`` for a bar that is no larger than the
    flats, or a number of flats that is odd.

    Source: geometry. Range: 2, 4, 6 ... 60 flats. Anchor: hexagon 8 mm: bar 9.2376 mm, 0.6188 mm deep, 4.6188 wide.
    """
    if count == 2:
        if bar_mm is None:
            raise OutOfRange("two flats", got="no bar", allowed="a bar of known diameter", way_out="give the bar")
        depth = depth_per_flat_mm(bar_mm, flats_mm)
        return Flats(2, flats_mm, bar_mm, depth, flat_width_mm(bar_mm, flats_mm), bar_mm, sharp=False,
                     least_bar_mm=flats_mm, turn_deg=180.0)  # fmt: skip
    least = across_corners_mm(count, flats_mm)
    bar = least if bar_mm is None else bar_mm
    depth = depth_per_flat_mm(bar, flats_mm)
    sharp = bar >= least * (1 - 1e-12)
    side = flats_mm * math.tan(math.pi / count)
    width = side if sharp else flat_width_mm(bar, flats_mm)
    return Flats(count, flats_mm, bar, depth, width, least if sharp else bar, sharp, least, 360 / count)


def _even(count: int) -> None:
    whole("number of flats", count, 4, 60)
    if count % 2:
        raise OutOfRange("number of flats", got=count, allowed="an even number: flats stand opposite one another",
                         way_out="for an odd number measure from a flat to the round opposite")  # fmt: skip
