"""The drawing check: what the drawn figures say of themselves, before anything is chosen or made.

Equal hole and shaft on a drawing mean "fit left to the builder". Everything else is taken at its word: sames, sums
and chains that close, dimensions stated more than once, dimensions that nothing supplies. All in exact fractions.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from weakref import WeakKeyDictionary

from asmade.book.address import Address
from asmade.book.grammar import Linear
from asmade.book.model import Build, Dimension
from asmade.book.sizes import Written, read_size
from asmade.reckon.exact import Check, Cure, Disagreement, Equation, Statement, check
from asmade.reckon.requirement import Finding, SumRequirement, Unit
from asmade.reckon.system import System, compile_system

SOURCE = "the drawn figures alone, exact fractions"


@dataclass(frozen=True, slots=True)
class DrawingCheck:
    """What the check found: findings in words, and how complete the drawing is."""

    findings: tuple[Finding, ...]
    stated: int
    not_stated: int
    supplied: Mapping[str, Fraction]
    left_to_builder: tuple[str, ...]


def check_drawing(build: Build, system: System | None = None) -> DrawingCheck:
    """Check the drawn figures of a build against each other; once for each ``system`` of its design."""
    if system is None or system.scope.design is not build.design:
        return _Drawing(build, system or compile_system(build)).run()
    found = _CHECKED.get(system)
    if found is None:
        found = _CHECKED[system] = _Drawing(build, system).run()
    return found


_CHECKED: WeakKeyDictionary[System, DrawingCheck] = WeakKeyDictionary()


class _Drawing:
    """One check of one build's drawn figures."""

    def __init__(self, build: Build, system: System) -> None:
        self.build, self.system = build, system
        self.stated: dict[str, list[Statement]] = {}
        self.angle: set[str] = set()
        self.either_way: set[str] = set()
        """Sizes that may be negative; no other is said to close a sum by becoming so."""
        self.names: list[str] = []
        self.left: list[str] = []
        self.equations: dict[tuple[tuple[tuple[str, Fraction], ...], Fraction], Equation] = {}
        self.slack: dict[str, Fraction] = {}
        self.used: set[str] = set()
        self._read_all()

    def _read_all(self) -> None:
        unit = self.build.design.drawing_unit
        for part in self.build.design.parts.values():
            for dimension in part.dims.values():
                name = f"{part.name}.{dimension.name}"
                self.names.append(name)
                if dimension.of_kind.thread:
                    self._threads(name, dimension)
                    continue
                if dimension.of_kind.angle:
                    self.angle.add(name)
                said = [(dimension.drawn, dimension.reference), *((s.drawn, s.reference) for s in dimension.also)]
                self._state(name, said, dimension, unit)
                for place, text in dimension.drawn_at.items():
                    at = f"{part.name}@{place}.{dimension.name}"
                    self.names.append(at)
                    if dimension.of_kind.angle:
                        self.angle.add(at)
                    self._state(at, [(text, dimension.reference)], dimension, unit)

    def _state(self, name: str, said: Sequence[tuple[str, str]], dimension: Dimension, unit: str) -> None:
        if dimension.signed or dimension.kind == "position":
            self.either_way.add(name)
        for text, reference in said:
            found = read_size(text, dimension, unit, name)
            if found is not None:
                self.stated.setdefault(name, []).append(Statement(_middle(found), reference or f"as {text!r}"))

    def _threads(self, name: str, dimension: Dimension) -> None:
        """A callout is a statement too, but no figure: it is held alike by a same, not by a sum."""
        if dimension.drawn:
            self.stated.setdefault(name, [])
            self.used.add(name)

    def name(self, address: Address) -> str:
        """The drawing knows a size by its part, unless it is drawn apart for that place."""
        dimension = self.system.scope.dimension(address)
        if dimension is None or address.place in dimension.drawn_at:
            return str(address)
        return str(address.of_part)

    def run(self) -> DrawingCheck:
        callouts = list(self._thread_findings())
        outside = list(self._relations())
        for formula in self.system.formulas:
            if formula.exact is not None:
                gives = self.system.names[formula.gives]
                total = formula.exact.plus(Linear({gives: Fraction(-1)}, Fraction(0)))
                self._equation(formula.name, total, "sum")
        figures = [n for n in self.names if n not in self.used]
        found = check(tuple(self.equations.values()), {n: s for n, s in self.stated.items() if s}, figures)
        findings = [
            *self._disagreements(found), *outside, *callouts, *self._repeated(found), *self._missing(found),
        ]  # fmt: skip
        not_stated = sum(n not in self.stated for n in self.names)
        return DrawingCheck(
            tuple(findings), len(self.names) - not_stated, not_stated,
            {s.name: s.value for s in found.supplied}, tuple(self.left),
        )  # fmt: skip

    def _equation(self, name: str, total: Linear, words: str, slack: Fraction = Fraction(0)) -> None:
        terms: dict[str, Fraction] = {}
        for address, rate in total.terms.items():
            key = self.name(address)
            terms[key] = terms.get(key, Fraction(0)) + rate
        terms = {key: rate for key, rate in terms.items() if rate}
        if not terms:
            return  # the same drawn figure against itself
        seen = (tuple(sorted(terms.items())), total.constant)
        if seen not in self.equations:
            if name in self.slack:
                name = f"{name} ({' and '.join(terms)})"  # a same of several parts is one equation for each pair
            self.equations[seen] = Equation(name, terms, total.constant, words)
            self.slack[name] = slack

    def _relations(self) -> Iterator[Finding]:
        """Fits and chains: equations where they close, else windows on the drawn figures."""
        seen: set[tuple[str, tuple[str, ...]]] = set()
        for requirement in self.system.requirements:
            if not isinstance(requirement, SumRequirement) or requirement.exact is None:
                continue
            total = requirement.exact
            names = tuple(self.name(a) for a in total.terms)
            key = (requirement.subject.partition("@")[0], names)
            if key in seen:
                continue
            seen.add(key)
            limits = requirement.limits
            if requirement.code == "same":
                within = Fraction(str(limits.high)) if limits.high is not None else Fraction(0)
                self._equation(requirement.subject, total, "same", within if requirement.unit == "mm" else Fraction(0))
                continue
            if requirement.code == "chain" and limits.low is not None and limits.high == -limits.low:
                self._equation(requirement.subject, total, "chain", Fraction(str(limits.high)))
                continue
            yield from self._window(requirement, total, names)

    def _window(self, requirement: SumRequirement, total: Linear, names: tuple[str, ...]) -> Iterator[Finding]:
        figures = [self.stated.get(name, []) for name in names]
        if requirement.code == "fit":
            known = [bool(f) for f in figures]
            if sum(known) == 1:
                self._equation(requirement.subject, total, "fit")
            if all(known) and figures[0][0].value == figures[1][0].value:
                self.left.append(requirement.subject)
                return
        if not all(figures):
            return
        value = total.constant + sum(
            (rate * f[0].value for rate, f in zip(total.terms.values(), figures, strict=True)), Fraction(0)
        )
        limits, at = requirement.limits, float(value)
        if requirement.unit == "rad":
            at = math.radians(at)
        low_ok = limits.low is None or at >= limits.low - 1e-9
        if low_ok and (limits.high is None or at <= limits.high + 1e-9):
            return
        ends = [e for e in (limits.low, limits.high) if e is not None]
        margin = -min(abs(at - e) for e in ends)
        kind = "hole and shaft differ" if requirement.code == "fit" else "outside its limits as drawn"
        yield Finding(
            code="drawing.outside", subject=requirement.subject, verdict="fails", value=at, low=limits.low,
            high=limits.high, margin=margin, worst_low=at, worst_high=at, chance=None, shares=(), unit=requirement.unit,
            working=f"{kind}: " + requirement.working(self._figure), source=limits.source or SOURCE, drawn_only=True,
        )  # fmt: skip

    def _figure(self, address: Address) -> str:
        said = self.stated.get(self.name(address))
        return _show(said[0].value, angle=self.name(address) in self.angle) if said else ""

    def _thread_findings(self) -> Iterator[Finding]:
        seen: set[tuple[str, ...]] = set()
        for requirement in self.system.requirements:
            if requirement.code != "same" or requirement.unit != "":
                continue
            names = tuple(self.name(a) for a in requirement.reads)
            if names in seen:
                continue
            seen.add(names)
            said = {n: self._callout(a) for n, a in zip(names, requirement.reads, strict=True)}
            if len({s for s in said.values() if s}) > 1:
                yield _words(
                    "drawing.contradiction", requirement.subject,
                    "threads that should be one: " + ", ".join(f"{n} {s}" for n, s in said.items()),
                )  # fmt: skip

    def _callout(self, address: Address) -> str:
        dimension = self.build.design.dimension(address)
        return "" if dimension is None else dimension.drawn_at.get(address.place, dimension.drawn)

    def _disagreements(self, found: Check) -> Iterator[Finding]:
        told: set[tuple[tuple[str, ...], Fraction]] = set()
        for one in found.disagreements:
            if (one.names, abs(one.amount)) in told:
                continue  # the other side of the engine says the same of the same figures
            told.add((one.names, abs(one.amount)))
            slack = max((self.slack.get(e, Fraction(0)) for e in one.equations), default=Fraction(0))
            if one.amount and abs(one.amount) <= slack:
                continue
            angle = any(name in self.angle for name in one.names)
            amount = float(one.amount)
            value = math.radians(amount) if angle else amount
            unit: Unit = "rad" if angle else "mm"
            yield Finding(
                code="drawing.contradiction", subject=one.equations[0] if one.equations else one.names[0],
                verdict="fails", value=value, low=0.0, high=0.0, margin=-abs(value), worst_low=value, worst_high=value,
                chance=None, shares=(), unit=unit, working=self._disagreement(one, angle=angle), source=SOURCE,
                drawn_only=True, missing=(),
            )  # fmt: skip

    def _disagreement(self, one: Disagreement, *, angle: bool) -> str:
        stated = self.stated
        by = _show(abs(one.amount), angle=angle)
        if not one.equations:
            name = one.names[0]
            said = ", ".join(f"{_show(s.value, angle=angle)} ({s.reference})" for s in stated[name])
            return f"{name} is stated more than once and differs by {by}: {said}"
        figures = ", ".join(f"{n} {_show(stated[n][0].value, angle=angle)}" for n in one.names)
        text = f"{figures}: out by {by} in {' and '.join(one.equations)}"
        if one.through:
            text += f" (through {', '.join(one.through)})"
        cures = [
            _cure(cure, angle=angle)
            for cure in one.cures
            if cure.would_be != cure.stated and (cure.would_be > 0 or cure.name in self.either_way)
        ]
        return f"{text}. It would close if {' or '.join(cures)}." if cures else text

    def _repeated(self, found: Check) -> Iterator[Finding]:
        for one in found.repeated:
            yield _words(
                "drawing.stated_more_than_once", one.name,
                f"{_show(one.value, angle=one.name in self.angle)} at {' and '.join(one.references)}; they agree",
                holds=True,
            )  # fmt: skip
        told: set[tuple[str, ...]] = set()
        meant = {r.subject for r in self.system.requirements if r.code in ("same", "fit")}
        for agreement in found.agreements:
            if all(name.partition(" (")[0] in meant for name in agreement.equations):
                continue  # equal on purpose: that they agree is no news
            if len(agreement.names) > 1 and agreement.names not in told:
                told.add(agreement.names)
                yield _words(
                    "drawing.stated_more_than_once", agreement.equations[0],
                    f"{', '.join(agreement.names)} say more than is needed, and agree", holds=True,
                )  # fmt: skip

    def _missing(self, found: Check) -> Iterator[Finding]:
        for group in found.missing:
            names = [n for n in group.names if n not in self.used]
            if len(names) == 1:
                yield _words(
                    "drawing.missing", names[0], "not drawn, and no sum or same supplies it",
                    way=f"enter it: asmade drawn BOOK {names[0]} ...",
                )  # fmt: skip
            elif names:
                yield _words(
                    "drawing.missing", names[0],
                    f"{', '.join(names)} are known only together; {group.needs} more would settle them",
                )  # fmt: skip


def _middle(found: Written) -> Fraction:
    if found.lower is None or found.upper is None:
        return found.exact
    return found.exact + (found.lower + found.upper) / 2


def _show(value: Fraction, *, angle: bool = False) -> str:
    from asmade.measure.show import show_64ths, show_mm  # noqa: PLC0415

    if angle:
        return f"{float(value):g} deg"
    inches = f"-{show_64ths(-value)}" if value < 0 else show_64ths(value)
    return f"{inches} ({show_mm(value, step='0.001')} mm)"


def _words(code: str, subject: str, words: str, *, holds: bool = False, way: str = "") -> Finding:
    wrong = code.endswith("contradiction")
    return Finding(
        code=code, subject=subject, verdict="holds" if holds else "fails" if wrong else "not known",
        value=None, low=None, high=None, margin=None, worst_low=None, worst_high=None, chance=None, shares=(),
        working=words + (f" -> {way}" if way else ""), source=SOURCE, drawn_only=True,
        missing=() if holds or wrong else (subject,),
    )  # fmt: skip


def _cure(cure: Cure, *, angle: bool) -> str:
    return f"{cure.name} were {_show(cure.would_be, angle=angle)}"
