"""One operation at a time: how it is held, tool, speed, cuts and dial, cautions, and that it is done."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.book.address import Address
from asmade.measure.errors import AsmadeError
from asmade.verbs.done import done_to
from asmade.verbs.route import RouteResult, seat_of
from asmade.web import taken
from asmade.web.desk import AtDesk, Desk, Form
from asmade.web.pages.bench import route_of

if TYPE_CHECKING:
    from asmade.web.seen import Look
    from asmade.work.recipes.model import Operation, SetUp

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Step:
    """One operation of a piece at the bench: its number, its set-up, whether that is new, when it was done."""

    number: int
    operation: Operation
    set_up: SetUp
    new_set_up: bool
    done: str
    sizes: tuple[Address, ...]


def steps_of(look: Look, result: RouteResult) -> tuple[Step, ...]:
    """The operations in order, with what is done of them."""
    route = result.route
    seat = look.build.piece_at(Address(route.part, route.place)).seat
    done = {name.casefold(): at for name, at in done_to(look.build, seat)}
    found: list[Step] = []
    for set_up, operations in route.set_ups:
        for count, operation in enumerate(operations):
            sizes = tuple(Address(route.part, route.place, dim=dim) for dim in operation.dims)
            found.append(
                Step(len(found) + 1, operation, set_up, count == 0, done.get(operation.key.casefold(), ""), sizes)
            )
    return tuple(found)


@router.get("/bench/steps/{piece:path}")
def work(request: Request, desk: AtDesk, piece: str, step: int = 0) -> Response:
    """The operations of a piece: the one to do next, or the one named by its number."""
    return _work(request, desk, piece, step=step)


def _work(
    request: Request, desk: Desk, piece: str, *, step: int = 0, status: int = 200, refused: AsmadeError | None = None
) -> Response:  # fmt: skip
    look = desk.look()
    result = route_of(look, *seat_of(look.build, piece))
    if isinstance(result, AsmadeError):
        raise result
    route = result.route
    steps = steps_of(look, result)
    first = next((s.number for s in steps if not s.done), len(steps))
    known = {str(a) for s in steps for a in s.sizes if a in look.values.system.index}
    return desk.page(
        request, "bench_work.html", block=False, status=status, route=route, steps=steps, aims=result.aims,
        now=min(max(step or first, 1), max(len(steps), 1)), left=sum(not s.done for s in steps), refused=refused,
        seat=look.build.piece_at(Address(route.part, route.place)).seat, state=look.opened.last, known=known,
        keys=lambda: secrets.token_urlsafe(12),
    )  # fmt: skip


@router.post("/bench/done")
def done(request: Request, desk: AtDesk, form: Form) -> Response:
    """Enter that an operation is done; on to the next."""
    try:
        key = taken.checked(form["key"])
        result = taken.take_done(desk, form, key)
    except AsmadeError as fault:
        return _work(request, desk, form["address"], status=422, refused=fault)
    words = f"Done: {result.operation} (entry {result.saved.entries[0]})."
    return desk.go(f"/bench/steps/{form['address']}", words)
