"""Texts on leaders beside a view: each with a foot on the metal, none crossing another.

A foot goes straight out to the edge of the view, from there slanting to its own post, and up the post to its row, where
the text stands over a landing. Posts stand in the order of their feet, so leaders never cross; rows run from the
farthest to the nearest and again, so that a text never stands in the way of a post that goes farther. With as many
rows as texts this fits into any width that holds one text and the posts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from asmade.measure.errors import OutOfRange
from asmade.show.sketches.drawing import ARROW_PX, Drawing, Written

POST_PX: Final = 7.0
_CLOSE_PX: Final = 3.5
_GAP_PX: Final = 8.0
_ROW_GAP_PX: Final = 6.0
_STUB_PX: Final = 5.0
_APART_PX: Final = 5.0
_INDENT_PX: Final = 3.0


@dataclass(frozen=True, slots=True)
class Flag:
    """One text with its foot at (x, y); ``others``: further places of the foot along x where the first is taken.

    ``over`` is the other edge of what is measured: an arrow points at it from beyond (a thickness across the leader).
    """

    x: float
    y: float
    text: Written
    others: tuple[float, ...] = ()
    over: float | None = None
    dot: bool = False


def raise_flags(drawing: Drawing, flags: Sequence[Flag], *, left: float, right: float, base: float, up: bool) -> float:
    """Draw flags outside ``base`` (the edge of the view), between ``left`` and ``right``; gives how far they reach.

    Raises ``OutOfRange`` where not even one text under another fits into the width.
    """
    if not flags:
        return base
    feet = _feet(flags)
    order = sorted(range(len(flags)), key=lambda at: feet[at])
    wanted = [feet[at] for at in order]
    texts, rows, posts = _fitted([flags[at].text for at in order], wanted, left, right)
    out = 1.0 if up else -1.0
    slant = max(abs(post - foot) for post, foot in zip(posts, wanted, strict=True))
    edge = base + out * _STUB_PX
    band = edge + out * (0.0 if slant < 0.5 else min(6.0 + 0.35 * slant, 30.0))
    tallest = max(text.height_px for text in texts)
    reach = base
    for at, text, foot, post, row in zip(order, texts, wanted, posts, rows, strict=True):
        flag = replace(flags[at], text=text)
        near = band + out * (2.0 + row * (tallest + _ROW_GAP_PX))
        landing = near if up else near - flag.text.height_px - 2.0
        drawing.path(_leader(foot, flag.y, edge, post, band, landing), "thin")
        drawing.line(post, landing, post + _INDENT_PX + flag.text.width_px, landing, "thin")
        drawing.text(flag.text, post + _INDENT_PX, landing + 2.0)
        _foot(drawing, flag, foot, out)
        reach = (max if up else min)(reach, landing + (flag.text.height_px + 2.0 if up else 0.0))
    return reach


def _leader(
    foot: float, start: float, edge: float, post: float, band: float, landing: float
) -> list[tuple[float, float]]:
    return [(foot, start), (foot, edge), (post, band), (post, landing)]


def _foot(drawing: Drawing, flag: Flag, foot: float, out: float) -> None:
    if flag.dot:
        drawing.dot(foot, flag.y)
        return
    drawing.arrow(foot, flag.y, 0.0, -out)
    if flag.over is not None:
        drawing.line(foot, flag.over, foot, flag.over - out * 2 * ARROW_PX, "thin")
        drawing.arrow(foot, flag.over, 0.0, out)


def _feet(flags: Sequence[Flag]) -> list[float]:
    """Where each foot stands: the first of its places that is clear of those before it, else its own."""
    found: list[float] = []
    for flag in flags:
        places = (flag.x, *flag.others)
        clear = (place for place in places if all(abs(place - taken) >= _APART_PX for taken in found))
        found.append(next(clear, flag.x))
    return found


def _fitted(
    texts: Sequence[Written], wanted: Sequence[float], left: float, right: float
) -> tuple[list[Written], list[int], list[float]]:
    """Texts, rows and posts: as they are, else with posts closer, else with long texts in two lines."""
    for ways in (list(texts), [_in_two(text) for text in texts]):
        for apart in (POST_PX, _CLOSE_PX):
            found = _posts(ways, wanted, left, right, apart)
            if found is not None:
                return ways, *found
    widest = max(_INDENT_PX + text.width_px for text in ways)
    raise OutOfRange(
        "width of a sketch", got=f"{right - left:.0f} px for a text of {widest:.0f} px and {len(texts)} leaders",
        allowed=f"{widest + _CLOSE_PX * len(texts):.0f} px or more", way_out="draw it for a wider page",
    )  # fmt: skip


def _in_two(text: Written) -> Written:
    """A text whose lines are broken at their multiplication signs."""
    lines: list[str] = []
    for line in text.lines:
        first, *rest = line.split(" × ")
        lines += [first, *(f"× {each}" for each in rest)]
    return replace(text, lines=tuple(lines))


def _posts(
    texts: Sequence[Written], wanted: Sequence[float], left: float, right: float, post_px: float
) -> tuple[list[int], list[float]] | None:
    """Row of each text (0 nearest the view) and where its post stands: the fewest rows in which all fit."""
    widths = [_INDENT_PX + text.width_px for text in texts]
    for count in range(1, len(texts) + 1):
        rows = [count - 1 - at % count for at in range(len(texts))]
        apart = _separations(rows, widths, post_px)
        least = _forward(apart, [left] * len(widths), left)
        if all(post + wide <= right for post, wide in zip(least, widths, strict=True)):
            most = _backward(apart, [right - wide for wide in widths], widths, right)
            ahead = _forward(apart, [min(w, m) for w, m in zip(wanted, most, strict=True)], left)
            behind = _backward(apart, [max(w, low) for w, low in zip(wanted, least, strict=True)], widths, right)
            return rows, [(one + two) / 2 for one, two in zip(ahead, behind, strict=True)]
    return None


def _separations(rows: Sequence[int], widths: Sequence[float], post_px: float) -> list[list[float]]:
    """How far each post stands at least behind each before it: past its text where it goes as far out or farther."""
    return [
        [widths[before] + _GAP_PX if rows[at] >= rows[before] else post_px for before in range(at)]
        for at in range(len(rows))
    ]


def _forward(apart: Sequence[Sequence[float]], wanted: Sequence[float], left: float) -> list[float]:
    posts: list[float] = []
    for at, want in enumerate(wanted):
        posts.append(max([left, want, *(posts[before] + apart[at][before] for before in range(at))]))
    return posts


def _backward(
    apart: Sequence[Sequence[float]], wanted: Sequence[float], widths: Sequence[float], right: float
) -> list[float]:
    posts = [0.0] * len(wanted)
    for at in range(len(wanted) - 1, -1, -1):
        later = (posts[after] - apart[after][at] for after in range(at + 1, len(wanted)))
        posts[at] = min([right - widths[at], wanted[at], *later])
    return posts
