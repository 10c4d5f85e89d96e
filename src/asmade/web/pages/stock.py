"""Stock and buying: what is still to be cut, each bar to scale, and what must be bought."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final

from fastapi import APIRouter, Request
from fastapi.responses import Response
from markupsafe import Markup

from asmade.measure.errors import AsmadeError
from asmade.show.shop_pictures import BarToDraw, bar_picture, letters_of
from asmade.verbs.cutlist import CutListResult, Group, cutlist_of, read_asked
from asmade.web.both_widths import both
from asmade.web.desk import AtDesk

if TYPE_CHECKING:
    from asmade.web.seen import Look
    from asmade.work.cutlist import CutBar

router = APIRouter()
LINKS: Final = ((30, "Stock and buying", "/stock"),)
FIELDS: Final = ("kerf", "facing", "chucking", "turning", "keep", "lengths", "only")


@dataclass(frozen=True, slots=True)
class DrawnBar:
    """Bars cut alike: their name, how many, the picture, and what is cut from each."""

    name: str
    count: int
    to_buy: bool
    picture: Markup
    pieces: tuple[tuple[str, str, float, int], ...]
    rest_mm: float
    kept: bool


@router.get("/stock")
def stock(request: Request, desk: AtDesk) -> Response:
    """The cutting list as pictures, and the buying list."""
    given = {k: request.query_params.get(k, "").strip() for k in FIELDS}
    no_rack = bool(request.query_params.get("no_rack"))
    look = desk.look()
    refused: AsmadeError | None = None
    result: CutListResult | None = None
    try:
        result = _lists(look, given, no_rack=no_rack)
    except AsmadeError as fault:
        refused = fault
    bars = look.once(f"bars {given} {no_rack}", partial(_drawn, result.groups)) if result else {}
    return desk.page(
        request, "stock.html", status=422 if refused else 200, result=result, bars=bars, given=given, no_rack=no_rack,
        refused=refused, at=_field_of(refused, given),
        mass=result.mass_kg if result else 0.0, asked=any(given.values()) or no_rack,
        parts=tuple(look.build.design.parts),
    )  # fmt: skip


def _lists(look: Look, given: dict[str, str], *, no_rack: bool) -> CutListResult:
    if not any(given.values()) and not no_rack:
        return look.lists
    return look.once(f"lists {given} {no_rack}", lambda: cutlist_of(look.build, read_asked(**given, no_rack=no_rack)))


def _field_of(fault: AsmadeError | None, given: dict[str, str]) -> str:
    thing, got = str(getattr(fault, "thing", "")), str(getattr(fault, "got", ""))
    named = {"saw cut": "kerf", "facing": "facing", "to hold": "chucking", "turning": "turning", "part": "only",
             "off-cut worth keeping": "keep", "length to buy": "lengths", "lengths to buy": "lengths"}  # fmt: skip
    return named.get(thing) or next((k for k, v in given.items() if v and v == got), "")


def _drawn(groups: Sequence[Group]) -> dict[int, tuple[DrawnBar, ...]]:
    return {number: tuple(_bars(group)) for number, group in enumerate(groups)}


def _bars(group: Group) -> list[DrawnBar]:
    """The bars of one section, those cut alike put together; all to the scale of the longest."""
    plan = group.plan
    longest = max((bar.bar.length_mm for bar in plan.bars), default=0.0)
    letters = letters_of([name for bar in plan.bars for name, _ in bar.pieces])
    alike: dict[CutBar, int] = {}
    for bar in plan.bars:
        alike[bar] = alike.get(bar, 0) + 1
    made = []
    for bar, count in alike.items():
        drawn = BarToDraw(
            bar.bar.length_mm, tuple((letters[name], length) for name, length in bar.pieces), plan.kerf_mm, bar.kept
        )
        cuts: dict[tuple[str, float], int] = {}
        for piece in bar.pieces:
            cuts[piece] = cuts.get(piece, 0) + 1
        words = f"{bar.bar.name}: " + ", ".join(f"{n} of {name}, {length:.1f} mm" for (name, length), n in cuts.items())
        made.append(DrawnBar(
            bar.bar.name, count, bar.bar.to_buy, both(partial(bar_picture, drawn, longest), words),
            tuple((letters[name], name, length, n) for (name, length), n in cuts.items()), bar.rest_mm, bar.kept,
        ))  # fmt: skip
    return made
