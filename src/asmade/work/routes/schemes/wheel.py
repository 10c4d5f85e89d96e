"""Scheme of a wheel: back and bore at one setting, the front and the tread on that bore, the pin hole by a jig from it.

Everything that must run true is made from the bore: back square to it at the same setting, tread on a mandrel through
it, crank pin by a jig with its peg in it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from asmade.book.forms.wheel import Wheel
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.recipes.wheel_tread import CAST_OVER_MM
from asmade.work.routes.rack import Choice
from asmade.work.routes.schemes.result import Scheme, dims, named, value
from asmade.work.routes.schemes.steps import hole_recipe

KIND = "wheel"


def scheme(
    form: Wheel, bench: Bench, *, casting: Choice | None = None, allowed: Mapping[str, float] | None = None
) -> Scheme:
    """Features of a wheel; ``allowed``: what the casting has over on each machined face, by its name."""
    part, allowed = bench.part.name, allowed or {}
    stock = casting or Choice(
        f"casting or blank of {bench.part.material or 'metal not said'}", math.nan, in_rack=True, shape="casting"
    )
    size = {
        key: value(getattr(form, key), bench)
        for key in (
            "tread",
            "flange",
            "flange_thickness",
            "tyre_width",
            "boss_width",
            "bore",
            "crank_radius",
            "pin_hole",
            "pin_boss_width",
        )
    }
    across = next((size[k] for k in ("flange", "tread") if math.isfinite(size[k])), math.nan)
    over = allowed.get("tread", CAST_OVER_MM)
    look = SetUp(
        "0: on the bench",
        0,
        "by hand",
        "on the bench, all castings side by side",
        "the casting as it came",
        f"bench|{part}",
    )
    back = SetUp(
        "1: back and bore",
        10,
        "lathe",
        "tread in the four-jaw (or three-jaw, jaws reversed), front inwards on parallels that come out before "
        "the cut; set to run true inside the rim, back outwards",
        "inside of the rim as cast",
        f"wheel back|{part}",
        ("looked at",),
        ("chuck",),
        ("as cast it is true nowhere: share the run-out between rim and spokes",),
    )
    front = SetUp(
        "2: front and tread",
        20,
        "lathe",
        "back down against a faceplate fixture, on a stub turned where it stands to the bore, driven by two "
        "bolts between the spokes, nut and washer",
        "back and bore",
        f"wheel front|{part}",
        ("back", "bore"),
        ("mandrel", "faceplate"),
        ("do not move the fixture until the last wheel is done",),
    )
    jig = SetUp(
        "3: crank-pin hole",
        30,
        "mill" if bench.machine("mill") else "drilling machine",
        "back down on parallels, jig on its peg in the bore, clamped, pin boss between the parallels",
        "bore and back",
        f"wheel jig|{part}",
        ("back", "bore"),
    )
    features = [
        Feature(
            "casting",
            "wheel casting looked at",
            look,
            {"width": size["boss_width"], "tread": size["tread"], "back": allowed.get("back", math.nan)},
            makes=("looked at",),
        ),
        Feature(
            "back",
            "wheel back",
            back,
            {"diameter": across + over, "back": allowed.get("back", math.nan)},
            makes=("back",),
        ),
    ]
    if form.bore is not None:
        own = dims(form.bore)
        figures = {"diameter": size["bore"], "depth": size["boss_width"], "through": 1.0}
        features.append(
            Feature(
                own[0] if own else "bore",
                hole_recipe(bench.made_by(own[0]) if own else "bored", threaded=False),
                back,
                figures,
                own,
                ("back",),
                ("bore",),
            )
        )
    if form.boss_width is not None:
        start = size["boss_width"] + allowed.get("boss", 2.0)
        features.append(
            Feature(
                "boss face",
                "faced end",
                front,
                {"diameter": value(form.boss, bench), "start": start, "length": size["boss_width"]},
                dims(form.boss_width),
                makes=("boss face",),
                words="from the back over the boss",
            )
        )
    if form.tyre_width is not None:
        start = size["tyre_width"] + allowed.get("rim", 2.0)
        features.append(
            Feature(
                "rim face",
                "faced end",
                front,
                {"diameter": size["tread"], "start": start, "length": size["tyre_width"]},
                dims(form.tyre_width),
                makes=("rim face",),
                words="from the back over the rim",
            )
        )
    if math.isfinite(size["tread"]):
        figures = {k: size[k] for k in ("tread", "flange", "flange_thickness", "tyre_width")} | {"over": over}
        features.append(
            Feature(
                "tread",
                "wheel tread",
                front,
                figures,
                dims(form.tread, form.flange, form.flange_thickness),
                (),
                ("tread",),
            )
        )
    if form.crank_radius is not None and form.pin_hole is not None:
        depth = size["pin_boss_width"] if math.isfinite(size["pin_boss_width"]) else size["boss_width"]
        figures = {
            "diameter": size["pin_hole"],
            "radius": size["crank_radius"],
            "bore": size["bore"],
            "depth": depth,
            "through": 1.0,
        }
        own = dims(form.pin_hole, form.crank_radius)
        features.append(Feature("pin_hole", "crank-pin hole by jig", jig, figures, own, (), ("pin hole",)))
    claimed = frozenset().union(
        *(
            named(getattr(form, key))
            for key in (
                "tread",
                "flange",
                "flange_thickness",
                "tyre_width",
                "boss_width",
                "bore",
                "crank_radius",
                "pin_hole",
            )
        ),
        *([{d for d in bench.part.dims if bench.made_by(d) == "cast"}]),
    )
    lathe = bench.machine("lathe")
    warnings = []
    if not allowed:
        warnings.append(
            f"the casting's allowances are not said (machined = {{ back = ... }}): {CAST_OVER_MM:g} on "
            "the tread and 2 in front are "
            "assumed for the passes; measure"
        )
    if lathe and lathe.centre_height_mm and math.isfinite(across) and across + over > 2 * lathe.centre_height_mm:
        warnings.append(f"{across + over:.0f} mm does not swing over a centre height of {lathe.centre_height_mm:g}")
    return Scheme(stock, tuple(features), tuple(warnings), claimed)
