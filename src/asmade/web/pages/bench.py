"""The bench: today's list, one dimension at a time, big, for one thumb; what looks like a slip is asked about."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING, Final

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response

from asmade.book.kinds import STAGES
from asmade.measure.errors import AsmadeError, Unknown
from asmade.measure.show import show_inch, show_to
from asmade.verbs import aim, at_bench, made, show
from asmade.verbs.route import RouteResult, planned
from asmade.verbs.waiting import waiting_of
from asmade.web import taken
from asmade.web.desk import AtDesk, Desk, Fields, Form
from asmade.web.figures import figure, size_path

if TYPE_CHECKING:
    from asmade.book.address import Address
    from asmade.reckon.aims import Aim
    from asmade.verbs.waiting import WaitingJoint
    from asmade.web.seen import Look
    from asmade.work.recipes.model import Operation

router = APIRouter()
LINKS: Final = ((50, "Bench", "/bench"),)
INSTRUMENT: Final = "asmade_instrument"
A_YEAR: Final = 366 * 24 * 3600
TODAY: Final = 30  # pieces on the list at once
MOST_TRIED: Final = 20  # readings shown back at once


@router.get("/bench")
def today(request: Request, desk: AtDesk, about: str = "") -> Response:
    """What cures, what was begun, and what can be made now, by piece, what frees most first."""
    found = desk.look().next
    pieces = found.pieces
    if about:
        word = about.casefold()
        pieces = tuple(p for p in pieces if word in p.piece.casefold())
    return desk.page(
        request, "bench.html", block=False, made=found.made, sizes=found.sizes, pieces=pieces[:TODAY],
        more=len(pieces[TODAY:]), waiting=found.waiting, about=about, at_bench=_at_bench(desk),
        curing=curing(desk.look()), state=desk.look().opened.last,
        formed={part.name for part in desk.look().build.design.parts.values() if part.form},
    )  # fmt: skip


def curing(look: Look) -> tuple[WaitingJoint, ...]:
    """Joints that wait for cure now."""
    return waiting_of(look.build, values=look.values)


def _at_bench(desk: Desk) -> tuple[str, ...]:
    """Sizes sent to the bench or read on the way, and not finished since, the last first."""
    build = desk.look().build
    begun = {r.piece: r.entry for r in build.readings if r.stage == "on the way"}
    begun |= {a.piece: max(a.entry, begun.get(a.piece, 0)) for a in build.aimed}
    done = {r.piece: r.entry for r in build.readings if r.stage != "on the way"}
    open_ = [piece for piece, entry in begun.items() if done.get(piece, 0) < entry]
    return tuple(str(piece) for piece in sorted(open_, key=lambda piece: -begun[piece]))


@router.get("/bench/size/{address:path}")
def size(request: Request, desk: AtDesk, address: str, instrument: str = "") -> Response:
    """One dimension: what to make it to, and where to write down what it measures."""
    return size_page(request, desk, address, instrument=instrument)


def route_of(look: Look, part: str, place: str) -> RouteResult | AsmadeError:
    """The route of a piece, or why there is none; once for each state of the book."""

    def plan() -> RouteResult | AsmadeError:
        try:
            return planned(look.build, look.values, part, place)
        except AsmadeError as fault:
            return fault

    return look.once(f"route {part}@{place}", plan)


def operation_of(look: Look, address: Address) -> Operation | None:
    """The operation that makes a size; None where its piece has no route."""
    found = route_of(look, address.part, address.place)
    return None if isinstance(found, AsmadeError) else at_bench.operation_in(found.route, address.dim)


def size_page(
    request: Request, desk: Desk, text: str, *, instrument: str = "", status: int = 200,
    refused: AsmadeError | None = None, form: Fields | None = None, asked: taken.Asked | None = None,
) -> Response:  # fmt: skip
    """The page of one dimension, with a refusal or a question of what was typed there."""
    look = desk.look()
    row, _ = show.size_of(look.build, text, look.values, ())  # no findings: a bench page does not wait for them
    known = look.build.shop.instruments
    chosen = instrument or (form["instrument"] if form else "") or request.cookies.get(INSTRUMENT, "")
    chosen = chosen if chosen in known else ""
    found = look.aim(str(row.address), chosen) if chosen and row.aim is not None else row.aim
    maker = operation_of(look, row.address) if row.address.place else None
    sent = next((a for a in reversed(look.build.aimed) if str(a.piece) == f"{row.piece}.{row.address.dim}"), None)
    rest = next((p for p in look.next.pieces if p.piece == row.piece), None)
    form = form or Fields()
    return desk.page(
        request, "bench_size.html", block=False, status=status, row=row, aim=found, instruments=known,
        instrument=chosen, sent=sent, rest=rest, refused=refused, form=form, asked=asked,
        key=form["key"] if asked else secrets.token_urlsafe(12), STAGES=STAGES, maker=maker, aim_seen=_seen(found),
        togo=at_bench.to_go(look.build, found, maker) if found is not None else None,
        expected=_expected(look, f"{row.piece}.{row.address.dim}"),
        state=look.opened.last,
    )  # fmt: skip


def _expected(look: Look, piece: str) -> tuple[float, float] | None:
    """Ends past which the browser asks by itself where it has no connection."""
    try:
        return made.slip_ends(look.values, look.build, piece)
    except AsmadeError:  # no such piece yet: there is nothing to read
        return None


def _seen(found: Aim | None) -> str:
    """An aim as a phone sends it back with a reading: low, target, high; a dash where that is open."""
    if found is None:
        return ""
    return " ".join("-" if x is None else f"{x:.6f}" for x in (found.low, found.target, found.high))


@router.post("/bench/aim")
def to_bench(request: Request, desk: AtDesk, form: Form) -> Response:
    """Write the aim down: the size goes to the bench, and its reading can teach."""
    try:
        result = aim.aim(desk.book.path, form["address"], instrument=form["instrument"], to_bench=True)
    except AsmadeError as fault:
        return size_page(request, desk, form["address"], status=422, refused=fault, form=form)
    return desk.go(size_path(result.aim.dimension, "bench/size"), "Written down: this is what you are aiming at.")


@router.post("/bench/reading")
def reading(request: Request, desk: AtDesk, form: Form) -> Response:
    """Save a reading; where it looks like a slip, or its stage matters, ask first. Sent twice it is saved once."""
    try:
        key = taken.checked(form["key"])
        if desk.results.get(key) is None and not taken.entry_of(desk, key):
            found = taken.take_reading(desk, form, key)
            if isinstance(found, taken.Asked):
                return size_page(request, desk, form["address"], form=form, asked=found)
    except AsmadeError as fault:
        return size_page(request, desk, form["address"], status=422, refused=fault, form=form)
    answer = desk.go(f"/bench/saved/{key}")
    remember(answer, form["instrument"])
    return answer


def remember(answer: Response, instrument: str) -> None:
    """Let the browser remember what was measured with."""
    answer.set_cookie(INSTRUMENT, instrument, max_age=A_YEAR, httponly=True, samesite="strict")


@router.get("/bench/saved/{key}")
def saved(request: Request, desk: AtDesk, key: str) -> Response:
    """What the reading changed, and what is now next."""
    kept = desk.results.get(key)
    look = desk.look()
    if not isinstance(kept, taken.Kept):
        number = taken.entry_of(desk, key)
        if not number:
            raise Unknown("reading", got=key[:20], way_out="it is in the history if it was saved")
        line = next(x for x in look.history if x.number == number)
        return desk.page(request, "bench_before.html", block=False, line=line, state=look.opened.last)
    same = next((p for p in look.next.pieces if p.piece == kept.result.piece.seat), None)
    after = tuple(p for p in look.next.pieces if p is not same)[:3]
    return desk.page(
        request, "bench_saved.html", block=False, kept=kept, same=same, after=after, state=look.opened.last
    )


@router.get("/bench/back")
def back(desk: AtDesk, address: str, reading: str = "", several: str = "", instrument: str = "") -> Response:
    """A reading shown back before it is saved: how it is read, how it stands, what is still to come off."""
    look = desk.look()
    texts = taken.texts_of(reading, several or "repeats")[:MOST_TRIED]
    if not texts:
        return JSONResponse({"read": ""})
    found = at_bench.read_back(
        look.opened,
        look.values,
        address,
        texts,
        spots=several == "spots",
        instrument=instrument,
        maker=lambda address: operation_of(look, address),
    )
    unit = "rad" if found.angle else "mm"
    words = {
        "within": "within the limits", "metal to come off": "metal still to come off", "too far": "past the limits",
        "outside": "outside the limits", "no limits": "",
    }[found.stands]  # fmt: skip
    shown = {
        "read": figure(found.value, unit) + ("" if found.angle else f" mm, {show_inch(found.value)} in"),
        "count": found.count, "spread": figure(found.spread, unit), "stands": found.stands, "words": words,
        "slips": list(found.slips), "off": "", "cuts": [],
    }  # fmt: skip
    if found.togo is not None:
        shown["off"] = show_to(found.togo.off_mm, "0.001")
        shown["cuts"] = [
            {"words": cut.words, "size": figure(cut.size_mm), "dial": cut.dial.words if cut.dial else "",
             "measure": cut.measure}
            for cut in found.togo.cuts[:6]
        ]  # fmt: skip
    return JSONResponse(shown, headers={"cache-control": "no-store"})
