"""Order of operations: nothing before what it needs is made, set-ups kept together, the trade's order inside each."""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import replace

from asmade.measure.errors import Contradiction, Refused, Unknown, near
from asmade.work.recipes.model import RANKS, Operation
from asmade.work.routes.edits import Edit


def in_order(part: str, operations: Sequence[Operation], edits: Sequence[Edit] = ()) -> tuple[Operation, ...]:
    """Operations with the builder's edits, in an order in which each finds what it needs.

    Of all that may come next, what belongs to the present set-up comes first, then the earliest set-up, then the
    trade's order. Raises ``Unknown`` for an edit of an operation that is not there, ``Refused`` for one removed that
    another needs, ``Contradiction`` where edits chase each other in a ring.
    """
    ops = {op.key: op for op in operations}
    if len(ops) != len(operations):
        seen: set[str] = set()
        twice = next(op.key for op in operations if op.key in seen or seen.add(op.key))  # type: ignore[func-returns-value]
        raise Contradiction(
            f"route of {part}: {twice!r} stands in it twice", way_out="give the features names of their own"
        )
    before: list[tuple[str, str]] = []
    for edit in edits:
        _apply(part, ops, before, edit)
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
    if edit.do == "add":
        _there(where, edit.other, ops)
        beside = ops[edit.other]
        if edit.operation in ops:
            raise Contradiction(f"{where}: {edit.operation!r} is there already", way_out="give it another name")
        ops[edit.operation] = Operation(
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
        before.append((edit.operation, edit.other))
        return
    _there(where, edit.operation, ops)
    match edit.do:
        case "note":
            held = ops[edit.operation]
            ops[edit.operation] = replace(held, note="; ".join(filter(None, (held.note, edit.text))))
        case "before":
            _there(where, edit.other, ops)
            before.append((edit.operation, edit.other))
        case _:
            gone = ops[edit.operation]
            others = {thing for op in ops.values() if op.key != gone.key for thing in op.makes}
            for op in ops.values():
                lost = [need for need in op.needs if need in gone.makes and need not in others]
                if op.key != gone.key and lost:
                    raise Refused(
                        f"route of {part}",
                        got=f"remove {gone.key!r}",
                        reason=f"{op.key!r} needs {lost[0]!r} from it",
                        way_out=f"remove {op.key!r} first, or keep this one",
                    )
            del ops[edit.operation]


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


__all__ = ["RANKS", "in_order"]
