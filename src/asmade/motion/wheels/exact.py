"""Slack with true distances: the small programme solved again about its own answer until nothing moves.

What stays approximate: a carrying rod is taken along the line of its own places (it may lie across it by its bush
clearance, which gives the next rod up to 1e-5 mm more), and the tilt of a rod over three pins counts as small.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from asmade.motion.wheels.contacts import support_clearance
from asmade.motion.wheels.geometry import Complex, Misses, mean_radius, misses, standing_cranks, turns
from asmade.motion.wheels.programme import (
    Lines,
    Row,
    batch_of,
    linear_lines,
    solve_lines,
    unknowns_of,
)
from asmade.motion.wheels.small_programme import NotSolved

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.programme import Unknowns

_STEP = 1e-4  # mm, for the difference quotients of the true distances
_ROUNDS = 60
_AT_REST = 2e-10  # mm
_WHOLE_STEPS = 4
_REACH = 0.1  # mm
_KEPT_SIDES = 4  # tangents to each bush circle kept from earlier rounds


@dataclass(frozen=True, slots=True, eq=False)
class ExactSlack:
    """Slack (B) and the unknowns (B, count) at which it is had, in the order of ``batch_of``."""

    slack: Array
    at: Array


def solve_exact(
    chassis: Chassis,
    angles: Array,
    *,
    section: int | None = None,
    floor: Array | float = 0.0,
    rounds: int = _ROUNDS,
) -> ExactSlack:
    """Slack at each angle of each sample by true distances.

    section, floor: as in ``rings_slack``, floor a number or (B). Raises NotSolved when it does not come to rest in
    so many rounds (figures wildly out; a section's own slack where a turning axle has hardly any leverage).
    """
    wide, each = batch_of(chassis, angles)
    batch = wide.samples
    unknowns = unknowns_of(wide)
    held = np.broadcast_to(floor, (batch,))
    start = linear_lines(wide, each)
    first = solve_lines(start, chassis.layout, section, held)
    slack, found = np.full(batch, np.inf), first.x.copy()
    vector = wide.vector()
    live = np.arange(batch)
    tangents: list[Complex] = []
    for number in range(rounds):
        part = wide.with_vector(vector[:, live])
        about = Lines(start.rows, start.matrix[live], start.room[live], start.miss[live])
        lines = _lines_about(part, unknowns, each[:, live], about, found[live], tangents)
        if number >= _WHOLE_STEPS:
            # where many positions are equally good the answer may swing between two: let each step reach less far
            lines = _within(lines, found[live], _REACH * 0.6 ** (number - _WHOLE_STEPS))
        answer = solve_lines(lines, chassis.layout, section, held[live])
        moved = np.abs(answer.t - slack[live]) > _AT_REST
        slack[live], found[live] = answer.t, answer.x
        if chassis.layout.has_rigid:
            moved |= len(tangents) < _KEPT_SIDES
        if not moved.any():
            return ExactSlack(slack, found)
        live = live[moved]
        if chassis.layout.has_rigid:
            part = wide.with_vector(vector[:, live])
            seen = exact_misses(part, unknowns, each[:, live], found[live])
            lie = _eye_offsets(part, unknowns, seen, found[live])
            size = np.abs(lie)
            newest = np.where(size > 0, lie / np.where(size > 0, size, 1.0), 1.0)
            tangents = [*(tangent[moved] for tangent in tangents[-_KEPT_SIDES + 1 :]), newest]
    raise NotSolved(
        "the exact sum of the coupled wheels does not come to rest",
        way_out="look for a figure of the chassis that is wildly out; the linear sum still tells where it binds",
    )


def _within(lines: Lines, at: Array, reach: float) -> Lines:
    """The same lines with every unknown held within ``reach`` of ``at``."""
    batch, count = at.shape
    unit = np.broadcast_to(np.eye(count), (batch, count, count))
    bound = Row("bound", 0, -1, (), 1)
    return Lines(
        (*lines.rows, *([bound] * (2 * count))),
        np.concatenate([lines.matrix, unit, -unit], axis=1),
        np.concatenate([lines.room, np.full((batch, 2 * count), reach)], axis=1),
        np.concatenate([lines.miss, -at, at], axis=1),
    )


def exact_misses(chassis: Chassis, unknowns: Unknowns, angles: Array, at: Array) -> Misses:
    """What pins and rods miss by at the unknowns ``at`` (B, count), with true distances."""
    arc = np.zeros((chassis.layout.axles, chassis.samples))
    for place, axle in enumerate(unknowns.axles):
        arc[axle] = at[:, place]
    z = standing_cranks(chassis) * np.exp(1j * arc / mean_radius(chassis))[:, None, :]
    centres = chassis.axle_x + 1j * chassis.axle_y
    if unknowns.free:
        first = len(unknowns.axles)
        shift = at[:, first : first + 2 * chassis.layout.axles].T
        centres = centres + shift.reshape(chassis.layout.axles, 2, -1)
    pins = centres[:, :, None, :] + np.conj(z[:, :, None, :] * turns(angles))
    poses = {
        body: tuple(
            np.stack([at[:, unknowns.rod(body, side, which)] for side in (0, 1)])[:, None, :] for which in range(count)
        )
        for body, (_, count) in unknowns.rods.items()
    }
    return misses(chassis, pins, poses)


def _values(rows: tuple[Row, ...], chassis: Chassis, unknowns: Unknowns, seen: Misses, at: Array) -> Array:
    """The left-hand side of every row that lies along a rod, (B, m); zero for the others."""
    out = np.zeros((chassis.samples, len(rows)))
    for number, row in enumerate(rows):
        contact = row.contact
        if contact is None:
            continue
        if contact.slack:
            value = seen.rods[contact.body][contact.pair][row.side, 0]
        else:
            value = -at[:, unknowns.rod(contact.body, row.side)]
            if contact.pair[0] != contact.pair[1]:
                value = value + contact.sign * seen.rods[contact.body][contact.pair][row.side, 0]
        out[:, number] = row.sense * value
    return out


def _eye_offsets(chassis: Chassis, unknowns: Unknowns, seen: Misses, at: Array) -> Complex:
    """Offset of each place from the middle of its eye on rods over three pins, (B, places)."""
    found = []
    layout = chassis.layout
    for index, body in enumerate(layout.bodies):
        if not body.over_three:
            continue
        last = len(body.supports) - 1
        span = chassis.centres[body.first : body.last + 1].sum(axis=0)
        for support, held in enumerate(body.supports):
            behind = chassis.centres[body.first : body.first + held.section_offset].sum(axis=0)
            for side in (0, 1):
                along = -at[:, unknowns.rod(index, side, 0)]
                if support:
                    along = along - seen.rods[index][0, support][side, 0]
                up = -at[:, unknowns.rod(index, side, 1)] - at[:, unknowns.rod(index, side, 2)] * (behind / span)[side]
                if 0 < support < last:
                    up = up + seen.across[index][support][side, 0]
                found.append(along + 1j * up)
    return np.stack(found, axis=1) if found else np.zeros((chassis.samples, 0), dtype=np.complex128)


def _eye_rows(chassis: Chassis) -> list[tuple[int, int, int]]:
    """Body, support, side in the order of :func:`_eye_offsets`."""
    return [
        (index, support, side)
        for index, body in enumerate(chassis.layout.bodies)
        if body.over_three
        for support in range(len(body.supports))
        for side in (0, 1)
    ]


def _lines_about(
    chassis: Chassis, unknowns: Unknowns, angles: Array, start: Lines, at: Array, tangents: list[Complex]
) -> Lines:
    """Lines that touch the true distances at ``at``."""

    def seen_at(point: Array) -> tuple[Array, Complex]:
        seen = exact_misses(chassis, unknowns, angles, point)
        return _values(start.rows, chassis, unknowns, seen, point), _eye_offsets(chassis, unknowns, seen, point)

    value, offset = seen_at(at)
    slope = np.zeros((*value.shape, unknowns.count))
    turn = np.zeros((*offset.shape, unknowns.count), dtype=np.complex128)
    for place in range(unknowns.count):
        step = np.zeros(unknowns.count)
        step[place] = _STEP
        (up_v, up_o), (down_v, down_o) = seen_at(at + step), seen_at(at - step)
        slope[:, :, place] = (up_v - down_v) / (2 * _STEP)
        turn[:, :, place] = (up_o - down_o) / (2 * _STEP)
    matrix, room, miss = start.matrix.copy(), start.room.copy(), start.miss.copy()
    along = [number for number, row in enumerate(start.rows) if row.contact is not None]
    matrix[:, along] = slope[:, along]
    miss[:, along] = value[:, along] - np.matmul(slope[:, along], at[:, :, None])[:, :, 0]
    rest = offset - np.matmul(turn, at[:, :, None].astype(np.complex128))[:, :, 0]
    eyes = _eye_rows(chassis)
    for number, row in enumerate(start.rows):
        if row.kind == "eye":
            which = eyes.index((row.body, row.held[0], row.side))
            facing = np.conj(row.direction)
            matrix[:, number] = (facing * turn[:, which]).real
            miss[:, number] = (facing * rest[:, which]).real
            room[:, number] = 0.5 * support_clearance(chassis, row.body, row.held[0])[row.side]
    rows = list(start.rows)
    for tangent in tangents:
        for which, (body, support, side) in enumerate(eyes):
            rows.append(Row("eye", side, body, (support,), 1))
            facing = np.conj(tangent[:, which])
            matrix = np.concatenate([matrix, (facing[:, None] * turn[:, which]).real[:, None]], axis=1)
            miss = np.concatenate([miss, (facing * rest[:, which]).real[:, None]], axis=1)
            size = 0.5 * support_clearance(chassis, body, support)[side]
            room = np.concatenate([room, np.broadcast_to(size, (chassis.samples,))[:, None]], axis=1)
    return Lines(tuple(rows), matrix, room, miss)
