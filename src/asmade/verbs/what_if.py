"""what if: some sizes put otherwise for a moment, and every verdict and margin that would move. Nothing is saved."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from asmade.book.address import Address, read_address
from asmade.book.model import Build
from asmade.book.sizes import check_written
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.requirement import Finding
from asmade.reckon.values import MADE, Values, compute
from asmade.verbs.addresses import dimension_of
from asmade.verbs.check import findings_of
from asmade.verbs.plain import number
from asmade.verbs.store import Opened, trial

ORDER = {"fails": 0, "not known": 1, "close": 2, "holds": 3, "no limits": 4}


@dataclass(frozen=True, slots=True)
class Put:
    """One size put otherwise, before and after in mm (rad for angles); ``made``: a reading was put, not a choice."""

    address: Address
    text: str
    how: str
    before: float
    after: float
    angle: bool
    made: bool


@dataclass(frozen=True, slots=True)
class Moved:
    """One finding before and after."""

    before: Finding
    after: Finding

    @property
    def turned(self) -> bool:
        """Whether its verdict is another."""
        return self.before.verdict != self.after.verdict

    @property
    def worse(self) -> bool:
        """Whether its verdict is a worse one."""
        return ORDER[self.after.verdict] < ORDER[self.before.verdict]


@dataclass(frozen=True, slots=True)
class WhatIf:
    """What was put, what moved (turned verdicts first, worse before better), how many findings stay as they are."""

    put: tuple[Put, ...]
    moved: tuple[Moved, ...]
    still: int


def what_if(opened: Opened, values: Values, findings: Sequence[Finding], sizes: Mapping[str, str]) -> WhatIf:
    """Try sizes (``wheel.bore``: ``15.9``; a bare figure is in mm) on a book that is open, with what was found in it.

    A size that is made is tried as if it had been measured so, any other as if it had been chosen so.
    Raises ``Refused`` where nothing is tried, and what saving such a size would raise.
    """
    if not sizes:
        raise Refused("what if", got="", reason="no size is put otherwise",
                      way_out="say what it should be")  # fmt: skip
    drafts, tried = [], []
    for text, size in sizes.items():
        draft, put = _put(opened.build, values, text, size)
        drafts.append(draft)
        tried.append(put)
    after = compute(trial(opened, drafts))
    shown = tuple(replace(each, after=float(after.best[after.system.at(each.address)])) for each in tried)
    now = {(f.code, f.subject): f for f in findings_of(after)}
    pairs = [Moved(f, now[f.code, f.subject]) for f in findings if (f.code, f.subject) in now]
    moved = [pair for pair in pairs if pair.turned or _differ(pair.before.value, pair.after.value)
             or _differ(pair.before.margin, pair.after.margin)]  # fmt: skip
    return WhatIf(shown, tuple(sorted(moved, key=_order)), len(pairs) - len(moved))


def _put(build: Build, values: Values, text: str, size: str) -> tuple[Draft, Put]:
    address = read_address(text)
    part, dimension = dimension_of(build.design, address)
    if address.mark:
        raise Refused("address", got=text, reason="a mark is not tried", way_out="name the place the piece sits at")
    if dimension.of_kind.thread:
        raise Refused(text, got=size, reason="a thread is not a figure", way_out="decide it on its own page")
    how = check_written(size, dimension, "mm", str(address))
    if not size.strip():
        raise Unknown(f"size of {address}", got=size, way_out="write the figure it should be")
    at_place = address if address.place else Address(part.name, part.places[0], dim=address.dim)
    if at_place not in values.system.index:
        raise Unknown(f"place of {part.name}", got=address.place, near=near(address.place, part.places))
    at = values.system.at(at_place)
    made = bool(values.source[at] == MADE)
    if made and not address.place and len(part.places) > 1:
        raise Refused(str(address), got=size, reason="it is made on some of its pieces",
                      way_out=f"name one: {at_place}")  # fmt: skip
    body = (
        {"piece": build.piece_at(at_place).seat, "dim": address.dim, "unit": "mm", "reading": size, "stage": "finished"}
        if made
        else {"of": str(address), "size": size, "why": "what if", "locked": True}
    )
    before = float(values.best[at])
    put = Put(at_place, size, how, before, before, dimension.of_kind.angle, made)
    return Draft("made" if made else "chosen", body), put


def _differ(one: float | None, other: float | None) -> bool:
    if one is None or other is None or math.isnan(one) or math.isnan(other):
        return (one is None or math.isnan(one)) != (other is None or math.isnan(other))
    return abs(one - other) > 1e-7


def _order(pair: Moved) -> tuple[bool, bool, float]:
    margin = pair.after.margin
    return not pair.turned, not pair.worse, math.inf if margin is None else margin


def plain(result: WhatIf) -> dict[str, Any]:
    """What was put and what moved, for ``--json``: lengths in mm, angles in degrees."""
    return {
        "put": [
            {"dimension": str(p.address), "text": p.text, "read_as": p.how, "made": p.made,
             "before": _shown(p.before, angle=p.angle), "after": _shown(p.after, angle=p.angle)}
            for p in result.put
        ],
        "moved": [
            {
                "code": m.after.code, "subject": m.after.subject, "turned": m.turned,
                "before": {"verdict": m.before.verdict, **_figures(m.before)},
                "after": {"verdict": m.after.verdict, **_figures(m.after)},
            }
            for m in result.moved
        ],
        "still": result.still,
    }  # fmt: skip


def _figures(finding: Finding) -> dict[str, float | None]:
    angle = finding.unit == "rad"
    return {"value": _shown(finding.value, angle=angle), "margin": _shown(finding.margin, angle=angle)}


def _shown(value: float | None, *, angle: bool) -> float | None:
    return number(None if value is None else math.degrees(value) if angle else value)
