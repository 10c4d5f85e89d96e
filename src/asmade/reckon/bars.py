"""What one measured piece says of the others cut from the same bar.

The size of a bar is its nominal size, by so much more or less as the bar is (shared by all its pieces), and by each
piece's own scatter. Measured pieces tell of the bar, and so of the pieces that are not measured yet. A reading that
had an aim has taught the process already (see `capability`) and is not counted twice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Measured:
    """One measured piece of a bar: by how much it departs from its nominal size, mm, and the causes of its reading."""

    departure: float
    row: Mapping[int, float]


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar of which pieces are measured: mean departure from nominal, mm, and what that is uncertain by.

    ``sigma`` is what the bar and the measured pieces' own scatter leave; ``row`` the readings' causes, which the pieces
    not yet measured share with those that are.
    """

    mean: float
    sigma: float
    row: Mapping[int, float]


def bar_given(
    measured: Sequence[Measured], sigmas: Sequence[float], *, mean: float, bar_sigma: float, piece_sigma: float
) -> Bar:
    """Condition a bar's departure (normal: ``mean``, ``bar_sigma``) on measured pieces, each with ``piece_sigma``.

    ``sigmas`` are the standard deviations of the causes, by number, that the rows of the readings speak of. All in mm.

    Anchor (by hand): bar and piece 0.01 each, one exact reading 0.02 over: half of it is the bar's, 0.01 over, and
    sqrt(1/2) of 0.01 stays uncertain.
    """
    causes = sorted({cause for one in measured for cause in one.row})
    rates = np.array([[one.row.get(cause, 0.0) for cause in causes] for one in measured]).reshape(len(measured), -1)
    spread = rates * np.array([sigmas[cause] for cause in causes])
    covariance = bar_sigma**2 + piece_sigma**2 * np.eye(len(measured)) + spread @ spread.T
    weights = np.linalg.solve(covariance, np.full(len(measured), bar_sigma**2))
    departures = np.array([one.departure for one in measured])
    left = math.hypot((1.0 - float(weights.sum())) * bar_sigma, piece_sigma * float(np.linalg.norm(weights)))
    by = (weights @ rates).tolist()
    return Bar(
        mean + float(weights @ (departures - mean)), left,
        {cause: rate for cause, rate in zip(causes, by, strict=True) if rate},
    )  # fmt: skip
