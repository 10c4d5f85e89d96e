"""A wheel: rim and flange, boss, crank-pin boss, spokes; a casting by nature.

    form = { kind = "wheel", spokes = 12 }
    form = { kind = "casting", of = { kind = "wheel", spokes = 12 }, machined = { back = "back_allowance" } }

Usual names: ``tread`` and ``flange`` (diameters), ``flange_thickness``, ``tyre_width`` (over tread and flange),
``rim`` (depth of the rim under the tread), ``boss`` (diameter), ``boss_width`` (back of wheel to face of boss),
``bore``, ``crank_radius``, ``pin_boss`` (diameter), ``pin_hole``, ``spoke_width``, ``spoke_thickness``.
The wheel's middle is at the origin, its crank pin ahead of it on x, its back at 0 and its boss face outward.
"""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.forms.measures import Measure, Measures, number
from asmade.book.model import Part
from asmade.book.schema import Taker

KIND = "wheel"
HELP = "rim and flange, boss, crank-pin boss, spokes"


@dataclass(frozen=True, slots=True)
class Wheel:
    """A wheel as a body. Crank and spokes may be absent (a carrying wheel, a disc wheel)."""

    part: str
    tread: Measure | None
    tyre_width: Measure | None
    flange: Measure | None
    flange_thickness: Measure | None
    rim: Measure | None
    boss: Measure | None
    boss_width: Measure | None
    bore: Measure | None
    crank_radius: Measure | None
    pin_boss: Measure | None
    pin_boss_width: Measure | None
    pin_hole: Measure | None
    spokes: int | None
    spoke_width: Measure | None
    spoke_thickness: Measure | None
    lacks: tuple[str, ...]
    kind: str = KIND


def read(part: Part, taker: Taker) -> Wheel:
    """From the form's table and the part's dimension names."""
    measures = Measures(part, taker.where)
    take = measures.take
    spokes = number(taker, "spokes", least=3)
    crank = take(taker, "crank_radius", "crank_radius", needed=False)
    return Wheel(
        part=part.name,
        tread=take(taker, "tread", "tread", "tread.diameter", "tread_diameter"),
        tyre_width=take(taker, "tyre_width", "tyre_width", "rim_width"),
        flange=take(taker, "flange", "flange", "flange.diameter", "flange_diameter"),
        flange_thickness=take(taker, "flange_thickness", "flange_thickness", "flange.thickness"),
        rim=take(taker, "rim", "rim", "rim_depth", needed=spokes is not None),
        boss=take(taker, "boss", "boss", "boss.diameter", "boss_diameter"),
        boss_width=take(taker, "boss_width", "boss_width"),
        bore=take(taker, "bore", "bore"),
        crank_radius=crank,
        pin_boss=take(taker, "pin_boss", "pin_boss", "pin_boss.diameter", needed=crank is not None),
        pin_boss_width=take(taker, "pin_boss_width", "pin_boss_width", "boss_width", needed=False),
        pin_hole=take(taker, "pin_hole", "pin_hole", needed=crank is not None),
        spokes=spokes,
        spoke_width=take(taker, "spoke_width", "spoke_width", needed=spokes is not None),
        spoke_thickness=take(taker, "spoke_thickness", "spoke_thickness", needed=spokes is not None),
        lacks=measures.lacks,
    )
