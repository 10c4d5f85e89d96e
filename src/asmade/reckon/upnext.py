"""What can be made now, ordered by what it frees: the list for the bench."""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.book.address import Address
from asmade.book.model import Build
from asmade.reckon.joining import out_of_reach
from asmade.reckon.system import System
from asmade.reckon.values import COMPUTED, MADE, Values


@dataclass(frozen=True, slots=True)
class Step:
    """One size still to be made (or measured): whether it can be made now, what it frees, what it waits for.

    One that nobody has said the size of (``not_drawn``) waits for the drawing and is not ready.
    """

    dimension: Address
    piece: Address
    ready: bool
    frees: tuple[str, ...]
    waits_for: tuple[str, ...]
    measure: str = ""
    not_drawn: bool = False

    @property
    def rank(self) -> tuple[int, int, str]:
        """Order at the bench: to be measured again first, then by how many sizes it frees, then by name."""
        return (0 if self.measure else 1, -len(self.frees), str(self.dimension))


def steps(build: Build, values: Values) -> tuple[Step, ...]:
    """Every size not yet made, those that can be made now first, by what they free."""
    system = values.system
    settled = _settled(values)
    missing = {values.system.index[a] for a in not_drawn(values)}
    gone = out_of_reach(build, system)
    waiting = {at: _waits(values, at, settled) for at in _to_make(values) if system.names[at] not in gone}
    frees: dict[int, list[str]] = {}
    for at, mates in waiting.items():
        for mate in mates:
            frees.setdefault(mate, []).append(str(system.names[at]))
    found = [
        Step(
            system.names[at],
            build.piece_at(system.names[at]),
            not mates and at not in missing,
            tuple(sorted(frees.get(at, ()))),
            tuple(str(system.names[m]) for m in mates),
            values.why_unknown.get(at, ""),
            at in missing,
        )
        for at, mates in waiting.items()
    ]
    return tuple(sorted(found, key=lambda step: (not step.ready, step.rank)))


def _to_make(values: Values) -> tuple[int, ...]:
    """Sizes of pieces that are cut or measured: not computed, not made."""
    system = values.system
    return tuple(
        at
        for at, dimension in enumerate(system.dimensions)
        if dimension is not None and at not in system.computed and values.source[at] != MADE
    )


def _settled(values: Values) -> frozenset[int]:
    """Sizes that are facts: made, figures, and what is computed from facts alone."""
    system = values.system
    found = {
        at
        for at, dimension in enumerate(system.dimensions)
        if values.source[at] == MADE or (dimension is None and at not in system.computed)
    }
    for at in system.order:
        formula = system.computed.get(at)
        if formula is None or at in found or values.source[at] != COMPUTED:
            continue
        if all(system.index[a] in found for a in _reads(system, at)):
            found.add(at)
    return frozenset(found)


def _reads(system: System, at: int) -> tuple[Address, ...]:
    from asmade.book.grammar import addresses  # noqa: PLC0415

    return tuple(addresses(system.computed[at].node))


def _waits(values: Values, at: int, settled: frozenset[int]) -> tuple[int, ...]:
    """The mates a to-suit size is made to that are not facts yet; none for a size that is made first."""
    system = values.system
    found: dict[int, None] = {}
    for number in system.suits.get(at, ()):
        for address in system.suit_sums[number].terms:
            mate = system.index[address]
            if mate != at and mate not in settled:
                found |= dict.fromkeys(_cut(system, mate, settled))
    return tuple(found)


def _cut(system: System, at: int, settled: frozenset[int]) -> tuple[int, ...]:
    """The sizes that must be cut for ``at`` to be a fact."""
    if at in settled:
        return ()
    if at not in system.computed or system.dimensions[at] is not None:
        return (at,)
    found: dict[int, None] = {}
    for address in _reads(system, at):
        found |= dict.fromkeys(_cut(system, system.index[address], settled))
    return tuple(found)


def known_share(values: Values) -> tuple[int, int]:
    """How many cut sizes are made, of how many."""
    system = values.system
    cut = [at for at, d in enumerate(system.dimensions) if d is not None and at not in system.computed]
    return sum(int(values.source[at] == MADE) for at in cut), len(cut)


def not_drawn(values: Values) -> tuple[Address, ...]:
    """Cut sizes that are neither drawn, chosen nor made, and that no mate or formula gives."""
    system = values.system
    return tuple(
        system.names[at]
        for at, dimension in enumerate(system.dimensions)
        if dimension is not None
        and at not in system.computed
        and values.source[at] != MADE
        and at not in values.why_unknown
        and math.isnan(system.paper[at])
        and math.isnan(values.best[at])
    )


def undecided(values: Values) -> tuple[Address, ...]:
    """Sizes that are neither chosen nor made."""
    system = values.system
    return tuple(
        system.names[at]
        for at, dimension in enumerate(system.dimensions)
        if dimension is not None
        and at not in system.computed
        and values.source[at] != MADE
        and not system.paper_is_chosen[at]
        and not math.isnan(system.paper[at])
    )
