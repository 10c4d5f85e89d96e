"""Board: the running gear to scale, moved by sliders; what is at risk, what is next, what waits, where I left off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from markupsafe import Markup

from asmade.measure.errors import AsmadeError
from asmade.web.desk import AtDesk
from asmade.web.pages import pictures

if TYPE_CHECKING:
    from asmade.book.address import Address
    from asmade.reckon.requirement import Finding
    from asmade.verbs.motion_frames import SideFrames
    from asmade.web.seen import Look

router = APIRouter()
LINKS: Final = ((10, "Board", "/"),)
MOST_MARKS: Final = 14
FIRST_ANGLE: Final = 48.0


@dataclass(frozen=True, slots=True)
class Numbered:
    """A finding with its number and the body it is seen at on the side shown."""

    number: int
    finding: Finding
    body: str


@router.get("/")
def board(request: Request, desk: AtDesk, side: str = "", angle: str = "", reverser: str = "") -> Response:
    """The build at a glance."""
    look = desk.look()  # a book that cannot be read is refused here, not shown as an empty board
    chosen = pictures.side_asked(look, side)
    shown: dict[str, Any] = {"side": chosen, "SIDES": pictures.SIDES, "numbered": (), "drawn": None, "refused": None}
    try:
        at = pictures.number_asked(angle, "crank angle", 0, 360, FIRST_ANGLE)
        position = pictures.number_asked(reverser, "reverser", -100, 100, 100.0) / 100
    except AsmadeError as fault:
        shown["refused"] = fault
        at, position = FIRST_ANGLE, 1.0
    frames = pictures.frames(look)
    of_side = frames.side(chosen) if frames.sides else None
    if of_side is not None:
        shown["numbered"] = _numbered(look, of_side)
        if of_side.bodies:
            shown["drawn"] = _drawn(look, chosen, at, position, shown["numbered"])
    return desk.page(
        request, "board.html", status=422 if shown["refused"] else 200, frames=frames, of_side=of_side, angle=at,
        reverser=position, reverser_words=pictures.reverser_words(position), told=_told(look, of_side, at, position),
        **shown,
    )  # fmt: skip


def _drawn(look: Look, side: str, angle: float, position: float, numbered: tuple[Numbered, ...]) -> Markup:
    from asmade.show.board_picture import Mark, board_svg  # noqa: PLC0415  # shapes only once a picture is asked for

    marks = [Mark(str(n.number), n.body, n.finding.verdict, f"#finding-{n.number}") for n in numbered if n.body]
    title = f"Running gear, {pictures.SIDES[side]}, crank {angle:.0f} degrees past front dead centre"
    text = board_svg(pictures.drawing(look, side), crank_deg=angle, position=position, marks=marks, title=title)
    return Markup(text)  # noqa: S704  # names are escaped where it is written


def _told(look: Look, side: SideFrames | None, angle: float, position: float) -> Mapping[str, float]:
    if side is None:
        return {}
    from asmade.verbs.motion_frames import valve_at  # noqa: PLC0415

    frames = pictures.frames(look)
    return valve_at(side, frames.row_of(position) if frames.positions else 0.0, angle / 360 % 1.0)


def _numbered(look: Look, side: SideFrames) -> tuple[Numbered, ...]:
    """The drawing's contradictions, then what fails or is close, by margin; each with the body it is seen at."""
    from asmade.verbs.motion_frames import body_of  # noqa: PLC0415

    found = (*look.board.drawing, *look.board.at_risk)[:MOST_MARKS]
    reads = _reads(look)
    return tuple(
        Numbered(at, finding, body_of(side, reads.get((finding.code, finding.subject), ()) or _place_of(finding)))
        for at, finding in enumerate(found, start=1)
    )


def _reads(look: Look) -> Mapping[tuple[str, str], tuple[Address, ...]]:
    return look.once(
        "reads of findings", lambda: {(r.code, r.subject): tuple(r.reads) for r in look.values.system.requirements}
    )


def _place_of(finding: Finding) -> tuple[Address, ...]:
    """What stands after the at in a finding's name, as the place of no part in particular."""
    from asmade.book.address import Address  # noqa: PLC0415

    _, _, place = finding.subject.rpartition("@")
    return (Address("", place),) if place and place != finding.subject else ()


@router.get("/board/motion/{side}")
def motion(desk: AtDesk, side: str) -> Response:
    """Where everything of one side is over a turn and the reverser: rows that the page picks from."""
    look = desk.look()
    from asmade.verbs.motion_frames import plain  # noqa: PLC0415

    chosen = pictures.side_asked(look, side)
    told = look.once(f"motion {chosen}", lambda: plain(pictures.frames(look), chosen))
    return JSONResponse(told, headers={"cache-control": "no-store"})


@router.get("/board/stacks/{side}")
def stacks(request: Request, desk: AtDesk, side: str) -> Response:
    """Width stacks on the crank pins, first those that something passes: a piece of the board that takes a moment."""
    if pictures.by_itself(request):
        return RedirectResponse("/gaps#stacks", status_code=303)
    from asmade.web.pages.gaps import stacks_of  # noqa: PLC0415

    look = desk.look()
    chosen = pictures.side_asked(look, side)
    try:
        every = sorted(stacks_of(look, chosen), key=lambda stack: not stack.passed)
        passed = sum(stack.passed for stack in every)
        shown: dict[str, Any] = {"stacks": every[: max(passed, 2)], "fault": None}
    except AsmadeError as fault:
        shown = {"stacks": (), "fault": fault}
    return desk.page(request, "board_stacks.html", block=False, side=chosen, SIDES=pictures.SIDES, **shown)
