"""One pass through a mechanism: pairs of links that meet, and at most one unknown per closed loop.

The file of a mechanism calls these pieces in the order in which the places of its pins become known. Every piece
works on whole arrays, knows its own rates (from the constraint itself, not from the closed form), and notes by
name where two links cannot meet.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeAlias, TypeVar

import numpy as np

from asmade.motion.linkage.dual import Array, Dual, cross, dot, sqrt

T = TypeVar("T")
Links: TypeAlias = tuple[str, str]

LEFT = 1
"""The meeting pin lies to the left of the line from the first centre to the second."""
RIGHT = -1
"""The meeting pin lies to the right of the line from the first centre to the second."""

_TINY = 1e-300
_NEWTON_STEPS = 24
_SCAN = 96
_HALVINGS = 80


@dataclass(frozen=True, slots=True)
class Shortfall:
    """Two links that do not meet: where (mask over positions, angles, samples) and by how much (mm)."""

    links: Links
    where: Array
    short_mm: Array


@dataclass(frozen=True, slots=True)
class Joint:
    """What the angle between two links at their common pin follows from."""

    first_mm: Array
    second_mm: Array
    apart_squared: Array

    def angle_rad(self) -> Array:
        """Angle between the two links at the pin, 0..pi; near 0 or pi they are near to toggling."""
        a, b = self.first_mm, self.second_mm
        cosine = (a * a + b * b - self.apart_squared) / (2 * a * b)
        angle: Array = np.arccos(np.clip(cosine, -1.0, 1.0))
        return angle


@dataclass(frozen=True, slots=True)
class Solved:
    """The unknown of a closed loop and the rate of the loop's gap to it."""

    value: Array
    gap_rate: Array


@dataclass(slots=True)
class Assembly:
    """Collects what goes wrong, and the solved unknowns so that a pass with rates need not search again."""

    solved: list[Solved] = field(default_factory=list)
    replay: bool = False
    shortfalls: list[Shortfall] = field(default_factory=list)
    joints: dict[Links, Joint] = field(default_factory=dict)
    worst_gap_mm: float = 0.0
    _trial: list[Array] | None = None
    _next: int = 0

    # ------------------------------------------------------------------ pairs of links
    def dyad(self, first: Dual, reach_first: Dual, second: Dual, reach_second: Dual, side: int, links: Links) -> Dual:
        """Pin where a link turning about ``first`` meets one turning about ``second``.

        ``side``: ``LEFT`` or ``RIGHT`` of the line from first to second. Circles about both centres meet where
        ``(P-A)^2 = a^2`` and ``(P-B)^2 = b^2``; the rates solve the derivative of these two equations.
        Example: centres 0 and 100, reaches 60 and 80, left: pin at 36 + 48i.
        """
        a, b = first.value, second.value
        ra, rb = reach_first.value, reach_second.value
        span = b - a
        apart2 = span.real**2 + span.imag**2
        if not apart2.all():
            apart2 = np.maximum(apart2, _TINY)
        ra2 = ra * ra
        part = (apart2 + ra2 - rb * rb) / (2 * apart2)
        height2 = ra2 / apart2 - part * part
        if height2.min() < 0:
            self._miss(links, height2 < 0, lambda: _short_of(np.sqrt(apart2), ra, rb))
            height2 = np.maximum(height2, 0.0)
        if self._trial is None:
            self.joints[links] = Joint(ra, rb, apart2)
        frame = np.empty(height2.shape, dtype=np.complex128)
        frame.real = part
        np.sqrt(height2, out=frame.imag)
        if side == RIGHT:
            np.negative(frame.imag, out=frame.imag)
        pin = a + span * frame
        return Dual(pin, _meeting_rates(pin, first, reach_first, second, reach_second))

    def on_line(self, centre: Dual, reach: Dual, origin: Dual, direction: Dual, *, ahead: bool, links: Links) -> Dual:
        """Place on a straight guide of a pin held at ``reach`` from ``centre``.

        The guide runs from ``origin`` in unit ``direction``; ``ahead`` takes the farther of the two places along it.
        Example: centre 3i, reach 5, the x axis from 0, ahead: place 4.
        """
        turned = np.conj(direction.value) * (centre.value - origin.value)
        foot, off = turned.real, turned.imag
        r = reach.value
        half2 = r * r - off * off
        if half2.min() < 0:
            self._miss(links, half2 < 0, lambda: np.abs(off) - r)
            half2 = np.maximum(half2, 0.0)
        half = np.sqrt(half2)
        place = foot + half if ahead else foot - half
        if all(q.rates is None for q in (centre, reach, origin, direction)):
            return Dual(place)
        arm = origin.value + place * direction.value - centre.value
        slope = _away_from_zero(dot(arm, direction.value))
        carried = None
        for q, factor in ((centre, 1.0), (origin, -1.0), (direction, -place)):
            if q.rates is not None:
                term = dot(arm, factor * q.rates)
                carried = term if carried is None else carried + term
        if reach.rates is not None:
            term = r * reach.rates
            carried = term if carried is None else carried + term
        return Dual(place, None if carried is None else carried / slope)

    def slotted(self, pin: Dual, over: Dual, offset: Dual, links: Links) -> Dual:
        """Unit vector from ``pin`` of a link whose straight slot bears on another pin at ``over``.

        ``offset``: how far that other pin stands to the left of the link's line. Example: pin 0, over 4 + 3i,
        offset 3: the link lies along x.
        """
        span = over - pin
        square = span.square()
        slide2 = square - offset.square()
        if slide2.value.min() <= 0:
            off = np.abs(offset.value) - np.sqrt(square.value)
            self._miss(links, slide2.value <= 0, lambda: off)
            slide2 = Dual(np.maximum(slide2.value, _TINY), slide2.rates)
        return span * (sqrt(slide2) - 1j * offset) / square

    # ------------------------------------------------------------------ closed loops
    def close(
        self, chain: Callable[[Dual], tuple[Dual, T]], start: Callable[[], Array], *, scale: Dual, links: Links
    ) -> T:
        """Find the unknown for which the loop's gap vanishes and return what the chain makes of it.

        ``start()`` guesses the unknown. ``chain(unknown)`` gives the gap (mm) and whatever else the mechanism needs.
        Newton's steps are limited to ``scale`` (a length or angle over which the gap is smooth), halved where they
        leave the range in which the links meet or make the gap worse; what is still open then is searched for by
        sign and halved. Where nothing closes, the ``links`` are noted as not meeting.
        """
        if self.replay:
            known = self.solved[self._next]
            self._next += 1
            rates = chain(Dual(known.value))[0].rates
            drift = None if rates is None else -rates / known.gap_rate
            return chain(Dual(known.value, drift))[1]
        step_limit = scale.value
        unknown, gap_rate = self._newton(chain, start(), step_limit)
        gap, result = chain(Dual(unknown))
        off = np.abs(gap.value)
        tolerance = 1e-9 * np.maximum(step_limit, 1.0)
        if not (off <= tolerance).all():
            self._miss(links, off > tolerance, lambda: off)
        self.worst_gap_mm = max(self.worst_gap_mm, float(off.max(where=off <= tolerance, initial=0.0)))
        self.solved.append(Solved(unknown, gap_rate))
        return result

    def _evaluate(self, chain: Callable[[Dual], tuple[Dual, T]], unknown: Array) -> tuple[Array, Array, Array | None]:
        """Gap, its rate to the unknown, and where some pair of links inside does not meet."""
        self._trial = []
        try:
            gap = chain(Dual(unknown, np.ones((1, 1, 1, 1))))[0]
            bad = self._trial
        finally:
            self._trial = None
        rate = np.zeros((1, 1, 1, 1)) if gap.rates is None else gap.rates
        missed = None
        for mask in bad:
            missed = mask if missed is None else missed | mask
        return gap.value, _away_from_zero(np.broadcast_to(rate[0], gap.value.shape)), missed

    def _newton(self, chain: Callable[[Dual], tuple[Dual, T]], start: Array, limit: Array) -> tuple[Array, Array]:
        unknown = start
        gap, rate, missed = self._evaluate(chain, unknown)
        unknown = np.broadcast_to(unknown, gap.shape)
        if missed is not None:
            return self._search(chain, unknown, limit)
        damping: Array | float = 1.0
        close_enough = 1e-7 * limit
        for _ in range(_NEWTON_STEPS):
            step = -gap / rate
            if (np.abs(step) > limit).any():
                step = np.clip(step, -limit, limit)
            if (np.abs(step) <= close_enough).all():
                return unknown + step, rate
            trial = unknown + damping * step
            new_gap, new_rate, missed = self._evaluate(chain, trial)
            worse = np.abs(new_gap) > np.abs(gap) + close_enough
            if missed is not None:
                worse = worse | missed
            if worse.any():
                damping = np.where(worse, 0.5 * damping, 1.0)
                unknown = np.where(worse, unknown, trial)
                gap = np.where(worse, gap, new_gap)
                rate = np.where(worse, rate, new_rate)
            else:
                damping, unknown, gap, rate = 1.0, trial, new_gap, new_rate
        return self._search(chain, unknown, limit)

    def _search(self, chain: Callable[[Dual], tuple[Dual, T]], start: Array, limit: Array) -> tuple[Array, Array]:
        """Nearest change of sign around the start, halved with Newton's steps where those stay inside."""
        offsets = np.linspace(-1.0, 1.0, _SCAN)
        nearest = np.full(start.shape, np.inf)
        low, high = start.copy(), start.copy()
        low_gap = np.zeros(start.shape)
        before: tuple[Array, Array, Array] | None = None
        for offset in offsets:
            place = start + offset * _SCAN / 16 * limit
            gap, _, missed = self._evaluate(chain, place)
            good = np.ones(gap.shape, dtype=bool) if missed is None else np.broadcast_to(~missed, gap.shape)
            if before is not None:
                was_place, was_gap, was_good = before
                middle = np.abs(0.5 * (place + was_place) - start)
                found = good & was_good & (np.sign(gap) != np.sign(was_gap)) & (middle < nearest)
                nearest = np.where(found, middle, nearest)
                low = np.where(found, was_place, low)
                high = np.where(found, place, high)
                low_gap = np.where(found, was_gap, low_gap)
            before = (place, gap, good)
        unknown = 0.5 * (low + high)
        rate = np.ones(start.shape)
        for _ in range(_HALVINGS):
            gap, rate, _ = self._evaluate(chain, unknown)
            same = np.sign(gap) == np.sign(low_gap)
            low = np.where(same, unknown, low)
            high = np.where(same, high, unknown)
            step = unknown - gap / rate
            inside = (step > np.minimum(low, high)) & (step < np.maximum(low, high))
            new = np.where(inside, step, 0.5 * (low + high))
            moved = np.abs(new - unknown)
            unknown = new
            if (moved <= 1e-13 * np.maximum(np.abs(unknown), limit)).all():
                break
        return unknown, rate

    def _miss(self, links: Links, where: Array, short: Callable[[], Array]) -> None:
        if self._trial is not None:
            self._trial.append(where)
        elif not self.replay:
            self.shortfalls.append(Shortfall(links, where, np.where(where, short(), 0.0)))


def _short_of(apart: Array, first: Array, second: Array) -> Array:
    """By how much two circles miss each other: too far apart, or one inside the other."""
    return np.asarray(np.maximum(apart - first - second, np.abs(first - second) - apart))


def _away_from_zero(slope: Array) -> Array:
    """Keep a divisor from vanishing at a toggle; the toggle itself is reported by its angle."""
    if slope.all():
        return slope
    return np.where(slope == 0, _TINY**0.5, slope)


def _meeting_rates(pin: Array, first: Dual, reach_first: Dual, second: Dual, reach_second: Dual) -> Array | None:
    arm_first, arm_second = pin - first.value, pin - second.value
    push_first = _push(arm_first, first, reach_first)
    push_second = _push(arm_second, second, reach_second)
    if push_first is None and push_second is None:
        return None
    rates: Array | None = None
    turned: Array = 1j / _away_from_zero(cross(arm_first, arm_second))
    if push_second is not None:
        rates = push_second * (turned * arm_first)
    if push_first is not None:
        other = push_first * (turned * arm_second)
        rates = -other if rates is None else rates - other
    return rates


def _push(arm: Array, centre: Dual, reach: Dual) -> Array | None:
    """Rate at which a circle moves along its arm."""
    push = None if centre.rates is None else dot(arm, centre.rates)
    if reach.rates is None:
        return push
    grown = reach.value * reach.rates
    return grown if push is None else push + grown
