"""aim: what a size may be made to now; with ``to_bench`` it is written down as what was aimed at."""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.book.address import Address, read_address
from asmade.book.model import Build
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.aims import Aim, aim_of
from asmade.reckon.values import Values, compute
from asmade.verbs.store import Path_, Saved, read, save


@dataclass(frozen=True, slots=True)
class AimResult:
    """The aim, and the entry by which it was written down (if it was)."""

    aim: Aim
    saved: Saved | None


def find(values: Values, text: str) -> Address:
    """The place-address a builder means: checked, an only place filled in, near names offered."""
    address = read_address(text)
    scope = values.system.scope
    if address.mark:
        raise Refused("address", got=text, reason="an aim is for a place", way_out="write it with @PLACE")
    if not address.dim:
        part = scope.design.parts.get(address.part)
        if part is None:
            raise Unknown("part", got=address.part, near=near(address.part, scope.design.parts))
        raise Unknown(f"dimension of {part.name}", got="", way_out=f"one of: {', '.join(part.dims)}")
    return scope.resolve(address)


def place_of(build: Build, values: Values, text: str) -> Address:
    """The place of a piece named by its mark, or of an address by place."""
    address = read_address(text)
    if not address.mark:
        return find(values, text)
    piece = build.pieces.get(address.seat)
    if piece is None:
        raise Unknown("piece", got=address.seat, near=near(address.seat, build.pieces))
    if not piece.place:
        raise Refused("address", got=text, reason=f"{address.seat} is {'scrap' if piece.scrapped else 'a spare'}: "
                      "it sits at no place", way_out="move it first: asmade made ... or --place PLACE")  # fmt: skip
    return find(values, str(Address(address.part, piece.place, dim=address.dim)))


def aim(path: Path_, text: str, *, instrument: str = "", to_bench: bool = False, what_if: bool = False) -> AimResult:
    """The aim of one size; ``to_bench`` writes an aimed entry, so that its reading can teach."""
    opened = read(path)
    found = aim_in(opened.build, compute(opened.build), text, instrument)
    if not to_bench:
        return AimResult(found, None)
    if found.target is None:
        raise Refused("aim", got=text, reason=f"there is nothing to aim at: {found.state}",
                      way_out="; ".join((*found.cure, *found.warnings)))  # fmt: skip
    saved = save(opened, [aimed_draft(found)], what_if=what_if)
    return AimResult(found, saved)


def aim_in(build: Build, values: Values, text: str, instrument: str = "") -> Aim:
    """The aim of one size of a build whose values are at hand."""
    if instrument and instrument not in build.shop.instruments:
        raise Unknown("instrument", got=instrument, near=near(instrument, build.shop.instruments),
                      way_out=f"the shop has: {', '.join(build.shop.instruments) or 'none yet'}")  # fmt: skip
    return aim_of(build, values, place_of(build, values, text), instrument)


def aimed_draft(found: Aim) -> Draft:
    """The entry that remembers an aim; an open end is remembered as the target."""
    unit = "deg" if found.angle else "mm"
    target = found.target if found.target is not None else math.nan
    low = target if found.low is None else found.low
    high = target if found.high is None else found.high

    def text(value: float) -> str:
        return f"{math.degrees(value) if found.angle else value:.4f} {unit}"

    return Draft("aimed", {
        "piece": found.piece.seat, "dim": found.piece.dim, "low": text(low), "target": text(target),
        "high": text(high), "approach": found.approach,
    })  # fmt: skip
