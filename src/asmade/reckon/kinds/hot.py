"""A fit at its working temperature: what is left of a clearance, or of a tightness, when both parts are warm.

    [[hot]]
    name = "driving axlebox, warm"
    places = ["2L", "2R"]
    fit = "journal in axlebox@{place}"           # or hole and shaft
    hole_at = "axlebox_temperature"              # a figure of the kind temperature
    shaft_at = "axlebox_temperature"             # left out: as the hole
    least = "0.02 mm"
    most = "0.10 mm"

Sizes are those at 20 C (ISO 1). Expansion goes by the materials of the parts (or hole_material, shaft_material). Both
are taken as free to grow: the bore of a bush that is pressed in follows the part that holds it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from asmade.book.grammar import Size
from asmade.book.model import Relation
from asmade.reckon.computed import Computed, Input, Reader
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "hot"
HELP = (
    "a fit at its working temperature: fit (or hole, shaft), hole_at, shaft_at, least, most, hole_material, "
    "shaft_material"
)
REFERENCE_C: Final = 20.0  # ISO 1:2016


def requirements(relation: Relation, scope: Scope) -> Iterator[Computed]:
    """One requirement at each of its places; positive = clearance, negative = tight by so much."""
    only(relation, "fit", "hole", "shaft", "hole_at", "shaft_at", "least", "most", "hole_material", "shaft_material")
    limits = scope.limits(relation)
    for place in places_of(relation):
        reader = Reader(relation, place, scope)
        hole, shaft, _ = reader.fit_or_sizes()
        grows = [_expansion(reader.material(f"{part}_material", of)) for part, of in (("hole", hole), ("shaft", shaft))]
        put_in = [Input("H", "hole at 20 C", Size(hole)), Input("S", "shaft at 20 C", Size(shaft)),
                  reader.input("hole_at", "t_h", "temperature of the hole")]  # fmt: skip
        if relation.text("shaft_at"):
            put_in.append(reader.input("shaft_at", "t_s", "temperature of the shaft"))
        subject = subject_at(relation, place)
        by = "t_s" if len(put_in) == 4 else "t_h"
        yield Computed(
            KIND, subject, subject, limits, "mm", f"H (1 + a_h (t_h - 20)) - S (1 + a_s ({by} - 20))", tuple(put_in),
            _clearance(*grows), fixed=(f"a_h = {grows[0]:.3g} per K", f"a_s = {grows[1]:.3g} per K"),
        )  # fmt: skip


def _clearance(hole_grows: float, shaft_grows: float) -> Any:
    """The formula of `joints.thermal.clearance_at_mm`, on floats or arrays."""

    def clearance(hole: Any, shaft: Any, hole_c: Any, shaft_c: Any | None = None) -> Any:
        at = hole_c if shaft_c is None else shaft_c
        return hole * (1 + hole_grows * (hole_c - REFERENCE_C)) - shaft * (1 + shaft_grows * (at - REFERENCE_C))

    return clearance


def _expansion(name: str) -> float:
    from asmade.standards.materials import material  # noqa: PLC0415  # only books with warm fits read the tables

    return material(name).expansion_per_k
