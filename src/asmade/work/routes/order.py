"""Order of operations: nothing before what it needs is made, set-ups kept together, the trade's order inside each."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import replace

from asmade.measure.errors import AsmadeError, Contradiction, Refused, Unknown, near
from asmade.work.recipes.model import RANKS, Operation
from asmade.work.routes.edits import Edit


def in_order(part: str, operations: Sequence[Operation], edits: Sequence[Edit] = ()) -> tuple[Operation, ...]:
    """Operations with the builder's edits, in an order in which each finds what it needs.

    Of all that may come next, what belongs to the present set-up comes first, then the earliest set-up, then the
    trade's order. Raises ``Unknown`` for an edit of an operation that is not there, ``Refused`` for one removed that
    another needs, ``Contradiction`` where edits chase each other in a ring.
    """
    ops = _by_key(part, operations)
    before: list[tuple[str, str]] = []
    for edit in edits:
        _apply(part, ops, before, edit)
    return _ordered(part, ops, before)


def as_far_as_they_go(
    part: str, operations: Sequence[Operation], edits: Sequence[Edit], *, last_must: bool = False
) -> tuple[tuple[Operation, ...], tuple[str, ...]]:
    """As `in_order`, but an edit that no longer fits (a changed form, another process) is left aside and named.

    So a change of sizes or of the form never makes a route that cannot be shown. With ``last_must`` the last edit, the
    one that is being made, is refused instead.
    """
    kept: list[Edit] = []
    told: list[str] = []
    found = in_order(part, operations)
    for edit in edits:
        try:
            found = in_order(part, operations, [*kept, edit])
        except AsmadeError as fault:
            if last_must and edit is edits[-1]:
                raise
            told.append(
                f"your change (entry {edit.entry}) no longer fits and is left aside: {edit.shown}; "
                f"{fault.message}. Withdraw it, or write it anew"
            )
        else:
            kept.append(edit)
    return found, tuple(told)


def _by_key(part: str, operations: Sequence[Operation]) -> dict[str, Operation]:
    ops = {op.key: op for op in operations}
    if len(ops) != len(operations):
        seen: set[str] = set()
        twice = next(op.key for op in operations if op.key in seen or seen.add(op.key))  # type: ignore[func-returns-value]
        raise Contradiction(
            f"route of {part}: {twice!r} stands in it twice", way_out="give the features names of their own"
        )
    return ops


def _ordered(part: str, ops: dict[str, Operation], before: Iterable[tuple[str, str]]) -> tuple[Operation, ...]:
    kept = list(ops.values())
    makers: dict[str, list[int]] = {}
    for at, op in enumerate(kept):
        for thing in op.makes:
            makers.setdefault(thing, []).append(at)
    for op in kept:
        for need in op.needs:
            if need not in makers:
                raise Refused(
                    f"route of {part}",
                    got=op.key,
                    reason=f"it needs {need!r}, which nothing makes any more",
                    way_out=f"keep the operation that makes {need!r}, or remove {op.key!r} as well",
                )
    after: list[set[int]] = [set() for _ in kept]
    for at, op in enumerate(kept):
        for need in op.needs:
            after[at].update(m for m in makers[need] if m != at)
    index = {op.key: at for at, op in enumerate(kept)}
    for first, second in before:
        if first in index and second in index:
            after[index[second]].add(index[first])
    return _sorted(part, kept, after)


def _apply(part: str, ops: dict[str, Operation], before: list[tuple[str, str]], edit: Edit) -> None:
    where = f"operation of {part}"
    match edit.do:
        case "add" | "add after":
            _there(where, edit.other, ops)
            _add(where, ops, edit)
            before.append(_pair(edit))
        case "note":
            _there(where, edit.operation, ops)
            held = ops[edit.operation]
            ops[edit.operation] = replace(held, note="; ".join(filter(None, (held.note, edit.text))))
        case "words":
            _there(where, edit.operation, ops)
            ops[edit.operation] = replace(ops[edit.operation], words=edit.text, own=True)
        case "before" | "after":
            _there(where, edit.operation, ops)
            _there(where, edit.other, ops)
            before.append(_pair(edit))
        case _:
            _there(where, edit.operation, ops)
            _remove(part, ops, edit.operation)


def _pair(edit: Edit) -> tuple[str, str]:
    """Which comes first, and which after it."""
    return (edit.other, edit.operation) if edit.do.endswith("after") else (edit.operation, edit.other)


def _add(where: str, ops: dict[str, Operation], edit: Edit) -> None:
    beside = ops[edit.other]
    if edit.operation in ops:
        raise Contradiction(f"{where}: {edit.operation!r} is there already", way_out="give it another name")
    new = Operation(
        key=edit.operation,
        feature=edit.operation,
        process="",
        setup=beside.setup,
        rank=beside.rank,
        words=edit.text or edit.operation,
        needs=beside.setup.locates_from,
        source="the builder's own",
        own=True,
    )
    rows = list(ops.values())
    rows.insert(rows.index(beside) + (edit.do == "add after"), new)  # of one rank, the earlier row comes first
    ops.clear()
    ops.update({op.key: op for op in rows})


def _remove(part: str, ops: dict[str, Operation], key: str) -> None:
    gone = ops[key]
    others = {thing for op in ops.values() if op.key != key for thing in op.makes}
    for op in ops.values():
        lost = [need for need in op.needs if need in gone.makes and need not in others]
        if op.key != key and lost:
            raise Refused(
                f"route of {part}",
                got=f"remove {key!r}",
                reason=f"{op.key!r} needs {lost[0]!r} from it",
                way_out=f"remove {op.key!r} first, or keep this one",
            )
    del ops[key]


def _there(where: str, key: str, ops: dict[str, Operation]) -> None:
    if key not in ops:
        raise Unknown(where, got=key, near=near(key, ops), way_out=f"they are: {', '.join(ops)}")


def _sorted(part: str, ops: list[Operation], after: list[set[int]]) -> tuple[Operation, ...]:
    waits = [len(each) for each in after]
    frees: list[list[int]] = [[] for _ in ops]
    for at, each in enumerate(after):
        for first in each:
            frees[first].append(at)
    ready: dict[str, list[tuple[int, int, int]]] = {}

    def put(at: int) -> None:
        op = ops[at]
        heapq.heappush(ready.setdefault(op.setup.name, []), (op.setup.order, op.rank, at))

    for at, count in enumerate(waits):
        if not count:
            put(at)
    done: list[Operation] = []
    here = ""
    while ready:
        if here not in ready:
            here = min(ready, key=lambda name: ready[name][0])
        _, _, at = heapq.heappop(ready[here])
        if not ready[here]:
            del ready[here]
        done.append(ops[at])
        for later in frees[at]:
            waits[later] -= 1
            if not waits[later]:
                put(later)
    if len(done) < len(ops):
        stuck = ", ".join(repr(op.key) for at, op in enumerate(ops) if waits[at])
        raise Contradiction(
            f"route of {part}: {stuck} wait for each other in a ring",
            way_out="withdraw one of the edits that put one before another",
        )
    return tuple(done)


__all__ = ["RANKS", "as_far_as_they_go", "in_order"]
