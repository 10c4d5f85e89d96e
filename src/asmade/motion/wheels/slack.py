"""Slack left in every section over the turn, by the quickest way that is right for the rods at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from asmade.motion.wheels.closed_form import blocked_slack, least_blocked_slack
from asmade.motion.wheels.eyes import eyes_slack
from asmade.motion.wheels.programme import batch_of
from asmade.motion.wheels.rings import rings_slack

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis

_INSIDE = 1e-6  # mm: the others' floor lies this much lower, so that the programme keeps an inside
_SAME = 5e-6  # mm: a section this near to the joint slack is what holds it
_BLOCK = 100_000  # angle-samples kept at once

Boxes = Literal["blocked", "free"]


def joint_slack(chassis: Chassis, angles: Array, boxes: Boxes) -> Array:
    """Largest slack (K, n) that every rod of the chassis can have at the same time; negative: it does not pass."""
    set_up = chassis.with_boxes(boxes)
    if chassis.layout.has_rigid:
        return eyes_slack(*batch_of(set_up, angles)).reshape(angles.size, chassis.samples)
    if chassis.layout.decouples and boxes == "blocked":
        return np.asarray(blocked_slack(chassis, angles).min(axis=0))
    return rings_slack(set_up, angles)


def slack_left(chassis: Chassis, angles: Array, boxes: Boxes) -> Array:
    """Slack left in every section (S, K, n) at the chassis angles (K), linear.

    That of one section is the most its rod can have while every other rod keeps at least what all can have at once;
    so the least over the sections is the slack of the whole chassis. Sections of one rod over three pins share it.
    Anchor: see ``closed_form.blocked_slack``, which this is for separate rods and blocked boxes.
    """
    layout = chassis.layout
    if layout.decouples and boxes == "blocked":
        return blocked_slack(chassis, angles)
    set_up = chassis.with_boxes(boxes)
    joint = joint_slack(chassis, angles, boxes)
    return _sections(set_up, angles, joint)


def one_section_left(chassis: Chassis, angles: Array, boxes: Boxes, section: int) -> Array:
    """The same for one section only (K, n)."""
    layout = chassis.layout
    if layout.decouples and boxes == "blocked":
        return np.asarray(blocked_slack(chassis, angles)[section])
    joint = joint_slack(chassis, angles, boxes)
    if len(layout.bodies) == 1:
        return joint
    own = section_slack(*batch_of(chassis.with_boxes(boxes), angles), section, joint.reshape(-1))
    return own.reshape(joint.shape)


def least_slack(chassis: Chassis, angles: Array, boxes: Boxes) -> Array:
    """Least over the angles of :func:`slack_left`, (S, n): what a requirement evaluates on many samples."""
    if chassis.layout.decouples and boxes == "blocked":
        return least_blocked_slack(chassis, angles)
    step = max(1, _BLOCK // angles.size)
    vector = chassis.vector()
    parts = [
        slack_left(chassis.with_vector(vector[:, at : at + step]), angles, boxes).min(axis=1)
        for at in range(0, chassis.samples, step)
    ]
    return np.concatenate(parts, axis=1)


def _sections(set_up: Chassis, angles: Array, joint: Array) -> Array:
    layout = set_up.layout
    out = np.empty((layout.sections, *joint.shape))
    flat = batch_of(set_up, angles) if layout.has_rigid else None
    for body in layout.bodies:
        if flat is not None:
            own = section_slack(*flat, body.first, joint.reshape(-1)).reshape(joint.shape)
        else:
            own = np.maximum(rings_slack(set_up, angles, section=body.first, floor=joint), joint)
        out[body.first : body.last + 1] = own
    return out


def section_slack(set_up: Chassis, each: Array, section: int, joint: Array) -> Array:
    """Slack (B) of one section of many chassis with their boxes as they are, every sample at its own angle (1, B).

    joint: what all rods can have at once there (B).
    """
    layout = set_up.layout
    if len(layout.bodies) == 1:
        return joint
    if layout.has_rigid:
        own = eyes_slack(set_up, each, section=section, floor=joint - _INSIDE)
        return np.where(own - joint < _SAME, joint, own)
    return np.asarray(np.maximum(rings_slack(set_up, each, section=section, floor=joint[None, :])[0], joint))


def joint_slack_each(set_up: Chassis, each: Array) -> Array:
    """What all rods can have at once (B), every sample at its own angle (1, B), boxes as they are."""
    if set_up.layout.has_rigid:
        return eyes_slack(set_up, each)
    return np.asarray(rings_slack(set_up, each)[0])
