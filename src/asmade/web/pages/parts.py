"""Parts, and one part: its sketch, its sizes drawn, chosen, aimed at and made in one table that is entered in place."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING, Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import Response
from markupsafe import Markup

from asmade.measure.errors import AsmadeError, Unknown, near
from asmade.verbs import part_table
from asmade.verbs.history import speaking_of
from asmade.verbs.part_table import Cell
from asmade.web.desk import AtDesk, Desk, Fields, Form
from asmade.web.figures import part_path

if TYPE_CHECKING:
    from asmade.web.seen import Look

router = APIRouter()
LINKS: Final = ((12, "Parts", "/parts"),)
A_PAGE: Final = 60  # parts on one page
SIZES: Final = 60  # sizes of a part on one page, over all its pieces
DESK_PX, PHONE_PX = 760.0, 320.0


@router.get("/parts")
def parts(request: Request, desk: AtDesk, about: str = "", page: int = 1) -> Response:
    """Every part: how much of it is made, how its requirements stand."""
    found = desk.look().parts
    if about:
        word = about.casefold()
        found = tuple(p for p in found if word in f"{p.part.name} {p.part.material} {p.part.reference}".casefold())
    pages = max(1, -(-len(found) // A_PAGE))
    page = min(max(page, 1), pages)
    return desk.page(
        request, "parts.html", found=found[(page - 1) * A_PAGE : page * A_PAGE], count=len(found), about=about,
        page=page, pages=pages,
    )  # fmt: skip


@router.get("/parts/{name}")
def part(request: Request, desk: AtDesk, name: str, page: int = 1, place: str = "") -> Response:
    """One part: its sketch, every size at every place, what it is in, how it is made, what was entered."""
    return _part(request, desk, name, page=page, place=place)


def _part(
    request: Request, desk: Desk, name: str, *, page: int = 1, place: str = "", status: int = 200,
    entered: part_table.Entered | None = None, fault: AsmadeError | None = None, form: Fields | None = None,
) -> Response:  # fmt: skip
    look = desk.look()
    view = look.part(name)
    if place and place not in view.part.places:
        raise Unknown(f"place of {name}", got=place[:40], near=near(place, view.part.places), way_out="choose one")
    rows = [row for row in view.rows if not place or row.address.place == place]
    groups = part_table.table_of(view.part, rows)
    pages = _pages(groups)
    page = min(max(page, 1), len(pages))
    return desk.page(
        request, "part.html", status=status, view=view, groups=pages[page - 1], page=page, pages=len(pages),
        place=place, sketch=look.once(f"sketch {name}@{place}", lambda: sketch(look, view.part, place)),
        lines=speaking_of(look.history, name)[-12:], photos=_photos(look, name),
        instruments=look.build.shop.instruments,
        entered=entered, fault=fault, form=form or Fields(), unit=look.build.design.drawing_unit,
        key=form["key"] if form and form["key"] else secrets.token_urlsafe(12), Cell=Cell,
        instrument=form["instrument"] if form else request.cookies.get("asmade_instrument", ""),
    )  # fmt: skip


def _pages(groups: tuple[part_table.Group, ...]) -> list[list[part_table.Group]]:
    """Groups on pages of so many sizes; a dimension is never cut in two."""
    pages: list[list[part_table.Group]] = [[]]
    count = 0
    for group in groups:
        if pages[-1] and count + len(group.rows) > SIZES:
            pages.append([])
            count = 0
        pages[-1].append(group)
        count += len(group.rows)
    return pages


def sketch(look: Look, part_: Any, place: str = "") -> Markup | str:
    """The sketch of a part for desk and phone; why there is none where there is none."""
    from asmade.show.sketches import sketch_svg  # noqa: PLC0415  # only where one is looked at
    from asmade.verbs.sketch import sketch_in  # noqa: PLC0415

    try:
        result = sketch_in(look.build, look.values, f"{part_.name}@{place or part_.places[0]}")
        drawn = [Markup(sketch_svg(result, width_px=width)) for width in (DESK_PX, PHONE_PX)]  # noqa: S704
    except AsmadeError as fault:
        return f"{fault.message} {fault.way_out}".strip()
    return Markup('<div class="drawn-for-desk">{}</div><div class="drawn-for-phone">{}</div>').format(*drawn)


def _photos(look: Look, name: str) -> list[Any]:
    """Photographs that were attached to a part or to one of its pieces."""
    mine = next((p for p in look.record.parts if p.name == name), None)
    return [note for note in mine.notes if note.photo] if mine else []


@router.post("/parts/{name}")
def save(request: Request, desk: AtDesk, name: str, form: Form) -> Response:
    """Enter what is new or changed in the table; what is refused stands beside its field, and nothing is saved."""
    look = desk.look()
    page = int(form["page"]) if form["page"].isdecimal() else 1
    cells = {}
    for field, text in form.items():
        column, mark, rest = field.partition(":")
        if mark and column in part_table.COLUMNS:
            dim, _, place = rest.partition("@")
            cells[Cell(column, dim, place)] = text
    try:
        entered = part_table.enter(
            look.opened, look.values, look.part(name), cells, instrument=form["instrument"],
            reference=form["reference"], sure=bool(form["sure"]), key=form["key"],
        )  # fmt: skip
    except AsmadeError as fault:
        return _part(request, desk, name, page=page, place=form["place"], status=422, fault=fault, form=form)
    if entered.refused or entered.slips:
        status = 422 if entered.refused else 200
        return _part(request, desk, name, page=page, place=form["place"], status=status, entered=entered, form=form)
    count = len(entered.saved.entries) if entered.saved else 0
    words = f"{count} size{'s' if count != 1 else ''} saved." if count else "All of this stood so already."
    query = f"?page={page}" + (f"&place={form['place']}" if form["place"] else "")
    return desk.go(part_path(name) + query, words)
