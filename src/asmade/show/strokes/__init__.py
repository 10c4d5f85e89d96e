"""A picture is a list of plain strokes first; then SVG, or anything else."""

from __future__ import annotations

from asmade.show.strokes.kinds import (
    FILLS,
    LEAST_TEXT_PX,
    LOOKS,
    Arc,
    Circle,
    Dimension,
    Hatch,
    Label,
    Leader,
    Line,
    Polyline,
    Stroke,
)
from asmade.show.strokes.layout import Box, Picture, lay_out, shifted
from asmade.show.strokes.svg import fragment, svg
from asmade.show.strokes.text_width import width_of

__all__ = [
    "FILLS",
    "LEAST_TEXT_PX",
    "LOOKS",
    "Arc",
    "Box",
    "Circle",
    "Dimension",
    "Hatch",
    "Label",
    "Leader",
    "Line",
    "Picture",
    "Polyline",
    "Stroke",
    "fragment",
    "lay_out",
    "shifted",
    "svg",
    "width_of",
]
