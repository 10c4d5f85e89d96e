"""Setting out the valve gear at the bench: the steps in the trade's order, each with its amount and its check."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import gear
from asmade.motion.gears.walschaerts import return_pin_circle
from asmade.motion.valves.best import BestSetting
from asmade.motion.valves.engine import Side, first_sample
from asmade.motion.valves.events import events
from asmade.motion.valves.piston import Piston
from asmade.motion.valves.setting import spindle_turns

Array: TypeAlias = NDArray[np.float64]
What: TypeAlias = Literal["find dead centres", "adjust", "set spindle", "check link still", "check leads"]
Sense: TypeAlias = Literal["lengthen", "shorten", "more angle", "less angle", "valve forward", "valve back", ""]

_NOTHING_MM, _NOTHING_RAD = 0.005, 0.0005
"""Changes smaller than this are not worth a step: half a hundredth of a millimetre, two minutes of angle."""


@dataclass(frozen=True, slots=True)
class Measure:
    """Something to measure, what it is now and what it is to be (mm, or rad where the name says angle)."""

    name: str
    now: float
    to_be: float


@dataclass(frozen=True, slots=True)
class Step:
    """One step. ``amount`` (mm, or rad for an angle) is positive; ``sense`` tells the way.

    ``turns`` of the spindle where the pitch of its thread is known. ``measures`` are what to look at.
    """

    what: What
    part: str = ""
    dimension: str = ""
    amount: float = 0.0
    sense: Sense = ""
    how: str = ""
    turns: float | None = None
    measures: tuple[Measure, ...] = ()


@dataclass(frozen=True, slots=True)
class Stillness:
    """How far the valve moves at each dead centre while the reverser goes from full forward to full backward, mm."""

    front: float
    back: float


def stillness(side: Side) -> Stillness:
    """Movement of the valve through the reverser's range at the dead centres; nil in an ideal Walschaerts gear."""
    piston = Piston.of(side.gear)
    crank = [float(piston.front_dead_centre[0]), float(piston.back_dead_centre[0])]
    valve = gear(side.gear.gear).move(side.gear, crank, [1.0, -1.0]).required().place("valve")[:, :, 0]
    front, back = valve[0] - valve[1]
    return Stillness(float(front), float(back))


@dataclass(frozen=True, slots=True, eq=False)
class StillLink:
    """The changes that let the link stand still for the valve at both dead centres, and what they leave."""

    side: Side
    changes: dict[str, float]
    before: Stillness
    after: Stillness


def still_link(side: Side) -> StillLink:
    """Change the gear's own adjustables for it (Walschaerts: eccentric rod, return-crank angle) by Newton's steps.

    Refused for a gear without such adjustables: there the lead changes with the cut-off by its nature.
    """
    kind = gear(side.gear.gear)
    if not kind.still_by:
        raise OutOfRange(
            "link that does not move the valve at the dead centres",
            got=kind.title,
            allowed="gears in which the lead does not depend on the cut-off",
            way_out="set this gear for equal leads in the gear it mostly runs in",
        )
    before, now = stillness(side), side.gear
    for _ in range(12):
        piston = Piston.of(now)
        crank = [float(piston.front_dead_centre[0]), float(piston.back_dead_centre[0])]
        motion = kind.move(now, crank, [1.0, -1.0], rates_to=kind.still_by).required()
        valve = motion.place("valve")[:, :, 0]
        moved = valve[0] - valve[1]
        slopes = np.stack(
            [motion.rates["valve"][name][0, :, 0] - motion.rates["valve"][name][1, :, 0] for name in kind.still_by],
            axis=1,
        )
        step = np.linalg.solve(slopes, -moved)
        now = now.with_sizes(
            {name: first_sample(now[name]) + float(s) for name, s in zip(kind.still_by, step, strict=True)}
        )
        if np.abs(moved).max() < 1e-10:
            break
    after = Side(now, side.valve)
    changes = {name: first_sample(now[name]) - first_sample(side.gear[name]) for name in kind.still_by}
    return StillLink(after, changes, before, stillness(after))


def setting_out(before: Side, best: BestSetting, *, spindle_pitch_mm: float | None = None) -> tuple[Step, ...]:
    """Steps from the gear as it is to its best setting.

    Dead centres first; then whatever turns on the axle or the crank pin, then rods and links, the valve on its
    spindle last; then what to check. Order: common practice, no source.
    """
    kind = gear(before.gear.gear)
    sizes = {size.name: size for size in kind.sizes}
    piston = Piston.of(before.gear)
    steps = [
        Step(
            "find dead centres",
            measures=(
                Measure("angle of the front dead centre", *2 * (float(piston.front_dead_centre[0]),)),
                Measure("angle of the back dead centre", *2 * (float(piston.back_dead_centre[0]),)),
            ),
        )
    ]
    names = [name for name in best.changes if name != "mid"]
    for name in sorted(names, key=lambda name: (sizes[name].kind != "angle", list(sizes).index(name))):
        size, change = sizes[name], best.changes[name]
        if abs(change) < (_NOTHING_RAD if size.kind == "angle" else _NOTHING_MM):
            continue
        now, to_be = (first_sample(side.gear[name]) for side in (before, best.side))
        measures = [Measure(f"{name} (angle)" if size.kind == "angle" else name, now, to_be)]
        if name == "return_crank_angle":
            circles = (return_pin_circle(side.gear) for side in (before, best.side))
            measures.append(Measure("axle centre to return-crank pin", *circles))
        up: Sense = "more angle" if size.kind == "angle" else "lengthen"
        down: Sense = "less angle" if size.kind == "angle" else "shorten"
        steps.append(
            Step(
                "adjust",
                size.part,
                name,
                abs(change),
                up if change > 0 else down,
                size.adjust,
                measures=tuple(measures),
            )
        )
    move = -best.changes.get("mid", 0.0)  # the pin stands farther ahead over the same ports: the valve is farther back
    if abs(move) >= _NOTHING_MM:
        turns = None if spindle_pitch_mm is None else spindle_turns(abs(move), spindle_pitch_mm)
        steps.append(
            Step(
                "set spindle",
                "valve spindle",
                "mid",
                abs(move),
                "valve forward" if move > 0 else "valve back",
                turns=turns,
            )
        )
    return (*steps, *_checks(before, best.side))


def _checks(before: Side, after: Side) -> list[Step]:
    was, is_ = (events(side, (1.0,), details=False).lead[0, :, 0].tolist() for side in (before, after))
    leads = Step(
        "check leads",
        measures=tuple(
            Measure(f"{end} lead in full forward gear", *pair)
            for end, *pair in zip(("front", "back"), was, is_, strict=True)
        ),
    )
    if not gear(before.gear.gear).still_by:
        return [leads]
    moved, left = stillness(before), stillness(after)
    return [
        Step(
            "check link still",
            measures=(
                Measure(
                    "valve movement at the front dead centre, full forward to full backward", moved.front, left.front
                ),
                Measure("valve movement at the back dead centre, full forward to full backward", moved.back, left.back),
            ),
        ),
        leads,
    ]
