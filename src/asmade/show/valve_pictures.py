"""Pictures of a valve gear by name: diagrams of what the valve does, the gear itself, what its links sweep."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from asmade.measure.errors import OutOfRange, Unknown, near
from asmade.motion.valves.engine import Side
from asmade.show.strokes import Stroke, svg
from asmade.show.valve_diagrams import openings, oval, polar
from asmade.show.valve_frame import WIDE
from asmade.show.valve_links import gear_at, sweep
from asmade.verbs.valves import Gears

SIDE_WORDS: Final = {"R": "right side", "L": "left side"}


def write_picture(
    path: str | os.PathLike[str],
    gears: Gears,
    name: str,
    *,
    side: str = "R",
    positions: tuple[float, ...] = (),
    crank_deg: float = 60.0,
    width_px: float = 720.0,
) -> None:
    """Write one picture as SVG, drawn for a width; the text in it keeps its size in px at that width."""
    text = svg(strokes_of(gears, name, side=side, positions=positions, crank_deg=crank_deg), width_px=width_px,
               title=title_of(gears, name, side))  # fmt: skip
    Path(path).write_text(text, encoding="utf-8")


def title_of(gears: Gears, name: str, side: str) -> str:
    """What is seen, read aloud in place of the picture."""
    return f"{TITLES.get(name, name)}, {gears.title}, {SIDE_WORDS.get(side, side)}, {gears.which} sizes"


def strokes_of(
    gears: Gears, name: str, *, side: str = "R", positions: tuple[float, ...] = (), crank_deg: float = 60.0
) -> tuple[Stroke, ...]:
    """Strokes of a picture by its name; refuses one that there is not, and a side that is not R or L."""
    if name not in DRAWN:
        raise Unknown("picture", got=name, near=near(name, DRAWN), way_out=f"one of: {', '.join(DRAWN)}")
    if side not in SIDE_WORDS:
        raise Unknown("side of the engine", got=side, way_out="R or L, facing forward")
    if not math.isfinite(crank_deg):
        raise OutOfRange("crank angle", got=crank_deg, allowed="a number of degrees")
    one = gears.engine.right if side == "R" else gears.engine.left
    flip = 1.0 if side == "R" else -1.0
    head = f"{SIDE_WORDS[side]}, {gears.which} sizes"
    return DRAWN[name](one, positions, crank_deg, flip, head)


Drawing = Callable[[Side, tuple[float, ...], float, float, str], tuple[Stroke, ...]]
DRAWN: Final[Mapping[str, Drawing]] = {
    "oval": oval, "openings": openings, "polar": polar, "gear": gear_at, "sweeps": sweep,
}  # fmt: skip
TITLES: Final[Mapping[str, str]] = {
    "oval": "valve displacement against piston position", "openings": "port openings over the stroke",
    "polar": "polar valve diagram", "gear": "the gear", "sweeps": "what the links sweep",
}  # fmt: skip

__all__ = ["DRAWN", "WIDE", "gear_at", "openings", "oval", "polar", "strokes_of", "sweep", "title_of", "write_picture"]
