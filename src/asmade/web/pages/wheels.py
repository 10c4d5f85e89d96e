"""Wheels and rods: slack over the turn, how surely, what frees them; and from tight places back to causes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from markupsafe import Markup

from asmade.measure.errors import AsmadeError, Refused
from asmade.web.desk import AtDesk, Desk
from asmade.web.pages import pictures

if TYPE_CHECKING:
    from asmade.motion.wheels.cures import Cure
    from asmade.verbs.diagnose import DiagnosisResult
    from asmade.verbs.wheels import WheelsResult
    from asmade.web.seen import Look

router = APIRouter()
LINKS: Final = ((20, "Wheels and rods", "/wheels"),)
BOXES: Final = ("", "free", "blocked")
TRIALS: Final = 3
SHOWN: Final = ("wheel", "coupling rod", "crank pin", "pin cap")
LONGEST: Final = 40


@dataclass(frozen=True, slots=True)
class Trial:
    """One trial turning as it is typed: which rods were on, how, and where it was tight."""

    sections: tuple[str, ...] = ()
    sides: str = ""
    boxes: str = ""
    way: str = ""
    tight: str = ""
    rod: str = ""

    @property
    def words(self) -> str:
        """As it would be said at the bench; empty where nothing was typed."""
        if not self.tight and not self.rod:
            return ""
        on = " ".join(each for each in (*self.sections, self.sides, self.boxes, self.way) if each)
        return f"{on}: {', '.join(each for each in (self.tight.replace('°', ''), self.rod) if each)}"


@router.get("/wheels")
def wheels(request: Request, desk: AtDesk, boxes: str = "", wanted: str = "", angle: str = "") -> Response:
    """Slack left over the turn, its causes and cures."""
    return _page(request, desk, boxes, wanted, angle)


def _page(
    request: Request, desk: Desk, boxes: str, wanted: str, angle: str, *, trials: tuple[Trial, ...] = (),
    faults: Mapping[int, AsmadeError] | None = None, found: DiagnosisResult | None = None, status: int = 200,
) -> Response:  # fmt: skip
    look = desk.look()
    shown: dict[str, Any] = {"result": None, "fault": None, "refused": {}, "angle": 0.0, "drawn": {}, "plot": None}
    try:
        shown["angle"] = pictures.number_asked(angle, "crank angle", 0, 360, 0.0)
    except AsmadeError as fault:
        shown["refused"] = {"angle": fault}
    try:
        result = _result(look, boxes, wanted)
    except AsmadeError as fault:
        result = None
        if boxes or wanted:
            shown["refused"] |= {"wanted" if wanted else "boxes": fault}
        try:
            result = _result(look, "", "")
        except AsmadeError as without:
            shown["fault"] = without
    if result is not None:
        shown["result"] = result
        shown["plot"] = _plot(result, shown["angle"])
        shown["drawn"] = _drawn(look, shown["angle"])
        shown["cures"] = _cures(result)
        shown["rows"] = _rows(result)
        known = any(section.blocked or section.free for section in result.sections)
        shown["told"] = _told(result, shown["angle"]) if known else []
        shown["worst"] = _worst(result)
    many = tuple(trials) + (Trial(),) * (TRIALS - len(trials))
    sections = result.sections if result is not None else ()
    return desk.page(
        request, "wheels.html", status=422 if shown["refused"] or faults else status, boxes=boxes, wanted=wanted,
        BOXES=BOXES, SIDES=pictures.SIDES, frames=pictures.frames(look), trials=many, faults=faults or {}, found=found,
        section_names=tuple(s.section for s in sections), **shown,
    )  # fmt: skip


def _result(look: Look, boxes: str, wanted: str) -> WheelsResult:
    from asmade.verbs.wheels import wheels_of  # noqa: PLC0415  # scipy only once wheels are looked at

    if len(wanted) > LONGEST:
        raise Refused("slack wanted each way", got=wanted[:LONGEST], reason="that is longer than a size can be")
    return look.once(f"wheels {boxes} {wanted}", lambda: wheels_of(look.build, boxes=boxes, wanted=wanted))


def _plot(result: WheelsResult, angle: float) -> Markup:
    from asmade.show.plots_slack import slack_plot  # noqa: PLC0415

    title = f"Slack left over the turn, {len(result.sections)} sections, wanted {result.wanted_mm:.3f} mm each way"
    return pictures.plot_plate(lambda width: slack_plot(result, width), title, at=angle / 360)


def _drawn(look: Look, angle: float) -> dict[str, Markup]:
    """Wheels and rods of both sides at an angle of the right crank."""
    from asmade.show.board_picture import board_svg  # noqa: PLC0415

    found = {}
    for side in pictures.frames(look).sides:
        own = (angle + side.crank_ahead_deg) % 360
        drawing = pictures.drawing(look, side.side, SHOWN)
        if drawing.bodies:
            title = f"Wheels and rods, {pictures.SIDES[side.side]}, right crank at {angle:.0f} degrees"
            text = board_svg(drawing, crank_deg=own, position=1.0, title=title, plain=True)
            found[side.side] = Markup(text)  # noqa: S704  # names are escaped where it is written
    return found


def _worst(result: WheelsResult) -> str:
    """The gravest verdict of all sections in the state of the boxes that is asked for."""
    states = [result.state(section) for section in result.sections]
    verdicts = {"not known" if state is None else state.verdict for state in states}
    return next((word for word in ("fails", "not known", "undecided", "close") if word in verdicts), "holds")


def _cures(result: WheelsResult) -> tuple[Cure, ...]:
    """Each once, what frees it first, the least effort first."""
    every = {cure.says: cure for section in result.sections for cure in section.cures}
    return tuple(sorted(every.values(), key=lambda c: (not c.frees, c.effort if c.frees else -c.slack_after, c.says)))


def _rows(result: WheelsResult) -> list[tuple[int, list[tuple[float | None, float | None]]]]:
    """The plot as a table: every fifteen degrees, blocked and free of each section."""
    profile = result.profile
    return [
        (degrees, [
            (_at(profile.blocked[row], degrees), None if profile.free is None else _at(profile.free[row], degrees))
            for row in range(len(profile.sections))
        ])
        for degrees in range(0, 360, 15)
    ]  # fmt: skip


def _told(result: WheelsResult, degrees: float) -> list[tuple[str, str, float | None]]:
    """Slack of each section at one angle, boxes blocked and free: its row, in words, in mm."""
    profile = result.profile
    return [
        (f"{section} {boxes}", f"section {section}, boxes {boxes}", _at(of[row], degrees))
        for row, section in enumerate(profile.sections)
        for boxes, of in (("blocked", profile.blocked), ("free", profile.free))
        if of is not None
    ]


def _at(row: Any, degrees: float) -> float | None:
    value = float(row[round(degrees * (len(row) - 1) / 360)])
    return value if math.isfinite(value) else None


@router.get("/wheels/turn")
def turn(desk: AtDesk, boxes: str = "", wanted: str = "") -> Response:
    """Slack of each section over the turn, and where which side's rod holds, for the page that shows it at an angle."""
    result = _result(desk.look(), boxes, wanted)
    profile = result.profile
    rows: dict[str, list[float | None]] = {}
    for at, section in enumerate(profile.sections):
        for name, of in (("blocked", profile.blocked), ("free", profile.free)):
            if of is not None:
                rows[f"{section} {name}"] = [round(float(v), 4) if math.isfinite(v) else None for v in of[at][::2]]
    held = [
        {"section": h.section, "side": h.side, "says": h.says, "from": round(math.degrees(h.start_rad), 1),
         "to": round(math.degrees(h.end_rad), 1)}
        for h in profile.held
    ]  # fmt: skip
    return JSONResponse({"rows": rows, "held": held}, headers={"cache-control": "no-store"})


@router.get("/wheels/diagnosis")
def diagnosis(request: Request, desk: AtDesk) -> Response:
    """What may be wrong, from where it was felt tight; what to measure next."""
    from asmade.motion.bindings.wheels import bind, relation_of  # noqa: PLC0415
    from asmade.verbs.diagnose import diagnose_build, read_observation  # noqa: PLC0415

    asked = request.query_params
    trials = tuple(_trial(asked, at) for at in range(TRIALS))
    look = desk.look()
    faults: dict[int, AsmadeError] = {}
    said: list[str] = []
    try:
        bound = bind(relation_of(look.build.design, ""), look.values.system.scope)
    except AsmadeError as fault:
        return _page(request, desk, "", "", "", trials=trials, faults={0: fault})
    for at, trial in enumerate(trials):
        if not trial.words:
            continue
        try:
            read_observation(trial.words, bound)
            said.append(trial.words)
        except AsmadeError as fault:
            faults[at] = fault
    found = None
    if not faults:
        try:
            found = look.once(f"diagnosis {said}", lambda: diagnose_build(look.build, said))
        except AsmadeError as fault:
            faults[0] = fault
    return _page(request, desk, "", "", "", trials=trials, faults=faults, found=found)


def _trial(asked: Any, at: int) -> Trial:
    def of(name: str) -> str:
        return str(asked.get(f"{name}{at}", "")).strip()[:200]

    sections = tuple(str(each).strip()[:10] for each in asked.getlist(f"on{at}"))
    return Trial(sections, of("sides"), of("boxes"), of("way"), of("tight"), of("rod"))
