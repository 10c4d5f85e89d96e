"""Scheme of a casting: that of its finished form, held as a casting; a wheel has its own."""

from __future__ import annotations

import math

from asmade.book.forms.casting import Casting
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.rack import Choice
from asmade.work.routes.schemes.loose import holes_of_part
from asmade.work.routes.schemes.result import Scheme, value

KIND = "casting"


def scheme(form: Casting, bench: Bench) -> Scheme:
    """Features of a casting. Without a finished form only its bores and faces by dimension can be planned."""
    from asmade.work.routes.schemes import schemes  # noqa: PLC0415  # the finished form's scheme is found by name in turn

    stock = Choice(f"casting of {bench.part.material or 'metal not said'}", math.nan, in_rack=True, shape="casting")
    if form.of is not None:
        allowed = {face.name: value(face.allowance, bench) for face in form.machined}
        inner: Scheme = schemes()[form.of.kind].scheme(form.of, bench, casting=stock, allowed=allowed)
        return inner
    look = SetUp(
        "0: on the bench",
        0,
        "by hand",
        "on the surface plate, packed level on three points",
        "the casting as it came",
        f"marking|{bench.part.name}",
    )
    first = SetUp(
        "1: first face",
        10,
        "mill",
        "clamped over three points, first face up",
        "marked lines",
        f"clamped|{bench.part.name}|first",
        ("looked at",),
        words=("packing under every clamp",),
    )
    features = [
        Feature("casting", "casting looked at", look, {}, makes=("looked at",)),
        Feature(
            "datum face",
            "milled faces",
            first,
            {"first": 1.0},
            needs=("looked at",),
            makes=("datum face",),
            words="the datum face",
        ),
    ]
    rest = holes_of_part(
        bench,
        SetUp(
            "2: holes",
            20,
            "mill",
            "datum face down on parallels, clamped",
            "datum face and marked lines",
            f"datum down|{bench.part.name}",
            ("datum face",),
        ),
        frozenset(),
    )
    features += rest
    claimed = frozenset(d for f in rest for d in f.dims)
    return Scheme(
        stock, tuple(features), ("nothing is said of its finished form: faces are to be planned by hand",), claimed
    )
