"""valves --propose: a whole gear from what is wanted and the sizes that the book already has."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from asmade.book.model import Build
from asmade.book.sizes import read_limit
from asmade.measure.errors import OutOfRange, Refused, Unknown, near
from asmade.motion.bindings.valves import sides_of
from asmade.motion.gears import gear
from asmade.motion.proposals import Aid, Ask, Line, aid_for
from asmade.motion.proposals.aid import EITHER
from asmade.motion.valves.engine import Side, first_sample
from asmade.motion.valves.events import events, usual_positions
from asmade.motion.valves.refine import Aims, Free, Refined, Score, refine
from asmade.motion.valves.report import EngineEvents, engine_events
from asmade.reckon.requirement import written
from asmade.reckon.values import compute
from asmade.verbs.store import Path_, read_build

ANGLE_STEP: Final = math.radians(0.25)
"""Step of an angle where lengths are refined in steps: what can be set with a protractor and a vernier."""
LENGTH_REACH: Final = 0.35
"""How far a length may go from where it was proposed, over the valve's travel; at least four steps."""
ANGLE_REACH: Final = math.radians(5.0)


@dataclass(frozen=True, slots=True)
class Proposed:
    """One dimension: what gives it in the book, what is proposed, and what the book has now (None: nothing)."""

    name: str
    given_by: str
    value: float
    now: float | None
    angle: bool


@dataclass(frozen=True, slots=True)
class ProposeResult:
    """The gear as proposed, the working of its closed forms, the search in steps if one was asked for, its events."""

    rows: tuple[Proposed, ...]
    working: tuple[Line, ...]
    refined: Refined | None
    events: EngineEvents
    choices: Mapping[str, str]
    aid: Aid


def propose_gear(
    path: Path_,
    wishes: Mapping[str, str],
    *,
    step: str = "",
    gear_name: str = "",
    progress: Callable[[int, Score], None] | None = None,
) -> ProposeResult:
    """Propose a gear; ``wishes`` as text (``cutoff``: ``75 %``, lengths with their unit or in the drawing's).

    What is not wished for is taken from the book where it is known, else as usual; what is missing is named. With a
    ``step`` (``1/64 in``, ``0.1 mm``) the lengths are then refined in such steps; Ctrl-C keeps the best so far. Nothing
    is written to the book.
    """
    return propose_for(read_build(path), wishes, step=step, gear_name=gear_name, progress=progress)


def propose_for(
    build: Build,
    wishes: Mapping[str, str],
    *,
    step: str = "",
    gear_name: str = "",
    progress: Callable[[int, Score], None] | None = None,
) -> ProposeResult:
    """The same for a build already read."""
    values = compute(build)
    bound = sides_of(values.system.scope, gear_name)[0]
    aid = aid_for(bound.gear)
    have = {name: float(value) for name, value in bound.values(values.of).items()}
    wanted = _wanted(aid, wishes, have, build.design.drawing_unit)
    found = aid.propose(wanted, bound.admission, dict(bound.choices))
    side, refined = found.side, None
    if step:
        refined = _refined(aid, side, wanted, _length("step", step, build.design.drawing_unit), progress)
        side = refined.side
    return ProposeResult(
        _rows(side, bound.node, have), found.working, refined, _events(side), dict(side.gear.choices), aid
    )  # fmt: skip


def _wanted(aid: Aid, wishes: Mapping[str, str], have: Mapping[str, float], unit: str) -> dict[str, float]:
    """What is wished for, else what the book has, else what is usual; what nobody says is asked for by name."""
    asks = {ask.name: ask for ask in aid.asks}
    for name in wishes:
        if name not in asks:
            raise Unknown("wish", got=name, near=near(name, asks),
                          way_out=f"of a {gear(aid.gear).title} may be wished: {', '.join(asks)}")  # fmt: skip
    wanted: dict[str, float] = {}
    for name, ask in asks.items():
        known = have.get(ask.from_book, math.nan)
        if name in wishes:
            wanted[name] = _amount(ask, wishes[name], unit)
        elif not math.isnan(known):
            wanted[name] = known
        elif ask.usual is not None:
            wanted[name] = ask.usual
    either = {ask.name for ask in EITHER}
    lacking = [f"{name} ({ask.meaning})" for name, ask in asks.items() if name not in wanted and name not in either]
    lacking += [] if either & set(wanted) else ["travel or lap"]
    if lacking:
        raise Refused(
            "proposal", got=", ".join(wishes) or "no wish", reason=f"it needs {', '.join(lacking)} as well",
            way_out='give each, such as --wish "cutoff=75 %" --wish "lead=0.25 mm" --wish "travel=12 mm"',
        )  # fmt: skip
    return wanted


def _amount(ask: Ask, text: str, unit: str) -> float:
    if ask.kind == "length":
        return _length(f"wish {ask.name}", text, unit)
    try:
        share = float(text.strip().removesuffix("%")) / 100.0
    except ValueError:
        share = math.nan
    if not 0 < share <= 1:
        raise OutOfRange(f"wish {ask.name}", got=text, allowed="0 to 100 per cent", way_out=f'write "{ask.name}=75 %"')
    return share


def _length(thing: str, text: str, unit: str) -> float:
    exact = read_limit(text, unit=unit, thing=thing)
    if exact is None:
        raise Refused(thing, got=text, reason="it is empty", way_out='write an amount such as "12 mm"')
    return float(exact)


def _refined(
    aid: Aid, side: Side, wanted: Mapping[str, float], step: float, progress: Callable[[int, Score], None] | None
) -> Refined:
    if not step > 0:
        raise OutOfRange("step", got=step, allowed="more than 0 mm", way_out='write --step "1/64 in" or "0.1 mm"')
    full = tuple(p for p in usual_positions(side) if abs(p) == 1.0)
    travel = wanted.get("travel", float(events(side, full, details=False).travel.mean()))
    free = (
        *(Free(name, step, max(LENGTH_REACH * travel, 4 * step)) for name in aid.lengths if name in side.names()),
        *(Free(name, ANGLE_STEP, ANGLE_REACH) for name in aid.angles if name in side.names()),
    )

    def told(count: int, score: Score, _side: Side) -> None:
        if progress is not None:
            progress(count, score)

    aims = Aims(
        wanted["cutoff"],
        wanted["lead"],
        travel_mm=travel,
        lead_counts_mm=aid.lead_counts_mm,
        lead_everywhere=aid.lead_everywhere,
    )
    return refine(side, free, aims, progress=told)


def _rows(side: Side, nodes: Mapping[str, Any], have: Mapping[str, float]) -> tuple[Proposed, ...]:
    angles = {size.name for size in gear(side.gear.gear).sizes if size.kind == "angle"}
    rows = []
    for name in (*side.gear.sizes, "lap", "exhaust_lap"):
        node = nodes.get(name)
        now = have.get(name, math.nan)
        angle = name in angles
        given = "" if node is None else written(node, lambda _: "")
        rows.append(Proposed(name, given, first_sample(side.size(name)), None if math.isnan(now) else now, angle))
    return tuple(rows)


def _events(side: Side) -> EngineEvents:
    from asmade.motion.valves.engine import Engine  # noqa: PLC0415

    return engine_events(Engine(side, side, "R", 0.5 * np.pi))
