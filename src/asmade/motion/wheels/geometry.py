"""Where the crank pins are, and by how much each rod misses its pins before any wheel gives way.

A crank pin is a complex number, x + iy. The pin of axle i on side s stands at

    P = x + i y + conj(z exp(i phi)),   z = (r + i e) exp(i psi)

with phi the chassis angle and psi the standing angle of that crank: nothing for the right crank of the driven axle,
and minus (right-hand lead) or plus the quarter for its left crank. An axle whose quarter differs from the driven
one's is stood half-way, so that the error shows half on each side: the linear sums are then good to second order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis

Complex = npt.NDArray[np.complex128]


def standing_cranks(chassis: Chassis) -> Complex:
    """Crank vectors z (N, 2, n) at chassis angle 0, each axle stood half-way through its quarter difference."""
    turning = chassis.turning
    driven = chassis.quarter[chassis.driven]
    left = -turning * 0.5 * (chassis.quarter + driven)
    right = turning * 0.5 * (chassis.quarter - driven)
    psi = np.stack([left, right], axis=1)
    return np.asarray((chassis.crank_radius + 1j * chassis.pin_ahead) * np.exp(1j * psi))


def mean_radius(chassis: Chassis) -> Array:
    """Mean crank radius (n): turns a relative angle of an axle into arc at the pin, so that all unknowns are mm."""
    return np.asarray(chassis.crank_radius.mean(axis=(0, 1)))


def dead_centres(chassis: Chassis) -> Array:
    """The chassis angles (4) at which a side stands on a dead centre, from the first sample."""
    z = standing_cranks(chassis)[..., 0].mean(axis=0)
    first = np.mod(-np.angle(z), 2 * np.pi)
    return np.sort(np.mod(np.concatenate([first, first + np.pi]), 2 * np.pi))


def turn_angles(chassis: Chassis, count: int = 360) -> Array:
    """``count`` even angles over a turn and the four dead centres, where slack has its corners, in order."""
    even = np.linspace(0.0, 2 * np.pi, count, endpoint=False)
    both = np.unique(np.concatenate([even, dead_centres(chassis)]))
    far_enough = np.concatenate([[True], np.diff(both) > 1e-9])
    return np.asarray(both[far_enough])


def turns(angles: Array) -> Complex:
    """Unit vectors of chassis angles given as (K) for all samples or as (K, n), one for each sample."""
    return np.asarray(np.exp(1j * (angles[:, None] if angles.ndim == 1 else angles)))


def leverage(chassis: Chassis, angles: Array) -> Complex:
    """How a pin moves per mm of arc of its axle (2, K, n): forward in the real part, up in the imaginary part.

    Forward about minus the sine of the side's crank angle, up about minus its cosine.

    One figure per side for all axles; what the axles differ by is of second order (the exact sums use each one's own).
    """
    z = standing_cranks(chassis).mean(axis=0) / mean_radius(chassis)
    return np.asarray(-1j * np.conj(z[:, None, :] * turns(angles)))


@dataclass(frozen=True, slots=True, eq=False)
class Misses:
    """By how much pins and rods disagree (mm), every axle standing, every rod along its pins; each (2, K, n).

    rods: per body, per pair of its supports (fore, aft): distance of the two places less the rod between them.
    across: per body, per support between the outermost two: how far the place is above the line of the outer two.
    """

    rods: tuple[dict[tuple[int, int], Array], ...]
    across: tuple[dict[int, Array], ...]


def pin_places(chassis: Chassis, angles: Array) -> Complex:
    """Crank pins (N, 2, K, n) as complex numbers, every axle standing at the chassis angles (K)."""
    z = standing_cranks(chassis)[:, :, None, :]
    return np.asarray((chassis.axle_x + 1j * chassis.axle_y)[:, :, None, :] + np.conj(z * turns(angles)))


def misses(chassis: Chassis, pins: Complex, poses: dict[int, tuple[Array, ...]] | None = None) -> Misses:
    """Disagreement of pins and rods for pins (N, 2, K, n) standing anywhere.

    ``poses``: for each carrying body how far it lies forward of its foremost support, and of one over three pins
    also how far above its places at the foremost and by how much more at the hindmost; each (2, K, n).
    """
    layout = chassis.layout
    joints: dict[int, Complex] = {}
    rods: dict[int, dict[tuple[int, int], Array]] = {}
    across: dict[int, dict[int, Array]] = {}
    order = (*layout.carriers, *(b for b in range(len(layout.bodies)) if b not in layout.carriers))
    for index in order:
        body = layout.bodies[index]
        places = [
            pins[layout.eyes[support.eye][1]] if support.eye is not None else joints[support.knuckle or 0]
            for support in body.supports
        ]
        offsets = [
            -chassis.centres[body.first : body.first + support.section_offset].sum(axis=0)[:, None, :]
            for support in body.supports
        ]
        rods[index] = {
            (f, a): np.abs(places[f] - places[a]) - (offsets[f] - offsets[a])
            for f in range(len(places))
            for a in range(f + 1, len(places))
        }
        line = places[0] - places[-1]
        line = line / np.abs(line)
        across[index] = {
            middle: ((places[middle] - places[-1]) * np.conj(line)).imag for middle in range(1, len(places) - 1)
        }
        if index in layout.carriers:
            for number, knuckle in enumerate(layout.knuckles):
                if knuckle.carrier == index:
                    reach = chassis.knuckle_reach[number][:, None, :]
                    eye_offset = -chassis.centres[body.first : knuckle.axle].sum(axis=0)[:, None, :]
                    along = eye_offset - offsets[0] + (reach if knuckle.ahead else -reach)
                    lie: Complex | Array = along
                    if poses is not None:
                        pose = poses[index]
                        lie = along + pose[0]
                        if len(pose) > 1:
                            lie = lie + 1j * (pose[1] + pose[2] * -along / (offsets[0] - offsets[-1]))
                    joints[number] = places[0] + lie * line
    count = range(len(layout.bodies))
    return Misses(tuple(rods[b] for b in count), tuple(across[b] for b in count))


def eye_clearance(chassis: Chassis) -> Array:
    """Clearance on diameter in each eye (E, 2, n); negative in a sample whose pin is larger than its bush."""
    on = [axle for _, axle in chassis.layout.eyes]
    return np.asarray(chassis.bore - chassis.pin[on])
