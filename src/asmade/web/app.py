"""The application: the guard, the pages, the API, and how a refusal is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, PlainTextResponse, Response
from starlette.exceptions import HTTPException

from asmade import __version__
from asmade.measure.errors import AsmadeError, Refused, Unknown
from asmade.verbs import plain
from asmade.web import api, static_files
from asmade.web.desk import Desk, Stale, desk_of
from asmade.web.guard import HOSTS, Guard
from asmade.web.pages import every, menu
from asmade.web.seen import Book

if TYPE_CHECKING:
    from asmade.verbs.store import Path_
    from asmade.web.home_network import HomeNetwork


def create_app(book: Path_, *, hosts: tuple[str, ...] = HOSTS, home: HomeNetwork | None = None) -> FastAPI:
    """The pages of one book; with ``home`` also for paired devices of the home network."""
    app = FastAPI(
        title="asmade", version=__version__, docs_url=None, redoc_url=None, openapi_url="/api/openapi.json",
        description="The answers of asmade as plain data, in the shapes of --json. Lengths in mm, angles in degrees.",
    )  # fmt: skip
    app.state.desk = Desk(Book(book), menu())
    app.state.home = home
    app.add_middleware(Guard, hosts=hosts, near=home.names if home else (), devices=home.devices if home else None)
    app.mount("/static", static_files.script(), name="static")
    for module in every():
        app.include_router(module.router, include_in_schema=False)
    app.include_router(api.router)
    app.add_exception_handler(AsmadeError, _refused)
    app.add_exception_handler(RequestValidationError, _malformed)
    app.add_exception_handler(HTTPException, _no_page)
    app.add_exception_handler(Exception, _broke)
    return app


def _refusal(request: Request, fault: AsmadeError, status: int) -> Response:
    if request.url.path.startswith("/api/"):
        return JSONResponse(plain.error(fault), status_code=status)
    if not request.scope.get("at_the_desk", True) and request.scope.get("device") is None:
        return PlainTextResponse(fault.message, status_code=status)  # a stranger's page shows nothing of the book
    return desk_of(request).page(request, "refused.html", status=status, fault=fault)


def _refused(request: Request, fault: Exception) -> Response:
    if not isinstance(fault, AsmadeError):
        raise TypeError from fault
    absent = isinstance(fault, Unknown) and request.method in ("GET", "HEAD")
    return _refusal(request, fault, 403 if isinstance(fault, Stale) else 404 if absent else 422)


def _malformed(request: Request, fault: Exception) -> Response:
    if not isinstance(fault, RequestValidationError):
        raise TypeError from fault
    first = fault.errors()[0]
    where = " ".join(str(step) for step in first["loc"][1:]) or "the request"
    return _refusal(request, Refused(where, got=str(first.get("input"))[:60], reason=str(first["msg"])), 422)


def _no_page(request: Request, fault: Exception) -> Response:
    if not isinstance(fault, HTTPException):
        raise TypeError from fault
    if fault.status_code == 404:
        missing = Unknown("page", got=request.url.path[:80], way_out="begin at the board")
        return _refusal(request, missing, 404)
    if fault.status_code == 400 and request.method == "POST":
        return _refusal(request, Refused("form", got="what was sent", reason=fault.detail), 422)
    return PlainTextResponse(fault.detail, status_code=fault.status_code, headers=fault.headers)


def _broke(request: Request, fault: Exception) -> Response:  # noqa: ARG001  # its trace goes to the terminal, not here
    return PlainTextResponse(
        "Something went wrong inside asmade; that is our fault, not yours. What was saved before is safe. The terminal "
        "that asmade runs in has the details.", status_code=500,
    )  # fmt: skip
