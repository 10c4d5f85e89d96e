"""Whether nothing satisfies all, shown by narrowing: what each limit leaves to a size, and who it was that narrowed it.

Most conflicts of a builder are of this kind: a lock that a fit cannot follow. Every end of a size carries the members
that set it; where two ends cross, or a window cannot be reached, those members contradict one another by themselves.
What narrowing cannot see is for the solver.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import permutations
from math import inf
from typing import Final

from asmade.reckon.choosing.problem import HOLD_MM, Member, Problem, Variable

_PROGRESS_MM: Final = 1e-4
"""Ends that move by less are let stand: rings of limits would narrow one another for ever."""
_ROUNDS: Final = 60
"""How often on average a limit may be looked at."""


class _CrossedError(Exception):
    """Nothing is left; ``by`` is whose doing it is, a bit for each member."""

    def __init__(self, by: int) -> None:
        super().__init__(by)
        self.by = by


@dataclass(slots=True)
class _Size:
    """What is left of one size, and who set either end."""

    low: float
    high: float
    low_by: int = 0
    high_by: int = 0
    sizes: tuple[float, ...] = ()

    def raise_to(self, value: float, by: int) -> bool:
        """Move the lower end up; to the next listed size where there are any. Tell whether it moved."""
        if value <= self.low + _PROGRESS_MM:
            return False
        if self.sizes:
            value = next((s for s in self.sizes if s >= value - HOLD_MM), inf)
        self.low, self.low_by = value, by
        if self.low > self.high + HOLD_MM:
            raise _CrossedError(self.low_by | self.high_by)
        return True

    def lower_to(self, value: float, by: int) -> bool:
        """Move the upper end down, as `raise_to` the lower one up."""
        if value >= self.high - _PROGRESS_MM:
            return False
        if self.sizes:
            value = next((s for s in reversed(self.sizes) if s <= value + HOLD_MM), -inf)
        self.high, self.high_by = value, by
        if self.low > self.high + HOLD_MM:
            raise _CrossedError(self.low_by | self.high_by)
        return True


@dataclass(frozen=True, slots=True)
class _Row:
    """``low <= sum(rate * size) <= high``, and the bit of the member it is of."""

    terms: tuple[tuple[str, float], ...]
    low: float
    high: float
    by: int


@dataclass(slots=True)
class _Narrowing:
    sizes: dict[str, _Size] = field(default_factory=dict)
    rows: list[_Row] = field(default_factory=list)

    def run(self) -> None:
        """Narrow until nothing moves; raises where nothing is left."""
        users: dict[str, list[int]] = {}
        for number, row in enumerate(self.rows):
            for name, _ in row.terms:
                users.setdefault(name, []).append(number)
        waiting = deque(range(len(self.rows)))
        queued = [True] * len(self.rows)
        for _ in range(_ROUNDS * len(self.rows)):
            if not waiting:
                return
            number = waiting.popleft()
            queued[number] = False
            for name in self._narrow(self.rows[number]):
                for other in users[name]:
                    if not queued[other]:
                        queued[other] = True
                        waiting.append(other)

    def _narrow(self, row: _Row) -> Iterator[str]:
        """Names of the sizes of which a row moves an end."""
        least = [self._end(name, rate, least=True) for name, rate in row.terms]
        most = [self._end(name, rate, least=False) for name, rate in row.terms]
        if sum(value for value, _ in least) > row.high + HOLD_MM:
            raise _CrossedError(row.by | _all(by for _, by in least))
        if sum(value for value, _ in most) < row.low - HOLD_MM:
            raise _CrossedError(row.by | _all(by for _, by in most))
        for at, (name, rate) in enumerate(row.terms):
            moved = False
            for ends, limit, below in ((least, row.high, True), (most, row.low, False)):
                rest = sum(value for k, (value, _) in enumerate(ends) if k != at)
                if abs(limit) == inf or abs(rest) == inf:
                    continue
                by = row.by | _all(each for k, (_, each) in enumerate(ends) if k != at)
                end = (limit - rest) / rate
                size = self.sizes[name]
                moved |= size.lower_to(end, by) if below == (rate > 0) else size.raise_to(end, by)
            if moved:
                yield name

    def _end(self, name: str, rate: float, *, least: bool) -> tuple[float, int]:
        size = self.sizes[name]
        low = least == (rate > 0)
        return rate * (size.low if low else size.high), size.low_by if low else size.high_by


def _all(bits: Iterator[int]) -> int:
    found = 0
    for each in bits:
        found |= each
    return found


def contradiction(problem: Problem, members: tuple[Member, ...]) -> tuple[Member, ...]:
    """Members of which narrowing shows that they cannot all hold; none where it shows nothing.

    Not always the fewest: leave out what is not needed by trying.
    """
    bit = {member: 1 << at for at, member in enumerate(members)}
    narrowing = _Narrowing()
    try:
        for variable in problem.variables:
            _begin(narrowing, variable, bit)
        narrowing.rows = [row for row in _rows(problem, bit) if all(abs(rate) > 0 for _, rate in row.terms)]
        narrowing.run()
    except _CrossedError as crossed:
        return tuple(member for member in members if bit[member] & crossed.by)
    return ()


def _begin(narrowing: _Narrowing, variable: Variable, bit: Mapping[Member, int]) -> None:
    """What is left of a size before any window is looked at."""
    name = variable.name
    if variable.locked_mm is not None:
        by = bit.get(Member("lock", name), 0)
        narrowing.sizes[name] = _Size(variable.locked_mm, variable.locked_mm, by, by)
        return
    sizes = tuple(sorted({c.size_mm for c in variable.candidates}))
    size = narrowing.sizes[name] = _Size(sizes[0] if sizes else -inf, sizes[-1] if sizes else inf, sizes=sizes)
    if variable.low_mm is not None:
        size.raise_to(variable.low_mm, bit.get(Member("low", name), 0))
    if variable.high_mm is not None:
        size.lower_to(variable.high_mm, bit.get(Member("high", name), 0))


def _rows(problem: Problem, bit: Mapping[Member, int]) -> Iterator[_Row]:
    for window in problem.windows:
        low = -inf if window.low is None else window.low - window.constant
        high = inf if window.high is None else window.high - window.constant
        yield _Row(window.terms, low, high, bit.get(Member("window", window.name), 0))
    for group in problem.groups:
        by = bit.get(Member("group", group.name), 0)
        for one, other in permutations(group.members, 2):
            yield _Row(((one, 1.0), (other, -1.0)), -inf, group.within_mm, by)
