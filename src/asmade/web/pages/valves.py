"""Valves: advice first, then left over right, drawn against made; events, what to set, what tells most."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from markupsafe import Markup

from asmade.measure.errors import AsmadeError, Refused, Unknown
from asmade.web.desk import AtDesk, Desk
from asmade.web.pages import pictures

if TYPE_CHECKING:
    from asmade.motion.valves.best import Adjust
    from asmade.motion.valves.instructions import Step
    from asmade.motion.valves.report import SideEvents
    from asmade.show.plots import Plot
    from asmade.show.plots_valves import Curve
    from asmade.verbs.valves import Gears, MattersResult, SetResult, ValvesResult
    from asmade.web.seen import Look

router = APIRouter()
LINKS: Final = ((24, "Valves", "/valves"),)
KINDS: Final = (("best", "best known"), ("drawn", "as drawn"), ("chosen", "as chosen"), ("made", "as made"))
NAMES: Final = dict(KINDS)
SIDE: Final = {"R": "right", "L": "left"}
MOST_ADJUSTED: Final = 12
DIAGRAM_PX: Final = 480.0
WORTH: Final = 0.1
"""Of the present unevenness: a part whose remaking gains less is not worth making again; common practice, no source."""


def _in_words(step: Step, thread: str) -> str:
    from asmade.verbs.valve_words import step_in_words  # noqa: PLC0415

    return step_in_words(step, thread)


@router.get("/valves")
def valves(
    request: Request, desk: AtDesk, values: str = "best", against: str = "", reverser: str = "", more: str = ""
) -> Response:
    """What is uneven, what to set, what to make again; events and diagrams."""
    return _page(request, desk, values, against, reverser, more=bool(more))


def _page(
    request: Request, desk: Desk, values: str, against: str, reverser: str, *, more: bool = False,
    adjust: tuple[str, ...] = (), setting: SetResult | None = None, set_fault: AsmadeError | None = None,
) -> Response:  # fmt: skip
    look = desk.look()
    shown: dict[str, Any] = {"result": None, "fault": None, "refused": {}, "setting": setting, "matters": None}
    result = None
    try:
        result = _result(look, values)
    except AsmadeError as fault:
        if values == "best":
            shown["fault"] = fault
        else:
            shown["refused"] = {"values": fault}
            values = "best"
            try:
                result = _result(look, values)
            except AsmadeError as without:
                shown["fault"] = without
    if result is not None:
        other = None
        if against:
            try:
                other = _gears(look, against)
            except AsmadeError as fault:
                shown["refused"] |= {"against": fault}
        shown |= _shown(look, result, other, against, reverser, shown["refused"])
        if more or setting is not None:
            shown["matters"] = _matters(look)
            shown["setting"] = setting or _setting(look, ())
    refusals = bool(shown["refused"]) or set_fault is not None
    return desk.page(
        request, "valves.html", status=422 if refusals else 200, values=values, against=against, KINDS=KINDS,
        NAMES=NAMES, SIDE=SIDE, adjust=adjust, set_fault=set_fault, more=more, WORTH=WORTH, step_words=_in_words,
        **shown,
    )  # fmt: skip


def _result(look: Look, values: str) -> ValvesResult:
    from asmade.verbs.valves import WHICH, valves_of  # noqa: PLC0415  # scipy only once valves are looked at

    if values not in WHICH:
        raise Unknown("values", got=values[:20], way_out=f"one of: {', '.join(WHICH)}")
    return look.once(f"valves {values}", lambda: valves_of(look.build, values=values))


def _gears(look: Look, values: str) -> Gears:
    return _result(look, values).gears


def _setting(look: Look, adjust: tuple[str, ...]) -> SetResult:
    from asmade.verbs.valves import set_valves_of  # noqa: PLC0415

    return look.once(f"set valves {adjust}", lambda: set_valves_of(look.build, adjust=adjust))


def _matters(look: Look) -> MattersResult:
    from asmade.verbs.valves import matters_of  # noqa: PLC0415

    return look.once("what matters in the valve gear", lambda: matters_of(look.build))


def _shown(
    look: Look, result: ValvesResult, other: Gears | None, against: str, reverser: str, refused: dict[str, AsmadeError]
) -> dict[str, Any]:
    positions = tuple(dict.fromkeys(row.reverser for row in result.events.positions))
    position = positions[0]
    if reverser:
        try:
            asked = pictures.number_asked(reverser, "reverser", -1, 1, position)
            position = min(positions, key=lambda each: abs(each - asked))
        except AsmadeError as fault:
            refused["reverser"] = fault
    key = f"diagrams {result.gears.which} {against if other else ''} {position}"
    curves = _curves(result.gears, other, against)
    return {
        "result": result, "positions": positions, "position": position,
        "rows": [(row, SIDE[row.side]) for row in result.events.positions if row.reverser == position],
        "every": result.events.positions,
        "diagrams": look.once(key, lambda: _diagrams(curves, position)), "curves": [curve.name for curve in curves],
        "openings": look.once(f"table of {key}", lambda: _openings(curves, position)),
        "adjusts": _adjusts(result), "reverser_words": pictures.reverser_words,
        "assembles": _assembles(result.events.positions, position),
    }  # fmt: skip


def _assembles(rows: tuple[SideEvents, ...], position: float) -> bool:
    return all(row.ends is not None for row in rows if row.reverser == position)


def _curves(gears: Gears, other: Gears | None, against: str) -> tuple[Curve, ...]:
    from asmade.show.plots_valves import Curve  # noqa: PLC0415

    found = [Curve(f"{SIDE[name]}, {NAMES[gears.which]}", side) for name, side in gears.engine.sides()]
    if other is not None:
        found += [Curve(f"{SIDE[name]}, {NAMES[against]}", side) for name, side in other.engine.sides()]
    return tuple(found)


def _diagrams(curves: tuple[Curve, ...], position: float) -> list[tuple[str, str, Markup]]:
    """Name, title and picture of each diagram; one that cannot be drawn at this position is left out."""
    from asmade.show.plots_valves import differences_plot, openings_plot, oval_plot, polar_plot  # noqa: PLC0415

    names = ", ".join(curve.name for curve in curves)
    made: list[tuple[str, str, Callable[[float], Plot]]] = [
        ("Valve and piston", "oval", lambda width: oval_plot(curves, position, width)),
        ("Front port over the stroke", "front", lambda width: openings_plot(curves, position, 0, width)),
        ("Back port over the stroke", "back", lambda width: openings_plot(curves, position, 1, width)),
        ("How they differ", "differences", lambda width: differences_plot(curves, position, width)),
        ("Polar diagram", "polar", lambda width: polar_plot(curves, position, width)),
    ]
    found = []
    for title, name, draw in made:
        try:
            at = 0.0 if name in ("front", "back") else None
            picture = pictures.plot_plate(draw, f"{title}: {names}", at=at, wide_px=DIAGRAM_PX, kind="diagram")
            found.append((name, title, picture))
        except (AsmadeError, ValueError):
            continue
    return found


def _openings(curves: tuple[Curve, ...], position: float) -> list[tuple[int, list[tuple[float, float]]]]:
    """Per cent of the working stroke; front and back opening of each curve."""
    from asmade.show.plots_valves import opening_over_stroke  # noqa: PLC0415

    ends = [[opening_over_stroke(c.side, position, end).opening_mm for end in (0, 1)] for c in curves]
    return [(at, [(float(front[at]), float(back[at])) for front, back in ends]) for at in range(0, 101, 5)]


def _adjusts(result: ValvesResult) -> tuple[tuple[Adjust, str], ...]:
    """What the gear lets adjust, and by what."""
    from asmade.motion.gears import gear  # noqa: PLC0415
    from asmade.motion.valves.best import default_adjusts  # noqa: PLC0415

    sizes = {size.name: size for size in gear(result.gears.bound[0].gear).sizes}
    return tuple(
        (adjust, "the valve on its spindle" if adjust.name == "mid" else sizes[adjust.name].adjust)
        for adjust in default_adjusts(result.gears.engine.right)
    )


@router.get("/valves/more")
def more(request: Request, desk: AtDesk) -> Response:
    """What to set, what to make again, what tells most: pieces of the page that take a few seconds."""
    if pictures.by_itself(request):
        return RedirectResponse("/valves?more=1", status_code=303)
    look = desk.look()
    try:
        shown: dict[str, Any] = {"setting": _setting(look, ()), "matters": _matters(look), "fault": None}
    except AsmadeError as fault:
        shown = {"setting": None, "matters": None, "fault": fault}
    return desk.page(request, "valves_more.html", block=False, SIDE=SIDE, WORTH=WORTH, step_words=_in_words, **shown)


@router.get("/valves/set")
def to_set(request: Request, desk: AtDesk) -> Response:
    """What to set when only some things may be adjusted."""
    asked = [str(each).strip()[:60] for each in request.query_params.getlist("adjust")]
    asked += [each.strip()[:60] for each in request.query_params.get("also", "").split(",") if each.strip()]
    adjust = tuple(dict.fromkeys(each for each in asked if each))
    look = desk.look()
    try:
        if not adjust:
            raise Refused("what may be adjusted", got="nothing", reason="then nothing can be set",
                          way_out="tick at least one")  # fmt: skip
        if len(adjust) > MOST_ADJUSTED:
            raise Refused("what may be adjusted", got=f"{len(adjust)} things", reason="that is more than can be told",
                          way_out=f"tick at most {MOST_ADJUSTED}")  # fmt: skip
        found = _setting(look, adjust)
    except AsmadeError as fault:
        return _page(request, desk, "best", "", "", adjust=adjust, set_fault=fault)
    return _page(request, desk, "best", "", "", adjust=adjust, setting=found)


@router.get("/valves/openings")
def openings(desk: AtDesk, values: str = "best", against: str = "", reverser: str = "1") -> Response:
    """Port openings over the working stroke at every per cent, for the page that shows them under the pointer."""
    from asmade.show.plots_valves import opening_over_stroke  # noqa: PLC0415

    look = desk.look()
    position = pictures.number_asked(reverser, "reverser", -1, 1, 1.0)
    curves = _curves(_gears(look, values), _gears(look, against) if against else None, against)
    told = {
        f"{curve.name} {opened.end}": [round(v, 3) if math.isfinite(v) else None for v in opened.opening_mm.tolist()]
        for curve in curves
        for opened in (opening_over_stroke(curve.side, position, end) for end in (0, 1))
    }
    return JSONResponse({"rows": told}, headers={"cache-control": "no-store"})
