"""First steps: the main job in seven steps, each done for real on a copy of the demo, ticked by what the book holds."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError
from asmade.verbs import guide as verb
from asmade.verbs.books import books_in
from asmade.web.desk import AtDesk, Desk, Form

router = APIRouter()
LINKS: Final = ((42, "First steps", "/guide"),)


@cache
def _texts() -> Mapping[str, Any]:
    return tomllib.loads(files("asmade.web").joinpath("texts", "guide.toml").read_text(encoding="utf-8"))


@router.get("/guide")
def steps(request: Request, desk: AtDesk) -> Response:
    """The seven steps, those done ticked; or a copy of the demo to begin with."""
    return _steps(request, desk)


def _steps(request: Request, desk: Desk, *, status: int = 200, refused: AsmadeError | None = None) -> Response:
    look = desk.look()
    copy = verb.is_copy(look.opened)
    found = verb.progress(look.opened, drawing_fails=look.drawing.fails) if copy else ()
    begun = [line for line in books_in(desk.book.path.absolute().parent) if line.name.startswith(verb.STEM)]
    return desk.page(
        request, "guide.html", status=status, steps=tuple((step, _texts()[step.name]) for step in found),
        names=tuple(_texts()[name] for name in verb.STEPS), copy=copy, done=sum(bool(s.entry) for s in found),
        next_step=next((s.name for s in found if not s.entry), ""), begun=begun, refused=refused,
        own=desk.book.path.name.startswith(verb.STEM), file=desk.book.path.name,
    )  # fmt: skip


@router.post("/guide/begin")
def begin(request: Request, desk: AtDesk, form: Form) -> Response:  # noqa: ARG001  # its token is looked at
    """Make a fresh copy of the demo and open it; no book that is there is touched."""
    try:
        path = verb.begin(desk.book.path.absolute().parent)
    except AsmadeError as fault:
        return _steps(request, desk, status=422, refused=fault)
    desk.open(path)
    return desk.go("/guide", f"A copy of the demo is open now ({path.name}). Your own books are as they were.")
