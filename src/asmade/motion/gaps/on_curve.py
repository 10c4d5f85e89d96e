"""On a curve: how far each axle stands to the side in the frame, and which pair is then the nearest."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gaps.findings import Least, least_gap
from asmade.motion.gaps.scene import Element, Pair, Scene


@dataclass(frozen=True, slots=True)
class FirstTouch:
    """A pair on the curve: its least gap with the axles as far to the side as the curve wants, and the margin."""

    pair: Pair
    least: Least

    @property
    def margin_mm(self) -> float:
        """Least gap less the wanted one."""
        return self.least.gap_mm - self.pair.wanted_mm


def offsets_on_curve(radius_mm: float, axle_x_mm: Sequence[float], freedom_mm: Sequence[float]) -> tuple[float, ...]:
    """How far to the side each axle stands in the frame on a curve, towards its outside positive, mm.

        offset = x^2 / (R + sqrt(R^2 - x^2)) - (a + b x), the frame's own place a and slant b chosen so that
        the greatest part of any axle's freedom that is used is least

    axle_x_mm: along the frame, forward positive. freedom_mm: each way, more than 0. Of any three axles the alternating
    use of their freedom tells that part (Chebyshev's rule for a straight line through weighted points).
    Raises ``OutOfRange`` for a curve too sharp for the freedom, with the part by which it is.
    Anchor: axles 110, 0, -110, freedom 1 each, R 3026 mm: a versine of 2 mm, shared as -1, 1, -1.
    """
    if not math.isfinite(radius_mm) or radius_mm <= 0:
        raise OutOfRange("radius of the curve", got=radius_mm, allowed="more than 0 mm")
    if len(axle_x_mm) != len(freedom_mm) or len(axle_x_mm) < 2:
        raise OutOfRange("axles on a curve", got=(len(axle_x_mm), len(freedom_mm)), allowed="2 or more, a freedom each")
    for place, way in zip(axle_x_mm, freedom_mm, strict=True):
        if not (math.isfinite(place) and math.isfinite(way)) or way <= 0:
            raise OutOfRange("place and freedom of an axle", got=(place, way), allowed="finite, freedom more than 0 mm")
    if any(fore <= aft for fore, aft in pairwise(axle_x_mm)):
        raise OutOfRange("axle positions", got=tuple(axle_x_mm), allowed="from the front, each behind the last")
    x = np.asarray(axle_x_mm, dtype=np.float64)
    x = x - (x[0] + x[-1]) / 2
    free = np.asarray(freedom_mm, dtype=np.float64)
    if float(np.abs(x).max()) >= radius_mm:
        raise OutOfRange("radius of the curve", got=radius_mm, allowed=f"more than half the wheelbase, {x[0]:g} mm")
    inward = x**2 / (radius_mm + np.sqrt(radius_mm**2 - x**2))
    if x.size == 2:
        return (0.0, 0.0)
    used, line = 0.0, (float(inward[0]), 0.0)
    for three in combinations(range(x.size), 3):
        fit = np.stack([np.ones(3), x[list(three)], free[list(three)] * np.array([1, -1, 1])], axis=1)
        at_middle, slant, part = np.linalg.solve(fit, inward[list(three)])
        if abs(part) > used:
            used, line = float(abs(part)), (float(at_middle), float(slant))
    if used > 1 + 1e-9:
        raise OutOfRange(
            "curve for these axles",
            got=f"radius {radius_mm:g} mm, which wants {used:.2f} times the side play there is",
            allowed="up to the whole of it", way_out="give more side play, most to the middle axles, or a wider curve",
        )  # fmt: skip
    return tuple(float(each) for each in line[0] + line[1] * x - inward) if used else tuple(0.0 for _ in x)


def first_to_touch(scene: Scene, pairs: Sequence[Pair], offsets_mm: Mapping[str, float]) -> tuple[FirstTouch, ...]:
    """Pairs on a curve, nearest first: each axle's freedom stands where the curve wants it, all others at their worst.

    offsets_mm: by the name of each axle's sideways freedom in the scene, as `offsets_on_curve` gives them; a curve to
    the other hand reverses them, so either sign is looked at.
    """
    for name in offsets_mm:
        if name not in scene.sideways:
            raise Unknown("sideways freedom", got=name, way_out=f"known are {', '.join(scene.sideways) or 'none'}")
    held = replace(scene, sideways={**scene.sideways, **dict.fromkeys(offsets_mm, 0.0)})
    found = []
    for pair in pairs:
        least = None
        for hand in (1.0, -1.0):
            moved = [_moved(held, name, offsets_mm, hand) for name in (pair.one, pair.other)]
            there = least_gap(held, *moved)
            least = there if least is None or there.gap_mm < least.gap_mm else least
        if least is not None:
            found.append(FirstTouch(pair, least))
    return tuple(sorted(found, key=lambda each: each.margin_mm))


def _moved(scene: Scene, name: str, offsets_mm: Mapping[str, float], hand: float) -> Element:
    element = scene.element(name)
    out = hand * math.fsum(rate * offsets_mm.get(play, 0.0) for play, rate in element.plays.items())
    return replace(element, inner_mm=element.inner_mm + out, outer_mm=element.outer_mm + out)
