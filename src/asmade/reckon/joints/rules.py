"""Old rules of the full-size works for press and shrink fits, to compare with; miniature joints go by Lame."""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.measure.errors import OutOfRange
from asmade.reckon.joints.checks import not_negative, positive, within
from asmade.standards import tables

ROOM = "asmade.reckon.joints"


@dataclass(frozen=True, slots=True)
class RuleValue:
    """What a rule gives, in the unit of its source."""

    value: float
    unit: str
    source: str


def full_size_rule(name: str, diameter_in: float) -> RuleValue:
    """Value of an old full-size rule for a diameter in inches.

        value = constant + per_inch * D    (rows of table full_size_rules)

    Source: the row's own: Dooley 1919, Ahrons about 1920, Turning and Boring 1914.
    Range: the row's own diameters; not for miniature work.
    Anchor: crank pin 9 in: 15 * 9 + 15 = 150 US tons (Dooley, sec. 454).

    >>> full_size_rule("crank pin pressing force", 9).value
    150.0
    """
    row = tables.load("full_size_rules", ROOM).row(name)
    within(
        str(row["of"]),
        diameter_in,
        tables.number(row["least_in"]),
        tables.number(row["most_in"]),
        "in",
        source=str(row["source"]),
    )
    value = float(tables.number(row["constant"]) + tables.number(row["per_inch"]) * diameter_in)
    return RuleValue(value, str(row["unit"]), str(row["source"]))


def forced_fit_factor(diameter_in: float) -> float:
    """Pressure factor F of the old forced-fit rule, US tons per square inch per inch; only the printed diameters.

    Source: Machinery's Handbook, forced fits; Turning and Boring (Industrial Press, 1914).
    Range: the printed diameters, 1 to 10 in; no reading between them.
    Anchor: 2 in: 240 (one copy).

    >>> forced_fit_factor(2)
    240.0
    """
    table = tables.load("forced_fit_factors", ROOM)
    for row in table.rows:
        if row["diameter_in"] == diameter_in:
            return float(tables.number(row["factor"]))
    printed = ", ".join(f"{tables.number(d):g}" for d in table.column("diameter_in"))
    raise OutOfRange(
        "shaft diameter for the forced-fit factor",
        got=f"{diameter_in} in",
        allowed=f"the printed diameters {printed} in",
        source=table.meta.source,
        way_out="work the joint out by Lame instead",
    )


def forced_fit_force_us_tons(diameter_in: float, length_in: float, interference_in: float) -> float:
    """Force to press a shaft home by the old forced-fit rule, in US tons of 2000 lbf.

        P = pi D L * delta * F / 2

    Source: Machinery's Handbook, forced fits (hub about twice the shaft).
    Range: the printed diameters; length above 0; interference 0 or more.
    Anchor: 2 in by 3 in, 0.004 in: pi * 6 * 0.004 * 240 / 2 = 9.05 (by hand).

    >>> round(forced_fit_force_us_tons(2, 3, 0.004), 2)
    9.05
    """
    positive("joint length", length_in, "in")
    not_negative("interference", interference_in, "in")
    return math.pi * diameter_in * length_in * interference_in * forced_fit_factor(diameter_in) / 2
