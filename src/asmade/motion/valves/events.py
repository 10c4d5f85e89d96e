"""Valve events of one side: lead, admission, cut-off, release, compression, openings, travel, slip, swing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import gear
from asmade.motion.gears.kind import Figure
from asmade.motion.linkage import CannotMeet, Links, Motion
from asmade.motion.valves.curve import Curve, above_zero, extremes
from asmade.motion.valves.engine import Side, Valve, as_samples
from asmade.motion.valves.piston import Piston

Array: TypeAlias = NDArray[np.float64]

POSITIONS: tuple[float, ...] = (1.0, 0.75, 0.5, 0.25, 0.0, -0.25, -0.5, -0.75, -1.0)
"""Reverser positions looked at where none are named."""

_DETAILS = ("valve", "die", "swing")
_FIRST_SAMPLES = 96
_MOST_SAMPLES = 1536
_CURVE_ERROR_MM = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Happening:
    """When something happens: arrays of shape (positions, ends, samples).

    ``crank_rad``: from the dead centre of that end in the direction of running. ``cycle``: 0..1 the part done of
    the working stroke, 1..2 one plus the part done of the return stroke.
    """

    crank_rad: Array
    cycle: Array

    @property
    def per_cent(self) -> Array:
        """Per cent done of the stroke (working or return) in which it happens."""
        return np.asarray(100.0 * (self.cycle - (self.cycle >= 1.0)))


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """Least and greatest value over a turn; arrays of shape (positions, samples)."""

    least: Array
    greatest: Array

    @property
    def whole(self) -> Array:
        """From the least to the greatest."""
        return np.asarray(self.greatest - self.least)

    @property
    def farthest(self) -> Array:
        """The greater distance from zero of the two."""
        return np.maximum(np.abs(self.least), np.abs(self.greatest))


@dataclass(frozen=True, slots=True, eq=False)
class Events:
    """All events of one side; arrays of shape (positions, ends, samples) with the ends front, back, unless told.

    ``opening`` is how far the valve's edge goes past the port's edge (negative: it never does), at the crank angle
    ``opening_at`` from x; ``port_opening`` is not more than the port, ``past_port`` what goes beyond it.
    Admission has a negative crank angle where the port opens before the dead centre. An end that never opens holds
    NaN in its events and False in ``opens`` (``exhausts``, to exhaust); positions at which the gear does not
    assemble likewise, and False in ``assembled`` (positions, samples). ``faults`` names the links.
    ``curve_error``: what the valve's curve may be out by between its samples, mm.
    """

    positions: Array
    lead: Array
    admission: Happening
    cutoff: Happening
    release: Happening
    compression: Happening
    opening: Array
    opening_at: Array
    port_opening: Array
    past_port: Array
    exhaust_opening: Array
    opens: NDArray[np.bool_]
    cuts_off: NDArray[np.bool_]
    exhausts: NDArray[np.bool_]
    stretches: NDArray[np.int64]
    travel: Array
    die: Reach | None
    link_swing: Reach | None
    joints: Mapping[Links, Reach]
    assembled: NDArray[np.bool_]
    faults: tuple[CannotMeet, ...]
    curve_error: float


def usual_positions(side: Side, positions: tuple[float, ...] = POSITIONS) -> tuple[float, ...]:
    """These reverser positions, or for a gear that has only a few (a slip eccentric) those it has."""
    return gear(side.gear.gear).positions(side.gear.choices) or positions


def events(side: Side, positions: tuple[float, ...] | Array | None = None, *, details: bool = True) -> Events:
    """Events at reverser positions (+1 full forward to -1 full backward), exact between samples of the motion.

    Running is forward at positions of 0 and more, backward below. ``details`` adds die slip, link swing and the
    angles between links. Sources: geometry of the gear; conventions: crank angle of each end from its own dead
    centre; cut-off and release in the working stroke, compression and admission in the return stroke.
    """
    reverser = np.asarray(usual_positions(side) if positions is None else positions, dtype=np.float64).reshape(-1)
    if not reverser.size:
        raise OutOfRange("reverser positions", got="none", allowed="at least one, +1 to -1")
    motion, curve = _valve_curve(side, reverser, details)
    backward = reverser < 0
    assembled = np.asarray(motion.assembled.all(axis=1))

    run = curve.reversed(np.broadcast_to(backward[:, None], assembled.shape))
    steam, exhaust = _openings(side.valve, run)
    admit, exit_ = above_zero(steam), above_zero(exhaust)
    clock = _Clock(Piston.of(side.gear), np.where(backward, -1.0, 1.0)[:, None, None])
    here = clock.here
    lead = steam.at(np.broadcast_to(here, np.broadcast_shapes(here.shape, admit.opens.shape))[..., None])[..., 0]
    admission = (admit.opens - here + np.pi) % (2 * np.pi) - np.pi
    release = (exit_.opens - here) % (2 * np.pi)
    laps, ports = (_two_ends(pair) for pair in (side.valve.laps(), side.valve.ports()))
    travel = (admit.greatest + laps).sum(axis=1)
    known = np.where(assembled, 1.0, np.nan)[:, None, :]
    return Events(
        positions=reverser,
        lead=lead * known,
        admission=clock.happening(admission * known),
        cutoff=clock.happening((admission + (admit.closes - admit.opens)) * known),
        release=clock.happening(release * known),
        compression=clock.happening((release + (exit_.closes - exit_.opens)) * known),
        opening=admit.greatest * known,
        opening_at=clock.sense * admit.greatest_at * known,
        port_opening=np.clip(admit.greatest, 0.0, ports) * known,
        past_port=np.maximum(admit.greatest - ports, 0.0) * known,
        exhaust_opening=exit_.greatest * known,
        opens=admit.ever & assembled[:, None, :],
        cuts_off=admit.ends,
        exhausts=exit_.ever & assembled[:, None, :],
        stretches=admit.stretches,
        travel=travel * known[:, 0],
        die=_reach(_along_slot(motion, side), assembled) if details else None,
        link_swing=_reach(_swing(motion), assembled) if details else None,
        joints=_joint_ranges(motion),
        assembled=assembled,
        faults=motion.faults,
        curve_error=curve.tail,
    )


def valve_motion(side: Side, crank_rad: Array, position: float) -> Array:
    """Valve displacement from the middle of its ports (mm, forward positive) at crank angles from x, sample 0."""
    motion = gear(side.gear.gear).move(side.gear, crank_rad, position).required()
    return np.asarray(motion.place("valve")[0, :, 0] - as_samples(side.valve.mid)[0][0])


def _valve_curve(side: Side, reverser: Array, details: bool) -> tuple[Motion, Curve]:
    """Motion on as many evenly spaced angles as its harmonics need, and the valve's curve (positions, samples)."""
    kind = gear(side.gear.gear)
    count = _FIRST_SAMPLES
    while True:
        crank = np.arange(count) * (2 * np.pi / count)
        motion = kind.move(side.gear, crank, reverser, joints=details, keep=_DETAILS if details else _DETAILS[:1])
        place = motion.place("valve")
        if motion.faults:
            place = np.where(motion.assembled.all(axis=1, keepdims=True), place, 0.0)
        curve = Curve.through(np.moveaxis(place, 1, -1))
        if curve.tail <= _CURVE_ERROR_MM or count >= _MOST_SAMPLES:
            return motion, curve
        count *= 2


@dataclass(frozen=True, slots=True, eq=False)
class _Clock:
    """Crank angles from each end's dead centre and the part of the stroke done; shapes (positions, ends, samples)."""

    piston: Piston
    sense: Array

    @property
    def here(self) -> Array:
        """Dead centre of each end, measured in the direction of running."""
        return np.asarray(self.sense * np.stack([self.piston.front_dead_centre, self.piston.back_dead_centre]))

    def happening(self, angle: Array) -> Happening:
        here = self.here
        half = (here[:, ::-1] - here) % (2 * np.pi)
        done = self.piston.from_front(self.sense * (here + angle)) / self.piston.stroke
        done = np.where(np.array([True, False])[:, None], done, 1.0 - done)
        return Happening(angle, np.where(angle % (2 * np.pi) < half, done, 2.0 - done))


def _two_ends(pair: tuple[Figure, Figure]) -> Array:
    """Front and back, shape (2, samples)."""
    return np.stack(np.broadcast_arrays(*as_samples(*pair)))


def _openings(valve: Valve, run: Curve) -> tuple[Curve, Curve]:
    """How far the steam and the exhaust edge are past the port's edge at both ends: (positions, ends, samples)."""
    both = Curve(np.stack([run.coefficients, run.coefficients], axis=1), run.tail)
    sense = np.array(valve.opening_senses())[:, None]
    mid = as_samples(valve.mid)[0]
    turned = Curve(both.coefficients * sense[..., None], run.tail)
    return (
        turned.scaled(1.0, -sense * mid - _two_ends(valve.laps())),
        turned.scaled(-1.0, sense * mid - _two_ends(valve.exhaust_laps())),
    )


def _along_slot(motion: Motion, side: Side) -> Curve | None:
    """Place of the die pin along the slot from its middle, upwards with the link upright, mm."""
    if "die" not in motion.places:
        return None
    die = motion.places["die"]
    offset = as_samples(side.gear["slot_radius"])[0] * np.arctan2(die.imag, -die.real)
    return _curve(offset)


def _swing(motion: Motion) -> Curve | None:
    """Angle of the link from upright, rad."""
    return _curve(np.angle(motion.places["swing"])) if "swing" in motion.places else None


def _curve(samples: Array) -> Curve:
    return Curve.through(np.moveaxis(np.nan_to_num(samples), 1, -1))


def _reach(curve: Curve | None, assembled: NDArray[np.bool_]) -> Reach | None:
    if curve is None:
        return None
    return Reach(*(np.where(assembled, extreme, np.nan) for extreme in extremes(curve)))


def _joint_ranges(motion: Motion) -> dict[Links, Reach]:
    """Angle between links at their common pin, over the angles looked at; NaN where the gear does not assemble."""
    shape = motion.assembled.shape
    known = np.where(motion.assembled.all(axis=1), 1.0, np.nan)
    return {
        links: Reach(*(extreme(np.broadcast_to(angle, shape), axis=1) * known for extreme in (np.min, np.max)))
        for links, angle in motion.joints.items()
    }
