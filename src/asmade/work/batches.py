"""Batches: set-ups of many pieces that are alike are done together; as few of them as the order allows.

Every piece is a chain of set-ups. One batch does the next set-up of every piece that waits for the same holding, stop
and datum. The least number of batches is sought by a search over which kind of set-up comes next (taking all that are
ready costs nothing, so only the order of kinds is open); groups of pieces that share no kind are sought apart. The
bound below which no order can go: every kind is needed as often as the piece that needs it most often needs it. Where
the search is cut short the gap to that bound is reported.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from asmade.measure.errors import Contradiction, Refused, Unknown, near

MOST_STATES: Final = 20_000
"""States looked at for one group before the best so far is taken."""


@dataclass(frozen=True, slots=True)
class Chain:
    """One piece, the kinds of its set-ups in order; ``after[k]``: set-ups (piece, number) before its k-th."""

    piece: str
    kinds: tuple[str, ...]
    after: Mapping[int, tuple[tuple[str, int], ...]]


@dataclass(frozen=True, slots=True)
class Batch:
    """Set-ups done together: their kind, and (piece, number of its set-up) of each."""

    kind: str
    members: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Batches:
    """Batches in order; ``least``: no order has fewer (a bound); ``each_alone``: what it would be piece by piece."""

    batches: tuple[Batch, ...]
    least: int
    each_alone: int

    @property
    def proven(self) -> bool:
        """Whether no order has fewer set-ups."""
        return len(self.batches) <= self.least

    @property
    def words(self) -> str:
        """How far it is proven, in words."""
        if self.proven:
            return "proven: no order has fewer set-ups"
        return f"the best found; no order has fewer than {self.least}"


def batches(chains: Sequence[Chain], *, most_states: int = MOST_STATES) -> Batches:
    """Batches of all chains in an order that keeps every chain and every ``after``.

    Raises ``Refused`` for a piece named twice, ``Unknown`` for an ``after`` that is not there, ``Contradiction`` where
    set-ups wait for each other in a ring.

    Range: any number of chains; exact where a group needs no more than ``most_states`` states.
    """
    named = {chain.piece: chain for chain in chains}
    if len(named) != len(chains):
        twice = next(piece for piece, count in Counter(c.piece for c in chains).items() if count > 1)
        raise Refused("pieces", got=twice, reason="it stands there twice", way_out="name each piece once")
    for chain in chains:
        for before in chain.after.values():
            for piece, number in before:
                if piece not in named or not 0 <= number < len(named[piece].kinds):
                    raise Unknown(f"set-up before one of {chain.piece}", got=(piece, number), near=near(piece, named))
    found: list[Batch] = []
    least = 0
    for group in _groups(chains):
        ordered, bound = _Group(group, most_states).solve()
        found += ordered
        least += bound
    return Batches(tuple(found), least, sum(len(chain.kinds) for chain in chains))


def _groups(chains: Sequence[Chain]) -> list[list[Chain]]:
    """Chains that share a kind or wait for each other, together; groups in the order of their first chain."""
    parent: dict[Hashable, Hashable] = {}

    def top(of: Hashable) -> Hashable:
        parent.setdefault(of, of)
        while parent[of] != of:
            parent[of] = parent[parent[of]]
            of = parent[of]
        return of

    for chain in chains:
        own = ("piece", chain.piece)
        for kind in chain.kinds:
            parent[top(("kind", kind))] = top(own)
        for before in chain.after.values():
            for piece, _ in before:
                parent[top(("piece", piece))] = top(own)
    found: dict[Hashable, list[Chain]] = {}
    for chain in chains:
        found.setdefault(top(("piece", chain.piece)), []).append(chain)
    return list(found.values())


class _Group:
    """A search over how far each different chain has come. Chains that are alike in all are one."""

    def __init__(self, chains: Sequence[Chain], most_states: int) -> None:
        self.most_states = most_states
        waited_for = {piece for chain in chains for before in chain.after.values() for piece, _ in before}
        alike: dict[Hashable, list[Chain]] = {}
        for chain in chains:
            own = chain.piece if chain.after or chain.piece in waited_for else ""
            alike.setdefault((chain.kinds, own), []).append(chain)
        self.members = list(alike.values())
        self.kinds = [same[0].kinds for same in self.members]
        at = {chain.piece: number for number, same in enumerate(self.members) for chain in same}
        self.after = [
            {k: [(at[piece], number) for piece, number in before] for k, before in same[0].after.items()}
            for same in self.members
        ]
        self.tails = [[Counter(kinds[k:]) for k in range(len(kinds) + 1)] for kinds in self.kinds]

    def bound(self, state: tuple[int, ...]) -> int:
        """Every kind as often as the chain that still needs it most often needs it."""
        most: Counter[str] = Counter()
        for number, k in enumerate(state):
            most |= self.tails[number][k]
        return most.total()

    def ready(self, state: tuple[int, ...]) -> dict[str, list[int]]:
        """Chains by the kind of set-up they are ready for."""
        found: dict[str, list[int]] = {}
        for number, k in enumerate(state):
            if k < len(self.kinds[number]) and all(state[a] > b for a, b in self.after[number].get(k, ())):
                found.setdefault(self.kinds[number][k], []).append(number)
        return found

    @staticmethod
    def step(state: tuple[int, ...], moved: Sequence[int]) -> tuple[int, ...]:
        """The state after a batch."""
        new = list(state)
        for number in moved:
            new[number] += 1
        return tuple(new)

    def solve(self) -> tuple[list[Batch], int]:
        """Best order found and the bound: by the search where it ends, else by the greedy order."""
        start = (0,) * len(self.kinds)
        goal = tuple(len(kinds) for kinds in self.kinds)
        lower = self.bound(start)
        greedy = self._greedy(start, goal)
        if len(greedy) == lower:
            return self._named(greedy), lower
        cost = {start: 0}
        came: dict[tuple[int, ...], tuple[tuple[int, ...], str]] = {}
        heap = [(lower, 0, start)]
        seen: set[tuple[int, ...]] = set()
        while heap and len(seen) < self.most_states:
            estimate, _, state = heapq.heappop(heap)
            if state in seen:
                continue
            seen.add(state)
            lower = max(lower, min(estimate, len(greedy)))
            if state == goal:
                return self._named(self._path(came, state)), cost[state]
            for kind, moved in self.ready(state).items():
                new = self.step(state, moved)
                if cost[state] + 1 < cost.get(new, len(greedy) + 1):
                    cost[new] = cost[state] + 1
                    came[new] = (state, kind)
                    heapq.heappush(heap, (cost[new] + self.bound(new), -sum(new), new))
        return self._named(greedy), lower if heap else len(greedy)

    def _greedy(self, state: tuple[int, ...], goal: tuple[int, ...]) -> list[str]:
        """Always the kind that leaves the least bound; of those the one that does most pieces."""
        order = []
        while state != goal:
            ready = self.ready(state)
            if not ready:
                stuck = [self.members[n][0].piece for n, k in enumerate(state) if k < len(self.kinds[n])]
                raise Contradiction(f"set-ups of {', '.join(stuck)} wait for each other in a ring",
                                    way_out="make one of the sizes no longer to suit the other")  # fmt: skip
            kind = min(ready, key=lambda k: (self.bound(self.step(state, ready[k])), -len(ready[k]), k))
            order.append(kind)
            state = self.step(state, ready[kind])
        return order

    @staticmethod
    def _path(came: Mapping[tuple[int, ...], tuple[tuple[int, ...], str]], state: tuple[int, ...]) -> list[str]:
        order = []
        while state in came:
            state, kind = came[state]
            order.append(kind)
        return order[::-1]

    def _named(self, order: Sequence[str]) -> list[Batch]:
        state = (0,) * len(self.kinds)
        found = []
        for kind in order:
            moved = self.ready(state)[kind]
            found.append(Batch(kind, tuple((c.piece, state[n]) for n in moved for c in self.members[n])))
            state = self.step(state, moved)
        return found
