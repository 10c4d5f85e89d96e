"""History: all that was ever entered; an entry is withdrawn, with a reason, and stays there."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Refused, Unknown
from asmade.verbs import history as verb
from asmade.web.desk import AtDesk, Desk, Form

router = APIRouter()
LINKS: Final = ((38, "History", "/history"),)
A_PAGE: Final = 100
BACK: Final = ("/history", "/bench", "/size/", "/bench/")


@router.get("/history")
def history(request: Request, desk: AtDesk, about: str = "", page: int = 1) -> Response:
    """All entries, the newest first."""
    return _history(request, desk, about=about, page=page)


def _history(
    request: Request, desk: Desk, *, about: str = "", page: int = 1, status: int = 200,
    refused: AsmadeError | None = None, at: str = "", why: str = "",
) -> Response:  # fmt: skip
    lines = [x for x in reversed(desk.look().history) if about.casefold() in f"{x.kind} {x.words}".casefold()]
    pages = max(1, -(-len(lines) // A_PAGE))
    page = min(max(page, 1), pages)
    return desk.page(
        request, "history.html", status=status, lines=lines[(page - 1) * A_PAGE : page * A_PAGE], about=about,
        page=page, pages=pages, count=len(lines), refused=refused, at=at, why=why,
    )  # fmt: skip


@router.get("/history/{number}")
def entry(request: Request, desk: AtDesk, number: int) -> Response:
    """One entry, to be withdrawn."""
    return _history_of(request, desk, number)


def _history_of(
    request: Request, desk: Desk, number: int, *, status: int = 200, refused: AsmadeError | None = None, why: str = ""
) -> Response:  # fmt: skip
    line = next((x for x in desk.look().history if x.number == number), None)
    if line is None:
        raise Unknown("entry", got=number, way_out="see the history")
    return desk.page(request, "entry.html", status=status, line=line, refused=refused, why=why)


@router.post("/history/withdraw")
def withdraw(request: Request, desk: AtDesk, form: Form) -> Response:
    """Take an entry back; it stays in the history."""
    number = int(form["entry"]) if form["entry"].isdecimal() else 0
    try:
        if not form["why"]:
            raise Refused("withdraw", got="", reason="say why: the next owner will want to know",
                          way_out="a word or two will do")  # fmt: skip
        saved = verb.withdraw(desk.book.path, number, why=form["why"])
    except AsmadeError as fault:
        return _history_of(request, desk, number, status=422, refused=fault, why=form["why"])
    back = form["back"] if form["back"].startswith(BACK) else "/history"
    return desk.go(back, f"Entry {number} no longer counts (entry {saved.entries[0]}). It stays in the history.")
