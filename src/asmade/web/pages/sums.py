"""Quick sums, grouped by the question asked at the bench; each takes text as shops write it and shows its working."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Unknown
from asmade.web.asked import QUESTIONS, SUMS, answer
from asmade.web.desk import AtDesk

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
    result, refused = None, None
    try:
        result = answer(name, given)
    except AsmadeError as fault:
        refused = fault
    return desk.page(
        request, "sum.html", status=422 if refused else 200, asked=asked, given=given, result=result, refused=refused,
        example=example, more_given=any(given[f.name] not in ("", f.first) for f in asked.more),
    )  # fmt: skip
