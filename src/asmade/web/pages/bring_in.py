"""Bring in a list or a text: sent from this browser, tried first, shown, and only then saved."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Refused, Unknown
from asmade.verbs import books, exchange
from asmade.verbs.exchange import Imported
from asmade.web.desk import AtDesk, Desk, Fields, Form, FormWithFiles

router = APIRouter()
SHOWN: Final = 300  # rows of a trial on its page
TEMPLATES: Final = {
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "csv": "text/csv; charset=utf-8",
}


@dataclass(frozen=True, slots=True)
class Tried:
    """A list that was tried, kept till it is saved or the next few come; ``new``: the title of a new book."""

    name: str
    data: bytes
    new: str
    unit: str
    result: Imported


@router.get("/import")
def choose(request: Request, desk: AtDesk) -> Response:
    """Which file, and into which book."""
    return _choose(request, desk)


def _choose(
    request: Request, desk: Desk, *, status: int = 200, refused: AsmadeError | None = None, at: str = "",
    form: Fields | None = None,
) -> Response:  # fmt: skip
    return desk.page(request, "import.html", status=status, refused=refused, at=at, form=form or Fields(), tried=None)


@router.post("/import")
def attempt(request: Request, desk: AtDesk, form: FormWithFiles) -> Response:
    """Try the file: nothing is saved yet."""
    at = "file"
    try:
        if len(form.files) != 1 or not form.files[0].name:
            raise Refused("file", got="", reason="none was chosen", way_out="choose a .csv, .xlsx or .toml file")
        sent = form.files[0]
        if not sent.data:
            raise Refused("file", got=sent.name, reason="it is empty", way_out="check that it was saved")
        tried = Tried(sent.name, sent.data, form["title"] if form["into"] == "new" else "", form["unit"],
                      result=_nothing())  # fmt: skip
        if form["into"] == "new" and not form["title"]:
            at = "title"
            raise Refused("name of the build", got="", reason="it has none", way_out="say what you call it")
        tried = replace(tried, result=_bring(desk, tried, what_if=True))
    except AsmadeError as fault:
        return _choose(request, desk, status=422, refused=fault, at=at, form=form)
    return desk.go(f"/import/{desk.lists.put(tried, secrets.token_urlsafe(9))}")


def _nothing() -> Imported:
    return Imported((), (), (), (), 0, (), (), (), None)


def _bring(desk: Desk, tried: Tried, *, what_if: bool, leave_out: bool = False) -> Imported:
    folder = desk.book.path.absolute().parent
    path = books.name_for(folder, tried.new) if tried.new else desk.book.path
    is_list = tried.name.lower().endswith((".csv", ".xlsx"))
    return exchange.import_data(
        path, tried.name, tried.data, new=bool(tried.new), unit=tried.unit if tried.new and is_list else "",
        title=tried.new if tried.new and is_list else "", leave_out_refused=leave_out, what_if=what_if,
    )  # fmt: skip


@router.get("/import/template.{ending}")
def template(ending: str) -> Response:
    """An empty list to fill in, its columns explained."""
    if ending not in TEMPLATES:
        raise Unknown("list", got=f"template.{ending}", way_out="template.xlsx or template.csv")
    with TemporaryDirectory() as folder:
        file = Path(folder) / f"template.{ending}"
        exchange.template(file)
        data = file.read_bytes()
    headers = {"content-disposition": f'attachment; filename="asmade-sizes.{ending}"', "cache-control": "no-store"}
    return Response(data, media_type=TEMPLATES[ending], headers=headers)


@router.get("/import/{name}")
def trial(request: Request, desk: AtDesk, name: str) -> Response:
    """What it would change, row by row, and every row that is refused."""
    return _trial(request, desk, name)


def _trial(
    request: Request, desk: Desk, name: str, *, status: int = 200, refused: AsmadeError | None = None
) -> Response:
    tried = desk.lists.get(name)
    if tried is None:
        gone = Refused("list", got=name[:20], reason="it is not here any more", way_out="choose the file again")
        return _choose(request, desk, status=422, refused=gone, at="file")
    return desk.page(request, "import.html", status=status, tried=tried, kept=name, result=tried.result, SHOWN=SHOWN,
                     refused=refused, at="", form=Fields())  # fmt: skip


@router.post("/import/keep")
def keep(request: Request, desk: AtDesk, form: Form) -> Response:
    """Save what was tried; refused rows are left out only if that is said."""
    tried = desk.lists.get(form["name"])
    if tried is None:
        return _trial(request, desk, form["name"])
    try:
        result = _bring(desk, tried, what_if=False, leave_out=bool(form["leave_out"]))
    except AsmadeError as fault:
        return _trial(request, desk, form["name"], status=422, refused=fault)
    if result.saved is None:
        held = Refused("list", got=tried.name, reason=f"{len(result.refused)} rows are refused and nothing was saved",
                       way_out="mend them, or say that the rest is to be saved")  # fmt: skip
        return _trial(request, desk, form["name"], status=422, refused=held)
    words = f"{len(result.new_dimensions)} new dimensions, {len(result.changed)} changes"
    if tried.new:
        desk.open(books.book_in(desk.book.path.absolute().parent, books.file_of(tried.new)))
        return desk.go("/fill", f"{tried.new} is begun and open: {words}.")
    return desk.go("/fill", f"Saved: {words}.")
