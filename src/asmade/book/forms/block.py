"""A block: length fore and aft, height, width across the engine; bores square to the plane of motion, or along it.

    form = { kind = "block", length = "width", width = "flange + body", height = "height",
             holes = [{ name = "bore", x = "bore_forward", y = "0" }] }

    form = { kind = "block", flange = "flange", flange_over = "2 mm" }     # an axlebox: a flange on its outer face

    form = { kind = "block", channels = [{ name = "fork_gap", runs = "up", face = "rear", depth = "12 mm" }] }

A channel runs right through ``along`` the engine, ``across`` it or ``up``, cut into a ``face`` (``front``, ``rear``,
``outer``, ``inner``, ``top``, ``bottom``) to its ``depth``; ``at``: how far its middle is from the block's.
x and y of a hole are from the middle of length and height, forward and up. ``way`` says where it goes through:
``across`` the engine (where not said), ``along`` it (x is then outward), or ``up`` (y is then outward; a hole with a
depth goes down from the top).
"""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.forms.measures import Hole, Measure, Measures
from asmade.book.model import Part
from asmade.book.schema import Taker
from asmade.measure.errors import Refused

KIND = "block"
FACES = {"front": "along", "rear": "along", "outer": "across", "inner": "across", "top": "up", "bottom": "up"}
WAYS = ("across", "along", "up")
HELP = "length fore and aft, height, width across, with bores"


@dataclass(frozen=True, slots=True)
class Channel:
    """A channel cut into a face, right through one way; ``at``: its middle from the block's, None in the middle."""

    name: str
    width: Measure | None
    depth: Measure | None
    runs: str
    face: str
    at: Measure | None


@dataclass(frozen=True, slots=True)
class Block:
    """A block as a body, about its own middle.

    ``flange``: thickness of a flange on the outer face, which stands ``flange_over`` beyond the body fore and aft; the
    width is over body and flange.
    """

    part: str
    length: Measure | None
    height: Measure | None
    width: Measure | None
    holes: tuple[Hole, ...]
    channels: tuple[Channel, ...]
    flange: Measure | None
    flange_over: Measure | None
    lacks: tuple[str, ...]
    kind: str = KIND


def read(part: Part, taker: Taker) -> Block:
    """From the form's table and the part's dimension names."""
    measures = Measures(part, taker.where)
    flange = measures.take(taker, "flange", needed=False)
    return Block(
        part=part.name,
        length=measures.take(taker, "length", "length"),
        height=measures.take(taker, "height", "height", "over_slippers"),
        width=measures.take(taker, "width", "width", "thickness"),
        holes=measures.holes(taker, ways=WAYS), channels=_channels(measures, taker), flange=flange,
        flange_over=measures.take(taker, "flange_over", "flange_over", needed=flange is not None), lacks=measures.lacks,
    )  # fmt: skip


def _channels(measures: Measures, taker: Taker) -> tuple[Channel, ...]:
    found = []
    for row in taker.rows("channels"):
        inner = Taker(row, f"{taker.where}.channels")
        name = inner.text("name", needed=True)
        face, runs = inner.text("face", needed=True, among=tuple(FACES)), inner.text("runs", needed=True, among=WAYS)
        if FACES[face] == runs:
            ways = " or ".join(way for way in WAYS if way != runs)
            raise Refused(
                inner.where, got=f"{name} runs {runs} in the {face} face", reason="it would run into the block",
                way_out=f"one in the {face} face runs {ways}",
            )  # fmt: skip
        found.append(
            Channel(
                name, measures.take(inner, "width", f"{name}.width", name),
                measures.take(inner, "depth", f"{name}.depth"), runs, face, measures.take(inner, "at", needed=False),
            )
        )  # fmt: skip
        inner.done()
    return tuple(found)
