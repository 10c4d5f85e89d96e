"""What the pages with pictures share: the moving drawing kept for a look, angles as they are asked for, both widths."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from fastapi import Request
from markupsafe import Markup

from asmade.measure.errors import OutOfRange, Unknown

if TYPE_CHECKING:
    from asmade.show.board_picture import SideDrawing
    from asmade.show.plots import Plot
    from asmade.show.strokes import Stroke
    from asmade.verbs.motion_frames import Frames
    from asmade.web.seen import Look

SIDES: Final = {"R": "right-hand side", "L": "left-hand side"}
NARROW_PX: Final = 300.0
WIDE_PX: Final = 560.0
PLOT_PX: Final = 900.0


def frames(look: Look) -> Frames:
    """Everything that moves, at the best known sizes of a look."""
    from asmade.verbs.motion_frames import frames_of  # noqa: PLC0415  # shapes only once a picture is asked for

    return look.once("frames", lambda: frames_of(look.values))


def drawing(look: Look, side: str, only: tuple[str, ...] = ()) -> SideDrawing:
    """One side drawn, but for where everything is; ``only`` bodies whose names begin so."""
    from asmade.show.board_picture import drawn_side  # noqa: PLC0415

    return look.once(f"drawing {side} {only}", lambda: drawn_side(frames(look), side, only=only))


def side_asked(look: Look, text: str) -> str:
    """The side asked for; the right-hand one where none is, or the one there is."""
    there = [side.side for side in frames(look).sides]
    if not text:
        return "R" if "R" in there or not there else there[0]
    if text not in there:
        raise Unknown("side of the engine", got=text[:20], way_out=f"there are {', '.join(there)}")
    return text


def number_asked(text: str, what: str, low: float, high: float, usual: float) -> float:
    """A figure of an address line, within its limits; the usual one where none is given."""
    if not text:
        return usual
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        raise OutOfRange(what, got=text[:20], allowed=f"{low:g} to {high:g}")
    return value


def by_itself(request: Request) -> bool:
    """Whether a piece of a page is asked for as if it were a page; the page it belongs to is then the answer."""
    return request.headers.get("sec-fetch-dest", "") in ("document", "iframe")


def reverser_words(position: float) -> str:
    """``full forward``, ``64 % forward``, ``mid gear``."""
    per_cent = round(100 * abs(position))
    if per_cent == 0:
        return "mid gear"
    way = "forward" if position > 0 else "backward"
    return f"full {way}" if per_cent == 100 else f"{per_cent} % {way}"


def plate(
    draw: Callable[[float], Sequence[Stroke]], title: str, *, most_px_per_mm: float = math.inf, wide_px: float = WIDE_PX
) -> Markup:
    """A picture drawn for a narrow and for a wide place; a style sheet shows the one that fits where it stands."""
    found = Markup('<div class="plate">')
    for name, width in (("narrow", NARROW_PX), ("wide", wide_px)):
        text = _fitting(draw, width, title, most_px_per_mm)
        found += Markup('<div class="is-{}">{}</div>').format(name, Markup(text))  # noqa: S704  # escaped there
    return found + Markup("</div>")


def plot_plate(
    draw: Callable[[float], Plot], title: str, *, at: float | None = None, wide_px: float = PLOT_PX, kind: str = ""
) -> Markup:
    """A plot drawn for a narrow and for a wide place; ``at``: where its mark stands, 0 to 1 of the way across."""
    from asmade.show.plots import plot_svg  # noqa: PLC0415

    moves = Markup(" data-plot") if at is not None else ""
    found = Markup('<div class="plate {}"{}>').format(kind, moves)
    for name, width in (("narrow", NARROW_PX), ("wide", wide_px)):
        text = plot_svg(draw(width), width_px=width, title=title, at=at)
        found += Markup('<div class="is-{}">{}</div>').format(name, Markup(text))  # noqa: S704  # escaped there
    return found + Markup("</div>")


def _fitting(draw: Callable[[float], Sequence[Stroke]], width: float, title: str, most_px_per_mm: float) -> str:
    """Drawn for a width, or, where its words alone are wider, as little wider as they need and shown smaller."""
    from asmade.show.strokes import svg  # noqa: PLC0415

    strokes = draw(width)
    for more in range(0, 200, 20):
        try:
            return svg(strokes, width_px=width + more, title=title, most_px_per_mm=most_px_per_mm)
        except OutOfRange:
            continue
    return svg(strokes, width_px=width + 200, title=title, most_px_per_mm=most_px_per_mm)
