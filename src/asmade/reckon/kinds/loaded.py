"""A pin under a load: bending at its root, shear across it, and the pressure of the bush that turns on it.

    [[loaded]]
    name = "driving crank pin"
    places = ["2L", "2R"]
    force = { by = "piston thrust", pressure = "working_pressure", bore = "cylinder@{side}.bore" }   # or a sum in N
    diameter = "crank_pin_driving@{place}.journal.diameter"
    overhang = "..."                 # from the seat to the middle of the rod: gives bending at the root
    length = "..."                   # of the bush: gives the bearing pressure
    bearing_most = "7 MPa"           # what the bush may bear; without it the pressure is told and not judged
    material = "silver steel"        # of the pin; else that of its part
    factor = 3                       # over the proof strength; a sharp corner at the root may double the stress

Plain statics, taken at the worst: the whole thrust on one pin. Stresses in MPa.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Final

from asmade.book.grammar import Size
from asmade.book.model import Relation
from asmade.measure.errors import Refused
from asmade.measure.quantities import read_quantity
from asmade.reckon.asked import Asked, asked
from asmade.reckon.computed import Computed, Input, Reader
from asmade.reckon.requirement import Limits
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "loaded"
HELP = (
    "a pin under a force: force, diameter, overhang (bending), length (bearing pressure), bearing_most, "
    "material, factor"
)
FACTOR: Final = 3.0
"""Over the proof strength unless said: common practice, no source."""


def requirements(relation: Relation, scope: Scope) -> Iterator[Computed]:
    """Bending and shear against strength, and bearing pressure, as far as the sizes for them are named."""
    only(relation, "force", "diameter", "overhang", "length", "bearing_most", "material", "factor")
    for place in places_of(relation):
        yield from _at(Reader(relation, place, scope))


def _at(reader: Reader) -> Iterator[Computed]:
    relation = reader.relation
    load = asked(reader, "force", turning=False)
    if load is None:
        raise Refused(
            f"loaded {relation.name!r}",
            got=dict(relation.fields),
            reason="force is missing",
            way_out='add force = a sum in N, or { by = "piston thrust", ... }',
        )
    diameter = reader.input("diameter", "d", "pin")
    if relation.text("overhang"):
        overhang = reader.input("overhang", "a", "seat to middle of the rod")
        yield _stress(
            reader,
            "bending",
            load,
            (diameter, overhang),
            "32 F a/(pi d^3)",
            lambda f, d, a: 32 * f * a / (math.pi * _above(d) ** 3),
        )
    yield _stress(
        reader, "shear", load, (diameter,), "4/3 F/(pi d^2/4)", lambda f, d: 16 * f / (3 * math.pi * _above(d) ** 2)
    )
    if relation.text("length"):
        length = reader.input("length", "l", "length of the bush")
        most = relation.text("bearing_most")
        limit = None
        if most:
            limit = float(read_quantity(most, kind="pressure", thing=f"loaded {relation.name!r} bearing_most").value)
        subject = f"{subject_at(relation, reader.place)}, bearing pressure"
        limits = Limits(None, limit, relation.text("source") or ("set by the builder" if most else "no limit set"))
        yield _computed(
            subject, limits, load, (diameter, length), "F/(d l)", lambda f, d, long: f / (_above(d) * _above(long))
        )


def _stress(reader: Reader, words: str, load: Asked, sizes: tuple[Input, ...], formula: str, stress: Any) -> Computed:
    """A stress in the pin against its proof strength over the factor; in shear, that over the root of 3."""
    from asmade.reckon.metals import metal  # noqa: PLC0415  # only books with such pins read the tables

    node = sizes[0].node
    if not isinstance(node, Size) and not reader.relation.text("material"):
        raise Refused(
            f"loaded {reader.relation.name!r}",
            got=reader.relation.text("diameter"),
            reason="the pin's material is not said",
            way_out='add material = "silver steel"',
        )
    name = reader.relation.text("material") or reader.material("material", node.address)  # type: ignore[union-attr]
    which, said = metal(name)
    factor = reader.factor("factor", FACTOR)
    proof = which.proof_mpa
    allowed = None if proof is None else proof / factor / (math.sqrt(3) if words == "shear" else 1.0)
    by = ", over the root of 3 in shear (von Mises)" if words == "shear" else ""
    subject = f"{subject_at(reader.relation, reader.place)}, {words}"
    limits = Limits(None, allowed, f"proof strength over a factor of {factor:g}{by}: {said[0]}")
    lacks = () if proof is not None else (f"proof strength of {which.name} is not known",)
    return _computed(subject, limits, load, sizes, formula, stress, lacks)


def _computed(
    subject: str,
    limits: Limits,
    load: Asked,
    sizes: tuple[Input, ...],
    formula: str,
    stress: Any,
    lacks: tuple[str, ...] = (),
) -> Computed:
    count = len(load.put_in)

    def sum_(*values: Any) -> Any:
        return stress(load.sum_(*values[:count]), *values[count:])

    return Computed(
        KIND,
        subject,
        subject,
        limits,
        "MPa",
        f"{formula}, F = {load.formula}",
        (*load.put_in, *sizes),
        sum_,
        lacks=lacks,
    )


def _above(size: Any) -> Any:
    """A size that is not above 0 counts as a micrometre: the stress is then beyond every limit."""
    import numpy as np  # noqa: PLC0415

    return np.maximum(size, 1e-3)
