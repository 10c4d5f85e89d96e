"""Quick sums, grouped by the question asked at the bench; each takes text as shops write it and shows its working."""

from __future__ import annotations

from contextlib import suppress
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Unknown
from asmade.standards.materials import materials
from asmade.web.asked import QUESTIONS, SUMS, answer, field_of
from asmade.web.asked_fields import Sum
from asmade.web.desk import AtDesk, Desk

router = APIRouter()
LINKS: Final = ((36, "Quick sums", "/sums"),)


@router.get("/sums")
def every(request: Request, desk: AtDesk) -> Response:
    """All quick sums by the question they answer."""
    return desk.page(request, "sums.html", questions=QUESTIONS, sums=SUMS)


@router.get("/sums/{name}")
def one(request: Request, desk: AtDesk, name: str) -> Response:
    """One quick sum; without anything given, an example stands in its fields."""
    asked = SUMS.get(name)
    if asked is None:
        raise Unknown("quick sum", got=name, way_out="see all quick sums")
    given = {k: v.strip() for k, v in request.query_params.items() if k in asked.names}
    example = not any(given.values())
    given = asked.filled(asked.example if example else given)
    result, refused, at = None, None, ""
    try:
        result = answer(name, given, str(desk.book.path))
    except AsmadeError as fault:
        refused, at = fault, field_of(asked, fault, given)
    more = any(f.name == at or given[f.name] not in ("", f.first) for f in asked.more)
    return desk.page(
        request, "sum.html", status=422 if refused else 200, asked=asked, given=given, result=result, refused=refused,
        at=at, example=example, more_given=more, machines=_machines(desk, asked), beside=_beside(name), SUMS=SUMS,
        MATERIALS=tuple(one.title for one in materials()),
    )  # fmt: skip


def _machines(desk: Desk, asked: Sum) -> tuple[str, ...]:
    """Machines of the book's shop that the sum may take its speeds, dials or gears from."""
    if not asked.machines:
        return ()
    with suppress(AsmadeError):  # quick sums work without any book
        held = desk.look().build.shop.machines
        return tuple(name for name, machine in held.items() if machine.get("kind") in asked.machines)
    return ()


def _beside(name: str) -> tuple[str, ...]:
    """Other sums that answer the same question."""
    return next((tuple(n for n in names if n != name) for _, names in QUESTIONS if name in names), ())
