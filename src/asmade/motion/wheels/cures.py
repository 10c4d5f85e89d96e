"""Cause and cure: single corrections that free a chassis, how much of each, what it costs and what it spoils.

In the linear sum the least slack over a turn is a concave function of any one dimension (each ring of rods gives a
straight line, the least of straight lines counts). So for each dimension there is one best value, and the smallest
correction that reaches a wanted slack lies on the way to it: both are found for all dimensions at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from asmade.measure.errors import OutOfRange
from asmade.motion.wheels.chassis import index_of
from asmade.motion.wheels.geometry import turn_angles
from asmade.motion.wheels.layout import SIDES
from asmade.motion.wheels.measuring import minutes, packing_for_offset
from asmade.motion.wheels.sensitivity import slack_slopes
from asmade.motion.wheels.slack import Boxes, joint_slack, slack_left

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis

Kind = Literal["ease bush", "offset bush", "bore rod", "requarter", "move horn", "crank radius"]

EFFORT: dict[Kind, int] = {
    "ease bush": 1,
    "offset bush": 2,
    "bore rod": 3,
    "move horn": 4,
    "crank radius": 5,
    "requarter": 5,
}
"""1 (reamed in minutes) to 5 (wheels off the axle); common practice, no source."""

SPOILS: dict[Kind, str] = {
    "ease bush": "the rod knocks sooner and the wheels may stand further from each other; it cures no cause",
    "offset bush": "nothing while the bush is held from turning; the next bush must be made with the same offset",
    "bore rod": "the old bushes' housings or the rod; the other side's rod is no longer its twin",
    "move horn": "the neighbouring section on that side, and the axle's squareness to the cylinders",
    "crank radius": "a new pin with an eccentric seat, or a new hole; piston stroke on the driven axle",
    "requarter": "the joint of wheel and axle, which must be broken and made again; a bonded wheel may be lost",
}

_STEPS = 25  # places looked at along each correction, twice
_STEPS_RIGID = 9  # for rods over three pins, whose every angle costs a programme
_ANGLES = 72
_ANGLES_RIGID = 8
_LEAST_GAIN = 1e-4  # mm: what gives less is no cure
_REACH_MM = 0.6
_REACH_RAD = np.radians(1.5)
_HIDES = 0.5  # share of the lost slack a true cause must give back before easing is said to hide it


@dataclass(frozen=True, slots=True)
class Cure:
    """One correction.

    kind, what: what is done to which piece; amount: mm (rad for a quarter), signed as the dimension is;
    new_value: what the dimension becomes (of an offset, and of easing every bush: the amount again);
    says: the instruction in words.
    slack_before, slack_after: least each-way slack over the turn of the whole chassis; best_possible: the most this
    dimension alone could give; frees: whether the wanted slack is reached.
    others: least slack after it of each section. effort: 1 to 5; spoils: in words; hides: the cause it would hide.
    """

    kind: Kind
    what: str
    amount: float
    new_value: float
    says: str
    slack_before: float
    slack_after: float
    best_possible: float
    frees: bool
    others: tuple[tuple[str, float], ...]
    effort: int
    spoils: str
    hides: str


@dataclass(frozen=True, slots=True)
class _Candidate:
    kind: Kind
    what: str
    rows: tuple[tuple[int, float], ...]  # which dimensions move, and by how much per unit of the amount
    row: int  # the dimension that is quoted
    least: float
    most: float


def _candidates(chassis: Chassis) -> list[_Candidate]:
    layout = chassis.layout
    found: list[_Candidate] = []

    def row(field: str, *where: int) -> int:
        return index_of(layout, field, *where)

    for eye, (body, axle) in enumerate(layout.eyes):
        covers = layout.bodies[body]
        for side in (0, 1):
            name = f"bush of rod {layout.body_name(body)}{SIDES[side]} on pin {axle + 1}{SIDES[side]}"
            bore = row("bore", eye, side)
            found.append(_Candidate("ease bush", name, ((bore, 1.0),), bore, 0.0, _REACH_MM))
            # the bush hole moved forward lengthens the section behind it and shortens the one ahead
            moved: list[tuple[int, float]] = []
            if axle - 1 >= covers.first:
                moved.append((row("centres", axle - 1, side), -1.0))
            if axle <= covers.last:
                moved.append((row("centres", axle, side), 1.0))
            moved += [
                (row("knuckle_reach", joint, side), -1.0 if knuckle.ahead else 1.0)
                for joint, knuckle in enumerate(layout.knuckles)
                if knuckle.carrier == body and knuckle.axle == axle
            ]
            found.append(_Candidate("offset bush", name, tuple(moved), moved[0][0], -_REACH_MM, _REACH_MM))
    every = tuple((row("bore", eye, side), 1.0) for eye in range(len(layout.eyes)) for side in (0, 1))
    found.append(_Candidate("ease bush", "every bush", every, every[0][0], 0.0, _REACH_MM))
    for section in range(layout.sections):
        for side in (0, 1):
            at = row("centres", section, side)
            name = f"rod {layout.section_name(section)}{SIDES[side]}"
            found.append(_Candidate("bore rod", name, ((at, 1.0),), at, -_REACH_MM, _REACH_MM))
    for axle in range(layout.axles):
        at = row("quarter", axle)
        found.append(_Candidate("requarter", f"axle {axle + 1}", ((at, 1.0),), at, -_REACH_RAD, _REACH_RAD))
        for side in (0, 1):
            at = row("axle_x", axle, side)
            name = f"horn {axle + 1}{SIDES[side]}"
            found.append(_Candidate("move horn", name, ((at, 1.0),), at, -_REACH_MM, _REACH_MM))
            at = row("crank_radius", axle, side)
            name = f"wheel {axle + 1}{SIDES[side]}"
            found.append(_Candidate("crank radius", name, ((at, 1.0),), at, -_REACH_MM, _REACH_MM))
    return found


def find_cures(chassis: Chassis, *, wanted_mm: float, boxes: Boxes) -> tuple[Cure, ...]:
    """Single corrections of the first sample that give ``wanted_mm`` of each-way slack all round, best first.

    First those that free it, by effort and then by how little must be changed; then those that only help, by how
    much they give. Corrections that change nothing are left out. Nothing to cure gives an empty row.
    Corrections are looked for up to 0.6 mm, and 1.5 degrees of quarter. Linear: prove the one chosen with
    ``find_sections``.
    """
    if not np.isfinite(wanted_mm) or wanted_mm < 0:
        raise OutOfRange("wanted each-way slack", got=wanted_mm, allowed="0 mm or more")
    best = chassis.with_vector(chassis.vector()[:, :1])
    rigid = best.layout.has_rigid
    turn = turn_angles(best, _ANGLES_RIGID if rigid else _ANGLES)
    steps = _STEPS_RIGID if rigid else _STEPS
    here = slack_left(best, turn, boxes)[..., 0]
    before = float(here.min())
    if before >= wanted_mm:
        return ()
    section, angle = np.unravel_index(int(here.argmin()), here.shape)
    slopes = slack_slopes(best, turn[angle : angle + 1], boxes, int(section)).slope[0]
    candidates, low, high = _helpful(best, slopes)
    if not candidates:
        return ()
    slack = _Evaluate(best, candidates, turn, boxes)
    # the best value of each dimension: bracket the top of a concave function, more closely each time
    pick = np.arange(low.size)
    left, right = low.copy(), high.copy()
    for _ in range(2):
        places = left + np.linspace(0, 1, steps)[:, None] * (right - left)
        values = slack(places)
        top = values.argmax(axis=0)
        left, right = places[np.maximum(top - 1, 0), pick], places[np.minimum(top + 1, steps - 1), pick]
    summit, peak = places[top, pick], values[top, pick]
    # the smallest correction towards it that reaches what is wanted: slack only grows on the way
    near, far = np.zeros_like(summit), summit.copy()
    reaches = peak >= wanted_mm
    for _ in range(2):
        places = near + np.linspace(0, 1, steps)[:, None] * (far - near)
        first = np.argmax(slack(places) >= wanted_mm, axis=0)
        near, far = places[np.maximum(first - 1, 0), pick], np.where(reaches, places[first, pick], far)
    amount = np.where(reaches, far, summit)
    after = slack.sections(amount)
    return _ranked(best, candidates, amount, after, peak, reaches, before, wanted_mm)


def _helpful(chassis: Chassis, slopes: Array) -> tuple[list[_Candidate], Array, Array]:
    """The corrections that can help, and how far each may go.

    The slack lies below its tangent at the tightest place (it is concave), so a correction without a slope there
    cannot help, and one with a slope only in that direction.
    """
    kept, low, high = [], [], []
    for candidate in _candidates(chassis):
        slope = sum(per_unit * slopes[row] for row, per_unit in candidate.rows)
        least, most = (0.0, candidate.most) if slope > 0 else (candidate.least, 0.0)
        if abs(slope) * (most - least) > _LEAST_GAIN:
            kept.append(candidate)
            low.append(least)
            high.append(most)
    return kept, np.array(low), np.array(high)


class _Evaluate:
    """Least slack of the whole chassis for many values of every correction at once."""

    def __init__(self, chassis: Chassis, candidates: list[_Candidate], turn: Array, boxes: Boxes) -> None:
        self.chassis, self.turn, self.boxes = chassis, turn, boxes
        self.vector = chassis.vector()[:, 0]
        self.moves = np.zeros((self.vector.size, len(candidates)))
        for number, candidate in enumerate(candidates):
            for row, per_unit in candidate.rows:
                self.moves[row, number] = per_unit

    def _built(self, amounts: Array) -> Chassis:
        many = self.vector[:, None, None] + self.moves[:, None, :] * amounts
        return self.chassis.with_vector(many.reshape(self.vector.size, -1))

    def __call__(self, amounts: Array) -> Array:
        """(steps, candidates) amounts to least slack."""
        least = joint_slack(self._built(amounts), self.turn, self.boxes).min(axis=0)
        return np.asarray(least.reshape(amounts.shape))

    def sections(self, amount: Array) -> Array:
        """(candidates) amounts to the least slack of every section (S, candidates)."""
        return np.asarray(slack_left(self._built(amount[None, :]), self.turn, self.boxes).min(axis=1))


def _ranked(
    chassis: Chassis,
    candidates: list[_Candidate],
    amount: Array,
    after: Array,
    peak: Array,
    reaches: Array,
    before: float,
    wanted: float,
) -> tuple[Cure, ...]:
    layout = chassis.layout
    vector = chassis.vector()[:, 0]
    lost = wanted - before
    whole = after.min(axis=0)
    # a quarter that gives back most of what is lost is a cause; easing a bush instead would hide it
    hidden = [
        number
        for number, candidate in enumerate(candidates)
        if candidate.kind == "requarter" and peak[number] - before > _HIDES * lost
    ]
    cause = max(hidden, key=lambda number: float(peak[number]), default=None)
    cures = []
    for number, candidate in enumerate(candidates):
        if whole[number] - before < _LEAST_GAIN:
            continue
        value = float(vector[candidate.row])
        if candidate.kind == "offset bush" or len(candidate.rows) > 1:
            new_value = float(amount[number])
        else:
            new_value = value + float(amount[number])
        hides = ""
        if candidate.kind == "ease bush" and cause is not None:
            hides = (
                f"{candidates[cause].what} is not quartered as the others: about "
                f"{abs(minutes(float(amount[cause]))):.0f} minutes; easing bushes only hides it"
            )
        cures.append(
            Cure(
                kind=candidate.kind,
                what=candidate.what,
                amount=float(amount[number]),
                new_value=new_value,
                says=_says(chassis, candidate, float(amount[number]), new_value),
                slack_before=before,
                slack_after=float(whole[number]),
                best_possible=float(peak[number]),
                frees=bool(reaches[number]),
                others=tuple((layout.section_name(s), float(after[s, number])) for s in range(layout.sections)),
                effort=EFFORT[candidate.kind],
                spoils=SPOILS[candidate.kind],
                hides=hides,
            )
        )
    cures.sort(
        key=lambda cure: (not cure.frees, cure.effort if cure.frees else -cure.slack_after, _size(chassis, cure))
    )
    return tuple(cures)


def _size(chassis: Chassis, cure: Cure) -> float:
    """How much is changed, as mm at the crank pin."""
    return abs(cure.amount) * (float(chassis.crank_radius[..., 0].mean()) if cure.kind == "requarter" else 1.0)


def _says(chassis: Chassis, candidate: _Candidate, amount: float, new_value: float) -> str:
    forward = "forward" if amount > 0 else "back"
    if candidate.kind == "ease bush":
        if len(candidate.rows) > 1:
            return f"ease {candidate.what} by {amount:.3f} mm"
        return f"ease the {candidate.what} by {amount:.3f} mm to {new_value:.3f} mm"
    if candidate.kind == "offset bush":
        towards = "front" if amount > 0 else "back"
        packing = packing_for_offset(abs(amount))
        return (
            f"a {candidate.what} bored {abs(amount):.3f} mm out of centre, towards the {towards} "
            f"(packing of {packing:.3f} mm under one jaw of a three-jaw chuck)"
        )
    if candidate.kind == "bore rod":
        return f"bore {candidate.what} at {new_value:.3f} mm centres ({amount:+.3f} mm)"
    if candidate.kind == "move horn":
        return f"move {candidate.what} {abs(amount):.3f} mm {forward}"
    if candidate.kind == "crank radius":
        return f"crank pin of {candidate.what} to a radius of {new_value:.3f} mm ({amount:+.3f} mm)"
    radius = float(chassis.crank_radius[..., 0].mean())
    turned = "more" if amount > 0 else "less"
    return (
        f"requarter {candidate.what} by {abs(minutes(amount)):.0f} minutes {turned}: "
        f"{abs(amount) * radius:.3f} mm at a dial indicator on the crank pin"
    )
