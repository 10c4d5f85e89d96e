"""A picture from a command: strokes to an SVG file."""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from asmade.measure.errors import Refused

if TYPE_CHECKING:
    from asmade.show.strokes import Stroke


def write_svg(path: str, strokes: Iterable[Stroke], title: str, most: float = math.inf) -> None:
    """Write a picture as SVG; refuses a file that cannot be written, by name."""
    from asmade.show.strokes import svg  # noqa: PLC0415

    text = svg(strokes, width_px=720.0, title=title, most_px_per_mm=most)
    try:
        Path(path).write_text(text, encoding="utf-8")
    except OSError as fault:
        raise Refused("--svg", got=path, reason=fault.strerror or "it cannot be written") from fault
