"""Help: what each page is, the glossary, and all documents, from what is on this machine."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.web.desk import AtDesk
from asmade.web.help_texts import GLOSSARY, document, documents, texts
from asmade.web.pages import menu

router = APIRouter()
LINKS: Final = ((44, "Help", "/help"),)
FOR_THE_BUILDER: Final = (
    "pages", "lengths", "quick-sums", "bench-sums", "last-look", "routes", "wheels", "gaps", "valves", "exchange",
    "data-safety",
)  # fmt: skip


@router.get("/help")
def index(request: Request, desk: AtDesk) -> Response:
    """All that there is to read."""
    every = documents()
    first = [name for name in FOR_THE_BUILDER if name in every]
    rest = [name for name in every if name not in (*first, GLOSSARY, "readme")]
    listed = [(path, texts()[path]) for _, path in menu() if path in texts()]
    return desk.page(request, "help.html", first=first, rest=rest, titles=every, pages=listed, GLOSSARY=GLOSSARY)


@router.get("/help/{name}")
def one(request: Request, desk: AtDesk, name: str) -> Response:
    """One document."""
    return desk.page(request, "help_document.html", text=document(name), called=name, titles=documents())
