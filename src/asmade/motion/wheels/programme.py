"""The whole small programme: wheels, boxes and rods as unknowns, rods over three pins as circles, exact or linear.

Unknowns of one programme (one chassis angle of one sample), all in mm: the arc by which each axle but the driven one
turns beyond its standing, the shift of each box that has play, and of every rod that carries a joint or lies over
three pins how far it lies forward, up and tilted. Linear rows use one leverage per side (as the closed form does);
exact ones use the true distances and are solved again about each answer until nothing moves.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from asmade.motion.wheels.contacts import contacts, miss, room, support_clearance
from asmade.motion.wheels.geometry import (
    Complex,
    Misses,
    leverage,
    mean_radius,
    misses,
    pin_places,
)
from asmade.motion.wheels.small_programme import Answer, largest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.contacts import Contact, Node
    from asmade.motion.wheels.layout import Layout, Support

CORNERS = 16
"""A bush circle is drawn as a polygon of this many corners inside it: safe, and at most 2 % of the clearance tight."""

FURTHEST = 0.3  # an axle turned by more than this many crank radii of arc is no coupled axle any more


@dataclass(frozen=True)
class Unknowns:
    """Where each unknown stands in the vector of one programme; ``boxed``: axles whose boxes are unknowns."""

    layout: Layout
    driven: int
    boxed: tuple[int, ...]

    @property
    def free(self) -> bool:
        """Whether any box is an unknown."""
        return bool(self.boxed)

    @cached_property
    def axles(self) -> tuple[int, ...]:
        """Axles that turn: all but the driven one."""
        return tuple(axle for axle in range(self.layout.axles) if axle != self.driven)

    @cached_property
    def rods(self) -> dict[int, tuple[int, int]]:
        """First place and count of the unknowns of each rod on one side that has any (then the other side's)."""
        found, at = {}, len(self.axles) + 2 * len(self.boxed)
        for index, body in enumerate(self.layout.bodies):
            if body.over_three or index in self.layout.carriers:
                count = 3 if body.over_three else 1
                found[index] = (at, count)
                at += 2 * count
        return found

    @property
    def count(self) -> int:
        """How many unknowns there are."""
        return len(self.axles) + 2 * len(self.boxed) + sum(2 * count for _, count in self.rods.values())

    def axle(self, axle: int) -> int | None:
        """Place of an axle's arc, none for the driven one."""
        return None if axle == self.driven else self.axles.index(axle)

    def box(self, axle: int, side: int) -> int | None:
        """Place of a box's shift, none when it is no unknown."""
        return len(self.axles) + 2 * self.boxed.index(axle) + side if axle in self.boxed else None

    def rod(self, body: int, side: int, which: int = 0) -> int:
        """Place of a rod's forward (0), upward (1) or tilting (2) unknown."""
        at, count = self.rods[body]
        return at + side * count + which


@dataclass(frozen=True, slots=True)
class Row:
    """What one line of the programme is about: read by limits, sensitivities and findings.

    kind: ``rod`` (a length), ``held`` (a carrying rod on its own bush), ``eye`` (a polygon side of a rod over three
    pins) or ``box`` or ``bound``. sense: +1 when the row holds the places from lying too far apart (or too far
    forward), -1 from too near. side, body, held: as in Contact; direction: of a polygon side.
    """

    kind: str
    side: int
    body: int
    held: tuple[int, ...]
    sense: int
    contact: Contact | None = None
    direction: complex = 1.0
    axle: int = -1


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """A batch of programmes: ``matrix @ x <= room - miss - t``, before t is placed."""

    rows: tuple[Row, ...]
    matrix: Array  # (B, m, unknowns)
    room: Array  # (B, m)
    miss: Array  # (B, m)


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """Slack (B), the unknowns (B, count), row weights (B, m) and the lines they belong to."""

    slack: Array
    at: Array
    weights: Array
    lines: Lines


def batch_of(chassis: Chassis, angles: Array) -> tuple[Chassis, Array]:
    """Every angle of every sample as one batch: chassis with K * n samples, angles (1, K * n)."""
    n, k = chassis.samples, angles.size
    wide = chassis.with_vector(np.tile(chassis.vector(), k))
    return wide, np.repeat(angles, n)[None, :]


def linear_lines(chassis: Chassis, angles: Array) -> Lines:
    """Linear lines of a batch: chassis of B samples, its angle of each (1, B)."""
    seen = misses(chassis, pin_places(chassis, angles))
    unknowns = unknowns_of(chassis)
    lever = leverage(chassis, angles)[:, 0, :]
    return _lines(chassis, unknowns, seen, lever)


def unknowns_of(chassis: Chassis) -> Unknowns:
    """The unknowns of a chassis; boxes only where there is play."""
    free = bool((chassis.box_fore > 0).any() or (chassis.box_aft > 0).any())
    return Unknowns(chassis.layout, chassis.driven, tuple(range(chassis.layout.axles)) if free else ())


def directions() -> Complex:
    """Unit vectors to the sides of the polygon that stands for a bush circle."""
    return np.asarray(np.exp(2j * np.pi * np.arange(CORNERS) / CORNERS))


def _lines(chassis: Chassis, unknowns: Unknowns, seen: Misses, lever: Complex) -> Lines:
    """All rows, those of the eyes of rods over three pins last."""
    plain = plain_lines(chassis, unknowns, seen, lever)
    rows, matrix, rooms, gaps = list(plain.rows), [plain.matrix], [plain.room], [plain.miss]
    facing = np.conj(directions())
    inside = np.cos(np.pi / CORNERS)
    for index, body in enumerate(chassis.layout.bodies):
        if body.over_three:
            for support, side, offset, change in circles(chassis, unknowns, seen, lever, index):
                size = 0.5 * support_clearance(chassis, index, support)[side] * inside
                rows += [Row("eye", side, index, (support,), 1, direction=complex(each)) for each in directions()]
                matrix.append((facing[:, None] * change[:, None, :]).real)
                rooms.append(np.broadcast_to(np.reshape(size, (-1, 1)), (chassis.samples, CORNERS)))
                gaps.append((facing * offset[:, None]).real)
    whole = (np.concatenate(each, axis=1) for each in (matrix, rooms, gaps))
    return Lines(tuple(rows), *whole)


def plain_lines(chassis: Chassis, unknowns: Unknowns, seen: Misses, lever: Complex) -> Lines:
    """All rows but those of the eyes of rods over three pins: rods, carrying rods on their bushes, boxes, bounds."""
    layout, batch = chassis.layout, chassis.samples
    rows: list[Row] = []
    matrix: list[Array] = []
    rooms: list[Array] = []
    gaps: list[Array] = []

    def place(node: Node, side: int, line: Array, scale: float) -> None:
        kind, number = node
        if kind == "rod":
            line[:, unknowns.rod(number, side)] += scale
            return
        axle, box = unknowns.axle(number), unknowns.box(number, side)
        if axle is not None:
            line[:, axle] += scale * lever[side].real
        if box is not None:
            line[:, box] += scale

    def put(row: Row, line: Array, size: Array | float, gap: Array | float) -> None:
        rows.append(row)
        matrix.append(line)
        rooms.append(np.broadcast_to(size, (batch,)))
        gaps.append(np.broadcast_to(gap, (batch,)))

    for contact in contacts(layout):
        size, gap = room(chassis, contact), miss(seen, contact)
        gap = np.broadcast_to(gap, (2, 1, batch))[:, 0]
        for side in (0, 1):
            line = np.zeros((batch, unknowns.count))
            place(contact.fore, side, line, 1.0)
            place(contact.aft, side, line, -1.0)
            kind = "rod" if contact.slack else "held"
            for sense in (1, -1):
                row = Row(kind, side, contact.body, contact.held, sense, contact)
                put(row, sense * line, size[side], sense * gap[side])
    for axle in unknowns.boxed:
        for side in (0, 1):
            at = unknowns.box(axle, side)
            for sense, play in ((1, chassis.box_fore), (-1, chassis.box_aft)):
                line = np.zeros((batch, unknowns.count))
                line[:, at] = sense
                put(Row("box", side, -1, (), sense, axle=axle), line, play[axle, side], 0.0)
    for axle in unknowns.axles:
        at = unknowns.axle(axle)
        for sense in (1, -1):
            line = np.zeros((batch, unknowns.count))
            line[:, at] = sense
            put(Row("bound", 0, -1, (), sense, axle=axle), line, FURTHEST * mean_radius(chassis), 0.0)
    return Lines(tuple(rows), np.stack(matrix, axis=1), np.stack(rooms, axis=1), np.stack(gaps, axis=1))


def circles(
    chassis: Chassis, unknowns: Unknowns, seen: Misses, lever: Complex, index: int
) -> Iterator[tuple[int, int, Complex, Complex]]:
    """Support, side, offset of the place from the eye's middle (B), and its change with the unknowns (B, count)."""
    layout, batch = chassis.layout, chassis.samples
    body = layout.bodies[index]
    last = len(body.supports) - 1
    span = chassis.centres[body.first : body.last + 1].sum(axis=0)
    for support, held in enumerate(body.supports):
        behind = chassis.centres[body.first : body.first + held.section_offset].sum(axis=0)
        for side in (0, 1):
            along = -seen.rods[index][0, support][side, 0] if support else np.zeros(batch)
            up = seen.across[index][support][side, 0] if 0 < support < last else np.zeros(batch)
            line = np.zeros((batch, unknowns.count), dtype=np.complex128)
            _move(chassis, unknowns, lever, held, side, line)
            line[:, unknowns.rod(index, side, 0)] -= 1.0
            line[:, unknowns.rod(index, side, 1)] -= 1j
            line[:, unknowns.rod(index, side, 2)] -= 1j * (behind / span)[side]
            yield support, side, np.broadcast_to(along + 1j * up, (batch,)), line


def _move(
    chassis: Chassis,
    unknowns: Unknowns,
    lever: Complex,
    held: Support,
    side: int,
    line: Complex,
    share: Array | float = 1.0,
) -> None:
    """Add to ``line`` how a place moves with the unknowns: forward in the real part, up in the imaginary part.

    A joint moves forward with its carrying rod and up as that rod's own places, in proportion to its place on it.
    """
    layout = chassis.layout
    if held.eye is not None:
        number = layout.eyes[held.eye][1]
        axle, box = unknowns.axle(number), unknowns.box(number, side)
        if axle is not None:
            line[:, axle] += share * lever[side]
        if box is not None:
            line[:, box] += share
        return
    joint = held.knuckle or 0
    knuckle = layout.knuckles[joint]
    body = layout.bodies[knuckle.carrier]
    span = chassis.centres[body.first : body.last + 1, side].sum(axis=0)
    behind = chassis.centres[body.first : knuckle.axle, side].sum(axis=0)
    reach = chassis.knuckle_reach[joint, side]
    part = (behind + (-reach if knuckle.ahead else reach)) / span
    raised = np.zeros_like(line)
    _move(chassis, unknowns, lever, body.supports[0], side, raised, share * (1.0 - part))
    _move(chassis, unknowns, lever, body.supports[-1], side, raised, share * part)
    line += 1j * raised.imag
    line[:, unknowns.rod(knuckle.carrier, side)] += share
    if body.over_three:
        line[:, unknowns.rod(knuckle.carrier, side, 1)] += 1j * share
        line[:, unknowns.rod(knuckle.carrier, side, 2)] += 1j * share * part


def place_t(
    lines: Lines, layout: Layout, section: int | None, floor: Array | float, *, eased: bool
) -> tuple[Array, Array]:
    """How much t each row loses (m), and what the floor takes off its room (B, m)."""
    per_t = np.zeros(len(lines.rows))
    off = np.zeros_like(lines.room)
    for number, row in enumerate(lines.rows):
        if row.kind in ("box", "bound"):
            continue
        own = section is None or section in layout.bodies[row.body].sections
        share = {"rod": 1.0, "eye": 0.5, "held": 0.5}[row.kind]
        if row.kind == "held":
            if section is None:
                per_t[number] = share if eased else 0.0
            else:
                off[:, number] = share * np.minimum(floor, 0.0)
        elif own:
            per_t[number] = share
        else:
            off[:, number] = share * floor
    return per_t, off


def solve_lines(lines: Lines, layout: Layout, section: int | None, floor: Array | float) -> Answer:
    """Largest slack of a batch of lines; carrying rods' bushes count in full, and are eased only when it binds."""
    per_t, off = place_t(lines, layout, section, floor, eased=True)
    limits = lines.room - lines.miss - off
    answer = largest(lines.matrix, np.broadcast_to(per_t, limits.shape), limits)
    if section is None and any(row.kind == "held" for row in lines.rows):
        turns_free = answer.t > 0
        if turns_free.any():
            hard, _ = place_t(lines, layout, section, floor, eased=False)
            again = largest(
                lines.matrix[turns_free], np.broadcast_to(hard, limits[turns_free].shape), limits[turns_free]
            )
            t, x, y = answer.t.copy(), answer.x.copy(), answer.y.copy()
            t[turns_free], x[turns_free], y[turns_free] = again.t, again.x, again.y
            answer = Answer(t, x, y)
    return answer


def solve_linear(chassis: Chassis, angles: Array, *, section: int | None = None, floor: Array | float = 0.0) -> Solved:
    """The linear programme at each angle of each sample; a batch as :func:`batch_of` orders it.

    section, floor: as in ``rings_slack``, floor a number or one for each of the batch.
    """
    return solve_each(*batch_of(chassis, angles), section=section, floor=floor)


def solve_each(chassis: Chassis, angles: Array, *, section: int | None = None, floor: Array | float = 0.0) -> Solved:
    """The linear programme of each sample at its own angle (1, B)."""
    lines = linear_lines(chassis, angles)
    answer = solve_lines(lines, chassis.layout, section, floor)
    return Solved(answer.t, answer.x, answer.y, lines)
