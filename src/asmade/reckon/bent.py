"""Requirements that are no linear sum: their chance from sampled engines, their worst case from the corners.

The engines are drawn by cause (`Values.sampled`), so what has not changed since an earlier look is taken from it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from asmade.book.address import Address
from asmade.reckon.system import FloatArray

if TYPE_CHECKING:
    from asmade.reckon.found import Findings, Kept
    from asmade.reckon.requirement import Requirement

TINY: Final = 1e-9
TOGETHER: Final = 80
"""Requirements whose corners are put to one model at once: a gear works up to 200 sets of sizes out in full."""


def sample(found: Findings, bent: Sequence[int], kept: Kept | None) -> None:
    """Put chance and ends of the requirements numbered ``bent`` into a look (seeded, the same every time)."""
    anew = []
    for at in bent:
        if not found.known[at]:
            continue
        if kept is not None and kept.same[at]:
            _carry(found, kept.before, at)
        else:
            anew.append(at)
    anew = [at for at in anew if not _by_itself(found, at)]
    if not anew:
        return
    requirements, index = found.requirements, found.values.system.index
    needed = np.unique([index[a] for at in anew for a in requirements[at].reads])
    samples, seed = found.drawn
    sizes = _looked_up(found, needed, found.values.sampled(samples, seed, needed))
    for at in anew:
        values = np.asarray(requirements[at].evaluate(sizes), dtype=float)
        within = (values >= found.low[at] - TINY) & (values <= found.high[at] + TINY)
        found.sampled[at] = float(within.mean())
    for at, (lowest, highest) in _corners(found, anew):
        found.worst_low[at] = min(lowest, found.value[at])
        found.worst_high[at] = max(highest, found.value[at])


def _by_itself(found: Findings, at: int) -> bool:
    """Put in what a requirement works out for itself, and whether it does."""
    ends = getattr(found.requirements[at], "ends", None)
    told = None if ends is None else ends(found.values)
    if told is None:
        return False
    found.sampled[at] = told.chance
    found.worst_low[at] = min(told.low, found.value[at]) if told.low is not None else found.worst_low[at]
    found.worst_high[at] = max(told.high, found.value[at]) if told.high is not None else found.worst_high[at]
    return True


def _carry(found: Findings, before: Findings, at: int) -> None:
    found.worst_low[at], found.worst_high[at] = before.worst_low[at], before.worst_high[at]
    found.sampled[at] = before.sampled[at]


def _looked_up(found: Findings, needed: FloatArray, rows: FloatArray) -> Callable[[Address], FloatArray]:
    index = found.values.system.index
    where = {int(size): row for row, size in enumerate(needed)}

    def sizes(address: Address) -> FloatArray:
        column: FloatArray = rows[where[index[address]]]
        return column

    return sizes


def _corners(found: Findings, numbers: Sequence[int]) -> Iterator[tuple[int, tuple[float, float]]]:
    """Values at the two corners where every size lies against a requirement, by the signs of its rates at the best.

    The corners of many are put to each at once, as a gear that many ask works them all out in one go.
    """
    alone = [at for at in numbers if getattr(found.requirements[at], "corners_alone", False)]
    rest = [at for at in numbers if at not in set(alone)]
    for begin in range(0, len(rest), TOGETHER):
        some = rest[begin : begin + TOGETHER]
        sizes = _at_corners(found, some)
        for k, at in enumerate(some):
            values = np.broadcast_to(np.asarray(found.requirements[at].evaluate(sizes), dtype=float), 2 * len(some))
            if np.isfinite(values[[2 * k, 2 * k + 1]]).all():
                yield at, (float(values[2 * k]), float(values[2 * k + 1]))
            else:  # perhaps another's corner is what does not go together
                alone.append(at)
    for at in alone:
        yield at, _corners_alone(found, at, found.requirements[at])


def _at_corners(found: Findings, numbers: Sequence[int]) -> Callable[[Address], FloatArray]:
    """Sizes at the corners of each requirement in turn: the lower, the upper, (2 x requirements) of them."""
    values = found.values
    rates = found.rates[list(numbers)]
    used = np.unique(rates.indices)
    signs = np.sign(rates[:, used].toarray()) * values.bound[used]
    push = np.stack([-signs, signs], axis=1).reshape(2 * len(numbers), used.size).T
    needed = np.unique([values.system.index[a] for at in numbers for a in found.requirements[at].reads])
    moved = values.best[needed, None] + values.rates[needed][:, used] @ push
    return _looked_up(found, needed, moved)


def _corners_alone(found: Findings, at: int, requirement: Requirement) -> tuple[float, float]:
    values, causes = found.values, found.rates[at]
    push = dict(zip(causes.indices.tolist(), np.sign(causes.data).tolist(), strict=True))

    def at_corner(side: float) -> Callable[[Address], float]:
        def size(address: Address) -> float:
            number = values.system.index[address]
            moved = math.fsum(
                rate * side * push.get(cause, 0.0) * float(values.bound[cause])
                for cause, rate in values.rows[number].items()
            )
            return float(values.best[number]) + moved

        return size

    return float(requirement.evaluate(at_corner(-1.0))), float(requirement.evaluate(at_corner(1.0)))
