"""aim: what a size may be made to now; with ``to_bench`` it is written down as what was aimed at."""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.book.address import Address, read_address
from asmade.book.model import Build
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.aims import Aim, aim_of
from asmade.reckon.values import Values
from asmade.verbs.addresses import dimension_of
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
        raise Refused("address", got=text, reason="it is for a place, not for a piece", way_out="write it with @PLACE")
    part, dimension = dimension_of(scope.design, address)
    if dimension.of_kind.thread:
        raise Refused("address", got=text, reason=f"{part.name}.{dimension.name} is a thread: it is cut to its callout",
                      way_out=f"see asmade show BOOK {part.name}")  # fmt: skip
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
        where = "scrap" if piece.scrapped else "a spare"
        raise Refused("address", got=text, reason=f"{address.seat} is {where}: it sits at no place",
                      way_out=f"name a place, or seat it: asmade piece BOOK {address.seat} --to PLACE")  # fmt: skip
    return find(values, str(Address(address.part, piece.place, dim=address.dim)))


def aim(path: Path_, text: str, *, instrument: str = "", to_bench: bool = False, what_if: bool = False) -> AimResult:
    """The aim of one size; ``to_bench`` writes an aimed entry, so that its reading can teach."""
    opened = read(path)
    found = aim_in(opened.build, opened.values, text, instrument)
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
    """The entry that remembers an aim; an end that is open is left out."""
    unit = "deg" if found.angle else "mm"
    sizes = {"low": found.low, "target": found.target, "high": found.high}
    texts = {
        key: f"{math.degrees(value) if found.angle else value:.4f} {unit}"
        for key, value in sizes.items()
        if value is not None
    }
    return Draft("aimed", {"piece": found.piece.seat, "dim": found.piece.dim, **texts, "approach": found.approach})
