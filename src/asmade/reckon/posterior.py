"""Capability from few readings: what a tool does on the whole (bias) and from piece to piece (scatter).

What is learned is the *departure* of a finished piece from what was aimed at, in mm. The model is the plainest that
keeps few readings honest:

    x_i = bias + scatter_i            scatter_i ~ N(0, s2),  shared bias, independent pieces
    bias | s2 ~ N(mean, s2 / kappa)   what was believed of the bias, worth kappa pieces
    s2 ~ scaled inverse chi-squared (nu, sigma2)     what was believed of the scatter, worth nu pieces

Without an instrument in the way the posterior has the same shape (Hoff, A First Course in Bayesian Statistical
Methods, 2009, sec. 5.3):

    kappa' = kappa + n              mean' = (kappa mean + n xbar) / kappa'          nu' = nu + n
    nu' sigma2' = nu sigma2 + sum (x_i - xbar)^2 + (kappa n / kappa') (xbar - mean)^2

**Less the instrument's.** A reading is y_i = x_i + e_i with e_i ~ N(0, v_i) of known variance. Plain subtraction
(observed variance less v) goes negative with few pieces, so it is not done. Given s2 the readings are normal with
variances s2 + v_i and the bias can be integrated out exactly; that leaves one unknown, s2, whose posterior is summed
on a grid of log s2:

    w_i = 1 / (s2 + v_i)        A = kappa/s2 + sum w_i        B = kappa mean/s2 + sum w_i y_i
    C = kappa mean^2/s2 + sum w_i y_i^2
    log p(s2 | y) = -nu/2 log s2 - nu sigma2/(2 s2)
                    + (log kappa/s2 + sum log w_i - log A - C + B^2/A) / 2 + const        per d log s2

The result is put back into the same shape by the member nearest to it in the sense of Kullback and Leibler, which has
the same expectations of 1/s2, log s2, bias/s2 and bias^2/s2. With v = 0 that is the formula above; with a poor
instrument the scatter stays near what was believed, because such readings cannot tell. It is never negative and never
below `FLOOR_MM`.

Repeats on one piece are ONE observation: their mean, with the instrument's variance over the number of repeats. An
instrument's zero error is shared by all its readings; it is no scatter and does not belong into
``instrument_variance``: it adds to the bias.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from asmade.measure.errors import OutOfRange
from asmade.measure.student import t_below, t_reach

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import numpy.typing as npt

    from asmade.standards.capability import Prior

    Floats: TypeAlias = npt.NDArray[np.float64]
    Ints: TypeAlias = npt.NDArray[np.intp]
    Observation: TypeAlias = float | Sequence[float]

FLOOR_MM = 0.0005
"""Scatter is never taken for less than half a micrometre: alike readings show a coarse instrument, not a perfect
machine (our rule).
"""

_NORMAL_975 = 1.959963984540054  # 97.5 % point of the normal distribution
_NODES = 96  # of the grid over log s2; the sum is exact to rounding long before
_DROP = 34.0  # exp(-34) = 2e-15 of the peak is where the grid may end
_CHUNK = 4096  # readings worked at once, keeps the grid in the cache


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is believed of one tool or process: four numbers, and how many pieces taught it (a prior: none).

    ``mean``: bias, mm, + is over what was aimed at. ``kappa``: pieces that the bias is worth (> 0). ``nu``: pieces
    (degrees of freedom) that the scatter is worth (> 0). ``sigma2``: scatter variance, mm2; its harmonic mean, so
    1/sigma2 is the expected 1/s2.
    """

    mean: float
    kappa: float
    nu: float
    sigma2: float
    pieces: int = 0

    def __post_init__(self) -> None:
        """Refuse a belief that is none."""
        if not math.isfinite(self.mean):
            raise OutOfRange("bias", got=self.mean, allowed="finite numbers, mm")
        for thing, value in (("kappa", self.kappa), ("nu", self.nu), ("scatter variance", self.sigma2)):
            if not (math.isfinite(value) and value > 0.0):
                raise OutOfRange(thing, got=value, allowed="finite numbers above 0")
        if self.pieces < 0:
            raise OutOfRange("pieces", got=self.pieces, allowed="0 or more")

    @property
    def bias_scale(self) -> float:
        """Scale of the marginal t of the bias, mm, with ``nu`` degrees of freedom about ``mean``."""
        return math.sqrt(self.sigma2 / self.kappa)

    @property
    def next_scale(self) -> float:
        """Scale of the predictive t of the next piece, mm, with ``nu`` degrees of freedom about ``mean``."""
        return math.sqrt(self.sigma2 * (1.0 + 1.0 / self.kappa))

    @property
    def bias_sigma(self) -> float:
        """Standard deviation for the bias in a sum of variances, mm: shared by ALL pieces of this tool.

        The normal with it has the same 95 % interval as the t, so it is finite and honest for one or two readings too
        (the variance of a t with nu <= 2 is not). ``bias_sigma**2 + scatter_sigma**2`` is that of the next piece.
        """
        return self._widening() * self.bias_scale

    @property
    def scatter_sigma(self) -> float:
        """Standard deviation of one piece about the tool's bias in a sum of variances, mm (see `bias_sigma`)."""
        return self._widening() * math.sqrt(self.sigma2)

    def _widening(self) -> float:
        return t_reach(self.nu) / _NORMAL_975

    def bias_interval(self, level: float = 0.95) -> tuple[float, float]:
        """Interval in which the bias lies with probability ``level`` (0 < level < 1), mm.

        Anchor: Hoff 2009 sec. 5.3: mean 1.814, kappa 10, nu 10, sigma2 0.015324 -> 1.727 to 1.901.
        """
        half = _t_half(self.nu, level) * self.bias_scale
        return self.mean - half, self.mean + half

    def next_interval(self, level: float = 0.95) -> tuple[float, float]:
        """Interval in which the next piece departs from its aim with probability ``level`` (0 < level < 1), mm."""
        half = _t_half(self.nu, level) * self.next_scale
        return self.mean - half, self.mean + half

    def scatter_interval(self, level: float = 0.95) -> tuple[float, float]:
        """Interval in which the scatter (a standard deviation, mm) lies with probability ``level``, equal tails."""
        from scipy.special import chdtri  # noqa: PLC0415  # costs a quarter second, wanted only here

        tail = (1.0 - _checked_level(level)) / 2.0
        total = self.nu * self.sigma2
        return math.sqrt(total / float(chdtri(self.nu, tail))), math.sqrt(total / float(chdtri(self.nu, 1.0 - tail)))

    def chance_within(self, low: float | None, high: float | None) -> float:
        """Probability that the next piece departs by ``low`` to ``high`` mm from its aim (None = no limit)."""
        for end in (low, high):
            if end is not None and math.isnan(end):
                raise OutOfRange("limit of a departure", got=end, allowed="numbers, mm, or None")
        if low is not None and high is not None and low > high:
            raise OutOfRange("lower limit of a departure", got=low, allowed=f"at most the upper limit {high}")
        scale = self.next_scale
        below = 0.0 if low is None else t_below((low - self.mean) / scale, self.nu)
        above = 0.0 if high is None else t_below((self.mean - high) / scale, self.nu)
        return max(0.0, 1.0 - below - above)

    def in_words(
        self, tool: str = "this tool", *, one: str = "piece", many: str = "pieces", level: float = 0.95
    ) -> str:
        """One line for the builder: "this reamer: +0.031 over, 7 holes; next hole between +0.012 and +0.050 (95 %)"."""
        low, high = self.next_interval(level)
        size = f"{self.mean:+.3f}"
        side = "as aimed" if float(size) == 0.0 else f"{size} {'over' if self.mean > 0.0 else 'under'}"
        if self.pieces:
            learned = f"{side}, {self.pieces} {one if self.pieces == 1 else many}"
        else:
            learned = f"no {many} measured yet, taken to be {side}"
        return f"{tool}: {learned}; next {one} between {low:+.3f} and {high:+.3f} ({100.0 * level:g} %)"


def from_process(bias_mm: float, scatter_mm: float, *, bias_pieces: float, scatter_pieces: float) -> Posterior:
    """Turn what is commonly said of a process into a prior: its bias and scatter, each worth so many pieces.

    ``scatter_mm`` is the standard deviation from piece to piece (> 0). ``bias_pieces`` 1 says that tools of this
    process differ in bias about as much as pieces of one tool differ; below 1 they differ more.
    """
    if not (math.isfinite(scatter_mm) and scatter_mm > 0.0):
        raise OutOfRange("scatter of a process", got=scatter_mm, allowed="finite lengths above 0 mm")
    return Posterior(mean=bias_mm, kappa=bias_pieces, nu=scatter_pieces, sigma2=scatter_mm * scatter_mm)


def from_prior(prior: Prior) -> Posterior:
    """Turn the customary figures of a process (`asmade.standards.capability.process_prior`) into a prior."""
    return from_process(
        prior.bias_mm, prior.scatter_mm, bias_pieces=prior.strength_of_bias, scatter_pieces=prior.strength
    )


def update(
    prior: Posterior,
    observations: Sequence[Observation],
    instrument_variance: float | Sequence[float] = 0.0,
    *,
    floor_mm: float = FLOOR_MM,
) -> Posterior:
    """Learn from pieces: each observation is a departure from the aim in mm, or the repeats on that ONE piece.

    ``instrument_variance`` (mm2) of a single reading, one for all or one per piece; ``floor_mm`` the least scatter
    believed. The order does not matter; no observation gives the prior back.

    Anchor: Hoff 2009 sec. 5.3: prior 1.9, 1, 1, 0.01 and nine lengths -> mean 1.814, kappa 10, nu 10, sigma2 0.015324.
    """
    values, variances = one_per_piece(observations, instrument_variance)
    floor2 = _checked_floor(floor_mm)
    if not values:
        return prior
    if max(variances) > 0.0:
        import numpy as np  # noqa: PLC0415  # only readings through an instrument need the grid

        group = np.zeros(len(values), dtype=np.intp)
        return update_many(prior, group, values, variances, groups=1, floor_mm=floor_mm)[0]
    n = len(values)
    centre = math.fsum(values) / n
    kappa, nu = prior.kappa + n, prior.nu + n
    squares = math.fsum((x - centre) ** 2 for x in values)
    off = centre - prior.mean
    sigma2 = (prior.nu * prior.sigma2 + squares + prior.kappa * n / kappa * off * off) / nu
    return Posterior(prior.mean + n / kappa * off, kappa, nu, max(sigma2, floor2), prior.pieces + n)


@dataclass(frozen=True, slots=True)
class Posteriors:
    """Many posteriors at once: arrays of equal length, meaning and units as in `Posterior`."""

    mean: Floats
    kappa: Floats
    nu: Floats
    sigma2: Floats
    pieces: Ints

    def __len__(self) -> int:
        return len(self.mean)

    def __getitem__(self, index: int) -> Posterior:
        return Posterior(
            float(self.mean[index]),
            float(self.kappa[index]),
            float(self.nu[index]),
            float(self.sigma2[index]),
            int(self.pieces[index]),
        )

    @classmethod
    def of(cls, beliefs: Sequence[Posterior]) -> Posteriors:
        """Put single beliefs into arrays."""
        import numpy as np  # noqa: PLC0415  # keeps the import of this module light

        table = np.array([(b.mean, b.kappa, b.nu, b.sigma2) for b in beliefs], dtype=np.float64).reshape(-1, 4)
        mean, kappa, nu, sigma2 = np.ascontiguousarray(table.T)
        return cls(mean, kappa, nu, sigma2, np.array([b.pieces for b in beliefs], dtype=np.intp))

    def next_interval(self, level: float = 0.95) -> tuple[Floats, Floats]:
        """Lower and upper ends for the next piece of each, mm, as `Posterior.next_interval`."""
        import numpy as np  # noqa: PLC0415  # keeps the import of this module light
        from scipy.special import stdtrit  # noqa: PLC0415

        half = stdtrit(self.nu, 0.5 + _checked_level(level) / 2.0) * np.sqrt(self.sigma2 * (1.0 + 1.0 / self.kappa))
        return self.mean - half, self.mean + half


def update_many(
    prior: Posterior | Posteriors,
    group: Ints | Sequence[int],
    values: Floats | Sequence[float],
    instrument_variance: float | Floats | Sequence[float] = 0.0,
    *,
    groups: int,
    floor_mm: float = FLOOR_MM,
) -> Posteriors:
    """Learn for many tools at once: ``values[i]`` (mm, one per piece) belongs to ``group[i]`` in 0..groups-1.

    ``prior`` is one for all or one per group; ``instrument_variance`` (mm2) one for all or one per value, that of the
    value given (average repeats first, see `update`). Groups without a value keep their prior.
    """
    import numpy as np  # noqa: PLC0415  # keeps the import of this module light

    floor2 = _checked_floor(floor_mm)
    at = np.asarray(group, dtype=np.intp)
    x = np.asarray(values, dtype=np.float64)
    v = np.broadcast_to(np.asarray(instrument_variance, dtype=np.float64), x.shape)
    if at.shape != x.shape or x.ndim != 1:
        raise OutOfRange("values", got=x.shape, allowed=f"one value for each of {at.size} group numbers")
    if at.size and (int(at.min()) < 0 or int(at.max()) >= groups):
        raise OutOfRange("group number", got=(int(at.min()), int(at.max())), allowed=f"0 to {groups - 1}")
    if not np.isfinite(x).all():
        raise OutOfRange("departure from the aim", got=float(x[~np.isfinite(x)][0]), allowed="finite numbers, mm")
    if not (np.isfinite(v) & (v >= 0.0)).all():
        raise OutOfRange("instrument variance", got=float(v.min()), allowed="finite numbers, 0 or more, mm2")
    before = Posteriors.of([prior] * groups) if isinstance(prior, Posterior) else prior
    if len(before) != groups:
        raise OutOfRange("priors", got=len(before), allowed=f"one, or one per group ({groups})")

    n = np.bincount(at, minlength=groups)
    off = x - before.mean[at]  # centred on the prior: small numbers, no cancellation
    shift = np.bincount(at, off, minlength=groups) / np.maximum(n, 1)
    squares = np.bincount(at, (off - shift[at]) ** 2, minlength=groups)
    kappa, nu = before.kappa + n, before.nu + n
    sigma2 = (before.nu * before.sigma2 + squares + before.kappa * n / kappa * shift**2) / nu
    mean = before.mean + n / kappa * shift

    blurred = np.flatnonzero(np.bincount(at, v, minlength=groups) > 0.0)
    if blurred.size:
        place = np.full(groups, -1, dtype=np.intp)
        place[blurred] = np.arange(blurred.size)
        chosen = place[at] >= 0
        order = np.argsort(place[at[chosen]], kind="stable")
        counts, off, v = n[blurred], off[chosen][order], v[chosen][order]
        ends = np.cumsum(counts)
        first = 0
        while first < blurred.size:  # a run of whole groups with about _CHUNK readings
            start = int(ends[first] - counts[first])
            last = max(first + 1, int(np.searchsorted(ends, start + _CHUNK, side="right")))
            stop, them = int(ends[last - 1]), blurred[first:last]
            moved, kappa[them], nu[them], sigma2[them] = _through_the_instrument(
                before.kappa[them],
                before.nu[them],
                before.sigma2[them],
                counts[first:last],
                off[start:stop],
                v[start:stop],
            )
            mean[them] = before.mean[them] + moved
            first = last
    sigma2 = np.where(n > 0, np.maximum(sigma2, floor2), sigma2)
    return Posteriors(mean, kappa, nu, sigma2, before.pieces + n)


def _through_the_instrument(
    kappa: Floats, nu: Floats, sigma2: Floats, counts: Ints, off: Floats, v: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Posterior of groups read through an instrument, see the head of the module.

    ``off`` (departures less the prior mean) and ``v`` hold ``counts`` consecutive values per group. Returns mean less
    prior mean, kappa, nu, sigma2 per group.
    """
    import numpy as np  # noqa: PLC0415  # keeps the import of this module light

    starts = np.cumsum(counts) - counts
    worth = nu + counts
    biggest = np.maximum.reduceat(np.maximum(v, off**2), starts)
    # No likelihood falls or rises faster in log s2 than n/2 per unit, so beyond these ends nothing is left of the
    # posterior.
    low = np.log(nu * sigma2 / worth) - np.log1p(2.0 * _DROP / worth) - 1.5
    high = np.log(counts * biggest + sigma2) + 2.0 * _DROP / worth + 2.0

    def on_grid(low: Floats, high: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        t = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, _NODES)
        s2 = np.exp(t)
        w = 1.0 / (np.repeat(s2, counts, axis=0) + v[:, None])
        a = kappa[:, None] / s2 + np.add.reduceat(w, starts)
        b = np.add.reduceat(w * off[:, None], starts)
        c = np.add.reduceat(w * (off**2)[:, None], starts)
        logs = np.add.reduceat(np.log(w), starts)
        log_p = (
            -(nu[:, None] + 1.0) / 2.0 * t
            - (nu * sigma2)[:, None] / (2.0 * s2)
            + (logs - np.log(a) - c + b**2 / a) / 2.0
        )
        return t, log_p - log_p.max(axis=1, keepdims=True), a, b

    rows = np.arange(counts.size)
    for _ in range(2):  # the second look is for thousands of readings, whose posterior is a needle on the first grid
        t, log_p, _a, _b = on_grid(low, high)
        alive = log_p > -_DROP
        first = np.maximum(alive.argmax(axis=1) - 1, 0)
        last = np.minimum(_NODES - alive[:, ::-1].argmax(axis=1), _NODES - 1)
        low, high = t[rows, first], t[rows, last]
    t, log_p, a, b = on_grid(low, high)
    p = np.exp(log_p)
    p /= p.sum(axis=1, keepdims=True)

    precision = (p * np.exp(-t)).sum(axis=1)
    bias = (p * np.exp(-t) * b / a).sum(axis=1) / precision
    spread = (p * np.exp(-t) * (1.0 / a + (b / a - bias[:, None]) ** 2)).sum(axis=1)
    return bias, 1.0 / spread, 2.0 * _shape((p * t).sum(axis=1) + np.log(precision)), 1.0 / precision


def _shape(gap: Floats) -> Floats:
    """Solve log h - digamma(h) = gap > 0 for h (shape of a gamma from its two means)."""
    import numpy as np  # noqa: PLC0415  # keeps the import of this module light
    from scipy.special import digamma, polygamma  # noqa: PLC0415

    d = np.maximum(gap, 1e-9)
    h = (3.0 - d + np.sqrt((d - 3.0) ** 2 + 24.0 * d)) / (12.0 * d)
    for _ in range(6):
        h = 1.0 / (1.0 / h + (np.log(h) - digamma(h) - d) / (h - h * h * polygamma(1, h)))
    return np.asarray(h, dtype=np.float64)


def one_per_piece(
    observations: Sequence[Observation], instrument_variance: float | Sequence[float]
) -> tuple[list[float], list[float]]:
    """Each piece's departure in mm, repeats averaged, and the instrument's variance of it in mm2."""
    n = len(observations)
    single = [instrument_variance] * n if isinstance(instrument_variance, int | float) else list(instrument_variance)
    if len(single) != n:
        raise OutOfRange("instrument variances", got=len(single), allowed=f"one, or one per piece ({n})")
    values, variances = [], []
    for observation, variance in zip(observations, single, strict=True):
        repeats = (observation,) if isinstance(observation, int | float) else tuple(observation)
        if not repeats:
            raise OutOfRange("readings of one piece", got=0, allowed="1 or more")
        for reading in repeats:
            if not math.isfinite(reading):
                raise OutOfRange("departure from the aim", got=reading, allowed="finite numbers, mm")
        if not (math.isfinite(variance) and variance >= 0.0):
            raise OutOfRange("instrument variance", got=variance, allowed="finite numbers, 0 or more, mm2")
        values.append(math.fsum(repeats) / len(repeats))
        variances.append(variance / len(repeats))
    return values, variances


def _checked_level(level: float) -> float:
    if not 0.0 < level < 1.0:
        raise OutOfRange("level of an interval", got=level, allowed="above 0, below 1")
    return level


def _checked_floor(floor_mm: float) -> float:
    if not (math.isfinite(floor_mm) and floor_mm >= 0.0):
        raise OutOfRange("least scatter", got=floor_mm, allowed="finite lengths, 0 mm or more")
    return floor_mm * floor_mm


def _t_half(nu: float, level: float) -> float:
    return t_reach(nu, _checked_level(level))
