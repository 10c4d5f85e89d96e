"""How the slack of a section changes with every dimension of the chassis, and which rods are tight.

At the best position only the rows that hold it count, each with its weight in the programme; the slack then changes
with a dimension as the weighted sum of those rows does, wheels and rods held where they are (envelope theorem).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from asmade.motion.wheels.chassis import FIELDS, field_shapes
from asmade.motion.wheels.layout import SIDES
from asmade.motion.wheels.programme import (
    Lines,
    Solved,
    batch_of,
    linear_lines,
    place_t,
    solve_linear,
)

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.slack import Boxes

_STEP = 1e-4  # mm, and a hundredth of it in radians
_ROOM_TO_SOLVE = 1e-7  # mm: the other rods' floor is put this much lower, so that the programme keeps an inside
_OUT_OF_THE_WAY = -1e3  # mm: a floor that never holds
_SAME = 1e-6  # mm: a section this near to the joint slack is what holds the joint slack


@dataclass(frozen=True, slots=True)
class TightRod:
    """A rod that holds the slack: its name, whether it is too long or too short there, and its weight (0 to 1)."""

    rod: str
    side: str
    says: str
    weight: float


@dataclass(frozen=True, slots=True)
class Slopes:
    """Slack (K), its change with every dimension (K, P) in the order of ``chassis.names``, and the tight rods (K)."""

    slack: Array
    slope: Array
    tight: tuple[tuple[TightRod, ...], ...]


def slack_slopes(chassis: Chassis, angles: Array, boxes: Boxes, section: int) -> Slopes:
    """Sensitivities of the slack of one section at each angle, for the first sample; linear.

    Where two positions or rods hold equally the slack has a corner; one of the slopes beside it is given.
    """
    set_up = chassis.with_vector(chassis.vector()[:, :1]).with_boxes(boxes)
    layout = set_up.layout
    if layout.decouples and boxes == "blocked":
        own = solve_linear(set_up, angles, section=section, floor=_OUT_OF_THE_WAY)
        return Slopes(own.slack, _slopes(set_up, angles, own), _tight(set_up, own))
    joint = solve_linear(set_up, angles)
    joint_slope = _slopes(set_up, angles, joint)
    if len(layout.bodies) == 1:
        return Slopes(joint.slack, joint_slope, _tight(set_up, joint))
    floor = joint.slack - _ROOM_TO_SOLVE
    own = solve_linear(set_up, angles, section=section, floor=floor)
    per_floor = _floor_slope(own, set_up, section, floor)
    own_slope = _slopes(set_up, angles, own) + per_floor[:, None] * joint_slope
    holds = own.slack - joint.slack < _SAME
    tight = tuple(
        of_joint if at else of_own
        for at, of_joint, of_own in zip(
            holds, _tight(set_up, joint, section), _tight(set_up, own, section), strict=True
        )
    )
    return Slopes(np.where(holds, joint.slack, own.slack), np.where(holds[:, None], joint_slope, own_slope), tight)


def _floor_slope(own: Solved, chassis: Chassis, section: int, floor: Array) -> Array:
    """Change of a section's slack with the floor kept by the others (K)."""
    step = np.ones_like(floor)
    _, high = place_t(own.lines, chassis.layout, section, floor, eased=True)
    _, low = place_t(own.lines, chassis.layout, section, floor - step, eased=True)
    return np.asarray(-(own.weights * (high - low)).sum(axis=1))


def _slopes(chassis: Chassis, angles: Array, solved: Solved) -> Array:
    vector = chassis.vector()[:, 0]
    shapes = field_shapes(chassis.layout)
    step = np.concatenate(
        [np.full(int(np.prod(shapes[field])), _STEP * (0.01 if field == "quarter" else 1.0)) for field in FIELDS]
    )
    moved = np.ones_like(step)
    if not ((chassis.box_fore > 0).any() or (chassis.box_aft > 0).any()):
        at = 0
        for field in FIELDS:
            size = int(np.prod(shapes[field]))
            if field in ("box_fore", "box_aft"):
                moved[at : at + size] = 0.0
            at += size
    size = vector.size
    shifted = np.repeat(vector[:, None], 2 * size, axis=1)
    shifted[:, :size] += np.diag(step * moved)
    shifted[:, size:] -= np.diag(step * moved)
    many, each = batch_of(chassis.with_vector(shifted), angles)
    lines = linear_lines(many, each)
    k, m = solved.weights.shape
    held = _held(lines, k, 2 * size, m, solved)
    return np.asarray((held[:, :size] - held[:, size:]) / (2.0 * step))


def _held(lines: Lines, k: int, shifts: int, m: int, solved: Solved) -> Array:
    """The weighted rows (K, shifts) with the unknowns where they were."""
    spare = (lines.room - lines.miss).reshape(k, shifts, m)
    matrix = lines.matrix.reshape(k, shifts, m, -1)
    spare = spare - np.einsum("ksmu,ku->ksm", matrix, solved.at)
    return np.asarray(np.einsum("ksm,km->ks", spare, solved.weights))


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
