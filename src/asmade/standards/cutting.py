"""Cutting speeds by material, operation and tool, and the force of the cut."""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.measure.errors import OutOfRange, Refused, Unknown, near
from asmade.standards.materials import Material, material
from asmade.standards.tables import Row, Table, load, number

_FOOT_M = 0.3048  # exact
_FORCE_SOURCE = "Kienzle; VDI 3323"


@dataclass(frozen=True, slots=True)
class SpeedRange:
    """Cutting speeds that suit a small machine, in metres per minute."""

    material: str
    operation: str
    tool: str
    low_m_min: float
    high_m_min: float
    source: str


@dataclass(frozen=True, slots=True)
class HandbookSpeed:
    """One speed as the handbook prints it, for a rigid machine used to the full."""

    material: str
    condition: str
    operation: str
    tool: str
    ft_min: float  # the handbook's own unit
    source: str
    recalled: bool

    @property
    def m_min(self) -> float:
        """The speed in metres per minute; 1 ft = 0.3048 m exactly."""
        return self.ft_min * _FOOT_M


@dataclass(frozen=True, slots=True)
class CuttingForce:
    """The two figures from which the force of a cut is reckoned (Kienzle)."""

    material: str
    kc11_mpa: float  # N per mm2 at a chip 1 mm thick
    mc: float
    source: str
    recalled: bool


def operations(tool: str = "HSS") -> tuple[str, ...]:
    """Operations for which ``tool`` ("HSS" or "carbide") has practical speeds."""
    rows = load("cutting_practice").rows
    return tuple(dict.fromkeys(str(row["operation"]) for row in rows if row["tool"] == _tool(tool)))


def speed_range(of: Material | str, operation: str, tool: str = "HSS") -> SpeedRange:
    """Cutting speeds for a small lathe or mill.

    ``tool``: "HSS" or "carbide". Units: m/min. Raises ``Unknown`` for a material, operation or tool without figures.

    Source: common practice, no source.
    Range: the materials of ``materials``; high-speed steel never above ``handbook_speeds``.
    Anchor: bright mild steel, turning, HSS: not above 110 ft/min = 33.5 m/min (Machinery's Handbook).
    """
    stuff = material(of) if isinstance(of, str) else of
    table, wanted_tool, wanted = load("cutting_practice"), _tool(tool), operation.strip().lower()
    rows = [row for row in table.rows if row["group"] == stuff.cutting]
    for row in rows:
        if row["operation"] == wanted and row["tool"] == wanted_tool:
            low, high = number(row["low"]), number(row["high"])
            return SpeedRange(stuff.name, wanted, wanted_tool, low, high, table.meta.source)
    if wanted not in operations("HSS"):
        known = operations("HSS")
        raise Unknown("operation", got=operation, near=near(operation, known), way_out=f"known: {', '.join(known)}")
    raise Unknown(
        f"{wanted_tool} speed for {stuff.name}", got=wanted, way_out="with this tool it is not usual: take HSS"
    )


def handbook_speeds(operation: str, tool: str = "HSS") -> tuple[HandbookSpeed, ...]:
    """All speeds of the handbook for one ``operation`` (turning, milling, drilling, reaming) and ``tool``.

    Carbide is given for reaming only. Source: Machinery's Handbook, 27th ed., tables 1, 2, 4a, 6, 7, 17, 18; rows that
    are recalled say so.
    """
    table, column = load("cutting_handbook"), _handbook_column(operation, tool)
    return tuple(
        _handbook_speed(table, row, column, operation.strip().lower(), _tool(tool))
        for row in table.rows
        if row[column] is not None
    )


def handbook_speed(name: str, condition: str, operation: str, tool: str = "HSS") -> HandbookSpeed:
    """One speed of the handbook by its own name of the material and condition (hardness).

    Raises ``Unknown`` with near names.

    Source: Machinery's Handbook, 27th ed., HSS speed tables; the answer says whether it was read or recalled.
    Range: the rows of the table.
    Anchor: 303 free-machining austenitic stainless, 135-185 HB, drilling HSS 85 ft/min (Machinery's Handbook).
    """
    speeds = handbook_speeds(operation, tool)
    for speed in speeds:
        if speed.material == name and speed.condition == condition:
            return speed
    known = tuple(f"{s.material}, {s.condition}" for s in speeds)
    wanted = f"{name}, {condition}"
    raise Unknown(f"handbook speed for {operation}, {tool}", got=wanted, near=near(wanted, known))


def surface_speed(diameter_mm: float, rev_min: float) -> float:
    """Cutting speed in m/min: V = pi D n / 1000.

    Source: geometry; Machinery's Handbook. Range: above 0. Anchor: 25 mm at 382 rev/min, 30 m/min.
    """
    _above_zero("diameter", diameter_mm, "mm")
    _above_zero("spindle speed", rev_min, "rev/min")
    return math.pi * diameter_mm * rev_min / 1000


def spindle_speed(speed_m_min: float, diameter_mm: float) -> float:
    """Spindle speed in rev/min: n = 1000 V / (pi D).

    Source: geometry; Machinery's Handbook. Range: above 0. Anchor: 25 m/min on 6 mm, 1326.29 rev/min.
    """
    _above_zero("cutting speed", speed_m_min, "m/min")
    _above_zero("diameter", diameter_mm, "mm")
    return 1000 * speed_m_min / (math.pi * diameter_mm)


def cutting_force_of(of: Material | str | int) -> CuttingForce:
    """kc1.1 and mc of a material, or of a VDI 3323 group given as a number.

    A material takes the trade-school figure of its own where there is one, else that of its group.

    Source: VDI 3323 groups in a carbide maker's table; trade-school tables (Kienzle); the answer says which.
    Range: metals held and groups 1 to 37; published tables differ by 10 to 20 per cent.
    Anchor: group 15, 1150 N/mm2 and 0.20 (carbide maker's table).
    """
    if isinstance(of, int):
        return _group_force(of)
    stuff = material(of) if isinstance(of, str) else of
    school = load("cutting_force_school")
    for row in school.rows:
        if row["ours"] == stuff.name:
            return _school_force(school, row)
    if stuff.vdi_group is None:
        raise Unknown("specific cutting force", got=stuff.name, way_out="none is held for plastics: the force is small")
    return _group_force(stuff.vdi_group)


def school_cutting_force(name: str) -> CuttingForce:
    """kc1.1 and mc by the material name of the trade-school table. Raises ``Unknown`` with near names."""
    table = load("cutting_force_school")
    return _school_force(table, table.row(name))


def specific_cutting_force(kc11_mpa: float, mc: float, chip_thickness_mm: float) -> float:
    """Specific cutting force in N/mm2.

        kc = kc1.1 h^-mc

    h = chip thickness before it is cut, mm.

    Source: Kienzle.
    Range: kc1.1 above 0, mc 0 to 1, h 0.001 to 3 mm (below it a tool rubs).
    Anchor: kc1.1 1350, mc 0.21, h 0.2 mm: 1892.86 N/mm2 (by hand).
    """
    _above_zero("kc1.1", kc11_mpa, "N/mm2")
    _within("exponent mc", mc, 0, 1, "")
    _within("chip thickness", chip_thickness_mm, 0.001, 3, "mm")
    return float(kc11_mpa * chip_thickness_mm**-mc)


def cutting_force(kc11_mpa: float, mc: float, chip_thickness_mm: float, chip_width_mm: float) -> float:
    """Main cutting force in newtons.

        Fc = kc b h

    b = chip width, mm. Range: as ``specific_cutting_force``, b above 0. Source: Kienzle.
    Anchor: kc1.1 1350, mc 0.21, h 0.2, b 1 mm: 378.57 N.
    """
    _above_zero("chip width", chip_width_mm, "mm")
    return specific_cutting_force(kc11_mpa, mc, chip_thickness_mm) * chip_width_mm * chip_thickness_mm


def _handbook_column(operation: str, tool: str) -> str:
    wanted = operation.strip().lower()
    known = ("turning", "milling", "drilling", "reaming")
    if wanted not in known:
        raise Unknown(
            "operation of the handbook table", got=operation, near=near(operation, known), way_out=", ".join(known)
        )
    if _tool(tool) == "HSS":
        return wanted
    if wanted != "reaming":
        raise Unknown("handbook speed", got=f"{wanted} with carbide", way_out="carbide is held for reaming only")
    return "reaming_carbide"


def _handbook_speed(table: Table, row: Row, column: str, operation: str, tool: str) -> HandbookSpeed:
    printed = row["printed"]
    recalled = not (isinstance(printed, tuple) and column in printed)
    source = f"{table.meta.source}, {table.meta.edition} edition"
    if recalled:
        source += ", from memory, check before relying on it"
    return HandbookSpeed(
        str(row["material"]), str(row["condition"]), operation, tool, number(row[column]), source, recalled
    )


def _group_force(group: int) -> CuttingForce:
    table = load("cutting_force_vdi")
    row = table.row(group)
    recalled = not row["printed"]
    source = table.meta.source + (", from memory, check before relying on it" if recalled else "")
    return CuttingForce(str(row["material"]), number(row["kc11"]), number(row["mc"]), source, recalled)


def _school_force(table: Table, row: Row) -> CuttingForce:
    source = f"{table.meta.source}, {table.meta.read}"
    return CuttingForce(str(row["material"]), number(row["kc11"]), number(row["mc"]), source, recalled=True)


def _tool(tool: str) -> str:
    known = {"hss": "HSS", "high-speed steel": "HSS", "carbide": "carbide"}
    found = known.get(tool.strip().lower())
    if found is None:
        raise Unknown("cutting tool material", got=tool, near=near(tool, tuple(known)), way_out="HSS or carbide")
    return found


def _above_zero(what: str, value: float, unit: str) -> None:
    if not math.isfinite(value):
        raise Refused(what, got=value, reason="it is not a number")
    if value <= 0:
        raise OutOfRange(what, got=f"{value:g} {unit}", allowed="above 0")


def _within(what: str, value: float, low: float, high: float, unit: str) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise OutOfRange(
            what, got=f"{value:g} {unit}".strip(), allowed=f"{low:g} to {high:g} {unit}".strip(), source=_FORCE_SOURCE
        )
