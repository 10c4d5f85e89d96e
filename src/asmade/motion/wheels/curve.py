"""Curves: versines and offsets of a chord, and the least radius that the axles' sideways freedom allows."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, pairwise
from math import inf, isfinite, sqrt
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange

if TYPE_CHECKING:
    from collections.abc import Sequence


def versine(radius: float, chord: float) -> float:
    """Height of a curve over the middle of its chord: R - sqrt(R^2 - c^2/4), exact.

    Anchor: R 275, chord 114.351 -> 6.009 (Basak, Surveying and Levelling, ch. 10; the usual c^2 / 8R gives 5.944).
    """
    return offset_from_chord(radius, chord / 2, 0.0)


def offset_from_chord(radius: float, half_chord: float, from_middle: float) -> float:
    """Height of a curve over its long chord at ``from_middle`` from the chord's middle; what an inner axle moves.

        sqrt(R^2 - x^2) - sqrt(R^2 - c^2), c half the chord

    Anchor: R 573, half chord 148.3033, 30 from the middle -> 18.7386 (Basak, ch. 10).
    Raises: OutOfRange for a chord longer than the curve allows and for places beyond the chord.
    """
    if not isfinite(radius) or radius <= 0:
        raise OutOfRange("radius of the curve", got=radius, allowed="more than 0")
    if not isfinite(half_chord) or not 0 < half_chord <= radius:
        raise OutOfRange("half chord", got=half_chord, allowed=f"over 0 to the radius, {radius}")
    if not isfinite(from_middle) or abs(from_middle) > half_chord:
        raise OutOfRange("place on the chord", got=from_middle, allowed=f"up to {half_chord} from its middle")
    # difference of squares, so that a large radius loses no digits
    outer, inner = sqrt(radius**2 - from_middle**2), sqrt(radius**2 - half_chord**2)
    return (half_chord**2 - from_middle**2) / (outer + inner)


def least_radius(wheelbase: float, freedom: float) -> float:
    """Least curve radius of a rigid wheelbase whose middle may lie ``freedom`` off the chord: (W^2/4 + h^2) / 2h.

    freedom h: all the sideways freedom that helps, mm. Source: chord geometry. No freedom allows no curve: inf.
    Anchor: W 220, h 2 -> 3026 mm. Raises: OutOfRange for a wheelbase of nothing, a negative freedom.
    """
    if not isfinite(wheelbase) or wheelbase <= 0:
        raise OutOfRange("wheelbase", got=wheelbase, allowed="more than 0 mm")
    if not isfinite(freedom) or freedom < 0:
        raise OutOfRange("sideways freedom", got=freedom, allowed="0 mm or more")
    return inf if freedom == 0 else (wheelbase**2 / 4 + freedom**2) / (2 * freedom)


@dataclass(frozen=True, slots=True)
class LeastCurve:
    """Least curve radius and the three axles (from the front, 0 first) that set it; inf when a curve is not possible.

    used: how far the middle one of the three lies off the line of the other two, all their freedom used up.
    """

    radius: float
    axles: tuple[int, int, int] | None
    used: float


def least_curve(axle_x: Sequence[float], freedom_each_way: Sequence[float]) -> LeastCurve:
    """Least curve radius for axles at ``axle_x`` (x forward, foremost first), each free to move sideways each way.

    freedom_each_way: of each axle, side play plus half the free room of its flanges between the rails, plus any
    widening; a flangeless axle has as much as its tread is wide. Two axles stand on any curve as far as their flanges
    go (angle of attack is not asked here), so the radius is 0.
    Of any three axles the middle one lies off the chord of the outer two; it may use its own freedom and, in
    proportion, theirs. The worst three decide (in the plane any more than three strips with a common line need
    only be looked at in threes: Helly). The circle through three such places:
        R = sqrt((a^2 + h^2)(b^2 + h^2)) / 2h, a and b the distances of the middle one from the outer two.
    Anchor: 110, 0, -110 with 1, 1, 1 -> h 2 -> 3026 mm, as (W^2/4 + h^2) / 2h.
    """
    if len(axle_x) < 2 or len(axle_x) != len(freedom_each_way):
        raise OutOfRange(
            "axles on a curve", got=(len(axle_x), len(freedom_each_way)), allowed="2 or more, one freedom for each"
        )
    for place, free in zip(axle_x, freedom_each_way, strict=True):
        if not isfinite(place) or not isfinite(free) or free < 0:
            raise OutOfRange("place and freedom of an axle", got=(place, free), allowed="finite, freedom 0 or more")
    if any(fore <= aft for fore, aft in pairwise(axle_x)):
        raise OutOfRange("axle positions", got=tuple(axle_x), allowed="from the front, each behind the last")
    worst = LeastCurve(0.0, None, 0.0)
    for i, j, k in combinations(range(len(axle_x)), 3):
        a, b = axle_x[i] - axle_x[j], axle_x[j] - axle_x[k]
        h = freedom_each_way[j] + (b * freedom_each_way[i] + a * freedom_each_way[k]) / (a + b)
        radius = inf if h == 0 else sqrt((a * a + h * h) * (b * b + h * h)) / (2 * h)
        if radius > worst.radius:
            worst = LeastCurve(radius, (i, j, k), h)
    return worst


def flange_freedom(track_gauge: float, back_to_back: float, flange: float) -> float:
    """Total side play between the rails: gauge less back-to-back less two flanges; half of it each way.

    Source: published comparison of 3 1/2 in gauge wheel standards. Anchor (in): 3.5, 3.28, 0.080 -> 0.060.
    """
    for thing, value in (("track gauge", track_gauge), ("back-to-back", back_to_back), ("flange", flange)):
        if not isfinite(value) or value <= 0:
            raise OutOfRange(thing, got=value, allowed="more than 0")
    free = track_gauge - back_to_back - 2 * flange
    if free < 0:
        raise OutOfRange(
            "side play between the rails",
            got=f"{free:.4f}",
            allowed="0 or more",
            way_out="the wheels do not go between these rails: check back-to-back and flange",
        )
    return free
