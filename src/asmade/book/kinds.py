"""Kinds of dimension: what each means for the bench (from which side metal comes off) and for the drawing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

Approach = Literal["from above", "from below", "either"]
Keep = Literal["exact", "near", "free"]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of dimension.

    ``approach`` says how the size is come at while metal is taken off: a shaft gets smaller (from above), a bore
    larger (from below). ``keep`` is how near to the drawing the choice of sizes stays unless the builder says
    otherwise. ``process`` is what is assumed when the drawing names none; the answer always shows it.
    """

    name: str
    approach: Approach
    keep: Keep = "near"
    process: str = "turned"
    angle: bool = False
    thread: bool = False
    words: str = ""


KINDS: Final[Mapping[str, Kind]] = {
    kind.name: kind
    for kind in (
        Kind("bore", "from below", process="bored", words="a round hole"),
        Kind("shaft", "from above", words="an outside diameter that goes into something"),
        Kind("diameter", "from above", words="an outside diameter that mates with nothing"),
        Kind("slot", "from below", process="milled", words="an inside width between two faces"),
        Kind("length", "from above", process="faced", words="between two outside faces"),
        Kind("depth", "from below", process="drilled", words="how deep a hole or recess goes"),
        Kind("thickness", "from above", process="faced", words="a thickness between two faces"),
        Kind("width", "from above", process="milled", words="an outside width"),
        Kind("height", "from above", process="milled", words="a height above a datum"),
        Kind("across flats", "from above", process="milled", words="a hexagon or square across its flats"),
        Kind("centres", "either", keep="exact", process="jig bored", words="between the middles of two holes"),
        Kind("position", "either", keep="exact", process="milled", words="from a datum, with a sign"),
        Kind("crank radius", "either", keep="exact", process="jig bored", words="axle middle to pin middle"),
        Kind("radius", "from above", process="filed", words="a corner or end radius"),
        Kind("angle", "either", keep="exact", process="milled", angle=True, words="in degrees"),
        Kind("thread", "either", process="tapped", thread=True, words="one callout, one choice"),
    )
}

KEEPS: Final = ("exact", "near", "free")
STAGES: Final = ("on the way", "finished", "check")
COUNTS_AS_MADE: Final = ("finished", "check")
SIDES: Final = ("L", "R")
HANDS: Final = ("same", "mirrored", "own")
FIGURE_KINDS: Final = (
    "length", "angle", "pressure", "force", "mass", "temperature", "speed", "ratio", "friction", "torque", "number",
)  # fmt: skip
