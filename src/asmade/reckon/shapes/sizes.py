"""The sizes of one seat of a build, as shapes want them: mm by dimension name, threads by their diameter."""

from __future__ import annotations

import math

from asmade.book.address import Address
from asmade.book.model import Dimension
from asmade.measure.errors import Unknown
from asmade.reckon.values import Values

_CUT_OUTSIDE = ("die-cut", "screw-cut")


def seat_sizes(values: Values, part: str, place: str) -> dict[str, float]:
    """Best known size of every dimension of ``part`` at ``place``, NaN where nothing is known.

    A male thread counts by its major diameter, a female one by its core diameter.
    """
    design = values.system.scope.design
    if part not in design.parts or place not in design.parts[part].places:
        raise Unknown("seat", got=f"{part}@{place}", way_out="name a part and one of its places")
    found: dict[str, float] = {}
    for name, dimension in design.parts[part].dims.items():
        seat = Address(part, place, dim=name)
        if dimension.of_kind.thread:
            found[name] = _thread(values.system.callouts.get(seat, ""), dimension)
        else:
            found[name] = values.of(seat)
    return found


def _thread(callout: str, dimension: Dimension) -> float:
    if not callout:
        return math.nan
    from asmade.measure.threads import read_thread  # noqa: PLC0415
    from asmade.standards.threads import thread  # noqa: PLC0415

    held = thread(read_thread(callout))
    male = dimension.sex == "male" or (not dimension.sex and dimension.made_by in _CUT_OUTSIDE)
    return float(held.major_mm if male else held.core_mm)
