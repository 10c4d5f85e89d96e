"""Quick sums of what is bought: bar and sheet near a size, its delivery limits and mass; a material, how it cuts."""

from __future__ import annotations

from typing import Any, Final

from asmade.measure.errors import AsmadeError, Refused, Unknown
from asmade.standards.cutting import operations, speed_range
from asmade.standards.materials import Material
from asmade.standards.materials import material as find
from asmade.standards.stock import (
    SYSTEMS,
    Delivery,
    System,
    across_corners,
    delivery,
    mass_per_metre_kg,
    nearest_stock,
)
from asmade.verbs.sums.result import QuickSum, Rows, figure, inch, mm, size, um, unique


def stock(
    text: str, *, shape: str = "round bar", system: str = "", material_name: str = "", thickness: str = ""
) -> QuickSum:
    """Stock near a size: what is sold, how it is delivered, what a metre weighs, what it measures over corners."""
    found = size(text, "size of stock")
    exact = float(found.mm)
    near = nearest_stock(found.mm, shape, system=_system(system), most=4)
    rows = tuple(
        (
            n.stock.name,
            n.stock.system,
            mm(n.stock.size_mm),
            inch(n.stock.size_mm),
            "exact" if n.over_mm == 0 else f"{'+' if n.over_mm > 0 else ''}{mm(n.over_mm)}",
        )
        for n in near
    )
    kind = near[0].stock.shape if near else shape
    data: dict[str, Any] = {
        "mm": exact,
        "inch": exact / 25.4,
        "shape": kind,
        "nearest": [
            {"name": n.stock.name, "system": n.stock.system, "mm": n.stock.size_mm, "over_mm": n.over_mm} for n in near
        ],
    }
    tables = [Rows(f"{kind} near {exact:g} mm", ("size", "", "mm", "in", "off mm"), rows, (2, 3, 4))]
    working, sources = [], ["preferred sizes: practice of the bar standards, from memory, check before relying on it"]
    as_bought = _delivered(exact, kind)
    if as_bought:
        tables.append(
            Rows(
                f"{exact:g} mm as delivered, {as_bought.tolerance_class}",
                ("upper µm", "lower µm", "least mm", "greatest mm"),
                ((um(as_bought.upper_um), um(as_bought.lower_um), mm(as_bought.least_mm), mm(as_bought.greatest_mm)),),
                (0, 1, 2, 3),
            )
        )
        data["delivered"] = {
            "class": as_bought.tolerance_class,
            "upper_um": as_bought.upper_um,
            "lower_um": as_bought.lower_um,
            "least_mm": as_bought.least_mm,
            "greatest_mm": as_bought.greatest_mm,
        }
        sources.append(as_bought.source)
        working.append(
            f"delivered to {as_bought.tolerance_class}: {exact:g} {um(as_bought.upper_um)}/{um(as_bought.lower_um)} µm"
        )
    if kind in ("hexagon bar", "square bar"):
        over = across_corners(kind, exact)
        data["across_corners_mm"] = over
        working.append(f"across corners = {over / exact:.6f} x {exact:g} = {over:.4f} mm")
        tables.append(Rows("Over the corners", ("mm", "in"), ((mm(over), inch(over)),), (0, 1)))
    if material_name:
        _mass(exact, kind, material_name, thickness, data, tables, working, sources)
    return QuickSum("stock", (found.how, kind), tuple(tables), tuple(working), unique(sources), data)


def _delivered(exact: float, kind: str) -> Delivery | None:
    """Delivery limits; None for shapes and sizes that the standard does not give."""
    try:
        return delivery(exact, kind)
    except AsmadeError:
        return None


def _mass(
    exact: float,
    kind: str,
    material_name: str,
    thickness: str,
    data: dict[str, Any],
    tables: list[Rows],
    working: list[str],
    sources: list[str],
) -> None:
    stuff = find(material_name)
    bar = "flat bar" if kind.startswith("flat") else kind
    thick = float(size(thickness, "thickness").mm) if thickness else None
    mass = mass_per_metre_kg(bar, exact, stuff.density_kg_m3, thick)
    data["mass_per_metre_kg"] = mass
    data["material"] = stuff.name
    tables.append(Rows(f"Mass, {stuff.title}", ("kg per metre",), ((figure(mass),),), (0,)))
    working.append(
        f"mass = area x density = {mass / stuff.density_kg_m3 * 1e6:.3f} mm2 x {stuff.density_kg_m3:g} kg/m3"
    )
    sources.append(f"density of {stuff.name}: {stuff.value('density').source}")


def _system(text: str) -> System | None:
    if not text:
        return None
    for name in SYSTEMS:
        if name.lower() == text.strip().lower():
            return name
    raise Unknown("system of sizes", got=text, near=SYSTEMS, way_out=f"one of: {', '.join(SYSTEMS)}")


def material(text: str, *, at: str = "", condition: str = "") -> QuickSum:
    """A material by any of its names: strength, elasticity, density, expansion, how it cuts; every figure's source.

    ``at`` a size keeps the figures that hold there; ``condition`` those of one delivery condition.
    """
    stuff = find(text)
    at_mm = float(size(at, "size of the material").mm) if at else None
    if condition and condition.lower() not in {c.lower() for c in stuff.conditions}:
        raise Unknown(f"condition of {stuff.name}", got=condition, way_out=f"held: {', '.join(stuff.conditions)}")
    rows, held = [], []
    for value in stuff.values:
        if at_mm is not None and not value.holds_at(at_mm):
            continue
        if condition and value.condition.lower() not in ("", condition.lower()) and value.unit in ("MPa", "%", "HB"):
            continue
        sizes = (
            "" if value.over_mm is None and value.upto_mm is None else f"{value.over_mm or 0:g} to {value.upto_mm:g}"
        )
        name = _WORDS.get(value.quantity, value.quantity.replace("_", " "))
        rows.append(
            (name, f"{value.value:g}", value.unit if value.unit != "1" else "", value.condition, sizes, value.source)
        )
        held.append(
            {
                "quantity": value.quantity,
                "value": value.value,
                "unit": value.unit,
                "condition": value.condition,
                "over_mm": value.over_mm,
                "upto_mm": value.upto_mm,
                "source": value.source,
                "from_memory": value.recalled,
            }
        )
    if not rows:
        raise Refused(
            f"size of {stuff.name}",
            got=at,
            reason="the tables hold nothing for it",
            way_out="leave the size out, or go by your own certificate",
        )
    speeds, cut = _speeds(stuff)
    return QuickSum(
        "material",
        (f"{stuff.name}, {stuff.title}",),
        (
            Rows(
                f"{stuff.name}: {stuff.title}",
                ("", "value", "unit", "condition", "size mm", "source"),
                tuple(rows),
                (1,),
            ),
            Rows("Cutting speeds, m/min", ("", "tool", "from", "to"), speeds, (2, 3)),
        ),
        ("read from the tables; no sum",),
        unique(("tables materials and material_values", "speeds: common practice, no source")),
        {
            "material": stuff.name,
            "title": stuff.title,
            "family": stuff.family,
            "also": list(stuff.also),
            "density_kg_m3": _value(stuff, "density", 1000),
            "youngs_modulus_mpa": _value(stuff, "youngs_modulus", 1000),
            "poisson_ratio": _value(stuff, "poisson_ratio", 1),
            "expansion_per_k": stuff.expansion_per_k if _value(stuff, "expansion", 1) is not None else None,
            "values": held,
            "cutting_m_min": cut,
            "machining": stuff.machining,
        },
        notes=(f"also: {', '.join(stuff.also)}", stuff.machining),
    )


_WORDS: Final = {
    "youngs_modulus": "modulus of elasticity",
    "youngs_modulus_low": "modulus of elasticity, from",
    "youngs_modulus_high": "modulus of elasticity, to",
    "poisson_ratio": "Poisson's ratio",
    "tensile_least": "tensile strength, least",
    "tensile_most": "tensile strength, most",
    "tensile_in_wall": "tensile strength in a wall",
    "proof_least": "0.2 % proof strength, least",
    "proof_range_low": "0.2 % proof strength, from",
    "proof_range_high": "0.2 % proof strength, to",
    "proof01_low": "0.1 % proof strength, from",
    "proof01_high": "0.1 % proof strength, to",
    "compressive": "compressive strength",
    "elongation_least": "elongation, least",
    "brinell_most": "hardness, most",
}


def _value(stuff: Material, quantity: str, by: float) -> float | None:
    held = [v for v in stuff.values if v.quantity == quantity]
    return by * held[0].value if held else None


def _speeds(stuff: Material) -> tuple[tuple[tuple[str, ...], ...], list[dict[str, Any]]]:
    rows, held = [], []
    for tool in ("HSS", "carbide"):
        for operation in operations(tool):
            try:
                found = speed_range(stuff, operation, tool)
            except AsmadeError:
                continue  # not usual with this tool
            rows.append((operation, tool, f"{found.low_m_min:g}", f"{found.high_m_min:g}"))
            held.append({"operation": operation, "tool": tool, "low": found.low_m_min, "high": found.high_m_min})
    return tuple(rows), held
