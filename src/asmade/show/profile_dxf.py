"""A profile as a drawing-exchange file (DXF R2010, mm) for laser or water-jet cutting.

Layers by purpose: CUT (outline and openings, closed polylines whose arcs are arcs), HOLES (circles), MARK (crosses to
be etched or centre-punched, nothing is cut through), NOTE (words, not for the machine).
"""

from __future__ import annotations

import io
from typing import Any, Final

from asmade.reckon.shapes.paths import Path
from asmade.verbs.profile import ProfileResult

LAYERS: Final = {"CUT": 7, "HOLES": 5, "MARK": 3, "NOTE": 8}
"""Layers and their colour numbers; a purpose is told by the layer, never by the colour alone."""
MARK_MM: Final = 1.0
"""A mark is a cross of lines so long each way."""
_TEXT_MM: Final = 3.0
_MILLIMETRES: Final = 4


def profile_dxf(result: ProfileResult) -> bytes:
    """The file. The same profile gives the same bytes: it carries no time of its own."""
    import ezdxf  # noqa: PLC0415  # half a second, wanted for this alone

    kept = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        drawing = ezdxf.new("R2010", units=_MILLIMETRES)
        for name, colour in LAYERS.items():
            drawing.layers.add(name, color=colour)
        _draw(drawing.modelspace(), result)
        text = io.StringIO()
        drawing.write(text)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = kept
    return text.getvalue().encode(drawing.output_encoding)


def _draw(space: Any, result: ProfileResult) -> None:
    for path in (result.outline, *(path for _, path in result.openings)):
        _closed(space, path)
    for hole in result.holes:
        space.add_circle((hole.x, hole.y), hole.cut_mm / 2, dxfattribs={"layer": "HOLES"})
    for mark in result.marks:
        for dx, dy in ((MARK_MM, 0.0), (0.0, MARK_MM)):
            space.add_line((mark.x - dx, mark.y - dy), (mark.x + dx, mark.y + dy), dxfattribs={"layer": "MARK"})
    left, low = min(v.x for v in result.outline), min(v.y for v in result.outline)
    for row, note in enumerate(result.notes, start=1):
        place = (left, low - 10.0 - row * 1.6 * _TEXT_MM)
        space.add_text(note, height=_TEXT_MM, dxfattribs={"layer": "NOTE"}).set_placement(place)


def _closed(space: Any, path: Path) -> None:
    points = [(vertex.x, vertex.y, vertex.bulge) for vertex in path]
    space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "CUT"})
