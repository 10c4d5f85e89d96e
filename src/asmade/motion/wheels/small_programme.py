"""Many small linear programmes at once, by a primal-dual interior-point method over the whole batch.

One programme: the largest t so that G x + g t <= h, with a handful of unknowns x. Rows are few (tens), programmes
many (one for each angle and sample), so every step is a batch of small dense solves. Predictor and corrector after
Mehrotra (SIAM J. Optimization 2, 1992, 575-601, from memory); free variables and no starting point needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from asmade.measure.errors import AsmadeError

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array

_STEPS = 40
_GOOD_ENOUGH = 100.0  # of the same: some 1e-9 mm
_IN_CACHE = 200_000  # numbers
_NEAR_ENOUGH = 1e-11  # of the scale of the limits: some 1e-11 mm in t for clearances of a tenth of a millimetre


class NotSolved(AsmadeError):
    """A small programme that did not come to rest; it has no bounded answer or its figures are absurd."""

    code = "not_solved"


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """t (B), the unknowns x (B, n) and the weight of each row y (B, m): dt/dh."""

    t: Array
    x: Array
    y: Array


def largest(rows: Array, per_t: Array, limits: Array) -> Answer:
    """Largest t with ``rows @ x + per_t * t <= limits`` for each programme of a batch.

    rows (B, m, n), per_t (B, m) not negative, limits (B, m). Raises NotSolved when any programme has no answer.
    """
    batch, m, n = rows.shape
    per_t = np.broadcast_to(per_t, (batch, m))
    # blocks that stay in the processor's cache are twice as quick
    block = max(1, _IN_CACHE // (m * (n + 1)))
    parts = [
        _largest(rows[at : at + block], per_t[at : at + block], limits[at : at + block])
        for at in range(0, batch, block)
    ]
    if len(parts) == 1:
        return parts[0]
    return Answer(
        np.concatenate([part.t for part in parts]),
        np.concatenate([part.x for part in parts]),
        np.concatenate([part.y for part in parts]),
    )


def _largest(rows: Array, per_t: Array, limits: Array) -> Answer:
    batch, m, n = rows.shape
    soft = per_t > 0
    scale = np.maximum(np.where(soft, np.abs(limits), 0.0).max(axis=1), 1e-9)[:, None]
    g = np.concatenate([rows, per_t[:, :, None]], axis=2)
    gt = np.ascontiguousarray(np.swapaxes(g, 1, 2))
    h = limits / scale
    c = np.zeros(n + 1)
    c[-1] = -1.0
    # start: x = 0, t low enough for every soft row, slacks made positive
    worst = np.where(soft, h / np.where(soft, per_t, 1.0), np.inf).min(axis=1)
    x = np.zeros((batch, n + 1))
    x[:, -1] = worst - 1.0
    s = np.maximum(h - _times(g, x), 1.0)
    y = np.ones((batch, m))
    live = np.arange(batch)
    final_x, final_y, merit = x.copy(), y.copy(), np.full(batch, np.inf)
    for _ in range(_STEPS):
        r_dual = c + _times(gt, y)
        r_primal = _times(g, x) + s - h
        mu = (s * y).mean(axis=1)
        # how far from rest, each in units of what is near enough; the best so far is kept: rounding may spoil it later
        far = np.maximum(mu, 1e-3 * np.abs(r_dual).max(axis=1))
        far = np.maximum(far, np.abs(r_primal).max(axis=1)) / _NEAR_ENOUGH
        better = far < merit[live]
        final_x[live[better]], final_y[live[better]] = x[better], y[better]
        merit[live[better]] = far[better]
        done = (far < 1) | ~np.isfinite(far)
        if done.any():
            keep = ~done
            if not keep.any():
                break
            live, x, s, y, g, gt, h = live[keep], x[keep], s[keep], y[keep], g[keep], gt[keep], h[keep]
            r_dual, r_primal, mu = r_dual[keep], r_primal[keep], mu[keep]
        weight = y / s
        normal = np.matmul(gt * weight[:, None, :], g)
        diagonal = np.einsum("bii->bi", normal)
        unit = 1.0 / np.sqrt(diagonal + 1e-300)
        normal = normal * unit[:, :, None] * unit[:, None, :]
        np.einsum("bii->bi", normal)[...] += 1e-14
        inverse = np.linalg.inv(normal) * unit[:, :, None] * unit[:, None, :]
        dx, ds, dy = _direction(inverse, g, gt, s, y, r_dual, r_primal, -s * y)
        reach = np.minimum(_reach(s, ds), _reach(y, dy))[:, None]
        mu_ahead = ((s + reach * ds) * (y + reach * dy)).mean(axis=1)
        sigma = (mu_ahead / mu) ** 3
        centred = (sigma * mu)[:, None] - s * y - ds * dy
        dx, ds, dy = _direction(inverse, g, gt, s, y, r_dual, r_primal, centred)
        step = np.minimum(1.0, 0.995 * np.minimum(_reach(s, ds), _reach(y, dy)))[:, None]
        x, s, y = x + step * dx, s + step * ds, y + step * dy
    t, x = final_x[:, -1] * scale[:, 0], final_x[:, :-1] * scale
    for number in np.flatnonzero(~(merit < _GOOD_ENOUGH)):
        t[number], x[number], final_y[number] = _by_simplex(rows[number], per_t[number], limits[number])
    return Answer(t, x, final_y)


def _by_simplex(rows: Array, per_t: Array, limits: Array) -> tuple[float, Array, Array]:
    """One programme by scipy: for the few without an inside, where the way through the middle loses its footing."""
    from scipy.optimize import linprog  # noqa: PLC0415  # half a second that is seldom needed

    found = linprog([*np.zeros(rows.shape[1]), -1.0], np.c_[rows, per_t], limits, bounds=(None, None), method="highs")
    if found.status != 0 or found.x is None:
        raise NotSolved(
            f"a small programme of the coupled wheels has no answer: {found.message}",
            way_out="look for a figure of the chassis that is wildly out",
        )
    return float(found.x[-1]), np.asarray(found.x[:-1]), -np.asarray(found.ineqlin.marginals)


def _times(matrix: Array, vector: Array) -> Array:
    return np.asarray(np.matmul(matrix, vector[:, :, None])[:, :, 0])


def _reach(value: Array, change: Array) -> Array:
    """Longest step that keeps every entry positive."""
    shrinking = change < 0
    ratio = np.where(shrinking, -value / np.where(shrinking, change, 1.0), np.inf)
    return np.asarray(np.minimum(1.0 / 0.995, ratio.min(axis=1)))


def _direction(
    inverse: Array,
    g: Array,
    gt: Array,
    s: Array,
    y: Array,
    r_dual: Array,
    r_primal: Array,
    complement: Array,
) -> tuple[Array, Array, Array]:
    """Newton direction for the residuals and the wanted change of s * y."""
    dx = np.zeros_like(r_dual)
    ds, dy = -r_primal, (complement + y * r_primal) / s
    for _ in range(3):  # the inverse of a nearly singular matrix is refined on the dual residual itself
        dx = dx - _times(inverse, r_dual + _times(gt, dy))
        ds = -r_primal - _times(g, dx)
        dy = (complement - y * ds) / s
    return dx, ds, dy
