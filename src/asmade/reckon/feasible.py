"""What a dimension may be made to: the interval that leaves every requirement a chance to hold.

Linear throughout. A limit says ``low <= sum(factor * name) + constant <= high`` for whatever the things that are
neither free nor made turn out to be, so its window is narrowed by their worst-case half range ``spread``. Free are
the dimension in question and those made later to suit, each within its reach (`Bound`). The interval of one dimension
is then found by two small linear programmes, its least and its greatest value.

A dimension made last *to suit* sees what the others came to. In the limit that names it ``to_suit`` it therefore
takes up the spread: with t the share taken up, its reach shrinks by t / |factor|, the limit's spread by t, and other
limits it takes part in are disturbed by as much as it moves. All of that stays linear. So it is its reach that has to
cover the scatter of what is made first, not the window. While it is the dimension asked for, it is too early for
that: the others' spread counts in full.

Nearly always no programme is needed: where the limits and free names that hang together form a tree (one free name per
limit is the simplest), what each limit leaves to the next name is an interval again, and handing these inwards gives
the same answer in closed form. Only rings of limits go to HiGHS.

Limits that do not hang together with the dimension (by way of free names) have no say, even if they cannot hold.
The guard band of the instrument is the caller's to take off.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.reckon.demands import TOLERANCE_MM, Demand, Programme, Relaxation

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_DEPTH = 200  # of a tree; deeper ones go to the linear programme instead of the stack


@dataclass(frozen=True, slots=True)
class Bound:
    """A free name and its reach, mm; None = no end."""

    name: str
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        """Refuse a reach that is none."""
        _checked_window(f"reach of {self.name!r}", self.low, self.high)


@dataclass(frozen=True, slots=True)
class Limit:
    """A requirement: ``low <= sum(factor * name) + constant +- spread <= high`` over free (or, for many, any) names.

    ``spread``: worst-case half range of all that is neither free nor made, mm, 0 or more. ``to_suit``: the name in
    ``terms`` that is made last to suit the others, if any.
    """

    name: str
    terms: Mapping[str, float]
    constant: float = 0.0
    low: float | None = None
    high: float | None = None
    spread: float = 0.0
    to_suit: str | None = None

    def __post_init__(self) -> None:
        """Refuse figures that are none, and a limit without an end."""
        _checked_window(f"limit {self.name!r}", self.low, self.high)
        if self.low is None and self.high is None:
            raise Refused(f"limit {self.name!r}", got=None, reason="it has neither a least nor a greatest value")
        for value in (*self.terms.values(), self.constant):
            if not math.isfinite(value):
                raise OutOfRange(f"limit {self.name!r}", got=value, allowed="finite numbers")
        if not (math.isfinite(self.spread) and self.spread >= 0.0):
            raise OutOfRange(f"spread of limit {self.name!r}", got=self.spread, allowed="finite, 0 or more, mm")
        if self.to_suit is not None and not self.terms.get(self.to_suit):
            raise Unknown(f"to-suit dimension of limit {self.name!r}", got=self.to_suit, near=tuple(self.terms))


@dataclass(frozen=True, slots=True)
class Interval:
    """What is feasible, mm (None = no end on that side), and who sets the ends.

    ``binding_low`` and ``binding_high`` name the limits, and the names whose reach, set that end: those with a dual
    value other than zero; the dimension's own name stands for its own reach. Several limits that would set the same
    end each by itself are all named where the interval came in closed form; a linear programme names one such set.
    """

    low: float | None
    high: float | None
    binding_low: tuple[str, ...]
    binding_high: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Empty:
    """Nothing is feasible.

    ``conflict``: limits (and names whose reach) that cannot all hold; leave out any one and the rest can.
    ``least``: the relaxation least in total that frees everything; ``cures``: each alone would do, the least first
    (none, if there are conflicts apart from each other).
    """

    conflict: tuple[str, ...]
    least: tuple[Relaxation, ...]
    cures: tuple[Relaxation, ...]


_UNEXPLAINED = Empty((), (), ())


@dataclass(frozen=True, slots=True)
class _Row:
    """A limit with all that is not free taken off: low <= sum(terms) <= high, the spread already off both ends.

    ``last``: the free name that takes the spread up, if any; ``spread`` is then what there is to take up.
    """

    name: str
    terms: tuple[tuple[str, float], ...]
    low: float | None
    high: float | None
    spread: float
    last: str | None


@dataclass(frozen=True, slots=True)
class _End:
    """One end of what is left to a name: its value, who sets it, and the limit next to the name (None = its reach)."""

    value: float
    names: tuple[str, ...]
    by: _Row | None


class _NotATreeError(Exception):
    """The limits hang together in a ring, or in a way that closed form does not cover."""


class _CrossedError(Exception):
    """Somewhere in the tree the ends cross: nothing is feasible."""


def interval(
    limits: Sequence[Limit], free: Sequence[Bound], of: str, *, explain: bool = True
) -> Interval | Empty:  # fmt: skip
    """Interval in which ``of`` may be made so that all limits can still hold, mm.

    ``free``: the dimension itself and all that may still be chosen, each with its reach; every name in the limits'
    terms must be among them. Raises ``Unknown`` for one that is not. Without ``explain`` one that is empty comes
    without conflict and cures, which take many programmes to find.

    Anchor (by hand): hole 10.00 made, shaft wanted 0.02 to 0.05 smaller: 0.02 <= 10 - shaft <= 0.05 -> 9.95 to 9.98.
    """
    reach = _by_name(free)
    if of not in reach:
        raise Unknown("free dimension", got=of, near=tuple(reach)[:3])
    users: dict[str, list[_Row]] = {}
    for limit in limits:
        terms = tuple((name, factor) for name, factor in limit.terms.items() if factor)
        last = limit.to_suit if limit.to_suit != of and limit.to_suit in reach else None
        row = _row(limit, terms, limit.constant, limit.spread, last)
        for name, _ in terms:
            if name not in reach:
                raise Unknown(f"free dimension in limit {limit.name!r}", got=name, near=tuple(reach)[:3])
            users.setdefault(name, []).append(row)
    return _solve(users, reach, of, explain=explain)


def _row(limit: Limit, terms: tuple[tuple[str, float], ...], constant: float, spread: float, last: str | None) -> _Row:
    low = None if limit.low is None else limit.low - constant + spread
    high = None if limit.high is None else limit.high - constant - spread
    return _Row(limit.name, terms, low, high, spread, last)


def _solve(
    users: Mapping[str, Sequence[_Row]], reach: Mapping[str, Bound], of: str, *, explain: bool
) -> Interval | Empty:  # fmt: skip
    """Closed form where the limits form a tree, else the linear programmes."""
    try:
        lows, highs = _Tree(users, reach, of).ends(of, None, 0)
    except _NotATreeError:
        return _by_programme(*_component(users, reach, of), of, explain=explain)
    except _CrossedError:
        return _empty(_programme(*_component(users, reach, of))) if explain else _UNEXPLAINED
    low = max(lows, key=lambda end: end.value, default=None)
    high = min(highs, key=lambda end: end.value, default=None)
    if low is not None and high is not None and low.value > high.value + TOLERANCE_MM:
        if not explain:
            return _UNEXPLAINED
        rows = users.get(of, ())
        if all(len(row.terms) == 1 for row in rows):
            return _empty_of_one(rows, reach[of])
        return _empty(_programme(*_component(users, reach, of)))
    ends = _uncrossed(None if low is None else low.value, None if high is None else high.value)
    return Interval(*ends, _all_at(lows, low), _all_at(highs, high))


def _uncrossed(low: float | None, high: float | None) -> tuple[float | None, float | None]:
    """Make one point of ends that cross by rounding only."""
    if low is not None and high is not None and low > high:
        return (0.5 * (low + high),) * 2
    return low, high


def _all_at(ends: Sequence[_End], which: _End | None) -> tuple[str, ...]:
    if which is None:
        return ()
    names = [name for end in ends if abs(end.value - which.value) <= TOLERANCE_MM for name in end.names]
    return tuple(dict.fromkeys(names))


class _Tree:
    """What the limits leave to a name, handed inwards from the leaves; raises where they are no tree."""

    def __init__(self, users: Mapping[str, Sequence[_Row]], reach: Mapping[str, Bound], of: str) -> None:
        self.users = users
        self.reach = reach
        self.of = of
        self.seen_names = {of}
        self.seen_rows: set[int] = set()

    def ends(self, name: str, came_by: _Row | None, depth: int) -> tuple[list[_End], list[_End]]:
        """All lower and upper ends that its reach and its limits but ``came_by`` set for ``name``."""
        if depth > _DEPTH:
            raise _NotATreeError
        bound = self.reach[name]
        lows = [] if bound.low is None else [_End(bound.low, (name,), None)]
        highs = [] if bound.high is None else [_End(bound.high, (name,), None)]
        rows = self.users.get(name, ())
        moves = any(row.last == name for row in rows)
        for row in rows:
            if row is came_by:
                continue
            if id(row) in self.seen_rows or (moves and row.last is None and len(row.terms) > 1):
                raise _NotATreeError
            self.seen_rows.add(id(row))
            if row.last is None and len(row.terms) > 1 and row.low is not None and row.high is not None:
                _refuse_crossed(row.low, row.high)  # with one name its ends cross by themselves
            low, high = self._through(row, name, depth)
            if low is not None:
                lows.append(low)
            if high is not None:
                highs.append(high)
        return lows, highs

    def _through(self, row: _Row, name: str, depth: int) -> tuple[_End | None, _End | None]:
        """Ends that one limit sets for ``name``, the other names in it being anywhere they can."""
        own = 1.0
        least, most = row.low, row.high  # of factor * name
        least_by: tuple[str, ...] = (row.name,)
        most_by: tuple[str, ...] = (row.name,)
        for other, factor in row.terms:
            if other == name:
                own = factor
                continue
            if other in self.seen_names or (row.last != other and self._moves(other)):
                raise _NotATreeError
            self.seen_names.add(other)
            lows, highs = self.ends(other, row, depth + 1)
            for low in lows:
                for high in highs:
                    # a limit to which the name itself is made may be narrower than its spread
                    if low.by is None or low.by is not high.by or low.by.last != other:
                        _refuse_crossed(low.value, high.value)
            down = max(lows, key=lambda end: end.value, default=None)
            up = min(highs, key=lambda end: end.value, default=None)
            smallest, biggest = (down, up) if factor > 0.0 else (up, down)
            if other == row.last and row.low is not None and row.high is not None and down and up:
                # what is made last has to cover the spread by itself, however far other names could go
                least_last, most_last = sorted((factor * down.value, factor * up.value))
                _refuse_crossed(row.low - most_last, row.high - least_last)
            least = None if least is None or biggest is None else least - factor * biggest.value
            most = None if most is None or smallest is None else most - factor * smallest.value
            least_by += biggest.names if biggest else ()
            most_by += smallest.names if smallest else ()
        low_end = None if least is None else _End(least / own, least_by, row)
        high_end = None if most is None else _End(most / own, most_by, row)
        return (low_end, high_end) if own > 0.0 else (high_end, low_end)

    def _moves(self, name: str) -> bool:
        return any(row.last == name for row in self.users.get(name, ()))


def _refuse_crossed(low: float, high: float) -> None:
    if low > high + TOLERANCE_MM:
        raise _CrossedError


def _empty_of_one(rows: Sequence[_Row], bound: Bound) -> Empty:
    """Explain an empty interval where each limit has one free name only."""
    # each: end of the name, limit, end of that limit, mm of the limit per mm of the name
    lows: list[tuple[float, str, str, float]] = []
    highs: list[tuple[float, str, str, float]] = []
    if bound.low is not None:
        lows.append((bound.low, bound.name, "low", 1.0))
    if bound.high is not None:
        highs.append((bound.high, bound.name, "high", 1.0))
    for row in rows:
        ((_, factor),) = row.terms
        for value, end in ((row.low, "low"), (row.high, "high")):
            if value is not None:
                side = lows if (end == "low") == (factor > 0.0) else highs
                side.append((value / factor, row.name, end, abs(factor)))

    def wanted(at: float) -> list[Relaxation]:
        short = [Relaxation(name, end, (value - at) * rate) for value, name, end, rate in lows if value > at]
        return short + [Relaxation(name, end, (at - value) * rate) for value, name, end, rate in highs if value < at]

    low, high = max(lows), min(highs)
    least = min((wanted(end[0]) for end in lows + highs), key=lambda r: math.fsum(one.amount for one in r))
    cures = []
    for mine, others, against in ((low, lows, high[0]), (high, highs, low[0])):
        sign = 1.0 if others is lows else -1.0
        if all(one is mine or sign * (one[0] - against) <= TOLERANCE_MM for one in others):
            cures.append(Relaxation(mine[1], mine[2], sign * (mine[0] - against) * mine[3]))
    cures.sort(key=lambda cure: cure.amount)
    # A limit narrower than its spread is a conflict by itself.
    lowest = {end[1]: end[0] for end in highs}
    alone = [(end[0] - lowest[end[1]], end[1]) for end in lows if end[1] in lowest]
    worst = max(alone, default=None)
    conflict = (worst[1],) if worst is not None and worst[0] > TOLERANCE_MM else tuple(dict.fromkeys((low[1], high[1])))
    return Empty(conflict, tuple(least), tuple(cures))


def _component(
    users: Mapping[str, Sequence[_Row]], reach: Mapping[str, Bound], of: str
) -> tuple[list[_Row], dict[str, Bound]]:
    """All limits and free names that hang together with ``of``."""
    rows: dict[int, _Row] = {}
    bounds = {of: reach[of]}
    waiting = [of]
    while waiting:
        for row in users.get(waiting.pop(), ()):
            if id(row) not in rows:
                rows[id(row)] = row
                for name, _ in row.terms:
                    if name not in bounds:
                        bounds[name] = reach[name]
                        waiting.append(name)
    return list(rows.values()), bounds


def _programme(rows: Sequence[_Row], bounds: Mapping[str, Bound]) -> Programme:
    """Put limits that hang together as a linear programme: names first, then what each to-suit name takes up."""
    column = {name: k for k, name in enumerate(bounds)}
    taken = {id(row): len(column) + k for k, row in enumerate(r for r in rows if r.last is not None)}
    moves: dict[str, list[tuple[_Row, float]]] = {name: [] for name in bounds}  # mm of the name per mm taken up
    for row in rows:
        if row.last is not None:
            moves[row.last].append((row, 1.0 / abs(dict(row.terms)[row.last])))
    demands: list[Demand] = []
    for row in rows:
        disturbed = {
            taken[id(mover)]: -abs(factor) * rate
            for name, factor in row.terms
            for mover, rate in moves[name]
            if mover is not row
        }
        own = {taken[id(row)]: 1.0} if row.last is not None else {}
        if row.last is not None:  # no more can be taken up than there is
            up = {at: -value for at, value in disturbed.items()}
            demands.append(Demand(None, "", {**up, taken[id(row)]: -1.0}, -row.spread))
        if row.low is not None:
            factors = {column[name]: factor for name, factor in row.terms}
            demands.append(Demand(row.name, "low", {**factors, **disturbed, **own}, row.low))
        if row.high is not None:
            factors = {column[name]: -factor for name, factor in row.terms}
            demands.append(Demand(row.name, "high", {**factors, **disturbed, **own}, -row.high))
    for name, bound in bounds.items():
        moved = {taken[id(row)]: -rate for row, rate in moves[name]}
        here = column[name]
        if bound.low is not None:
            demands.append(Demand(name, "low", {here: 1.0, **moved}, bound.low))
        if bound.high is not None:
            demands.append(Demand(name, "high", {here: -1.0, **moved}, -bound.high))
    return Programme(tuple(demands), free=len(column), columns=len(column) + len(taken))


def _by_programme(
    rows: Sequence[_Row], bounds: Mapping[str, Bound], of: str, *, explain: bool
) -> Interval | Empty:  # fmt: skip
    """Least and greatest value of ``of`` by two linear programmes."""
    programme = _programme(rows, bounds)
    at = list(bounds).index(of)
    low, high = programme.least({at: 1.0}), programme.least({at: -1.0})
    if low is None or high is None:
        return _empty(programme) if explain else _UNEXPLAINED
    ends = _uncrossed(low.value, None if high.value is None else -high.value)
    return Interval(*ends, programme.named(low), programme.named(high))


def _empty(programme: Programme) -> Empty:
    return Empty(programme.conflict(), programme.least_relaxation(), programme.cures())


def _by_name(free: Sequence[Bound]) -> dict[str, Bound]:
    reach = {bound.name: bound for bound in free}
    if len(reach) != len(free):
        names = [bound.name for bound in free]
        raise Refused("free dimensions", got=next(n for n in names if names.count(n) > 1), reason="named twice")
    return reach


def _checked_window(thing: str, low: float | None, high: float | None) -> None:
    for end in (low, high):
        if end is not None and not math.isfinite(end):
            raise OutOfRange(thing, got=end, allowed="finite numbers, mm; None for no end")
    if low is not None and high is not None and low > high:
        raise OutOfRange(thing, got=(low, high), allowed="a least value not above the greatest")
