"""Trial turning: which rods are on, and what a chassis would show at the tight places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from asmade.measure.errors import OutOfRange, Refused
from asmade.motion.wheels.geometry import leverage, misses, pin_places
from asmade.motion.wheels.layout import SIDES
from asmade.motion.wheels.slack import Boxes, joint_slack

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Array, Chassis

Sides = Literal["L", "R", "both"]
Says = Literal["too long", "too short"]

_HELD = 0.15  # leverage of the other side from which on a rod is pressed against its pins
_OFF = 50.0  # mm of clearance: a rod that is not on


@dataclass(frozen=True, slots=True)
class Fitted:
    """Which rods are on: sections (0 foremost), which sides, and whether the boxes are blocked."""

    sections: tuple[int, ...]
    sides: Sides
    boxes: Boxes


@dataclass(frozen=True, slots=True)
class TightArc:
    """Tight from one chassis angle to another in forward running (rad); start > end goes through 0."""

    start: float
    end: float

    def __post_init__(self) -> None:
        """Refuse what is no angle."""
        for angle in (self.start, self.end):
            if not np.isfinite(angle):
                raise OutOfRange("angle of a tight place", got=angle, allowed="finite numbers")

    @property
    def middle(self) -> float:
        """Middle of the arc."""
        return float(self.start + 0.5 * np.mod(self.end - self.start, 2 * np.pi))

    def holds(self, angles: Array) -> npt.NDArray[np.bool_]:
        """Which of the angles lie in the arc (bool)."""
        return np.asarray(np.mod(angles - self.start, 2 * np.pi) <= np.mod(self.end - self.start, 2 * np.pi))


@dataclass(frozen=True, slots=True)
class Look:
    """At one chassis angle: whether a rod is too long or too short for its pins.

    Seen with the rods on by where the pins bear in their bushes (the inner sides: too long, the outer: too short), or
    by offering it up. Worth doing at every tight place and half a turn later.
    """

    at: float
    section: int
    side: Literal["L", "R"]
    says: Says


@dataclass(frozen=True, slots=True)
class Trial:
    """One trial: what was on, which way it was turned, where it was tight (empty: nowhere), what was looked at."""

    fitted: Fitted
    tight: tuple[TightArc, ...]
    looks: tuple[Look, ...] = ()
    direction: Literal["forward", "backward", "both"] = "both"


def with_rods(chassis: Chassis, fitted: Fitted) -> Chassis:
    """The chassis with only some rods on.

    Raises: Refused for no rod, a section that is not there, or a jointed rod without the rod that carries it.
    """
    layout = chassis.layout
    if not fitted.sections or not set(fitted.sections) <= set(range(layout.sections)):
        raise Refused("sections on trial", got=fitted.sections, reason=f"there are sections 0 to {layout.sections - 1}")
    on = {layout.body_of(section) for section in fitted.sections}
    for knuckle in layout.knuckles:
        if knuckle.carried in on and knuckle.carrier not in on:
            raise Refused(
                "sections on trial",
                got=tuple(layout.section_name(section) for section in fitted.sections),
                reason=f"rod {layout.body_name(knuckle.carried)} hangs on rod {layout.body_name(knuckle.carrier)}",
                way_out="put the carrying rod on first",
            )
    off_sides = {"L": [1], "R": [0], "both": []}[fitted.sides]
    bore, joint = chassis.bore.copy(), chassis.knuckle_clearance.copy()
    for eye, (body, _) in enumerate(layout.eyes):
        if body not in on:
            bore[eye] += _OFF
    for number, knuckle in enumerate(layout.knuckles):
        if knuckle.carried not in on:
            joint[number] += _OFF
    bore[:, off_sides] += _OFF
    joint[:, off_sides] += _OFF
    return chassis.replace_unchecked(bore=bore, knuckle_clearance=joint)


def trial_slack(chassis: Chassis, fitted: Fitted, angles: Array) -> Array:
    """Slack of the rods that are on (K, n)."""
    return joint_slack(with_rods(chassis, fitted), angles, fitted.boxes)


def section_says(chassis: Chassis, fitted: Fitted, angles: Array) -> Array:
    """Which way each rod is out after the wheels took their best angle: +1 too short, -1 too long (S, 2, K, n).

    At the best angle both sides are held alike, the left with the sign of mL kR - mR kL times that of kR, the right
    with the opposite of it times kL. With one side on, that side shows its own miss.
    """
    layout = chassis.layout
    seen = misses(chassis, pin_places(chassis, angles))
    lever = leverage(chassis, angles).real
    out = np.zeros((layout.sections, 2, angles.size, chassis.samples))
    for section in range(layout.sections):
        body = layout.body_of(section)
        ahead = section - layout.bodies[body].first
        pair = seen.rods[body][ahead, ahead + 1]
        if fitted.sides == "both":
            lean = np.sign(pair[0] * lever[1] - pair[1] * lever[0])
            out[section, 0] = lean * np.sign(lever[1])
            out[section, 1] = -lean * np.sign(lever[0])
        else:
            side = 0 if fitted.sides == "L" else 1
            out[section, side] = np.sign(pair[side])
    return out


def tight_arcs(angles: Array, tight: npt.NDArray[np.bool_]) -> tuple[TightArc, ...]:
    """Arcs from a row of evenly spaced angles over a turn, each marked tight or not."""
    if not tight.any():
        return ()
    half = float(angles[1] - angles[0]) / 2
    if tight.all():
        return (TightArc(0.0, 2 * np.pi - 1e-9),)
    starts = np.flatnonzero(tight & ~np.roll(tight, 1))
    ends = np.flatnonzero(tight & ~np.roll(tight, -1))
    if ends[0] < starts[0]:
        ends = np.roll(ends, -1)
    return tuple(
        TightArc(float(angles[start]) - half, float(angles[end]) + half)
        for start, end in zip(starts, ends, strict=True)
    )


def observe(chassis: Chassis, fitted: Fitted, *, look: bool, count: int = 360) -> Trial:
    """What the first sample would show on trial: where it is tight and, with ``look``, which way its rods are out.

    Looked at are the rods of the tightest section at the middle of each tight place and half a turn later, as far as
    they are held there: near its own dead centre a side cannot give way, and the other side then tells nothing.
    """
    best = chassis.with_vector(chassis.vector()[:, :1])
    angles = np.linspace(0, 2 * np.pi, count, endpoint=False)
    arcs = tight_arcs(angles, trial_slack(best, fitted, angles)[:, 0] < 0)
    looks: list[Look] = []
    if look and arcs:
        here = np.array([arc.middle for arc in arcs])
        section = _tightest_section(best, fitted, here)
        places = np.unique(np.round(np.mod(np.concatenate([here, here + np.pi]), 2 * np.pi), 6))
        says = section_says(best, fitted, places)[section, :, :, 0]
        lever = np.abs(leverage(best, places).real[:, :, 0])
        for number, at in enumerate(places):
            for side, name in enumerate(SIDES):
                held = lever[1 - side, number] > _HELD if fitted.sides == "both" else fitted.sides == name
                if held and says[side, number] != 0:
                    word: Says = "too short" if says[side, number] > 0 else "too long"
                    looks.append(Look(float(at), section, "L" if side == 0 else "R", word))
    return Trial(fitted, arcs, tuple(looks))


def _tightest_section(chassis: Chassis, fitted: Fitted, angles: Array) -> int:
    """The section whose rods miss most; with separate rods the one that binds."""
    if chassis.layout.decouples:
        alone = [
            float(trial_slack(chassis, Fitted((section,), fitted.sides, fitted.boxes), angles).min())
            for section in fitted.sections
        ]
        return fitted.sections[int(np.argmin(alone))]
    seen = misses(chassis, pin_places(chassis, angles))
    layout = chassis.layout
    worst = []
    for section in fitted.sections:
        body = layout.body_of(section)
        ahead = section - layout.bodies[body].first
        worst.append(float(np.abs(seen.rods[body][ahead, ahead + 1]).max()))
    return fitted.sections[int(np.argmax(worst))]
