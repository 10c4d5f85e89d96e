"""The measured pieces that a fit could bring together: holes and shafts as individuals, spares included."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import Final

from asmade.book.address import Address
from asmade.book.model import Build
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.pairing import Left, Pairing, pair
from asmade.reckon.requirement import SumRequirement
from asmade.reckon.system import System
from asmade.reckon.values import corrected, last_made


@dataclass(frozen=True, slots=True)
class Mates:
    """A pairing of measured pieces, with what could not take part for want of a reading."""

    fit: str
    pairing: Pairing
    unmeasured: tuple[str, ...]
    source: str


def pair_up(build: Build, system: System, fit: str, *, forbidden: frozenset[tuple[str, str]] = frozenset()) -> Mates:
    """Pair all measured pieces of a fit (given by name, with or without a place), those already joined left out."""
    found = [
        r
        for r in system.requirements
        if isinstance(r, SumRequirement)
        and r.code == "fit"
        and (r.subject == fit or r.subject.partition("@")[0] == fit)
    ]
    if not found:
        names = {r.subject.partition("@")[0] for r in system.requirements if r.code == "fit"}
        raise Unknown("fit", got=fit, near=near(fit, names), way_out=f"fits are: {', '.join(sorted(names))}")
    limits = {(r.limits.low, r.limits.high) for r in found}
    if len(limits) > 1:
        raise Refused("pair", got=fit, reason="its limits differ from place to place",
                      way_out=f"name one place, such as {found[0].subject}")  # fmt: skip
    low, high = limits.pop()
    joined = _joined(build, system)
    unmeasured: dict[str, None] = {}
    open_places = [r.reads for r in found if r.subject not in joined]
    holes = _all_measured(build, [reads[0] for reads in open_places], unmeasured)
    shafts = _all_measured(build, [reads[1] for reads in open_places], unmeasured)
    taken = {str(build.piece_at(a)) for r in found if r.subject in joined for a in r.reads}
    target = None if low is not None and high is not None else low if low is not None else high
    pairing = pair(
        [(name, *value) for name, value in holes.items() if _bare(name) not in taken],
        [(name, *value) for name, value in shafts.items() if _bare(name) not in taken],
        low,
        high,
        target=target,
        forbidden=forbidden,
    )
    pairing = _named_plainly(pairing)
    return Mates(fit, pairing, tuple(n for n in unmeasured if n not in taken), found[0].limits.source)


AGAIN: Final = " again"
"""Marks the second and later use of one size: an axle's journal runs in two boxes."""


def _all_measured(
    build: Build, addresses: list[Address], unmeasured: dict[str, None]
) -> dict[str, tuple[float, float]]:
    """Measured pieces of all places, each as often as a piece of its kind is used: a journal runs in two boxes."""
    uses = Counter(addresses)
    most: dict[Address, int] = {}
    for address, count in uses.items():
        most[address.of_part] = max(most.get(address.of_part, 0), count)
    found: dict[str, tuple[float, float]] = {}
    for address in uses:
        for name, value in _measured(build, address, unmeasured).items():
            found |= {name + AGAIN * k: value for k in range(most[address.of_part])}
    return found


def _bare(name: str) -> str:
    return name.replace(AGAIN, "")


def _named_plainly(pairing: Pairing) -> Pairing:
    def left(pieces: tuple[Left, ...]) -> tuple[Left, ...]:
        return tuple(
            replace(p, name=_bare(p.name), nearest=None if p.nearest is None else _bare(p.nearest)) for p in pieces
        )

    pairs = tuple(replace(p, first=_bare(p.first), second=_bare(p.second)) for p in pairing.pairs)
    return replace(
        pairing, pairs=pairs, unpaired_first=left(pairing.unpaired_first), unpaired_second=left(pairing.unpaired_second)
    )


def _measured(build: Build, address: Address, unmeasured: dict[str, None]) -> dict[str, tuple[float, float]]:
    """Every piece of the part that has this size measured: seated anywhere or spare, not scrapped."""
    last = last_made(build)
    dimension = build.design.dimension(address.of_part)
    found: dict[str, tuple[float, float]] = {}
    for piece in build.pieces.values():
        if piece.part != address.part or piece.scrapped or dimension is None:
            continue
        of = Address(piece.part, mark=piece.mark, dim=address.dim)
        reading = last.get(of)
        if reading is None:
            unmeasured[str(of)] = None
            continue
        found[str(of)] = corrected(build, reading)
    return found


def _joined(build: Build, system: System) -> frozenset[str]:
    """Fits that a joint has fixed."""
    by_name = {joint.subject: joint.fit for joint in system.joints}
    standing: dict[str, bool] = {}
    for remark in build.remarks:
        if remark.kind in ("joined", "undone"):
            standing[str(remark.body.get("joint", ""))] = remark.kind == "joined"
    return frozenset(by_name[name] for name, on in standing.items() if on and name in by_name)
