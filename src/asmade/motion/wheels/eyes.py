"""Rods over three pins, many at once: the same small programme as in ``programme``, by its dual simplex method.

Each eye is a circle, drawn as a polygon; its sixteen rows are two numbers turned sixteen ways, so they are never
written out. A box that nothing but one eye holds is no unknown: its play widens that polygon fore and aft (the sum of a
polygon and a stretch has no other sides than these). What is left has one unknown for each axle that turns and three
for each rod. From rods that lie anywhere each round lets go of the row that can best be spared for the row that is
broken most, until none is broken: the slack then is the largest (dual simplex; Lemke, Naval Research Logistics 1,
1954, 36-47, from memory). Whoever wants to know which rods hold asks ``programme``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from asmade.motion.wheels.contacts import support_clearance
from asmade.motion.wheels.geometry import leverage, misses, pin_places
from asmade.motion.wheels.programme import (
    CORNERS,
    Unknowns,
    circles,
    directions,
    place_t,
    plain_lines,
    solve_each,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.geometry import Complex
    from asmade.motion.wheels.layout import Layout

_ANYWHERE = 200.0  # mm: no rod lies further from its pins, be it off one side
_NOT_BROKEN = 1e-12  # mm
_BLOCK = 400
_ROUNDS = 400
_PIVOT = 1e-8  # a row that mixes in with less than this cannot be let go of
_WEIGHT_LOST = 1e-11  # a weight this much under nothing at the end: rounding led astray
_SPARE = 1e-12  # of the weights, so that no two rows can be spared equally well


@dataclass(frozen=True, slots=True, eq=False)
class _Eyes:
    """A batch: plain rows ``matrix @ x + share * t <= limit``, eyes ``turned(change @ x) + share * t <= room``."""

    matrix: Array  # (B, m, unknowns)
    limit: Array  # (B, m)
    share: Array  # (m)
    change: Complex  # (B, E, unknowns)
    room: Array  # (B, E * CORNERS)
    eye_share: Array  # (E)


def eyes_slack(chassis: Chassis, each: Array, *, section: int | None = None, floor: Array | float = 0.0) -> Array:
    """Largest slack (B) of a batch of chassis, every sample at its own angle (1, B).

    section, floor: as in ``rings_slack``, floor a number or (B). The bushes of carrying rods count in full down to
    nothing and are eased with the rods below. Raises what ``programme`` raises for figures that are absurd.
    """
    held = np.broadcast_to(np.asarray(floor, dtype=np.float64), (chassis.samples,))
    vector = chassis.vector()
    parts = []
    for start in range(0, chassis.samples, _BLOCK):
        at = slice(start, start + _BLOCK)
        parts.append(_slack(chassis.with_vector(vector[:, at]), each[:, at], section, held[at]))
    return np.concatenate(parts)


def _slack(chassis: Chassis, each: Array, section: int | None, floor: Array) -> Array:
    jointed = section is None and bool(chassis.layout.carriers)
    slack, done = _largest(_eyes(chassis, each, section, floor, eased=True))
    if jointed and (slack > 0).any():
        hard, settled = _largest(_eyes(chassis, each, section, floor, eased=False))
        slack, done = np.where(slack > 0, hard, slack), done & (settled | (slack <= 0))
    for number in np.flatnonzero(~done):
        one = chassis.with_vector(chassis.vector()[:, [number]])
        slack[number] = solve_each(one, each[:, [number]], section=section, floor=floor[[number]]).slack[0]
    return slack


def _widened(layout: Layout) -> tuple[int, ...]:
    """Axles whose boxes are held by one eye of a rod over three pins and by nothing else."""
    found = []
    for axle in range(layout.axles):
        bodies = [layout.bodies[body] for body, on in layout.eyes if on == axle]
        if len(bodies) == 1 and bodies[0].over_three:
            found.append(axle)
    return tuple(found)


def _eyes(chassis: Chassis, each: Array, section: int | None, floor: Array, *, eased: bool) -> _Eyes:
    layout = chassis.layout
    widened = _widened(layout)
    free = bool((chassis.box_fore > 0).any() or (chassis.box_aft > 0).any())
    boxed = tuple(axle for axle in range(layout.axles) if axle not in widened) if free else ()
    unknowns = Unknowns(layout, chassis.driven, boxed)
    seen = misses(chassis, pin_places(chassis, each))
    lever = leverage(chassis, each)[:, 0, :]
    plain = plain_lines(chassis, unknowns, seen, lever)
    share, off = place_t(plain, layout, section, floor, eased=eased)
    facing = directions()
    inside = np.cos(np.pi / CORNERS)
    changes, rooms, shares = [], [], []
    for index, body in enumerate(layout.bodies):
        if not body.over_three:
            continue
        own = section is None or section in body.sections
        for support, side, offset, change in circles(chassis, unknowns, seen, lever, index):
            size = 0.5 * support_clearance(chassis, index, support)[side] * inside
            wide = np.reshape(size, (-1, 1)) - (np.conj(facing) * offset[:, None]).real
            eye = body.supports[support].eye
            axle = -1 if eye is None else layout.eyes[eye][1]
            if axle in widened:
                wide = wide + np.maximum(-facing.real, 0.0) * chassis.box_fore[axle, side][:, None]
                wide = wide + np.maximum(facing.real, 0.0) * chassis.box_aft[axle, side][:, None]
            changes.append(change)
            rooms.append(wide if own else wide - 0.5 * floor[:, None])
            shares.append(0.5 if own else 0.0)
    return _Eyes(
        plain.matrix, plain.room - plain.miss - off, share,
        np.stack(changes, axis=1), np.concatenate(rooms, axis=1), np.array(shares),
    )  # fmt: skip


@dataclass(slots=True, eq=False)
class _Batch:
    """Rows and where the search stands: the rows held and their limits, what turns limits into a place, weights."""

    live: NDArray[np.intp]
    rows: _Eyes
    held: Array  # (B, unknowns and slack, the same)
    limit: Array
    inverse: Array
    z: Array
    weight: Array

    def keep(self, which: NDArray[np.bool_]) -> None:
        """Go on with some only."""
        rows = self.rows
        self.rows = _Eyes(
            rows.matrix[which], rows.limit[which], rows.share, rows.change[which], rows.room[which], rows.eye_share
        )
        self.live = self.live[which]
        self.held, self.limit, self.inverse, self.z, self.weight = (
            each[which] for each in (self.held, self.limit, self.inverse, self.z, self.weight)
        )

    def anew(self, which: NDArray[np.bool_]) -> None:
        """Work the place out again from the rows held, free of the rounding of all exchanges before."""
        self.inverse[which] = _inverse(self.held[which])
        self.z[which] = np.matmul(self.inverse[which], self.limit[which][:, :, None])[:, :, 0]


def _inverse(held: Array) -> Array:
    """Inverse of each; NaN where the rows held do not make a place."""
    try:
        return np.asarray(np.linalg.inv(held))
    except np.linalg.LinAlgError:
        if held.shape[0] == 1:
            return np.full_like(held, np.nan)
        return np.concatenate([_inverse(each[None]) for each in held])


def _largest(rows: _Eyes) -> tuple[Array, NDArray[np.bool_]]:
    """Largest slack of each programme, and for which it was found."""
    at = _anywhere(rows)
    batch = rows.limit.shape[0]
    slack, done = np.full(batch, np.nan), np.zeros(batch, dtype=bool)
    for _ in range(_ROUNDS):
        worst, by = _worst(at)
        rests = by <= _NOT_BROKEN
        if rests.any():
            at.anew(rests)
            worst, by = _worst(at)
            rests &= (by <= _NOT_BROKEN) | np.isnan(by)
            slack[at.live[rests]] = at.z[rests, -1]
            done[at.live[rests]] = (at.inverse[rests, -1] >= -_WEIGHT_LOST).all(axis=1)
            at.keep(~rests)
            worst, by = worst[~rests], by[~rests]
        if not worst.size:
            break
        _exchange(at, worst, by)
    return slack, done


def _worst(at: _Batch) -> tuple[NDArray[np.intp], Array]:
    """The row broken most of each programme, and by how much."""
    over = _broken_by(at.rows, at.z)
    worst = over.argmax(axis=1)
    return worst, np.take_along_axis(over, worst[:, None], axis=1)[:, 0]


def _broken_by(rows: _Eyes, z: Array) -> Array:
    """By how much every row is broken (B, rows): the plain ones, then eye by eye."""
    x, t = z[:, :-1, None], z[:, -1:]
    facing = np.conj(directions())
    lie = np.matmul(rows.change, x)
    turned = lie.real * facing.real - lie.imag * facing.imag
    plain = np.matmul(rows.matrix, x)[:, :, 0] + rows.share * t - rows.limit
    eyes = turned.reshape(lie.shape[0], rows.room.shape[1]) + np.repeat(rows.eye_share, CORNERS) * t - rows.room
    return np.concatenate([plain, eyes], axis=1)


def _exchange(at: _Batch, worst: NDArray[np.intp], by: Array) -> None:
    """Take in the row broken most, let go of the row whose weight comes to nothing first; drop what has no answer."""
    number = np.arange(worst.size)
    row, limit = _written(at.rows, worst)
    mix = np.matmul(row[:, None, :], at.inverse)[:, 0, :]
    spares = mix > _PIVOT
    ratio = np.where(spares, at.weight / np.where(spares, mix, 1.0), np.inf)
    gone = ratio.argmin(axis=1)
    step = ratio[number, gone]
    can = np.isfinite(step)
    pivot = np.where(can, mix[number, gone], 1.0)
    at.held[number, gone], at.limit[number, gone] = row, limit
    column = at.inverse[number, :, gone] / pivot[:, None]
    at.z = at.z - column * by[:, None]
    step = np.where(can, step, 0.0)
    at.weight = np.maximum(at.weight - step[:, None] * mix, 0.0)
    at.weight[number, gone] = step
    mix[number, gone] -= 1.0
    at.inverse -= column[:, :, None] * mix[:, None, :]
    if not can.all():
        at.keep(can)


def _written(rows: _Eyes, which: NDArray[np.intp]) -> tuple[Array, Array]:
    """One row of each programme, written out (B, unknowns and slack), and its limit (B)."""
    number, plain = np.arange(which.size), rows.limit.shape[1]
    of_eye = np.maximum(which - plain, 0)
    eye, corner = np.divmod(of_eye, CORNERS)
    change, turn = rows.change[number, eye], np.conj(directions())[corner][:, None]
    row = change.real * turn.real - change.imag * turn.imag
    share, limit = rows.eye_share[eye], rows.room[number, of_eye]
    plainly = np.flatnonzero(which < plain)
    if plainly.size:
        row[plainly] = rows.matrix[plainly, which[plainly]]
        share[plainly], limit[plainly] = rows.share[which[plainly]], rows.limit[plainly, which[plainly]]
    return np.concatenate([row, share[:, None]], axis=1), limit


def _anywhere(rows: _Eyes) -> _Batch:
    """Start: one row that bounds the slack, and every unknown as far out as keeps that row's weight in balance."""
    batch, _, count = rows.matrix.shape
    share = np.concatenate([rows.share, np.repeat(rows.eye_share, CORNERS)])
    first = np.where(share > 0, np.concatenate([rows.limit, rows.room], axis=1), np.inf).argmin(axis=1)
    row, limit = _written(rows, first)
    sign = np.where(row[:, :count] > 0, -1.0, 1.0)
    held = np.zeros((batch, count + 1, count + 1))
    each = np.arange(count)
    held[:, each, each] = sign
    held[:, count] = row
    limits = np.concatenate([np.full((batch, count), _ANYWHERE), limit[:, None]], axis=1)
    at = _Batch(np.arange(batch), rows, held, limits, np.empty_like(held), np.empty_like(limits), np.empty_like(limits))
    at.anew(np.ones(batch, dtype=bool))
    at.weight = at.inverse[:, count, :] + _SPARE * np.random.default_rng(count).uniform(1.0, 2.0, count + 1)
    return at
