"""valves --propose: a whole Walschaerts gear from what is wanted and the sizes that the book already has."""

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
from asmade.motion.valves.engine import Side, first_sample
from asmade.motion.valves.proposal import Line, Wish, propose
from asmade.motion.valves.refine import Aims, Free, Refined, Score, refine
from asmade.motion.valves.report import EngineEvents, engine_events
from asmade.reckon.requirement import written
from asmade.reckon.values import compute
from asmade.verbs.store import Path_, read_build

FROM_BOOK: Final[Mapping[str, str]] = {
    "crank_radius": "crank_radius", "connecting_rod": "connecting_rod", "port": "port", "link_ahead": "link_x",
    "lever_ahead": "spindle_x", "spindle_above": "spindle_y", "foot_drop": "foot_drop", "drop_ahead": "drop_ahead",
    "cylinder_line_y": "cylinder_line_y",
}  # fmt: skip
"""Wishes that the book answers where it has the size: by the gear's dimension."""
NEEDED: Final = ("crank_radius", "connecting_rod", "port", "link_ahead", "lever_ahead", "spindle_above", "foot_drop",
                 "drop_ahead", "cutoff", "lead")  # fmt: skip
OTHERS: Final = ("travel", "lap", "cylinder_line_y", "exhaust_lap")
REFINED: Final = ("return_crank", "eccentric_rod", "foot_drop", "foot_back", "radius_rod", "slot_radius", "lever_top",
                  "lever_bottom", "union_link", "drop_below", "hanger", "link_y", "lap")  # fmt: skip


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


def propose_gear(
    path: Path_,
    wishes: Mapping[str, str],
    *,
    step: str = "",
    gear_name: str = "",
    progress: Callable[[int, Score], None] | None = None,
) -> ProposeResult:
    """Propose a gear; ``wishes`` as text (``cutoff``: ``75 %``, lengths with their unit or in the drawing's).

    What is not wished for is taken from the book where it is known; what is missing is named. With a ``step``
    (``1/64 in``, ``0.1 mm``) the lengths are then refined in such steps; Ctrl-C keeps the best so far. Nothing is
    written to the book.
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
    if bound.gear != "walschaerts":
        raise Refused(
            "proposal", got=bound.gear, reason="only a Walschaerts gear can be proposed",
            way_out="lay out other gears on the drawing board and look at them with `asmade valves`",
        )  # fmt: skip
    have = {name: float(value) for name, value in bound.values(values.of).items()}
    unit = build.design.drawing_unit
    wanted: dict[str, float] = {}
    for name, size in FROM_BOOK.items():
        if not math.isnan(have.get(size, math.nan)):
            wanted[name] = have[size]
    wanted |= {name: _amount(name, text, unit) for name, text in wishes.items()}
    missing = [name for name in NEEDED if name not in wanted]
    if missing or ("travel" not in wanted and "lap" not in wanted):
        lacking = [*missing, *([] if {"travel", "lap"} & set(wanted) else ["travel or lap"])]
        raise Refused(
            "proposal", got=", ".join(wishes) or "no wish", reason=f"it needs {', '.join(lacking)} as well",
            way_out='give each, such as --wish "cutoff=75 %" --wish "lead=0.25 mm" --wish "travel=12 mm"',
        )  # fmt: skip
    wish = Wish(admission=bound.admission, **wanted)
    found = propose(wish)
    side, refined = found.side, None
    if step:
        refined = _refined(side, wish, _amount("step", step, unit), progress)
        side = refined.side
    return ProposeResult(
        _rows(side, bound.node, have), found.working, refined, _events(side), dict(side.gear.choices)
    )  # fmt: skip


def _amount(name: str, text: str, unit: str) -> float:
    known = (*NEEDED, *OTHERS, "step")
    if name not in known:
        raise Unknown("wish", got=name, near=near(name, known), way_out=f"one of: {', '.join((*NEEDED, *OTHERS))}")
    if name == "cutoff":
        try:
            share = float(text.strip().removesuffix("%")) / 100.0
        except ValueError:
            share = math.nan
        if not 0 < share < 1:
            raise OutOfRange("wish cutoff", got=text, allowed="0 to 100 per cent", way_out='write "cutoff=75 %"')
        return share
    exact = read_limit(text, unit=unit, thing=f"wish {name}")
    if exact is None:
        raise Refused(f"wish {name}", got=text, reason="it is empty", way_out=f'write "{name}=12 mm"')
    return float(exact)


def _refined(side: Side, wish: Wish, step: float, progress: Callable[[int, Score], None] | None) -> Refined:
    if not step > 0:
        raise OutOfRange("step", got=step, allowed="more than 0 mm", way_out='write --step "1/64 in" or "0.1 mm"')
    free = tuple(Free(name, step, max(1.5, 4 * step)) for name in REFINED)

    def told(count: int, score: Score, _side: Side) -> None:
        if progress is not None:
            progress(count, score)

    return refine(side, free, Aims(wish.cutoff, wish.lead), progress=told)


def _rows(side: Side, nodes: Mapping[str, Any], have: Mapping[str, float]) -> tuple[Proposed, ...]:
    angles = {"return_crank_angle", "cylinder_incline", "spindle_incline"}
    rows = []
    for name in (*side.gear.sizes, "lap", "exhaust_lap"):
        node = nodes.get(name)
        now = have.get(name, math.nan)
        angle = name in angles or name.startswith("lift_angle")
        given = "" if node is None else written(node, lambda _: "")
        rows.append(Proposed(name, given, first_sample(side.size(name)), None if math.isnan(now) else now, angle))
    return tuple(rows)


def _events(side: Side) -> EngineEvents:
    from asmade.motion.valves.engine import Engine  # noqa: PLC0415

    return engine_events(Engine(side, side, "R", 0.5 * np.pi))
