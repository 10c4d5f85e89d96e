"""The bench: one thing at a time, big, for one thumb. A reading is asked about where it looks like a slip."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.book.address import Address
from asmade.book.kinds import STAGES
from asmade.measure.errors import AsmadeError, Refused, Unknown
from asmade.verbs import aim, made
from asmade.web.desk import AtDesk, Desk, Fields, Form
from asmade.web.figures import size_path

if TYPE_CHECKING:
    from asmade.verbs.made import MadeResult

router = APIRouter()
LINKS: Final = ((50, "Bench", "/bench"),)
INSTRUMENT: Final = "asmade_instrument"
A_YEAR: Final = 366 * 24 * 3600
TODAY: Final = 30  # pieces on the list at once
KEY: Final = re.compile(r"[A-Za-z0-9_-]{8,64}")


@dataclass(frozen=True, slots=True)
class Kept:
    """What a reading changed, put by under the form's own key."""

    result: MadeResult
    place: str


@router.get("/bench")
def today(request: Request, desk: AtDesk, about: str = "") -> Response:
    """What can be made now, by piece, what frees most first."""
    found = desk.look().next
    pieces = found.pieces
    if about:
        word = about.casefold()
        pieces = tuple(p for p in pieces if word in p.piece.casefold())
    return desk.page(request, "bench.html", block=False, made=found.made, sizes=found.sizes,
                     pieces=pieces[:TODAY], more=len(pieces[TODAY:]), waiting=found.waiting,
                     about=about, at_bench=_at_bench(desk))  # fmt: skip


def _at_bench(desk: Desk) -> tuple[str, ...]:
    """Sizes sent to the bench and not read since, the last first."""
    build = desk.look().build
    read = {r.piece: r.entry for r in build.readings}
    waiting = [a for a in build.aimed if read.get(a.piece, 0) < a.entry]
    return tuple(dict.fromkeys(str(a.piece) for a in reversed(waiting)))


@router.get("/bench/size/{address:path}")
def size(request: Request, desk: AtDesk, address: str, instrument: str = "") -> Response:
    """One dimension: what to make it to, and where to write down what it measures."""
    return _size(request, desk, address, instrument=instrument)


def _size(
    request: Request, desk: Desk, text: str, *, instrument: str = "", status: int = 200,
    refused: AsmadeError | None = None, form: Fields | None = None, slips: tuple[str, ...] = (), read_as: str = "",
) -> Response:  # fmt: skip
    look = desk.look()
    row, _ = look.size(text)
    known = look.build.shop.instruments
    chosen = instrument or (form["instrument"] if form else "") or request.cookies.get(INSTRUMENT, "")
    chosen = chosen if chosen in known else ""
    found = look.aim(str(row.address), chosen) if row.aim is not None else None
    sent = next((a for a in reversed(look.build.aimed) if str(a.piece) == f"{row.piece}.{row.address.dim}"), None)
    rest = next((p for p in look.next.pieces if p.piece == row.piece), None)
    form = form or Fields()
    key = form["key"] if slips else secrets.token_urlsafe(12)
    return desk.page(
        request, "bench_size.html", block=False, status=status, row=row, aim=found, instruments=known,
        instrument=chosen, sent=sent, rest=rest, refused=refused, form=form, slips=slips, read_as=read_as, key=key,
        STAGES=STAGES,
    )  # fmt: skip


@router.post("/bench/aim")
def to_bench(request: Request, desk: AtDesk, form: Form) -> Response:
    """Write the aim down: the size goes to the bench, and its reading can teach."""
    try:
        result = aim.aim(desk.book.path, form["address"], instrument=form["instrument"], to_bench=True)
    except AsmadeError as fault:
        return _size(request, desk, form["address"], status=422, refused=fault, form=form)
    return desk.go(size_path(result.aim.dimension, "bench/size"), "Written down: this is what you are aiming at.")


@router.post("/bench/reading")
def reading(request: Request, desk: AtDesk, form: Form) -> Response:
    """Save a reading; where it looks like a slip, ask first. Sent twice under one key it is saved once."""
    key = form["key"]
    try:
        if not KEY.fullmatch(key):
            raise Refused(
                "form", got=key[:20], reason="it has lost its key", way_out="load the page and enter it again"
            )
        before = desk.results.get(key)
        if before is None:
            result = _made(desk, form, key)
            if result.saved.what_if:
                return _size(request, desk, form["address"], form=form, slips=result.slips, read_as=result.how)
            place = desk.look().build.pieces[result.piece.seat].place
            at = str(Address(result.piece.part, place, dim=result.piece.dim)) if place else str(result.piece)
            desk.results.put(Kept(result, at), key)
    except AsmadeError as fault:
        return _size(request, desk, form["address"], status=422, refused=fault, form=form)
    answer = desk.go(f"/bench/saved/{key}")
    answer.set_cookie(INSTRUMENT, form["instrument"], max_age=A_YEAR, httponly=True, samesite="strict")
    return answer


def _made(desk: Desk, form: Fields, key: str) -> MadeResult:
    texts = tuple(filter(None, map(str.strip, re.split(r"[;\n]", form["reading"]))))
    several = form["several"]
    if len(texts) > 1 and several not in ("repeats", "spots"):
        raise Refused("reading", got=form["reading"], reason="there are several: at one spot or at different ones?",
                      way_out="say which below")  # fmt: skip
    return made.made(
        desk.book.path, form["address"], texts, goes=form["goes"], stops=form["stops"], spots=several == "spots",
        instrument=form["instrument"], stage=form["stage"] or "finished", note=form["note"],
        heed_slips=not form["sure"], key=key,
    )  # fmt: skip


@router.get("/bench/saved/{key}")
def saved(request: Request, desk: AtDesk, key: str) -> Response:
    """What the reading changed, and what is now next."""
    kept = desk.results.get(key)
    if kept is None:
        raise Unknown("reading", got=key[:20], way_out="it is in the history if it was saved")
    look = desk.look()
    same = next((p for p in look.next.pieces if p.piece == kept.result.piece.seat), None)
    after = tuple(p for p in look.next.pieces if p is not same)[:3]
    return desk.page(request, "bench_saved.html", block=False, kept=kept, same=same, after=after)
