"""How the slack of a section changes with every dimension of the chassis, and which rods are tight.

At the best position only the rows that hold it count, each with its weight in the programme; the slack then changes
with a dimension as the weighted sum of those rows does, wheels and rods held where they are (envelope theorem).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from asmade.motion.wheels.chassis import PLAYS, field_shapes
from asmade.motion.wheels.layout import SIDES
from asmade.motion.wheels.programme import (
    Lines,
    Solved,
    batch_of,
    linear_lines,
    place_t,
    solve_each,
)
from asmade.motion.wheels.rings import rings_slack
from asmade.motion.wheels.slack import joint_slack_each, section_slack

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.slack import Boxes

_STEP = 1e-4  # mm, and a hundredth of it in radians
_ROOM_TO_SOLVE = 1e-6  # mm: the other rods' floor is put this much lower, so that the programme keeps an inside
_OUT_OF_THE_WAY = -1e3  # mm: a floor that never holds
_SAME = 5e-6  # mm: a section this near to the joint slack is what holds the joint slack


@dataclass(frozen=True, slots=True)
class TightRod:
    """A rod that holds the slack: its name, whether it is too long or too short there, and its weight (0 to 1)."""

    rod: str
    side: str
    says: str
    weight: float


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """Slack (K), its change with every dimension (K, P) in the order of ``chassis.names``, and the tight rods (K)."""

    slack: Array
    slope: Array
    tight: tuple[tuple[TightRod, ...], ...]


def slack_slopes(chassis: Chassis, angles: Array, boxes: Boxes, section: int) -> Slopes:
    """Sensitivities of the slack of one section at each angle, for the first sample; linear.

    Where two positions or rods hold equally the slack has a corner; one of the slopes beside it is given.
    """
    first = chassis.with_vector(chassis.vector()[:, :1])
    return slopes_each(*batch_of(first, angles), boxes, section)


def slopes_each(chassis: Chassis, each: Array, boxes: Boxes, section: int) -> Slopes:
    """The same for many chassis, every sample at its own angle (1, B)."""
    set_up = chassis.with_boxes(boxes)
    layout = set_up.layout
    if layout.decouples and boxes == "blocked":
        own = solve_each(set_up, each, section=section, floor=_OUT_OF_THE_WAY)
        return Slopes(own.slack, _slopes(set_up, each, own), _tight(set_up, own))
    joint = solve_each(set_up, each)
    joint_slope = _slopes(set_up, each, joint)
    if len(layout.bodies) == 1:
        return Slopes(joint.slack, joint_slope, _tight(set_up, joint))
    floor = joint.slack - _ROOM_TO_SOLVE
    own = solve_each(set_up, each, section=section, floor=floor)
    per_floor = _floor_slope(own, set_up, section, floor)
    own_slope = _slopes(set_up, each, own) + per_floor[:, None] * joint_slope
    holds = own.slack - joint.slack < _SAME
    tight = tuple(
        of_joint if at else of_own
        for at, of_joint, of_own in zip(
            holds, _tight(set_up, joint, section), _tight(set_up, own, section), strict=True
        )
    )
    return Slopes(np.where(holds, joint.slack, own.slack), np.where(holds[:, None], joint_slope, own_slope), tight)


def slack_each(chassis: Chassis, each: Array, boxes: Boxes, section: int) -> Array:
    """Slack (B) of one section of many chassis, every sample at its own angle (1, B)."""
    set_up = chassis.with_boxes(boxes)
    layout = set_up.layout
    if layout.decouples and boxes == "blocked":
        return np.asarray(rings_slack(set_up, each, section=section, floor=np.full(each.shape, _OUT_OF_THE_WAY))[0])
    joint = joint_slack_each(set_up, each)
    return section_slack(set_up, each, section, joint)


def _floor_slope(own: Solved, chassis: Chassis, section: int, floor: Array) -> Array:
    """Change of a section's slack with the floor kept by the others (B)."""
    step = np.ones_like(floor)
    _, high = place_t(own.lines, chassis.layout, section, floor, eased=True)
    _, low = place_t(own.lines, chassis.layout, section, floor - step, eased=True)
    return np.asarray(-(own.weights * (high - low)).sum(axis=1))


def dimension_steps(chassis: Chassis, boxes: Boxes) -> Array:
    """Steps (P) for difference quotients of every dimension; nothing for box plays that are blocked."""
    step = np.full(chassis.vector().shape[0], _STEP)
    at = 0
    for field, shape in field_shapes(chassis.layout).items():
        size = int(np.prod(shape))
        if field == "quarter":
            step[at : at + size] *= 0.01
        if field in PLAYS and boxes == "blocked":
            step[at : at + size] = 0.0
        at += size
    return step


def _slopes(chassis: Chassis, each: Array, solved: Solved) -> Array:
    """Change of the weighted rows with every dimension (B, P), the unknowns where they were."""
    free = bool((chassis.box_fore > 0).any() or (chassis.box_aft > 0).any())
    step = dimension_steps(chassis, "free" if free else "blocked")
    vector = chassis.vector()
    size, batch = vector.shape
    shift = np.concatenate([np.diag(step), -np.diag(step)], axis=1)
    # every chassis of the batch with every dimension moved either way: (P, 2 P, B)
    shifted = vector[:, None, :] + shift[:, :, None]
    many = chassis.with_vector(shifted.reshape(size, -1))
    lines = linear_lines(many, np.tile(each, 2 * size))
    held = _held(lines, batch, 2 * size, solved)
    change = held[:size] - held[size:]
    moved = np.where(step > 0, step, 1.0)
    return np.asarray((change / (2.0 * moved)[:, None]).T)


def _held(lines: Lines, batch: int, shifts: int, solved: Solved) -> Array:
    """The weighted rows (shifts, B) with the unknowns where they were."""
    m = solved.weights.shape[1]
    spare = (lines.room - lines.miss).reshape(shifts, batch, m)
    matrix = lines.matrix.reshape(shifts, batch, m, -1)
    spare = spare - np.einsum("sbmu,bu->sbm", matrix, solved.at)
    return np.asarray(np.einsum("sbm,bm->sb", spare, solved.weights))


def _tight(chassis: Chassis, solved: Solved, section: int | None = None) -> tuple[tuple[TightRod, ...], ...]:
    layout = chassis.layout
    out = []
    for weights in solved.weights:
        found: dict[tuple[int, int], tuple[float, float]] = {}
        for row, weight in zip(solved.lines.rows, weights, strict=True):
            if row.kind not in ("rod", "held", "eye"):
                continue
            size, lean = found.get((row.body, row.side), (0.0, 0.0))
            sense = row.sense if row.kind == "rod" else 0
            found[row.body, row.side] = size + weight, lean + sense * weight
        total = sum(size for size, _ in found.values()) or 1.0
        # rods that hold this section; when others hold as hard they are named too, the section's own first
        rods = [
            TightRod(
                rod=f"{layout.body_name(body)}{SIDES[side]}",
                side=SIDES[side],
                says="too short" if lean > 0.5 * size else "too long" if lean < -0.5 * size else "tight",
                weight=float(size / total),
            )
            for (body, side), (size, lean) in found.items()
            if size > 0.01 * total
        ]
        own = None if section is None else layout.body_name(layout.body_of(section))
        out.append(tuple(sorted(rods, key=lambda rod: (rod.rod[:-1] != own, -rod.weight))))
    return tuple(out)
