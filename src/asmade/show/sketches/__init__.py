"""Dimensioned sketches of parts: one file per form, found by name; a file here with ``KIND`` and ``draw``.

Drawn for the width it is shown at: on a narrow page texts stand in more rows and views under one another. In the spirit
of ISO 128 and ISO 129-1 (line weights, centre lines, section lining, figures over the dimension line).
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable
from functools import cache
from importlib import import_module
from typing import Any, Final

from asmade.measure.errors import OutOfRange, Unknown
from asmade.show.sketches.drawing import MARGIN_PX, Drawing
from asmade.show.sketches.subject import Subject, wrapped
from asmade.show.strokes import Label, Picture, svg
from asmade.verbs.sketch import Figure, SketchResult

PX_PER_MM: Final = 96 / 25.4
"""Of a picture on paper: 96 px to the inch, as SVG has it."""
LEAST_PX: Final = 240.0
_WIDE_PX: Final = 460.0
_ROW_PX: Final = 4.0


@cache
def drawers() -> dict[str, Callable[[Subject, Any], Drawing]]:
    """The function that draws each form, by the form's name."""
    found = {}
    for entry in pkgutil.iter_modules(__path__):
        module = import_module(f"{__name__}.{entry.name}")
        if hasattr(module, "KIND"):
            found[module.KIND] = module.draw
    return found


def sketch_of(result: SketchResult, *, width_px: float | None = None, width_mm: float | None = None) -> Picture:
    """The sketch laid out for a width in px, or in mm on paper (96 px to the inch); 720 px unless said.

    Raises ``OutOfRange`` below 240 px, and ``Refused`` where a size that the form needs is lacking.
    """
    width = width_px if width_px is not None else width_mm * PX_PER_MM if width_mm is not None else 720.0
    if not width >= LEAST_PX:
        raise OutOfRange("width of a sketch", got=width, allowed=f"{LEAST_PX:g} px or more",
                         way_out="draw it wider, or turn the page")  # fmt: skip
    inner = width - 2 * MARGIN_PX
    subject = Subject(result, inner, 12.0 if width >= _WIDE_PX else 11.0)
    known = drawers()
    if result.form.kind not in known:
        raise Unknown("sketch of a form", got=result.form.kind, way_out=f"there are {', '.join(sorted(known))}")
    view = known[result.form.kind](subject, result.form)
    x0, y0, x1, _ = view.bounds
    whole = Drawing()
    whole.take(view, MARGIN_PX + (inner - (x1 - x0)) / 2 - x0)
    top = y0 - 10.0
    for line in _notes(subject, inner):
        whole.add(Label(line, MARGIN_PX, top, size_px=subject.size_px, anchor="start", stand="below"))
        top -= subject.size_px + _ROW_PX
    return whole.picture(width)


def sketch_svg(
    result: SketchResult, *, width_px: float | None = None, width_mm: float | None = None, paper: bool = False
) -> str:
    """The sketch as SVG; ``paper``: line widths in mm, for printing."""
    picture = sketch_of(result, width_px=width_px, width_mm=width_mm)
    return svg(picture, title=f"sketch of {result.piece}", hairlines="paper" if paper else "screen")


def _notes(subject: Subject, width_px: float) -> list[str]:
    """What stands under the views: sizes that no view shows, datum, envelope and mass, what the marks mean."""
    result = subject.result
    also = [f"{each.name.replace('_', ' ').replace('.', ' ')} {_in_words(each)};" for each in subject.rest]
    lines: list[str] = []
    if also:
        also[-1] = also[-1].removesuffix(";")
        lines += wrapped(["also:", *also], width_px, subject.size_px)
    datum = getattr(result.form, "datum", "")
    words = [f"datum: {datum};"] if datum else []
    words += [f"{note};" for note in subject.notes]
    if result.envelope is not None:
        box = sorted((result.envelope.length_mm, result.envelope.height_mm, result.envelope.width_mm), reverse=True)
        words.append("goes into " + " × ".join(f"{each:.1f}" for each in box) + " mm;")
    words.append(f"{_mass(result.mass_g)} of {result.material};" if result.mass_g is not None else "mass not known;")
    shown = list(result.figures.values())
    marks = []
    if any(each.made for each in shown):
        marks.append("framed: as made;")
    if any(each.drawn_only for each in shown):
        marks.append("ring: only drawn;")
    if any(each.state == "aim" for each in shown):
        marks.append("two figures: limits to make it to;")
    words += marks
    words[-1] = words[-1].removesuffix(";")
    return lines + wrapped(words, width_px, subject.size_px)


def _in_words(figure: Figure) -> str:
    text = " to ".join(reversed(figure.lines))
    return f"{text} made" if figure.made else f"{text} (drawn)" if figure.drawn_only else text


def _mass(grams: float) -> str:
    return f"{grams / 1000:.2f} kg" if grams >= 1000 else f"{grams:.0f} g" if grams >= 10 else f"{grams:.1f} g"


__all__ = ["LEAST_PX", "PX_PER_MM", "drawers", "sketch_of", "sketch_svg"]
