"""Why a joint should not be made yet, and what to mind if it is: the judgement in a last look."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from asmade.book.address import Address
from asmade.book.model import Adhesive, Build
from asmade.reckon.joining import Joints, Role, Setting, Standing
from asmade.reckon.requirement import Finding
from asmade.reckon.system import Joint
from asmade.reckon.values import CHOSEN, DRAWN, MADE, SOURCES, SUITED, UNKNOWN, Values
from asmade.work.joining_means import Means

QUARTER: Final = "quarter"
MOST_NAMED: Final = 6
LONGEST_WORKING: Final = 200
"""Characters of a working that still help beside a reason; longer ones are opened with asmade check --working."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why not yet (or what to mind): a stable code, words, the way out."""

    code: str
    words: str
    way_out: str = ""


@dataclass(frozen=True, slots=True)
class Resting:
    """A finding that rests on the joint, through which sizes, and all the sizes it rests on."""

    finding: Finding
    because: tuple[tuple[Address, Role], ...]
    reads: frozenset[Address]


@dataclass(frozen=True, slots=True)
class Pending:
    """A size of another piece that is not made yet: it can still be made to suit."""

    address: Address
    source: str


@dataclass(frozen=True)
class Doubts:
    """One joint of a build with what rests on it: `stops` are reasons not to go, `minds` are worth knowing.

    ``tried``: when a trial assembly was entered since the joint was last undone; ``try_at``: to which piece it is.
    """

    build: Build
    values: Values
    joints: Joints
    joint: Joint
    stands: Mapping[str, Standing]
    first: tuple[Address, ...]
    resting: tuple[Resting, ...]
    set_to: tuple[Setting, ...]
    pending: tuple[Pending, ...]
    product: Adhesive | None
    means: Means
    tried: str = ""
    try_at: str = ""

    @cached_property
    def stops(self) -> tuple[Reason, ...]:
        """Reasons that only a written reason can overrule; a joint that stands already has that one alone."""
        found = self.stands.get(self.joint.subject)
        if found and found.joined:
            return (
                Reason("joined", f"it was joined on {found.at[:10]} (entry {found.entry})",
                       "enter how it was undone with: asmade undone"),
            )  # fmt: skip
        return tuple(self._against())

    @cached_property
    def minds(self) -> tuple[Reason, ...]:
        """What to mind; of a joint that stands already also what was against it."""
        stands = self.stands.get(self.joint.subject)
        return (*(self._against() if stands and stands.joined else ()), *self._worth_knowing())

    def _against(self) -> Iterator[Reason]:
        yield from self._order()
        for address in self.first:
            if why := self.must_measure(address):
                yield Reason("measure", f"{self.piece(address)} is not measured: {why}", self._how_known(address))
        yield from self._measure_anew()
        for each in self.resting:
            if self._rules_it_out(each):
                working = f": {each.finding.working}" if len(each.finding.working) <= LONGEST_WORKING else ""
                yield Reason("fails", f"{each.finding.subject} fails by {amount(each.finding)}{working}",
                             self._still_free(each))  # fmt: skip
        for setting in self.set_to:
            if not setting.possible:
                yield Reason("no setting", f"no {setting.address} suits all of {', '.join(setting.because)}",
                             "put right what is already fixed or measured, or widen a limit")  # fmt: skip
        if any(a.dim == QUARTER for a in self.joint.fixes) and not self.build.design.leads:
            yield Reason("lead", "the book does not say which side leads",
                         'write leads = "R" (or "L") below [book], as the drawing says')  # fmt: skip

    def _order(self) -> Iterator[Reason]:
        before = [step.name for step in self.joints.steps_to(self.joint) if step.kind == "joint"]
        for name in before:
            if name == self.joint.subject:
                continue
            if not self._joined(name):
                yield Reason("order", f"{name} comes before and is not joined", "make that joint first")
            elif gone := self.joints.strangers(self.build, self.stands[name]):
                yield Reason("order", f"{name} was made with {', '.join(gone)}, which no longer sit there",
                             "move them back, or enter that the joint was undone and make it with these")  # fmt: skip
        for name, sizes in self.joints.needed_by_others(self.joint):
            if name not in before and not self._joined(name):
                words = ", ".join(map(str, sizes))
                yield Reason("buried", f"{name} is not joined and works on {words}, out of reach afterwards",
                             "make that joint first")  # fmt: skip

    def must_measure(self, address: Address) -> str:
        """Why a size must be measured before the joint; empty where it can wait or cannot be reached any more.

        What is out of reach afterwards must be. What can be reached, but hardly be cut any more, must be unless all
        that rests on it holds in the worst case for a size that has been chosen; what is as cast can wait.
        """
        if address in self._gone:
            return ""
        if address in self.joints.hidden(self.joint):
            return "out of reach afterwards"
        at = self.values.system.at(address)
        dimension = self.values.system.dimensions[at]
        if dimension is None or dimension.made_by == "cast":
            return ""
        doubtful = [r.finding.subject for r in self.resting if address in r.reads and r.finding.verdict != "holds"]
        if not doubtful and int(self.values.source[at]) in (CHOSEN, SUITED):
            return ""
        trapped = address.seat in self.joints.captive_seats(self.joint)
        words = "its piece is trapped afterwards" if trapped else "hardly to be cut afterwards"
        return f"{words}, and {doubtful[0]} rests on it" if doubtful else f"{words}, and only drawn so far"

    @cached_property
    def _gone(self) -> frozenset[Address]:
        """Sizes that other joints, made already, have put out of reach."""
        here = self.joint.subject
        others = (j for j in self.joints.system.joints if j.subject != here and self._joined(j.subject))
        return frozenset(address for joint in others for address in self.joints.hidden(joint))

    def _measure_anew(self) -> Iterator[Reason]:
        """Surfaces of a joint that was undone are measured again: their old readings are of before."""
        found = self.stands.get(self.joint.subject)
        if found is None or found.joined:
            return
        for address in self.joints.fits.get(self.joint.fit, ()):
            reading = self.values.readings.get(self.values.system.at(address))
            if reading is not None and reading.entry < found.entry:
                yield Reason("measure", f"{self.piece(address)} was measured before the joint was undone",
                             "clean it, measure it again and enter the reading")  # fmt: skip

    @cached_property
    def _curable(self) -> Mapping[str, Setting]:
        """Findings that hold if what the joint sets is set as wanted (it is set by hand, not computed)."""
        system = self.values.system
        found: dict[str, Setting] = {}
        for setting in self.set_to:
            if setting.possible and system.at(setting.address) not in system.computed:
                found |= dict.fromkeys(setting.suits, setting)
        return found

    def _rules_it_out(self, resting: Resting) -> bool:
        """Whether a finding that fails stands against the joint.

        It does where the joint takes a cure away, by fixing, hiding or settling what it rests on. Where the joint only
        disturbs a size, it does once all its other sizes are measured; until then they can still cure it. It does not
        where a setting of this joint cures it, nor on the drawing's figures of its own surfaces: those are measured.
        """
        finding = resting.finding
        if finding.verdict != "fails" or finding.subject in self._curable:
            return False
        if finding.subject == self.joint.fit and not all(self._made(a) for a in resting.reads if self._cut(a)):
            return False
        if any(role != "disturbed" for _, role in resting.because):
            return True
        disturbed = {address for address, _ in resting.because}
        return all(self._made(a) for a in resting.reads - disturbed if self._cut(a))

    def _still_free(self, resting: Resting) -> str:
        """What could still be made otherwise among the sizes of a finding that fails."""
        free = sorted(str(a) for a in resting.reads if self._cut(a) and not self._made(a))
        if not free:
            return "all its sizes are measured: put one right, or widen the limit"
        return f"not made yet: {named(free)}; decide these first (asmade choose, asmade aim)"

    def _worth_knowing(self) -> Iterator[Reason]:
        for each in self.resting:
            finding = each.finding
            if finding.verdict == "fails" and finding.subject in self._curable:
                setting = self._curable[finding.subject]
                yield Reason("set", f"{finding.subject} holds if {setting.address} is set to {self.window(setting)}")
            elif finding.verdict == "fails" and not self._rules_it_out(each):
                yield Reason("fails for now", f"{finding.subject} fails by {amount(finding)}", self._still_free(each))
            elif finding.verdict == "close" and all(self._made(a) for a in each.reads if self._cut(a)):
                yield Reason("close", f"{finding.subject} is within its limits by {amount(finding)} only: the "
                                      "instruments could be out by more")  # fmt: skip
            elif finding.verdict == "not known":
                yield Reason("not known", f"{finding.subject} is not known: {', '.join(finding.missing)}")
        if not self.tried:
            yield Reason("trial", "no trial assembly is entered: everything goes together dry first, with the very "
                                  "pieces", f'asmade done BOOK {self.try_at} "{trial_of(self.joint)}"')  # fmt: skip
        waits = [str(a) for a in self.first if a not in self._gone and not self.must_measure(a)]
        if waits:
            yield Reason("measure soon", f"better measured while they are apart: {named(waits)}")
        drawn = [str(p.address) for p in self.pending if p.source in (SOURCES[DRAWN], SOURCES[UNKNOWN])]
        if drawn:
            yield Reason("drawn only", f"known from the drawing alone, or not at all: {named(drawn)}",
                         "choose these sizes before the joint takes the choice away")  # fmt: skip
        yield from self._about_the_means()

    def _about_the_means(self) -> Iterator[Reason]:
        by, shelf = self.joint.by, self.build.shop.adhesives
        if self.means.sets == "cures" and self.product is None:
            which, way_out = (
                ("which adhesive is not known", "name it in the fit: adhesive = ...") if shelf
                else ("no adhesive is entered", "enter its data sheet with: asmade shop")
            )  # fmt: skip
            yield Reason("data sheet", which, way_out)
        if self.means.sets == "not known":
            yield Reason("means", "by what means it is fixed is not said" if not by else f"{by!r} is no known means",
                         'write by = "retaining adhesive", "press", "taper pin", "silver solder" ...')  # fmt: skip
        if not self.joint.fit:
            yield Reason("fit", "the joint names no fit, so it is not known which surfaces it hides",
                         "add fit = ... to the [[joint]]")  # fmt: skip

    def window(self, setting: Setting) -> str:
        """What a size may be set to, in words."""
        system = self.values.system
        return window(setting, angle=system.units[system.at(setting.address)] == "rad")

    def piece(self, address: Address) -> str:
        """``wheel@1R.bore``, with the mark of the piece where that says more."""
        piece = self.build.piece_at(address)
        return str(address) if piece.mark == address.place else f"{address} ({piece.seat})"

    def _how_known(self, address: Address) -> str:
        source = SOURCES[int(self.values.source[self.values.system.at(address)])]
        known = "" if source == SOURCES[UNKNOWN] else f"known only as {source}: "
        return f"{known}asmade made BOOK {address} READING"

    def _joined(self, name: str) -> bool:
        found = self.stands.get(name)
        return found is not None and found.joined

    def _cut(self, address: Address) -> bool:
        """Whether a size is cut at the bench: a dimension that is not computed."""
        at = self.values.system.index.get(address)
        return (
            at is not None and self.values.system.dimensions[at] is not None and at not in self.values.system.computed
        )

    def _made(self, address: Address) -> bool:
        return int(self.values.source[self.values.system.at(address)]) == MADE


def trial_of(joint: Joint) -> str:
    """Under which name the trial assembly of a joint is entered as done."""
    return f"{joint.relation.name} tried dry"


def named(names: list[str]) -> str:
    """A list of names, the first few of many."""
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f"{', '.join(names[:MOST_NAMED])}{more}"


def amount(finding: Finding) -> str:
    """The margin of a finding without its sign, with its unit."""
    if finding.margin is None:
        return "an unknown amount"
    if finding.unit == "rad":
        return f"{abs(math.degrees(finding.margin)):.3f} deg"
    return f"{abs(finding.margin):.3f} {finding.unit}".strip()


def window(setting: Setting, *, angle: bool) -> str:
    """``90.45 deg (90.25 to 90.65, for quarters alike)``: what a size may be set to."""
    unit = "deg" if angle else "mm"

    def text(value: float) -> str:
        return f"{math.degrees(value):.2f}" if angle else f"{value:.3f}"

    if not setting.possible:
        return "nothing that suits all"
    best = "a figure that is not known" if setting.wanted is None else f"{text(setting.wanted)} {unit}"
    low, high = setting.low, setting.high
    if low is None and high is None:
        return best
    if low is None or high is None:
        ends = f"at least {text(low)}" if low is not None else f"at most {text(high if high is not None else 0.0)}"
    else:
        ends = f"{text(low)} to {text(high)}"
    return f"{best} ({ends}, for {', '.join(setting.because)})"
