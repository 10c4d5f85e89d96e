"""Quick sum: a crank radius from the distance between axle and pin, inside and outside."""

from __future__ import annotations

from asmade.motion.wheels.measuring import Reading, crank_radius_from_edges
from asmade.verbs.sums.quarter import READS_TO
from asmade.verbs.sums.result import QuickSum, Rows, amount, mm, size


def radius(inside: str, outside: str, *, sizes: str = "", reads_to: str = READS_TO) -> QuickSum:
    """Crank radius: half of inside and outside together; ``sizes`` (axle and pin diameter together) proves them.

    Raises ``Contradiction`` where the sizes do not agree with the readings.
    """
    u = float(amount(reads_to, "uncertainty of a reading").mm)
    near, far = size(inside, "inside distance"), size(outside, "outside distance")
    both = size(sizes, "axle and pin diameter together") if sizes else None
    found = crank_radius_from_edges(
        Reading(float(near.mm), u), Reading(float(far.mm), u),
        sizes=None if both is None else Reading(float(both.mm), u),
    )  # fmt: skip
    apart = float(far.mm) - float(near.mm)
    rows = (
        ("crank radius", mm(found.value), "mm"),
        ("give or take", mm(found.uncertainty), "mm (standard uncertainty)"),
        ("axle and pin together, by these", mm(apart), "mm"),
    )
    read = [f"inside {near.how}", f"outside {far.how}"] + ([f"diameters {both.how}"] if both is not None else [])
    return QuickSum(
        "radius", tuple(read), (Rows("crank radius", ("", "", ""), rows, (1,)),),
        (f"({mm(float(near.mm))} + {mm(float(far.mm))}) / 2 = {mm(found.value)} mm",),
        ("geometry; uncertainty by JCGM 100:2008, 5.1.2",),
        {"radius_mm": found.value, "uncertainty_mm": found.uncertainty, "diameters_mm": apart, "reads_to_mm": u},
        notes=("" if both is not None else "give --sizes, axle and pin diameter together, to prove both readings",),
    )  # fmt: skip
