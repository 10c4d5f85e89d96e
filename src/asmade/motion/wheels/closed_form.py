"""Slack of every section in closed form: separate rods, boxes blocked.

In one section two wheels turn by one relative angle only. With k the forward movement of the pin per unit of that
angle, m what the rod misses by, and c the each-way slack of the rod (half the sum of its two bush clearances), the
best that is left on the tighter side is

    slack = min(cL, cR, (cL |kR| + cR |kL| - |mL kR - mR kL|) / (|kL| + |kR|))

Derivation in docs/wheels.md. Neighbouring sections do not disturb each other as long as each rod has its own eyes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asmade.measure.errors import Refused
from asmade.motion.wheels.geometry import eye_clearance, mean_radius, standing_cranks

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis

_BLOCK = 32_768  # angle-samples worked at once: the temporaries of one block stay in the processor's cache


def each_way_slack(chassis: Chassis) -> Array:
    """Each-way slack of every separate rod (S, 2, n): half the sum of the clearances at its two eyes."""
    clearance = eye_clearance(chassis)
    return np.asarray(0.5 * (clearance[0::2] + clearance[1::2]))


def blocked_slack(chassis: Chassis, angles: Array) -> Array:
    """Slack left in every section (S, K, n) at the chassis angles (K), boxes blocked, separate rods.

    Negative: the section binds there by that much. Anchor: one rod 0.1 mm too long, 0.06 mm each-way slack,
    that side on its dead centre: 0.06 - 0.1 = -0.04 mm.
    Raises: Refused for jointed rods and rods over three pins, which have no closed form.
    """
    if not chassis.layout.decouples:
        raise Refused(
            "closed form of the slack",
            got=chassis.meetings,
            reason="jointed rods and rods over three pins need the small programme",
            way_out="use wheels.slack.slack_left",
        )
    out = np.empty((chassis.layout.sections, angles.size, chassis.samples))
    _fill(chassis, angles, out, None)
    return out


def least_blocked_slack(chassis: Chassis, angles: Array) -> Array:
    """Least over the angles of :func:`blocked_slack`, (S, n), without keeping every angle."""
    if not chassis.layout.decouples:
        blocked_slack(chassis, angles)
    least = np.full((chassis.layout.sections, chassis.samples), np.inf)
    _fill(chassis, angles, None, least)
    return least


def _fill(chassis: Chassis, angles: Array, out: Array | None, least: Array | None) -> None:
    n, sections = chassis.samples, chassis.layout.sections
    z = standing_cranks(chassis)
    mean = z.mean(axis=0) / mean_radius(chassis)
    step = max(1, _BLOCK // max(1, angles.size))
    cosine, sine = np.cos(angles)[:, None], np.sin(angles)[:, None]

    def pick(array: Array, at: slice) -> Array:
        return array if array.shape[-1] == 1 else array[..., at]

    dz = z[:-1] - z[1:]
    dx = chassis.axle_x[:-1] - chassis.axle_x[1:]
    dy = chassis.axle_y[:-1] - chassis.axle_y[1:]
    slack = each_way_slack(chassis)
    for start in range(0, n, step):
        at = slice(start, min(n, start + step))
        k = [pick(mean.imag[s], at) * cosine + pick(mean.real[s], at) * sine for s in (0, 1)]  # sign cancels below
        size = [np.abs(k[0]), np.abs(k[1])]
        total = size[0] + size[1]
        for section in range(sections):
            miss = []
            for side in (0, 1):
                re, im = pick(dz.real[section, side], at), pick(dz.imag[section, side], at)
                along = re * cosine - im * sine
                along += pick(dx[section, side], at)
                up = re * sine
                up += im * cosine
                np.subtract(pick(dy[section, side], at), up, out=up)
                along *= along
                up *= up
                along += up
                np.sqrt(along, out=along)
                along -= pick(chassis.centres[section, side], at)
                miss.append(along)
            left, right = pick(slack[section, 0], at), pick(slack[section, 1], at)
            crossed = miss[0]
            crossed *= k[1]
            miss[1] *= k[0]
            crossed -= miss[1]
            np.abs(crossed, out=crossed)
            best = size[1] * left
            best += size[0] * right
            best -= crossed
            best /= total
            np.minimum(best, np.minimum(left, right), out=best)
            if out is not None:
                out[section, :, at] = best
            if least is not None:
                least[section, at] = best.min(axis=0)
