"""Tools of one process: what each has shown by its own pieces, on top of what the others taught.

Every tool has a bias of its own; all of one process share a scatter (see `posterior` for how one tool learns).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.reckon.posterior import FLOOR_MM, Posterior, one_per_piece, update

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from asmade.reckon.posterior import Observation


@dataclass(frozen=True, slots=True)
class Pooled:
    """Tools of one process in one shop: what is believed of each (by name), and of the next tool bought."""

    tools: Mapping[str, Posterior]
    next_tool: Posterior


MOST_BIAS_PIECES = 4.0
"""The other tools' word on a tool's bias is worth no more than four of its own pieces (our rule)."""
MOST_SCATTER_PIECES = 12.0
"""The other tools' word on a tool's scatter is worth no more than twelve of its own pieces (our rule)."""
_SPREAD_WORTH = 2.0  # tools: what the process prior's word on how far tools differ is worth; it gives way quickly
_WHOLE_WORTH = 0.25  # tools: that of its word on their common mean, as it may be off for a whole shop (both our rules)


def pool(
    process: Posterior,
    tools: Mapping[str, Sequence[Observation]],
    instrument_variance: float | Mapping[str, float | Sequence[float]] = 0.0,
    *,
    most_bias_pieces: float = MOST_BIAS_PIECES,
    most_scatter_pieces: float = MOST_SCATTER_PIECES,
    floor_mm: float = FLOOR_MM,
) -> Pooled:
    """Let every tool learn from its own pieces on top of what the OTHER tools of its process taught.

    ``tools``: departures in mm per tool, as in `update`; ``process`` the prior of the process. Each tool's prior is
    `prior_from_others` of all tools but itself, so no reading counts twice; its strength is capped, so that a tool
    that really differs is heard after a few pieces. Tools share one scatter; each has its own bias.
    """
    variances = instrument_variance
    known: dict[str, tuple[list[float], list[float]]] = {
        name: one_per_piece(pieces, variances if isinstance(variances, int | float) else variances[name])
        for name, pieces in tools.items()
    }

    def prior_without(left_out: str | None) -> Posterior:
        others = [pair for name, pair in known.items() if name != left_out and pair[0]]
        return prior_from_others(
            process,
            [values for values, _ in others],
            [variance for _, variance in others],
            most_bias_pieces=most_bias_pieces,
            most_scatter_pieces=most_scatter_pieces,
            floor_mm=floor_mm,
        )

    learned = {
        name: update(prior_without(name), values, variance, floor_mm=floor_mm)
        for name, (values, variance) in known.items()
    }
    return Pooled(learned, prior_without(None))


def prior_from_others(
    process: Posterior,
    others: Sequence[Sequence[float]],
    variances: Sequence[Sequence[float]],
    *,
    most_bias_pieces: float = MOST_BIAS_PIECES,
    most_scatter_pieces: float = MOST_SCATTER_PIECES,
    floor_mm: float = FLOOR_MM,
) -> Posterior:
    """Make the prior of a tool from its process and the pieces of the other tools (one value per piece, mm).

    *Scatter*: the departures of each tool's pieces from that tool's own mean, as n - 1 independent contrasts (Helmert:
    (x_1 + .. + x_k - k x_k+1) / sqrt(k (k + 1)), which keep the sum of squares and know no bias), taught to the
    process prior's scatter. So tools that differ in bias do not look like scatter.
    *Bias*: each other tool's mean is one reading, blurred by (scatter + instrument) / n, of a population of tools
    about the mean of the process; sigma2 / kappa of the process prior is taken as four parts doubt of that mean and
    one part difference between tools (our rule). Its predictive for one more tool gives mean and kappa = scatter /
    spread between tools. Both worths are capped (but never below the process prior's own). With no others this is
    ``process`` itself.
    """
    taught = [(x, v) for x, v in zip(others, variances, strict=True) if x]
    if not taught:
        return Posterior(process.mean, process.kappa, process.nu, process.sigma2)
    contrasts: list[float] = []
    blurs: list[float] = []
    for values, blur in taught:
        so_far = values[0]
        for k, x in enumerate(values[1:], start=1):
            contrasts.append((so_far - k * x) / math.sqrt(k * (k + 1)))
            blurs.append(math.fsum(blur) / len(blur))
            so_far += x
    no_bias = Posterior(0.0, 1e9, process.nu, process.sigma2)  # a contrast's mean is known to be 0
    scatter = update(no_bias, contrasts, blurs, floor_mm=floor_mm)

    means = [math.fsum(values) / len(values) for values, _ in taught]
    blurred = [(scatter.sigma2 + math.fsum(blur) / len(blur)) / len(blur) for _, blur in taught]
    # Scaled so that before any tool is known the predictive of one is exactly the process prior's sigma2 / kappa.
    spread2 = process.sigma2 / process.kappa / (1.0 + 1.0 / _WHOLE_WORTH)
    population = Posterior(process.mean, _WHOLE_WORTH, _SPREAD_WORTH, spread2)
    population = update(population, means, blurred, floor_mm=0.0)
    kappa = scatter.sigma2 / population.next_scale**2
    return Posterior(
        mean=population.mean,
        kappa=min(kappa, max(most_bias_pieces, process.kappa)),
        nu=min(scatter.nu, max(most_scatter_pieces, process.nu)),
        sigma2=scatter.sigma2,
    )
