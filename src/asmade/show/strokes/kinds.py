"""Strokes: what a picture is a list of. Places in mm, x to the right, y up; text, gaps and arrows in px.

A picture is drawn for a width in px. What is made of metal has its size in mm; what is written about it has its size
in px, so that it can be read on a phone as on a desk: `lay_out` brings the two together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Final, Literal, TypeAlias

from asmade.measure.errors import OutOfRange, Refused, Unknown

Look: TypeAlias = Literal["outline", "bold", "thin", "hidden", "centre", "soft", "fail", "close"]
Fill: TypeAlias = Literal["", "paper", "tint", "deep", "solid", "fail"]
Anchor: TypeAlias = Literal["start", "middle", "end"]
Stand: TypeAlias = Literal["middle", "above", "below"]
Point: TypeAlias = tuple[float, float]

LEAST_TEXT_PX: Final = 11.0
"""No text is smaller than this at the width a picture is drawn for."""


@dataclass(frozen=True, slots=True)
class Pen:
    """How a look is drawn: width in px, dashes in px, grey or black."""

    width_px: float
    ink: str = "#000"
    dash_px: tuple[float, ...] = ()


LOOKS: Final[dict[str, Pen]] = {
    "outline": Pen(1.5),
    "bold": Pen(2.1),
    "thin": Pen(0.8),
    "hidden": Pen(0.8, dash_px=(4, 3)),
    "centre": Pen(0.6, "#444", (10, 3, 2, 3)),
    "soft": Pen(0.8, "#666"),
    "fail": Pen(2.0),
    "close": Pen(1.2, dash_px=(6, 2)),
}
FILLS: Final[dict[str, str]] = {
    "": "none", "paper": "#fff", "tint": "#f0f0f0", "deep": "#d4d4d4", "solid": "#000", "fail": "#fff",
}  # fmt: skip


def _checked(stroke: object) -> None:
    """Refuse places that are not known, looks and fills that are not there, anywhere in a stroke."""
    for each in fields(stroke):  # type: ignore[arg-type]
        value = getattr(stroke, each.name)
        numbers = value if isinstance(value, tuple) else (value,)
        for number in numbers:
            parts = number if isinstance(number, tuple) else (number,)
            if any(isinstance(part, int | float) and not math.isfinite(part) for part in parts):
                raise Refused(type(stroke).__name__, got=value, reason=f"{each.name} is not known")
    for name, known in (("look", LOOKS), ("fill", FILLS)):
        found = getattr(stroke, name, None)
        if found is not None and found not in known:
            raise Unknown(f"{name} of a stroke", got=found, way_out=f"one of: {', '.join(filter(None, known))}")


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    look: Look = "outline"

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        _checked(self)


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight lines from corner to corner; closed, it may be filled. ``openings``: rings left out of the fill."""

    points: tuple[Point, ...]
    look: Look = "outline"
    closed: bool = False
    fill: Fill = ""
    openings: tuple[tuple[Point, ...], ...] = ()

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        if len(self.points) < 2:
            raise Refused("polyline", got=self.points, reason="it has fewer than two corners")
        _checked(self)


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    x: float
    y: float
    radius: float
    look: Look = "outline"
    fill: Fill = ""

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        _checked(self)
        if self.radius <= 0:
            raise OutOfRange("radius of a circle", got=self.radius, allowed="more than 0 mm")


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, anticlockwise from start to end (rad)."""

    x: float
    y: float
    radius: float
    start_rad: float
    end_rad: float
    look: Look = "outline"

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        _checked(self)
        if self.radius <= 0:
            raise OutOfRange("radius of an arc", got=self.radius, allowed="more than 0 mm")
        if not 0 < self.end_rad - self.start_rad < 2 * math.pi:
            raise OutOfRange("arc", got=self.end_rad - self.start_rad, allowed="more than 0 and less than a full turn",
                             way_out="use Circle for a full turn")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text at a place. ``figure``: in the figures' face. ``turned``: written upwards.

    dx_px, dy_px: moved aside from its place, right and up. paper: on a white ground, so that it may stand on hatching
    and centre lines. over: looks of strokes that it may cross besides.
    """

    text: str
    x: float
    y: float
    size_px: float = 12.0
    anchor: Anchor = "middle"
    stand: Stand = "middle"
    figure: bool = False
    strong: bool = False
    turned: bool = False
    dx_px: float = 0.0
    dy_px: float = 0.0
    paper: bool = False
    look: Look = "outline"
    over: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse text too small to read, and none."""
        _checked(self)
        if self.size_px < LEAST_TEXT_PX:
            raise OutOfRange(
                f"size of the text {self.text!r}", got=self.size_px, allowed=f"{LEAST_TEXT_PX:g} px or more"
            )
        if not self.text.strip() or "\n" in self.text:
            raise Refused("label", got=self.text, reason="it should be one line of text")


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension from one point to another: extension lines, arrows, a figure above the line.

    away_px: how far the dimension line stands off, to the left of the way from first to second (negative: right).
    along: measured along "x", along "y", or straight from point to point.
    """

    x1: float
    y1: float
    x2: float
    y2: float
    text: str
    away_px: float = 24.0
    along: Literal["x", "y", ""] = ""
    size_px: float = 12.0
    look: Look = "thin"
    strong: bool = False

    def __post_init__(self) -> None:
        """Refuse what has no length, and text too small to read."""
        _checked(self)
        span = {"x": abs(self.x2 - self.x1), "y": abs(self.y2 - self.y1)}.get(
            self.along, math.hypot(self.x2 - self.x1, self.y2 - self.y1)
        )
        if span <= 0:
            raise OutOfRange(f"length of the dimension {self.text!r}", got=0, allowed="more than 0 mm")
        if self.size_px < LEAST_TEXT_PX:
            raise OutOfRange(
                f"size of the text {self.text!r}", got=self.size_px, allowed=f"{LEAST_TEXT_PX:g} px or more"
            )


@dataclass(frozen=True, slots=True)
class Leader:
    """A note on a line: from (x1, y1), where a dot stands, to (x2, y2) moved by dx_px, dy_px, where the text begins.

    ``anchor``: ``start`` if the text runs to the right from there, ``end`` to the left, ``middle`` over or under it.
    """

    x1: float
    y1: float
    x2: float
    y2: float
    text: str
    dx_px: float = 0.0
    dy_px: float = 0.0
    size_px: float = 12.0
    anchor: Anchor = "start"
    figure: bool = False
    strong: bool = False
    look: Look = "thin"

    def __post_init__(self) -> None:
        """Refuse text too small to read, and none."""
        _checked(self)
        Label(self.text, self.x2, self.y2, size_px=self.size_px)


@dataclass(frozen=True, slots=True)
class Hatch:
    """Section lining of an outline: thin parallel lines ``spacing_px`` apart."""

    points: tuple[Point, ...]
    spacing_px: float = 6.0
    angle_deg: float = 45.0

    def __post_init__(self) -> None:
        """Refuse lines too close to print."""
        _checked(self)
        if len(self.points) < 3:
            raise Refused("hatch", got=self.points, reason="its outline has fewer than three corners")
        if self.spacing_px < 2:
            raise OutOfRange("spacing of a hatch", got=self.spacing_px, allowed="2 px or more")


Stroke: TypeAlias = Line | Polyline | Circle | Arc | Label | Leader | Dimension | Hatch
