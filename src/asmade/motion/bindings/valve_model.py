"""Events of one side as functions of the sizes of a book: figures, exact rates, and figures of many sampled gears.

All requirements on one side ask one model, which works every set of sizes out once, at all positions asked for.
"""

from __future__ import annotations

import math
import weakref
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.book.model import Relation
from asmade.measure.errors import AsmadeError, OutOfRange
from asmade.motion.bindings.valves import MID, VALVE, Bound, NotKnown, Sizes_, bind, in_words
from asmade.motion.linkage import DoesNotAssemble
from asmade.motion.valves.engine import ENDS, Side
from asmade.motion.valves.events import Events, events
from asmade.motion.valves.piston import Piston
from asmade.motion.valves.sensitivities import Sensitivities, sensitivities_at
from asmade.reckon.requirement import Row, written
from asmade.reckon.scope import Scope

Array = NDArray[np.float64]
Figures = Mapping[str, Any]

STROKE: Final = ("admission", "cutoff", "release", "compression")
BY_RATES: Final = ("lead", *STROKE, "opening", "travel")
DETAILS: Final = ("die_room", "link_swing")
CYCLE: Final = "_cycle"
"""``cutoff_cycle`` and so on: 0..1 the part done of the working stroke, 1..2 one plus that of the return stroke."""
FEW: Final = 200
"""Up to so many sampled gears are each worked out in full; of more, so many are, and the rest follow by their rates."""
STEP_MM: Final = 1e-4
KEPT: Final = 8


@dataclass(frozen=True, slots=True)
class Wanted:
    """One figure: what, at which reverser position, at which end (None: of both, as travel)."""

    what: str
    position: float
    end: str | None


@dataclass(slots=True)
class _Looked:
    """One set of sizes: the side, its events at all positions, and its rates once they are asked for."""

    side: Side | None
    events: Events | None
    fault: str = ""
    short_mm: float = 0.0
    rates: Sensitivities | None = None
    by_step: dict[Wanted, dict[str, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Many:
    """Sampled gears: who gave their sizes (many figures are asked of the same), the sizes, their means, how many."""

    asked: weakref.ref[Sizes_]
    values: Mapping[str, Array]
    middle: Mapping[str, float]
    count: int


class Model:
    """The gear of one side at the positions that the book asks of it."""

    def __init__(self, bound: Bound, positions: tuple[float, ...]) -> None:
        """Full forward gear is always among the positions: the valve is set there."""
        self.bound = bound
        self.positions = tuple(dict.fromkeys((bound.set_at, *positions)))
        self._inner: tuple[tuple[float, ...], dict[str, dict[Address, float]]] = ((), {})
        self._latest: tuple[tuple[float, ...], _Looked] = ((), _Looked(None, None))
        self._looked: OrderedDict[tuple[float, ...], _Looked] = OrderedDict()
        self._sampled: OrderedDict[bytes, _Looked] = OrderedDict()
        self._many: _Many | None = None

    # -- one set of sizes --------------------------------------------------------------------------------------

    def figure(self, wanted: Wanted, sizes: Sizes_) -> Any:
        """Value for floats, or an array for arrays; NaN where it does not happen or the gear does not go together."""
        if self._many is not None and self._many.asked() is sizes:
            return self._of_many(wanted, self._many)
        values = self.bound.values(sizes)
        count = max((np.size(value) for value in values.values()), default=1)
        if count > 1:
            arrays = {n: np.asarray(v, dtype=float) for n, v in values.items()}
            middle = {name: float(np.mean(value)) for name, value in arrays.items()}
            self._many = _Many(weakref.ref(sizes, self._forget), arrays, middle, count)
            return self._of_many(wanted, self._many)
        plain = {name: float(np.asarray(value).reshape(-1)[0]) for name, value in values.items()}
        key = tuple(plain.values())
        if key in self._looked:
            return float(_figure(wanted, self._looked[key])[0])
        if wanted.what == "lead":
            return float(self._lead(wanted, plain)[0])
        return float(_figure(wanted, self._once(wanted, plain, key))[0])

    def _once(self, wanted: Wanted, values: Mapping[str, float], key: tuple[float, ...]) -> _Looked:
        """A set of sizes of which one position is asked, as a corner of what may be made: both ends ask in turn."""
        asked = (*key, wanted.position, wanted.what in DETAILS)
        if self._latest[0] != asked:
            self._latest = (asked, self._solve(values, (wanted.position,), details=wanted.what in DETAILS))
        return self._latest[1]

    def _lead(self, wanted: Wanted, values: Figures) -> Array:
        """Lead alone: the gear at the dead centres is all that it takes."""
        try:
            side = self.bound.of(values)
            crank = np.stack([Piston.of(side.gear).front_dead_centre, Piston.of(side.gear).back_dead_centre])[None]
            valve = self.bound.kind.move(side.gear, crank, wanted.position, keep=("valve",)).place("valve")[0]
        except AsmadeError:
            return np.array([np.nan])
        end = _end(wanted)
        sense, lap = side.valve.opening_senses()[end], side.valve.laps()[end]
        return np.asarray(sense * (valve[end] - side.valve.mid) - lap)

    def fault(self, sizes: Sizes_) -> str:
        """Why there is no figure, empty where there is one: sizes not known, or links that cannot meet."""
        missing = self.bound.missing(sizes)
        if missing:
            return NotKnown(self.bound.subject, missing, "").message
        return self._look({n: float(v) for n, v in self.bound.values(sizes).items()}).fault

    def short_mm(self, sizes: Callable[[Address], float]) -> float:
        """How far the worst pair of links is from meeting; 0 where the gear goes together."""
        values = {name: float(value) for name, value in self.bound.values(sizes).items()}
        if any(math.isnan(value) for value in values.values()):
            return 0.0
        return self._look(values).short_mm

    def side(self, sizes: Sizes_) -> Side | None:
        """The side at these sizes; None where it does not go together."""
        return self._look({n: float(v) for n, v in self.bound.values(sizes).items()}).side

    def gradient(self, wanted: Wanted, sizes: Callable[[Address], float]) -> tuple[float, dict[Address, float]]:
        """Value and rate to every size of the book, the valve held as the book sets it."""
        values = {name: float(value) for name, value in self.bound.values(sizes).items()}
        looked = self._look(values)
        value = float(_figure(wanted, looked)[0])
        none = dict.fromkeys(self.bound.reads, 0.0)
        if not np.isfinite(value):
            return np.nan, none
        inner = self._to_sizes(sizes)
        for name, rate in self._rates(wanted, looked, values).items():
            if rate:
                for address, by in inner[name].items():
                    none[address] += rate * by
        return value, none

    def _to_sizes(self, sizes: Callable[[Address], float]) -> dict[str, dict[Address, float]]:
        key = tuple(sizes(address) for address in self.bound.reads)
        if self._inner[0] != key:
            self._inner = (key, self.bound.rates(sizes))
        return self._inner[1]

    def _look(self, values: Mapping[str, float]) -> _Looked:
        key = tuple(values.values())
        looked = self._looked.get(key)
        if looked is None:
            looked = self._solve(values, self.positions)
            self._looked[key] = looked
            if len(self._looked) > KEPT:
                self._looked.popitem(last=False)
        return looked

    def _solve(self, values: Figures, positions: tuple[float, ...], *, details: bool = True) -> _Looked:
        if any(not np.isfinite(value).all() for value in values.values()):
            return _Looked(None, None, "sizes that are not known, or that form no triangle")
        try:
            side = self.bound.of(values)
            found = events(side, positions, details=details)
        except DoesNotAssemble:  # where the valve is set: look how far the links are from meeting
            return _Looked(None, None, *_told(events(self.bound.of(values, as_set=False), positions, details=False)))
        except AsmadeError as fault:
            return _Looked(None, None, fault.message)
        return _Looked(side, found, *_told(found))

    # -- rates -------------------------------------------------------------------------------------------------

    def _rates(self, wanted: Wanted, looked: _Looked, values: Mapping[str, float]) -> dict[str, float]:
        """Rate to every dimension of gear and valve."""
        if wanted.what.endswith(CYCLE):
            plain = replace(wanted, what=wanted.what.removesuffix(CYCLE))
            return {name: 0.01 * rate for name, rate in self._rates(plain, looked, values).items()}
        if wanted.what not in BY_RATES:
            return self._by_steps(wanted, looked, values)
        found = self._forward(looked)
        place, end = self._where(wanted, found.at)
        held = {} if self.bound.measured_mid else self._reset(found)
        table = found.rates[wanted.what][:, place, end, 0]
        by_mid = float(table[found.names.index(MID)])
        rates = {}
        for name, rate in zip(found.names, table.tolist(), strict=True):
            if name in values or name == MID:
                rates[name] = rate + (by_mid * held.get(name, 0.0) if name != MID else 0.0)
        return {name: rate for name, rate in rates.items() if name in values and np.isfinite(rate)}

    def _forward(self, looked: _Looked) -> Sensitivities:
        """Exact rates to every dimension that the book gives, and to the setting on the spindle."""
        if looked.side is None or looked.events is None:
            raise AssertionError(looked.fault)
        if looked.rates is None:
            ours = [name for name in self.bound.node if name in looked.side.names()]
            # a port's width has no part in leads and events; one for both ends is set for each
            names = tuple(dict.fromkeys((*ours, MID)))
            looked.rates = sensitivities_at(looked.side, looked.events, names)
        return looked.rates

    def _reset(self, found: Sensitivities) -> dict[str, float]:
        """By how much the valve is set anew on its spindle, per dimension, by the rule at the place it is set."""
        place = int(np.flatnonzero(found.at.positions == self.bound.set_at)[0])
        kept = found.rates["lead" if self.bound.rule == "equal leads" else "opening"][:, place, :, 0]
        apart = kept[:, 0] - kept[:, 1]
        by_mid = float(apart[found.names.index(MID)])
        return dict(zip(found.names, (-apart / by_mid).tolist(), strict=True))

    def _by_steps(self, wanted: Wanted, looked: _Looked, values: Mapping[str, float]) -> dict[str, float]:
        """By difference quotients, all steps in one solve: for what the forward mode does not give."""
        if wanted not in looked.by_step:
            names = [name for name in values if name in self._solved_for(looked)]
            steps = np.zeros((len(names), 2 * len(names)))
            steps[np.arange(len(names)), np.arange(len(names))] = STEP_MM
            steps[np.arange(len(names)), len(names) + np.arange(len(names))] = -STEP_MM
            moved = {**values, **{name: values[name] + row for name, row in zip(names, steps, strict=True)}}
            figures = np.broadcast_to(_figure(wanted, self._solve(moved, (wanted.position,))), 2 * len(names))
            quotients = (figures[: len(names)] - figures[len(names) :]) / (2 * STEP_MM)
            looked.by_step[wanted] = {
                name: rate for name, rate in zip(names, quotients.tolist(), strict=True) if np.isfinite(rate)
            }
        return looked.by_step[wanted]

    @staticmethod
    def _solved_for(looked: _Looked) -> tuple[str, ...]:
        return () if looked.side is None else (*looked.side.gear.sizes, *VALVE, MID)

    @staticmethod
    def _where(wanted: Wanted, found: Events) -> tuple[int, int]:
        return int(np.flatnonzero(found.positions == wanted.position)[0]), _end(wanted)

    # -- many gears --------------------------------------------------------------------------------------------

    def _forget(self, _: object) -> None:
        """The samples are gone: so is what was worked out for them."""
        self._many = None

    def _of_many(self, wanted: Wanted, many: _Many) -> Array:
        """Figures of sampled gears: a part of them in full, the others by rates and what the full ones leave of them.

        What the full model adds to the rates is a curve along them; it is fitted to the gears that are worked out.
        """
        values, middle, count = many.values, many.middle, many.count
        if any(not np.isfinite(value) for value in middle.values()):
            return np.full(count, np.nan)
        if count <= FEW:
            return self._of_some(wanted, values, count)
        looked = self._look(middle)
        base = float(_figure(wanted, looked)[0])
        if not np.isfinite(base):
            return np.full(count, np.nan)
        rates = self._rates(wanted, looked, middle)
        moved = np.zeros(count)
        for name, rate in rates.items():
            moved = moved + rate * (values[name] - middle[name])
        full = np.linspace(0, count - 1, FEW).astype(int)
        exact = self._of_some(wanted, {n: v[full] if v.size > 1 else v for n, v in values.items()}, FEW)
        known = np.isfinite(exact)
        if known.sum() < FEW // 2:  # some gear among them does not even let its valve be set: rates alone
            return np.where(np.isin(np.arange(count), full[~known]) & known.any(), np.nan, base + moved)
        along, rest = moved[full][known], exact[known] - base - moved[full][known]
        scale = max(float(np.abs(along).max()), 1e-12)
        curve = np.polynomial.polynomial.polyfit(along / scale, rest, 2) if scale > 1e-9 else np.zeros(1)
        answer = base + moved + np.polynomial.polynomial.polyval(moved / scale, curve)
        answer[full] = exact
        return np.asarray(answer)

    def _of_some(self, wanted: Wanted, values: Mapping[str, Array], count: int) -> Array:
        key = b"".join(value.tobytes() for value in values.values())
        if key not in self._sampled:
            self._sampled[key] = self._solve(values, self.positions)
            if len(self._sampled) > KEPT:
                self._sampled.popitem(last=False)
        return np.broadcast_to(_figure(wanted, self._sampled[key]), count)


def _end(wanted: Wanted) -> int:
    return 0 if wanted.end is None else ENDS.index(wanted.end)


def _told(found: Events) -> tuple[str, float]:
    """What does not meet, in words, and by how much at worst."""
    return "; ".join(str(fault) for fault in found.faults), max((f.short_mm for f in found.faults), default=0.0)


def _figure(wanted: Wanted, looked: _Looked) -> Array:
    """One figure of every sample; NaN where the gear does not go together."""
    side, found = looked.side, looked.events
    if side is None or found is None:
        return np.array([np.nan])
    place, end = int(np.flatnonzero(found.positions == wanted.position)[0]), _end(wanted)
    match wanted.what:
        case "lead" | "opening":
            return np.asarray(getattr(found, wanted.what)[place, end])
        case "travel":
            return np.asarray(found.travel[place])
        case "die_room":
            reach = found.die
            return np.array([np.nan]) if reach is None else side.gear["link_half_slot"] - reach.farthest[place]
        case "link_swing":
            return np.array([np.nan]) if found.link_swing is None else found.link_swing.whole[place]
        case what if what.endswith(CYCLE):
            return np.asarray(getattr(found, what.removesuffix(CYCLE)).cycle[place, end])
        case _:
            return np.asarray(getattr(found, wanted.what).per_cent[place, end])


@lru_cache(maxsize=16)
def model_of(bound: Bound, positions: tuple[float, ...]) -> Model:
    """The model of a side: the same for all who ask of the same gear at the same positions."""
    return Model(bound, positions)


# ---------------------------------------------------------------------- for the requirements
def positions_of(relation: Relation) -> tuple[float, ...]:
    """Reverser positions it is asked at: +1 full forward to -1 full backward."""
    if relation.text("between") == "gears":
        return (1.0, -1.0)
    said = relation.fields.get("at", 1.0)
    listed = said if isinstance(said, list | tuple) else (said,)
    for each in listed:
        if isinstance(each, bool) or not isinstance(each, int | float) or not -1 <= each <= 1:
            raise OutOfRange(
                f"{relation.kind} {relation.name!r} at",
                got=each,
                allowed="-1 (full backward) to +1 (full forward)",
                way_out="write for example at = [1.0, 0.5, -1.0]",
            )
    return tuple(float(each) for each in listed)


def _asking(scope: Scope) -> tuple[Relation, ...]:
    return (*scope.design.of_kind("valve_event"), *scope.design.of_kind("tractive_effort"))


def positions_asked(scope: Scope) -> tuple[float, ...]:
    """Every reverser position at which the book asks anything of a gear, and full gear both ways."""
    asked = (at for relation in _asking(scope) for at in positions_of(relation))
    return tuple(sorted({1.0, -1.0, *asked}, reverse=True))


def models_of(relation: Relation, scope: Scope) -> tuple[Model, ...]:
    """The models of one ``[[valve_gear]]``, one for each side."""
    positions = positions_asked(scope)
    return tuple(model_of(bound, positions) for bound in bind(relation, scope))


def row_of(terms: tuple[tuple[float, Model, Wanted], ...], at: Callable[[Address], float]) -> Row:
    """A sum of figures as a row linearised at given sizes; its constant is NaN where a figure does not come out."""
    value = 0.0
    rates: dict[Address, float] = {}
    for factor, model, wanted in terms:
        figure, by = model.gradient(wanted, at)
        value += factor * figure
        for address, rate in by.items():
            rates[address] = rates.get(address, 0.0) + factor * rate
    known = math.fsum(rate * at(address) for address, rate in rates.items()) if math.isfinite(value) else 0.0
    return Row(rates, value - known, exact=False)


def sums_in_words(bound: Bound, sizes: Callable[[Address], str]) -> str:
    """Every dimension of gear and valve with its sum and the figures put in, and how the valve stands."""
    sums = (f"{name} = {written(node, sizes)}" for name, node in bound.sums)
    return f"{bound.kind.title} at {bound.place}, {in_words(bound)}; {'; '.join(sums)}"
