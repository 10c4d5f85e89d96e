"""A plate: an outline, a thickness, holes and openings.

    form = { kind = "plate" }                                                   # length by height, thickness
    form = { kind = "plate", outline = [["0", "0"], ["length", "0"], ["length", "height"]], lies = "upright",
             holes = [{ name = "horn_stay", x = "horn_at.2", y = "10 mm" }] }
    form = { kind = "plate", outline = [["0", "0", "2 mm"], ...],                # a third figure rounds the corner
             slots = [{ name = "slot", from = ["0", "0"], to = ["0", "20 mm"], radius = "slot_radius" }],
             marks = [{ name = "driving horn", x = "12 in" }] }                # where places are told from

``lies``: ``upright`` in the plane of motion (frames, motion brackets; assumed where not said), ``flat`` (footplate),
or ``across`` the engine (stretchers, buffer beams). x runs forward (outward for a plate that lies across), y up
(outward for one that lies flat).
"""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.forms.measures import Corner, Hole, Mark, Measure, Measures, Opening, Slot
from asmade.book.model import Part
from asmade.book.schema import Taker

KIND = "plate"
HELP = "an outline, a thickness, holes and openings"
LIES = ("upright", "flat", "across")


@dataclass(frozen=True, slots=True)
class Plate:
    """A plate as a body. ``corners`` empty: a rectangle of ``length`` by ``height`` from its own lower back corner."""

    part: str
    lies: str
    corners: tuple[Corner, ...]
    length: Measure | None
    height: Measure | None
    thickness: Measure | None
    holes: tuple[Hole, ...]
    openings: tuple[Opening, ...]
    slots: tuple[Slot, ...]
    marks: tuple[Mark, ...]
    lacks: tuple[str, ...]
    kind: str = KIND


def read(part: Part, taker: Taker) -> Plate:
    """From the form's table and the part's dimension names."""
    measures = Measures(part, taker.where)
    corners = measures.corners(taker, "outline")
    plain = not corners
    return Plate(
        part=part.name, lies=taker.text("lies", "upright", among=LIES), corners=corners,
        length=measures.take(taker, "length", "length", needed=plain),
        height=measures.take(taker, "height", "height", "depth", "width", needed=plain),
        thickness=measures.take(taker, "thickness", "thickness"),
        holes=measures.holes(taker), openings=measures.openings(taker), slots=measures.slots(taker),
        marks=measures.marks(taker),
        lacks=measures.lacks,
    )  # fmt: skip
