"""The look: every component in every state, to be held against a change."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import OutOfRange
from asmade.web.desk import AtDesk
from asmade.web.figures import SHAPES

router = APIRouter()


@router.get("/components")
def components(request: Request, desk: AtDesk) -> Response:
    """Every component in every state; the figures stand for themselves and belong to no build."""
    refused = OutOfRange("wheel.bore", got="159 mm", allowed="1 to 60 mm", way_out="is the decimal point right?")
    return desk.page(request, "components.html", verdicts=tuple(SHAPES), refused=refused)
