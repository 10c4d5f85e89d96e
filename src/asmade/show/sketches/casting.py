"""A casting: its finished form, with what the casting allows on the machined faces in words."""

from __future__ import annotations

from asmade.book.forms.casting import KIND, Casting
from asmade.measure.errors import Refused
from asmade.show.sketches.drawing import Drawing
from asmade.show.sketches.subject import Subject

__all__ = ["KIND", "draw"]


def draw(subject: Subject, form: Casting) -> Drawing:
    """The finished form; refuses a casting of which nothing is said."""
    from asmade.show.sketches import drawers  # noqa: PLC0415  # found by name in turn

    if form.of is None:
        raise Refused(f"sketch of {form.part}", got="casting", reason="nothing says what it is finished to",
                      way_out='add of = { kind = "wheel" } or another form to its form')  # fmt: skip
    for face in form.machined:
        subject.notes.append(f"{face.name}: {subject.text(face.allowance).lines[0].strip('()')} cast on")
    return drawers()[form.of.kind](subject, form.of)
