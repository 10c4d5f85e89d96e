"""Find a first set that holds: one size changed at a time, windows that stay broken weighing ever more.

A weighted local search over choices (breakout method: P. Morris, "The breakout method for escaping from local minima",
AAAI 1993, with a short tabu). It proves nothing; it needs milliseconds where branching needs minutes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asmade.reckon.choosing.reduce import SLACK_MM

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from asmade.reckon.choosing.reduce import Component, Reduced, Row
    from asmade.reckon.choosing.watch import Watch

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

_LEAST_WIDTH_MM = 0.005
_FAR = 10.0  # windows' widths beyond which being further out counts no more
_ROWS_A_STEP = 4
_LOOK_EVERY = 256


def seek(
    reduced: Reduced, component: Component, begin: Mapping[int, int], watch: Watch, *, steps: int, seed: int
) -> dict[int, int] | None:
    """Return choices that hold all rows, begun from the choices given; None when ``steps`` were not enough.

    Stretches are taken as far as each row likes: the caller must still find sizes for them.
    """
    search = _Search(reduced, component, begin, seed)
    for step in range(steps):
        if step % _LOOK_EVERY == 0 and watch.over():
            return None
        broken = np.flatnonzero((search.value < search.low) | (search.value > search.high))
        if len(broken) == 0:
            return {i: int(k) for i, k in zip(search.loose, search.current, strict=True)}
        search.step(step, broken)
    return None


class _Search:
    """Moves are numbered through: choice k of loose unknown i is move ``first[i] + k``."""

    def __init__(self, reduced: Reduced, component: Component, begin: Mapping[int, int], seed: int) -> None:
        unknowns = reduced.unknowns
        self.random = np.random.default_rng(seed)
        self.loose = [i for i in component.unknowns if len(unknowns[i].sizes) > 1]
        self.sizes = [unknowns[i].sizes for i in self.loose]
        counts = [len(s) for s in self.sizes]
        self.first: Ints = np.cumsum([0, *counts])[:-1]
        self.owner: Ints = np.repeat(np.arange(len(self.loose)), counts)
        self.choice: Ints = np.concatenate([np.arange(n) for n in counts]) if counts else np.zeros(0, dtype=np.int64)
        self.current = np.array([begin.get(i, 0) for i in self.loose], dtype=np.int64)
        self.tabu_until = np.zeros(len(self.owner), dtype=np.int64)
        at = {i: n for n, i in enumerate(self.loose)}
        rows = [
            (row, [(at[i], a) for i, a in zip(row.idx, row.coef, strict=True) if i in at]) for row in component.rows
        ]
        rows = [(row, terms) for row, terms in rows if terms]
        limits = [_limits(reduced, row, set(self.loose)) for row, _ in rows]
        self.low: Floats = np.array([low for low, _ in limits], dtype=float) - SLACK_MM
        self.high: Floats = np.array([high for _, high in limits], dtype=float) + SLACK_MM
        width = self.high - self.low
        self.width: Floats = np.maximum(np.where(np.isfinite(width), width, 0.2), _LEAST_WIDTH_MM)
        self.weight = np.ones(len(rows))
        self.terms = [terms for _, terms in rows]
        self.moves = [np.concatenate([self.first[n] + np.arange(counts[n]) for n, _ in t]) for t in self.terms]
        self.parts = [np.concatenate([a * self.sizes[n] for n, a in t]) for t in self.terms]
        self.term_of = [np.repeat(np.arange(len(t)), [counts[n] for n, _ in t]) for t in self.terms]
        self.now = [np.array([a * self.sizes[n][self.current[n]] for n, a in t]) for t in self.terms]
        self.value: Floats = np.array([part.sum() for part in self.now], dtype=float)
        self.rows_of: list[list[tuple[int, int, float]]] = [[] for _ in self.loose]
        for r, terms in enumerate(self.terms):
            for position, (n, a) in enumerate(terms):
                self.rows_of[n].append((r, position, a))
        self.change: Floats = np.zeros(len(self.owner))  # weighted, of every move
        self.row_change = [np.zeros(len(m)) for m in self.moves]
        for r in range(len(rows)):
            self._count(r)

    def _penalty(self, r: int, value: Floats) -> Floats:
        out = np.maximum(0.0, np.maximum(self.low[r] - value, value - self.high[r])) / self.width[r]
        penalty: Floats = np.where(out > 0, 1.0 + 0.3 * np.minimum(out, _FAR), 0.0)
        return penalty

    def _count(self, r: int) -> None:
        np.subtract.at(self.change, self.moves[r], self.row_change[r] * self.weight[r])
        after = self.value[r] - self.now[r][self.term_of[r]] + self.parts[r]
        self.row_change[r] = self._penalty(r, after) - self._penalty(r, self.value[r : r + 1])
        np.add.at(self.change, self.moves[r], self.row_change[r] * self.weight[r])

    def step(self, step: int, broken: Ints) -> None:
        """Take the best move in some broken rows; where none helps, let the broken rows weigh more."""
        few = broken if len(broken) <= _ROWS_A_STEP else self.random.choice(broken, _ROWS_A_STEP, replace=False)
        moves = np.concatenate([self.moves[r] for r in few])
        score = self.change[moves] + 1e3 * (self.tabu_until[moves] > step)
        score += 1e6 * (self.choice[moves] == self.current[self.owner[moves]])
        move = int(moves[np.argmin(score + 1e-6 * self.random.random(len(moves)))])
        if self.change[move] >= -1e-9:
            for r in broken:
                np.add.at(self.change, self.moves[r], self.row_change[r])
                self.weight[r] += 1.0
            if self.random.random() < 0.5:
                return
        self._take(step, move)

    def _take(self, step: int, move: int) -> None:
        n = int(self.owner[move])
        old, new = int(self.current[n]), int(self.choice[move])
        if old == new:
            return
        self.current[n] = new
        self.tabu_until[self.first[n] + old] = step + 3 + self.random.integers(10)
        for r, position, a in self.rows_of[n]:
            self.value[r] += a * (self.sizes[n][new] - self.sizes[n][old])
            self.now[r][position] = a * self.sizes[n][new]
            self._count(r)


def _limits(reduced: Reduced, row: Row, loose: set[int]) -> tuple[float, float]:
    """Return the row's limits for its loose unknowns alone: settled sizes taken off, stretches given their reach."""
    low, high = row.low, row.high
    for i, a in zip(row.idx, row.coef, strict=True):
        if i not in loose:
            ends = a * reduced.unknowns[i].low, a * reduced.unknowns[i].high
            low, high = low - max(ends), high - min(ends)
    return low, high
