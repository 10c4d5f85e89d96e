"""Which length matters: rates of every event to every dimension, exact, from the forward mode of the gear itself."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import Unknown
from asmade.motion.gears import gear
from asmade.motion.linkage import CRANK
from asmade.motion.valves.engine import VALVE_SIZES, Side
from asmade.motion.valves.events import Events, events
from asmade.motion.valves.piston import Piston

Array: TypeAlias = NDArray[np.float64]
Hold: TypeAlias = Literal["spindle", "equal leads"]

EVENTS = ("admission", "cutoff", "release", "compression")
QUANTITIES = ("lead", *EVENTS, "opening", "travel")
"""Lead, opening and travel in mm; the events in per cent of the stroke in which they happen."""


@dataclass(frozen=True, slots=True, eq=False)
class Sensitivities:
    """Rates of each quantity to each dimension: per mm of a length, per rad of an angle.

    Arrays of shape (dimensions, positions, ends, samples); travel has the same figure at both ends. Events that
    do not happen hold NaN. ``hold``: what is kept while one dimension changes, the valve on its spindle as it is
    (``spindle``) or set again for equal leads in full forward gear (``equal leads``).
    """

    names: tuple[str, ...]
    at: Events
    rates: Mapping[str, Array]
    hold: Hold

    def of(self, quantity: str, name: str) -> Array:
        """Rates of one quantity to one dimension: (positions, ends, samples)."""
        if quantity not in self.rates:
            raise Unknown("quantity of the valve gear", got=quantity, near=QUANTITIES)
        if name not in self.names:
            raise Unknown("dimension of the valve gear", got=name, way_out=f"looked at: {', '.join(self.names)}")
        return np.asarray(self.rates[quantity][self.names.index(name)])


def sensitivities(
    side: Side,
    positions: tuple[float, ...] | Array | None = None,
    *,
    names: tuple[str, ...] | None = None,
    hold: Hold = "spindle",
) -> Sensitivities:
    """Rates of lead, events, openings and travel to the named dimensions.

    Where none are named: every dimension of the gear, the laps (both ends together) and the setting on the spindle.
    """
    wanted = (*side.gear.sizes, "lap", "exhaust_lap", "mid") if names is None else names
    return sensitivities_at(side, events(side, positions, details=False), wanted, hold=hold)


def sensitivities_at(side: Side, found: Events, names: tuple[str, ...], *, hold: Hold = "spindle") -> Sensitivities:
    """The same at events already found for this very side."""
    for name in names:
        side.size(name)
    rates = _Rates(side, found, (*names, "mid"))
    table = rates.table()
    if hold == "equal leads":
        table = _reset(table, rates.reset_of_mid())
    return Sensitivities(tuple(names), found, {key: value[: len(names)] for key, value in table.items()}, hold)


class _Rates:
    """The gear solved once more at the dead centres, at every event and at the greatest openings, with rates."""

    def __init__(self, side: Side, found: Events, names: tuple[str, ...]) -> None:
        self.side, self.found, self.names = side, found, names
        self.gear_names = tuple(name for name in names if name in side.gear.sizes)
        piston = Piston.of(side.gear)
        self.sense = np.where(found.positions < 0, -1.0, 1.0)[:, None, None]
        self.dead = np.stack([piston.front_dead_centre, piston.back_dead_centre])
        self.dead_rates = piston.dead_centre_rates()
        shape = found.lead.shape
        dead = np.broadcast_to(self.dead, shape)
        angles = [dead, *(dead + self.sense * getattr(found, name).crank_rad for name in EVENTS), found.opening_at]
        self.known = [np.isfinite(angle) for angle in angles]
        crank = np.stack([np.where(known, angle, 0.0) for known, angle in zip(self.known, angles, strict=True)], axis=1)
        flat = crank.reshape(shape[0], -1, shape[2])
        motion = gear(side.gear.gear).move(
            side.gear, flat, found.positions, rates_to=(*self.gear_names, CRANK), keep=("valve", "piston")
        )
        self.shape = crank.shape
        self.motion = motion
        self.opening_sense = np.array(side.valve.opening_senses(), dtype=np.float64)[:, None]

    def _at(self, out: str, name: str, row: int) -> Array:
        """Rate of an output to one dimension, at the crank angles of one row: (positions, ends, samples)."""
        if name in self.gear_names or name == CRANK:
            return self.motion.rates[out][name].reshape(self.shape)[:, row]
        return np.zeros(self.found.lead.shape)

    def _valve(self, name: str, row: int) -> Array:
        """Rate of the steam edge's opening to one dimension at standing crank: (positions, ends, samples)."""
        if name == "mid":
            return np.broadcast_to(-self.opening_sense, self.found.lead.shape)
        if name in VALVE_SIZES:
            fields = VALVE_SIZES[name]
            touched = np.array([[f"lap_{end}" in fields] for end in ("front", "back")])
            return np.broadcast_to(-1.0 * touched, self.found.lead.shape)
        return self.opening_sense * self._at("valve", name, row)

    def _exhaust(self, name: str, row: int) -> Array:
        if name in VALVE_SIZES and name != "mid":
            fields = VALVE_SIZES[name]
            touched = np.array([[f"exhaust_lap_{end}" in fields] for end in ("front", "back")])
            return np.broadcast_to(-1.0 * touched, self.found.lead.shape)
        return -self._valve(name, row)

    def _dead(self, name: str) -> Array:
        return np.stack(self.dead_rates[name]) if name in self.dead_rates else np.zeros_like(self.dead)

    def _per_cent(self, event: str, name: str, row: int) -> Array:
        """Rate of the part of its stroke done when an event happens, in per cent."""
        steam = event in ("admission", "cutoff")
        slope = self.opening_sense * self._at("valve", CRANK, row)
        moved = (self._valve if steam else self._exhaust)(name, row)
        later = -moved / (slope if steam else -slope)
        shift = self._at("piston", name, row) + self._at("piston", CRANK, row) * later
        ends = self._at("piston", name, 0)
        stroke = self._stroke()
        travelled = self._travelled(row)
        grown = ends[:, :1] - ends[:, 1:]
        front = (ends[:, :1] - shift - travelled * grown) / stroke
        done = np.concatenate([front[:, :1], -front[:, 1:]], axis=1)
        working = getattr(self.found, event).cycle < 1.0
        return np.where(self.known[row], np.where(working, 100.0, -100.0) * done, np.nan)

    def _stroke(self) -> Array:
        piston = self.motion.place("piston").reshape(self.shape)[:, 0]
        return np.asarray(piston[:, :1] - piston[:, 1:])

    def _travelled(self, row: int) -> Array:
        piston = self.motion.place("piston").reshape(self.shape)
        return np.asarray((piston[:, 0, :1] - piston[:, row]) / self._stroke())

    def table(self) -> dict[str, Array]:
        """Rates with the valve left where it is on its spindle."""
        openings = np.stack([self._valve(name, 1 + len(EVENTS)) for name in self.names])
        still = np.array([0.0 if name in VALVE_SIZES else 1.0 for name in self.names])
        travels = (openings * still[:, None, None, None]).sum(axis=2, keepdims=True)
        return {
            "lead": np.stack(
                [
                    self._valve(name, 0) + self.opening_sense * self._at("valve", CRANK, 0) * self._dead(name)
                    for name in self.names
                ]
            ),
            **{
                event: np.stack([self._per_cent(event, name, row) for name in self.names])
                for row, event in enumerate(EVENTS, start=1)
            },
            "opening": openings,
            "travel": np.broadcast_to(travels, openings.shape),
        }

    def reset_of_mid(self) -> Array:
        """By how much the valve is set anew for equal leads in full forward gear, per dimension: (dims, samples)."""
        place = int(np.argmax(self.found.positions))
        lead = self.table()["lead"][:, place]
        # the leads' difference front - back must stay nil: mid moves both by -sense
        return np.asarray((lead[:, 0] - lead[:, 1]) / (2.0 * self.opening_sense[0]))


def _reset(table: dict[str, Array], mid: Array) -> dict[str, Array]:
    return {key: rates + mid[:, None, None, :] * rates[-1:] for key, rates in table.items()}


@dataclass(frozen=True, slots=True)
class Matters:
    """The greatest effect of one dimension over the positions looked at, for being out by ``change`` (mm or rad)."""

    name: str
    change: float
    lead_mm: float
    cutoff_per_cent: float
    travel_mm: float


def what_matters(
    found: Sensitivities, side: Side, *, by_mm: float = 0.1, by_rad: float = math.radians(0.5)
) -> tuple[Matters, ...]:
    """Dimensions by their greatest effect on cut-off and lead, the most telling first (sample 0).

    Being out by ``by_mm`` in a length or ``by_rad`` in an angle; one per cent of cut-off counts as 0.05 mm of lead.
    """
    angles = {size.name for size in gear(side.gear.gear).sizes if size.kind == "angle"}

    def greatest(quantity: str, row: int) -> float:
        rates = np.abs(found.rates[quantity][row, ..., 0])
        return float(np.nanmax(rates)) if np.isfinite(rates).any() else 0.0

    rows = []
    for row, name in enumerate(found.names):
        change = by_rad if name in angles else by_mm
        effects = (change * greatest(quantity, row) for quantity in ("lead", "cutoff", "travel"))
        rows.append(Matters(name, change, *effects))
    return tuple(sorted(rows, key=lambda row: (-max(row.cutoff_per_cent, row.lead_mm / 0.05), row.name)))
