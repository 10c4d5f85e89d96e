"""Materials of the trade: strength, elasticity, density, expansion, each value with its source."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cache

from asmade.measure.errors import OutOfRange, Unknown, near
from asmade.standards.tables import Row, load, number

_RECALLED = "from memory"

# What may be asked for, and its unit.
QUANTITIES = {
    "density": "g/cm3",
    "youngs_modulus": "GPa",
    "youngs_modulus_low": "GPa",
    "youngs_modulus_high": "GPa",
    "poisson_ratio": "1",
    "expansion": "1e-6/K",
    "tensile_least": "MPa",
    "tensile_most": "MPa",
    "tensile_in_wall": "MPa",
    "proof_least": "MPa",
    "proof_range_low": "MPa",
    "proof_range_high": "MPa",
    "proof01_low": "MPa",
    "proof01_high": "MPa",
    "compressive": "MPa",
    "elongation_least": "%",
    "brinell_most": "HB",
}


@dataclass(frozen=True, slots=True)
class MaterialValue:
    """One value of a material with the condition and sizes it holds for, and where it was read."""

    quantity: str
    value: float
    unit: str
    condition: str  # delivery condition ("+C" cold drawn, "sand cast GS", "annealed"); "" = any
    over_mm: float | None
    upto_mm: float | None
    source: str

    @property
    def recalled(self) -> bool:
        """Whether the value is from memory and wants checking before anything rests on it."""
        return _RECALLED in self.source

    def holds_at(self, size_mm: float) -> bool:
        """Whether ``size_mm`` is over the lower and up to the upper size."""
        return (self.over_mm is None or size_mm > self.over_mm) and (self.upto_mm is None or size_mm <= self.upto_mm)


@dataclass(frozen=True, slots=True)
class Material:
    """A material by its standard name. Values are asked for one by one: what is not held is refused, never assumed."""

    name: str
    title: str
    family: str
    also: tuple[str, ...]
    cutting: str  # name of its row of practical cutting speeds
    vdi_group: int | None  # group of VDI 3323 for the specific cutting force
    machining: str
    values: tuple[MaterialValue, ...] = field(repr=False)

    @property
    def conditions(self) -> tuple[str, ...]:
        """Delivery conditions for which strength is held; the first is the one in which it is usually bought."""
        return tuple(dict.fromkeys(v.condition for v in self.values if v.unit == "MPa" and v.condition))

    @property
    def density_kg_m3(self) -> float:
        """Density in kg per cubic metre."""
        return 1000 * self.value("density").value

    @property
    def youngs_modulus_mpa(self) -> float:
        """Modulus of elasticity in MPa (N/mm2); for cast metals the middle of the range that the standard gives."""
        return 1000 * self.value("youngs_modulus").value

    @property
    def poisson_ratio(self) -> float:
        """Poisson's ratio."""
        return self.value("poisson_ratio").value

    @property
    def expansion_per_k(self) -> float:
        """Mean linear expansion near room temperature, per kelvin."""
        near_room = [v for v in self.values if v.quantity == "expansion" and v.condition == "20-100 C"]
        return 1e-6 * (near_room[0] if near_room else self.value("expansion")).value

    def proof_mpa(self, size_mm: float | None = None, condition: str | None = None) -> MaterialValue:
        """Least 0.2 % proof stress (or yield) in MPa. Grey iron has none: use its tensile strength."""
        return self.value("proof_least", size_mm=size_mm, condition=condition)

    def tensile_mpa(self, size_mm: float | None = None, condition: str | None = None) -> MaterialValue:
        """Least tensile strength in MPa."""
        return self.value("tensile_least", size_mm=size_mm, condition=condition)

    def value(self, quantity: str, *, size_mm: float | None = None, condition: str | None = None) -> MaterialValue:
        """Return one value with its source.

        Without ``condition`` the one in which the material is usually bought is taken (the first of the table), and
        the answer says which. Without ``size_mm`` the lowest value over all sizes of that condition is taken where
        the quantity is a least, the highest where it is a most: the safe side.

        Raises ``Unknown`` for a quantity or condition that is not held, ``OutOfRange`` for a size outside the table.
        Anchor: 11SMn30, cold drawn, over 10 up to 16 mm, proof stress 410 MPa (EN 10277-3).
        """
        held = tuple(v for v in self.values if v.quantity == quantity)
        if not held:
            raise self._not_held(quantity)
        of_condition = tuple(v for v in held if v.condition == self._condition(held, quantity, condition))
        if size_mm is None:
            return self._safe_side(quantity, of_condition)
        if not (math.isfinite(size_mm) and size_mm > 0):
            raise OutOfRange(f"size of {self.name}", got=size_mm, allowed="above 0 mm")
        first, last = of_condition[0], of_condition[-1]
        for found in of_condition:
            if found.holds_at(size_mm) or (found is first and size_mm == first.over_mm):
                return found  # the smallest size of a table belongs to its first step
        raise OutOfRange(
            f"{quantity} of {self.name} {first.condition}".strip(),
            got=f"{size_mm:g} mm",
            allowed=f"{first.over_mm or 0:g} to {last.upto_mm:g} mm",
            source=first.source,
            way_out="type in the value of your own certificate or data sheet",
        )

    def _condition(self, held: tuple[MaterialValue, ...], quantity: str, wanted: str | None) -> str:
        names = tuple(dict.fromkeys(v.condition for v in held))
        if wanted is None:
            return names[0]
        exact_name = next((name for name in names if name.lower() == wanted.strip().lower()), None)
        if exact_name is None:
            raise Unknown(
                f"condition of {self.name} for {quantity}",
                got=wanted,
                near=near(wanted, names),
                way_out=f"held: {', '.join(name or 'any' for name in names)}",
            )
        return exact_name

    @staticmethod
    def _safe_side(quantity: str, held: tuple[MaterialValue, ...]) -> MaterialValue:
        if quantity.endswith(("_most", "_high")):
            return max(held, key=lambda v: v.value)
        if quantity.endswith(("_least", "_low", "_in_wall")):
            return min(held, key=lambda v: v.value)
        return held[0]

    def _not_held(self, quantity: str) -> Unknown:
        if quantity not in QUANTITIES:
            known = tuple(QUANTITIES)
            return Unknown("quantity of a material", got=quantity, near=near(quantity, known), way_out=", ".join(known))
        hint = "type in the value of your own certificate or data sheet"
        if quantity == "proof_least" and self.family == "cast iron":
            hint = "grey iron does not yield before it breaks: reckon with its tensile strength and a factor of safety"
        return Unknown(f"value of {self.name}", got=quantity, way_out=hint)


def material(name: str) -> Material:
    """Return a material by its standard, number or trade name: "EN3B", "CZ121", "1.4305", "silver steel".

    Spaces, hyphens and capitals do not matter. Raises ``Unknown`` with near names. Anchor: gunmetal is CC491K (LG2).
    """
    known = _by_name()
    found = known.get(_plain(name))
    if found is None:
        spelled = {alias: alias for m in materials() for alias in (m.name, *m.also)}
        raise Unknown(
            "material",
            got=name,
            near=near(name, tuple(spelled)),
            way_out="known: " + ", ".join(f"{m.name} ({m.also[0]})" for m in materials()),
        )
    return found


@cache
def materials() -> tuple[Material, ...]:
    """Every material held, in the order of the table."""
    values: dict[str, list[MaterialValue]] = {}
    for row in load("material_values").rows:
        values.setdefault(str(row["material"]), []).append(_value_of(row))
    found = tuple(_material_of(row, tuple(values.pop(str(row["name"]), ()))) for row in load("materials").rows)
    if values:
        raise Unknown("material of a value", got=", ".join(values), way_out="name it in materials.toml")
    return found


def family_of(name: str) -> str | None:
    """Family of a material ("mild steel", "bronze", "cast iron" ...), or None when the name is not known."""
    found = _by_name().get(_plain(name))
    return found.family if found else None


@cache
def _by_name() -> dict[str, Material]:
    found: dict[str, Material] = {}
    for entry in materials():
        for alias in (entry.name, *entry.also):
            if found.setdefault(_plain(alias), entry) is not entry:
                raise Unknown("material with one name", got=alias, way_out="two materials claim it in materials.toml")
    return found


def _plain(name: str) -> str:
    return "".join(sign for sign in name.lower() if sign not in " -_")


def _material_of(row: Row, values: tuple[MaterialValue, ...]) -> Material:
    also = row["also"]
    group = row.get("vdi_group")
    return Material(
        name=str(row["name"]),
        title=str(row["title"]),
        family=str(row["family"]),
        also=tuple(str(alias) for alias in also) if isinstance(also, tuple) else (),
        cutting=str(row["cutting"]),
        vdi_group=None if group is None else int(number(group)),
        machining=str(row["machining"]),
        values=values,
    )


def _value_of(row: Row) -> MaterialValue:
    over, upto = row["over"], row["upto"]
    return MaterialValue(
        quantity=str(row["quantity"]),
        value=number(row["value"]),
        unit=str(row["unit"]),
        condition=str(row["condition"]),
        over_mm=None if over is None else number(over),
        upto_mm=None if upto is None else number(upto),
        source=str(row["source"]),
    )
