"""The graph of joints: in which order they go, what each hides or traps, and which findings rest on it.

A joint brings the two pieces of its fit together for good. Then its own surfaces cannot be reached any more (they are
*hidden*), and whatever runs on a shaft between two fixed things stays there (it is *trapped*, its surfaces hidden too).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from typing import Any, Final, Literal

from asmade.book.address import Address, read_address
from asmade.book.grammar import addresses
from asmade.book.model import Build
from asmade.measure.errors import Contradiction, Unknown, near
from asmade.reckon.found import Findings
from asmade.reckon.requirement import Requirement
from asmade.reckon.system import Joint, System
from asmade.reckon.values import COMPUTED, DRAWN, MADE, UNKNOWN, Values

NO_RATE: Final = 1e-6
"""A rate this small is the noise of a difference quotient: a millimetre of it moves nothing that is asked for."""
Role = Literal["fixed", "hidden", "disturbed", "settled"]
"""How a joint touches a size: sets it, puts it out of reach, makes it no longer known, or joins both its pieces."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether a joint is joined now, by which entry and when; ``body`` is that entry."""

    joined: bool
    entry: int
    at: str
    body: Mapping[str, Any] = field(default_factory=dict)


def standing(build: Build) -> dict[str, Standing]:
    """The last word on each joint that has been joined or undone."""
    found: dict[str, Standing] = {}
    for remark in build.remarks:
        if remark.kind in ("joined", "undone"):
            name = str(remark.body.get("joint", ""))
            found[name] = Standing(remark.kind == "joined", remark.entry, remark.at, remark.body)
    return found


@dataclass(frozen=True, slots=True)
class Dependent:
    """A requirement that rests on what a joint touches: its number in the system, and through which sizes."""

    number: int
    because: tuple[tuple[Address, Role], ...]


@dataclass(frozen=True, slots=True)
class Setting:
    """A size that is set when the joint is made: within what it suits all that is already a fact.

    ``low`` above ``high`` means that no setting suits them all; None = no limit. ``suits`` names the requirements it
    suits, ``because`` those of them that set the ends.
    """

    address: Address
    low: float | None
    high: float | None
    wanted: float | None
    because: tuple[str, ...]
    suits: tuple[str, ...]

    @property
    def possible(self) -> bool:
        """Whether any setting suits all facts."""
        return self.low is None or self.high is None or self.low <= self.high + 1e-12


@dataclass(frozen=True, slots=True)
class Step:
    """One step of an assembly: a joint to be made, or a fit whose pieces must be in place."""

    name: str
    kind: Literal["joint", "in place"]


@dataclass(frozen=True)
class Joints:
    """All joints of a system, and how they depend on each other."""

    system: System

    @cached_property
    def by_name(self) -> Mapping[str, Joint]:
        """Joints by name and place."""
        return {joint.subject: joint for joint in self.system.joints}

    @cached_property
    def fits(self) -> Mapping[str, tuple[Address, Address]]:
        """Hole and shaft of every fit, by name and place."""
        found: dict[str, tuple[Address, Address]] = {}
        for requirement in self.system.requirements:
            if requirement.code == "fit" and len(requirement.reads) == 2:
                found[requirement.subject] = (requirement.reads[0], requirement.reads[1])
        return found

    def named(self, name: str) -> Joint:
        """The joint of that name and place; refuses what is not there with the near names."""
        found = self.by_name.get(name)
        if found is not None:
            return found
        places = [each for each in self.by_name if each.partition("@")[0] == name.partition("@")[0]]
        if places and "@" not in name and len(places) == 1:
            return self.by_name[places[0]]
        way_out = (
            f"it is made at: {'; '.join(places)}" if places
            else f"joints are: {'; '.join(dict.fromkeys(each.partition('@')[0] for each in self.by_name))}"
            if self.by_name else "the book has no [[joint]]"
        )  # fmt: skip
        raise Unknown("joint", got=name, near=near(name, self.by_name), way_out=way_out)

    @cached_property
    def order(self) -> tuple[str, ...]:
        """All joints in an order in which they can be made; a ring is refused by name."""
        needs = {j.subject: [a for a in j.after if a in self.by_name] for j in self.system.joints}
        try:
            return tuple(TopologicalSorter(needs).static_order())
        except CycleError as ring:
            path = " -> ".join(str(each) for each in ring.args[1])
            raise Contradiction(f"joints that wait for each other in a ring: {path}",
                                way_out="take one of them out of another's after") from ring  # fmt: skip

    def steps_to(self, joint: Joint) -> tuple[Step, ...]:
        """What comes before a joint and before that, in order, each once; the joint itself is last."""
        wanted: dict[str, None] = {}
        edge = [joint]
        while edge:
            one = edge.pop()
            wanted[one.subject] = None
            edge.extend(self.by_name[a] for a in one.after if a in self.by_name and a not in wanted)
        found: dict[str, Step] = {}
        for name in self.order:
            if name not in wanted:
                continue
            one = self.by_name[name]
            for fit in (*(a for a in one.after if a not in self.by_name), *self.enclosed(one)):
                found.setdefault(fit, Step(fit, "in place"))
            found[name] = Step(name, "joint")
        return tuple(found.values())

    def later(self, joint: Joint) -> tuple[str, ...]:
        """Joints that wait for this one, directly or through others."""
        behind = {joint.subject}
        for name in self.order:
            if behind.intersection(self.by_name[name].after):
                behind.add(name)
        return tuple(name for name in self.order if name in behind and name != joint.subject)

    def seats(self, joint: Joint) -> tuple[str, ...]:
        """Seats of the pieces that the joint brings together (``wheel@1R``, ``axle@1``), the outer one first."""
        return tuple(dict.fromkeys(address.seat for address in self.fits.get(joint.fit, ())))

    def trapped(self, joint: Joint) -> tuple[str, ...]:
        """Fits whose pieces cannot be put on or taken off any more after the joint.

        Those named in ``after`` that run on one of the joined pieces, and those that lie between this joint and
        another on the same shaft by the order of its sections.
        """
        own = set(self.seats(joint))
        named = (
            a for a in joint.after
            if a not in self.by_name and own.intersection(each.seat for each in self.fits.get(a, ()))
        )  # fmt: skip
        return tuple(dict.fromkeys((*named, *self.enclosed(joint))))

    def enclosed(self, joint: Joint) -> tuple[str, ...]:
        """Fits on the joint's shaft that lie between it and a joint that comes before it, by the sections of its form.

        Fits that are joints themselves are fixed, not trapped, and left out.
        """
        if joint.fit not in self.fits:
            return ()
        shaft = self.fits[joint.fit][1]
        here = self._section(shaft)
        fixed = {j.fit for j in self.system.joints}
        before = {step.subject for step in self._before(joint)}
        found: dict[str, None] = {}
        for other in self.system.joints:
            end = self.fits.get(other.fit)
            if other.subject not in before or end is None or end[1].seat != shaft.seat:
                continue
            there = self._section(end[1])
            if here is None or there is None:
                continue
            low, high = sorted((here, there))
            for name, (_, on) in self.fits.items():
                at = self._section(on)
                if on.seat == shaft.seat and name not in fixed and at is not None and low < at < high:
                    found[name] = None
        return tuple(found)

    def _before(self, joint: Joint) -> Iterator[Joint]:
        edge, seen = list(joint.after), set[str]()
        while edge:
            name = edge.pop()
            if name in self.by_name and name not in seen:
                seen.add(name)
                yield self.by_name[name]
                edge.extend(self.by_name[name].after)

    def _section(self, address: Address) -> int | None:
        """Where along its part a size lies, by the sections of a turned form; None where that is not said."""
        part = self.system.scope.design.parts.get(address.part)
        sections = part.form.get("sections", ()) if part else ()
        stem = address.dim.partition(".")[0]
        return list(sections).index(stem) if stem in sections else None

    def hidden(self, joint: Joint) -> tuple[Address, ...]:
        """Sizes that cannot be measured or cut after the joint: its own surfaces and those of what it traps."""
        fits = (joint.fit, *self.trapped(joint))
        return tuple(dict.fromkeys(a for fit in fits for a in self.fits.get(fit, ())))

    def strangers(self, build: Build, stands: Standing) -> tuple[str, ...]:
        """Pieces that a joint was made with and that sit elsewhere now: the joint went with them.

        Empty where the entry does not say its pieces (a thing bought as it is).
        """
        joint = self.by_name[str(stands.body["joint"])]
        here = {build.piece_at(read_address(seat)).seat for seat in self.seats(joint)}
        return tuple(name for name in map(str, stands.body.get("pieces", ())) if name not in here)

    def captive_seats(self, joint: Joint) -> tuple[str, ...]:
        """Seats of the pieces that the joint traps, its own left out."""
        own = set(self.seats(joint))
        found = dict.fromkeys(a.seat for fit in self.trapped(joint) for a in self.fits.get(fit, ()))
        return tuple(seat for seat in found if seat not in own)

    def needed_by_others(self, joint: Joint) -> tuple[tuple[str, tuple[Address, ...]], ...]:
        """Other joints that work on what this one hides, with the sizes: they come first or never."""
        gone = set(self.hidden(joint))
        found = []
        for other in self.system.joints:
            works_on = {*self.fits.get(other.fit, ()), *other.disturbs, *other.measure_after, *other.fixes}
            both = tuple(sorted(gone & works_on))
            if other.subject != joint.subject and both:
                found.append((other.subject, both))
        return tuple(found)

    def through(self, reads: Iterable[Address]) -> tuple[Address, ...]:
        """Sizes that a sum rests on: those it reads, and those its computed sizes are computed from."""
        found: dict[Address, None] = {}
        edge = list(reads)
        while edge:
            address = edge.pop()
            if address in found:
                continue
            found[address] = None
            at = self.system.index.get(address)
            if at is not None and at in self.system.computed:
                edge.extend(addresses(self.system.computed[at].node))
        return tuple(found)

    def dependents(self, joint: Joint) -> tuple[Dependent, ...]:
        """Requirements that rest on a size the joint fixes, hides or disturbs, or on both the pieces it joins."""
        touched: dict[Address, Role] = dict.fromkeys(self.hidden(joint), "hidden")
        touched |= dict.fromkeys(joint.disturbs, "disturbed")
        touched |= dict.fromkeys(joint.fixes, "fixed")
        own = self.seats(joint)
        found = []
        for number, requirement in enumerate(self.system.requirements):
            reads = self.through(requirement.reads)
            because = [(a, touched[a]) for a in reads if a in touched]
            if not because and len(own) > 1 and set(own) <= {a.seat for a in reads}:
                because = [(a, "settled") for a in reads if a.seat in own]
            if because:
                found.append(Dependent(number, tuple(sorted(because))))
        return tuple(found)

    def requirements(self, dependents: Iterable[Dependent]) -> tuple[Requirement, ...]:
        """The requirements themselves."""
        return tuple(self.system.requirements[d.number] for d in dependents)


def frozen(build: Build, system: System) -> dict[Address, str]:
    """Sizes that joints which stand have put out of reach, or set for good, each with the joint that did.

    Nobody cuts, measures or chooses them any more: they stay as they were last known.
    """
    joints, stands = Joints(system), standing(build)
    found: dict[Address, str] = {}
    for joint in system.joints:
        if joint.subject not in stands or not stands[joint.subject].joined:
            continue
        for address in (*joints.hidden(joint), *joint.fixes):
            found.setdefault(address, joint.subject)
    return found


def out_of_reach(build: Build, system: System) -> frozenset[Address]:
    """Sizes that joints which stand have put out of reach: nobody cuts or measures them any more."""
    joints, stands = Joints(system), standing(build)
    made = (j for j in system.joints if (found := stands.get(j.subject)) is not None and found.joined)
    return frozenset(address for joint in made for address in joints.hidden(joint))


def weighing(joints: Joints, found: Findings, number: int) -> frozenset[Address]:
    """Sizes that move the value of requirement ``number`` of a look at the best known sizes.

    Those with a rate in it, and what they are computed from; all that it reads where its value is not known. A finding
    that reads a hundred sizes and turns on three of them asks for three.
    """
    start, end = found.rows.indptr[number], found.rows.indptr[number + 1]
    if not found.known[number] or start == end:  # threads of one callout have no rates at all
        return frozenset(joints.through(found.requirements[number].reads))
    names = found.values.system.names
    moving = (
        names[at]
        for at, rate in zip(found.rows.indices[start:end], found.rows.data[start:end], strict=True)
        if abs(rate) > NO_RATE
    )
    return frozenset(joints.through(moving))


def measure_first(joints: Joints, values: Values, joint: Joint, reads: Iterable[Address]) -> tuple[Address, ...]:
    """Sizes of the joined and the trapped pieces that nobody has measured yet: hidden ones, and those among ``reads``.

    Hidden ones come first. What the joint itself sets, disturbs or has measured afterwards is not asked for, nor what
    is computed: its parts are.
    """
    system = values.system
    hidden = joints.hidden(joint)
    seats = {*joints.seats(joint), *joints.captive_seats(joint)}
    later = {*joint.fixes, *joint.disturbs, *joint.measure_after}
    found = []
    for address in dict.fromkeys((*hidden, *reads)):
        if address in later or address.seat not in seats or not _is_cut(system, address):
            continue
        if values.source[system.at(address)] != MADE:
            found.append(address)
    return tuple(sorted(found, key=lambda a: (a not in hidden, str(a))))


def not_made_yet(
    joints: Joints, values: Values, joint: Joint, reads: Iterable[Address]
) -> tuple[tuple[Address, int], ...]:
    """Sizes of other pieces among ``reads`` that are no facts yet, with where their value is from.

    They can still be made to suit what the joint fixes.
    """
    system = values.system
    own = {*joints.seats(joint), *joints.captive_seats(joint)}
    found: dict[Address, int] = {}
    for address in reads:
        if address.seat in own or address in joint.fixes or not _is_cut(system, address):
            continue
        source = int(values.source[system.at(address)])
        if source != MADE:
            found[address] = source
    return tuple(sorted(found.items(), key=lambda pair: (pair[1] not in (DRAWN, UNKNOWN), str(pair[0]))))


def _is_cut(system: System, address: Address) -> bool:
    """Whether a size is cut at the bench: a dimension that no formula gives."""
    at = system.index.get(address)
    return at is not None and system.dimensions[at] is not None and at not in system.computed


def settings(values: Values, joint: Joint) -> tuple[Setting, ...]:
    """What each size that the joint sets must come to, so that it suits all that is already a fact."""
    facts = _facts(values)
    return tuple(_setting(values, facts, address) for address in joint.fixes)


def _setting(values: Values, facts: frozenset[int], address: Address) -> Setting:
    system = values.system
    low, high = -math.inf, math.inf
    named: dict[str, tuple[float, float]] = {}
    for requirement in system.requirements:
        if address not in requirement.reads:
            continue
        row = requirement.linear(lambda a: float(values.best[system.index[a]]))
        rate = row.terms.get(address, 0.0) if row is not None else 0.0
        if row is None or not rate:
            continue
        others = [a for a in row.terms if a != address and row.terms[a]]
        if not all(system.index[a] in facts for a in others):
            continue
        rest = row.constant + math.fsum(row.terms[a] * float(values.best[system.index[a]]) for a in others)
        ends = [
            -math.inf if requirement.limits.low is None else requirement.limits.low - rest,
            math.inf if requirement.limits.high is None else requirement.limits.high - rest,
        ]
        from_, to = sorted(end / rate for end in ends)
        if math.isnan(from_) or math.isnan(to):
            continue
        was = named.get(requirement.subject, (-math.inf, math.inf))
        named[requirement.subject] = (max(was[0], from_), min(was[1], to))
        low, high = max(low, from_), min(high, to)
    because = tuple(name for name, (a, b) in named.items() if a >= low - 1e-12 or b <= high + 1e-12)
    paper = float(values.best[system.index[address]])
    return Setting(address, _end(low), _end(high), _wanted(low, high, paper), because, tuple(named))


def _wanted(low: float, high: float, paper: float) -> float | None:
    """The figure on paper where it lies within, else the middle, else the nearer end; None where nothing is known."""
    if low > high + 1e-12:
        return None
    if not math.isnan(paper) and low <= paper <= high:
        return paper
    if math.isinf(low) or math.isinf(high):
        return _end(low) if math.isinf(high) else _end(high)
    return (low + high) / 2


def _end(value: float) -> float | None:
    return None if math.isinf(value) else value


def _facts(values: Values) -> frozenset[int]:
    """Sizes that are facts: measured, figures of the engine, and what is computed from facts alone."""
    system = values.system
    found = {
        at for at, dimension in enumerate(system.dimensions)
        if not math.isnan(values.best[at])
        and (values.source[at] == MADE or (dimension is None and at not in system.computed))
    }  # fmt: skip
    for at in system.order:
        formula = system.computed.get(at)
        if formula is None or at in found or values.source[at] != COMPUTED:
            continue
        if all(system.index[a] in found for a in addresses(formula.node)):
            found.add(at)
    return frozenset(found)
