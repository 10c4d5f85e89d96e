"""wheels: will the coupled wheels turn without binding, where are they tightest, how surely, and what cures it."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final, Literal

import numpy as np

from asmade.book.address import Address
from asmade.book.grammar import addresses
from asmade.book.model import Build
from asmade.book.sizes import read_limit
from asmade.measure.errors import OutOfRange, Refused
from asmade.motion.bindings.wheels import Array, Bound, bind, parts_known, relation_of, spreads_of
from asmade.motion.kinds.binding import boxes_of, limits_of
from asmade.motion.wheels.chance import Chance, chance_of_binding
from asmade.motion.wheels.chassis import index_of, names
from asmade.motion.wheels.cures import Cure, find_cures
from asmade.motion.wheels.findings import BoxesFinding, find_sections
from asmade.motion.wheels.sensitivity import slack_slopes
from asmade.motion.wheels.slack import Boxes, slack_left
from asmade.reckon.values import SOURCES, Values, compute
from asmade.verbs.plain import number
from asmade.verbs.store import Path_, read_build

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Chassis

SAMPLES: Final = 1_000
SEED: Final = 20_201
MOST_CURES: Final = 6
MOST_SHARES: Final = 6
LEAST_SHARE: Final = 0.5  # per cent
NOTHING_MADE: Final = 0
"""Effort of a correction to what is not made yet."""
LEAST_TURN: Final = math.radians(0.5 / 60)
LEAST_GAIN: Final = 1e-4  # mm
HELD_STEP: Final = 3  # degrees between places at which the rods that hold are asked
HOLDS: Final = 0.05  # weight from which on a rod holds
PROFILE: Final = np.linspace(0.0, 2 * np.pi, 361)
Verdict = Literal["holds", "close", "fails", "undecided", "not known"]
_WORDS = re.compile(r"\b(pin|rod|horn|wheel|axle|axle centres) (\d+)(?=[LR]?\b)")


@dataclass(frozen=True, slots=True)
class State:
    """One section with its boxes blocked or free: least slack each way, where, which rods, how surely."""

    boxes: Boxes
    verdict: Verdict
    slack_mm: float
    at_rad: float
    rods: tuple[tuple[str, str], ...]
    worst_mm: float
    worst_at_rad: float
    chance_of_binding: Chance
    chance_of_less: float
    shares: tuple[tuple[str, float], ...]
    exact: bool


@dataclass(frozen=True, slots=True)
class Section:
    """One section between neighbouring coupled axles; without states where sizes of it are not known."""

    section: str
    blocked: State | None
    free: State | None
    cures: tuple[Cure, ...] = ()
    missing: tuple[str, ...] = ()
    others_off: bool = False


@dataclass(frozen=True, slots=True)
class Held:
    """Where a section has less slack than wanted, and which side's rod holds it there, too long or too short."""

    section: str
    side: str
    says: str
    start_rad: float
    end_rad: float


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """Slack left over the turn of each section (S, K), NaN where it is not known; free is None without box play.

    held: where there is less than wanted with the boxes as asked, side by side.
    """

    angles_rad: Array
    sections: tuple[str, ...]
    blocked: Array
    free: Array | None
    held: tuple[Held, ...]


@dataclass(frozen=True, slots=True, eq=False)
class WheelsResult:
    """All sections, the slack wanted each way and in which state of the boxes, how the sizes are known, and notes."""

    name: str
    stated: bool
    wanted_mm: float
    boxes: Boxes
    leads: str
    meetings: tuple[str, ...]
    sections: tuple[Section, ...]
    profile: Profile
    known: Mapping[str, int]
    drawn_only: tuple[str, ...]
    chosen_only: tuple[str, ...]
    notes: tuple[str, ...]

    def state(self, section: Section) -> State | None:
        """The state of the boxes that is asked for."""
        return section.blocked if self.boxes == "blocked" else section.free

    @property
    def fails(self) -> bool:
        """Whether any section has less than the slack wanted."""
        return any(state is not None and state.verdict == "fails" for state in map(self.state, self.sections))


def wheels(
    path: Path_, *, binding: str = "", wanted: str = "", boxes: str = "", samples: int = SAMPLES, seed: int = SEED
) -> WheelsResult:
    """Look at the coupled wheels of a book; ``wanted`` and ``boxes`` stand in for what its ``[[binding]]`` says."""
    return wheels_of(read_build(path), binding=binding, wanted=wanted, boxes=boxes, samples=samples, seed=seed)


def wheels_of(
    build: Build, *, binding: str = "", wanted: str = "", boxes: str = "", samples: int = SAMPLES, seed: int = SEED
) -> WheelsResult:
    """Look at the coupled wheels of a build."""
    if samples < 1:
        raise OutOfRange("builds drawn for the chance", got=samples, allowed="1 or more")
    relation = relation_of(build.design, binding)
    values = compute(build)
    scope = values.system.scope
    if boxes:
        relation = replace(relation, fields={**relation.fields, "boxes": boxes})
    limits, state = limits_of(relation, scope), boxes_of(relation)
    bound = bind(relation, scope)
    least = _wanted(wanted) if wanted else float(limits.low or 0.0)
    missing = bound.missing(values.of, "blocked")
    play_missing = bound.missing(values.of, "free") if not missing else ()
    with_play = bound.has_play and not play_missing
    if state == "free" and not missing and not with_play:
        raise Refused(
            "boxes free", got=", ".join(map(str, play_missing)) or "no box play", reason="their play is not known",
            way_out="measure box and horn, or look with --boxes blocked",
        )  # fmt: skip
    parts = parts_known(bound, values.of, "blocked")
    asked = _Asked(values, least, state, samples, seed)
    found: dict[str, Section] = {}
    held: list[Held] = []
    count = len(bound.sections)
    blocked = np.full((count, PROFILE.size), math.nan)
    free = np.full((count, PROFILE.size), math.nan)
    for part in parts:
        play = part.has_play and not part.missing(values.of, "free")
        looked = _look(part, asked, play=play)
        first = bound.axles.index(part.axles[0])
        rows = slice(first, first + len(part.sections))
        blocked[rows], free[rows] = looked.blocked, looked.free
        held += looked.held
        for section in looked.sections:
            found[section.section] = replace(section, others_off=part is not bound)
    sections = tuple(
        found.get(name) or Section(name, None, None, missing=_of_section(bound, at, values))
        for at, name in enumerate(bound.sections)
    )
    profile = Profile(PROFILE, bound.sections, blocked, free if not np.isnan(free).all() else None, tuple(held))
    known, drawn, chosen = _known(bound.reads("blocked"), values)
    return WheelsResult(
        name=relation.name, stated=any(True for _ in build.design.of_kind("binding")), wanted_mm=least, boxes=state,
        leads=bound.leads, meetings=bound.meetings, sections=sections, profile=profile, known=known,
        drawn_only=drawn, chosen_only=chosen, notes=tuple(_notes(build, bound, sections, missing, play_missing)),
    )  # fmt: skip


def _wanted(text: str) -> float:
    found = read_limit(text, angle=False, thing="slack wanted each way")
    if found is None or found < 0:
        raise OutOfRange("slack wanted each way", got=text, allowed="0 mm or more")
    return float(found)


@dataclass(frozen=True, slots=True)
class _Asked:
    values: Values
    wanted_mm: float
    boxes: Boxes
    samples: int
    seed: int


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    sections: tuple[Section, ...]
    blocked: Array
    free: Array
    held: tuple[Held, ...]


def _look(bound: Bound, asked: _Asked, *, play: bool) -> _Part:
    """The sections of one run of axles whose sizes are known, by their names in the book."""
    values = asked.values
    boxes: Boxes = "free" if play else "blocked"
    chassis = bound.chassis(values.of, boxes)
    spreads = spreads_of(bound, values, boxes)
    findings = find_sections(
        chassis, spreads, wanted_mm=asked.wanted_mm, samples=asked.samples, seed=asked.seed, angles=180
    )
    states: tuple[Boxes, ...] = ("blocked", "free") if play else ("blocked",)
    binds = {
        each: chance_of_binding(chassis, spreads, each, samples=asked.samples, seed=asked.seed).sections
        for each in states
    }
    cures: tuple[Cure, ...] = ()
    if any((f.blocked if asked.boxes == "blocked" else f.free).tight.slack_mm < asked.wanted_mm for f in findings):
        cures = _yet_to_make(bound, values, find_cures(chassis, wanted_mm=asked.wanted_mm, boxes=asked.boxes))
        cures = (*_quarters_alike(bound, values, chassis, asked), *(_named(bound, cure) for cure in cures))
    sections = []
    for at, finding in enumerate(findings):
        of = {each: _state(bound, getattr(finding, each), binds[each][at]) for each in states}
        own = of.get(asked.boxes)
        sections.append(
            Section(
                bound.sections[at],
                of["blocked"],
                of.get("free"),
                _own_cures(cures, bound.sections[at], own) if own and own.verdict == "fails" else (),
            )
        )
    blocked = slack_left(chassis, PROFILE, "blocked")[..., 0]
    free = slack_left(chassis, PROFILE, "free")[..., 0] if play else np.full(blocked.shape, math.nan)
    held = _held(bound, chassis, blocked if asked.boxes == "blocked" else free, asked)
    return _Part(tuple(sections), blocked, free, held)


def _held(bound: Bound, chassis: Chassis, profile: Array, asked: _Asked) -> tuple[Held, ...]:
    """Arcs with less slack than wanted, by the side whose rod holds there and which way it is out."""
    found = []
    step = np.arange(0, PROFILE.size - 1, HELD_STEP)
    half = math.radians(HELD_STEP) / 2
    for section, slack in enumerate(profile):
        tight = step[slack[step] < asked.wanted_mm - 1e-9]
        if not tight.size:
            continue
        slopes = slack_slopes(chassis, PROFILE[tight], asked.boxes, section)
        runs: dict[tuple[str, str], list[float]] = {}
        for angle, rods in zip(PROFILE[tight], slopes.tight, strict=True):
            own = [rod for rod in rods if rod.weight > HOLDS and chassis.layout.section_name(section) in rod.rod]
            for side, says in dict.fromkeys((rod.side, rod.says) for rod in own):
                runs.setdefault((side, says), []).append(float(angle))
        for (side, says), angles in runs.items():
            start = angles[0]
            for angle, after in zip(angles, [*angles[1:], math.inf], strict=True):
                if after - angle > 3 * half:
                    found.append(Held(bound.sections[section], side, says, start - half, angle + half))
                    start = after
    return tuple(found)


def _state(bound: Bound, found: BoxesFinding, binds: Chance) -> State:
    return State(
        boxes=found.boxes, verdict=found.verdict, slack_mm=found.tight.slack_mm, at_rad=found.tight.at_rad,
        rods=tuple((_rod(bound, rod.rod), rod.says) for rod in found.tight.rods),
        worst_mm=found.worst.slack_mm, worst_at_rad=found.worst.at_rad, chance_of_binding=binds,
        chance_of_less=found.chance.value,
        shares=tuple((cause, share) for cause, share in found.shares[:MOST_SHARES] if share >= LEAST_SHARE),
        exact=found.tight.exact,
    )  # fmt: skip


def _rod(bound: Bound, name: str) -> str:
    """A rod by the pins it spans, in the book's names of the axles."""
    return "".join(bound.axles[int(c) - 1] if c.isdigit() else c for c in name)


def _in_book(bound: Bound, text: str) -> str:
    """Words of the sums with the book's names of the axles, where the chassis is a part of the whole."""
    return _WORDS.sub(lambda found: f"{found[1]} {_rod(bound, found[2])}", text)


_ROW_OF: Final[Mapping[str, tuple[str, str]]] = {
    "bore rod": ("rod ", "rod centres "),
    "requarter": ("", "quarter of "),
    "move horn": ("horn ", "axle position "),
    "crank radius": ("wheel ", "crank radius "),
}
"""What a cure is done to, and what ``chassis.names`` calls its dimension; bushes eased hide causes and are left out."""


def _dimension(cure: Cure) -> str:
    """The dimension of the chassis that a cure changes, as ``chassis.names`` has it; empty for bushes."""
    before, after = _ROW_OF.get(cure.kind, ("", ""))
    return after + cure.what.removeprefix(before) if after else ""


def _yet_to_make(bound: Bound, values: Values, cures: Sequence[Cure]) -> tuple[Cure, ...]:
    """What changes only sizes that are not made yet costs and spoils nothing; ranked again with that."""
    rows = dict(zip(names(bound.layout), bound.nodes, strict=True))
    found = []
    for cure in cures:
        node = rows.get(_dimension(cure))
        reads = list(addresses(node)) if node is not None else []
        if reads and not any(_made(values, address) for address in reads):
            found.append(replace(cure, effort=NOTHING_MADE, spoils=f"nothing: {reads[0]} is not made yet"))
        else:
            found.append(cure)
    return tuple(sorted(found, key=lambda cure: (not cure.frees, cure.effort if cure.frees else 0, bool(cure.hides))))


def _made(values: Values, address: Address) -> bool:
    return SOURCES[int(values.source[values.system.index[address]])] == "made"


def _quarters_alike(bound: Bound, values: Values, chassis: Chassis, asked: _Asked) -> tuple[Cure, ...]:
    """Axles not yet quartered, set as those that are: equal errors of the quarter do no harm."""
    made: list[int] = []
    open_: list[int] = []
    for axle in range(chassis.layout.axles):
        node = bound.nodes[index_of(chassis.layout, "quarter", axle)]
        known = node is not None and any(_made(values, address) for address in addresses(node))
        (made if known else open_).append(axle)
    if not made or not open_:
        return ()
    quarter = float(np.mean([chassis.quarter[axle, 0] for axle in made]))
    alike = chassis.quarter.copy()
    for axle in open_:
        alike[axle] = quarter
    turned = float(np.abs(alike - chassis.quarter).max())
    if turned < LEAST_TURN:
        return ()
    turn = PROFILE[:-1]
    before = slack_left(chassis, turn, asked.boxes)[..., 0].min(axis=1)
    after = slack_left(chassis.replace_unchecked(quarter=alike), turn, asked.boxes)[..., 0].min(axis=1)
    if after.min() < before.min() + LEAST_GAIN:
        return ()
    which = f"axle{'s' if len(open_) > 1 else ''} {' and '.join(bound.axles[axle] for axle in open_)}"
    like = " and ".join(bound.axles[axle] for axle in made)
    return (
        Cure(
            kind="requarter", what=which, amount=quarter - float(chassis.quarter[open_[0], 0]), new_value=quarter,
            says=f"quarter {which}, not yet set, at {math.degrees(quarter):.3f} degrees as axle {like} is",
            slack_before=float(before.min()), slack_after=float(after.min()), best_possible=float(after.min()),
            frees=bool(after.min() >= asked.wanted_mm),
            others=tuple(zip(bound.sections, map(float, after), strict=True)),
            effort=NOTHING_MADE, spoils="nothing: they are not set yet", hides="",
        ),
    )  # fmt: skip


def _named(bound: Bound, cure: Cure) -> Cure:
    """A cure in the book's names of the axles."""
    return replace(
        cure,
        what=_in_book(bound, cure.what),
        says=_in_book(bound, cure.says),
        hides=_in_book(bound, cure.hides),
        others=tuple((_rod(bound, name), slack) for name, slack in cure.others),
    )


def _own_cures(cures: Sequence[Cure], section: str, state: State) -> tuple[Cure, ...]:
    """Those that give this section more; those that free the whole chassis first, as they are ranked."""
    return tuple(cure for cure in cures if dict(cure.others)[section] > state.slack_mm + LEAST_GAIN)[:MOST_CURES]


def _of_section(bound: Bound, at: int, values: Values) -> tuple[str, ...]:
    """Sizes not known that keep one section from being told: its own first, else any."""
    whole = bound.missing(values.of, "blocked")
    alone = bound.part(at, at + 1)
    own = alone.missing(values.of, "blocked") if alone is not None else ()
    return tuple(_why(values, a) for a in (own or whole))


def _why(values: Values, address: Address) -> str:
    why = values.why_unknown.get(values.system.index.get(address, -1))
    return f"{address} ({why})" if why else str(address)


def _known(reads: Sequence[Address], values: Values) -> tuple[dict[str, int], tuple[str, ...], tuple[str, ...]]:
    """How many sizes are known in which way, and which are only drawn or only chosen."""
    counts = dict.fromkeys(SOURCES, 0)
    drawn, chosen = [], []
    for address in reads:
        at = values.system.index[address]
        source = SOURCES[int(values.source[at])]
        counts[source] += 1
        if values.drawn_only[at]:
            drawn.append(str(address))
        elif source in ("chosen", "suited"):
            chosen.append(str(address))
    return {name: count for name, count in counts.items() if count}, tuple(drawn), tuple(chosen)


def _notes(
    build: Build, bound: Bound, sections: Sequence[Section], missing: Sequence[Address], play: Sequence[Address]
) -> list[str]:
    notes = []
    if not any(True for _ in build.design.of_kind("binding")):
        notes.append("the book has no [[binding]]: sizes are found by the names of the kits, wanted is that they turn")
    if not build.design.leads:
        notes.append("the book does not say which side leads: the right is taken to")
    if missing:
        told = [s.section for s in sections if s.blocked is not None]
        notes.append(
            f"not known: {', '.join(map(str, missing[:8]))}{' and more' if len(missing) > 8 else ''}; "
            + (f"section {', '.join(told)} is told with the other rods off" if told else "no section can be told yet")
        )
    if play:
        notes.append(f"boxes free cannot be told: not known is {', '.join(map(str, play[:6]))}")
    elif not bound.has_play:
        notes.append("boxes free cannot be told: the book has no box play (say box_play in [binding.sizes])")
    hides = {cure.hides for s in sections for cure in s.cures if cure.hides}
    notes.extend(sorted(hides))
    return notes


# -- plain data ------------------------------------------------------------------------------------------------------


def plain(result: WheelsResult) -> dict[str, Any]:
    """What ``--json`` prints: lengths in mm, chassis angles in degrees (the right crank's, forward running)."""
    return {
        "name": result.name,
        "wanted_mm": number(result.wanted_mm),
        "boxes": result.boxes,
        "leads": result.leads,
        "rods_meet": list(result.meetings),
        "fails": result.fails,
        "sections": [_plain_section(result, section) for section in result.sections],
        "known": dict(result.known),
        "drawn_only": list(result.drawn_only),
        "chosen_or_suited": list(result.chosen_only),
        "notes": list(result.notes),
    }


def _plain_section(result: WheelsResult, section: Section) -> dict[str, Any]:
    state, free, blocked = result.state(section), section.free, section.blocked
    return {
        "section": section.section,
        "verdict": "not known" if state is None else state.verdict,
        "slack_mm": number(free.slack_mm) if free else None,
        "slack_blocked_mm": number(blocked.slack_mm) if blocked else None,
        "at_deg": number(state.at_rad, angle=True) if state else None,
        "rod": state.rods[0][0] if state and state.rods else None,
        "chance_of_binding": number(state.chance_of_binding.value) if state else None,
        "shares": [{"dimension": cause, "share": number(share / 100)} for cause, share in state.shares]
        if state
        else [],
        "cures": [plain_cure(cure) for cure in section.cures],
        "blocked": _plain_state(blocked) if blocked else None,
        "free": _plain_state(free) if free else None,
        "missing": list(section.missing),
        "other_rods_off": section.others_off,
    }


def _plain_state(state: State) -> dict[str, Any]:
    chance = state.chance_of_binding
    return {
        "verdict": state.verdict,
        "slack_mm": number(state.slack_mm),
        "at_deg": number(state.at_rad, angle=True),
        "rods": [{"rod": rod, "says": says} for rod, says in state.rods],
        "worst_mm": number(state.worst_mm),
        "worst_at_deg": number(state.worst_at_rad, angle=True),
        "chance_of_binding": number(chance.value),
        "chance_from": number(chance.low),
        "chance_to": number(chance.high),
        "chance_of_less_than_wanted": number(state.chance_of_less),
        "samples": chance.samples,
        "seed": chance.seed,
        "shares": [{"dimension": cause, "share": number(share / 100)} for cause, share in state.shares],
        "by_true_distances": state.exact,
    }


def plain_cure(cure: Cure) -> dict[str, Any]:
    """One cure; an amount of turning is in minutes, all else in mm."""
    turned = cure.kind == "requarter"
    amount = cure.amount * (60 * 180 / math.pi if turned else 1.0)
    return {
        "kind": cure.kind,
        "what": cure.what,
        "says": cure.says,
        "amount": number(amount),
        "amount_unit": "min" if turned else "mm",
        "slack_before_mm": number(cure.slack_before),
        "slack_after_mm": number(cure.slack_after),
        "frees": cure.frees,
        "sections_after_mm": {name: number(slack) for name, slack in cure.others},
        "effort": cure.effort,
        "spoils": cure.spoils,
        "hides": cure.hides,
    }
