"""One size: its working, its aim, its history; entered as drawn, decided by hand."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError
from asmade.verbs import choose, drawn
from asmade.verbs.history import speaking_of
from asmade.web.desk import AtDesk, Desk, Fields, Form
from asmade.web.figures import size_path

router = APIRouter()


@router.get("/size/{address:path}")
def size(request: Request, desk: AtDesk, address: str) -> Response:
    """One size with its aim, its working and its history."""
    return _size(request, desk, address)


def _size(
    request: Request, desk: Desk, text: str, *, status: int = 200, refused: AsmadeError | None = None, at: str = "",
    form: Fields | None = None,
) -> Response:  # fmt: skip
    look = desk.look()
    row, found = look.size(text)
    dimension = look.build.design.dimension(row.address)
    lines = speaking_of(look.history, str(row.address), f"{row.piece}.{row.address.dim}", str(row.address.of_part))
    return desk.page(
        request, "size.html", status=status, row=row, findings=found, lines=lines, dimension=dimension,
        unit=look.build.design.drawing_unit, refused=refused, at=at, form=form or Fields(),
    )  # fmt: skip


@router.post("/size/drawn")
def drawn_size(request: Request, desk: AtDesk, form: Form) -> Response:
    """Enter a size as the drawing has it, for the part or for this place alone."""
    address = desk.look().size(form["address"])[0].address
    try:
        of = str(address if form["alone"] else address.of_part)
        result = drawn.drawn(desk.book.path, of, form["text"], reference=form["reference"])
    except AsmadeError as fault:
        return _size(request, desk, form["address"], status=422, refused=fault, at="drawn", form=form)
    return desk.go(size_path(address), f"Saved as drawn: {result.how or 'not known'}")


@router.post("/size/chosen")
def chosen_size(request: Request, desk: AtDesk, form: Form) -> Response:
    """Decide a size by hand."""
    address = desk.look().size(form["address"])[0].address
    try:
        of = str(address if form["alone"] else address.of_part)
        choose.set_chosen(desk.book.path, of, form["text"], why=form["why"], locked=bool(form["locked"]))
    except AsmadeError as fault:
        return _size(request, desk, form["address"], status=422, refused=fault, at="chosen", form=form)
    return desk.go(size_path(address), f"{of} is chosen {form['text']}{', locked' if form['locked'] else ''}.")
