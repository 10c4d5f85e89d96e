"""last-look: everything that rests on what a joint will fix or hide, before it cannot be undone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from asmade.book.address import SIDE_WORDS, Address, spread_out, words_of_place
from asmade.book.model import Adhesive, Build, Part
from asmade.measure.errors import AsmadeError, OutOfRange
from asmade.measure.quantities import read_quantity
from asmade.reckon.cure_times import Time, cure_times
from asmade.reckon.findings import SAMPLES, in_order, look_at
from asmade.reckon.joining import (
    Dependent,
    Joints,
    Role,
    Setting,
    Standing,
    measure_first,
    not_made_yet,
    settings,
    standing,
    weighing,
)
from asmade.reckon.scope import places_of, subject_at
from asmade.reckon.system import Joint
from asmade.reckon.values import MADE, SOURCES, UNKNOWN, Values, compute
from asmade.verbs.look_reasons import QUARTER, Doubts, Pending, Reason, Resting, trial_of
from asmade.verbs.store import Path_, read_build
from asmade.work.cautions import Caution
from asmade.work.joining_means import Means, cautions_of, means_of

Verdict = Literal["go", "stop", "go with a written reason"]
WORKSHOP_C: Final = (-20.0, 60.0)


@dataclass(frozen=True, slots=True)
class Joined:
    """One of the pieces that come together (or are trapped): which, where, of what hand."""

    seat: str
    piece: str
    side: str
    hand: str
    trapped: bool


@dataclass(frozen=True, slots=True)
class Known:
    """A size that the joint touches, as best known: its role, and what it was measured with."""

    address: Address
    piece: str
    role: Role
    best: float | None
    source: str
    reading: str
    instrument: str
    angle: bool


@dataclass(frozen=True, slots=True)
class OrderStep:
    """One step of the assembly in its order, and how it stands."""

    name: str
    kind: str
    state: str
    this: bool = False


@dataclass(frozen=True, slots=True)
class LastLook:
    """All there is to see before a joint is made, with a verdict: go, stop with reasons, go with a written reason."""

    joint: str
    by: str
    note: str
    caution: str
    verdict: Verdict
    despite: str
    stops: tuple[Reason, ...]
    minds: tuple[Reason, ...]
    pieces: tuple[Joined, ...]
    facing: tuple[str, ...]
    settings: tuple[tuple[Setting, str], ...]
    sizes: tuple[Known, ...]
    measure_first: tuple[Address, ...]
    not_made_yet: tuple[Pending, ...]
    findings: tuple[Resting, ...]
    order: tuple[OrderStep, ...]
    unreachable: tuple[str, ...]
    later: tuple[str, ...]
    disturbs: tuple[Address, ...]
    measure_after: tuple[Address, ...]
    means: Means
    tried: str
    adhesive: str
    gap: float | None
    times: tuple[Time, ...]
    cautions: tuple[Caution, ...]
    ticks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class JointState:
    """One joint at a glance: joined (when), or what its last look says and the first reason against it."""

    joint: str
    by: str
    joined: str
    verdict: str
    reasons: int
    first: str


def every_joint(path: Path_) -> tuple[JointState, ...]:
    """All joints of a book in an order in which they can be made."""
    build = read_build(path)
    return every_joint_of(build, compute(build))


def every_joint_of(build: Build, values: Values) -> tuple[JointState, ...]:
    """As `every_joint`, of a build whose values are at hand."""
    look = Look(build, values, Joints(values.system), samples=0)
    stands = standing(build)
    found = []
    for name in look.joints.order:
        by, made = look.joints.by_name[name].by, stands.get(name)
        if made is not None and made.joined:
            found.append(JointState(name, by, made.at, "", 0, ""))
            continue
        seen = look.at(name)
        first = seen.stops[0].words if seen.stops else ""
        found.append(JointState(name, by, "", seen.verdict, len(seen.stops), first))
    return tuple(found)


def last_look(path: Path_, name: str, *, despite: str = "", temperature: str = "") -> LastLook:
    """Everything that rests on a joint; ``despite`` is a written reason to go where the verdict would be stop."""
    return last_look_of(read_build(path), name, despite=despite, temperature=temperature)


def last_look_of(
    build: Build, name: str, *, despite: str = "", temperature: str = "", values: Values | None = None
) -> LastLook:
    """The last look at one joint of a build; its ``values``, where they are at hand."""
    values = values or compute(build)
    return Look(build, values, Joints(values.system)).at(name, despite=despite, temperature=temperature)


def joints_beginning_with(path: Path_, typed: str) -> tuple[str, ...]:
    """Joints of a book that begin as ``typed``; none where the book cannot be read."""
    try:
        build = read_build(path)
    except AsmadeError:
        return ()
    every = (subject_at(r, place) for r in build.design.of_kind("joint") for place in places_of(r))
    return tuple(name for name in every if name.startswith(typed))


def read_workshop(temperature: str) -> float | None:
    """A workshop's temperature in C; None where it is not said."""
    if not temperature.strip():
        return None
    found = float(read_quantity(temperature, kind="temperature", bare="C", thing="temperature of the workshop").value)
    low, high = WORKSHOP_C
    if not low <= found <= high:
        raise OutOfRange("temperature of the workshop", got=f"{found:g} C", allowed=f"{low:g} to {high:g} C")
    return found


def adhesive_for(build: Build, joint: Joint) -> Adhesive | None:
    """The product a joint is made with: named by its fit or its means, else the only one on the shelf."""
    shelf = build.shop.adhesives
    name = joint.fit.partition("@")[0]
    fits = [r.text("adhesive") for r in build.design.of_kind("fit") if r.name == name]
    for said in (*fits, joint.by):
        if said in shelf:
            return shelf[said]
    return next(iter(shelf.values())) if len(shelf) == 1 else None


@dataclass(frozen=True, slots=True)
class Look:
    """A build, its best values and its graph of joints: made once, asked of any joint.

    ``samples`` engines are drawn for the chance of what is not linear; 0 is enough where only the verdict is asked.
    """

    build: Build
    values: Values
    joints: Joints
    samples: int = SAMPLES

    def at(self, name: str, *, despite: str = "", temperature: str = "") -> LastLook:
        """The last look at one joint."""
        joints, values, build = self.joints, self.values, self.build
        joint = joints.named(name)
        stands = standing(build)
        dependents = joints.dependents(joint)
        resting = self._findings(dependents)
        reads = frozenset[Address]().union(*(each.reads for each in resting))
        pending = tuple(
            Pending(address, SOURCES[source]) for address, source in not_made_yet(joints, values, joint, reads)
        )
        means = means_of(joint.by)
        product = adhesive_for(build, joint) if means.sets == "cures" else None
        doubts = Doubts(
            build, values, joints, joint, stands, measure_first(joints, values, joint, reads), resting,
            settings(values, joint), pending, product, means, *self._tried(joint, stands.get(joint.subject)),
        )  # fmt: skip
        at_c, gap = read_workshop(temperature), self._gap(joint)
        quarters = any(a.dim == QUARTER for a in joint.fixes)
        pieces, facing = tuple(self._pieces(joint)), tuple(self._facing(doubts.set_to))
        stops = doubts.stops
        verdict: Verdict = "go" if not stops else "go with a written reason" if despite.strip() else "stop"
        return LastLook(
            joint=joint.subject, by=joint.by, note=joint.relation.text("note"),
            caution=joint.relation.text("caution"), verdict=verdict, despite=despite.strip() if stops else "",
            stops=stops, minds=doubts.minds, pieces=pieces, facing=facing,
            settings=tuple((setting, doubts.window(setting)) for setting in doubts.set_to),
            sizes=tuple(self._sizes(joint)), measure_first=doubts.first, not_made_yet=pending, findings=resting,
            order=tuple(self._order(joint, stands)), unreachable=tuple(self._unreachable(joint)),
            later=joints.later(joint), disturbs=joint.disturbs, measure_after=_after(joint), means=means,
            tried=doubts.tried, adhesive=product.name if product else "", gap=gap,
            times=cure_times(product, at_c=at_c, gap_mm=gap) if means.sets == "cures" else (),
            cautions=cautions_of(means, self._materials(joint), also=("quartering",) if quarters else ()),
            ticks=tuple(self._ticks(doubts, pieces, facing)),
        )  # fmt: skip

    def _findings(self, dependents: Sequence[Dependent]) -> tuple[Resting, ...]:
        """One finding of each group among what rests on the joint and is moved by what it touches, worst first."""
        if not dependents:
            return ()
        found = look_at(self.values, self.joints.requirements(dependents), samples=self.samples)
        because: dict[tuple[str, str], dict[tuple[Address, Role], None]] = {}
        reads: dict[tuple[str, str], frozenset[Address]] = {}
        for number, (dependent, requirement) in enumerate(zip(dependents, found.requirements, strict=True)):
            moved_by = weighing(self.joints, found, number)
            touched = [(address, role) for address, role in dependent.because if address in moved_by]
            if touched:
                key = (requirement.code, requirement.group)
                because.setdefault(key, {}).update(dict.fromkeys(touched))
                reads[key] = reads.get(key, frozenset()) | moved_by
        groups = {(r.code, r.subject): (r.code, r.group) for r in found.requirements}
        return tuple(
            Resting(f, tuple(sorted(because[key])), reads[key])
            for f in in_order(list(found))
            for key in (groups[f.code, f.subject],)
            if key in because
        )

    def _tried(self, joint: Joint, last: Standing | None) -> tuple[str, str]:
        """When a trial assembly was entered, after the joint was last undone, and to which piece it is entered.

        It is one of the operations of the thing that is put together, where the book has one; else of the inner piece.
        """
        own = set(self.joints.seats(joint))
        whole = [
            self.build.piece_at(Address(part.name, place)).seat
            for part in self.build.design.parts.values() for place in part.places
            if part.assembled_from and own and own <= {spread_out(each, place) for each in part.assembled_from}
        ]  # fmt: skip
        seats = [p.piece for p in self._pieces(joint) if not p.trapped]
        wanted, since = trial_of(joint).lower(), 0 if last is None or last.joined else last.entry
        found = [
            remark.at for remark in self.build.remarks
            if remark.kind == "done" and remark.entry > since and remark.body.get("piece") in (*whole, *seats)
            and str(remark.body.get("operation", "")).lower() == wanted
        ]  # fmt: skip
        return (found[-1] if found else ""), (*whole, *reversed(seats), "PIECE")[0]

    def _at(self, address: Address) -> int | None:
        return self.values.system.index.get(address)

    def _is_made(self, address: Address) -> bool:
        at = self._at(address)
        return at is not None and int(self.values.source[at]) == MADE

    def _gap(self, joint: Joint) -> float | None:
        """Hole less shaft as measured; None until both are."""
        pair = self.joints.fits.get(joint.fit)
        if pair is None or not all(self._is_made(a) for a in pair):
            return None
        hole, shaft = (float(self.values.best[self.values.system.at(a)]) for a in pair)
        return hole - shaft

    def _state(self, name: str, stands: dict[str, Standing]) -> str:
        if name in self.joints.by_name:
            found = stands.get(name)
            return f"joined {found.at[:10]}" if found and found.joined else "undone" if found else "not joined"
        loose = [str(a) for a in self.joints.fits.get(name, ()) if not self._is_made(a)]
        return f"not measured: {', '.join(loose)}" if loose else "measured"

    def _order(self, joint: Joint, stands: dict[str, Standing]) -> Iterator[OrderStep]:
        for step in self.joints.steps_to(joint):
            yield OrderStep(step.name, step.kind, self._state(step.name, stands), this=step.name == joint.subject)
        for name in self.joints.later(joint):
            yield OrderStep(name, "joint", self._state(name, stands))

    def _pieces(self, joint: Joint) -> Iterator[Joined]:
        own, trapped = self.joints.seats(joint), self.joints.captive_seats(joint)
        for seat in (*own, *trapped):
            part, _, place = seat.partition("@")
            piece = self.build.piece_at(Address(part, place))
            yield Joined(seat, piece.seat, side_of(place), hand_of(self.build.design.parts[part], place),
                         trapped=seat in trapped)  # fmt: skip

    def _materials(self, joint: Joint) -> tuple[str, ...]:
        parts = (self.build.design.parts[seat.partition("@")[0]] for seat in self.joints.seats(joint))
        return tuple(dict.fromkeys(p.material for p in parts if p.material))

    def _facing(self, set_to: Sequence[Setting]) -> Iterator[str]:
        """Which side leads and how to see it, for a joint that sets a quarter."""
        leads = self.build.design.leads
        for setting in set_to:
            if setting.address.dim != QUARTER or not leads:
                continue
            other = "L" if leads == "R" else "R"
            degrees = "its quarter" if setting.wanted is None else f"{math.degrees(setting.wanted):.2f} degrees"
            source = f" ({self.build.design.leads_drawn})" if self.build.design.leads_drawn else ""
            lead, lag = SIDE_WORDS[leads], SIDE_WORDS[other]
            yield (
                f"the {lead} side leads{source}: facing forward, the {lead} crank is {degrees} ahead of the {lag} one "
                "in forward running"
            )
            yield (
                f"seen so: with the {lead} crank pin at its front dead centre (straight forward), the {lag} one "
                "stands straight up"
            )

    def _sizes(self, joint: Joint) -> Iterator[Known]:
        roles: dict[Address, Role] = dict.fromkeys(self.joints.hidden(joint), "hidden")
        roles |= dict.fromkeys(joint.fixes, "fixed")
        roles |= dict.fromkeys(joint.disturbs, "disturbed")
        for address, role in roles.items():
            at = self._at(address)
            best = float(self.values.best[at]) if at is not None else math.nan
            reading = self.values.readings.get(at) if at is not None else None
            yield Known(
                address, self.build.piece_at(address).seat, role, None if math.isnan(best) else best,
                SOURCES[int(self.values.source[at])] if at is not None else SOURCES[UNKNOWN],
                reading.text if reading else "", reading.instrument if reading else "",
                angle=at is not None and self.values.system.units[at] == "rad",
            )  # fmt: skip

    def _unreachable(self, joint: Joint) -> Iterator[str]:
        pair = self.joints.fits.get(joint.fit, ())
        if pair:
            yield f"{' and '.join(str(a) for a in pair)}: neither measured nor cut again"
        for fit in self.joints.trapped(joint):
            loose = [a.seat for a in self.joints.fits[fit] if a.seat in self.joints.captive_seats(joint)]
            sizes = ", ".join(str(a) for a in self.joints.fits[fit])
            yield f"{' and '.join(loose) or fit}: trapped, on now or never ({fit}: {sizes})"

    def _ticks(self, doubts: Doubts, pieces: Sequence[Joined], facing: Sequence[str]) -> Iterator[str]:
        """What the builder ticks with the pieces in hand: no program can see it."""
        joint, system = doubts.joint, self.values.system
        own = [p for p in pieces if not p.trapped]
        if own:
            yield f"in hand: {'; '.join(_placed(p) for p in own)}"
        for piece in pieces:
            if piece.trapped:
                yield f"on and the right way round: {_placed(piece)}"
        trapped = self.joints.trapped(joint)
        for name in joint.after:
            if name not in self.joints.by_name and name not in trapped:
                yield f"in place and working: {name}"
        for piece in pieces:
            if piece.hand:
                yield f"{piece.piece}: {piece.hand}"
        yield from facing
        for setting in doubts.set_to:
            verb = "comes to" if system.at(setting.address) in system.computed else "set to"
            yield f"{setting.address} {verb} {doubts.window(setting)}"
        yield from doubts.means.ticks
        if joint.relation.text("caution"):
            yield joint.relation.text("caution")
        for address in _after(joint):
            yield f"afterwards measure {address} and enter it"


def _placed(piece: Joined) -> str:
    side = f" ({piece.side})" if piece.side else ""
    return f"{piece.piece} at {piece.seat.partition('@')[2]}{side}"


def _after(joint: Joint) -> tuple[Address, ...]:
    """What is to be measured after: as the book says, and whatever the joint disturbs."""
    return tuple(dict.fromkeys((*joint.measure_after, *joint.disturbs)))


def side_of(place: str) -> str:
    """``right, facing forward`` for a place that has a side."""
    side = words_of_place(place).get("side_word", "") if place else ""
    return f"{side}, facing forward" if side else ""


def hand_of(part: Part, place: str) -> str:
    """Whether a piece is as drawn or its mirror image; empty where all are alike."""
    side = words_of_place(place).get("side", "") if place else ""
    if part.hand == "own":
        return "this side has a shape of its own: not the other side's piece"
    if part.hand != "mirrored" or not side:
        return ""
    drawn = part.drawn_for
    if not drawn:
        return "handed: right and left are mirror images; the book does not say for which side it is drawn"
    return f"handed: as drawn for the {SIDE_WORDS.get(drawn, drawn)}" if drawn == side else (
        f"handed: the mirror image of the drawing, which is for the {SIDE_WORDS.get(drawn, drawn)}"
    )  # fmt: skip
