"""A bonded joint: its gap against the product's range, and what the bond holds over what is asked of it.

    [[bonded]]
    name = "wheel bonded on its axle"
    places = ["1L", "1R"]
    fit = "wheel on axle@{place}"                # or hole and shaft
    length = "axle@{axle}.seat_{side_word}.length"
    adhesive = "retaining, as its data sheet says"
    turning = { by = "axle torque", pressure = "working_pressure", bore = "...", crank_radius = "...",
                friction = "rail_friction", load = "load_on_axle_1", wheel_diameter = "..." }
    factor = 2

Strength and gap are those of the product's own data sheet, entered in the shop (strength = "20 MPa" by ISO 10123, gap
ON DIAMETER); a placeholder on the safe side stands in, and says so, until then. surface and warmth name rows of the
table of factors, material is the weaker metal's; safety divides the strength, grooves is the length they take up.
Torques are N mm inside, forces N. Cautions: read the product's safety sheet; solvent burns; heat brings off fumes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any, Final

from asmade.book.grammar import Linear, Size, Sum
from asmade.book.model import Adhesive, Relation
from asmade.measure.errors import Unknown, near
from asmade.measure.quantities import read_quantity
from asmade.reckon.asked import asked, over
from asmade.reckon.computed import Computed, Input, Reader
from asmade.reckon.requirement import Limits, SumRequirement
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "bonded"
HELP = (
    "a joint with retaining adhesive: fit (or hole, shaft), length, adhesive, turning, along, factor, surface, warmth, "
    "safety, grooves, hub_material, shaft_material"
)
FIELDS: Final = (
    "fit",
    "hole",
    "shaft",
    "length",
    "adhesive",
    "turning",
    "along",
    "factor",
    "surface",
    "warmth",
    "safety",
    "grooves",
    "hub_material",
    "shaft_material",
)
WANTED: Final = 1.0
"""Capacity over demand that is wanted unless said: the factor of safety stands in the capacity already."""
SAFETY: Final = 2.0
"""Over the strength unless said: common practice, no source."""


def requirements(relation: Relation, scope: Scope) -> Iterator[Computed | SumRequirement]:
    """Gap (unless the fit itself asks for it), slip turning, slip along: one of each at each place."""
    only(relation, *FIELDS)
    for place in places_of(relation):
        yield from _at(Reader(relation, place, scope))


def _at(reader: Reader) -> Iterator[Computed | SumRequirement]:
    from asmade.reckon.joints.bonded import PLACEHOLDER, placeholder_factor  # noqa: PLC0415
    from asmade.reckon.metals import adhesive_material  # noqa: PLC0415  # only books with such joints read the tables

    relation = reader.relation
    hole, shaft, fit = reader.fit_or_sizes()
    subject = subject_at(relation, reader.place)
    product = _product(reader, fit)
    if fit is None or fit.text("want") != "bonded":
        gap = (
            (PLACEHOLDER.gap_least_mm, PLACEHOLDER.gap_most_mm)
            if product is None
            else (product.gap_least_mm, product.gap_most_mm)
        )
        source = PLACEHOLDER.source if product is None else f"{product.name}: gap on diameter, from its data sheet"
        yield SumRequirement(
            KIND,
            f"{subject}, gap",
            f"{subject}, gap",
            Sum("-", Size(hole), Size(shaft)),
            Limits(*gap, source),
            exact=Linear({hole: Fraction(1), shaft: Fraction(-1)}, Fraction(0)),
        )
    loads = [(key, load) for key in ("turning", "along") if (load := asked(reader, key, turning=key == "turning"))]
    if not loads:
        return
    strength, said = _strength(product)
    names = [
        adhesive_material(reader.material(f"{part}_material", of)) for part, of in (("hub", hole), ("shaft", shaft))
    ]
    metal = min(names, key=placeholder_factor)
    surface = relation.text("surface") or "turned and degreased"
    warmth = relation.text("warmth") or "room, up to 40 C"
    safety = reader.factor("safety", SAFETY)
    share = placeholder_factor(metal) * placeholder_factor(surface) * placeholder_factor(warmth) / safety
    sizes = [Input("d", "shaft", Size(shaft)), reader.input("length", "l", "bonded length")]
    if relation.text("grooves"):
        sizes.append(reader.input("grooves", "g", "length of grooves"))
    fixed = (f"tau = {strength:g} MPa", f"f = {share:.3f} ({metal}; {surface}; {warmth}; safety {safety:g})")
    for key, load in loads:
        turning = key == "turning"
        wanted = reader.factor("factor", WANTED)
        formula = f"(tau f pi d{'^2' if turning else ''} (l - grooves){'/2' if turning else ''}) / ({load.formula})"

        def ratio(*values: Any, _turning: bool = turning, _sum: Any = load.sum_) -> Any:
            of_joint = values[: len(sizes)]
            return over(_holds(strength * share, *of_joint, turning=_turning), _sum(*values[len(sizes) :]))

        yield Computed(
            KIND,
            f"{subject}, {key}",
            f"{subject}, {key}",
            Limits(wanted, None, relation.text("source") or f"{said}; factors: common practice, no source"),
            "",
            formula,
            (*sizes, *load.put_in),
            ratio,
            fixed=fixed,
        )


def _holds(stress_mpa: float, d: Any, length: Any, grooves: Any = 0.0, *, turning: bool) -> Any:
    """Force in N, or torque in N mm, by the formulas of `joints.bonded`; a length eaten up by grooves holds nothing."""
    import numpy as np  # noqa: PLC0415

    force = stress_mpa * math.pi * np.maximum(d, 0.0) * np.maximum(np.asarray(length) - grooves, 0.0)
    return force * d / 2 if turning else force


def _product(reader: Reader, fit: Relation | None) -> Adhesive | None:
    shelf = reader.scope.shop.adhesives
    named = reader.relation.text("adhesive") or (fit.text("adhesive") if fit else "")
    if named and named not in shelf:
        raise Unknown(
            f"bonded {reader.relation.name!r} adhesive",
            got=named,
            near=near(named, shelf),
            way_out="enter its data sheet with `asmade shop`",
        )
    return shelf.get(named) or (next(iter(shelf.values())) if len(shelf) == 1 else None)


def _strength(product: Adhesive | None) -> tuple[float, str]:
    from asmade.reckon.joints.bonded import PLACEHOLDER  # noqa: PLC0415

    text = "" if product is None else str(product.fields.get("strength", ""))
    if product is None or not text:
        return PLACEHOLDER.strength_mpa, f"strength: a placeholder, {PLACEHOLDER.source}"
    found = read_quantity(text, kind="pressure", thing=f"strength of {product.name}")
    return float(found.value), f"{product.name}: strength by its data sheet (ISO 10123)"
