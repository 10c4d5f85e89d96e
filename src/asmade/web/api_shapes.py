"""What every part of the API shares: how long a text may be, what a question is, how a refusal looks."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import Depends, Request
from pydantic import BaseModel, ConfigDict, Field

from asmade.measure.errors import Refused

Text = Annotated[str, Field(max_length=400)]
LongText = Annotated[str, Field(max_length=2000)]


class Asked(BaseModel):
    """What is sent; a name that is not known is refused, so that a slip of the pen is not passed over."""

    model_config = ConfigDict(extra="forbid")


class Words(BaseModel):
    """Why not: a code for programs, a message for people, the way out."""

    model_config = ConfigDict(extra="allow")

    code: str
    message: str
    way_out: str = ""


class Refusal(BaseModel):
    """What a refused request gets."""

    error: Words


PLAIN: Final[dict[str, Any]] = {"content": {"text/plain": {"schema": {"type": "string"}}}}
REFUSALS: Final[dict[int | str, dict[str, Any]]] = {
    403: {"description": "From another page, or not paired", **PLAIN},
    404: {"description": "There is no such thing", "model": Refusal},
    411: {"description": "The length is not stated", **PLAIN},
    413: {"description": "Too much at once", **PLAIN},
    414: {"description": "The address is too long", **PLAIN},
    422: {"description": "Refused: it names the thing, the value, the way out", "model": Refusal},
}


def as_json(request: Request) -> None:
    """What changes a book must come as JSON: a form on a page elsewhere cannot send that."""
    if request.headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        raise Refused("request", got=request.headers.get("content-type", ""), reason="it is not application/json",
                      way_out="send it as application/json")  # fmt: skip


JSON_ONLY: Final = [Depends(as_json)]
