"""Monte Carlo of all linear requirements of a build at once: engines that might be built, in chunks.

The findings need none of it (their chances are worked out); it stands beside them as a second way to the same figures
and serves whoever wants the samples. Memory stays bounded whatever the number of engines.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from asmade.reckon.found import TINY, Findings
from asmade.reckon.system import FloatArray

CHUNK: Final = 1_000


def engines(found: Findings, count: int, seed: int) -> Iterator[FloatArray]:
    """Values of all requirements for ``count`` engines, as arrays (requirements, engines of one chunk).

    Same seed, same engines. Requirements that are not linear are taken by their rates at the best values.
    """
    random = np.random.default_rng(seed)
    used = np.unique(found.rates.indices)
    rates = found.rates[:, used]
    for begin in range(0, count, CHUNK):
        samples: FloatArray = rates @ found.values.draw(random, used, min(CHUNK, count - begin))
        samples += found.value[:, None]
        yield samples


def chances(found: Findings, count: int = 100_000, seed: int = 1) -> FloatArray:
    """Share of engines that keep each requirement's limits; NaN where a requirement is not known."""
    within = np.zeros(len(found.requirements))
    low, high = found.low[:, None] - TINY, found.high[:, None] + TINY
    for samples in engines(found, count, seed):
        within += ((samples >= low) & (samples <= high)).sum(axis=1)
    return np.where(found.known, within / count, np.nan)
