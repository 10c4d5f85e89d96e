"""Design aid, second part: all lengths to given steps (1/64 in, 0.1 mm) by search on the full model.

Every round tries a move of every free length either way, all at once (they are the samples of one vectorised solve);
from their answers follow Gauss-Newton moves of all lengths together. These first run free of the steps; then all is
brought to the steps, and moves of whole steps, alone, in pairs or together, go on until none is worth its while.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gears import gear
from asmade.motion.gears.kind import Figure
from asmade.motion.valves.engine import Side, as_samples, first_sample
from asmade.motion.valves.events import events, usual_positions
from asmade.motion.valves.piston import Piston

Array: TypeAlias = NDArray[np.float64]

INCH_STEP = 25.4 / 64
METRIC_STEP = 0.1


@dataclass(frozen=True, slots=True)
class Free:
    """A length (or angle) that may move in steps, at most so far from where it is."""

    name: str
    step: float
    reach: float

    def __post_init__(self) -> None:
        for name in ("step", "reach"):
            if not (math.isfinite(getattr(self, name)) and getattr(self, name) > 0):
                raise OutOfRange(f"{name} of {self.name}", got=getattr(self, name), allowed="more than 0")


@dataclass(frozen=True, slots=True)
class Aims:
    """What is wanted, and how much of each counts as one: common practice, no source, unless told otherwise.

    ``cutoff`` as part of the stroke in full gear both ways, the mean of both ends; ``travel_mm`` likewise, where one is
    wanted. ``swing_rad`` is a limit. Where the
    lead cannot be as wanted ``lead_everywhere``, it is in full gear, and elsewhere only alike at both ends. A gear that
    has only a few positions is looked at in those.
    """

    cutoff: float
    lead_mm: float
    positions: tuple[float, ...] = (1.0, 0.6, 0.3, -1.0)
    lead_counts_mm: float = 0.05
    cutoff_counts: float = 0.01
    slip_counts_mm: float = 2.0
    swing_rad: float = math.radians(50.0)
    lead_everywhere: bool = True
    travel_mm: float | None = None
    travel_counts_mm: float = 0.25


@dataclass(frozen=True, slots=True)
class Score:
    """How near the aims: the weighted mean square, and the figures a builder looks at."""

    total: float
    lead_out_mm: float
    cutoff_between_ends: float
    cutoff_out: float
    die_slip_mm: float
    swing_rad: float


@dataclass(frozen=True, slots=True, eq=False)
class Refined:
    """The best found; ``finished`` is False where it was stopped, and the best so far was kept."""

    side: Side
    changes: Mapping[str, float]
    before: Score
    after: Score
    rounds: int
    finished: bool


Progress: TypeAlias = Callable[[int, Score, Side], None]


def refine(
    side: Side,
    free: tuple[Free, ...],
    aims: Aims,
    *,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> Refined:
    """Bring the free lengths to their steps and as near the aims as moves of one step allow.

    The valve is set for equal leads in full forward gear at every trial. ``progress(round, score, side)`` is called
    after each round; ``stop()`` is asked before each. An interrupt (Ctrl-C) too ends the search with the best so far.
    """
    names = _checked(side, free)
    steps, start = np.array([f.step for f in free]), np.array([first_sample(side.size(name)) for name in names])
    before = _score(_trial(side, names, start[:, None]), aims)
    search = _Search(side, names, aims, start, steps, np.array([f.reach for f in free]))
    rounds, finished = 0, False
    try:
        while not (stop is not None and stop()):
            finished = search.round()
            rounds += 1
            if progress is not None:
                now = _trial(side, names, search.on_steps()[:, None])
                progress(rounds, _score(now, aims), _single(now))
            if finished:
                break
    except KeyboardInterrupt:
        finished = False
    best = search.on_steps()
    after = _trial(side, names, best[:, None])
    changes = dict(zip(names, (best - start).tolist(), strict=True))
    return Refined(_single(after), changes, before, _score(after, aims), rounds, finished)


def _checked(side: Side, free: tuple[Free, ...]) -> tuple[str, ...]:
    names = tuple(f.name for f in free)
    if not names:
        raise Unknown("length to refine", got="", way_out=f"name some of {', '.join(side.gear.sizes)}")
    if len(set(names)) != len(names):
        raise OutOfRange("lengths to refine", got=names, allowed="each once")
    for name in names:
        if name == "mid" or np.size(side.size(name)) != 1:
            raise OutOfRange("length to refine", got=name, allowed="one number; the valve's setting follows by itself")
    return names


_DAMPING = np.logspace(-3, 3, 7)
_WORTH_FREE, _WORTH = 0.03, 0.005
"""A round must better the score by this part of it, or the search goes on to the next phase."""
_PULL = 0.2
"""A length at the end of its reach counts this much: of two as good the nearer to the present is preferred."""


class _Search:
    """Where the search stands: the best place so far and whether it is held to the steps yet."""

    def __init__(
        self, side: Side, names: tuple[str, ...], aims: Aims, start: Array, steps: Array, reach: Array
    ) -> None:
        self.side, self.names, self.aims = side, names, aims
        self.start, self.steps, self.reach = start, steps, reach
        self.free = True
        self.low = np.ceil((start - reach) / steps - 1e-9) * steps
        self.high = np.floor((start + reach) / steps + 1e-9) * steps
        self.best = start
        self.parts = self._answers(start[:, None])[:, 0]

    def round(self) -> bool:
        """One round; True where no move is worth its while any more."""
        count = len(self.names)
        singles = np.concatenate([np.eye(count), -np.eye(count)], axis=1) * self.steps[:, None]
        answers = self._answers(self.best[:, None] + singles)
        slopes = 0.5 * (answers[:, :count] - answers[:, count:])
        together = self._together(np.where(np.isfinite(slopes), slopes, 0.0)) * self.steps[:, None]
        if self._take(np.concatenate([singles, together], axis=1)):
            return False
        if self.free:
            self.free = False
            self._take(np.zeros((count, 1)), anyhow=True)
            return False
        return not self._take(_pairs(count) * self.steps[:, None])

    def on_steps(self) -> Array:
        """The best so far, on the steps."""
        return np.asarray(np.clip(np.round(self.best / self.steps) * self.steps, self.low, self.high))

    def _together(self, slopes: Array) -> Array:
        """Damped Gauss-Newton moves, in steps: (lengths, dampings)."""
        square, push = slopes.T @ slopes, slopes.T @ np.where(np.isfinite(self.parts), self.parts, 0.0)
        scale = np.diag(square) + 1e-12 * max(float(np.trace(square)), 1e-12)
        return np.stack([np.linalg.solve(square + np.diag(d * scale), -push) for d in _DAMPING], axis=1)

    def _take(self, moves: Array, *, anyhow: bool = False) -> bool:
        """Take the best of these moves if it is worth its while; moves beyond reach stop at their limit."""
        trials = self.best[:, None] + moves
        if not self.free:
            trials = np.round(trials / self.steps[:, None]) * self.steps[:, None]
        trials = np.clip(trials, self.low[:, None], self.high[:, None])
        answers = self._answers(trials)
        costs, cost = _totals(answers), _totals(self.parts[:, None])[0]
        if not anyhow and not costs.min() < cost * (1 - (_WORTH_FREE if self.free else _WORTH)):
            return False
        chosen = int(costs.argmin())
        self.best, self.parts = trials[:, chosen], answers[:, chosen]
        return True

    def _answers(self, trials: Array) -> Array:
        away = _PULL * (trials - self.start[:, None]) / self.reach[:, None]
        return np.concatenate([_parts(_trial(self.side, self.names, trials), self.aims), away])


def _pairs(count: int) -> Array:
    """All moves of one step of two lengths at once: (lengths, moves)."""
    if count < 2:
        return np.zeros((count, 1))
    eye = np.eye(count)
    both = [(i, j) for i, j in combinations(range(count), 2)]
    return np.stack([a * eye[i] + b * eye[j] for i, j in both for a in (1.0, -1.0) for b in (1.0, -1.0)], axis=1)


def _trial(side: Side, names: tuple[str, ...], trials: Array) -> Side:
    """All trials as the samples of one side, each with its valve set for equal leads in full forward gear."""
    changes: dict[str, Figure] = dict(zip(names, trials, strict=True))
    changed = side.with_sizes(changes)
    piston = Piston.of(changed.gear)
    crank = np.stack(np.broadcast_arrays(piston.front_dead_centre, piston.back_dead_centre))[None]
    front, back = gear(side.gear.gear).move(changed.gear, crank, 1.0).place("valve")[0]
    lap_front, lap_back = as_samples(*changed.valve.laps())
    mid = 0.5 * (front + back) - 0.5 * side.valve.opening_senses()[0] * (lap_front - lap_back)
    return changed.with_mid(np.nan_to_num(mid))


def _single(trial: Side) -> Side:
    """The one sample of a side as plain numbers."""
    return trial.with_sizes({name: first_sample(trial.size(name)) for name in trial.names() if name not in _DOUBLES})


_DOUBLES = ("lap", "exhaust_lap")


def _parts(side: Side, aims: Aims) -> Array:
    """Every figure aimed at, 1 where it counts as one, its group weighted by its number: (figures, samples)."""
    found = events(side, _looked_at(side, aims))
    cutoff = found.cutoff.cycle
    full = np.abs(found.positions) == 1.0
    wrong = found.lead - aims.lead_mm
    if not aims.lead_everywhere:
        wrong = np.where(full[:, None, None], wrong, found.lead - found.lead.mean(axis=1, keepdims=True))
    groups = [
        wrong / aims.lead_counts_mm,
        (cutoff[:, 0] - cutoff[:, 1]) / aims.cutoff_counts,
        (cutoff[full].mean(axis=1) - aims.cutoff) / aims.cutoff_counts,
    ]
    if aims.travel_mm is not None:
        groups.append((found.travel[full] - aims.travel_mm) / aims.travel_counts_mm)
    if found.die is not None:
        half = as_samples(side.gear["link_half_slot"])[0]
        groups.append(found.die.whole / aims.slip_counts_mm)
        groups.append(np.maximum(found.die.farthest - half, 0.0) / 0.1)
    if found.link_swing is not None:
        groups.append(np.maximum(found.link_swing.whole - aims.swing_rad, 0.0) / math.radians(0.5))
    samples = max(group.shape[-1] for group in groups)
    rows = [group.reshape(-1, group.shape[-1]) / math.sqrt(group[..., 0].size) for group in groups]
    return np.concatenate([np.broadcast_to(row, (row.shape[0], samples)) for row in rows])


def _looked_at(side: Side, aims: Aims) -> tuple[float, ...]:
    """Those of the positions aimed at that the gear has; all it has, where it has none of them."""
    only = usual_positions(side, aims.positions)
    return tuple(position for position in aims.positions if position in only) or only


def _totals(parts: Array) -> Array:
    """Sum of squares per sample; infinite where a trial does not assemble or does not open."""
    total = (parts**2).sum(axis=0)
    return np.where(np.isfinite(total), total, np.inf)


def _score(side: Side, aims: Aims) -> Score:
    """Of the first sample."""
    found = events(side, _looked_at(side, aims))
    cutoff, full = found.cutoff.cycle[..., 0], np.abs(found.positions) == 1.0
    lead = found.lead[..., 0] if aims.lead_everywhere else found.lead[full, :, 0]
    return Score(
        total=float(_totals(_parts(side, aims))[0]),
        lead_out_mm=float(np.abs(lead - aims.lead_mm).max()),
        cutoff_between_ends=float(np.abs(cutoff[:, 0] - cutoff[:, 1]).max()),
        cutoff_out=float(np.abs(cutoff[full].mean(axis=1) - aims.cutoff).max()) if full.any() else 0.0,
        die_slip_mm=0.0 if found.die is None else float(found.die.whole[:, 0].max()),
        swing_rad=0.0 if found.link_swing is None else float(found.link_swing.whole[:, 0].max()),
    )
