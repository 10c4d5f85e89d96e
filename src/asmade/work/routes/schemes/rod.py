"""Scheme of a rod: both eyes at one setting first, everything else from the eyes.

Bar bends when one side of it is milled, so the two faces are milled a little at a time in turn, and the eyes are made
before the thinning: pins through them then locate every later setting.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from asmade.book.forms.rod import Rod
from asmade.work.recipes.bench import Bench, plain_name
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.recipes.rod_blank import PROFILES
from asmade.work.routes.rack import Choice, Side, section_for
from asmade.work.routes.schemes.loose import holes_of_part, slots_of_part
from asmade.work.routes.schemes.result import Scheme, dims, named, value

KIND = "rod"
ROUNDED_OVER_MM = 6.0
"""On the length, for both rounded ends: common practice, no source."""


def scheme(
    form: Rod,
    bench: Bench,
    *,
    casting: Choice | None = None,
    allowed: Mapping[str, float] | None = None,  # noqa: ARG001  # one shape for every form that may be cast
) -> Scheme:
    """Features of a rod."""
    part = bench.part.name
    places, at = [0.0], 0.0
    for eye in form.eyes[1:]:
        at += value(eye.behind, bench)
        places.append(at)
    outsides = [value(eye.outside, bench) for eye in form.eyes]
    widths = [value(eye.width, bench) for eye in form.eyes]
    ends = [o / 2 for o in (outsides[0], outsides[-1]) if math.isfinite(o)]
    total = abs(at) + math.fsum(ends)
    high = max([o for o in outsides if math.isfinite(o)], default=math.nan)
    thick = max([w for w in (*widths, value(form.thickness, bench)) if math.isfinite(w)], default=math.nan)
    stock = (
        casting
        or section_for(
            bench.shop,
            bench.part.material,
            bench.stuff,
            Side(high),
            Side(thick),
            ("flat", "flat bar", "plate", "sheet"),
        ).choice
    )
    profile = _profile(form, bench)
    saw = SetUp("0: blank", 0, "saw", f"{stock.name} in the saw", "the bar", f"saw|{stock.name}")
    clamp = SetUp(
        "1: eyes",
        10,
        "mill",
        "flat on packing on the table or in a long vice, clamped, one edge along the travel",
        "the middle of the foremost eye",
        f"flat|{part}",
        ("blank",),
    )
    pins = SetUp(
        "2: faces",
        20,
        "mill",
        "on a bar with pins that fit the eyes, clamped; turned over between cuts",
        "the eyes",
        f"pins|{part}",
        tuple(eye.name for eye in form.eyes),
        words=("a little off each face in turn: bar bends when one side alone is milled",),
    )
    edge = SetUp(
        "3: edges",
        30,
        "mill",
        "on edge in the vice against the pins in the eyes",
        "the eyes",
        f"on edge|{part}",
        tuple(eye.name for eye in form.eyes),
    )
    ends_at = SetUp(
        "4: ends",
        40,
        "mill",
        "on the rotary table, or in the vice with filing buttons in the eye",
        "each eye in turn",
        f"ends|{part}",
        tuple(eye.name for eye in form.eyes),
    )
    features = [
        Feature(
            "blank",
            "rod from bar or profile",
            saw,
            {"length": total, "allowance": ROUNDED_OVER_MM},
            makes=("blank",),
            words=profile or f"of {stock.name}",
        )
    ]
    for eye, x, outside, width in zip(form.eyes, places, outsides, widths, strict=True):
        own = dims(eye.bore, eye.behind)
        if eye.bore is not None:
            figures = {"diameter": value(eye.bore, bench), "depth": width, "through": 1.0, "x": x, "y": 0.0}
            bore = dims(eye.bore)
            features.append(
                Feature(
                    bore[0] if bore else eye.name,
                    "placed hole",
                    clamp,
                    figures,
                    own,
                    (),
                    (eye.name,),
                    bench.made_by(bore[0]) if bore else "reamed",
                )
            )
        else:
            features.append(
                Feature(
                    f"{eye.name} eye",
                    "placed hole",
                    clamp,
                    {"diameter": math.nan, "x": x, "y": 0.0},
                    dims(eye.behind),
                    (),
                    (eye.name,),
                )
            )
        if eye.width is not None:
            features.append(
                Feature(
                    dims(eye.width)[0] if dims(eye.width) else f"{eye.name} width",
                    "milled faces",
                    pins,
                    {"size": width, "start": stock.thickness_mm or math.nan, "both": 1.0},
                    dims(eye.width),
                    makes=(f"{eye.name} faces",),
                    words=f"the boss {plain_name(eye.name)}, both faces alike,",
                )
            )
        if eye.outside is not None:
            features.append(
                Feature(
                    dims(eye.outside)[0] if dims(eye.outside) else f"{eye.name} outside",
                    "rounded end",
                    ends_at,
                    {"diameter": outside, "hole": value(eye.bore, bench)},
                    dims(eye.outside),
                    ("edges",) if _bar(form) else (),
                    (f"{eye.name} round",),
                )
            )
    if form.thickness is not None:
        size = value(form.thickness, bench)
        features.append(
            Feature(
                dims(form.thickness)[0] if dims(form.thickness) else "bar",
                "milled faces",
                pins,
                {"size": size, "start": thick, "both": 1.0},
                dims(form.thickness),
                tuple(f"{e.name} faces" for e in form.eyes if e.width is not None),
                ("bar",),
                words="the bar between the bosses, both faces alike,",
            )
        )
    if _bar(form):
        fore, aft = value(form.depth_fore, bench), value(form.depth_aft, bench)
        tapered = math.isfinite(fore) and math.isfinite(aft) and abs(fore - aft) > 0.01
        words = (
            f"the edges, {fore:.2f} high at the front to {aft:.2f} behind," if tapered else "the edges, both alike, bar"
        )
        features.append(
            Feature(
                dims(form.depth_fore)[0] if dims(form.depth_fore) else "edges",
                "milled faces",
                edge,
                {
                    "size": max(fore, aft) if math.isfinite(fore) and math.isfinite(aft) else fore,
                    "start": high,
                    "both": 1.0,
                },
                dims(form.depth_fore, form.depth_aft),
                makes=("edges",),
                words=words,
            )
        )
    if form.flute_depth is not None:
        features.append(
            Feature(
                "flutes",
                "milled slot",
                pins,
                {"width": value(form.flute_height, bench), "depth": value(form.flute_depth, bench)},
                dims(form.flute_height, form.flute_depth),
                makes=("flutes",),
            )
        )
    claimed = frozenset().union(
        *(named(m) for e in form.eyes for m in (e.behind, e.bore, e.outside, e.width)),
        *(named(m) for m in (form.depth_fore, form.depth_aft, form.thickness, form.flute_depth, form.flute_height)),
    )
    slots = slots_of_part(bench, edge, claimed)
    features += slots
    claimed |= {d for f in slots for d in f.dims}
    more = holes_of_part(bench, clamp, claimed)
    return Scheme(stock, (*features, *more), stock.warnings, claimed | {d for f in more for d in f.dims})


def _profile(form: Rod, bench: Bench) -> str:
    """How its profile is cut by others, where a size of the outline says so; empty where it is cut here from bar."""
    outline = (*(eye.outside for eye in form.eyes), form.depth_fore, form.depth_aft)
    said = (bench.made_by(name) for measure in outline for name in dims(measure))
    return next((process for process in said if process in PROFILES), "")


def _bar(form: Rod) -> bool:
    return form.depth_fore is not None
