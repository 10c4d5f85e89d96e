"""From where a chassis is tight back to what is wrong with it.

Builds are drawn from the spreads, each with one dimension wrong beyond its spread (and some with none). Each build's
trials are turned through and weighed by how well they agree with what was seen; the weight that falls on each cause
is its probability. Dimensions whose errors no trial can tell apart are one cause: a rod that is too long and an end
horn that stands too near show the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from asmade.measure.errors import OutOfRange, Refused
from asmade.motion.wheels.chassis import field_shapes, index_of, names
from asmade.motion.wheels.geometry import dead_centres, leverage, misses, pin_places
from asmade.motion.wheels.layout import SIDES
from asmade.motion.wheels.trials import Fitted, Trial, section_says, trial_slack

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from asmade.motion.wheels.chassis import Array, Chassis
    from asmade.motion.wheels.spreads import Spreads

FIELDS_AT_FAULT = ("centres", "axle_x", "crank_radius", "quarter", "knuckle_reach")
"""Kinds of dimension that are looked at as causes. Bushes too close a fit are tight all round and need no search."""

_ALIKE = 0.995  # cosine between the marks of two errors from which on they are one cause
_STEP = np.radians(5.0)
_INDEPENDENT = np.radians(15.0)  # neighbouring angles tell the same: one observation per this much of a turn
_EDGE = np.radians(10.0)  # how far an end of a tight place may be misread
_FEEL_MM = 0.004  # slack about nothing that is felt as tight or not by chance
_SLIP = 0.03  # chance that a place is noted wrongly
_LOOK_SLIP = 0.1  # chance that long and short are mixed up
_DIFFERS = 30 / 360  # share of the turn noted otherwise forward than backward from which on it is remarked
_LEAST, _MOST = 3.0, 15.0  # a fault is this many standard deviations

Whole = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Cause:
    """One or more dimensions whose error shows alike; ``rows`` are their places in ``chassis.names``."""

    names: tuple[str, ...]
    rows: tuple[int, ...]

    @property
    def text(self) -> str:
        """The cause in words."""
        return " or ".join(self.names) if self.names else "no single fault: ordinary spreads that add up"


@dataclass(frozen=True, slots=True)
class Ranked:
    """A cause, its probability, and how far out the agreeing builds have it (mean and standard deviation)."""

    cause: Cause
    probability: float
    out_by: float
    deviation: float


@dataclass(frozen=True, slots=True)
class Advice:
    """The one measurement that would tell most: what, and by how many bits it lessens the doubt on average."""

    what: str
    bits: float
    doubt_bits: float


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Causes by probability, the measurement to take next, and remarks."""

    ranking: tuple[Ranked, ...]
    measure: Advice | None
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class FaultLibrary:
    """Builds with one fault each, and what each would show in the trials that the library knows."""

    chassis: Chassis
    causes: tuple[Cause, ...]
    cause: Whole  # (B) index into causes
    row: Whole  # (B) faulty dimension, -1 for none
    amount: Array  # (B) how far it is out
    errors: Array  # (P, B) deviations of every dimension from its best value
    angles: Array  # (K)
    odds: Mapping[Fitted, tuple[Array, Array]]  # (K, B) each: log odds to be noted as tight, as free
    says: Mapping[Fitted, npt.NDArray[np.int8]]  # (S, 2, K, B)


def find_causes(chassis: Chassis, spreads: Spreads) -> tuple[Cause, ...]:
    """Causes that can be told apart, from the dimensions that have a spread."""
    layout = chassis.layout
    best = chassis.with_vector(chassis.vector()[:, :1])
    angles = np.linspace(0, 2 * np.pi, 48, endpoint=False) + 0.01
    rows = []
    for field in FIELDS_AT_FAULT:
        for where in np.ndindex(*field_shapes(layout)[field]):
            row = index_of(layout, field, *where)
            if _deviation(spreads)[row] > 0:
                rows.append(row)
    if not rows:
        raise Refused(
            "causes of a bind",
            got="no spread at all",
            reason="without spreads of centres, horns, radii or quarters there is nothing to search",
            way_out="give the spreads your readings leave",
        )
    labels = names(layout)
    marks = _marks(best, rows, angles, _deviation(spreads))
    causes: list[tuple[list[int], Array]] = []
    for row, mark in zip(rows, marks, strict=True):
        for members, first in causes:
            if abs(float(mark @ first)) > _ALIKE:
                members.append(row)
                break
        else:
            causes.append(([row], mark))
    return tuple(Cause(tuple(labels[row] for row in members), tuple(members)) for members, _ in causes)


def _deviation(spreads: Spreads) -> Array:
    return np.asarray(np.sqrt(spreads.own**2 + (spreads.shared**2).sum(axis=0)))


def _marks(chassis: Chassis, rows: list[int], angles: Array, deviation: Array) -> Array:
    """Unit vectors of what an error changes in mL kR - mR kL, all that the best relative angle cannot take up."""
    vector = np.repeat(chassis.vector(), 2 * len(rows), axis=1)
    for number, row in enumerate(rows):
        vector[row, 2 * number] += 0.5 * deviation[row]
        vector[row, 2 * number + 1] -= 0.5 * deviation[row]
    many = chassis.with_vector(vector)
    seen = misses(many, pin_places(many, angles))
    lever = leverage(many, angles).real
    layout = chassis.layout
    crossed = []
    for section in range(layout.sections):
        body = layout.body_of(section)
        ahead = section - layout.bodies[body].first
        pair = seen.rods[body][ahead, ahead + 1]
        crossed.append(pair[0] * lever[1] - pair[1] * lever[0])
    stacked = np.concatenate(crossed)
    mark = (stacked[:, 0::2] - stacked[:, 1::2]).T
    return np.asarray(mark / np.linalg.norm(mark, axis=1, keepdims=True))


def fault_library(
    chassis: Chassis, spreads: Spreads, fitted: Sequence[Fitted], *, per_cause: int, seed: int
) -> FaultLibrary:
    """Draw ``per_cause`` builds for every cause (and as many without a fault) and turn each through the trials.

    A fault is 3 to 15 standard deviations of its dimension, either way, on top of the usual spread of all others.
    """
    if per_cause < 1:
        raise OutOfRange("builds drawn per cause", got=per_cause, allowed="1 or more")
    best = chassis.with_vector(chassis.vector()[:, :1])
    causes = (*find_causes(best, spreads), Cause((), ()))
    chance = np.random.default_rng(seed)
    cause = np.repeat(np.arange(len(causes)), per_cause)
    row = np.concatenate([chance.choice(np.array(found.rows or (-1,)), per_cause) for found in causes])
    built = spreads.draw(best, cause.size, seed + 1)
    vector = built.vector().copy()
    deviation = np.where(row >= 0, _deviation(spreads)[row], 0.0)
    size = chance.uniform(_LEAST, _MOST, cause.size) * chance.choice([-1.0, 1.0], cause.size)
    amount = size * deviation
    faulty = row >= 0
    vector[row[faulty], np.flatnonzero(faulty)] += amount[faulty]
    many = best.with_vector(vector)
    angles = np.unique(np.round(np.concatenate([np.arange(0, 2 * np.pi - 1e-9, _STEP), dead_centres(best)]), 9))
    odds, says = {}, {}
    for each in dict.fromkeys(fitted):
        odds[each] = _odds(angles, trial_slack(many, each, angles))
        says[each] = section_says(many, each, angles).astype(np.int8)
    return FaultLibrary(best, causes, cause, row, amount, vector - best.vector(), angles, odds, says)


def diagnose(
    library: FaultLibrary, trials: Sequence[Trial], *, measuring: Mapping[str, float] | None = None
) -> Diagnosis:
    """Rank the causes by what was seen.

    measuring: standard uncertainty with which each kind of dimension could be measured, for the advice
    (``{"centres": 0.01, "quarter": 0.0003}``); kinds not named are not advised.
    Raises: Refused for no trials, or a trial that the library was not drawn for.
    """
    if not trials:
        raise Refused(
            "diagnosis", got="no trials", reason="nothing was observed", way_out="turn it and note where it is tight"
        )
    likely = np.zeros(library.cause.size)
    for trial in trials:
        if trial.fitted not in library.odds:
            raise Refused("diagnosis", got=trial.fitted, reason="no builds were turned with these rods on")
        alike = sum(other.fitted == trial.fitted for other in trials)
        likely += _agreement(library, trial) / alike
    weight = np.exp(likely - likely.max())
    weight /= weight.sum()
    ranking = []
    for number, cause in enumerate(library.causes):
        at = library.cause == number
        share = float(weight[at].sum())
        inside = weight[at] / share if share > 0 else np.full(int(at.sum()), 1.0 / int(at.sum()))
        mean = float(inside @ library.amount[at])
        deviation = float(np.sqrt(max(0.0, float(inside @ (library.amount[at] - mean) ** 2))))
        ranking.append(Ranked(cause, share, mean, deviation))
    ranking.sort(key=lambda ranked: -ranked.probability)
    return Diagnosis(
        tuple(ranking), _advice(library, trials, weight, measuring or {}), _remarks(trials, library.angles)
    )


def _agreement(library: FaultLibrary, trial: Trial) -> Array:
    """Log likelihood (B) of one trial."""
    tight = _tight(trial, library.angles)
    as_tight, as_free = library.odds[trial.fitted]
    total = as_tight[tight].sum(axis=0) + as_free[~tight].sum(axis=0)
    for look in trial.looks:
        seen = library.says[trial.fitted][look.section, SIDES.index(look.side), _nearest(library.angles, look.at)]
        agrees = seen == (1 if look.says == "too short" else -1)
        total += np.log(np.where(agrees, 1 - _LOOK_SLIP, _LOOK_SLIP))
    return np.asarray(total)


def _odds(angles: Array, slack: Array) -> tuple[Array, Array]:
    """Log odds (K, B each) that an angle is noted as tight, and as free; each angle weighs what it tells on its own.

    An end may be misread: a place noted as tight needs a tight one near it, a free one a free one.
    """
    apart = np.abs(np.mod(angles[:, None] - angles[None, :] + np.pi, 2 * np.pi) - np.pi)
    near = apart <= _EDGE
    width = np.diff(np.concatenate([angles, angles[:1] + 2 * np.pi]))
    counts = 0.5 * (width + np.roll(width, 1)) / _INDEPENDENT
    as_tight, as_free = np.empty_like(slack), np.empty_like(slack)
    for at, around in enumerate(near):
        for felt, sign, out in ((slack[around].min(axis=0), 1.0, as_tight), (slack[around].max(axis=0), -1.0, as_free)):
            odds = 1.0 / (1.0 + np.exp(np.clip(sign * felt / _FEEL_MM, -50, 50)))
            out[at] = counts[at] * np.log(_SLIP + (1 - 2 * _SLIP) * odds)
    return as_tight, as_free


def _advice(
    library: FaultLibrary, trials: Sequence[Trial], weight: Array, measuring: Mapping[str, float]
) -> Advice | None:
    """The measurement with the greatest mutual information with the faulty dimension."""
    layout = library.chassis.layout
    kinds, which = np.unique(library.row, return_inverse=True)
    share = np.asarray(np.bincount(which, weights=weight, minlength=kinds.size), dtype=np.float64)
    doubt = _bits(share)
    offers: list[tuple[float, str]] = []
    labels = names(layout)
    for field, uncertainty in measuring.items():
        if uncertainty <= 0 or not np.isfinite(uncertainty):
            raise OutOfRange(f"uncertainty of measuring {field}", got=uncertainty, allowed="more than 0")
        for where in np.ndindex(*field_shapes(layout)[field]):
            row = index_of(layout, field, *where)
            told = _told(library.errors[row], which, kinds.size, weight, uncertainty, share)
            offers.append((told, f"measure {labels[row]}"))
    for trial in trials:
        looked = {(look.section, look.side, _nearest(library.angles, look.at)) for look in trial.looks}
        for place in (arc.middle + turn for arc in trial.tight for turn in (0.0, np.pi)):
            at = _nearest(library.angles, place)
            for section in trial.fitted.sections:
                for side, name in enumerate(SIDES):
                    if trial.fitted.sides in ("both", name) and (section, name, at) not in looked:
                        says = library.says[trial.fitted][section, side, at].astype(np.float64)
                        told = _told(says, which, kinds.size, weight, 0.3, share)
                        what = (
                            f"at {np.degrees(library.angles[at]):.0f} degrees see where the pins of rod "
                            f"{layout.section_name(section)}{name} bear in their bushes: inside (too long) or outside "
                            "(too short)"
                        )
                        offers.append((told, what))
    if not offers:
        return None
    bits, what = max(offers)
    return Advice(what, bits, doubt)


def _nearest(angles: Array, at: float) -> int:
    return int(np.argmin(np.abs(np.mod(angles - at + np.pi, 2 * np.pi) - np.pi)))


def _told(value: Array, which: Whole, kinds: int, weight: Array, uncertainty: float, share: Array) -> float:
    """Bits by which a reading of ``value`` lessens the doubt about the faulty dimension."""
    low, high = float(value.min()) - 3 * uncertainty, float(value.max()) + 3 * uncertainty
    bins = int(min(400, max(8, (high - low) / (0.5 * uncertainty))))
    at = np.minimum(((value - low) / (high - low) * bins).astype(int), bins - 1)
    table = np.zeros((kinds, bins))
    np.add.at(table, (which, at), weight)
    middle = (np.arange(bins) + 0.5) * (high - low) / bins
    blur = np.exp(-0.5 * ((middle[:, None] - middle[None, :]) / uncertainty) ** 2)
    table = table @ (blur / blur.sum(axis=0, keepdims=True).T)
    read = table.sum(axis=0)
    inside = table[:, read > 0] / read[read > 0]
    after = float((read[read > 0] * np.array([_bits(column) for column in inside.T])).sum())
    return max(0.0, _bits(share) - after)


def _bits(share: Array) -> float:
    part = share[share > 0]
    part = part / part.sum() if part.size else part
    return float(-(part * np.log2(part)).sum())


def _remarks(trials: Sequence[Trial], angles: Array) -> tuple[str, ...]:
    remarks = []
    for one, other in combinations(trials, 2):
        if one.fitted == other.fitted and {one.direction, other.direction} == {"forward", "backward"}:
            differ = _tight(one, angles) != _tight(other, angles)
            if differ.mean() > _DIFFERS:
                remarks.append(
                    "tight at other places forward than backward: wheels and rods bind alike both ways, so look for "
                    "something that touches, a crank pin or wheel that shifts, or a rod that tips on a worn bush"
                )
    if any(trial.tight for trial in trials) and not any(trial.looks for trial in trials):
        remarks.append(
            "rod centres and crank radius are tight at the same places; which sides of their bushes the pins bear on, "
            "at each tight place and half a turn later, tells them apart: alike at both for centres, one way and the "
            "other for a radius. It is felt with the rods on"
        )
    return tuple(dict.fromkeys(remarks))


def _tight(trial: Trial, angles: Array) -> npt.NDArray[np.bool_]:
    """Which of the angles were noted as tight."""
    noted = np.zeros(angles.size, dtype=bool)
    for arc in trial.tight:
        noted |= arc.holds(angles)
    return noted
