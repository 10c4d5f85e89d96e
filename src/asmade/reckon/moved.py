"""What a reading moves: aims of the sizes tied to it, verdicts of the requirements that see it.

Only what can have moved is worked out: an aim rests on the requirements that a size hangs together with, so where none
of these reads anything that has changed, it stands as it was.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.book.model import Build
from asmade.reckon.aims import Aim, Rows, aim_of, limits_about, rows_of
from asmade.reckon.feasible import Empty, Interval, interval
from asmade.reckon.found import VERDICTS, Findings
from asmade.reckon.requirement import Verdict
from asmade.reckon.values import MADE, SUITED, Values

TINY = 1e-6
"""Ends of an aim that differ by less than a nanometre are the same."""


@dataclass(frozen=True, slots=True)
class State:
    """A build and its values."""

    build: Build
    values: Values


@dataclass(frozen=True, slots=True)
class Moved:
    """One requirement (or group of them) whose verdict is not what it was."""

    at: int
    before: Verdict
    after: Verdict


def aims_moved(before: State, after: State, at: int) -> Iterator[tuple[Address, Aim, Aim]]:
    """Aims that differ, before and after, among the sizes tied to size ``at``; both states are of one system."""
    old, new = before.values, after.values
    system = new.system
    changed = new.changed_from(old)
    rows_before = rows_of(old)
    rows = rows_of(new, old)
    stale = _stale(rows_before, rows, changed)
    for tied in _tied(rows_before, at):
        if new.source[tied] == MADE or system.dimensions[tied] is None or tied in system.computed:
            continue
        if not changed[tied]:
            if not stale.intersection(_about(new, rows, tied)):
                continue
            if _same_reach(_reach(old, tied), _reach(new, tied)):
                continue
        elif isinstance(_reach(old, tied), Empty) and isinstance(_reach(new, tied), Empty):
            continue
        address = system.names[tied]
        one, two = aim_of(before.build, old, address), aim_of(after.build, new, address)
        if _differs(one, two):
            yield address, one, two


def _stale(before: Rows, after: Rows, changed: NDArray[np.bool_]) -> frozenset[int]:
    """Requirements whose row is another, or of whose sizes one has changed."""
    found = {number for at in np.flatnonzero(changed).tolist() for number in after.by_size.get(at, ())}
    found |= {
        number
        for number in after.terms.keys() | before.terms.keys()
        if after.terms.get(number) is not before.terms.get(number)
        and (
            after.terms.get(number) != before.terms.get(number)
            or after.constants.get(number) != before.constants.get(number)
        )
    }
    return frozenset(found)


def _about(values: Values, rows: Rows, at: int) -> Iterator[int]:
    """Numbers of all requirements that have a say in the aim of a size: those of `limits_about`."""
    free, waiting = {at}, [at]
    first = rows.before.get(at, frozenset())
    while waiting:
        for number in rows.by_size.get(waiting.pop(), ()):
            yield number
            for other in rows.terms[number]:
                if other not in free and values.source[other] == SUITED and other not in first:
                    free.add(other)
                    waiting.append(other)


def _reach(values: Values, at: int) -> Interval | Empty | None:
    """As `reach_of`, without the reasons where it is empty."""
    limits, free = limits_about(values, at)
    return interval(limits, free, values.system.texts[at], explain=False) if limits else None


def _same_reach(one: Interval | Empty | None, two: Interval | Empty | None) -> bool:
    if not (isinstance(one, Interval) and isinstance(two, Interval)):
        return type(one) is type(two)
    return not (_far(one.low, two.low) or _far(one.high, two.high))


def _far(one: float | None, two: float | None) -> bool:
    return (one is None) != (two is None) or (one is not None and two is not None and abs(one - two) > TINY)


def _differs(one: Aim, two: Aim) -> bool:
    return one.state != two.state or any(
        _far(a, b) for a, b in ((one.low, two.low), (one.high, two.high), (one.target, two.target))
    )


def _tied(rows: Rows, at: int) -> tuple[int, ...]:
    """Sizes that share a requirement with ``at``, or that suit one that does."""
    found: dict[int, None] = {}
    edge: dict[int, None] = {at: None}
    for _ in range(3):
        numbers = dict.fromkeys(n for here in edge for n in rows.by_size.get(here, ()))
        edge = {other: None for n in numbers for other in rows.terms[n] if other not in found}
        found |= edge
    return tuple(other for other in found if other != at)


def verdicts_moved(before: Findings, after: Findings) -> Iterator[Moved]:
    """Findings whose verdict differs, in the order of the book; a group of requirements is one finding."""
    old = _verdicts(before)
    for key, (at, verdict) in _verdicts(after).items():
        was = old.get(key)
        if was is None or was[1] != verdict:
            yield Moved(at, VERDICTS[1 if was is None else was[1]], VERDICTS[verdict])


def _verdicts(found: Findings) -> Mapping[tuple[str, str], tuple[int, int]]:
    """Number and verdict of the requirement that speaks for each group."""
    verdict = found.verdict.tolist()
    return {(found.requirements[at].code, found.requirements[at].group): (at, verdict[at]) for at in found.leading()}
