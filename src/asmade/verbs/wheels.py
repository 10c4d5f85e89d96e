"""wheels: will the coupled wheels turn without binding, where are they tightest, how surely, and what cures it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from asmade.book.address import Address
from asmade.book.model import Build
from asmade.book.sizes import read_limit
from asmade.measure.errors import OutOfRange, Refused
from asmade.motion.bindings.wheels import Array, Bound, bind, parts_known, relation_of, spreads_of
from asmade.motion.kinds.binding import boxes_of, limits_of
from asmade.motion.wheels.chance import Chance
from asmade.motion.wheels.cures import Cure
from asmade.motion.wheels.findings import BoxesFinding, find_sections
from asmade.motion.wheels.sensitivity import slack_slopes
from asmade.motion.wheels.slack import Boxes, slack_left
from asmade.reckon.values import SOURCES, Values, compute
from asmade.verbs.store import Path_, read_build
from asmade.verbs.wheels_cures import LEAST_GAIN, cures_of, rod_in_book

if TYPE_CHECKING:
    from asmade.motion.wheels.chassis import Chassis

SAMPLES: Final = 1_000
SEED: Final = 20_201
MOST_CURES: Final = 6
MOST_SHARES: Final = 6
LEAST_SHARE: Final = 0.5  # per cent
HELD_STEP: Final = 3  # degrees between places at which the rods that hold are asked
HOLDS: Final = 0.05  # weight from which on a rod holds
PROFILE: Final = np.linspace(0.0, 2 * np.pi, 361)
Verdict = Literal["holds", "close", "fails", "undecided", "not known"]


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
    cures: tuple[Cure, ...] = ()
    if any((f.blocked if asked.boxes == "blocked" else f.free).tight.slack_mm < asked.wanted_mm for f in findings):
        cures = cures_of(bound, values, chassis, asked.wanted_mm, asked.boxes)
    sections = []
    for at, finding in enumerate(findings):
        of = {each: _state(bound, getattr(finding, each)) for each in states}
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


def _state(bound: Bound, found: BoxesFinding) -> State:
    return State(
        boxes=found.boxes, verdict=found.verdict, slack_mm=found.tight.slack_mm, at_rad=found.tight.at_rad,
        rods=tuple((rod_in_book(bound, rod.rod), rod.says) for rod in found.tight.rods),
        worst_mm=found.worst.slack_mm, worst_at_rad=found.worst.at_rad, chance_of_binding=found.binds,
        chance_of_less=found.chance.value,
        shares=tuple((cause, share) for cause, share in found.shares[:MOST_SHARES] if share >= LEAST_SHARE),
        exact=found.tight.exact,
    )  # fmt: skip


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
