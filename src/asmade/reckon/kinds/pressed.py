"""A pressed (or shrunk) joint: what it holds over what is asked of it, and its stresses against strength, by Lame.

    [[pressed]]
    name = "bush held in the rod"
    places = ["12L", "12R"]
    fit = "bush in rod@{place}"                  # or hole and shaft
    hub_diameter = "..."                         # or wall = its thinnest wall
    length = "rod_bush@{fore}{side}.length"
    shaft_bore = "rod_bush@{fore}{side}.bore"    # left out: solid
    turning = { by = "bush torque", friction = "bush_friction", force = "rod_force", journal = "..." }
    along = "..."                                # a sum in N
    factor = 2                                   # capacity over demand that is wanted

Materials are those of the parts (or hub_material, shaft_material). friction is the least that may be counted on: a
figure, a sum, or a row of the table of friction; without it the row for pressing these metals with oil. strength_factor
stands over the strength: 2.5 for cast iron, 1.1 for ductile metals unless said. Torques are N mm inside, forces N. A
hub without metal holds nothing and counts as overstressed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any, Final

from asmade.book.grammar import Number, Size
from asmade.book.model import Relation
from asmade.measure.errors import Refused, Unknown
from asmade.reckon.asked import Asked, asked, over
from asmade.reckon.computed import Computed, Input, Reader
from asmade.reckon.requirement import Limits
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "pressed"
HELP = (
    "a press or shrink joint against slip and strength: fit (or hole, shaft), hub_diameter or wall, length, "
    "shaft_bore, turning, along, factor, friction, strength_factor, hub_material, shaft_material"
)
FIELDS: Final = (
    "fit",
    "hole",
    "shaft",
    "hub_diameter",
    "wall",
    "length",
    "shaft_bore",
    "turning",
    "along",
    "factor",
    "friction",
    "strength_factor",
    "hub_material",
    "shaft_material",
)
WANTED: Final = 2.0
"""Capacity over demand that is wanted unless said: common practice, no source."""
NO_METAL_MPA: Final = 1e6
_FIGURES = re.compile(r"\s*(\d*\.?\d+)(?:\s+to\s+(\d*\.?\d+))?\s*")


def requirements(relation: Relation, scope: Scope) -> Iterator[Computed]:
    """Slip turning, slip along, strength of hub and shaft: one of each at each place."""
    only(relation, *FIELDS)
    for place in places_of(relation):
        yield from _at(Reader(relation, place, scope))


def _at(reader: Reader) -> Iterator[Computed]:
    from asmade.reckon.metals import metal  # noqa: PLC0415  # only books with such joints read the tables

    relation = reader.relation
    hole, shaft, _ = reader.fit_or_sizes()
    subject = subject_at(relation, reader.place)
    sizes = [Input("d", "hole", Size(hole)), Input("s", "shaft", Size(shaft)), _hub(reader)]
    hollow = bool(relation.text("shaft_bore"))
    if hollow:
        sizes.append(reader.input("shaft_bore", "b", "bore of the shaft"))
    names = reader.material("hub_material", hole), reader.material("shaft_material", shaft)
    paper = reader.scope.paper.get(hole)
    hub, hub_said = metal(names[0])
    pin, pin_said = metal(names[1], size_mm=paper)
    elastic = {"e_hub_mpa": hub.e_mpa, "nu_hub": hub.nu, "e_shaft_mpa": pin.e_mpa, "nu_shaft": pin.nu}
    by_wall = relation.text("wall") != ""

    def state(*sizes: Any) -> tuple[Any, Any, Any, Any, Any]:
        return _pressure(elastic, by_wall, *sizes)

    mu = _friction(reader, names)
    length = reader.input("length", "L", "joint length")
    for key, words in (("turning", "turning"), ("along", "along")):
        load = asked(reader, key, turning=key == "turning")
        if load is not None:
            yield _slip(reader, f"{subject}, {words}", (*sizes, mu, length), load, state, turning=key == "turning")
    for part, which, said in (("hub", hub, hub_said), ("shaft", pin, pin_said)):
        factor = reader.factor("strength_factor", 2.5 if which.brittle else 1.1)
        strength = which.strength_mpa
        stress = _hub_stress(state, brittle=hub.brittle) if part == "hub" else _shaft_stress(state)
        yield Computed(
            KIND,
            f"{subject}, {part}",
            f"{subject}, {part}",
            Limits(
                None,
                None if strength is None else strength / factor,
                f"Lame; strength over a factor of {factor:g}: {said[0]}",
            ),
            "MPa",
            f"{'hoop' if which.brittle and part == 'hub' else 'von Mises'} stress in the {part}, p = (s - d)/(d K)",
            tuple(sizes),
            stress,
            fixed=(f"{names[0]} on {names[1]}",),
            lacks=() if strength is not None else (f"{which.strength_words} is not known",),
        )


def _slip(
    reader: Reader, subject: str, sizes: tuple[Input, ...], load: Asked, state: Callable[..., Any], *, turning: bool
) -> Computed:
    wanted = reader.factor("factor", WANTED)
    count = len(sizes)

    def ratio(*values: Any) -> Any:
        *of_joint, mu, length = values[:count]
        return over(_holds(state(*of_joint), mu, length, turning=turning), load.sum_(*values[count:]))

    formula = f"(mu p pi d{'^2' if turning else ''} L{'/2' if turning else ''}) / ({load.formula}), p = (s - d)/(d K)"
    return Computed(
        KIND,
        subject,
        subject,
        Limits(
            wanted, None, reader.relation.text("source") or f"Lame, Coulomb; capacity {wanted:g} times what is asked"
        ),
        "",
        formula,
        (*sizes, *load.put_in),
        ratio,
    )


def _hub(reader: Reader) -> Input:
    relation = reader.relation
    if bool(relation.text("hub_diameter")) == bool(relation.text("wall")):
        raise Refused(
            f"pressed {relation.name!r}",
            got=dict(relation.fields),
            reason="it wants one of hub_diameter and wall",
            way_out="hub_diameter of a round boss, wall = the thinnest metal round the hole",
        )
    if relation.text("wall"):
        return reader.input("wall", "w", "thinnest wall")
    return reader.input("hub_diameter", "D", "outside diameter of the hub")


def _friction(reader: Reader, names: tuple[str, str]) -> Input:
    """The least friction that may be counted on."""
    from fractions import Fraction  # noqa: PLC0415

    from asmade.reckon.joints.press import friction_range  # noqa: PLC0415
    from asmade.reckon.metals import usual_friction  # noqa: PLC0415

    said = reader.relation.text("friction")
    figures = _FIGURES.fullmatch(said)
    if figures:
        least = Fraction(figures[1])
        if not 0 < least <= 1:
            raise Refused(f"pressed {reader.relation.name!r} friction", got=said, reason="it is not above 0 up to 1")
        return Input("mu", "least friction", Number(least, figures[1]))
    if said and "," not in said:
        return reader.input("friction", "mu", "least friction")
    row = said or usual_friction(*names)
    try:
        low, _ = friction_range(row)
    except Unknown as fault:
        raise Unknown(f"pressed {reader.relation.name!r} friction", got=said, way_out=fault.way_out) from fault
    return Input("mu", f"least friction, {row}", Number(Fraction(str(low)), f"{low:g}"))


def _pressure(
    elastic: dict[str, float], by_wall: bool, hole: Any, shaft: Any, hub: Any, bore: Any = 0.0
) -> tuple[Any, Any, Any, Any, Any]:
    """Pressure, diameter, hub and bore that can be reckoned with, and where the joint is sound at all."""
    import numpy as np  # noqa: PLC0415

    from asmade.reckon.joints import lame  # noqa: PLC0415

    hole, shaft, hub, bore = np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in (hole, shaft, hub, bore)))
    outside = hole + 2 * hub if by_wall else hub
    sound = (hole > 0) & (outside > hole * (1 + 1e-9)) & (bore >= 0) & (bore < hole * (1 - 1e-9)) & np.isfinite(shaft)
    d, big, b = np.where(sound, hole, 1.0), np.where(sound, outside, 2.0), np.where(sound, bore, 0.0)
    tight = np.where(sound, np.maximum(shaft - hole, 0.0), 0.0)
    return lame.contact_pressure_mpa(tight, d, big, b, **elastic), d, big, b, sound


def _holds(state: tuple[Any, Any, Any, Any, Any], mu: Any, length: Any, *, turning: bool) -> Any:
    import numpy as np  # noqa: PLC0415

    pressure, d, _, _, sound = state
    force = mu * pressure * np.pi * d * np.maximum(length, 0.0)
    return np.where(sound, force * d / 2 if turning else force, 0.0)


def _hub_stress(state: Callable[..., Any], *, brittle: bool) -> Callable[..., Any]:
    def stress(*sizes: Any) -> Any:
        import numpy as np  # noqa: PLC0415

        from asmade.reckon.joints import lame  # noqa: PLC0415

        pressure, d, big, _, sound = state(*sizes)
        hoop = lame.hub_hoop_mpa(pressure, d, big)
        return np.where(sound, hoop if brittle else lame.von_mises_mpa(hoop, -pressure), NO_METAL_MPA)

    return stress


def _shaft_stress(state: Callable[..., Any]) -> Callable[..., Any]:
    def stress(*sizes: Any) -> Any:
        import numpy as np  # noqa: PLC0415

        from asmade.reckon.joints import lame  # noqa: PLC0415

        pressure, d, _, bore, sound = state(*sizes)
        return np.where(sound, -lame.shaft_hoop_mpa(pressure, d, bore), NO_METAL_MPA)

    return stress
