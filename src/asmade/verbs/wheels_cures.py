"""Cures in the light of a book: what is not made yet costs nothing; axles not yet quartered are set as the others."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from asmade.book.address import Address
from asmade.book.grammar import addresses
from asmade.motion.bindings.wheels import Bound
from asmade.motion.wheels.chassis import Chassis, index_of, names
from asmade.motion.wheels.cures import Cure, find_cures
from asmade.motion.wheels.slack import Boxes, slack_left
from asmade.reckon.values import MADE, Values

NOTHING_MADE: Final = 0
"""Effort of a correction to what is not made yet."""
LEAST_TURN: Final = math.radians(0.5 / 60)
LEAST_GAIN: Final = 1e-4  # mm
TURN: Final = np.linspace(0.0, 2 * np.pi, 360, endpoint=False)
_WORDS: Final = re.compile(r"\b(pin|rod|horn|wheel|axle|axle centres) (\d+)(?=[LR]?\b)")


def cures_of(bound: Bound, values: Values, chassis: Chassis, wanted_mm: float, boxes: Boxes) -> tuple[Cure, ...]:
    """Single corrections that give the slack wanted, in the book's names, best first; see the module."""
    found = _yet_to_make(bound, values, find_cures(chassis, wanted_mm=wanted_mm, boxes=boxes))
    return (*_quarters_alike(bound, values, chassis, wanted_mm, boxes), *(_named(bound, cure) for cure in found))


def rod_in_book(bound: Bound, name: str) -> str:
    """A rod by the pins it spans, in the book's names of the axles."""
    return "".join(bound.axles[int(c) - 1] if c.isdigit() else c for c in name)


def _in_book(bound: Bound, text: str) -> str:
    """Words of the sums with the book's names of the axles, where the chassis is a part of the whole."""
    return _WORDS.sub(lambda found: f"{found[1]} {rod_in_book(bound, found[2])}", text)


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
    return int(values.source[values.system.index[address]]) == MADE


def _quarters_alike(bound: Bound, values: Values, chassis: Chassis, wanted_mm: float, boxes: Boxes) -> tuple[Cure, ...]:
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
    before = slack_left(chassis, TURN, boxes)[..., 0].min(axis=1)
    after = slack_left(chassis.replace_unchecked(quarter=alike), TURN, boxes)[..., 0].min(axis=1)
    if after.min() < before.min() + LEAST_GAIN:
        return ()
    which = f"axle{'s' if len(open_) > 1 else ''} {' and '.join(bound.axles[axle] for axle in open_)}"
    like = " and ".join(bound.axles[axle] for axle in made)
    return (
        Cure(
            kind="requarter", what=which, amount=quarter - float(chassis.quarter[open_[0], 0]), new_value=quarter,
            says=f"quarter {which}, not yet set, at {math.degrees(quarter):.3f} degrees as axle {like} is",
            slack_before=float(before.min()), slack_after=float(after.min()), best_possible=float(after.min()),
            frees=bool(after.min() >= wanted_mm),
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
        others=tuple((rod_in_book(bound, name), slack) for name, slack in cure.others),
    )
