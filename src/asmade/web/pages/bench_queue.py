"""What a phone carries to the bench and brings back: pages in one answer, and what was entered without a network."""

from __future__ import annotations

import gzip
import hashlib
import json
from contextlib import suppress
from dataclasses import dataclass, field, replace
from importlib.resources import files
from threading import Lock
from typing import Annotated, Any, Final
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from asmade.measure.errors import AsmadeError
from asmade.verbs import plain
from asmade.web import static_files, taken
from asmade.web.api_shapes import JSON_ONLY
from asmade.web.desk import COOKIE, AtDesk, Desk, Fields
from asmade.web.figures import size_path
from asmade.web.guard import HEADERS
from asmade.web.pages import bench, bench_work
from asmade.web.seen import Book, Look

router = APIRouter()
MOST_SIZES: Final = 800
"""Sizes carried at once; the list says how many more there are."""
SHELL_KEPT: Final = "private, max-age=2592000"
"""The page that a phone starts from without a network is kept by the browser for 30 days; it asks when it can."""
WORDS: Final = Annotated[str, Field(max_length=400)]


class Entered(BaseModel):
    """One thing entered on a phone: a reading, or that an operation is done; ``seen`` is the state its page showed.

    ``sure``: the figure is no slip; ``mine``: it is saved whatever was entered for the same size meanwhile.
    """

    model_config = ConfigDict(extra="forbid")
    kind: Annotated[str, Field(pattern="^(reading|done)$")]
    key: Annotated[str, Field(max_length=64)]
    address: Annotated[str, Field(max_length=400)]
    book: Annotated[str, Field(max_length=64)] = ""
    seen: Annotated[str, Field(max_length=20)] = ""
    at: Annotated[str, Field(max_length=40)] = ""
    reading: Annotated[str, Field(max_length=2000)] = ""
    goes: Annotated[str, Field(max_length=400)] = ""
    stops: Annotated[str, Field(max_length=400)] = ""
    several: Annotated[str, Field(max_length=20)] = ""
    instrument: Annotated[str, Field(max_length=400)] = ""
    stage: Annotated[str, Field(max_length=20)] = ""
    note: Annotated[str, Field(max_length=2000)] = ""
    operation: Annotated[str, Field(max_length=400)] = ""
    aim: Annotated[str, Field(max_length=80)] = ""
    sure: bool = False
    mine: bool = False


def book_id(look: Look) -> str:
    """Which book this is, wherever its file lies: by its first entry."""
    first = look.opened.entries[0] if look.opened.entries else None
    said = "" if first is None else f"{first.kind}\0{first.at}\0{json.dumps(first.body, sort_keys=True)}"
    return hashlib.sha256(said.encode()).hexdigest()[:16]


@router.get("/bench/state")
def state(desk: AtDesk) -> Response:
    """Where the book and this release stand: what a page asks to know whether it is still true."""
    look = desk.look()
    told = {"state": look.opened.last, "release": static_files.digest(), "book": book_id(look)}
    return JSONResponse(told, headers={"cache-control": "no-store"})


@router.post("/bench/sent", dependencies=JSON_ONLY)
def sent(desk: AtDesk, entered: Entered) -> Response:
    """Take in one thing from a phone: saved, asked about, refused, or overtaken by what came meanwhile."""
    given = Fields({name: str(value) for name, value in entered.model_dump().items() if not isinstance(value, bool)})
    given["sure"] = "1" if entered.sure else ""
    try:
        answer = _taken(desk, entered, given)
    except AsmadeError as fault:
        answer = {"state": "refused", **plain.error(fault)["error"]}
    answer["now"] = desk.look().opened.last
    told = JSONResponse(answer, headers={"cache-control": "no-store"})
    if entered.kind == "reading":
        bench.remember(told, entered.instrument)
    return told


def _taken(desk: Desk, entered: Entered, given: Fields) -> dict[str, Any]:
    key = taken.checked(entered.key)
    number = taken.entry_of(desk, key)
    if number:
        return {"state": "saved", "entry": number, "page": f"/bench/saved/{key}"}
    if entered.book and entered.book != book_id(desk.look()):
        return {"state": "refused", "code": "other_book", "message": "another book is open at the desk now",
                "way_out": "open the book that this was read for, and send it again"}  # fmt: skip
    if entered.kind == "done":
        done = taken.take_done(desk, given, key)
        return {"state": "saved", "entry": done.saved.entries[0], "page": _work_path(entered.address)}
    if not entered.mine and (came := taken.meanwhile(desk, given, key)):
        return {"state": "meanwhile", "message": came}
    found = taken.take_reading(desk, given, key)
    if isinstance(found, taken.Asked):
        return {"state": "ask", "slips": found.slips, "stages": found.stages, "read_as": found.read_as}
    return {"state": "saved", "entry": found.result.saved.entries[0], "page": f"/bench/saved/{key}", "note": found.note}


def _work_path(piece: str) -> str:
    return f"/bench/steps/{quote(piece, safe='@')}"


# ---- what is carried
@dataclass(slots=True)
class _Load:
    """The pages of one look at the book for one browser; two that ask at once wait for one another."""

    lock: Lock = field(default_factory=Lock)
    packed: bytes = b""


@router.get("/bench/pages")
def pages(request: Request, desk: AtDesk) -> Response:
    """The bench pages of all that can be made now, in one answer, packed."""
    look = desk.look()
    browser = f"{request.cookies.get(COOKIE, '')} {request.cookies.get(bench.INSTRUMENT, '')}"
    load: _Load = look.once(f"carried {browser}", _Load)  # filled outside of the look, which others ask meanwhile
    with load.lock:
        if not load.packed:
            load.packed = gzip.compress(json.dumps(_carried(request, desk, look)).encode(), 6)
    packed = "gzip" in request.headers.get("accept-encoding", "")
    headers = {"cache-control": "no-store", "vary": "accept-encoding"} | (
        {"content-encoding": "gzip"} if packed else {}
    )
    return Response(
        load.packed if packed else gzip.decompress(load.packed), media_type="application/json", headers=headers
    )


class _Still(Book):
    """A book that stays as it was looked at, while its pages are made."""

    def __init__(self, look: Look) -> None:
        super().__init__(look.opened.path)
        self._look = look

    def look(self) -> Look:
        return self._look


def _carried(request: Request, at: Desk, look: Look) -> dict[str, Any]:
    desk = replace(at, book=_Still(look))
    made: dict[str, dict[str, str]] = {}

    def put(path: str, answer: Response) -> None:
        text = bytes(answer.body).decode()
        title = text.partition("<title>")[2].partition("</title>")[0]
        made[path] = {"title": title, "main": text.partition('<main id="main">')[2].rpartition("</main>")[0]}

    put("/bench", bench.today(request, desk))
    sizes, more = 0, 0
    for piece in look.next.pieces:
        if sizes + len(piece.sizes) > MOST_SIZES:
            more += 1
            continue
        seat = f"{piece.piece.partition('#')[0]}@{piece.place}"
        with suppress(AsmadeError):  # a part without a form has no route; its sizes are carried all the same
            put(_work_path(seat), bench_work.work(request, desk, seat))
        for step in piece.sizes:
            sizes += 1
            put(size_path(step.dimension, "bench/size"), bench.size_page(request, desk, str(step.dimension)))
    for step in look.next.waiting[: MOST_SIZES - sizes]:  # their mates may be measured before the network is back
        put(size_path(step.dimension, "bench/size"), bench.size_page(request, desk, str(step.dimension)))
    return {"state": look.opened.last, "release": static_files.digest(), "book": book_id(look), "sizes": sizes,
            "left_out": more, "title": look.build.design.title, "pages": made}  # fmt: skip


@router.get("/bench/carried")
def carried(request: Request, desk: AtDesk) -> Response:
    """The page that a phone starts from without a network: it holds nothing of the book, its browser does."""
    answer = desk.page(request, "bench_carried.html", block=False)
    answer.headers["cache-control"] = SHELL_KEPT
    return answer


@router.get("/sw.js")
def worker() -> Response:
    """The worker that answers for the desk while there is no network; at the root, so that it may."""
    text = files("asmade.web").joinpath("static", "sw.js").read_text(encoding="utf-8")
    policy = HEADERS[b"content-security-policy"].decode()
    head = f"const STATIC = {json.dumps(static_files.root())};\nconst POLICY = {json.dumps(policy)};\n"
    return Response(head + text, media_type="text/javascript", headers={"cache-control": "no-cache"})
