"""The best setting: which adjustables to move, and by how much, so that both ends share leads and cut-offs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gears import gear
from asmade.motion.gears.kind import Figure
from asmade.motion.valves.engine import VALVE_SIZES, Side
from asmade.motion.valves.events import Events, events, usual_positions
from asmade.motion.valves.sensitivities import Sensitivities, sensitivities_at

Array: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]

RUNNING: tuple[float, ...] = (1.0, 0.75, 0.5, 0.25, -0.25, -0.5, -1.0)
"""Positions over which evenness is judged: forward running counts more, so it has more of them.

A gear that has only a few positions is judged at those."""

WORTH_IT: float = 0.03
"""An adjustment that gains less than this part of the unevenness left is not worth touching."""
TOGETHER: float = 0.15
"""Those that are each not worth it are touched all the same where together they gain this part of it."""
HARDLY: float = 0.02
"""Weighted unevenness (1: 0.05 mm of lead or one per cent of cut-off everywhere) too small to be seen at the bench."""
EASY: float = 1.1
"""A turn of the spindle's nut goes before a change of length that gains no more than a tenth more."""
_SAME_AS_MID = ("valve_rod",)
"""Adjustables that do just what setting the valve on its spindle does."""
_OUT_OF_REACH = 1e3


@dataclass(frozen=True, slots=True)
class Adjust:
    """An adjustable (or any dimension still to be made) and how far it may go, in its own unit (mm or rad)."""

    name: str
    low: float
    high: float

    def __post_init__(self) -> None:
        if not (np.isfinite(self.low) and np.isfinite(self.high) and self.low < self.high):
            raise OutOfRange(f"range of {self.name}", got=(self.low, self.high), allowed="low less than high")


@dataclass(frozen=True, slots=True)
class Weights:
    """What counts as much: this many mm of difference in lead, this many per cent of difference in cut-off.

    The mean lead of both ends is drawn to the wanted one at every position; where none is wanted it is kept as it
    is at present, for evenness alone would do without any lead. Default weights: common practice, no source.
    """

    lead_mm: float = 0.05
    cutoff_per_cent: float = 1.0
    wanted_lead_mm: float | None = None

    def __post_init__(self) -> None:
        for name in ("lead_mm", "cutoff_per_cent"):
            if not getattr(self, name) > 0:
                raise OutOfRange(f"weight {name}", got=getattr(self, name), allowed="more than 0")


@dataclass(frozen=True, slots=True)
class Unevenness:
    """Greatest differences front - back over the positions judged, and the weighted root mean square of all."""

    lead_mm: float
    cutoff_per_cent: float
    score: float


@dataclass(frozen=True, slots=True, eq=False)
class BestSetting:
    """The side as it would be set, every change from the present, and what it gains by the full model."""

    side: Side
    changes: Mapping[str, float]
    before: Unevenness
    after: Unevenness
    at_limit: tuple[str, ...]
    evaluations: int


def default_adjusts(side: Side, *, by_mm: float = 1.5, by_rad: float = 0.09) -> tuple[Adjust, ...]:
    """Every adjustable that the gear names, and the valve on its spindle, each this far either way.

    Not the notches of the reverser, and not a valve rod, which does what the spindle does.
    """
    sizes = [
        size
        for size in gear(side.gear.gear).sizes
        if size.adjust
        and size.name in side.gear.sizes
        and not size.name.startswith(("lift_angle", "slide_angle"))
        and size.name not in _SAME_AS_MID
    ]
    return (
        Adjust("mid", *_around(side.size("mid"), 2 * by_mm)),
        *(Adjust(s.name, *_around(side.size(s.name), by_rad if s.kind == "angle" else by_mm)) for s in sizes),
    )


def _around(value: Figure, reach: float) -> tuple[float, float]:
    middle = float(np.asarray(value).reshape(-1)[0])
    return middle - reach, middle + reach


def unevenness(found: Events, weights: Weights, keep_lead: Array | float) -> Unevenness:
    """How uneven the ends are at these positions (sample 0), with the mean lead to be kept at each."""
    lead = np.abs(found.lead[:, 0, 0] - found.lead[:, 1, 0])
    cutoff = np.abs(found.cutoff.per_cent[:, 0, 0] - found.cutoff.per_cent[:, 1, 0])
    parts = _residuals(found, weights, keep_lead)
    return Unevenness(float(lead.max()), float(cutoff.max()), float(np.sqrt(np.mean(parts**2))))


def _kept_lead(found: Events, weights: Weights) -> Array | float:
    if weights.wanted_lead_mm is not None:
        return weights.wanted_lead_mm
    return np.asarray(found.lead[..., 0].mean(axis=1))


def _residuals(found: Events, weights: Weights, keep_lead: Array | float) -> Array:
    """Weighted differences, one sample: leads, cut-offs, and mean leads from the one to be kept."""
    lead, cutoff = found.lead[..., 0], found.cutoff.cycle[..., 0] * 100.0
    joined = np.concatenate(
        [
            (lead[:, 0] - lead[:, 1]) / weights.lead_mm,
            (cutoff[:, 0] - cutoff[:, 1]) / weights.cutoff_per_cent,
            (lead.mean(axis=1) - keep_lead) / weights.lead_mm,
        ]
    )
    return np.where(np.isfinite(joined), joined, _OUT_OF_REACH)


def _slopes(found: Sensitivities, weights: Weights) -> Array:
    """Rates of the residuals to the adjustables: (residuals, adjustables)."""
    lead, cutoff = found.rates["lead"][..., 0], found.rates["cutoff"][..., 0]
    parts = [
        (lead[:, :, 0] - lead[:, :, 1]).T / weights.lead_mm,
        (cutoff[:, :, 0] - cutoff[:, :, 1]).T / weights.cutoff_per_cent,
        lead.mean(axis=2).T / weights.lead_mm,
    ]
    return np.asarray(np.nan_to_num(np.concatenate(parts)))


def best_setting(
    side: Side,
    adjusts: tuple[Adjust, ...],
    *,
    positions: tuple[float, ...] | None = None,
    weights: Weights | None = None,
    keep_lead: Array | float | None = None,
) -> BestSetting:
    """Move the adjustables within their ranges so that leads and cut-offs of both ends are as even as they can be.

    Bounded least squares on the full model with exact slopes; what is reported is the full model's answer. The
    adjustables are taken in one by one, that which gains most first, and what would gain hardly anything is left
    alone: two rods that undo one another's work are no advice. ``keep_lead``: mean lead to keep at each position, where
    it is not that of this very gear.
    """
    present = _present(side, adjusts)
    wants = weights or Weights()
    positions = usual_positions(side, RUNNING) if positions is None else positions
    at_present = events(side, positions, details=False)
    keep = _kept_lead(at_present, wants) if keep_lead is None else keep_lead
    search = _Search(side, adjusts, present, positions, wants, keep)
    before = unevenness(at_present, wants, keep)
    x, taken = present, np.zeros(len(adjusts), dtype=bool)
    while (more := search.worth_taking(x, taken)).any():
        taken |= more
        x = search.settle(x, taken)
    best = search.at(x)
    span = search.high - search.low
    near = taken & (np.minimum(x - search.low, search.high - x) < 1e-4 * span)
    return BestSetting(
        side=best,
        changes={adjust.name: float(change) for adjust, change in zip(adjusts, x - present, strict=True)},
        before=before,
        after=unevenness(search.events_at(x), wants, keep),
        at_limit=tuple(adjust.name for adjust, close in zip(adjusts, near, strict=True) if close),
        evaluations=search.evaluations,
    )


@dataclass(slots=True, eq=False)
class _Search:
    """Residuals and slopes of one search, and how often the full model was asked."""

    side: Side
    adjusts: tuple[Adjust, ...]
    present: Array
    positions: tuple[float, ...]
    wants: Weights
    keep: Array | float
    evaluations: int = 0
    _latest: dict[bytes, Events] = field(default_factory=dict)

    @property
    def low(self) -> Array:
        return np.array([adjust.low for adjust in self.adjusts])

    @property
    def high(self) -> Array:
        return np.array([adjust.high for adjust in self.adjusts])

    def at(self, x: Array) -> Side:
        return self.side.with_sizes({a.name: v for a, v in zip(self.adjusts, x.tolist(), strict=True)})

    def events_at(self, x: Array) -> Events:
        key = x.tobytes()
        if key not in self._latest:
            self._latest = {key: events(self.at(x), self.positions, details=False)}
            self.evaluations += 1
        return self._latest[key]

    def residuals(self, x: Array) -> Array:
        return _residuals(self.events_at(x), self.wants, self.keep)

    def slopes(self, x: Array) -> Array:
        names = tuple(adjust.name for adjust in self.adjusts)
        return _slopes(sensitivities_at(self.at(x), self.events_at(x), names), self.wants)

    def worth_taking(self, x: Array, taken: Mask) -> Mask:
        """Those to take in next, by the slopes here: the one that gains most, or all where only together they gain."""
        none = np.zeros_like(taken)
        rest = self.residuals(x)
        score = _rms(rest)
        if taken.all() or score < HARDLY:
            return none
        if (np.abs(rest) >= _OUT_OF_REACH).any():
            return ~taken  # some events do not even happen: slopes say nothing of what would bring them back
        slopes = self.slopes(x) * (self.high - self.low)
        gains = np.full(len(taken), -np.inf)
        for at in np.flatnonzero(~taken):
            one = none.copy()
            one[at] = True
            gains[at] = score - self._reached(rest, slopes, x, taken | one)
            if self.adjusts[at].name == "mid":
                gains[at] *= EASY
        if gains.max() >= max(WORTH_IT * score, 0.25 * HARDLY):
            none[int(gains.argmax())] = True
        elif score - self._reached(rest, slopes, x, ~none) >= TOGETHER * score:
            none |= ~taken
        return none

    def _reached(self, rest: Array, slopes: Array, x: Array, taken: Mask) -> float:
        """Score that the slopes promise within the ranges."""
        from scipy.optimize import lsq_linear  # noqa: PLC0415  # half a second that only this sum should cost

        span = (self.high - self.low)[taken]
        low, high = (self.low[taken] - x[taken]) / span, (self.high[taken] - x[taken]) / span
        found = lsq_linear(slopes[:, taken], -rest, (low - 1e-12, high + 1e-12), method="bvls")
        return _rms(rest + slopes[:, taken] @ found.x)

    def settle(self, start: Array, taken: Mask) -> Array:
        """Least squares over those taken in; a slight pull to the present decides between what does equally well."""
        from scipy.optimize import least_squares  # noqa: PLC0415

        low, high = self.low[taken], self.high[taken]
        span = high - low

        def whole(part: Array) -> Array:
            x = start.copy()
            x[taken] = part
            return x

        def residuals(part: Array) -> Array:
            return np.concatenate([self.residuals(whole(part)), 1e-3 * (part - self.present[taken]) / span])

        def slopes(part: Array) -> Array:
            return np.concatenate([self.slopes(whole(part))[:, taken], np.diag(1e-3 / span)])

        begin = np.clip(start[taken], low + 1e-9 * span, high - 1e-9 * span)
        found = least_squares(
            residuals, begin, jac=slopes, bounds=(low, high), x_scale=span, xtol=1e-9, ftol=1e-7, max_nfev=60
        )
        return whole(np.asarray(found.x))


def _rms(residuals: Array) -> float:
    return float(np.sqrt(np.mean(residuals**2)))


def _present(side: Side, adjusts: tuple[Adjust, ...]) -> Array:
    if not adjusts:
        raise Unknown(
            "adjustable", got="", way_out="name at least one: mid (the valve on its spindle), eccentric_rod, …"
        )
    values = []
    for adjust in adjusts:
        value = np.asarray(side.size(adjust.name), dtype=np.float64).reshape(-1)
        if value.size != 1:
            raise OutOfRange(
                f"samples of {adjust.name}", got=value.size, allowed="one: the best setting is for one gear"
            )
        if not adjust.low <= value[0] <= adjust.high:
            raise OutOfRange(
                f"present {adjust.name}",
                got=float(value[0]),
                allowed=f"{adjust.low:g} to {adjust.high:g}",
                way_out="widen its range to hold the present value",
            )
        values.append(float(value[0]))
    return np.array(values)


# ---------------------------------------------------------------------- which part is worth making again
@dataclass(frozen=True, slots=True)
class Remake:
    """What making one part again to its drawing would gain, each time with the best setting afterwards."""

    part: str
    dimensions: tuple[str, ...]
    before: Unevenness
    after: Unevenness

    @property
    def gain(self) -> float:
        """Fall of the weighted score; negative where the part as made hides another's fault."""
        return self.before.score - self.after.score


def worth_remaking(
    made: Side,
    drawn: Side,
    adjusts: tuple[Adjust, ...],
    *,
    positions: tuple[float, ...] | None = None,
    weights: Weights | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Remake, ...]:
    """Parts that differ from their drawing, by what making each anew would gain, the most worthwhile first.

    Every trial is set as well as it can be, with the drawing's mean leads as those to keep.
    """
    kind = gear(made.gear.gear)
    by_part: dict[str, list[str]] = {}
    parts = {size.name: size.part for size in kind.sizes} | dict.fromkeys(VALVE_SIZES, "valve")
    free = {adjust.name for adjust in adjusts}
    singles = [name for name, fields in VALVE_SIZES.items() if len(fields) == 1]
    for name in (*made.gear.sizes, *singles):
        if name not in free and not np.array_equal(made.size(name), drawn.size(name)):
            by_part.setdefault(parts[name], []).append(name)
    positions = usual_positions(made, RUNNING) if positions is None else positions
    keep = _kept_lead(events(drawn, positions, details=False), weights or Weights())
    as_made = best_setting(made, adjusts, positions=positions, weights=weights, keep_lead=keep).after
    found = []
    for count, (part, names) in enumerate(by_part.items(), start=1):
        renewed = made.with_sizes({name: drawn.size(name) for name in names})
        after = best_setting(renewed, adjusts, positions=positions, weights=weights, keep_lead=keep).after
        found.append(Remake(part, tuple(names), as_made, after))
        if progress is not None:
            progress(count, len(by_part))
    return tuple(sorted(found, key=lambda remake: (-remake.gain, remake.part)))
