"""Slack with box play and knuckle joints: shortest ways round the rings of wheels, boxes and rods.

Every contact says that one place is at most so far ahead of another. Such a set of statements can be met exactly
when no closed ring of them adds up to less than nothing. Rods, joints and boxes of one side are eliminated first;
what remains between two axles is divided by that side's leverage; the tighter side counts. The slack asked for, t,
is taken off the rods' room; each ring that comes out short names the t at which it would just close (Newton's method
on the least ratio of ring to rods in it), so a handful of rounds ends at the largest t. All angles and samples at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asmade.measure.errors import Refused
from asmade.motion.wheels.contacts import contacts, miss, room
from asmade.motion.wheels.geometry import leverage, misses, pin_places

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.layout import Layout

_BLOCK = 8_192
_ROUNDS = 60
_AT_REST = 1e-13  # mm
_LEAST_LEVERAGE = 1e-9  # of the radius: 1e-10 mm at the arcs that rods allow

Arcs = dict[tuple[int, int], "tuple[Array, Array]"]


def rings_slack(chassis: Chassis, angles: Array, *, section: int | None = None, floor: Array | None = None) -> Array:
    """Largest slack (K, n) that all rods can have at once, boxes free within their play.

    angles: (K) for every sample, or (1, n): one for each sample.

    section: the slack of this section's rod only, while every other rod keeps at least ``floor`` (K, n), which the
    caller takes no greater than what all can have at once. Blocked boxes are a play of
    nothing (``chassis.with_boxes``). Negative: binds.
    While the answer is negative the bushes of carrying rods are thought eased together with the rods.
    Raises: Refused for rods over three pins.
    """
    layout = chassis.layout
    if layout.has_rigid:
        raise Refused("rings of contacts", got=chassis.meetings, reason="a rod over three pins is no ring")
    n, k = chassis.samples, angles.shape[0]
    out = np.empty((k, n))
    step = max(1, _BLOCK // k)
    vector = chassis.vector()
    for start in range(0, n, step):
        at = slice(start, min(n, start + step))
        part = chassis.with_vector(vector[:, at])
        part_floor = None if floor is None else floor[:, at]
        turned = angles if angles.ndim == 1 else angles[:, at]
        out[:, at] = _solve(part, layout, turned, section, part_floor)
    return out


def _solve(chassis: Chassis, layout: Layout, angles: Array, section: int | None, floor: Array | None) -> Array:
    n, k = chassis.samples, angles.shape[0]
    shape = (2, k, n)

    def flat(array: Array) -> Array:
        """Any of (2, n), (2, K, n) or nothing as (2, K * n)."""
        if array.ndim == 2:
            array = array[:, None, :]
        return np.broadcast_to(array, shape).reshape(2, -1)

    seen = misses(chassis, pin_places(chassis, angles))
    lever = flat(leverage(chassis, angles).real)
    free = bool((chassis.box_fore > 0).any() or (chassis.box_aft > 0).any())
    network = _Network(layout, free=free)
    rows = []
    for contact in contacts(layout):
        own = section is None or section in layout.bodies[contact.body].sections
        size, gap = flat(room(chassis, contact)), flat(miss(seen, contact))
        u, v = network.node(contact.fore), network.node(contact.aft)
        rows.append((u, v, size - gap, size + gap, contact.slack, own))
    boxes = []
    if free:
        for axle in range(layout.axles):
            fore, aft = flat(chassis.box_fore[axle]), flat(chassis.box_aft[axle])
            boxes.append((network.node(("pin", axle)), axle, fore, aft))
    t = np.full(k * n, np.inf)
    for _, _, ahead, behind, slack, own in rows:
        if slack and own:
            np.minimum(t, (0.5 * (ahead + behind)).min(axis=0), out=t)
    held = np.zeros(k * n) if floor is None else np.broadcast_to(floor, (k, n)).reshape(-1)
    live = np.arange(k * n)
    now = t.copy()
    for _ in range(_ROUNDS):
        arcs = network.arcs(rows, boxes, now, held, live, everywhere=section is None)
        closes = network.close(arcs, lever[:, live], now, ignore_fixed=section is not None)
        better = np.minimum(now, closes)
        if section is None:
            # carrying rods' bushes count in full down to nothing and are eased with the rods below
            better = np.where((now > 0) & (better < 0), 0.0, better)
        t[live] = better
        moving = now - better > _AT_REST
        if not moving.any():
            break
        live, now = live[moving], better[moving]
    return t.reshape(k, n)


class _Network:
    """The places of one side, numbered, and the order in which they are eliminated."""

    def __init__(self, layout: Layout, *, free: bool) -> None:
        self.axles = layout.axles
        self.free = free
        self._rods = {body: index for index, body in enumerate(layout.carriers)}
        self._first_rod = 2 * self.axles if free else self.axles

    def node(self, place: tuple[str, int]) -> int:
        kind, number = place
        if kind == "rod":
            return self._first_rod + self._rods[number]
        return self.axles + number if self.free else number

    def arcs(
        self,
        rows: list[tuple[int, int, Array, Array, bool, bool]],
        boxes: list[tuple[int, int, Array, Array]],
        t: Array,
        held: Array,
        live: Array,
        *,
        everywhere: bool,
    ) -> Arcs:
        """(u, v): place u is at most this far ahead of v, and how fast that shrinks as t grows."""
        found: Arcs = {}
        one, none = np.ones_like(t), np.zeros_like(t)
        eased = np.where(t > 0, 0.0, 0.5)

        def add(u: int, v: int, value: Array, slope: Array) -> None:
            slope = np.broadcast_to(slope, value.shape)
            if (u, v) in found:
                old, old_slope = found[u, v]
                less = value < old
                found[u, v] = np.where(less, value, old), np.where(less, slope, old_slope)
            else:
                found[u, v] = value, slope

        for u, v, ahead, behind, slack, own in rows:
            if slack:
                off, slope = (t, one) if own else (held[live], none)
            elif everywhere:
                off, slope = eased * t, eased
            else:
                off, slope = 0.5 * np.minimum(held[live], 0.0), none
            add(u, v, ahead[:, live] - off, slope)
            add(v, u, behind[:, live] - off, slope)
        for pin, axle, fore, aft in boxes:
            add(pin, axle, fore[:, live], none)
            add(axle, pin, aft[:, live], none)
        return found

    def close(self, arcs: Arcs, lever: Array, t: Array, *, ignore_fixed: bool) -> Array:
        """The least t at which some ring that is short now would just close (inf where none is short)."""
        best = np.full(t.shape, np.inf)

        def ring(total: Array, slope: Array) -> None:
            short = total < 0
            can = slope > 0
            at = np.where(can, t + total / np.where(can, slope, 1.0), np.inf if ignore_fixed else -np.inf)
            at = np.where(short, at, np.inf)
            np.minimum(best, at.min(axis=0) if at.ndim == 2 else at, out=best)

        def eliminate(v: int) -> None:
            into = [u for u, w in arcs if w == v]
            out_of = [w for u, w in arcs if u == v]
            for u in into:
                first, first_slope = arcs[u, v]
                for w in out_of:
                    second, second_slope = arcs[v, w]
                    total, slope = first + second, first_slope + second_slope
                    if u == w:
                        ring(total, slope)
                    elif (u, w) in arcs:
                        old, old_slope = arcs[u, w]
                        less = total < old
                        arcs[u, w] = np.where(less, total, old), np.where(less, slope, old_slope)
                    else:
                        arcs[u, w] = total, slope
            for pair in [pair for pair in arcs if v in pair]:
                del arcs[pair]

        inner = {u for pair in arcs for u in pair if u >= self.axles}
        while inner:
            v = min(inner, key=lambda node: (sum(node in pair for pair in arcs), node))
            eliminate(v)
            inner.remove(v)
        # on its dead centre a side turns nothing: it must hold as it stands, and bounds no axle
        dead = np.abs(lever) < _LEAST_LEVERAGE
        size = np.where(dead, 1.0, np.abs(lever))
        forward = lever > 0
        turned: Arcs = {}
        for u, v in arcs:
            ahead, ahead_slope = arcs[u, v]
            behind, behind_slope = arcs[v, u]
            ring(np.where(dead, ahead, np.inf), ahead_slope)
            both = np.where(dead, np.inf, np.where(forward, ahead, behind) / size)
            slopes = np.where(forward, ahead_slope, behind_slope) / size
            left = both[0] < both[1]
            turned[u, v] = np.where(left, both[0], both[1]), np.where(left, slopes[0], slopes[1])
            if u < v:
                ring(ahead + behind, ahead_slope + behind_slope)  # both ways on one side, whatever its leverage
        arcs.clear()
        arcs.update(turned)
        for axle in range(self.axles - 1):
            eliminate(axle)
        return best
