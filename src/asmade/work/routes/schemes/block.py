"""Scheme of a block: squared up face by face, slots at the same setting as the faces they are true to, bores last.

An axlebox (a block with a bore across it and a width between horns) is made in pairs: both boxes of an axle at one
setting of the chuck, so that both bores lie alike.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from asmade.book.forms.block import Block
from asmade.book.forms.measures import Measure
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.rack import Choice, flat_for
from asmade.work.routes.schemes.loose import holes_of_part, slots_of_part
from asmade.work.routes.schemes.result import Scheme, dims, named, value

KIND = "block"
OVER_MM = 2.0
ALREADY = ("stock as is",)


def scheme(
    form: Block,
    bench: Bench,
    *,
    casting: Choice | None = None,
    allowed: Mapping[str, float] | None = None,  # noqa: ARG001  # one shape for every form that may be cast
) -> Scheme:
    """Features of a block."""
    part = bench.part.name
    length, height, width = (value(m, bench) for m in (form.length, form.height, form.width))
    box = _is_axlebox(form, bench)
    thick, wide = sorted(v if math.isfinite(v) else math.inf for v in (length, height, width))[:2]
    stock = casting or flat_for(
        bench.shop,
        bench.part.material,
        bench.stuff,
        wide if math.isfinite(wide) else math.nan,
        thick if math.isfinite(thick) else math.nan,
        ("flat", "flat bar", "square bar", "plate"),
    )
    saw = SetUp("0: blank", 0, "saw", f"{stock.name} in the saw", "the bar", f"saw|{stock.name}")
    together = "both boxes of an axle end to end, marked as a pair, " if box else ""
    features: list[Feature] = []
    if casting is None:
        features.append(
            Feature(
                "blank",
                "sawn blank",
                saw,
                {
                    "length": max((v for v in (length, height, width) if math.isfinite(v)), default=math.nan),
                    "allowance": OVER_MM,
                },
                makes=("blank",),
                words=f"of {stock.name}",
            )
        )
        raw: tuple[str, ...] = ("blank",)
    else:
        features.append(
            Feature(
                "casting",
                "casting looked at",
                SetUp(
                    "0: on the bench", 0, "by hand", "on the surface plate", "the casting as it came", f"bench|{part}"
                ),
                {},
                makes=("looked at",),
            )
        )
        raw = ("looked at",)
    first = SetUp(
        "1: first face",
        10,
        "mill",
        f"{together}in the vice on parallels, soft rod on the rough side",
        "the sawn faces",
        f"vice|{part}|first",
        raw,
    )
    features.append(
        Feature(
            "first face", "milled faces", first, {"first": 1.0}, makes=("first face",), words="the first broad face"
        )
    )
    faces: tuple[str, ...] = ("first face",)
    made: list[tuple[str, Measure, float]] = [
        (name, m, v)
        for name, m, v in (
            ("width", form.width, width),
            ("height", form.height, height),
            ("length", form.length, length),
        )
        if m is not None
    ]
    order = 20
    for name, measure, size in made:
        own = dims(measure)
        if own and bench.made_by(own[0]) in ALREADY:
            setup = SetUp(f"{order // 10}: {name}", order, "by hand", "on the bench", "the bar", f"bench|{part}")
            features.append(Feature(own[0], "as-stock diameter", setup, {"diameter": size}, own, makes=(name,)))
            order += 10
            continue
        setup = SetUp(
            f"{order // 10}: {name}",
            order,
            "mill",
            f"{together}in the vice, {' and '.join(faces[-1:])} down on parallels",
            faces[-1],
            f"vice|{part}|{name}",
            faces[-1:],
        )
        start = size + OVER_MM / 2 if math.isfinite(size) else math.nan
        features.append(
            Feature(
                own[0] if own else name,
                "milled faces",
                setup,
                {"size": size, "start": start},
                own,
                makes=(name,),
                words=f"the {name}, second face,",
            )
        )
        faces = (*faces, name)
        order += 10
    claimed = frozenset().union(
        *(named(m) for m in (form.length, form.height, form.width)),
        *(named(h.diameter) | named(h.x) | named(h.y) | named(h.depth) for h in form.holes),
    )
    slots = SetUp(
        f"{order // 10}: slots",
        order,
        "mill",
        f"{together}in the vice against a stop, {faces[-1]} down",
        faces[-1],
        f"vice|{part}|slots",
        faces[-1:],
    )
    found = slots_of_part(bench, slots, claimed)
    if box and "flange" in bench.part.dims:
        flange = bench.size("flange")
        found.append(
            Feature(
                "flange",
                "milled faces",
                slots,
                {"size": flange, "start": flange + 1.0 if math.isfinite(flange) else math.nan, "cutter": 10.0},
                ("flange",),
                makes=("flange",),
                words="the step behind the flange, both sides alike, flange",
            )
        )
        claimed |= {"flange"}
    features += found
    claimed |= {d for f in found for d in f.dims}
    order += 10
    bore_at = SetUp(
        f"{order // 10}: bores",
        order,
        "lathe" if box else "mill",
        "four-jaw chuck, both boxes of an axle clamped together, outer faces out; set to a button or a "
        "plug at the marked middle"
        if box
        else f"{faces[-1]} against the fixed jaw or an angle plate, clamped",
        "middle of length and height",
        f"bores|{part}",
        faces[-1:],
        ("chuck",) if box else (),
        ("both boxes of an axle at one setting, so that both bores lie alike",) if box else (),
    )
    for hole in form.holes:
        own = dims(hole.diameter, hole.x, hole.y)
        if hole.diameter is None:
            continue
        figures = {
            "diameter": value(hole.diameter, bench),
            "depth": value(hole.depth, bench) if hole.depth else width,
            "through": float(hole.depth is None),
            "x": value(hole.x, bench),
            "y": value(hole.y, bench),
        }
        callout = bench.callout_of(hole.thread) if hole.thread else ""
        features.append(
            Feature(
                own[0] if own else hole.name,
                "placed hole",
                bore_at,
                figures,
                own,
                (),
                (hole.name,),
                bench.made_by(own[0]) if own else "bored",
                callout,
            )
        )
    more = holes_of_part(bench, bore_at, claimed)
    features += more
    return Scheme(stock, tuple(features), stock.warnings, claimed | {d for f in more for d in f.dims})


def _is_axlebox(form: Block, bench: Bench) -> bool:
    return any(hole.name == "bore" for hole in form.holes) and "flange" in bench.part.dims and bool(form.length)
