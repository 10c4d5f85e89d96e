"""Shape of a casting: that of its finished form."""

from __future__ import annotations

from asmade.book.forms.casting import KIND, Casting
from asmade.book.forms.measures import Sizes
from asmade.measure.errors import Refused
from asmade.reckon.shapes.body import Shape

__all__ = ["KIND", "shape"]


def shape(form: Casting, sizes: Sizes) -> Shape:
    """The finished form; refuses a casting of which nothing is said."""
    from asmade.reckon.shapes import shape as shape_of  # noqa: PLC0415  # found by name in turn

    if form.of is None:
        raise Refused(f"shape of {form.part}", got="casting", reason="nothing says what it is finished to",
                      way_out='add of = { kind = "wheel" } or another form to its form')  # fmt: skip
    return shape_of(form.of, sizes)
