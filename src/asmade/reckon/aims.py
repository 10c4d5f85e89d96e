"""Aims: what a size may be made to now, so that every requirement it is in keeps its chance.

Made sizes are facts; sizes made later to suit may move within their reach; the rest keep their spread. What is left is
less a guard band for the instrument only (ISO 14253-1). Capability tells the chance of hitting it, never narrows it.
The target lies on the side where metal can still come off.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal
from weakref import WeakKeyDictionary

import numpy as np

from asmade.book.address import Address, read_address
from asmade.book.kinds import Approach
from asmade.book.model import Build, Dimension, Instrument
from asmade.book.sizes import read_size
from asmade.reckon.capability import Learned, material_of, tool_of
from asmade.reckon.demands import Relaxation
from asmade.reckon.feasible import Bound, Empty, Interval, Limit, interval
from asmade.reckon.findings import unchanged
from asmade.reckon.requirement import Requirement
from asmade.reckon.rows import BaseRow, base_row
from asmade.reckon.system import System
from asmade.reckon.values import CHOSEN, DRAWN, MADE, SOURCES, SUITED, Values

GUARD: Final = 1.645
"""ISO 14253-1: one-sided guard band in standard uncertainties for 95 % conformance."""
METAL_SIDE: Final = 0.25
"""The target lies this far into the interval from the side where metal can still come off: common practice, no
source. One that overshoots still lies inside; one that undershoots can be cut again."""
WORTH_PROVING: Final = 4.0
"""A band narrower than this many guard bands is worth a warning: common practice, no source."""

State = Literal["open", "made", "empty", "no requirement", "not known"]


@dataclass(frozen=True, slots=True)
class Reason:
    """One requirement that sets an end of the interval."""

    subject: str
    side: Literal["low", "high"]
    source: str


@dataclass(frozen=True, slots=True)
class Aim:
    """What a size may be made to, in mm (rad for angles)."""

    dimension: Address
    piece: Address
    state: State
    low: float | None
    target: float | None
    high: float | None
    approach: Approach
    because: tuple[Reason, ...]
    mates: tuple[tuple[str, float, str], ...]
    guard: float
    instrument: str
    chance: float | None
    warnings: tuple[str, ...]
    conflict: tuple[str, ...] = ()
    cure: tuple[str, ...] = ()
    angle: bool = False


def aim_of(build: Build, values: Values, address: Address, instrument: str = "") -> Aim:
    """The aim for one size, by place. ``instrument`` names what it will be measured with (guard band)."""
    system = values.system
    at = system.at(address)
    address = system.names[at]
    dimension = system.dimensions[at]
    if dimension is None:
        return _none(build, values, at, "not known", ("it is a figure or a computed quantity: it is not cut",))
    gauge = _gauge(build, dimension, float(values.best[at]), instrument)
    found = reach_of(values, at)
    if values.source[at] == MADE and found is None:
        return _none(build, values, at, "made", ())
    if isinstance(found, Empty):
        words, cure = _why_empty(values, at, found)
        return _none(build, values, at, "empty", (), conflict=words, cure=cure)
    if found is None or (found.low is None and found.high is None):
        return _as_chosen(build, values, at, dimension, gauge)
    return _between(build, values, at, dimension, gauge, found)


def reach_of(values: Values, at: int) -> Interval | Empty | None:
    """Interval of a size from all requirements it is tied to; None where it is in none whose mates are known."""
    limits, free = limits_about(values, at)
    if not limits:
        return None
    return interval(limits, free, str(values.system.names[at]))


def limits_about(values: Values, at: int) -> tuple[list[Limit], list[Bound]]:
    """Every requirement tied to a size through sizes made later to suit, and the free sizes with their reach."""
    rows = rows_of(values)
    free = {at}
    waiting = [at]
    numbers: dict[int, None] = {}
    while waiting:
        here = waiting.pop()
        for number in rows.by_size.get(here, ()):
            numbers[number] = None
            for other in rows.terms[number]:
                later = values.source[other] == SUITED and other not in rows.before.get(at, frozenset())
                if later and other not in free:
                    free.add(other)
                    waiting.append(other)
    limits = [found for number in numbers if (found := _limit(values, rows, number, free)) is not None]
    bounds = [_bound(values, other, at) for other in free]
    return limits, bounds


@dataclass(frozen=True, slots=True)
class Rows:
    """Base rows of all requirements with limits, by requirement and by size."""

    terms: Mapping[int, Mapping[int, float]]
    constants: Mapping[int, float]
    by_size: Mapping[int, tuple[int, ...]]
    before: Mapping[int, frozenset[int]]


_ROWS: WeakKeyDictionary[Values, Rows] = WeakKeyDictionary()


def rows_of(values: Values, before: Values | None = None) -> Rows:
    """Base rows of a build's requirements, worked out once per `Values`.

    With ``before``, values of the same system, rows of requirements that read nothing that has changed are its own.
    """
    found = _ROWS.get(values)
    if found is None:
        held = None if before is None or before.system is not values.system else _ROWS.get(before)
        found = _ROWS[values] = _rows(values) if held is None or before is None else _rows_after(values, before, held)
    return found


def _rows(values: Values) -> Rows:
    terms: dict[int, Mapping[int, float]] = {}
    constants: dict[int, float] = {}
    for number, requirement in enumerate(values.system.requirements):
        row = _row_with_limits(values, requirement)
        if row is not None:
            terms[number], constants[number] = row.terms, row.constant
    return Rows(terms, constants, _by_size(terms), _before(values.system))


def _row_with_limits(values: Values, requirement: Requirement) -> BaseRow | None:
    if requirement.limits.low is None and requirement.limits.high is None:
        return None
    return base_row(values, requirement)


def _by_size(terms: Mapping[int, Mapping[int, float]]) -> Mapping[int, tuple[int, ...]]:
    found: dict[int, list[int]] = {}
    for number, row in terms.items():
        for at in row:
            found.setdefault(at, []).append(number)
    return {at: tuple(numbers) for at, numbers in found.items()}


def _rows_after(values: Values, before: Values, held: Rows) -> Rows:
    same = unchanged(values, before)
    terms, constants = dict(held.terms), dict(held.constants)
    others = False
    for number in np.flatnonzero(~same).tolist():
        row = _row_with_limits(values, values.system.requirements[number])
        was = terms.pop(number, None)
        if row is not None:
            terms[number], constants[number] = row.terms, row.constant
        others = others or (None if row is None else row.terms.keys()) != (None if was is None else was.keys())
    terms = dict(sorted(terms.items()))
    return Rows(terms, constants, _by_size(terms) if others else held.by_size, held.before)


def _before(system: System) -> Mapping[int, frozenset[int]]:
    """For each size, the to-suit sizes that must be made before it: its mates in what it is itself made to suit."""
    return {
        at: frozenset(
            system.index[a] for n in numbers for a in system.suit_sums[n].terms if system.index[a] != at
        )
        for at, numbers in system.suits.items()
    }  # fmt: skip


def _limit(values: Values, rows: Rows, number: int, free: Iterable[int]) -> Limit | None:
    """One requirement as a limit over the free sizes; None where something in it is not known."""
    system = values.system
    requirement = system.requirements[number]
    free = set(free)
    constant, spread = rows.constants[number], 0.0
    terms: dict[str, float] = {}
    causes: dict[int, float] = {}
    for at, rate in rows.terms[number].items():
        if at in free:
            terms[system.texts[at]] = rate
            continue
        best = float(values.best[at])
        if math.isnan(best):
            return None
        constant += rate * best
        if values.source[at] != MADE:
            for cause, by in values.rows[at].items():
                causes[cause] = causes.get(cause, 0.0) + rate * by
    spread = math.fsum(abs(by) * float(values.bound[cause]) for cause, by in causes.items())
    limits = requirement.limits
    suits = requirement.to_suit
    named = str(suits) if suits is not None and str(suits) in terms else None
    return Limit(
        _limit_name(number, requirement), terms, constant, limits.low, limits.high, spread, named,
    )  # fmt: skip


def _limit_name(number: int, requirement: Requirement) -> str:
    """Members of a group share its subject: the number tells them apart."""
    alone = requirement.group == requirement.subject
    return requirement.subject if alone else f"{requirement.subject} ({number})"


@lru_cache(maxsize=4)
def _by_name(system: System) -> Mapping[str, Requirement]:
    return {_limit_name(number, requirement): requirement for number, requirement in enumerate(system.requirements)}


@lru_cache(maxsize=4)
def _by_subject(system: System) -> Mapping[str, tuple[Requirement, ...]]:
    found: dict[str, list[Requirement]] = {}
    for requirement in system.requirements:
        found.setdefault(requirement.subject, []).append(requirement)
    return {subject: tuple(each) for subject, each in found.items()}


def _bound(values: Values, at: int, of: int) -> Bound:
    """Reach of a free size: of the size asked for, all that is a size; of one made later, as far as it may go."""
    system = values.system
    dimension = system.dimensions[at]
    signed = dimension is None or dimension.signed or dimension.kind in ("position", "angle")
    if at == of:
        return Bound(str(system.names[at]), None if signed else 0.0, None)
    low, high = reach_to_suit(system, at)
    return Bound(str(system.names[at]), low if signed or low is None else max(low, 0.0), high)


def reach_to_suit(system: System, at: int) -> tuple[float | None, float | None]:
    """How far a to-suit size may be moved from the drawing to suit its mates; its own limits come on top of it."""
    paper = float(system.paper[at])
    dimension = system.dimensions[at]
    if math.isnan(paper) or dimension is None:
        return None, None
    share = {"exact": 0.02, "near": 0.1, "free": 0.5}[dimension.kept]
    room = max(0.5, share * paper)
    return paper - room, paper + room


def _gauge(build: Build, dimension: Dimension, size: float, instrument: str) -> Instrument | None:
    if instrument:
        return build.shop.instruments.get(instrument)
    if dimension.of_kind.angle:
        return next((i for i in build.shop.instruments.values() if i.unit == "deg"), None)
    fit = [i for i in build.shop.instruments.values() if i.unit != "deg" and _covers(i, dimension, size)]
    return min(fit, key=lambda i: math.hypot(i.reads_to_mm, i.zero_mm), default=None)


def _covers(instrument: Instrument, dimension: Dimension, size: float) -> bool:
    """Whether an instrument is for such a dimension, as far as the shop's entry says."""
    inside = dimension.kind in ("bore", "slot")
    if instrument.measures and not any(
        word in instrument.measures for word in (("inside",) if inside else ("outside", "length"))
    ):
        return False
    low, high = instrument.range_mm
    return math.isnan(size) or ((low is None or size >= low) and (high is None or size <= high))


def _guard(gauge: Instrument | None, *, angle: bool) -> float:
    if gauge is None:
        return 0.0
    guard = GUARD * math.hypot(gauge.reads_to_mm, gauge.zero_mm)
    return math.radians(guard) if angle else guard


def _between(
    build: Build, values: Values, at: int, dimension: Dimension, gauge: Instrument | None, found: Interval
) -> Aim:
    angle = dimension.of_kind.angle
    guard = _guard(gauge, angle=angle)
    low, high = found.low, found.high
    warnings: list[str] = []
    wide = math.inf if low is None or high is None else high - low
    if gauge is None:
        warnings.append("no instrument in the shop fits: no guard band is taken off")
    if wide < 2 * guard:
        warnings.append(
            f"{gauge.name if gauge else 'the instrument'} (standard uncertainty {guard / GUARD:.3f}) "
            f"cannot prove a band of {wide:.3f}: no guard band is left of it"
        )
        guard_taken = 0.0
    else:
        guard_taken = guard
        if wide < WORTH_PROVING * guard:
            warnings.append(f"the guard band takes {2 * guard / wide:.0%} of the band of {wide:.3f}")
    low = None if low is None else low + guard_taken
    high = None if high is None else high - guard_taken
    target = _target(values, at, dimension, low, high)
    learned = _learned(build, values, at, dimension, target)
    chance = None
    if learned is not None:
        chance = learned.belief.chance_within(
            None if low is None else low - target, None if high is None else high - target
        )
        if chance < 0.5:
            warnings.append(f"{learned.words}: it hits this band only {chance:.0%} of the time")
    system = values.system
    because = _because(system, found, str(system.names[at]))
    return Aim(
        system.names[at], build.piece_at(system.names[at]), "open", low, target, high, dimension.of_kind.approach,
        because, _mates(values, at, because), guard_taken, gauge.name if gauge else "", chance, tuple(warnings),
        angle=angle,
    )  # fmt: skip


def _because(system: System, found: Interval, own: str) -> tuple[Reason, ...]:
    """The requirements, and the reach of sizes made later, that set each end; each named once for its end."""
    named = _by_name(system)
    reasons: dict[tuple[str, str], Reason] = {}
    sides: tuple[tuple[Literal["low", "high"], tuple[str, ...]], ...]
    sides = (("low", found.binding_low), ("high", found.binding_high))
    for side, binding in sides:
        for name in binding:
            requirement = named.get(name)
            subject = requirement.subject if requirement else name
            if subject != own:
                source = requirement.source if requirement else "as far as it may be moved to suit"
                reasons.setdefault((side, subject), Reason(subject, side, source))
    return tuple(reasons.values())


def _target(values: Values, at: int, dimension: Dimension, low: float | None, high: float | None) -> float:
    """Where to aim inside the interval.

    A size that is chosen or drawn is aimed at as long as it serves; one that does not is moved inside, by what its
    making scatters where only one end is set. A size
    made to suit is aimed at on the metal side of a band; where there is room to spare it stays where it was wanted.
    """
    paper, best = float(values.system.paper[at]), float(values.best[at])
    _, reach = values.spread(at)
    wanted = best if math.isnan(paper) or values.source[at] == SUITED else paper
    if low is None or high is None:
        ends = [end for end in (low, high) if end is not None]
        if math.isnan(wanted):
            return ends[0] if ends else math.nan
        if low is not None:
            return wanted if wanted >= low else low + reach
        return wanted if high is None or wanted <= high else high - reach
    into = min(METAL_SIDE * (high - low), reach) if reach else METAL_SIDE * (high - low)
    tight = high - low <= 4 * reach
    if math.isnan(wanted) or (values.source[at] == SUITED and tight):
        approach = dimension.of_kind.approach
        return high - into if approach == "from above" else low + into if approach == "from below" else (low + high) / 2
    return wanted if low <= wanted <= high else min(max(wanted, low + into), high - into)


def _learned(build: Build, values: Values, at: int, dimension: Dimension, target: float) -> Learned | None:
    if dimension.of_kind.angle:
        return None
    piece = build.piece_at(values.system.names[at])
    return values.capability.of(
        dimension.made_by, tool_of(build, piece, dimension), material_of(build, piece), target
    )  # fmt: skip


def _mates(values: Values, at: int, because: Iterable[Reason]) -> tuple[tuple[str, float, str], ...]:
    """What the other sizes of the binding requirements are, and how each is known."""
    system = values.system
    named = _by_subject(system)
    found: dict[int, None] = {}
    for subject in dict.fromkeys(reason.subject for reason in because):
        for requirement in named.get(subject, ()):
            found |= dict.fromkeys(system.index[a] for a in requirement.reads if system.index[a] != at)
    return tuple(
        (str(system.names[m]), float(values.best[m]), SOURCES[int(values.source[m])]) for m in found
    )  # fmt: skip


def _as_chosen(build: Build, values: Values, at: int, dimension: Dimension, gauge: Instrument | None) -> Aim:
    """With no requirement: chosen (else drawn) with its stated tolerance, if it has one."""
    system = values.system
    address = system.names[at]
    paper = float(system.paper[at])
    if math.isnan(paper):
        why = f"{address} is neither drawn nor chosen, and nothing supplies it"
        return _none(build, values, at, "not known", (why,))
    chosen = build.chosen_for(address)
    text = chosen.size if chosen and chosen.size else dimension.drawn_at.get(address.place, dimension.drawn)
    written = read_size(text, dimension, "mm" if chosen and chosen.size else build.design.drawing_unit)
    low = high = None
    source = "chosen" if chosen and chosen.size else "drawn"
    if written is not None and written.lower is not None and written.upper is not None:
        low, high = written.value + float(written.lower), written.value + float(written.upper)
    because = (Reason(f"{source} {text}", "low", "its own figure: nothing else asks anything of it"),)
    return Aim(
        address, build.piece_at(address), "no requirement", low, paper, high, dimension.of_kind.approach, because, (),
        0.0, gauge.name if gauge else "", None, (), angle=dimension.of_kind.angle,
    )  # fmt: skip


def _none(
    build: Build, values: Values, at: int, state: State, warnings: tuple[str, ...], *,
    conflict: tuple[str, ...] = (), cure: tuple[str, ...] = (),
) -> Aim:  # fmt: skip
    address = values.system.names[at]
    dimension = values.system.dimensions[at]
    return Aim(
        address, build.piece_at(address), state, None, None, None,
        dimension.of_kind.approach if dimension else "either", (), (), 0.0, "", None, warnings, conflict, cure,
    )  # fmt: skip


def _why_empty(values: Values, at: int, found: Empty) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What conflicts, in the names of the requirements, and the nearest cures."""
    system = values.system
    named = _by_name(system)
    subjects = dict.fromkeys(named[name].subject if name in named else name for name in found.conflict)
    cures = dict.fromkeys(_give(system, named, cure) for cure in (found.cures or found.least))
    first = (
        f"make and measure {name} first: its spread is what takes the room"
        for name in _not_made(values, subjects)
        if name != str(system.names[at])
    )
    return tuple(subjects), (*cures, *first)


def _give(system: System, named: Mapping[str, Requirement], cure: Relaxation) -> str:
    """``wheel on axle@2L: let its most be 0.012 mm more``."""
    requirement = named.get(cure.name)
    subject = requirement.subject if requirement else cure.name
    unit = requirement.unit if requirement else system.units[system.at(read_address(cure.name))]
    amount = f"{math.degrees(cure.amount):.3f} deg" if unit == "rad" else f"{cure.amount:.3f} {unit}".rstrip()
    end, way = ("least", "less") if cure.end == "low" else ("most", "more")
    return f"{subject}: let its {end} be {amount} {way}"


def _not_made(values: Values, subjects: Iterable[str]) -> Iterable[str]:
    system = values.system
    reads = (a for subject in subjects for r in _by_subject(system).get(subject, ()) for a in r.reads)
    on_paper = (a for a in reads if values.source[system.index[a]] in (CHOSEN, DRAWN))
    return dict.fromkeys(str(a) for a in on_paper if system.index[a] not in system.suits)
