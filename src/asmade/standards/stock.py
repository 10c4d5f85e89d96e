"""Bar, flat and sheet as sold: preferred sizes, the nearest to a wanted one, delivery tolerance, mass and corners."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Literal, get_args

from asmade.measure.errors import OutOfRange, Refused, Unknown, near
from asmade.measure.gauges import gauges
from asmade.standards.limits import limits
from asmade.standards.tables import load

if TYPE_CHECKING:
    from collections.abc import Iterable

System = Literal["metric", "inch", "SWG", "BWG"]
Side = Literal["either", "not below", "not above"]
SYSTEMS: tuple[System, ...] = get_args(System)
SIDES: tuple[Side, ...] = get_args(Side)

_INCH = Fraction(254, 10)
_EN_10278 = "EN 10278:1999, classes of ISO 286-2"
# size in mm above which the next coarser class is delivered, EN 10278
_COARSER_OVER = {"flat thickness": 60, "hexagon bar": 80, "square bar": 80}
_LARGEST = {"flat width": 150}
# other words for a shape
_ALSO = {
    "round": "round bar",
    "hexagon": "hexagon bar",
    "square": "square bar",
    "silver steel": "ground bar",
    "ground round bar": "ground bar",
    "plate": "sheet",
    "strip": "sheet",
}


@dataclass(frozen=True, slots=True)
class StockSize:
    """A size in which a shape is sold, by the name under which it is asked for: ``7/16 in``, ``12 mm``, ``16 SWG``."""

    shape: str
    system: System
    name: str
    mm: Fraction

    @property
    def size_mm(self) -> float:
        """Stated size: diameter, across the flats, or thickness."""
        return float(self.mm)


@dataclass(frozen=True, slots=True)
class NearStock:
    """A stock size near a wanted one; ``over_mm`` is stock less wanted (negative: the stock is smaller)."""

    stock: StockSize
    over_mm: float


@dataclass(frozen=True, slots=True)
class Delivery:
    """Limits between which bar of a stated size is delivered."""

    shape: str
    size_mm: float
    tolerance_class: str
    upper_um: float
    lower_um: float
    source: str

    @property
    def least_mm(self) -> float:
        """Smallest size as delivered."""
        return self.size_mm + self.lower_um / 1000

    @property
    def greatest_mm(self) -> float:
        """Largest size as delivered."""
        return self.size_mm + self.upper_um / 1000


def shapes() -> tuple[str, ...]:
    """Shapes that are held: round, ground, hexagon and square bar, flat width and thickness, sheet."""
    return tuple(dict.fromkeys(str(row["shape"]) for row in load("stock_sizes").rows))


def stock_sizes(shape: str, system: System | None = None) -> tuple[StockSize, ...]:
    """Sizes in which ``shape`` is sold, smallest first; of one ``system`` or of all.

    Sheet comes in metric and inch thicknesses and by gauge number (SWG, BWG). Raises ``Unknown`` with near names.

    Source: practice of EN 10278 and the bar standards, from memory, check before relying on it.
    Range: the shapes of ``shapes``.
    Anchor: 6.5 mm round is a preferred size, 6.3 mm is not (DIN 671, recalled).
    """
    if system is not None and system not in SYSTEMS:
        raise Unknown("system of sizes", got=system, near=SYSTEMS)
    wanted = shape.strip().lower()
    every = _by_shape().get(_ALSO.get(wanted, wanted))
    if every is None:
        known = f"known: {', '.join(shapes())}; a flat has a width and a thickness"
        raise Unknown("shape of stock", got=shape, near=near(shape, shapes()), way_out=known)
    return every if system is None else tuple(size for size in every if size.system == system)


def is_preferred(shape: str, size_mm: Fraction | float | str, system: System | None = None) -> bool:
    """Whether ``shape`` is usually sold in this size. A float is read as the decimal it prints."""
    wanted = _exact(size_mm)
    return any(size.mm == wanted for size in stock_sizes(shape, system))


def nearest_stock(
    size_mm: Fraction | float | str,
    shape: str,
    *,
    system: System | None = None,
    have: Iterable[StockSize] | None = None,
    side: Side = "either",
    most: int = 3,
) -> tuple[NearStock, ...]:
    """Return the stock sizes nearest to a wanted one, nearest first; of two equally near the larger first.

    ``have``: what is in the rack (None = the preferred sizes). ``side``: "not below" when it is to be turned down,
    "not above" when it must go in. Units: mm. The answer is empty only if nothing lies on that side.
    Anchor: 11/16 in (17.4625 mm) round bar, metric: 17 mm (0.46 under), then 18 mm (0.54 over).
    """
    wanted = _exact(size_mm)
    if side not in SIDES:
        raise Unknown("side", got=side, near=SIDES)
    if most < 1:
        raise Refused("number of stock sizes", got=most, reason="at least one must be asked for")
    offered = stock_sizes(shape, system) if have is None else tuple(size for size in have if size.shape == shape)
    if have is not None and system is not None:
        offered = tuple(size for size in offered if size.system == system)
    allowed = [
        size
        for size in offered
        if side == "either" or (size.mm >= wanted if side == "not below" else size.mm <= wanted)
    ]
    ranked = sorted(allowed, key=lambda size: (abs(size.mm - wanted), -size.mm, SYSTEMS.index(size.system)))
    return tuple(NearStock(size, float(size.mm - wanted)) for size in ranked[:most])


def delivery(size_mm: Fraction | float | str, shape: str, tolerance_class: str | None = None) -> Delivery:
    """Limits to which bright bar of a stated size is delivered.

    Without ``tolerance_class`` the usual one: h9 for drawn round, h8 for ground, h11 for hexagon, square and flats
    (h12 above 60 mm thickness, above 80 mm across flats). All lie at or below the stated size.

    Units: mm and micrometres.

    Source: EN 10278.
    Range: 1 to 120 mm held to printed rows; flats to 150 mm wide.
    Anchor: 8 mm round h9, 0 / -36 um; flat 70 mm thick, 0 / -300 um (EN 10278).
    """
    stated = _exact(size_mm)
    rows = [row for row in load("stock_tolerances").rows if row["shape"] == shape]
    if not rows:
        known = tuple(dict.fromkeys(str(row["shape"]) for row in load("stock_tolerances").rows))
        raise Unknown("shape with a delivery tolerance", got=shape, near=near(shape, known), way_out="measure it")
    if stated > _LARGEST.get(shape, 500):
        raise OutOfRange(shape, got=f"{float(stated):g} mm", allowed=f"up to {_LARGEST[shape]} mm", source=_EN_10278)
    classes = [str(name) for row in rows for name in _names(row["classes"])]
    coarser = shape in _COARSER_OVER and stated > _COARSER_OVER[shape]
    wanted = tolerance_class or (classes[-1] if coarser else str(rows[0]["usual"]))
    if wanted not in classes:
        raise Unknown(f"delivery class of {shape}", got=wanted, near=tuple(dict.fromkeys(classes)))
    found = limits(stated, wanted)
    return Delivery(shape, float(stated), wanted, found.upper_um, found.lower_um, _EN_10278)


def section_area_mm2(shape: str, size_mm: float, thickness_mm: float | None = None) -> float:
    """Area of a bar's section in mm2.

        round pi d^2 / 4,  square s^2,  hexagon sqrt(3) / 2 s^2,  flat width x thickness

    d = diameter, s = across the flats, mm.

    Source: geometry.
    Range: sizes above 0; round, ground, square, hexagon and flat bar.
    Anchor: hexagon 10 mm across flats, 86.603 mm2 (by hand).
    Source: geometry. Range: sizes above 0. Anchor: hexagon 10 mm, 86.60 mm2 (by hand).
    """
    _above_zero("size of a bar", size_mm)
    kind = shape.strip().lower().removesuffix(" bar")
    if kind in ("round", "ground"):
        return 0.25 * math.pi * size_mm**2
    if kind == "square":
        return size_mm**2
    if kind == "hexagon":
        return 0.5 * math.sqrt(3) * size_mm**2
    if kind == "flat" and thickness_mm is not None:
        _above_zero("thickness of a flat", thickness_mm)
        return size_mm * thickness_mm
    if kind == "flat":
        raise Refused("flat bar", got=f"{size_mm:g} mm wide", reason="its thickness is missing")
    known = ("round bar", "ground bar", "square bar", "hexagon bar", "flat bar")
    raise Unknown("shape of bar", got=shape, near=near(shape, known), way_out=", ".join(known))


def mass_per_metre_kg(shape: str, size_mm: float, density_kg_m3: float, thickness_mm: float | None = None) -> float:
    """Mass of a metre of bar in kg: area x density.

    Source: geometry. Range: sizes and density above 0. Anchor: 20 mm round mild steel at 7850 kg/m3, 2.466 kg.
    """
    _above_zero("density", density_kg_m3)
    return section_area_mm2(shape, size_mm, thickness_mm) * density_kg_m3 * 1e-6


def across_corners(shape: str, across_flats_mm: float) -> float:
    """Across the corners of a hexagon (2 / sqrt 3 x flats) or square (sqrt 2 x flats): the bar it is milled from.

    Unit: that of the argument. Source: geometry. Range: above 0. Anchor: hexagon 5 mm, 5.7735 mm.
    """
    _above_zero("across flats", across_flats_mm)
    return across_flats_mm * _corner_ratio(shape)


def across_flats(shape: str, bar_diameter_mm: float) -> float:
    """Largest hexagon or square across the flats that comes out of a round bar.

    Source: geometry. Range: above 0. Anchor: hexagon, 5 mm, 4.3301 mm.
    """
    _above_zero("bar diameter", bar_diameter_mm)
    return bar_diameter_mm / _corner_ratio(shape)


def _corner_ratio(shape: str) -> float:
    kind = shape.strip().lower().removesuffix(" bar")
    ratios = {"hexagon": 2 / math.sqrt(3), "square": math.sqrt(2)}
    if kind not in ratios:
        raise Unknown("shape with flats", got=shape, near=near(kind, tuple(ratios)), way_out="hexagon or square")
    return ratios[kind]


@cache
def _by_shape() -> dict[str, tuple[StockSize, ...]]:
    found: dict[str, list[StockSize]] = {}
    for row in load("stock_sizes").rows:
        shape, text = str(row["shape"]), str(row["size"])
        if row["system"] == "metric":
            size = StockSize(shape, "metric", f"{text} mm", Fraction(text))
        else:
            inches = sum((Fraction(part) for part in text.split()), Fraction(0))
            size = StockSize(shape, "inch", f"{text} in", inches * _INCH)
        found.setdefault(shape, []).append(size)
    for system in ("SWG", "BWG"):
        found["sheet"] += [StockSize("sheet", system, named.name, named.mm) for named in gauges(system).values()]
    return {shape: tuple(sorted(sizes, key=lambda size: size.mm)) for shape, sizes in found.items()}


def _names(value: object) -> tuple[str, ...]:
    return tuple(str(name) for name in value) if isinstance(value, tuple) else (str(value),)


def _exact(size_mm: Fraction | float | str) -> Fraction:
    """Take a size as the exact decimal it prints; refuse what is no size."""
    if isinstance(size_mm, float) and not math.isfinite(size_mm):
        raise Refused("size of stock", got=size_mm, reason="it is not a number")
    value = size_mm if isinstance(size_mm, Fraction) else Fraction(str(size_mm))
    if value <= 0:
        raise OutOfRange("size of stock", got=f"{float(value):g} mm", allowed="above 0 mm")
    return value


def _above_zero(what: str, value: float) -> None:
    if not math.isfinite(value):
        raise Refused(what, got=value, reason="it is not a number")
    if value <= 0:
        raise OutOfRange(what, got=f"{value:g}", allowed="above 0")
