"""A casting: a finished form, and the faces that are machined with what the casting allows on each.

form = { kind = "casting" }                                                 # nothing known of its form yet
form = { kind = "casting", of = { kind = "wheel", spokes = 10 }, machined = { back = "back_allowance" } }
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.book.forms.measures import Measure, Measures
from asmade.book.model import Part
from asmade.book.schema import Taker
from asmade.measure.errors import Refused

if TYPE_CHECKING:
    from asmade.book.forms import Form

KIND = "casting"
HELP = "a finished form with machined faces and what the casting allows on each"


@dataclass(frozen=True, slots=True)
class MachinedFace:
    """A face that is machined, and the metal allowed on it."""

    name: str
    allowance: Measure


@dataclass(frozen=True, slots=True)
class Casting:
    """A casting as a body; ``of`` is its finished form, None where nothing is said of it yet."""

    part: str
    of: Form | None
    machined: tuple[MachinedFace, ...]
    lacks: tuple[str, ...]
    kind: str = KIND


def read(part: Part, taker: Taker) -> Casting:
    """From the form's table and the part's dimension names."""
    from asmade.book.forms import read_form  # noqa: PLC0415  # the finished form is found by name in turn

    measures = Measures(part, taker.where)
    inner = taker.inner("of")
    finished = None
    if inner:
        if inner.get("kind") == KIND:
            raise Refused(f"{taker.where}.of", got=dict(inner), reason="a casting of a casting",
                          way_out="name the finished form: wheel, block, plate, rod or turned")  # fmt: skip
        finished = read_form(part, Taker(inner, f"{taker.where}.of"))
    machined = []
    for face, text in taker.inner("machined").items():
        if not isinstance(text, str):
            raise Refused(f"{taker.where}.machined.{face}", got=text, reason="it should be a sum in quotes",
                          way_out=f'write {face} = "{face}_allowance" or {face} = "2 mm"')  # fmt: skip
        machined.append(MachinedFace(face, measures.read(text, f"machined.{face}")))
    lacks = ("the finished form: of = { kind = ... }",) if finished is None else finished.lacks
    return Casting(part.name, finished, tuple(machined), lacks)
