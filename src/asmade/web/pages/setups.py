"""Set-ups: operations of all pieces put together by what is held in what; each is ticked off when it is done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Refused
from asmade.verbs.done import done
from asmade.verbs.route import SetUpsResult
from asmade.web.desk import AtDesk, Desk, Form

if TYPE_CHECKING:
    from asmade.work.batches import Batch
    from asmade.work.recipes.model import Operation, SetUp

router = APIRouter()
LINKS: Final = ((32, "Set-ups", "/setups"),)
A_PAGE: Final = 12
MOST_AT_ONCE: Final = 60


@dataclass(frozen=True, slots=True)
class Shown:
    """One batch: its number in the order, the set-up, and each piece with its operations in it."""

    number: int
    set_up: SetUp
    members: tuple[tuple[str, tuple[Operation, ...]], ...]


@router.get("/setups")
def setups(request: Request, desk: AtDesk, machine: str = "", about: str = "", page: int = 1) -> Response:
    """The batches in their order, narrowed by machine or part."""
    return _setups(request, desk, machine=machine, about=about, page=page)


def _setups(
    request: Request, desk: Desk, *, machine: str = "", about: str = "", page: int = 1, status: int = 200,
    refused: AsmadeError | None = None, at: int = 0,
) -> Response:  # fmt: skip
    look = desk.look()
    try:
        result = look.set_ups
    except AsmadeError as fault:
        return desk.page(request, "setups.html", status=status, nothing=fault, batches=(), refused=refused)
    every = [_shown(result, number, batch) for number, batch in enumerate(result.batches.batches, 1)]
    machines = tuple(dict.fromkeys(each.set_up.machine for each in every))
    word = about.casefold()
    found = [
        each for each in every
        if machine in ("", each.set_up.machine) and any(word in seat.casefold() for seat, _ in each.members)
    ]  # fmt: skip
    pages = max(1, -(-len(found) // A_PAGE))
    if at:
        page = next((k // A_PAGE + 1 for k, each in enumerate(found) if each.number == at), page)
    page = min(max(page, 1), pages)
    return desk.page(
        request, "setups.html", status=status, nothing=None, result=result, count=len(every), found=len(found),
        batches=found[(page - 1) * A_PAGE : page * A_PAGE], machines=machines, machine=machine, about=about, page=page,
        pages=pages, refused=refused, at=at,
    )  # fmt: skip


def _shown(result: SetUpsResult, number: int, batch: Batch) -> Shown:
    members = tuple((seat, result.setup((seat, k))[1]) for seat, k in batch.members)
    return Shown(number, result.setup(batch.members[0])[0], members)


@router.post("/setups/done")
def tick(request: Request, desk: AtDesk, form: Form) -> Response:
    """Enter what was ticked as done: one entry for each operation, so that one can be withdrawn by itself."""
    number = int(form["batch"]) if form["batch"].isdecimal() else 0
    machine, about = form["machine"], form["about"]
    entered = 0
    try:
        wanted = _wanted(desk, number, form.every.get("piece", []), form.every.get("op", []))
        for piece, operation in wanted:
            done(desk.book.path, piece, operation, note=form["note"])
            entered += 1
    except AsmadeError as fault:
        if entered:
            fault = Refused("ticks", got=f"{entered} entered", reason=fault.message, way_out=fault.way_out)
        return _setups(request, desk, machine=machine, about=about, status=422, refused=fault, at=number)
    words = f"Done: {entered} operation{'s' if entered != 1 else ''}. A wrong tick is withdrawn in the history."
    return desk.go("/setups?" + urlencode({"machine": machine, "about": about}), words)


def _wanted(desk: Desk, number: int, pieces: list[str], ticked: list[str]) -> list[tuple[str, str]]:
    """Piece and operation of every tick, in the order of work; ``pieces`` are those ticked whole."""
    batches = desk.look().set_ups.batches.batches
    if not 1 <= number <= len(batches):
        raise Refused("set-up", got=number, reason="it is not here any more", way_out="look at the list again")
    shown = _shown(desk.look().set_ups, number, batches[number - 1])
    found = [
        (seat, op.key) for seat, ops in shown.members for op in ops
        if not op.is_done and (seat in pieces or f"{seat}|{op.key}" in ticked)
    ]  # fmt: skip
    if not found:
        raise Refused("ticks", got="none that is still to be done", reason="there is nothing to enter",
                      way_out="tick what is done")  # fmt: skip
    if len(found) > MOST_AT_ONCE:
        raise Refused("ticks", got=len(found), reason=f"more than {MOST_AT_ONCE} at once", way_out="a piece at a time")
    return found
