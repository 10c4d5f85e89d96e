"""A pinned or keyed joint: the torque that pin or key carries over what is asked of it.

    [[pinned]]
    name = "return crank pinned"
    places = ["L", "R"]
    by = "cross pin"                 # cross pin, pin along the joint, key
    pin = "return_crank@{side}.pin_hole"
    shaft = "crank_pin_driving@2{side}.end.diameter"
    length = "..."                   # of a pin along the joint or a key
    height = "..."                   # of a key
    material = "silver steel"        # of the pin; or shear = "100 MPa", the stress it may bear
    crushing = "150 MPa"             # of the softest part; 1.5 times the shear unless said (common practice, no source)
    turning = { by = "return crank torque", ... }
    factor = 2

A cross pin thicker than a third of the shaft, or a pin along the joint thicker than half of it, counts for nothing: the
formulas no longer hold. The hole weakens the shaft; that is not in the sum. Torques are N mm inside.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Any, Final

from asmade.book.model import Relation
from asmade.measure.errors import Refused, Unknown, near
from asmade.measure.quantities import read_quantity
from asmade.reckon.asked import asked, over
from asmade.reckon.computed import Computed, Reader
from asmade.reckon.requirement import Limits
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "pinned"
HELP = (
    "a pin or key against shear and crushing: by, pin, shaft, length, height, material or shear, crushing, turning, "
    "factor"
)
WAYS: Final = ("cross pin", "pin along the joint", "key")
WANTED: Final = 2.0
"""Capacity over demand that is wanted unless said: common practice, no source."""
CRUSHING: Final = 1.5


def requirements(relation: Relation, scope: Scope) -> Iterator[Computed]:
    """One requirement at each of its places."""
    only(relation, "by", "pin", "shaft", "length", "height", "material", "shear", "crushing", "turning", "factor")
    way = relation.text("by") or WAYS[0]
    if way not in WAYS:
        raise Unknown(
            f"pinned {relation.name!r} by", got=way, near=near(way, WAYS), way_out=f"one of: {', '.join(WAYS)}"
        )
    for place in places_of(relation):
        reader = Reader(relation, place, scope)
        load = asked(reader, "turning", turning=True)
        if load is None:
            raise Refused(
                f"pinned {relation.name!r}",
                got=dict(relation.fields),
                reason="turning is missing",
                way_out="say what torque is asked of it: a sum in N mm, or { by = ... }",
            )
        shear, source, lacks = _shear(reader)
        said = relation.text("crushing")
        crushing = CRUSHING * shear
        if said:
            crushing = float(read_quantity(said, kind="pressure", thing=f"pinned {relation.name!r} crushing").value)
        sizes = [reader.input("pin", "d", "pin" if way != "key" else "key width"), reader.input("shaft", "D", "shaft")]
        if way != "cross pin":
            sizes.append(reader.input("length", "l", "length"))
        if way == "key":
            sizes.append(reader.input("height", "h", "key height"))
        subject = subject_at(relation, place)
        wanted = reader.factor("factor", WANTED)
        yield Computed(
            KIND,
            subject,
            subject,
            Limits(wanted, None, relation.text("source") or source),
            "",
            f"({_FORMULAS[way]}) / ({load.formula})",
            (*sizes, *load.put_in),
            _ratio(way, shear, crushing, len(sizes), load.sum_),
            fixed=(f"tau = {shear:.4g} MPa", *((f"p_c = {crushing:.4g} MPa",) if way != "cross pin" else ())),
            lacks=lacks,
        )


_FORMULAS: Final = {
    "cross pin": "tau 2 pi d^2/4 D/2",
    "pin along the joint": "min(tau d l D/2, p_c d/2 l D/2)",
    "key": "min(tau d l D/2, p_c h/2 l D/2)",
}


def _ratio(way: str, shear: float, crushing: float, count: int, demand: Callable[..., Any]) -> Callable[..., Any]:
    def ratio(*values: Any) -> Any:
        return over(_holds(way, shear, crushing, *values[:count]), demand(*values[count:]))

    return ratio


def _holds(
    way: str, shear: float, crushing: float, pin: Any, shaft: Any, length: Any = 0.0, height: Any | None = None
) -> Any:
    """Torque in N mm by the formulas of `joints.pinned`; 0 where they do not hold."""
    import numpy as np  # noqa: PLC0415

    pin, shaft = np.asarray(pin, dtype=float), np.asarray(shaft, dtype=float)
    if way == "cross pin":
        return np.where((pin > 0) & (shaft > 2.9999 * pin), shear * math.pi * pin**2 / 2 * shaft / 2, 0.0)
    tall = pin if height is None else height
    torque = np.minimum(shear * pin, crushing * tall / 2) * length * shaft / 2
    return np.where((pin > 0) & (shaft > 1.9999 * pin), np.maximum(torque, 0.0), 0.0)


def _shear(reader: Reader) -> tuple[float, str, tuple[str, ...]]:
    """Shear stress that the pin may bear, its source, and what is not known."""
    from asmade.reckon.metals import metal  # noqa: PLC0415  # only books with such joints read the tables

    relation = reader.relation
    if relation.text("shear"):
        found = read_quantity(relation.text("shear"), kind="pressure", thing=f"pinned {relation.name!r} shear")
        return float(found.value), "shear stress as given", ()
    name = relation.text("material")
    if not name:
        raise Refused(
            f"pinned {relation.name!r}",
            got=dict(relation.fields),
            reason="the pin's material is not said",
            way_out='add material = "silver steel", or shear = "100 MPa"',
        )
    which, said = metal(name)
    if which.proof_mpa is None:
        return math.nan, said[0], (f"proof strength of {which.name} is not known",)
    return which.proof_mpa / math.sqrt(3), f"shear by von Mises from {said[0]}", ()
