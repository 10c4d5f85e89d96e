"""Quick sum: curves: the least radius an engine's axles allow, a versine, the flanges' room between the rails."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from asmade.measure.errors import Refused
from asmade.motion.wheels.curve import flange_freedom, least_curve, versine
from asmade.verbs.sums.result import QuickSum, Rows, amount, mm, size


def curve(
    *, centres: Sequence[str] = (), freedom: Sequence[str] = (), gauge: str = "", back_to_back: str = "",
    flange: str = "", radius: str = "", chord: str = "",
) -> QuickSum:  # fmt: skip
    """Least curve radius for axles ``centres`` apart (from the front), each free sideways by ``freedom`` each way.

    freedom: one for all, or one for each axle. gauge, back_to_back, flange (thickness): add half the flanges' room
    between the rails. radius and chord: the versine of a curve.
    """
    rows: list[tuple[str, ...]] = []
    data: dict[str, Any] = {}
    working: list[str] = []
    read: list[str] = []
    room = 0.0
    if any((gauge, back_to_back, flange)):
        room = _room(gauge, back_to_back, flange, rows, data, working, read)
    if centres:
        _least(centres, freedom, room, rows, data, working, read)
    if radius or chord:
        if not (radius and chord):
            raise Refused(
                "versine",
                got=radius or chord,
                reason="it wants a radius and a chord",
                way_out="--radius 3000 --chord 250",
            )
        around, across = size(radius, "radius"), size(chord, "chord")
        read += [f"radius {around.how}", f"chord {across.how}"]
        high = versine(float(around.mm), float(across.mm))
        rows.append(("versine", mm(high), "mm"))
        data["versine_mm"] = high
        working.append(
            f"{float(around.mm):g} - sqrt({float(around.mm):g}^2 - {float(across.mm):g}^2/4) = {mm(high)} mm"
        )
    if not rows:
        raise Refused("curve", got="nothing", reason="it wants axle centres, a gauge, or a radius and a chord",
                      way_out="asmade reckon curve --centres 146 --centres 133 --freedom 0.8")  # fmt: skip
    return QuickSum(
        "curve", tuple(read), (Rows("curves", ("", "", ""), tuple(rows), (1,)),), tuple(working),
        ("chord geometry; for several axles the worst three of them decide (Helly)",), data,
        notes=("the angle of attack of the flanges is not asked",),
    )  # fmt: skip


def _room(
    gauge: str, back: str, flange: str, rows: list[tuple[str, ...]], data: dict[str, Any], working: list[str],
    read: list[str],
) -> float:  # fmt: skip
    if not (gauge and back and flange):
        raise Refused("flanges between the rails", got=", ".join(filter(None, (gauge, back, flange))),
                      reason="gauge, back-to-back and flange belong together", way_out="give all three")  # fmt: skip
    found = [size(text, name) for text, name in ((gauge, "gauge"), (back, "back-to-back"), (flange, "flange"))]
    read += [f"{name} {each.how}" for name, each in zip(("gauge", "back-to-back", "flange"), found, strict=True)]
    g, b, f = (float(each.mm) for each in found)
    free = flange_freedom(g, b, f)
    rows.append(("side play between the rails, in all", mm(free), "mm"))
    data["between_rails_mm"] = free
    working.append(f"{mm(g)} - {mm(b)} - 2 x {mm(f)} = {mm(free)} mm")
    return free / 2


def _least(
    centres: Sequence[str], freedom: Sequence[str], room: float, rows: list[tuple[str, ...]], data: dict[str, Any],
    working: list[str], read: list[str],
) -> None:  # fmt: skip
    apart = [size(text, "axle centres") for text in centres]
    ways = [float(amount(text, "freedom each way").mm) for text in freedom]
    axles = len(apart) + 1
    if len(ways) == 1:
        ways *= axles
    if len(ways) != axles:
        raise Refused("freedom of the axles", got=len(ways), reason=f"there are {axles} axles",
                      way_out="give one for all (each way), or one for each axle from the front")  # fmt: skip
    read += [f"centres {each.how}" for each in apart]
    places = [0.0]
    for each in apart:
        places.append(places[-1] - float(each.mm))
    found = least_curve(places, [way + room for way in ways])
    if found.axles is None or not math.isfinite(found.radius):
        words = "any curve, as far as this goes" if found.axles is None and axles == 2 else "no curve at all"
        rows.append(("least curve", words, ""))
        data["least_radius_mm"] = None
        return
    i, j, k = found.axles
    rows += [
        ("least curve, radius", f"{found.radius:.0f}", "mm"),
        ("that is", f"{found.radius / 304.8:.1f}", "feet"),
        ("set by axles", f"{i + 1}, {j + 1}, {k + 1}", ""),
    ]
    data |= {"least_radius_mm": found.radius, "axles": [i + 1, j + 1, k + 1], "used_mm": found.used}
    a, b = places[i] - places[j], places[j] - places[k]
    working.append(
        f"h = {mm(found.used)}, a = {a:g}, b = {b:g}: sqrt((a^2 + h^2)(b^2 + h^2)) / 2h = {found.radius:.1f} mm"
    )
