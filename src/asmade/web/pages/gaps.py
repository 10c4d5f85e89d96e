"""Gaps: pairs by margin, where in the turn they are nearest, width stacks, where to take it from; the piston's ends."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from markupsafe import Markup

from asmade.measure.errors import AsmadeError, Refused, Unknown
from asmade.web.desk import AtDesk, Desk
from asmade.web.pages import pictures

if TYPE_CHECKING:
    from asmade.reckon.requirement import Finding
    from asmade.show.board_picture import Frame
    from asmade.show.strokes import Stroke
    from asmade.verbs.gap_turn import GapTurn
    from asmade.verbs.gaps import GapsResult, PairResult, SideResult
    from asmade.verbs.piston_ends import PistonEnds
    from asmade.web.seen import Look

router = APIRouter()
LINKS: Final = ((22, "Gaps", "/gaps"),)
LONGEST: Final = 40
STACK_PX: Final = 460.0
CLOSE_MM: Final = 38.0
"""Half of what is seen close, along the engine."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What may be asked of the gaps: another gap wanted, a curve, a gauge."""

    wanted: str = ""
    curve: str = ""
    gauge: str = ""

    @property
    def query(self) -> dict[str, str]:
        """As the end of an address."""
        return {k: v for k, v in (("wanted", self.wanted), ("curve", self.curve), ("gauge", self.gauge)) if v}


@dataclass(frozen=True, slots=True)
class Row:
    """One pair with its number in the list, by margin over both sides."""

    number: int
    side: SideResult
    pair: PairResult

    @property
    def at_deg(self) -> float:
        """Where in the turn they are nearest."""
        return math.degrees(self.pair.finding.least.at_rad) % 360

    @property
    def until_deg(self) -> float:
        """Until where they stay so."""
        return math.degrees(self.pair.finding.least.until_rad) % 360


@dataclass(frozen=True, slots=True)
class Stack:
    """The width stack on one crank pin; ``passed``: something passes outside it, and the gap to it is written in."""

    place: str
    picture: Markup
    layers: tuple[tuple[str, float, float], ...]
    passed: bool


@router.get("/gaps")
def gaps(
    request: Request, desk: AtDesk, wanted: str = "", curve: str = "", gauge: str = "", pair: str = "", angle: str = ""
) -> Response:
    """The room between everything that moves and what is near it."""
    return _page(request, desk, Asked(wanted, curve, gauge), pair, angle)


def _page(request: Request, desk: Desk, asked: Asked, pair: str, angle: str) -> Response:
    look = desk.look()
    shown: dict[str, Any] = {"result": None, "fault": None, "refused": {}, "rows": (), "chosen": None, "stacks": ()}
    result = None
    try:
        result = _result(look, asked)
    except AsmadeError as fault:
        if asked.query:
            shown["refused"] = {_at_fault(asked, fault): fault}
            asked_ = Asked()
            try:
                result = _result(look, asked_)
            except AsmadeError as without:
                shown["fault"] = without
        else:
            shown["fault"] = fault
    if result is not None:
        rows = _rows(result)
        shown |= {"result": result, "rows": rows, "verdict": _verdict(rows)}
        if rows:
            chosen = rows[int(pictures.number_asked(pair, "pair", 1, len(rows), 1)) - 1]
            nearest = chosen.at_deg
            at = pictures.number_asked(angle, "crank angle", 0, 360, round(nearest))
            shown |= {"chosen": chosen, "angle": at, "nearest": nearest}
            shown |= _pictures(look, chosen, at)
        shown["stacks"] = tuple(stack for side in result.sides for stack in stacks_of(look, side.side, result))
    return desk.page(
        request, "gaps.html", status=422 if shown["refused"] else 200, asked=asked, SIDES=pictures.SIDES,
        ends=_piston_ends(look), chains=() if _piston_ends(look) else _end_chains(look), **shown,
    )  # fmt: skip


def _at_fault(asked: Asked, fault: AsmadeError) -> str:
    """The field that a refusal is about: by its first words, else the first that was filled in."""
    begins = {"radius of the curve": "curve", "curve": "curve", "gauge": "gauge"}
    return next((name for words, name in begins.items() if fault.message.startswith(words)), next(iter(asked.query)))


def _result(look: Look, asked: Asked) -> GapsResult:
    from asmade.verbs.gaps import gaps_of  # noqa: PLC0415  # shapely only once gaps are looked at

    for name, text in asked.query.items():
        if len(text) > LONGEST:
            raise Refused(name, got=text[:LONGEST], reason="that is longer than a size can be")
    return look.once(
        f"gaps {asked}",
        lambda: gaps_of(look.build, wanted=asked.wanted, curve=asked.curve, gauge=asked.gauge),
    )


def _rows(result: GapsResult) -> tuple[Row, ...]:
    every = [(side, pair) for side in result.sides for pair in side.pairs]
    every.sort(key=lambda each: (each[1].finding.margin_mm, each[0].side, each[1].one, each[1].other))
    return tuple(Row(at, side, pair) for at, (side, pair) in enumerate(every, start=1))


def _verdict(rows: tuple[Row, ...]) -> str:
    verdicts = {row.pair.finding.verdict for row in rows}
    return next((word for word in ("fails", "close", "holds") if word in verdicts), "not known")


def _pictures(look: Look, row: Row, angle: float) -> dict[str, Any]:
    from asmade.show.board_picture import Mark, board_svg  # noqa: PLC0415
    from asmade.show.plots_gap import gap_plot  # noqa: PLC0415

    side, pair = row.side.side, row.pair
    position = 1.0 if pair.reverser is None else pair.reverser
    title = f"Running gear, {pictures.SIDES[side]}, {pair.one} and {pair.other} at {angle:.0f} degrees"
    mark = Mark(str(row.number), pair.one, pair.finding.verdict, f"#pair-{row.number}")
    lit = (pair.one, pair.other)
    # links of the valve gear would hide what is behind them, unless one of them is what is looked at
    shown = tuple(b.name for b in pictures.frames(look).side(side).bodies if not b.bar or pair.reverser is not None)
    of_side = pictures.drawing(look, side, shown)
    drawn = board_svg(of_side, crank_deg=angle, position=position, marks=[mark], title=title, lit=lit, plain=True)
    about, line = _near(row, angle)
    close = board_svg(of_side, crank_deg=angle, position=position, title=f"{title}, seen close", lit=lit, about=about,
                      over=line)  # fmt: skip
    turn = _turn(look, row)
    words = f"Gap between {pair.one} and {pair.other} over the turn, least {pair.finding.least.gap_mm:.2f} mm"
    plot = pictures.plot_plate(lambda width: gap_plot(pair, turn, width), words, at=angle / 360)
    here = float(turn.gap_mm[round(angle * (turn.gap_mm.size - 1) / 360)])
    table = [(round(float(turn.angles_deg[k])), float(turn.gap_mm[k])) for k in range(0, turn.gap_mm.size - 1, 20)]
    return {
        "drawn": Markup(drawn), "close": Markup(close), "plot": plot, "gap_here": here, "table": table,  # noqa: S704
        "position": position, "reverser_words": pictures.reverser_words,
    }  # fmt: skip


def _near(row: Row, angle: float) -> tuple[Frame, tuple[Stroke, ...]]:
    """The part of the side about the nearest points of a pair, and a line from the one to the other."""
    from asmade.motion.gaps.nearest import nearest_points  # noqa: PLC0415
    from asmade.show.board_picture import Frame  # noqa: PLC0415
    from asmade.show.strokes import Line  # noqa: PLC0415
    from asmade.verbs.gaps import at_index  # noqa: PLC0415

    scene, pair = row.side.scene_for(row.pair), row.pair.finding.pair
    found = nearest_points(scene, pair.one, pair.other, at_index(scene, math.radians(angle)))
    (ax, ay), (bx, by) = found.one, found.other
    x, y, half = (ax + bx) / 2, (ay + by) / 2, max(CLOSE_MM, 0.75 * math.hypot(bx - ax, by - ay))
    line = (Line(ax, ay, bx, by, "fail"),) if (ax, ay) != (bx, by) else ()
    return Frame(x - half, y - 0.42 * half, x + half, y + 0.42 * half), line


def _turn(look: Look, row: Row) -> GapTurn:
    from asmade.verbs.gap_turn import gap_over_turn  # noqa: PLC0415

    pair = row.pair.finding.pair
    key = f"gap over the turn {row.side.side} {pair.one} {pair.other} {pair.wanted_mm}"
    return look.once(key, lambda: gap_over_turn(row.side, row.pair))


def stacks_of(look: Look, side: str, result: GapsResult | None = None) -> tuple[Stack, ...]:
    """The width stacks on the crank pins of a side, front to back; those of pins that are known."""
    result = result or _result(look, Asked())
    key = f"stacks {side} {result.wanted_mm}"
    return look.once(key, lambda: _stacks(look, side, result))


def _stacks(look: Look, side: str, result: GapsResult) -> tuple[Stack, ...]:
    from asmade.show.gap_pictures import stack_picture  # noqa: PLC0415
    from asmade.show.width_stack import MOST_PX_PER_MM  # noqa: PLC0415

    frames = pictures.frames(look)
    of_side = frames.side(side)
    made = [body.name for body in of_side.bodies if body.state == "made"]
    found = []
    for axle in look.build.design.places.axles:
        place = f"{axle}{side}"

        def draw(width: float, place: str = place) -> tuple[Stroke, ...]:
            return stack_picture("", result, place, values=look.values, made=made, short=width < 400)

        try:
            picture = pictures.plate(draw, f"Width stack on crank pin {place}", most_px_per_mm=MOST_PX_PER_MM,
                                     wide_px=STACK_PX)  # fmt: skip
        except Unknown:
            continue
        layers = tuple(
            sorted(
                {
                    (e.name, e.inner_mm, e.outer_mm)
                    for b in of_side.bodies
                    for e in b.elements
                    if axle in b.name.split()
                },
                key=lambda each: each[1],
            )
        )
        mine = {f"pin cap {axle}", f"crank pin {axle}"}
        passed = any({pair.one, pair.other} & mine for s in result.sides if s.side == side for pair in s.pairs)
        found.append(Stack(place, picture, layers, passed))
    return tuple(found)


def _piston_ends(look: Look) -> tuple[PistonEnds, ...]:
    from asmade.verbs.piston_ends import piston_ends  # noqa: PLC0415

    return look.once("piston ends", lambda: piston_ends(look.values))


def _end_chains(look: Look) -> tuple[Finding, ...]:
    """Chains of the book about the ends of the stroke: whatever adds up cylinder, connecting rod and piston."""
    wanted = set()
    for requirement in look.values.system.requirements:
        parts = {address.part for address in requirement.reads}
        whole = {"cylinder", "connecting_rod"} <= parts and parts & {"piston", "piston_rod"}
        if requirement.code == "chain" and whole:
            wanted.add((requirement.code, requirement.subject))
    return tuple(f for f in look.findings if (f.code, f.subject) in wanted)


@router.get("/gaps/turn")
def turn(desk: AtDesk, wanted: str = "", curve: str = "", gauge: str = "", pair: str = "") -> Response:
    """The gap of one pair over the turn, for the page that shows it at an angle."""
    look = desk.look()
    rows = _rows(_result(look, Asked(wanted, curve, gauge)))
    if not rows:
        raise Unknown("pair", got=pair[:20], way_out="no two bodies are near one another")
    row = rows[int(pictures.number_asked(pair, "pair", 1, len(rows), 1)) - 1]
    found = _turn(look, row)
    return JSONResponse({"rows": {"gap": [round(float(v), 3) for v in found.gap_mm]}},
                        headers={"cache-control": "no-store"})  # fmt: skip
