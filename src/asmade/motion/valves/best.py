"""The best setting: which adjustables to move, and by how much, so that both ends share leads and cut-offs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
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

RUNNING: tuple[float, ...] = (1.0, 0.75, 0.5, 0.25, -0.25, -0.5, -1.0)
"""Positions over which evenness is judged: forward running counts more, so it has more of them.

A gear that has only a few positions is judged at those."""

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
    """Every adjustable that the gear names, and the valve on its spindle, each this far either way."""
    sizes = [
        size
        for size in gear(side.gear.gear).sizes
        if size.adjust and size.name in side.gear.sizes and not size.name.startswith(("lift_angle", "slide_angle"))
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

    Bounded least squares on the full model with exact slopes; what is reported is the full model's answer. A small
    pull towards the present setting decides between settings that do equally well. ``keep_lead``: mean lead to keep
    at each position, where it is not that of this very gear.
    """
    from scipy.optimize import least_squares  # noqa: PLC0415  # half a second that only this sum should cost

    wants = weights or Weights()
    positions = usual_positions(side, RUNNING) if positions is None else positions
    present = _present(side, adjusts)
    at_present = events(side, positions, details=False)
    keep = _kept_lead(at_present, wants) if keep_lead is None else keep_lead
    low, high = np.array([a.low for a in adjusts]), np.array([a.high for a in adjusts])
    span = high - low
    names = tuple(adjust.name for adjust in adjusts)

    def at(x: Array) -> Side:
        return side.with_sizes(dict(zip(names, x.tolist(), strict=True)))

    latest: dict[bytes, Events] = {}

    def found_at(x: Array) -> Events:
        if x.tobytes() not in latest:
            latest.clear()
            latest[x.tobytes()] = events(at(x), positions, details=False)
        return latest[x.tobytes()]

    def residuals(x: Array) -> Array:
        return np.concatenate([_residuals(found_at(x), wants, keep), 1e-3 * (x - present) / span])

    def slopes(x: Array) -> Array:
        rates = sensitivities_at(at(x), found_at(x), names)
        return np.concatenate([_slopes(rates, wants), np.diag(1e-3 / span)])

    start = np.clip(present, low + 1e-9 * span, high - 1e-9 * span)
    found = least_squares(
        residuals, start, jac=slopes, bounds=(low, high), x_scale=span, xtol=1e-9, ftol=1e-7, max_nfev=60
    )
    best = at(found.x)
    near = np.minimum(found.x - low, high - found.x) < 1e-4 * span
    return BestSetting(
        side=best,
        changes={name: float(x - p) for name, x, p in zip(names, found.x, present, strict=True)},
        before=unevenness(at_present, wants, keep),
        after=unevenness(events(best, positions, details=False), wants, keep),
        at_limit=tuple(name for name, close in zip(names, near, strict=True) if close),
        evaluations=int(found.nfev),
    )


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
