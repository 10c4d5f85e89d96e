"""A coil spring: wire, outside diameter, free length, how many coils; bought, or wound on a mandrel.

    form = { kind = "spring", coils = 8 }

Usual names: ``wire`` (its diameter), ``outside`` (over the coils), ``free_length``.
"""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.forms.measures import Measure, Measures, number
from asmade.book.model import Part
from asmade.book.schema import Taker

KIND = "spring"
HELP = "a coil spring of round wire"


@dataclass(frozen=True, slots=True)
class Spring:
    """A coil spring as a body. ``coils`` None: not said."""

    part: str
    wire: Measure | None
    outside: Measure | None
    free_length: Measure | None
    coils: int | None
    lacks: tuple[str, ...]
    kind: str = KIND


def read(part: Part, taker: Taker) -> Spring:
    """From the form's table and the part's dimension names."""
    measures = Measures(part, taker.where)
    return Spring(
        part=part.name,
        wire=measures.take(taker, "wire", "wire", "wire.diameter"),
        outside=measures.take(taker, "outside", "outside", "diameter"),
        free_length=measures.take(taker, "free_length", "free_length", "length"),
        coils=number(taker, "coils", least=1), lacks=measures.lacks,
    )  # fmt: skip
