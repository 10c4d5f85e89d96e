"""From the name of a material to what a joint must know of it: elasticity, the strength that rules, usual friction."""

from __future__ import annotations

from asmade.measure.errors import OutOfRange, Unknown
from asmade.reckon.joints.press import Metal
from asmade.standards.materials import Material, MaterialValue, material

_STEELS = ("steel",)
_BRONZES = ("bronze", "brass", "nickel silver", "copper")


def metal(name: str, *, size_mm: float | None = None, wall_mm: float | None = None) -> tuple[Metal, tuple[str, ...]]:
    """A metal of the tables for a joint, and the sources of its strength with what has to be said of them.

    Grey iron, which does not yield before it breaks, is brittle: its tensile strength rules, that of its wall where
    the standard gives one. Other metals go by their proof strength at ``size_mm``. A strength that the tables do not
    hold is None, and said.

    Source: tables materials and material_values. Range: the metals held; raises ``Unknown`` with near names.
    Anchor: cast iron 250, tensile strength 250 MPa (EN 1561, separately cast).

    >>> found, _ = metal("cast iron 250")
    >>> found.brittle, found.strength_mpa
    (True, 250.0)
    """
    stuff = material(name)
    brittle = stuff.family == "cast iron" and not any(v.quantity == "proof_least" for v in stuff.values)
    wanted: list[tuple[str, float | None]] = [("tensile_in_wall", wall_mm)] if brittle and wall_mm is not None else []
    wanted += [("tensile_least", None)] if brittle else [("proof_least", size_mm)]
    strength, said = None, [f"{stuff.name}: strength not held for this size"]
    for quantity, size in wanted:
        found = _held(stuff, quantity, size)
        if found is not None:
            condition = f", {found.condition}" if found.condition else ""
            strength, said = float(found.value), [f"{stuff.name}{condition}, {found.value:g} MPa: {found.source}"]
            break
    made = Metal(
        name=stuff.name, e_mpa=stuff.youngs_modulus_mpa, nu=stuff.poisson_ratio, brittle=brittle,
        tensile_mpa=strength if brittle else None, proof_mpa=None if brittle else strength,
    )  # fmt: skip
    return made, tuple(said)


def _held(stuff: Material, quantity: str, size_mm: float | None) -> MaterialValue | None:
    """A value of the tables; None where they hold none for the size."""
    try:
        return stuff.value(quantity, size_mm=size_mm)
    except (OutOfRange, Unknown):
        return None


def usual_friction(hub: str, shaft: str, *, shrunk: bool = False) -> str:
    """Name of the row of table ``friction`` for two materials: pressed in with oil, or shrunk on clean.

    Source: table friction. Range: steel, iron, bronze and their like; raises ``Unknown`` for others.
    Anchor: the names of the table.

    >>> usual_friction("cast iron 250", "bright mild steel")
    'pressed, oiled, steel in cast iron'
    """
    pair = [_family(hub), _family(shaft)]
    way = "shrunk, clean" if shrunk else "pressed, oiled"
    if pair == ["steel", "steel"]:
        return f"{way}, steel {'on' if shrunk else 'in'} steel"
    if sorted(pair) == ["cast iron", "steel"]:
        return "shrunk, clean, steel on cast iron" if shrunk else "pressed, oiled, steel in cast iron"
    if "bronze" in pair and not shrunk and set(pair) <= {"bronze", "steel", "cast iron"}:
        return "pressed, oiled, bronze in steel or iron"
    raise Unknown(
        "usual friction", got=f"{material(shaft).family} in {material(hub).family}",
        way_out="say the friction yourself, least to most, such as 0.05 to 0.15",
    )  # fmt: skip


def _family(name: str) -> str:
    family = material(name).family
    if family.endswith(_STEELS):
        return "steel"
    return "bronze" if family in _BRONZES else family


def adhesive_material(name: str) -> str:
    """Row of table ``adhesive_factors`` for a material; "oxidised" metals that the table does not name are "plated".

    Source: table adhesive_factors. Range: the materials held. Anchor: gunmetal counts as brass or bronze.

    >>> adhesive_material("gunmetal"), adhesive_material("EN1A")
    ('brass or bronze', 'steel')
    """
    family = material(name).family
    if family == "stainless steel":
        return family
    return {"steel": "steel", "cast iron": "cast iron", "bronze": "brass or bronze", "aluminium": "aluminium"}.get(
        _family(name), "plated"
    )
