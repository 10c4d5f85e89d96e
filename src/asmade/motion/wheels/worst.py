"""Worst case: the least slack with every dimension as unkind as its reach allows."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from asmade.motion.wheels.chance import ANGLES_RIGID
from asmade.motion.wheels.geometry import leverage, misses, pin_places, turn_angles
from asmade.motion.wheels.sensitivity import dimension_steps, slack_each, slopes_each
from asmade.motion.wheels.slack import Boxes, one_section_left

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.spreads import Spreads

_START_ANGLES = 24  # with the four dead centres: every 45 degrees is among them
_START_ANGLES_RIGID = 8
_FOLLOWED = 8  # of the worst corners, each at another angle
_FOLLOWED_RIGID = 3  # whose every angle costs a programme
_ROUNDS = 6
_ROUNDS_RIGID = 3


@dataclass(frozen=True, slots=True)
class Worst:
    """Least slack with every dimension as unkind as its reach allows, and where."""

    slack_mm: float
    at_rad: float


def worst_case(chassis: Chassis, spreads: Spreads, boxes: Boxes, section: int, turn: Array) -> Worst:
    """Least slack of a section with every dimension within its reach of the best value, linear.

    The slack is the least of many straight lines, so its worst lies in a corner of the reaches. Corners are started
    where the section's two rods miss most, either way, at angles all over the turn, every bush tight; the worst few
    are turned right round and followed, every dimension going to the end of its reach that harms most where
    that corner is tightest, until nothing gets worse. The figure is one that can happen; for separate rods and
    blocked boxes it is the worst there is, with joints or box play a worse corner is not ruled out (none was found
    among corners drawn at random, see the tests).
    """
    rigid = chassis.layout.has_rigid
    if rigid:
        turn = turn_angles(chassis, ANGLES_RIGID)
    corners = _start_corners(chassis, spreads, boxes, section)
    least, at = np.inf, 0.0
    for _ in range(_ROUNDS_RIGID if rigid else _ROUNDS):
        built = _built(chassis, corners)
        profile = one_section_left(built, turn, boxes, section)
        where = profile.argmin(axis=0)
        each = profile[where, np.arange(where.size)]
        worst = int(each.argmin())
        if not each[worst] < least - 1e-9:
            break
        least, at = float(each[worst]), float(turn[where[worst]])
        order = np.argsort(each, kind="stable")
        _, first = np.unique(where[order], return_index=True)
        follow = order[np.sort(first)][: _FOLLOWED_RIGID if rigid else _FOLLOWED]
        tight = built.with_vector(built.vector()[:, follow])
        slopes = slopes_each(tight, turn[where[follow]][None, :], boxes, section).slope
        corners = spreads.worst_corners(chassis, slopes)
    return Worst(least, at)


def _built(chassis: Chassis, corners: Array) -> Chassis:
    built = chassis.with_vector(corners)
    return built.replace_unchecked(box_fore=np.maximum(built.box_fore, 0.0), box_aft=np.maximum(built.box_aft, 0.0))


def _start_corners(chassis: Chassis, spreads: Spreads, boxes: Boxes, section: int) -> Array:
    """The worst few corners (P, at most 9), each where rods miss most at some angle, and one with only tight bushes.

    Where sections work on each other a neighbour's miss counts with the section's own, either way.
    """
    rigid = chassis.layout.has_rigid
    angles = turn_angles(chassis, _START_ANGLES_RIGID if rigid else _START_ANGLES)
    vector = chassis.vector()[:, :1]
    slope = _miss_slopes(chassis, angles, dimension_steps(chassis, boxes))
    lever = leverage(chassis.with_vector(vector), angles).real[..., 0]
    patterns = [slope[section]]
    if not (chassis.layout.decouples and boxes == "blocked"):
        rod = chassis.layout.bodies[chassis.layout.body_of(section)]
        for other in range(rod.first - 1, rod.last + 2):
            if 0 <= other < chassis.layout.sections and other != section:
                patterns += [slope[section] + slope[other], slope[section] - slope[other], slope[other]]
    tight = _tight_bushes(chassis, vector.shape[0])
    harms = []
    for pattern, left, right in product(patterns, (1.0, -1.0), (1.0, -1.0)):
        harm = left * pattern[0] * np.abs(lever[1])[:, None] + right * pattern[1] * np.abs(lever[0])[:, None]
        harms.append(tight - harm)
    many = spreads.worst_corners(chassis, np.concatenate(harms))
    each = np.tile(angles, many.shape[1] // angles.size)
    slack = slack_each(_built(chassis, many), each[None, :], boxes, section)
    order = np.argsort(slack, kind="stable")
    _, first = np.unique(each[order], return_index=True)
    worst = many[:, order[np.sort(first)][: _FOLLOWED_RIGID if rigid else _FOLLOWED]]
    return np.concatenate([worst, spreads.worst_corners(chassis, tight[None, :])], axis=1)


def _miss_slopes(chassis: Chassis, angles: Array, step: Array) -> Array:
    """How the miss of every section changes with every dimension (S, 2, K, P)."""
    vector = chassis.vector()[:, :1]
    both = chassis.with_vector(vector + np.concatenate([np.diag(step), -np.diag(step)], axis=1))
    seen = misses(both, pin_places(both, angles))
    moved = 2 * np.where(step > 0, step, 1.0)
    out = []
    for section in range(chassis.layout.sections):
        body = chassis.layout.body_of(section)
        ahead = section - chassis.layout.bodies[body].first
        miss = seen.rods[body][ahead, ahead + 1]
        out.append((miss[..., : step.size] - miss[..., step.size :]) / moved)
    return np.stack(out)


def _tight_bushes(chassis: Chassis, count: int) -> Array:
    """How slack changes with what gives room, as signs: bores and plays up, pins down."""
    one = np.zeros((count, 1))
    made = chassis.with_vector(one)
    return made.replace_unchecked(
        bore=np.ones_like(made.bore),
        pin=-np.ones_like(made.pin),
        knuckle_clearance=np.ones_like(made.knuckle_clearance),
        box_fore=np.ones_like(made.box_fore),
        box_aft=np.ones_like(made.box_aft),
    ).vector()[:, 0]
