"""Findings on every section: least slack over the turn, where, which rods, worst case, chance of binding, shares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from asmade.measure.errors import OutOfRange
from asmade.motion.wheels.chance import Chance, chances_of_less
from asmade.motion.wheels.exact import solve_exact
from asmade.motion.wheels.geometry import turn_angles
from asmade.motion.wheels.sensitivity import TightRod, slack_slopes
from asmade.motion.wheels.slack import Boxes, one_section_left, slack_left
from asmade.motion.wheels.small_programme import NotSolved
from asmade.motion.wheels.worst import Worst, worst_case

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.spreads import Spreads

Verdict = Literal["holds", "close", "fails", "undecided"]

UNDECIDED_MM = 1e-3
"""A linear slack this near to the limit is not decided (docs/wheels.md has what linearising was measured to cost)."""

_EXACT_ROOM = 2e-6  # mm: the other rods' floor lies this much lower, so that there is an inside to search
_EXACT_SAME = 1e-5  # mm: a section this near to the joint slack is what holds it
_FINE = 21  # angles looked at again between the neighbours of the tightest one


@dataclass(frozen=True, slots=True)
class Tight:
    """Least slack of a section over the turn: how much, at which chassis angle, and the rods that hold it.

    linear_mm is the linear sum's; slack_mm is by true distances when ``exact``, else the same linear figure.
    """

    slack_mm: float
    at_rad: float
    rods: tuple[TightRod, ...]
    linear_mm: float
    exact: bool


@dataclass(frozen=True, slots=True, eq=False)
class Tightest:
    """The least slack of a section and its change with every dimension, in the order of ``chassis.names``."""

    tight: Tight
    slopes: Array


@dataclass(frozen=True, slots=True, eq=False)
class BoxesFinding:
    """What holds for one section with boxes blocked (trial turning) or free (running).

    chance: of less slack than wanted; binds: of less than none.
    slopes: change of the least slack with every dimension, in the order of ``chassis.names``.
    shares: cause and per cent of the spread, greatest first; empty when nothing has a spread.
    """

    boxes: Boxes
    verdict: Verdict
    tight: Tight
    worst: Worst
    chance: Chance
    binds: Chance
    slopes: Array
    shares: tuple[tuple[str, float], ...]
    deviation_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class SectionFinding:
    """One section between neighbouring coupled axles, both sides taken together as they bind together."""

    section: str
    blocked: BoxesFinding
    free: BoxesFinding


def find_sections(
    chassis: Chassis, spreads: Spreads, *, wanted_mm: float, samples: int, seed: int, angles: int = 360
) -> tuple[SectionFinding, ...]:
    """Findings for the first sample of ``chassis`` and its spreads.

    wanted_mm: each-way slack wanted in every section (0 for "just turns"). samples, seed: builds drawn for the chance.
    """
    if not np.isfinite(wanted_mm) or wanted_mm < 0:
        raise OutOfRange("wanted each-way slack", got=wanted_mm, allowed="0 mm or more")
    best = chassis.with_vector(chassis.vector()[:, :1])
    both: dict[Boxes, list[BoxesFinding]] = {"blocked": [], "free": []}
    for boxes, found in both.items():
        less, binds = chances_of_less(best, spreads, boxes, samples=samples, seed=seed, below_mm=(wanted_mm, 0.0))
        turn = turn_angles(best, angles)
        profile = slack_left(best, turn, boxes)[..., 0]
        for section in range(best.layout.sections):
            if section > best.layout.bodies[best.layout.body_of(section)].first:
                found.append(found[-1])  # one rod over three pins is as tight in all its sections
                continue
            found_at = _tightest(best, boxes, section, turn, profile[section])
            tight, slopes = found_at.tight, found_at.slopes
            worst = worst_case(best, spreads, boxes, section, turn)
            variances = spreads.variances(best, slopes)
            total = sum(size for _, size in variances)
            found.append(
                BoxesFinding(
                    boxes=boxes,
                    verdict=_verdict(tight, worst, wanted_mm),
                    tight=tight,
                    worst=worst,
                    chance=less.sections[section],
                    binds=binds.sections[section],
                    slopes=slopes,
                    shares=tuple((name, 100.0 * size / total) for name, size in variances),
                    deviation_mm=float(np.sqrt(total)),
                )
            )
    return tuple(
        SectionFinding(best.layout.section_name(number), blocked, free)
        for number, (blocked, free) in enumerate(zip(both["blocked"], both["free"], strict=True))
    )


def _verdict(tight: Tight, worst: Worst, wanted: float) -> Verdict:
    if not tight.exact and abs(tight.slack_mm - wanted) < UNDECIDED_MM:
        return "undecided"
    if tight.slack_mm < wanted:
        return "fails"
    return "holds" if worst.slack_mm >= wanted else "close"


def tightest(chassis: Chassis, boxes: Boxes, section: int, *, angles: int = 360) -> Tightest:
    """Where a section of the first sample has its least slack, and how that changes with every dimension.

    slopes are those of the linear sum at the tightest angle (envelope theorem): the row that a choice of sizes or an
    aim needs, exact until another angle or another rod takes over. The slack is by true distances where they settle.
    """
    best = chassis.with_vector(chassis.vector()[:, :1])
    turn = turn_angles(best, angles)
    return _tightest(best, boxes, section, turn, slack_left(best, turn, boxes)[section, :, 0])


def _tightest(chassis: Chassis, boxes: Boxes, section: int, turn: Array, profile: Array) -> Tightest:
    at = _first_least(profile)
    before, after = turn[at - 1] - (2 * np.pi if at == 0 else 0.0), turn[(at + 1) % turn.size]
    if at == turn.size - 1:
        after += 2 * np.pi
    near = np.concatenate([np.linspace(before, after, _FINE), turn[at : at + 1]])
    fine = one_section_left(chassis, near, boxes, section)[:, 0]
    best = _first_least(fine)
    angle = near[best : best + 1]
    slopes = slack_slopes(chassis, angle, boxes, section)
    linear = float(fine[best])
    exact = _exact(chassis, boxes, section, angle)
    return Tightest(
        Tight(
            slack_mm=linear if exact is None else exact,
            at_rad=float(np.mod(np.round(angle[0], 6), 2 * np.pi)),
            rods=slopes.tight[0],
            linear_mm=linear,
            exact=exact is not None,
        ),
        slopes.slope[0],
    )


def _first_least(profile: Array) -> int:
    """The first of the least, so that an even stretch is named by its beginning and not by rounding."""
    return int(np.flatnonzero(profile <= profile.min() + 1e-9)[0])


def _exact(chassis: Chassis, boxes: Boxes, section: int, angle: Array) -> float | None:
    """Slack by true distances near the tightest angle; none when that sum does not come to rest."""
    set_up = chassis.with_boxes(boxes)
    near = angle[0] + np.radians(np.array([-0.6, -0.3, -0.1, 0.0, 0.1, 0.3, 0.6]))
    try:
        if chassis.layout.decouples and boxes == "blocked":
            return float(solve_exact(set_up, near, section=section, floor=-1e3).slack.min())
        joint = solve_exact(set_up, near).slack
        if len(chassis.layout.bodies) == 1:
            return float(joint.min())
        own = solve_exact(set_up, near, section=section, floor=joint - _EXACT_ROOM, rounds=20).slack
        return float(np.where(own - joint < _EXACT_SAME, joint, own).min())
    except NotSolved:
        return None
