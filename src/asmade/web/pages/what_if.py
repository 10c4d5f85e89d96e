"""What if: change a size for a moment, see all verdicts move, keep or drop it. Asking changes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Refused
from asmade.verbs import choose
from asmade.verbs.what_if import what_if
from asmade.web.desk import AtDesk, Desk, Form

if TYPE_CHECKING:
    from asmade.verbs.what_if import WhatIf

router = APIRouter()
LINKS: Final = ((17, "What if", "/what-if"),)
MOST: Final = 6  # sizes tried at once
SHOWN: Final = 80  # findings that move


@router.get("/what-if")
def tried(request: Request, desk: AtDesk) -> Response:
    """What would move if sizes were otherwise: ``?size=wheel.boss_width&to=13.5``, again for each further size."""
    asked = request.query_params
    return _page(request, desk, asked.getlist("size")[:MOST], asked.getlist("to")[:MOST])


def _page(
    request: Request, desk: Desk, sizes: list[str], figures: list[str], *, refused: AsmadeError | None = None
) -> Response:  # fmt: skip
    look = desk.look()
    wanted = {size.strip(): to.strip() for size, to in zip(sizes, figures, strict=False) if size.strip() and to.strip()}
    found: WhatIf | None = None
    if wanted and refused is None:
        try:
            found = look.once(f"what if {wanted}", lambda: what_if(look.opened, look.values, look.findings, wanted))
        except AsmadeError as fault:
            refused = fault
    rows = [*zip(sizes, figures, strict=False)][: MOST - 1]
    return desk.page(
        request, "what_if.html", status=422 if refused else 200, rows=[*rows, ("", "")], found=found, refused=refused,
        wanted=wanted, shown=SHOWN,
    )  # fmt: skip


@router.post("/what-if/keep")
def keep(request: Request, desk: AtDesk, form: Form) -> Response:
    """Keep what was tried: each size is chosen so and locked. A made one is not kept: it is measured."""
    sizes, figures = form.every.get("size", []), form.every.get("to", [])
    wanted = {size: to for size, to in zip(sizes, figures, strict=False) if size and to}
    try:
        look = desk.look()
        made = [str(p.address) for p in what_if(look.opened, look.values, look.findings, wanted).put if p.made]
        if made:
            raise Refused("what if", got=", ".join(made), reason="it is made: only a reading moves it",
                          way_out="measure it again and enter the reading")  # fmt: skip
        choose.set_chosen_many(desk.book.path, wanted, why="tried first: what if")
    except AsmadeError as fault:
        return _page(request, desk, sizes, figures, refused=fault)
    return desk.go("/sizes", f"Kept: {', '.join(f'{size} {to}' for size, to in wanted.items())}, locked.")
