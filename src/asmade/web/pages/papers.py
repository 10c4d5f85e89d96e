"""Papers: job sheets, set-ups, lists and the record as files to print or to take along."""

from __future__ import annotations

from typing import Final
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import Unknown
from asmade.web.desk import AtDesk, Desk

router = APIRouter(prefix="/paper")
KINDS: Final = {
    ".pdf": "application/pdf",
    ".csv": "text/csv; charset=utf-8",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def _file(data: bytes, name: str, ending: str) -> Response:
    """A file under a name of its own; a PDF is shown, anything else put by."""
    how = "inline" if ending == ".pdf" else "attachment"
    head = {
        "content-disposition": f"{how}; filename*=UTF-8''{quote(name + ending, safe='')}", "cache-control": "no-store",
        "x-content-type-options": "nosniff",
    }  # fmt: skip
    return Response(data, media_type=KINDS[ending], headers=head)


@router.get("/sheet/{piece}.pdf")
def sheet(request: Request, desk: AtDesk, piece: str, paper: str = "a5") -> Response:
    """The job sheet of a piece, or of every piece of a part."""
    return _sheets(request, desk, piece, paper)


@router.get("/sheets.pdf")
def sheets(request: Request, desk: AtDesk, paper: str = "a5") -> Response:
    """The job sheets of everything still to be made."""
    return _sheets(request, desk, "", paper)


def _sheets(request: Request, desk: Desk, piece: str, paper: str) -> Response:
    from asmade.show.papers.sheets import sheets_pdf  # noqa: PLC0415  # the typesetter only where it is asked for
    from asmade.verbs.sheet import sheets_of  # noqa: PLC0415

    look = desk.look()
    found = look.once(f"sheets {piece}", lambda: sheets_of(look.opened, look.values, piece))
    return _file(sheets_pdf(found.sheets, paper=paper, at=str(request.base_url)), f"sheet {piece or 'all'}", ".pdf")


@router.get("/set-ups.pdf")
def set_ups(desk: AtDesk, paper: str = "a5") -> Response:
    """A sheet for each set-up."""
    from asmade.show.papers.sheets import set_ups_pdf  # noqa: PLC0415
    from asmade.verbs.sheet import set_up_sheets_of  # noqa: PLC0415

    look = desk.look()
    found = look.once("set-up sheets", lambda: set_up_sheets_of(look.opened, look.values))
    return _file(set_ups_pdf(found.sheets, paper=paper), "set-ups", ".pdf")


@router.get("/record.pdf")
def record(desk: AtDesk, paper: str = "a4") -> Response:
    """The build record with its photographs."""
    from asmade.show.papers.record import record_pdf  # noqa: PLC0415
    from asmade.verbs.photographs import photographs  # noqa: PLC0415

    look = desk.look()
    return _file(record_pdf(look.record, photographs(desk.book.path), paper=paper), "build record", ".pdf")


@router.get("/{which}.{ending}")
def a_list(desk: AtDesk, which: str, ending: str, paper: str = "a4") -> Response:
    """The cutting or the buying list, for any program or for the counter."""
    from asmade.show.papers.lists import list_file  # noqa: PLC0415
    from asmade.verbs.sheet import heading_of  # noqa: PLC0415

    if which not in ("cutting", "buying") or f".{ending}" not in KINDS:
        raise Unknown("paper", got=f"{which}.{ending}"[:80], way_out="cutting or buying, as .pdf, .csv or .xlsx")
    look = desk.look()
    data = list_file(look.lists, heading_of(look.opened), which, f".{ending}", paper=paper)
    return _file(data, f"{which} list", f".{ending}")
