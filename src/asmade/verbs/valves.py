"""valves: what the engine's valves do at drawn, chosen, made or best known sizes; what is uneven and what to set."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal

import numpy as np

from asmade.book.address import Address
from asmade.book.model import Build
from asmade.measure.errors import Refused, Unknown, near
from asmade.motion.bindings.valves import Bound, NotKnown, engine_of, in_words, sides_of
from asmade.motion.gears import gear
from asmade.motion.valves.best import (
    Adjust,
    BestSetting,
    Remake,
    Unevenness,
    best_setting,
    default_adjusts,
    worth_remaking,
)
from asmade.motion.valves.engine import Engine, Side, SideName
from asmade.motion.valves.instructions import Step, setting_out
from asmade.motion.valves.report import EngineEvents, engine_events
from asmade.motion.valves.sensitivities import Matters, sensitivities, what_matters
from asmade.reckon.requirement import Finding
from asmade.reckon.system import System, compile_system
from asmade.reckon.values import COMPUTED, MADE, Values, compute
from asmade.verbs.store import Path_, read_build
from asmade.verbs.valve_advice import Advice, advise

Which = Literal["best", "drawn", "chosen", "made"]
WHICH: Final[tuple[Which, ...]] = ("best", "drawn", "chosen", "made")
WAYS: Final[Mapping[Which, str]] = {
    "best": "give them with `asmade drawn`, or choose or make them",
    "drawn": "give them with `asmade drawn`, or look at --values best",
    "chosen": "choose them with `asmade choose`, or look at --values best",
    "made": "measure them and write them down with `asmade made`, or look at --values drawn",
}
SIDE_WORDS: Final[Mapping[str, str]] = {"R": "right", "L": "left"}


@dataclass(frozen=True, slots=True)
class Gears:
    """Both sides of a gear at one kind of values.

    ``not_made``: with made values, the sizes of the gear that nobody has measured yet; they are taken as best known.
    ``measured`` is how many have been.
    """

    name: str
    title: str
    which: Which
    how_set: str
    engine: Engine
    bound: tuple[Bound, Bound]
    system: System = field(repr=False)
    values: Values | None = field(default=None, repr=False)
    known: Values | None = field(default=None, repr=False)
    not_made: tuple[str, ...] = ()
    measured: int = 0

    def pitch_of(self, side: SideName) -> tuple[str, float] | None:
        """Callout and pitch (mm) of the valve spindle's thread, where the book knows it."""
        bound = self.bound[0] if side == "R" else self.bound[1]
        callout = self.system.callouts.get(bound.spindle_thread, "") if bound.spindle_thread else ""
        if not callout:
            return None
        from asmade.measure.threads import read_thread  # noqa: PLC0415  # only gears with a thread need the tables
        from asmade.standards.threads import thread  # noqa: PLC0415

        return callout, float(thread(read_thread(callout)).pitch_mm)


@dataclass(frozen=True, slots=True)
class Estimate:
    """Something the engine will do by the book's ``[[tractive_effort]]``; None where a figure is not known."""

    subject: str
    value: float | None
    unit: str
    source: str
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ValvesResult:
    """Events of both sides, and what to make of them: advice first."""

    gears: Gears
    events: EngineEvents
    advice: tuple[Advice, ...]
    findings: tuple[Finding, ...]
    estimates: tuple[Estimate, ...]

    @property
    def fails(self) -> bool:
        """Whether a limit of the book is not kept, or the gear cannot do its work somewhere."""
        return any(a.grave for a in self.advice) or any(f.verdict == "fails" for f in self.findings)


@dataclass(frozen=True, slots=True)
class SideSetting:
    """What to set at one side: the steps in the order of the bench, what they gain, what they stand on."""

    side: SideName
    best: BestSetting
    steps: tuple[Step, ...]
    thread: str
    addresses: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SetResult:
    """What to set, side by side."""

    gears: Gears
    sides: tuple[SideSetting, SideSetting]


@dataclass(frozen=True, slots=True)
class Matter:
    """One dimension: the sum of the book that gives it, and what being out by ``change`` does."""

    effect: Matters
    part: str
    given_by: str
    angle: bool


@dataclass(frozen=True, slots=True)
class SideMatters:
    """Which dimensions matter at one side, and which parts are worth making again."""

    side: SideName
    rows: tuple[Matter, ...]
    before: Unevenness
    remakes: tuple[Remake, ...]


@dataclass(frozen=True, slots=True)
class MattersResult:
    """What matters, side by side; ``not_made`` is why nothing can be said of making again, where that is so."""

    gears: Gears
    sides: tuple[SideMatters, SideMatters]
    not_made: str


def valves(
    path: Path_, *, values: str = "best", positions: tuple[float, ...] = (), gear_name: str = ""
) -> ValvesResult:
    """Events at reverser positions, +1 full forward to -1 full backward; without any at those usual for the gear.

    ``values``: best, drawn, chosen or made sizes; with made ones what is not measured yet is taken as best known and
    named. Refuses a gear that goes together at none of the positions, and a
    valve that never opens its ports.
    """
    return valves_of(read_build(path), values=values, positions=positions, gear_name=gear_name)


def valves_of(
    build: Build, *, values: str = "best", positions: tuple[float, ...] = (), gear_name: str = ""
) -> ValvesResult:
    """The same of a build already read."""
    gears = gears_of(build, values, gear_name)
    found = engine_events(gears.engine, positions or None)
    _refuse_what_does_not_work(gears, found)
    threads = {side: gears.pitch_of(side) for side, _ in gears.engine.sides()}
    return ValvesResult(gears, found, advise(gears.engine, found, gears.bound, threads), _findings(gears),
                        _estimates(gears))  # fmt: skip


def gears_of(build: Build, values: str = "best", gear_name: str = "") -> Gears:
    """Both sides of the gear of a build at best, drawn, chosen or made sizes; what is not known is named."""
    if values not in WHICH:
        raise Unknown("values", got=values, near=near(values, WHICH), way_out=f"one of: {', '.join(WHICH)}")
    which: Which = values
    if which in ("drawn", "chosen"):
        build = replace(build, readings=(), chosen={} if which == "drawn" else build.chosen)
    system = compile_system(build)
    return _gears(which, system, None if which in ("drawn", "chosen") else compute(build, system), gear_name)


def gears_at(values: Values, gear_name: str = "") -> Gears:
    """Both sides of a gear at best known sizes that are already worked out."""
    return _gears("best", values.system, values, gear_name)


def _gears(which: Which, system: System, known: Values | None, gear_name: str) -> Gears:
    pair = sides_of(system.scope, gear_name)
    not_made, measured = _not_made(pair, known) if which == "made" and known is not None else ((), 0)
    engine = engine_of(pair, _sizes(system, known), system.scope.design.leads, way_out=WAYS[which])
    return Gears(pair[0].name, gear(pair[0].gear).title, which, in_words(pair[0]), engine, pair, system,
                 known if which == "best" else None, known, not_made, measured)  # fmt: skip


def _sizes(system: System, known: Values | None) -> Callable[[Address], Any]:
    if known is None:
        return lambda address: float(system.paper[system.at(address)])
    return known.of


def _not_made(pair: tuple[Bound, Bound], known: Values) -> tuple[tuple[str, ...], int]:
    """Sizes of both gears that nobody has measured, and how many are measured; refuses where none is."""
    made = _made(known)
    reads = dict.fromkeys(address for bound in pair for address in bound.reads)
    sizes = [a for a in reads if known.system.dimensions[known.system.at(a)] is not None]
    lacking = tuple(str(a) for a in sizes if not made[known.system.at(a)])
    if len(lacking) == len(sizes):
        raise NotKnown(f"{pair[0].name} as made, none of its {len(sizes)} sizes is measured yet", lacking, WAYS["made"])
    return lacking, len(sizes) - len(lacking)


def _made(known: Values) -> list[bool]:
    """Sizes that are measured, computed from nothing else, or no sizes of parts at all."""
    system = known.system
    made = [
        dimension is None or known.source[at] == MADE for at, dimension in enumerate(system.dimensions)
    ]  # fmt: skip
    for at in system.order:
        if known.source[at] == COMPUTED:
            from asmade.book.grammar import addresses  # noqa: PLC0415

            made[at] = all(made[system.index[a]] for a in addresses(system.computed[at].node))
    return made


def _refuse_what_does_not_work(gears: Gears, found: EngineEvents) -> None:
    for side, _ in gears.engine.sides():
        rows = [row for row in found.positions if row.side == side]
        notices = [n for n in found.notices if n.side == side]
        if all(row.ends is None for row in rows):
            told = "; ".join(n.text for n in notices if n.code == "does_not_assemble")
            raise Refused(
                f"{gears.title}, {SIDE_WORDS[side]} side", got=f"its {gears.which} sizes", reason=told,
                way_out="check these lengths and the places of their fixed pins against the drawing",
            )  # fmt: skip
        if all(row.ends is None or all(end.opening_mm <= 0 for end in row.ends) for row in rows):
            told = next(n.text for n in notices if n.code == "never_opens")
            raise Refused(
                f"lap of the valve, {SIDE_WORDS[side]} side", got=f"its {gears.which} sizes",
                reason=f"a lap beyond half the valve's travel never opens the port: {told}",
                way_out="lengthen the travel or shorten the lap",
            )  # fmt: skip


def _findings(gears: Gears) -> tuple[Finding, ...]:
    """The book's own limits on this gear; at best known sizes only, where they are findings of the book."""
    if gears.values is None:
        return ()
    from asmade.reckon.findings import in_order, look_at  # noqa: PLC0415

    asked = [r for r in gears.system.requirements if r.code in ("valve_gear", "valve_event", "tractive_effort")]
    return in_order(tuple(look_at(gears.values, asked, samples=0)))


def _estimates(gears: Gears) -> tuple[Estimate, ...]:
    """What the engine will do at these very sizes, in the order of the book."""
    sizes = _sizes(gears.system, gears.known)
    found = []
    for asked in gears.system.requirements:
        if asked.code != "tractive_effort":
            continue
        missing = tuple(str(a) for a in asked.reads if np.isnan(sizes(a)))
        value = math.nan if missing else float(asked.evaluate(sizes))
        found.append(Estimate(asked.subject, None if math.isnan(value) else value, asked.unit, asked.source, missing))
    return tuple(found)


# ---------------------------------------------------------------------- what to set
def set_valves(path: Path_, *, values: str = "best", gear_name: str = "", adjust: tuple[str, ...] = ()) -> SetResult:
    """The best setting of each side, and the steps to it.

    ``adjust`` names what may be adjusted: dimensions of the gear, ``mid`` (the valve on its spindle), or parts still to
    be made; where none are named, what makes the link stand still at the dead centres and the valve on its spindle, or
    in a gear without a link of that kind all that it lets adjust.
    """
    return set_valves_of(read_build(path), values=values, gear_name=gear_name, adjust=adjust)


def set_valves_of(
    build: Build, *, values: str = "best", gear_name: str = "", adjust: tuple[str, ...] = ()
) -> SetResult:
    """The same of a build already read."""
    gears = gears_of(build, values, gear_name)
    found = [
        _setting(gears, name, side, bound, adjust)
        for (name, side), bound in zip(gears.engine.sides(), gears.bound, strict=True)
    ]
    return SetResult(gears, (found[0], found[1]))


def _setting(gears: Gears, name: SideName, side: Side, bound: Bound, adjust: tuple[str, ...]) -> SideSetting:
    best = best_setting(side, _adjusts(side, adjust))
    thread = gears.pitch_of(name)
    steps = setting_out(side, best, spindle_pitch_mm=thread[1] if thread else None)
    return SideSetting(name, best, steps, thread[0] if thread else "", _given_by(bound))


def _adjusts(side: Side, names: tuple[str, ...]) -> tuple[Adjust, ...]:
    usual = default_adjusts(side)
    kind = gear(side.gear.gear)
    if not names:
        wanted = ("mid", *kind.still_by)
        return tuple(adjust for adjust in usual if adjust.name in wanted) if kind.still_by else usual
    angles = {size.name for size in kind.sizes if size.kind == "angle"}
    at_hand = {adjust.name: adjust for adjust in usual}
    found = []
    for name in dict.fromkeys(names):
        if name not in side.names():
            raise Unknown("dimension to adjust", got=name, near=near(name, side.names()),
                          way_out=f"usual: {', '.join(at_hand)}; any other of the gear may be named too")  # fmt: skip
        reach = 0.09 if name in angles else 1.5
        here = float(side.size(name))
        found.append(at_hand.get(name) or Adjust(name, here - reach, here + reach))
    return tuple(found)


def _given_by(bound: Bound) -> dict[str, str]:
    from asmade.reckon.requirement import written  # noqa: PLC0415

    return {name: written(node, lambda _: "") for name, node in bound.sums}


# ---------------------------------------------------------------------- what matters
def matters(
    path: Path_, *, values: str = "best", gear_name: str = "", progress: Callable[[int, int], None] | None = None
) -> MattersResult:
    """What being a tenth of a millimetre (half a degree) out in each dimension does; which parts to make again."""
    return matters_of(read_build(path), values=values, gear_name=gear_name, progress=progress)


def matters_of(
    build: Build, *, values: str = "best", gear_name: str = "", progress: Callable[[int, int], None] | None = None
) -> MattersResult:
    """The same of a build already read."""
    gears = gears_of(build, values, gear_name)
    drawn, why = None, "sizes are those of the drawing"
    if gears.which in ("best", "made"):
        try:
            drawn, why = gears_of(build, "drawn", gear_name), ""
        except Refused as fault:
            why = fault.message
    found = []
    for at, ((name, side), bound) in enumerate(zip(gears.engine.sides(), gears.bound, strict=True)):
        remakes: tuple[Remake, ...] = ()
        adjusts = default_adjusts(side)
        if drawn is not None:
            remakes = worth_remaking(side, drawn.engine.sides()[at][1], adjusts, progress=progress)
        before = remakes[0].before if remakes else best_setting(side, adjusts).after
        found.append(SideMatters(name, _rows(side, bound), before, remakes))
    return MattersResult(gears, (found[0], found[1]), why)


def _rows(side: Side, bound: Bound) -> tuple[Matter, ...]:
    sizes = {size.name: size for size in bound.kind.sizes}
    given = _given_by(bound)
    names = tuple(name for name in given if name in side.names() and name != "link_half_slot")
    return tuple(
        Matter(row, sizes[row.name].part if row.name in sizes else "valve", given[row.name],
               row.name in sizes and sizes[row.name].kind == "angle")
        for row in what_matters(sensitivities(side, names=names, hold="equal leads"), side)
        if row.lead_mm > 1e-6 or row.cutoff_per_cent > 1e-6
    )  # fmt: skip
