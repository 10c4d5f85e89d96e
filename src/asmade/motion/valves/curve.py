"""A periodic curve from evenly spaced samples, exact between them: its Fourier series.

The motion of a linkage is a smooth periodic function, so its harmonics die out geometrically: 96 samples of a
valve gear give the curve to about 1e-12 mm at every angle, and events are roots of the series, not of a grid.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """``Re sum c_k exp(i k angle)``; coefficients of shape (..., harmonics)."""

    coefficients: NDArray[np.complex128]
    tail: float

    @classmethod
    def through(cls, samples: Array) -> Curve:
        """Curve through samples at ``2 pi j / n`` on the last axis.

        ``tail``, the error of the curve between its samples, is the greatest of the last eighth of the harmonics times
        their number: ample where they die out geometrically, about right for a curve with a corner in it.
        """
        count = samples.shape[-1]
        series = np.fft.rfft(samples, axis=-1) / count
        series[..., 1:] *= 2.0
        size = np.abs(series).max(axis=tuple(range(series.ndim - 1)))
        tail = float(size[-max(2, count // 16) :].max()) * size.size
        kept = np.flatnonzero(size > 1e-15 * max(float(size.max()), 1e-300))
        return cls(np.ascontiguousarray(series[..., : int(kept[-1]) + 1 if kept.size else 1]), tail)

    def at(self, angle: Array) -> Array:
        """Values at angles of shape (..., m)."""
        return self.with_rate(angle)[0]

    def with_rate(self, angle: Array) -> tuple[Array, Array]:
        """Values and rates to the angle at angles of shape (..., m)."""
        series = self.coefficients[..., None, :]
        step = np.exp(1j * angle)
        value = np.zeros(np.broadcast_shapes(angle.shape, series.shape[:-1]), dtype=np.complex128)
        rate = np.zeros_like(value)
        for harmonic in range(series.shape[-1] - 1, 0, -1):
            value = (value + series[..., harmonic]) * step
            rate = (rate + (1j * harmonic) * series[..., harmonic]) * step
        return value.real + series[..., 0].real, rate.real

    def rate(self) -> Curve:
        """The curve of rates to the angle."""
        harmonics = np.arange(self.coefficients.shape[-1])
        return Curve(1j * harmonics * self.coefficients, self.tail * harmonics[-1])

    def reversed(self, where: NDArray[np.bool_]) -> Curve:
        """The curve run through backwards, at those of its leading places."""
        return Curve(
            np.where(where[..., None], np.conj(self.coefficients), self.coefficients),
            self.tail,
        )

    def grid(self, count: int) -> Array:
        """Values at ``count`` evenly spaced angles on a new last axis; more than twice the harmonics."""
        series = self.coefficients * (0.5 * count)
        series[..., 0] *= 2.0
        values: Array = np.fft.irfft(series, n=count, axis=-1)
        return values

    def scaled(self, factor: float, shift: Array | float) -> Curve:
        """``factor * curve + shift`` (shift of the shape of the leading places)."""
        shape = np.broadcast_shapes(self.coefficients.shape[:-1], np.shape(shift))
        series = np.broadcast_to(factor * self.coefficients, (*shape, self.coefficients.shape[-1])).copy()
        series[..., 0] += shift
        return Curve(series, self.tail)


@dataclass(frozen=True, slots=True, eq=False)
class Above:
    """The stretch in which a curve stands above zero around its greatest value; shapes are the curve's places.

    Where it is never above zero ``ever`` is False and the angles are NaN; where it never comes down, ``ends`` is
    False and so. ``stretches`` counts the separate stretches.
    """

    ever: NDArray[np.bool_]
    ends: NDArray[np.bool_]
    opens: Array
    closes: Array
    greatest: Array
    greatest_at: Array
    stretches: NDArray[np.int64]


_GRID = 180
"""Angles at which a curve is looked at before its roots are refined."""
_BLOCK = 1024
"""Curves worked on at once, so that their grids stay in the processor's cache."""


def greatest(curve: Curve) -> tuple[Array, Array, Array]:
    """Greatest value of each curve, its angle, and the curve's values on the grid looked at."""
    grid = curve.grid(max(_GRID, 4 * curve.coefficients.shape[-1]))
    step = 2 * np.pi / grid.shape[-1]
    near = grid.argmax(axis=-1) * step
    at = _root(curve.rate(), near - step, near + step, np.ones(near.shape, dtype=bool))
    return curve.at(at[..., None])[..., 0], at, grid


def extremes(curve: Curve) -> tuple[Array, Array]:
    """Least and greatest value of each curve."""
    return -greatest(curve.scaled(-1.0, 0.0))[0], greatest(curve)[0]


def above_zero(curve: Curve) -> Above:
    """Opening and closing angle of each curve, ``opens <= greatest_at <= closes`` and less than a turn apart."""
    shape, harmonics = curve.coefficients.shape[:-1], curve.coefficients.shape[-1]
    flat = curve.coefficients.reshape(-1, harmonics)
    blocks = [
        _above_zero(Curve(flat[first : first + _BLOCK], curve.tail)) for first in range(0, max(1, len(flat)), _BLOCK)
    ]
    return Above(*(np.concatenate([getattr(block, f.name) for block in blocks]).reshape(shape) for f in fields(Above)))


def _above_zero(curve: Curve) -> Above:
    top, top_at, grid = greatest(curve)
    count = grid.shape[-1]
    step = 2 * np.pi / count
    near = grid.argmax(axis=-1)
    ever = np.asarray(top > 0)
    positive = grid > 0
    ends = np.asarray(~positive.all(axis=-1))
    stretches = (positive & ~np.roll(positive, 1, axis=-1)).sum(axis=-1)
    stretches = np.where(ever, np.maximum(stretches, 1), 0)

    around = np.take_along_axis(positive, (near[..., None] + np.arange(1, count)) % count, axis=-1)
    after = 1 + (~around).argmax(axis=-1)
    before = 1 + (~around[..., ::-1]).argmax(axis=-1)
    # the top may stand above zero between two angles of the grid that do not
    hidden = ~np.take_along_axis(positive, near[..., None], axis=-1)[..., 0]
    behind = np.where(near * step > top_at, near, near + 1) * step
    ahead = np.where(near * step < top_at, near, near - 1) * step
    inside = np.stack([np.minimum((near - before + 1) * step, top_at), np.maximum((near + after - 1) * step, top_at)])
    outside = np.stack([(near - before) * step, (near + after) * step])
    inside = np.where(hidden, top_at, inside)
    outside = np.where(hidden, np.stack([ahead, behind]), outside)
    opens, closes = _root(curve, inside, outside, np.broadcast_to(ever & ends, inside.shape))
    return Above(ever, ends, opens, closes, top, top_at, stretches)


def _root(curve: Curve, inside: Array, outside: Array, found: NDArray[np.bool_]) -> Array:
    """Root between an angle at which the curve is above zero and one at which it is not: Newton, else halving."""
    good, poor = inside, outside
    angle = 0.5 * (good + poor)
    for _ in range(80):
        value, rate = (v[..., 0] for v in curve.with_rate(angle[..., None]))
        up = value > 0
        good, poor = np.where(up, angle, good), np.where(up, poor, angle)
        newton = angle - value / np.where(rate == 0, 1.0, rate)
        bracketed = (rate != 0) & (newton >= np.minimum(good, poor)) & (newton <= np.maximum(good, poor))
        new = np.where(bracketed, newton, 0.5 * (good + poor))
        moved = np.abs(new - angle).max(where=found, initial=0.0)
        angle = new
        if moved < 1e-12:
            break
    return np.where(found, angle, np.nan)
