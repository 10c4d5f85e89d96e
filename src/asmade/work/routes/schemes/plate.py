"""Scheme of a plate: datum edges, marked out, holes while it is still strong and flat, then the outline, then bends."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise

from asmade.book.forms.plate import Plate
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.rack import Choice, flat_for
from asmade.work.routes.schemes.loose import holes_of_part, slots_of_part
from asmade.work.routes.schemes.result import Scheme, dims, named, value

KIND = "plate"
MIN_CORNERS = 6
"""An outline of fewer corners has no gap in it."""


def scheme(
    form: Plate,
    bench: Bench,
    *,
    casting: Choice | None = None,
    allowed: Mapping[str, float] | None = None,  # noqa: ARG001  # one shape for every form that may be cast
) -> Scheme:
    """Features of a plate; those of two or more places alike are fastened together."""
    part = bench.part.name
    length, height, thick = (value(m, bench) for m in (form.length, form.height, form.thickness))
    stock = casting or flat_for(
        bench.shop,
        bench.part.material,
        bench.stuff,
        min(length, height) if math.isfinite(length) and math.isfinite(height) else math.nan,
        thick,
        ("sheet", "plate", "flat", "flat bar"),
    )
    together = len(bench.part.places) if len(bench.part.places) in (2, 4) else 1
    saw = SetUp("0: blank", 0, "saw", f"{stock.name} in the saw", "the sheet", f"saw|{stock.name}")
    hand = SetUp(
        "1: outline",
        10,
        "by hand",
        "in the bench vice, soft jaws, on the surface plate",
        "the long datum edge",
        f"bench|{part}",
        ("blank",),
    )
    drill = SetUp(
        "2: holes",
        20,
        "mill" if bench.machine("mill") else "drilling machine",
        "flat on scrap board, clamped at two places, one datum edge along the travel",
        "the corner of the datum edges",
        f"flat|{part}",
        ("datum edges", "lines"),
    )
    features = [
        Feature(
            "blank", "sawn blank", saw, {"length": length, "allowance": 3.0}, makes=("blank",), words=f"of {stock.name}"
        )
    ]
    if form.thickness is not None and dims(form.thickness):
        features.append(
            Feature(
                dims(form.thickness)[0],
                "as-stock diameter",
                saw,
                {"diameter": thick},
                dims(form.thickness),
                makes=("thickness",),
            )
        )
    outline = Feature(
        "outline",
        "plate outline",
        hand,
        {"length": length, "height": height, "together": float(together)},
        dims(form.length, form.height),
        makes=("outline",),
        words=_places(form, bench),
    )
    features.append(outline)
    for hole in form.holes:
        own = dims(hole.diameter, hole.x, hole.y)
        if hole.diameter is None:
            continue
        figures = {
            "diameter": value(hole.diameter, bench),
            "depth": thick,
            "through": 1.0,
            "x": value(hole.x, bench),
            "y": value(hole.y, bench),
        }
        features.append(
            Feature(
                own[0] if own else hole.name,
                "placed hole",
                drill,
                figures,
                own,
                (),
                (hole.name,),
                bench.made_by(own[0]) if own else "drilled",
                bench.callout_of(hole.thread) if hole.thread else "",
            )
        )
    features += _gaps(form, bench, drill, thick * together)
    for opening in form.openings:
        figures = _size_of([(value(c.x, bench), value(c.y, bench)) for c in opening.corners]) | {
            "depth": thick * together
        }
        features.append(Feature(opening.name, "plate opening", drill, figures, makes=(opening.name,)))
    for slot in form.slots:
        own = dims(slot.width)
        figures = {"width": value(slot.width, bench), "depth": thick, "radius": value(slot.radius, bench)}
        features.append(Feature(own[0] if own else slot.name, "milled slot", drill, figures, own, makes=(slot.name,)))
    claimed = frozenset().union(
        *(named(s.width) | named(s.radius) for s in form.slots),
        *(named(c.x) | named(c.y) for o in form.openings for c in o.corners),
        *(named(m) for m in (form.length, form.height, form.thickness)),
        *(named(h.diameter) | named(h.x) | named(h.y) for h in form.holes),
    )
    found = [*holes_of_part(bench, drill, claimed), *slots_of_part(bench, drill, claimed)]
    return Scheme(stock, (*features, *found), stock.warnings, claimed | {d for f in found for d in f.dims})


def _places(form: Plate, bench: Bench) -> str:
    """Where the places are from which others are told, along the plate."""
    found = [(mark.name, value(mark.x, bench)) for mark in form.marks]
    return ", ".join(f"{name} at {x:.2f}" for name, x in found if math.isfinite(x))


def _size_of(corners: list[tuple[float, float]]) -> dict[str, float]:
    """Width and height of the box about corners; NaN where one is not known."""
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return {"width": max(xs) - min(xs), "height": max(ys) - min(ys)} if corners else {}


def _gaps(form: Plate, bench: Bench, setup: SetUp, deep: float) -> Iterator[Feature]:
    """Gaps of the outline open to an edge: where it turns inwards twice in a row."""
    points = [(value(c.x, bench), value(c.y, bench)) for c in form.corners]
    if len(points) < MIN_CORNERS or not all(math.isfinite(each) for point in points for each in point):
        return
    count = len(points)
    turn = [_turn(points[k - 1], points[k], points[(k + 1) % count]) for k in range(count)]
    around = math.copysign(1.0, math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*points, points[0]])))
    marks = [(mark.name, value(mark.x, bench)) for mark in form.marks]
    taken: dict[str, int] = {}
    for k in range(count):
        one, two = points[k], points[(k + 1) % count]
        if turn[k] * around >= 0 or turn[(k + 1) % count] * around >= 0:
            continue
        wide = math.dist(one, two)
        high = min(math.dist(points[k - 1], one), math.dist(two, points[(k + 2) % count]))
        middle = (one[0] + two[0]) / 2
        near = min((m for m in marks if math.isfinite(m[1])), key=lambda m: abs(m[1] - middle), default=None)
        name = f"{near[0]} gap" if near and abs(near[1] - middle) <= wide else "gap"
        taken[name] = taken.get(name, 0) + 1
        name = name if taken[name] == 1 else f"{name} {taken[name]}"
        figures = {"width": wide, "height": high, "depth": deep, "open": 1.0}
        yield Feature(name, "plate opening", setup, figures, makes=(name,))


def _turn(before: tuple[float, float], at: tuple[float, float], after: tuple[float, float]) -> float:
    """Which way the outline turns at a corner: above 0 to the left.

    Source: geometry, cross product of the two edges. Range: any points. Anchor: (0, 0), (1, 0), (1, 1): 1.
    """
    return (at[0] - before[0]) * (after[1] - at[1]) - (at[1] - before[1]) * (after[0] - at[0])
