"""How uncertain each dimension of a chassis is: own scatter, shared causes, run-out of unknown direction, limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from asmade.measure.errors import OutOfRange, Refused
from asmade.motion.wheels.chassis import FIELDS, field_shapes, index_of, names

if TYPE_CHECKING:
    from collections.abc import Mapping

    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.layout import Layout

Whole = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Spreads:
    """Spreads of the P dimensions of a chassis, in the order of ``chassis.names``.

    own: standard deviation of each (P).
    shared: what one standard deviation of each shared cause does to each dimension (F, P): one reamer, one gauge.
    causes: names of the shared causes (F).
    reach: how far each dimension may be from its best value in the worst case (P).
    eccentricity: how far each crank pin may sit from where it was measured, by run-out of pin and wheel seat, in a
        direction nobody knows (N, 2); half of what a dial indicator reads.
    """

    own: Array
    shared: Array
    causes: tuple[str, ...]
    reach: Array
    eccentricity: Array

    def __post_init__(self) -> None:
        """Refuse shapes that do not belong together, and anything that is not a finite number of 0 or more."""
        size = self.own.size
        if self.shared.shape != (len(self.causes), size) or self.reach.shape != (size,):
            raise Refused(
                "spreads of a chassis",
                got=(self.own.shape, self.shared.shape, self.reach.shape),
                reason="own and reach are one per dimension, shared one row per cause",
            )
        for name in ("own", "reach", "eccentricity"):
            array = getattr(self, name)
            if not np.isfinite(array).all() or (array < 0).any():
                raise OutOfRange(f"spread ({name})", got=float(np.min(array)), allowed="finite, 0 or more")
        if not np.isfinite(self.shared).all():
            raise OutOfRange("spread (shared)", got="nan or inf", allowed="finite numbers")

    @classmethod
    def of(
        cls,
        layout: Layout,
        own: Mapping[str, float],
        *,
        reach_in_deviations: float,
        eccentricity: float,
        shared: Mapping[str, Mapping[int, float]] | None = None,
    ) -> Spreads:
        """One standard deviation for all dimensions of a field (``{"crank_radius": 0.01, ...}``), none for the rest.

        The worst case reaches ``reach_in_deviations`` standard deviations of all causes of a dimension together.
        ``shared``: cause to {row of ``chassis.names``: effect of one standard deviation}.
        """
        unknown = set(own) - set(FIELDS)
        if unknown:
            raise Refused("spreads of a chassis", got=sorted(unknown), reason=f"known are {', '.join(FIELDS)}")
        shapes = field_shapes(layout)
        flat = np.concatenate([np.full(int(np.prod(shape)), own.get(name, 0.0)) for name, shape in shapes.items()])
        causes = shared if shared is not None else {}
        effects = np.zeros((len(causes), flat.size))
        for row, effect in enumerate(causes.values()):
            for at, size in effect.items():
                effects[row, at] = size
        return cls(
            own=flat,
            shared=effects,
            causes=tuple(causes),
            reach=reach_in_deviations * np.sqrt(flat**2 + (effects**2).sum(axis=0)),
            eccentricity=np.full((layout.axles, 2), eccentricity),
        )

    def draw(self, chassis: Chassis, count: int, seed: int) -> Chassis:
        """``count`` chassis about the first sample of ``chassis``; the same seed draws the same chassis."""
        chance = np.random.default_rng(seed)
        vector = chassis.vector()[:, :1] + self.own[:, None] * chance.standard_normal((self.own.size, count))
        vector += self.shared.T @ chance.standard_normal((len(self.causes), count))
        radius, ahead = runout_rows(chassis.layout)
        turn = chance.uniform(0.0, 2.0 * np.pi, (radius.size, count))
        size = self.eccentricity.reshape(-1, 1)
        vector[radius] += size * np.cos(turn)
        vector[ahead] += size * np.sin(turn)
        return chassis.with_vector(vector)

    def worst_corners(self, chassis: Chassis, slopes: Array) -> Array:
        """Dimensions (P, B) that do the most harm within reach, where the slack changes by ``slopes`` (B, P)."""
        slope = slopes.T
        slope = np.where(np.abs(slope) > 1e-7 * np.abs(slope).max(axis=0), slope, 0.0)  # less is rounding
        vector = chassis.vector()[:, :1] - np.sign(slope) * self.reach[:, None]
        radius, ahead = runout_rows(chassis.layout)
        size = np.hypot(slope[radius], slope[ahead])
        part = np.where(size > 0, self.eccentricity.reshape(-1, 1) / np.where(size > 0, size, 1.0), 0.0)
        vector[radius] -= part * slope[radius]
        vector[ahead] -= part * slope[ahead]
        return np.asarray(vector)

    def variances(self, chassis: Chassis, slope: Array) -> tuple[tuple[str, float], ...]:
        """What each cause adds to the variance of a sum that changes by ``slope`` (P), greatest first."""
        layout = chassis.layout
        parts = dict(zip(names(layout), (slope * self.own) ** 2, strict=True))
        for cause, effect in zip(self.causes, self.shared, strict=True):
            parts[cause] = float(slope @ effect) ** 2
        radius, ahead = runout_rows(layout)
        lean = 0.5 * self.eccentricity.reshape(-1) ** 2 * (slope[radius] ** 2 + slope[ahead] ** 2)
        for number, (axle, side) in enumerate(np.ndindex(layout.axles, 2)):
            parts[f"run-out of crank pin {axle + 1}{'LR'[side]}"] = float(lean[number])
        least = 1e-9 * sum(parts.values())  # less is rounding of the slopes
        found = [(name, float(size)) for name, size in parts.items() if size > least]
        return tuple(sorted(found, key=lambda part: -part[1]))


def runout_rows(layout: Layout) -> tuple[Whole, Whole]:
    """Rows of ``chassis.names`` that run-out of each crank pin moves: its radius, and ahead of its radius."""
    first_radius = index_of(layout, "crank_radius", 0, 0)
    first_ahead = index_of(layout, "pin_ahead", 0, 0)
    count = 2 * layout.axles
    return np.arange(first_radius, first_radius + count), np.arange(first_ahead, first_ahead + count)
