"""Drawing check and findings: the build as a whole, and any number opened to its working."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Unknown
from asmade.verbs import drawn
from asmade.web.desk import AtDesk, Desk, Form

router = APIRouter()
LINKS: Final = ((16, "Findings", "/findings"), (18, "Drawing check", "/drawing"))
A_PAGE: Final = 100  # findings on one page
VERDICTS: Final = ("fails", "close", "not known", "holds", "no limits")


@router.get("/drawing")
def drawing(request: Request, desk: AtDesk) -> Response:
    """What the drawn figures say of themselves, and the figures of the engine."""
    return _drawing(request, desk)


def _drawing(
    request: Request, desk: Desk, *, status: int = 200, refused: AsmadeError | None = None, at: str = "",
    typed: str = "",
) -> Response:  # fmt: skip
    look = desk.look()
    return desk.page(
        request, "drawing.html", status=status, check=look.drawing, figures=look.build.design.figures.values(),
        unit=look.build.design.drawing_unit, refused=refused, at=at, typed=typed,
    )  # fmt: skip


@router.post("/drawing/figure")
def figure(request: Request, desk: AtDesk, form: Form) -> Response:
    """Enter a figure of the engine."""
    try:
        if form["name"] not in desk.look().build.design.figures:
            raise Unknown("figure", got=form["name"], way_out="choose one of the list")
        result = drawn.drawn(desk.book.path, form["name"], form["text"])
    except AsmadeError as fault:
        return _drawing(request, desk, status=422, refused=fault, at=form["name"], typed=form["text"])
    return desk.go("/drawing", f"Saved: {result.how}")


@router.get("/findings")
def findings(request: Request, desk: AtDesk, verdict: str = "", about: str = "", page: int = 1) -> Response:
    """Every requirement, worst first, narrowed by verdict and by text."""
    look = desk.look()
    found = look.checked.findings
    if verdict in VERDICTS:
        found = tuple(f for f in found if f.verdict == verdict)
    if about:
        word = about.casefold()
        found = tuple(f for f in found if word in f"{f.code} {f.subject} {f.working}".casefold())
    pages = max(1, -(-len(found) // A_PAGE))
    page = min(max(page, 1), pages)
    return desk.page(
        request, "findings.html", found=found[(page - 1) * A_PAGE : page * A_PAGE], count=len(found), page=page,
        pages=pages, verdict=verdict, about=about, verdicts=VERDICTS, counts=look.checked.counts,
    )  # fmt: skip


@router.get("/finding")
def finding(request: Request, desk: AtDesk, code: str = "", subject: str = "") -> Response:
    """One finding opened to its working, its causes, its source, and the sizes it reads."""
    look = desk.look()
    every = look.drawing.findings if code.startswith("drawing.") else look.findings
    found = [f for f in every if f.subject == subject and f.code == code]
    if not found:
        raise Unknown("finding", got=f"{code} {subject}".strip(), way_out="see all findings")
    reads = dict.fromkeys(
        address
        for requirement in look.values.system.requirements
        if requirement.subject == subject and requirement.code == code
        for address in requirement.reads
    )
    known = [a for a in reads if look.build.design.dimension(a) is not None]
    rows = [look.size(str(address))[0] for address in known]
    return desk.page(request, "finding.html", found=found, rows=rows)
