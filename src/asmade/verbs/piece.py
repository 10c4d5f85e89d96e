"""piece: individuals with their marks, brought in, moved to another place, put with the spares, or scrapped."""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.address import read_address
from asmade.book.model import Piece
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.verbs.store import Path_, Saved, read, save

SPARE, SCRAP = "spare", "scrap"


@dataclass(frozen=True, slots=True)
class PieceResult:
    """What was saved, and all pieces of that part as they now are."""

    saved: Saved
    pieces: tuple[Piece, ...]


def piece(path: Path_, text: str, to: str, *, why: str = "", what_if: bool = False) -> PieceResult:
    """Move a piece (``wheel#W3``) ``to`` a place, ``spare`` or ``scrap``; a new mark brings a new piece in."""
    opened = read(path)
    address = read_address(text)
    part = opened.build.design.parts.get(address.part)
    if part is None:
        raise Unknown("part", got=address.part, near=near(address.part, opened.build.design.parts))
    if address.dim or not address.mark:
        raise Refused("piece", got=text, reason="a piece is a part and its mark", way_out=f"write {part.name}#MARK")
    known = opened.build.pieces.get(address.seat)
    if known is not None and known.scrapped:
        raise Refused("piece", got=text, reason="it is scrap", way_out="withdraw that entry if it was a slip")
    if to == SCRAP:
        if known is None:
            raise Unknown("piece", got=text, near=near(text, opened.build.pieces))
        draft = Draft("scrapped", {"piece": address.seat, "why": why})
    else:
        place = "" if to == SPARE else to
        if place and place not in part.places:
            raise Unknown(f"place of {part.name}", got=to, near=near(to, (*part.places, SPARE, SCRAP)),
                          way_out=f"one of: {', '.join((*part.places, SPARE, SCRAP))}")  # fmt: skip
        draft = Draft("moved", {"piece": address.seat, "place": place} | ({"why": why} if why else {}))
    saved = save(opened, [draft], what_if=what_if)
    return PieceResult(saved, tuple(p for p in saved.build.pieces.values() if p.part == part.name))
