"""A block: length fore and aft, height, width across the engine; bores square to the plane of motion, or along it.

    form = { kind = "block", length = "width", width = "flange + body", height = "height",
             holes = [{ name = "bore", x = "bore_forward", y = "0" }] }

x and y of a hole are from the middle of length and height, forward and up. ``way`` says where it goes through:
``across`` the engine (where not said), ``along`` it (x is then outward), or ``up`` (y is then outward; a hole with a
depth goes down from the top).
"""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.forms.measures import Hole, Measure, Measures
from asmade.book.model import Part
from asmade.book.schema import Taker

KIND = "block"
WAYS = ("across", "along", "up")
HELP = "length fore and aft, height, width across, with bores"


@dataclass(frozen=True, slots=True)
class Block:
    """A block as a body, about its own middle."""

    part: str
    length: Measure | None
    height: Measure | None
    width: Measure | None
    holes: tuple[Hole, ...]
    lacks: tuple[str, ...]
    kind: str = KIND


def read(part: Part, taker: Taker) -> Block:
    """From the form's table and the part's dimension names."""
    measures = Measures(part, taker.where)
    return Block(
        part=part.name,
        length=measures.take(taker, "length", "length"),
        height=measures.take(taker, "height", "height", "over_slippers"),
        width=measures.take(taker, "width", "width", "thickness"),
        holes=measures.holes(taker, ways=WAYS), lacks=measures.lacks,
    )  # fmt: skip
