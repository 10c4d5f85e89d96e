"""How wide a label is: measured with the advance widths of a wide face, so that narrower ones have room."""

from __future__ import annotations

from functools import cache

from asmade.standards.tables import load, number

FIGURE_WIDTH = 0.602
"""Every sign of the figures' face, in sizes of the type (DejaVu Sans Mono 2.37)."""
ASCENT, DESCENT = 0.76, 0.24
"""Height over and under the foot of the line, in sizes of the type."""
_STRONG = 1.12
_NOT_LISTED = 1.0


@cache
def _widths() -> dict[str, float]:
    found: dict[str, float] = {}
    for row in load("label_widths", "asmade.show.strokes").rows:
        found |= dict.fromkeys(str(row["signs"]), number(row["width"]) / 1000)
    return found


def width_of(text: str, size_px: float, *, figure: bool = False, strong: bool = False) -> float:
    """Width in px of one line of text; a sign that is not listed counts as a full square."""
    if figure:
        return FIGURE_WIDTH * size_px * len(text)
    widths = _widths()
    plain = sum(widths.get(sign, _NOT_LISTED) for sign in text) * size_px
    return plain * _STRONG if strong else plain
