"""Shapes: from a form and its sizes to outline, envelope and mass. One file per form, found by name; pure."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module

from asmade.book.forms import Form
from asmade.book.forms.measures import Sizes
from asmade.measure.errors import Unknown
from asmade.reckon.shapes.body import Envelope, Layer, Shape, Taken
from asmade.reckon.shapes.pieces import Disc, Piece, Polygon, arc, bounds, joined, rectangle


@cache
def shapers() -> dict[str, Callable[[Form, Sizes], Shape]]:
    """The function for every form that has one, by the form's name."""
    found = {}
    for entry in pkgutil.iter_modules(__path__):
        module = import_module(f"{__name__}.{entry.name}")
        if hasattr(module, "KIND"):
            found[module.KIND] = module.shape
    return found


def shape(form: Form, sizes: Mapping[str, float] | Sizes) -> Shape:
    """The body of ``form`` at given sizes: mm by dimension name (major or core diameter for a thread's callout).

    Raises ``Refused`` naming the dimension that is lacking or not known, ``OutOfRange`` for one that cannot be.
    """
    known = shapers()
    if form.kind not in known:
        raise Unknown("shape of a form", got=form.kind, way_out=f"there are {', '.join(sorted(known))}")
    return known[form.kind](form, _lookup(form.part, sizes) if isinstance(sizes, Mapping) else sizes)


def _lookup(part: str, sizes: Mapping[str, float]) -> Sizes:
    def of(name: str) -> float:
        if name not in sizes:
            raise Unknown(f"size of {part}", got=name, way_out="give a size for it, or NaN where it is not known")
        return sizes[name]

    return of


__all__ = [
    "Disc",
    "Envelope",
    "Layer",
    "Piece",
    "Polygon",
    "Shape",
    "Taken",
    "arc",
    "bounds",
    "joined",
    "rectangle",
    "shape",
]
