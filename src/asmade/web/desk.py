"""What every page shares: the book, the templates, the token of a form, words said once after a form was saved."""

from __future__ import annotations

import hmac
import secrets
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass, field
from threading import Lock
from typing import Annotated, Any, Final, Generic, TypeVar, cast
from urllib.parse import urlencode

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.datastructures import UploadFile

from asmade import __version__
from asmade.measure.errors import AsmadeError
from asmade.verbs.store import Path_
from asmade.web import figures, static_files
from asmade.web.help_texts import what_is
from asmade.web.runs import Runs
from asmade.web.seen import Book, Look

COOKIE: Final = "asmade_desk"
MOST_FIELDS: Final = 100
LONGEST_FIELD: Final = 4000
MOST_FILES: Final = 8
Kept = TypeVar("Kept")


_WITHIN: Final = {"size": "/parts", "finding": "/findings", "import": "/fill"}
"""Pages that belong to a section of another name."""


def _section(path: str) -> str:
    """Which of the links a page belongs to."""
    first = path.split("/")[1]
    return _WITHIN.get(first, f"/{first}")


class Stale(AsmadeError):
    """A form whose token does not belong to this desk: from before a restart, or from elsewhere."""

    code = "stale_form"


class Shelf(Generic[Kept]):
    """The last few things put by, by name: what was said, what a reading changed."""

    def __init__(self, most: int = 200) -> None:
        """Keep at most so many; the oldest goes first."""
        self._most = most
        self._held: OrderedDict[str, Kept] = OrderedDict()
        self._lock = Lock()

    def put(self, thing: Kept, name: str = "") -> str:
        """Put one by and give its name."""
        name = name or secrets.token_urlsafe(9)
        with self._lock:
            self._held[name] = thing
            while len(self._held) > self._most:
                self._held.popitem(last=False)
        return name

    def get(self, name: str) -> Kept | None:
        """What is there under that name."""
        with self._lock:
            return self._held.get(name)


def _templates() -> Environment:
    made = Environment(
        loader=PackageLoader("asmade.web"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    made.filters |= figures.FILTERS
    made.globals |= {
        "limits": figures.limits, "APPROACH": figures.APPROACH, "SHAPES": figures.SHAPES,
        "version": __version__, "static": static_files.root(),
    }  # fmt: skip
    return made


@dataclass(slots=True)
class Desk:
    """One book open at one desk."""

    book: Book
    links: tuple[tuple[str, str], ...] = ()
    runs: Runs = field(default_factory=Runs)
    said: Shelf[str] = field(default_factory=Shelf)
    results: Shelf[Any] = field(default_factory=Shelf)
    lists: Shelf[Any] = field(default_factory=lambda: Shelf(4))
    templates: Environment = field(default_factory=_templates)
    secret: bytes = field(default_factory=lambda: secrets.token_bytes(32))

    def token(self, session: str) -> str:
        """The token of every form of one browser."""
        return hmac.new(self.secret, session.encode(), "sha256").hexdigest()

    def look(self) -> Look:
        """The book as it stands now."""
        return self.book.look()

    def open(self, path: Path_) -> None:
        """Open another book here. Forms of pages that showed the book before are refused from now on."""
        if self.runs.last is not None:
            self.runs.last.stop.set()
        self.secret = secrets.token_bytes(32)
        self.book, self.runs, self.results, self.lists = Book(path), Runs(), Shelf(), Shelf(4)

    def page(self, request: Request, name: str, *, status: int = 200, block: bool = True, **shown: Any) -> Response:
        """One page on its sheet; with its title ``block`` of the build as it stands, at the desk."""
        board, title = None, ""
        with suppress(AsmadeError):  # a refusal is shown without what cannot be read
            look = self.look()
            title = look.build.design.title
            board = look.board if block else None
        session = request.cookies.get(COOKIE) or secrets.token_urlsafe(24)
        text = self.templates.get_template(name).render(
            DESK=self.links, here=_section(request.url.path), what=what_is(request.url.path),
            board=board, title=title, token=self.token(session),
            said=self.said.get(request.query_params.get("said", "")), **shown,
        )  # fmt: skip
        answer = HTMLResponse(text, status_code=status, headers={"cache-control": "no-store"})
        if COOKIE not in request.cookies:
            answer.set_cookie(COOKIE, session, httponly=True, samesite="strict")
        return answer

    def go(self, path: str, words: str = "") -> Response:
        """After a form was saved: on to a page, which says so once more if it is loaded again."""
        if words:
            path, hash_, part = path.partition("#")
            path += ("&" if "?" in path else "?") + urlencode({"said": self.said.put(words)}) + hash_ + part
        return RedirectResponse(path, status_code=303)


def desk_of(request: Request) -> Desk:
    """The desk a request comes to."""
    return cast("Desk", request.app.state.desk)


AtDesk = Annotated[Desk, Depends(desk_of)]


@dataclass(frozen=True, slots=True)
class Sent:
    """A file that came with a form: the name it was given, without any folder, and its bytes."""

    name: str
    data: bytes


class Fields(dict[str, str]):
    """What a form says, as text; a field left out reads as empty. ``every`` has those that come several times."""

    every: dict[str, list[str]]
    files: tuple[Sent, ...] = ()

    def __missing__(self, name: str) -> str:
        """Nothing was said."""
        return ""


async def fields(request: Request, desk: AtDesk) -> Fields:
    """Read a form whose token is right; files, and what is longer than it can be, are refused."""
    return await _heard(request, desk, most_files=0)


async def fields_with_files(request: Request, desk: AtDesk) -> Fields:
    """As `fields`, of a form that files may come with; the guard limits how large the whole may be."""
    return await _heard(request, desk, most_files=MOST_FILES)


async def _heard(request: Request, desk: Desk, *, most_files: int) -> Fields:
    form = await request.form(max_files=most_files, max_fields=MOST_FIELDS, max_part_size=LONGEST_FIELD)
    found = Fields()
    found.every = {}
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            data = await value.read()
            if data or value.filename:
                found.files += (Sent((value.filename or "").replace("\\", "/").rpartition("/")[2][:200], data),)
            continue
        text = value.strip()
        found[name] = text
        found.every.setdefault(name, []).append(text)
    await form.close()
    right = desk.token(request.cookies.get(COOKIE, ""))
    if COOKIE not in request.cookies or not hmac.compare_digest(found["token"].encode(), right.encode()):
        typed = ", ".join(f"{k}: {v}" for k, v in found.items() if v and k not in ("token", "key"))
        raise Stale(
            "This form is from before asmade was started again, or from elsewhere. Nothing was saved. "
            f"It said: {typed}",
            way_out="load the page again and enter it there",
        )
    return found


Form = Annotated[Fields, Depends(fields)]
FormWithFiles = Annotated[Fields, Depends(fields_with_files)]
