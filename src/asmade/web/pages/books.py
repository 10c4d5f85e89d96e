"""Books: those of the folder of the open one; opening another. Nothing outside that folder is shown or touched."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError
from asmade.verbs import books as verb
from asmade.verbs.store import read
from asmade.web.desk import AtDesk, Desk, Form

router = APIRouter()
LINKS: Final = ((46, "Books", "/books"),)


@router.get("/books")
def books(request: Request, desk: AtDesk) -> Response:
    """Every book of the folder, the open one marked."""
    return _books(request, desk)


def _books(request: Request, desk: Desk, *, status: int = 200, refused: AsmadeError | None = None) -> Response:
    folder = desk.book.path.absolute().parent
    return desk.page(request, "books.html", status=status, books=verb.books_in(folder), folder=folder.name,
                     open_book=desk.book.path.name, refused=refused)  # fmt: skip


@router.post("/books/open")
def open_book(request: Request, desk: AtDesk, form: Form) -> Response:
    """Open another book of the folder."""
    try:
        path = verb.book_in(desk.book.path.absolute().parent, form["name"])
        title = read(path).build.design.title
    except AsmadeError as fault:
        return _books(request, desk, status=422, refused=fault)
    desk.open(path)
    return desk.go("/", f"{title} is open now ({path.name}).")
