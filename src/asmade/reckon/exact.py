"""The algebra of the drawing check: which drawn figures contradict, which follow from others, which nothing supplies.

Every drawn figure is a statement ``name = value`` and every chain, same or sum an equation ``sum(coefficient * name) +
constant = 0``, all in exact fractions: 5/8 + 3/16 is 13/16 and not nearly so. Three questions about that linear system
are answered by elimination:

* its *left* null space: combinations of rows in which every name cancels. What is left of the figures should be 0;
where
  it is not, they contradict each other. Each combination found is a circuit: leave out any one row of it and the rest
  no longer says anything, so the set named is as small as can be.
* its solution: names not stated that have one value only.
* its *right* null space: names that can still be anything, and what is known of them together.

Stated figures are put in first, then the rest is eliminated row by row, the shortest row and in it the rarest name
first; names that occur in one equation only are peeled off before that, as no contradiction can run through them.
Integers inside (rows are scaled to whole coefficients), components part by themselves.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, field
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING, TypeVar

from asmade.measure.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

_Key = TypeVar("_Key", str, int)

_LONGEST = 24  # names in a row that is still made tidier
_PRIME = 2**61 - 1


@dataclass(frozen=True, slots=True)
class Equation:
    """What must hold: the sum of coefficient times figure, plus ``constant``, is 0; ``words`` say why."""

    name: str
    terms: Mapping[str, Fraction]
    constant: Fraction = Fraction(0)
    words: str = ""


@dataclass(frozen=True, slots=True)
class Statement:
    """A figure as drawn at one place of the drawing (``reference``: sheet, view)."""

    value: Fraction
    reference: str = ""


@dataclass(frozen=True, slots=True)
class Cure:
    """One stated figure which, if it were ``would_be``, would settle the matter."""

    name: str
    reference: str
    stated: Fraction
    would_be: Fraction


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Statements that cannot all hold, none of which can be left out.

    ``amount``: what the sum comes to instead of 0, counted in the first of ``equations`` as it is written; for a figure
    stated twice (no equation) the later statement less the first. ``names``: the stated figures that take part;
    ``through``: figures not stated that link the equations. ``cures``: each alone would settle this disagreement.
    """

    amount: Fraction
    equations: tuple[str, ...]
    names: tuple[str, ...]
    through: tuple[str, ...]
    cures: tuple[Cure, ...]


@dataclass(frozen=True, slots=True)
class Agreement:
    """Equations whose stated figures say more than needed, and agree."""

    equations: tuple[str, ...]
    names: tuple[str, ...]
    through: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Repeated:
    """A figure stated more than once with the same value."""

    name: str
    value: Fraction
    references: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Supplied:
    """A figure that is not stated but follows: from ``equations`` with ``names`` (stated, or supplied themselves)."""

    name: str
    value: Fraction
    equations: tuple[str, ...]
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Together:
    """Figures known only together: the sum of coefficient times figure over ``terms`` is ``value``."""

    terms: Mapping[str, Fraction]
    value: Fraction
    equations: tuple[str, ...]
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Missing:
    """Figures that nothing supplies and that hang together: ``needs`` more statements (well chosen) settle all.

    ``together``: what is known of them, in equations as short as was found; a name stands first in one of them only.
    """

    names: tuple[str, ...]
    needs: int
    together: tuple[Together, ...]


@dataclass(frozen=True, slots=True)
class Suspect:
    """A statement whose change settles ``settles`` disagreements and spoils no agreement."""

    cure: Cure
    settles: int


@dataclass(frozen=True, slots=True)
class Check:
    """Everything the drawn figures say about themselves; empty tuples all over mean: complete, nothing said twice."""

    disagreements: tuple[Disagreement, ...]
    suspects: tuple[Suspect, ...]
    agreements: tuple[Agreement, ...]
    repeated: tuple[Repeated, ...]
    supplied: tuple[Supplied, ...]
    missing: tuple[Missing, ...]

    def in_words(self, show: Callable[[Fraction], str] = str) -> tuple[str, ...]:
        """One sentence for each thing that is wrong or missing; ``show`` writes a length for the reader."""
        said = [_disagreement_in_words(d, show) for d in self.disagreements]
        said += [
            f"{s.cure.name} would settle {s.settles} disagreements at once if it were {show(s.cure.would_be)}"
            f" instead of {show(s.cure.stated)}"
            for s in self.suspects
            if s.settles > 1
        ]
        for group in self.missing:
            if len(group.names) == 1:
                said.append(f"{group.names[0]}: nothing supplies it")
                continue
            known = "; ".join(f"{_sum_in_words(t.terms)} = {show(t.value)}" for t in group.together)
            more = "one more figure settles" if group.needs == 1 else f"{group.needs} more figures settle"
            said.append(f"{', '.join(group.names)}: known only together ({known}); {more} them")
        return tuple(said)


def check(
    equations: Sequence[Equation],
    stated: Mapping[str, Sequence[Statement]],
    names: Iterable[str] = (),
) -> Check:
    """Check the drawn figures against each other.

    ``stated``: every drawn figure with all places where it is drawn (the first counts, the others are held against
    it); a name without a statement counts as not stated. ``names``: further figures that ought to be supplied even if
    no equation speaks of them. Values and coefficients are exact (int or Fraction) in one unit. Raises ``Refused`` for
    floats and for two equations of one name.

    Anchor (by hand): a + b = c with a = 5/8, b = 3/16, c = 7/8 stated disagrees by -1/16.
    """
    drawn = {name: tuple(statements) for name, statements in stated.items() if statements}
    _only_exact(equations, drawn)
    known = {name: statements[0].value for name, statements in drawn.items()}
    system = _System(equations, known)
    system.eliminate()
    system.substitute_back()

    circuits = [system.circuit(combination) for combination in system.circuits]
    circuits.sort(key=lambda c: (len(c.equations), c.equations))
    twice, repeated = _stated_more_than_once(drawn)
    disagreements = [
        Disagreement(
            amount=c.amount,
            equations=tuple(equations[i].name for i in c.equations),
            names=tuple(c.weights),
            through=c.through,
            cures=tuple(
                Cure(name, drawn[name][0].reference, known[name], known[name] - c.amount / weight)
                for name, weight in c.weights.items()
            ),
        )
        for c in circuits
        if c.amount
    ]
    everything = [_Circuit(d.amount, (), {d.names[0]: Fraction(-1)}, ()) for d in twice] + circuits
    return Check(
        disagreements=(*twice, *disagreements),
        suspects=_suspects(everything, drawn),
        agreements=tuple(
            Agreement(tuple(equations[i].name for i in c.equations), tuple(c.weights), c.through)
            for c in circuits
            if not c.amount
        ),
        repeated=repeated,
        supplied=tuple(system.supplied()),
        missing=tuple(system.missing(n for n in names if n not in known)),
    )


@dataclass(frozen=True, slots=True)
class _Circuit:
    """A combination of rows in which all names cancel: weights of the stated figures, scaled to the first equation."""

    amount: Fraction
    equations: tuple[int, ...]
    weights: Mapping[str, Fraction]
    through: tuple[str, ...]


@dataclass(slots=True)
class _Row:
    """A combination of equations: ``combination`` (equation: factor) comes to ``open`` + ``fixed`` (name: factor).

    ``open`` are names not known (yet), ``fixed`` those found to have one value; stated ones are looked up when needed.
    """

    open: dict[str, int]
    combination: dict[int, int]
    fixed: dict[str, int] = field(default_factory=dict)

    def less(self, other: _Row, name: str) -> None:
        """Take so much of ``other`` off that ``name`` (open in both) cancels; stays in whole numbers."""
        mine, its = self.open[name], other.open[name]
        common = math.gcd(mine, its)
        keep, take = its // common, mine // common
        if keep < 0:
            keep, take = -keep, -take
        _scaled_less(self.open, keep, other.open, take)
        _scaled_less(self.combination, keep, other.combination, take)
        _scaled_less(self.fixed, keep, other.fixed, take)
        if keep != 1:  # divide by what all factors share, so that numbers stay small
            shared = math.gcd(*self.open.values(), *self.combination.values(), *self.fixed.values())
            if shared > 1:
                self.open = {key: value // shared for key, value in self.open.items()}
                self.combination = {key: value // shared for key, value in self.combination.items()}
                self.fixed = {key: value // shared for key, value in self.fixed.items()}


def _scaled_less(target: dict[_Key, int], keep: int, other: Mapping[_Key, int], take: int) -> None:
    """Make ``target`` into keep times itself less take times ``other``, without zeros."""
    if keep != 1:
        for key in target:
            target[key] *= keep
    for key, value in other.items():
        new = target.get(key, 0) - take * value
        if new:
            target[key] = new
        else:
            target.pop(key, None)


class _System:
    """The equations with the stated figures put in, being eliminated."""

    def __init__(self, equations: Sequence[Equation], known: Mapping[str, Fraction]) -> None:
        self.equations = equations
        self.known = known
        self.residuals: list[Fraction] = []  # of each equation: constant and stated figures
        self.rows: list[_Row] = []
        self.users: dict[str, set[int]] = {}  # open name: live rows that use it
        self.pivots: list[tuple[str, _Row]] = []  # a row never speaks of the name of an earlier pivot
        self.circuits: list[dict[int, int]] = []
        self.values: dict[str, Fraction] = {}  # found, of names not stated
        self.steps: dict[str, _Row] = {}  # how they were found
        self.still_open: dict[str, _Row] = {}  # pivots whose rows hold free names too
        for index, equation in enumerate(equations):
            residual = Fraction(equation.constant)
            unknown: dict[str, Fraction] = {}
            for name, factor in equation.terms.items():
                value = known.get(name)
                if value is not None:
                    residual += factor * value
                elif factor:
                    unknown[name] = Fraction(factor)
            scale = math.lcm(*(factor.denominator for factor in unknown.values()))
            self.residuals.append(residual)
            self.rows.append(_Row({n: int(factor * scale) for n, factor in unknown.items()}, {index: scale}))
            for name in unknown:
                self.users.setdefault(name, set()).add(index)

    def eliminate(self) -> None:
        """Part the rows into pivots, each with a name of its own, and circuits, in which all names cancel."""
        rows, users = self.rows, self.users
        lonely = [name for name, its_users in users.items() if len(its_users) == 1]
        live = set(range(len(rows)))
        heap = [(len(row.open), 1, index) for index, row in enumerate(rows)]
        heapq.heapify(heap)

        def retire(index: int) -> None:
            live.discard(index)
            for name in rows[index].open:
                users[name].discard(index)
                if len(users[name]) == 1:
                    lonely.append(name)

        while heap:
            while lonely:
                name = lonely.pop()
                if len(users[name]) == 1:
                    (index,) = users[name]
                    self.pivots.append((name, rows[index]))
                    retire(index)
            length, many, index = heapq.heappop(heap)
            row = rows[index]
            if index not in live or (length, many) != (len(row.open), len(row.combination)):
                continue  # gone, or waiting in the heap again with its new length
            if not row.open:
                self.circuits.append(row.combination)
                live.discard(index)
                continue
            name = min(row.open, key=lambda n: (len(users[n]), n))
            self.pivots.append((name, row))
            retire(index)
            for other in tuple(users[name]):
                target = rows[other]
                before = set(target.open)
                target.less(row, name)
                for gone in before - target.open.keys():
                    users[gone].discard(other)
                    if len(users[gone]) == 1:
                        lonely.append(gone)
                for come in target.open.keys() - before:
                    users[come].add(other)
                heapq.heappush(heap, (len(target.open), len(target.combination), other))

    def substitute_back(self) -> None:
        """Find the names with one value; rid the other pivots' rows of each other's names, within reason.

        Substituting in full would make long rows out of a big tangle in which nothing is known. So a row is left as it
        is once it speaks of more than `_LONGEST` names, unless its pivot is one of those that have one value.
        """
        still_open = self.still_open
        loose = self._loose()
        for name, row in reversed(self.pivots):
            while True:
                other = next((n for n in row.open if n in still_open), None)
                if other is None or (name in loose and len(row.open) > _LONGEST):
                    break
                row.less(still_open[other], other)
            for other in [n for n in row.open if n in self.values]:
                row.fixed[other] = row.fixed.get(other, 0) + row.open.pop(other)
                if not row.fixed[other]:
                    del row.fixed[other]
            if len(row.open) > 1:
                still_open[name] = row
                continue
            self.values[name] = -self._rest(row) / row.open[name]
            self.steps[name] = row

    def _loose(self) -> set[str]:
        """Pivots that certainly can still be anything: a displacement that all equations allow moves them.

        The displacement is a random one, in whole numbers modulo a prime. Where it is not 0 the pivot is not settled,
        for certain; a pivot missed (one in 10^18) only costs the time of reducing its row in full.
        """
        random = Random(1)  # noqa: S311  # no secret: it only has to be without pattern
        moved: dict[str, int] = {}
        for name, row in reversed(self.pivots):
            total = 0
            for other, factor in row.open.items():
                if other != name:
                    if other not in moved:
                        moved[other] = random.randrange(1, _PRIME)
                    total -= factor * moved[other]
            own = row.open[name] % _PRIME
            moved[name] = total * pow(own, -1, _PRIME) % _PRIME if own else 0
        return {name for name, _ in self.pivots if moved[name]}

    def _rest(self, row: _Row) -> Fraction:
        """What a row comes to without its open names."""
        total = sum((factor * self.residuals[i] for i, factor in row.combination.items()), Fraction(0))
        return total + sum((factor * self.values[n] for n, factor in row.fixed.items()), Fraction(0))

    def _weights(self, combination: Mapping[int, int]) -> tuple[dict[str, int | Fraction], tuple[str, ...]]:
        """Weights of the stated figures in a combination of equations, and the other names it runs through."""
        weights: dict[str, int | Fraction] = {}
        through: dict[str, None] = {}
        for index in sorted(combination):
            for name, factor in self.equations[index].terms.items():
                if name in self.known:
                    weights[name] = weights.get(name, 0) + factor * combination[index]
                elif factor:
                    through[name] = None
        return {name: weight for name, weight in weights.items() if weight}, tuple(through)

    def circuit(self, combination: Mapping[int, int]) -> _Circuit:
        """Scale a combination so that its first equation counts as it is written."""
        order = tuple(sorted(combination))
        scale = Fraction(1, combination[order[0]])
        weights, through = self._weights(combination)
        amount = scale * sum((f * self.residuals[i] for i, f in combination.items()), Fraction(0))
        return _Circuit(amount, order, {n: Fraction(w) * scale for n, w in weights.items()}, through)

    def supplied(self) -> Iterable[Supplied]:
        """Names with one value, those first from which others follow."""
        for name, row in self.steps.items():
            weights, _ = self._weights(row.combination)
            used = (*weights, *row.fixed)
            yield Supplied(name, self.values[name], self._equation_names(row), used)

    def missing(self, wanted: Iterable[str]) -> Iterable[Missing]:
        """Names that can still be anything, those together that are tied to each other."""
        order = dict.fromkeys([n for e in self.equations for n, factor in e.terms.items() if factor])
        order |= dict.fromkeys(wanted)
        group = {name: name for name in order if name not in self.known and name not in self.values}

        def leader(name: str) -> str:
            while group[name] != name:
                group[name] = group[group[name]]
                name = group[name]
            return name

        for row in self.still_open.values():
            first, *rest = (leader(n) for n in row.open)
            for other in rest:
                group[leader(other)] = leader(first)
        members: dict[str, list[str]] = {}
        for name in group:
            members.setdefault(leader(name), []).append(name)
        ties: dict[str, list[Together]] = {}
        for name, row in self.still_open.items():
            ties.setdefault(leader(name), []).append(self._together(name, row))
        for head, names in members.items():
            tied = tuple(reversed(ties.get(head, ())))
            yield Missing(tuple(names), len(names) - len(tied), tied)

    def _together(self, name: str, row: _Row) -> Together:
        scale = Fraction(1, row.open[name])
        weights, _ = self._weights(row.combination)
        return Together(
            terms={name: Fraction(1)} | {n: factor * scale for n, factor in row.open.items() if n != name},
            value=-self._rest(row) * scale,
            equations=self._equation_names(row),
            names=(*weights, *row.fixed),
        )

    def _equation_names(self, row: _Row) -> tuple[str, ...]:
        return tuple(self.equations[i].name for i in sorted(row.combination))


def _stated_more_than_once(
    drawn: Mapping[str, tuple[Statement, ...]],
) -> tuple[tuple[Disagreement, ...], tuple[Repeated, ...]]:
    """Hold the later statements of each figure against its first one."""
    differ: list[Disagreement] = []
    repeated: list[Repeated] = []
    for name, (first, *others) in drawn.items():
        alike = [first.reference] + [s.reference for s in others if s.value == first.value]
        if len(alike) > 1:
            repeated.append(Repeated(name, first.value, tuple(alike)))
        for other in others:
            if other.value != first.value:
                cures = (
                    Cure(name, first.reference, first.value, other.value),
                    Cure(name, other.reference, other.value, first.value),
                )
                differ.append(Disagreement(other.value - first.value, (), (name,), (), cures))
    return tuple(differ), tuple(repeated)


def _suspects(circuits: Sequence[_Circuit], drawn: Mapping[str, tuple[Statement, ...]]) -> tuple[Suspect, ...]:
    """First statements that settle at least one disagreement and spoil no agreement, the most settling first."""
    by_name: dict[str, list[_Circuit]] = {}
    for circuit in circuits:
        for name in circuit.weights:
            by_name.setdefault(name, []).append(circuit)
    found: list[Suspect] = []
    for name, its_circuits in by_name.items():
        if not all(c.amount for c in its_circuits):
            continue
        changes = [-c.amount / c.weights[name] for c in its_circuits]
        change = max(changes, key=changes.count)
        first = drawn[name][0]
        cure = Cure(name, first.reference, first.value, first.value + change)
        found.append(Suspect(cure, changes.count(change)))
    found.sort(key=lambda s: -s.settles)
    return tuple(found)


def _only_exact(equations: Sequence[Equation], drawn: Mapping[str, tuple[Statement, ...]]) -> None:
    seen: set[str] = set()
    for equation in equations:
        if equation.name in seen:
            raise Refused("equations", got=equation.name, reason="two equations bear this name", way_out="name each")
        seen.add(equation.name)
        for value in (*equation.terms.values(), equation.constant):
            if not isinstance(value, int | Fraction):
                raise Refused(f"equation {equation.name!r}", got=value, reason="not exact", way_out="give a Fraction")
    for name, statements in drawn.items():
        for statement in statements:
            if not isinstance(statement.value, int | Fraction):
                raise Refused(
                    f"figure {name!r}", got=statement.value, reason="not exact", way_out="give the figure as a Fraction"
                )


def _sum_in_words(terms: Mapping[str, Fraction]) -> str:
    said = ""
    for name, factor in terms.items():
        sign = "-" if factor < 0 else "+"
        size = "" if abs(factor) == 1 else f"{abs(factor)} "
        said += f" {sign} {size}{name}"
    return said.removeprefix(" + ").removeprefix(" ")


def _disagreement_in_words(found: Disagreement, show: Callable[[Fraction], str]) -> str:
    if not found.equations:
        (first, other) = found.cures
        where = [f" ({cure.reference})" if cure.reference else "" for cure in (first, other)]
        return f"{first.name}: drawn {show(first.stated)}{where[0]} and {show(other.stated)}{where[1]}"
    cures = "; ".join(f"{c.name} {show(c.stated)} would have to be {show(c.would_be)}" for c in found.cures)
    return f"{' with '.join(found.equations)}: out by {show(found.amount)} ({cures or 'no stated figure takes part'})"
