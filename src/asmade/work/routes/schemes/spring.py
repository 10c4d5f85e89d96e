"""Scheme of a coil spring: it is bought or wound, not cut; what is known of it is checked before it goes in."""

from __future__ import annotations

import math

from asmade.book.forms.spring import Spring
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.rack import Choice
from asmade.work.routes.schemes.result import Scheme, named, value

KIND = "spring"


def scheme(form: Spring, bench: Bench) -> Scheme:
    """The wire measured as bought; the rest of it is a maker's or a winder's work."""
    wire = value(form.wire, bench)
    size = f"{wire:.2f} mm" if math.isfinite(wire) else "wire of unknown size"
    stock = Choice(f"spring of {size}, bought or wound", wire, in_rack=False, shape="bought in")
    bench_ = SetUp("1: as bought", 10, "by hand", "on the bench", "", f"bought|{bench.part.name}")
    features: tuple[Feature, ...] = ()
    if form.wire is not None and form.wire.dimension:
        features = (
            Feature(form.wire.dimension, "as-stock diameter", bench_, {"diameter": wire}, (form.wire.dimension,),
                    makes=("wire",)),
        )  # fmt: skip
    claimed = frozenset().union(*(named(each) for each in (form.wire, form.outside, form.free_length)))
    return Scheme(stock, features, claimed=claimed)
