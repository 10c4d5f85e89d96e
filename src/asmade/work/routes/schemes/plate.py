"""Scheme of a plate: datum edges, marked out, holes while it is still strong and flat, then the outline, then bends."""

from __future__ import annotations

import math
from collections.abc import Mapping

from asmade.book.forms.plate import Plate
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.rack import Choice, flat_for
from asmade.work.routes.schemes.loose import holes_of_part, slots_of_part
from asmade.work.routes.schemes.result import Scheme, dims, named, value

KIND = "plate"


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
    claimed = frozenset().union(
        *(named(m) for m in (form.length, form.height, form.thickness)),
        *(named(h.diameter) | named(h.x) | named(h.y) for h in form.holes),
    )
    found = [*holes_of_part(bench, drill, claimed), *slots_of_part(bench, drill, claimed)]
    return Scheme(stock, (*features, *found), stock.warnings, claimed | {d for f in found for d in f.dims})
