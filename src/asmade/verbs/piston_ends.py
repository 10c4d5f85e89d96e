"""Room between piston and covers at both ends, and the connecting rod that would share it equally."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from asmade.book.grammar import evaluate
from asmade.measure.errors import AsmadeError
from asmade.motion.gaps.piston import rod_that_shares
from asmade.motion.kinds.piston_room import ENDS, KIND, texts_of
from asmade.reckon.findings import look_at
from asmade.reckon.requirement import Finding
from asmade.reckon.values import Values
from asmade.verbs.plain import number


@dataclass(frozen=True, slots=True)
class PistonEnds:
    """One side: both ends as findings, whether the marks were read, and the rod that would share the room equally.

    shares_mm, change_mm, each_mm: its centres, how much longer than now, and the room it leaves at each end; None where
    the sizes are not known or leave none, ``fault`` says why.
    """

    name: str
    side: str
    front: Finding
    back: Finding
    marks_read: bool
    shares_mm: float | None
    change_mm: float | None
    each_mm: float | None
    fault: str = ""


def piston_ends(values: Values, side: str = "") -> tuple[PistonEnds, ...]:
    """Every ``[[piston_room]]`` of a book at its best known values, side by side."""
    scope = values.system.scope
    every = [r for r in values.system.requirements if r.code == KIND]
    found = {finding.subject: finding for finding in look_at(values, every)} if every else {}
    ends = []
    for relation in scope.design.of_kind(KIND):
        texts = texts_of(relation, scope)
        for place in relation.places:
            if side and place != side:
                continue
            front, back = (found[f"{relation.name}, {end}@{place}"] for end in ENDS)
            nodes = {key: scope.node(text, place, relation) for key, text in texts.items() if text}
            sizes = {key: float(evaluate(node, values.of)) for key, node in nodes.items()}
            marks = (scope.address(texts[end], place, relation) for end in ENDS if "@" in texts[end])
            read = all(values.system.index[mark] in values.readings for mark in marks)
            ends.append(PistonEnds(relation.name, place, front, back, read, *_shared(sizes)))
    return tuple(ends)


def _shared(sizes: dict[str, float]) -> tuple[float | None, float | None, float | None, str]:
    if any(math.isnan(each) for each in sizes.values()):
        return None, None, None, "not every size is known"
    try:
        found = rod_that_shares(sizes["front"], sizes["back"], sizes["rod"], sizes["crank"], sizes.get("off", 0.0))
    except AsmadeError as fault:
        return None, None, None, fault.message
    return found.rod_mm, round(found.change_mm, 9) + 0.0, found.room.front_mm, ""


def plain(ends: PistonEnds) -> dict[str, Any]:
    """What ``--json`` prints."""
    return {
        "name": ends.name,
        "side": ends.side,
        **{
            name: {
                "room_mm": number(f.value), "least_mm": number(f.low), "most_mm": number(f.high), "verdict": f.verdict,
                "worst_low_mm": number(f.worst_low), "worst_high_mm": number(f.worst_high), "chance": number(f.chance),
                "missing": list(f.missing),
                "shares": [{"dimension": s.cause, "share": number(s.share)} for s in f.shares],
            }
            for name, f in (("front", ends.front), ("back", ends.back))
        },
        "marks_read": ends.marks_read,
        "rod_that_shares_mm": number(ends.shares_mm),
        "rod_change_mm": number(ends.change_mm),
        "room_then_mm": number(ends.each_mm),
        "fault": ends.fault,
    }  # fmt: skip
