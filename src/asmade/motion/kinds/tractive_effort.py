"""What the engine will do at given reverser positions: mean pressure, pull at the tread, steam in a turn.

    [[tractive_effort]]
    name = "what the engine will do"
    gear = "valve gear"                          # may be left out where there is but one
    at = [1.0, 0.5]                              # reverser positions
    pressure = "working_pressure"                # of the gauge, a figure or an amount
    bore = "cylinder@{side}.bore"
    stroke = "2 * wheel@2{side}.crank_radius"
    tread = "wheel@2{side}.tread"
    rod = "piston_rod@{side}.rod.diameter"       # taken off the back end's area; without it nothing is taken off
    back_pressure = "0.02 MPa"                   # of the gauge; these three have placeholders, which say so
    clearance = "0.1"                            # space at each end, part of the swept volume
    diagram_factor = "0.8"                       # what wiredrawing and rounded corners leave
    weight = "weight_on_coupled_wheels"          # N: then the pull is told as a share of what the wheels hold, too
    friction = "0.2"                             # of wheel on rail

Estimates without limits, both cylinders together, without friction; ``least`` and ``most`` judge the pull. Where the
pull over adhesion is more than 1 the wheels slip first. No strength of a boiler or of any part under pressure is worked
out: the boiler code, the inspector and the maker's instructions decide.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from asmade.book.address import Address
from asmade.book.grammar import Node, addresses, evaluate, gradient
from asmade.book.model import Relation
from asmade.measure.errors import OutOfRange, Refused, Unknown, near
from asmade.measure.quantities import read_quantity
from asmade.reckon.requirement import Limits, Row, Unit, written
from asmade.reckon.scope import Scope, only

if TYPE_CHECKING:
    from asmade.motion.bindings.valve_model import Model

KIND = "tractive_effort"
HELP = (
    "estimates of pull, mean pressure and steam in a turn: at, gear, pressure, bore, stroke, tread, rod, "
    "back_pressure, clearance, diagram_factor, weight, friction, least and most of the pull"
)
PRACTICE: Final = "common practice, no source"
USUAL: Final = {"back_pressure": 0.02, "clearance": 0.10, "diagram_factor": 0.80, "friction": 0.20}
"""Placeholders (MPa of the gauge, and bare numbers) where the book states nothing: common practice, no source."""
KINDS: Final = {"pressure": "pressure", "back_pressure": "pressure", "weight": "force"}
PLACEHOLDER_UNITS: Final = {"back_pressure": " MPa"}
UNITS: Final[dict[str, Unit]] = {"mean pressure": "MPa", "pull at the tread": "N", "steam in a turn": "g",
                                 "pull over adhesion": ""}  # fmt: skip
SOURCES: Final = {
    "mean pressure": "expansion and compression along pressure x volume = constant (thermodynamics textbooks)",
    "pull at the tread": "work of all four ends in a turn over the way rolled: d^2 s p/(2 D) of each cylinder, rule of "
    "locomotive handbooks",
    "steam in a turn": "dry saturated steam (steam tables, from memory, 0.1 to 1.5 MPa absolute); condensation adds a "
    f"third to as much again: {PRACTICE}",
    "pull over adhesion": "pull over friction x weight on the coupled wheels, plain statics; over 1 the wheels slip",
}
USED: Final = {
    "mean pressure": ("back_pressure", "clearance", "diagram_factor"),
    "pull at the tread": ("back_pressure", "clearance", "diagram_factor"),
    "steam in a turn": ("back_pressure", "clearance"),
    "pull over adhesion": ("back_pressure", "clearance", "diagram_factor", "friction"),
}
"""Placeholders that an estimate stands on."""
EVENTS: Final = ("admission", "cutoff", "release", "compression")
Given = Node | float


@dataclass(frozen=True, slots=True)
class Effort:
    """One estimate; ``given`` holds name, and sum or plain amount, of all that goes in besides the events."""

    subject: str
    limits: Limits
    what: str
    position: float
    models: tuple[Model, Model]
    given: tuple[tuple[str, Given], ...]
    placeholders: tuple[str, ...]
    code: str = KIND
    plays: tuple[str, ...] = ()
    to_suit: Address | None = None

    @property
    def group(self) -> str:
        """A finding of its own."""
        return self.subject

    @property
    def unit(self) -> Unit:
        """MPa, N, g or none."""
        return UNITS[self.what]

    @property
    def source(self) -> str:
        """By what sum, on which placeholders, and who set limits."""
        used = [key for key in self.placeholders if key in USED[self.what]]
        said = ", ".join(f"{key} {USUAL[key]:g}{PLACEHOLDER_UNITS.get(key, '')}" for key in used)
        stands = f"; placeholders, {PRACTICE}: {said}" if said else ""
        return f"{SOURCES[self.what]}{stands}; {self.limits.source}"

    @property
    def reads(self) -> tuple[Address, ...]:
        """Every size of both gears and every size and figure put in."""
        ours = (a for _, node in self.given if not isinstance(node, float) for a in addresses(node))
        return tuple(dict.fromkeys((*(a for model in self.models for a in model.bound.reads), *ours)))

    def evaluate(self, sizes: Callable[[Address], Any]) -> Any:
        """Value for floats or arrays; NaN where a size is not known or a port never opens."""
        found = [model.figure(wanted, sizes) for model, wanted in self._wanted()]
        found += [node if isinstance(node, float) else evaluate(node, sizes) for _, node in self.given]
        value = self._sum(found)
        return value if value.ndim else float(value)

    def linear(self, at: Callable[[Address], float] | None = None) -> Row | None:
        """Exact rates of the events, carried through central differences of the sum."""
        if at is None:
            return None
        import numpy as np  # noqa: PLC0415  # only a whole check gets here

        inner = [model.gradient(wanted, at) for model, wanted in self._wanted()]
        inner += [(node, {}) if isinstance(node, float) else gradient(node, at) for _, node in self.given]
        values = np.array([value for value, _ in inner], dtype=float)
        rates = dict.fromkeys(self.reads, 0.0)
        if np.isnan(values).any():
            return Row(rates, math.nan, exact=False)
        steps = 1e-6 * np.maximum(np.abs(values), 1e-3)
        up, down = (self._sum(list(values[:, None] + sign * np.diag(steps))) for sign in (1.0, -1.0))
        for by, (_, terms) in zip(((up - down) / (2 * steps)).tolist(), inner, strict=True):
            for address, rate in terms.items():
                rates[address] += by * rate
        value = float(self._sum(list(values)))
        return Row(rates, value - math.fsum(rate * at(a) for a, rate in rates.items()), exact=False)

    def working(self, sizes: Callable[[Address], str]) -> str:
        """What it stands on: every figure put in, then both gears."""
        from asmade.motion.bindings.valve_model import sums_in_words  # noqa: PLC0415

        put_in = (
            f"{name} = {node:g}{f' ({PRACTICE})' if name in self.placeholders else ''}"
            if isinstance(node, float)
            else f"{name} = {written(node, sizes)}"
            for name, node in self.given
        )
        gears = (sums_in_words(model.bound, sizes) for model in self.models)
        return f"{self.what} by {SOURCES[self.what]}: {'; '.join((*put_in, *gears))}"

    def _wanted(self) -> Iterator[tuple[Model, Any]]:
        from asmade.motion.bindings.valve_model import CYCLE, Wanted  # noqa: PLC0415

        for model in self.models:
            for end in ("front", "back"):
                for event in EVENTS:
                    yield model, Wanted(f"{event}{CYCLE}", self.position, end)

    def _sum(self, values: list[Any]) -> Any:
        """Of 16 events and what is given; NaN for amounts that make no sense."""
        import numpy as np  # noqa: PLC0415

        from asmade.motion.valves import effort  # noqa: PLC0415

        every = [np.asarray(value, dtype=float) for value in values]
        put = dict(zip((name for name, _ in self.given), every[16:], strict=True))
        sound = np.asarray(np.all(np.stack(np.broadcast_arrays(*(v > 0 for v in every[16:]))), axis=0))
        supply, back = (put[key] + effort.ATMOSPHERE_MPA for key in ("pressure", "back_pressure"))
        clearance, factor = put["clearance"], put["diagram_factor"]
        ends = [(every[at], every[at + 1], every[at + 2], every[at + 3]) for at in range(0, 16, 4)]
        swept = [self._swept(put, side, back=back) for side in "RL" for back in (False, True)]
        sound = sound & np.all(np.stack(np.broadcast_arrays(*(each > 0 for each in swept))), axis=0)
        with np.errstate(invalid="ignore", divide="ignore"):
            if self.what == "steam in a turn":
                dense = effort.steam_densities(supply), effort.steam_densities(back)
                value: Any = sum(
                    effort.steam_of(end[1], end[3], volume, *dense, clearance)
                    for end, volume in zip(ends, swept, strict=True)
                )
            else:
                means = [effort.mean_pressure_of(*end, supply, back, clearance, factor) for end in ends]
                work = [mean * volume for mean, volume in zip(means, swept, strict=True)]
                value = sum(work) / sum(swept)
            if self.what.startswith("pull"):
                value = sum(each / (math.pi * put[f"tread {s}"]) for each, s in zip(work, "RRLL", strict=True))
            if self.what == "pull over adhesion":
                value = value / (put["friction"] * put["weight"])
        return np.where(sound, value, np.nan)

    @staticmethod
    def _swept(put: dict[str, Any], side: str, *, back: bool) -> Any:
        """Volume (mm3) swept at one end: the piston rod takes its own off the back one, where it is given."""
        rod = put.get(f"rod {side}", 0.0) if back else 0.0
        return math.pi / 4 * (put[f"bore {side}"] ** 2 - rod**2) * put[f"stroke {side}"]


def requirements(relation: Relation, scope: Scope) -> Iterator[Effort]:
    """Mean pressure, pull and steam at each position; against adhesion where a weight is named."""
    from asmade.motion.bindings.valve_model import positions_of  # noqa: PLC0415

    only(relation, "gear", "at", "pressure", "bore", "stroke", "tread", "rod", *USUAL, "weight", "least", "most")
    if relation.places:
        raise Refused(f"{KIND} {relation.name!r}", got=relation.places, reason="it speaks of the whole engine",
                      way_out="take places away and write {side} in the sums")  # fmt: skip
    models = _models(relation, scope)
    given: list[tuple[str, Given]] = [("pressure", _given(relation, scope, "pressure"))]
    for key in ("bore", "stroke", "tread", *(("rod",) if relation.text("rod") else ())):
        given += [(f"{key} {m.bound.side}", _given(relation, scope, key, m.bound.place)) for m in models]
    asked = ["back_pressure", "clearance", "diagram_factor"]
    weight = bool(relation.text("weight"))
    if weight:
        given.append(("weight", _given(relation, scope, "weight")))
        asked.append("friction")
    given += [(key, _given(relation, scope, key)) for key in asked]
    placeholders = tuple(key for key in asked if not relation.text(key))
    low, high = (_limit(relation, key) for key in ("least", "most"))
    for at in positions_of(relation):
        for what in UNITS:
            if what == "pull over adhesion" and not weight:
                continue
            judged = what == "pull at the tread" and not (low is None and high is None)
            said = relation.text("source") or "set by the builder"
            limits = Limits(low, high, f"limits: {said}") if judged else Limits(None, None, "an estimate, no limit set")
            yield Effort(f"{relation.name}, {what} at reverser {at:+g}", limits, what, at, models, tuple(given),
                         placeholders)  # fmt: skip


def _models(relation: Relation, scope: Scope) -> tuple[Model, Model]:
    from asmade.motion.bindings.valve_model import models_of  # noqa: PLC0415

    gears = {each.name: each for each in scope.design.of_kind("valve_gear")}
    named = relation.text("gear") or (next(iter(gears)) if len(gears) == 1 else "")
    if named not in gears:
        raise Unknown(f"{KIND} {relation.name!r} gear", got=named or "nothing", near=near(named, gears),
                      way_out=f"gears of the book: {', '.join(gears) or 'none yet: add a [[valve_gear]]'}")  # fmt: skip
    by_side = {model.bound.side: model for model in models_of(gears[named], scope)}
    if len(by_side) < 2:
        raise Refused(f"{KIND} {relation.name!r}", got=", ".join(by_side), reason=f"{named} stands at one side only",
                      way_out='write places = ["L", "R"] in it')  # fmt: skip
    return by_side["R"], by_side["L"]


def _given(relation: Relation, scope: Scope, key: str, place: str = "") -> Given:
    """A sum of sizes and figures, or an amount; the placeholder only where there is one and nothing is said."""
    said, where = relation.text(key), f"{KIND} {relation.name!r} {key}"
    if not said:
        if key in USUAL:
            return USUAL[key]
        raise Refused(f"{KIND} {relation.name!r}", got=dict(relation.fields), reason=f"{key} is missing",
                      way_out=f'add {key} = "..."; a figure that is not known yet may stand empty')  # fmt: skip
    if not (said[0].isdigit() or said[0] in ".-") or key in ("bore", "stroke", "tread", "rod"):
        return scope.node(said, place, relation)
    if key in KINDS:
        value = float(read_quantity(said, kind=KINDS[key], thing=where).value)
    else:
        try:
            value = float(said)
        except ValueError:
            raise Refused(where, got=said, reason="it is no plain number", way_out=f'write "{USUAL[key]:g}"') from None
    if not 0 < value < math.inf or (key not in KINDS and value > 1):
        allowed = "more than 0" if key in KINDS else "above 0 up to 1"
        raise OutOfRange(where, got=said, allowed=allowed, source=PRACTICE)
    return value


def _limit(relation: Relation, key: str) -> float | None:
    said = relation.text(key)
    return float(read_quantity(said, kind="force", thing=f"{KIND} {relation.name!r} {key}").value) if said else None


__all__ = ["HELP", "KIND", "Effort", "requirements"]
