"""How far a piece has come: which operations of its route are done, and which comes next.

An operation is done when it was entered (by its key, to the piece by its mark), when every size that it sets has been
measured, or when something that rests on it is done. Withdrawing the entry undoes it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from asmade.book.model import Build
from asmade.work.recipes.model import Operation


@dataclass(frozen=True, slots=True)
class Entered:
    """An operation entered as done: when, and by which entry."""

    at: str
    entry: int


def entered(build: Build, seat: str) -> dict[str, Entered]:
    """What was entered as done to a piece (``wheel#W4``), by the operation's key in small letters; the last counts."""
    return {
        str(remark.body.get("operation", "")).lower(): Entered(remark.at, remark.entry)
        for remark in build.remarks
        if remark.kind == "done" and remark.body.get("piece") == seat
    }


def with_progress(
    operations: Sequence[Operation], done: Mapping[str, Entered], measured: Mapping[str, str], sets: Collection[str]
) -> tuple[Operation, ...]:
    """Operations with their state.

    ``measured``: when each measured dimension was, by its name. ``sets``: dimensions that count (threads and what is
    computed do not): an operation all of whose dimensions among them are measured is measured.
    """
    found: list[Operation] = []
    behind: set[str] = set()
    for op in reversed(operations):
        hit = done.get(op.key.lower())
        own = [d for d in op.dims if d in sets]
        if hit is not None:
            op = replace(op, state="done", done=hit.at, entry=hit.entry)  # noqa: PLW2901  # the same one, told more
        elif own and all(d in measured for d in own):
            op = replace(op, state="measured", done=max(measured[d] for d in own))  # noqa: PLW2901
        elif behind.intersection(op.makes):
            op = replace(op, state="gone by")  # noqa: PLW2901
        if op.is_done:
            behind.update(op.needs)
        found.append(op)
    return tuple(reversed(found))
