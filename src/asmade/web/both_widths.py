"""A picture drawn twice, for a desk and for a phone, so that its figures are never too small to read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from markupsafe import Markup

from asmade.show.strokes import Stroke, svg

DESK_PX: Final = 760.0
PHONE_PX: Final = 320.0


def both(draw: Callable[[float], Sequence[Stroke]], title: str, *, desk_px: float = DESK_PX) -> Markup:
    """What ``draw`` gives for a width in px, once for each; a style sheet shows the one that fits."""
    wide, narrow = (one(draw(width), title, width_px=width) for width in (desk_px, PHONE_PX))
    return Markup('<div class="drawn-for-desk">{}</div><div class="drawn-for-phone">{}</div>').format(wide, narrow)


def one(strokes: Sequence[Stroke], title: str, *, width_px: float) -> Markup:
    """A picture small enough for both."""
    return Markup(svg(strokes, width_px=width_px, title=title))  # noqa: S704  # texts are escaped there
