"""Joints bonded with an anaerobic retaining adhesive: what they hold, how long they take, what can go wrong.

Strength, gap range and times belong to a product: the builder types them in from its data sheet. Until then
``PLACEHOLDER`` stands in, on the safe side and marked as such. Gaps are ON DIAMETER.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.joints.checks import larger, not_negative, positive, within
from asmade.standards import tables

if TYPE_CHECKING:
    from asmade.reckon.joints.checks import Values

CAUTIONS = (
    "Read the product's own safety sheet; gloves and eye protection: these adhesives can make the skin react for life.",
    "Degrease with solvent in the open, away from flame, hot metal and sparks; let it dry before bonding.",
    "Work out gap, order and time first, and try the parts together dry: once it grips it cannot be moved.",
    "Heating to undo gives off fumes: open air or extraction, nothing near that can catch fire (solvent, paint, oil).",
)


@dataclass(frozen=True, slots=True)
class Adhesive:
    """A product as its data sheet describes it; gaps on diameter, times at ``reference_c``."""

    name: str
    strength_mpa: float  # compressive shear, ISO 10123, steel pin and collar, fully cured
    gap_least_mm: float
    gap_most_mm: float
    working_minutes: float  # until it grips so that it cannot be moved
    full_cure_hours: float
    reference_c: float  # temperature for which the times hold
    source: str
    service_most_c: float | None = None  # None = not known
    undo_c: float | None = None  # None = not known
    placeholder: bool = False

    def __post_init__(self) -> None:
        """Refuse what no data sheet says."""
        positive("shear strength", self.strength_mpa, "MPa")
        within("shear strength", self.strength_mpa, 0, 60, "MPa", way_out="data sheets give 5 to 40 MPa (N/mm2)")
        not_negative("least gap on diameter", self.gap_least_mm, "mm")
        larger("greatest gap on diameter", self.gap_most_mm, "the least", self.gap_least_mm, "mm")
        positive("working time", self.working_minutes, "min")
        positive("time to full cure", self.full_cure_hours, "h")
        within("reference temperature", self.reference_c, 10, 40, "C")
        if not self.source:
            raise Refused("adhesive", got=self.name, reason="name the data sheet and its issue as the source")


PLACEHOLDER = Adhesive(
    name="placeholder until a data sheet is entered",
    strength_mpa=10.0,
    gap_least_mm=0.03,
    gap_most_mm=0.10,
    working_minutes=3.0,
    full_cure_hours=24.0,
    reference_c=22.0,
    source="common practice, no source; on the safe side of what data sheets show",
    placeholder=True,
)


@dataclass(frozen=True, slots=True)
class Factors:
    """What is left of the data sheet's strength in this joint: each above 0 up to 1, but ``safety`` 1 or more."""

    gap: float
    material: float
    temperature: float
    surface: float
    safety: float

    def __post_init__(self) -> None:
        """Refuse a factor that would add strength."""
        for name in ("gap", "material", "temperature", "surface"):
            value: float = getattr(self, name)
            positive(f"factor for {name}", value, "")
            within(f"factor for {name}", value, 0, 1, "")
        within("factor of safety", self.safety, 1, 20, "")

    @property
    def product(self) -> float:
        """Share of the strength that may be counted on."""
        return self.gap * self.material * self.temperature * self.surface / self.safety


def placeholder_factor(name: str) -> float:
    """Stand-in factor for a material, surface or temperature, from table ``adhesive_factors``.

    Source: common practice, no source: placeholders on the safe side; the product's data sheet rules.
    Range: the names in the table.
    Anchor: degreased turned steel is the test of ISO 10123 itself, so its factors are 1.

    >>> placeholder_factor("steel"), placeholder_factor("turned and degreased")
    (1.0, 1.0)
    """
    return float(tables.number(tables.load("adhesive_factors", "asmade.reckon.joints").row(name)["factor"]))


def shear_strength_mpa(force_n: Values, d_mm: Values, length_mm: Values) -> Values:
    """Shear strength from a pin-and-collar test (on scrap, say): force at which it moved over the bonded area.

        tau = F/(pi d l)

    Source: ISO 10123 (pin about 12.7 mm, collar 11 mm).
    Range: force, d and l above 0.
    Anchor: 6.58 kN, 12.7 x 11 mm: 14.99 MPa (row iso10123-2).

    >>> round(shear_strength_mpa(6580, 12.7, 11), 2)
    14.99
    """
    positive("force at failure", force_n, "N")
    return force_n / bonded_area_mm2(d_mm, length_mm)


def bonded_area_mm2(d_mm: Values, length_mm: Values, grooves_mm: Values = 0.0) -> Values:
    """Area of the bond cylinder; ``grooves_mm`` is the length taken up by grooves or recesses, all together.

        A = pi d (l - l_grooves)

    Source: geometry.
    Range: d and l above 0, grooves 0 or more and less than l.
    Anchor: 15 x 20 mm: 942.48 mm2 (by hand).

    >>> round(bonded_area_mm2(15, 20), 2)
    942.48
    """
    positive("joint diameter", d_mm, "mm")
    positive("bonded length", length_mm, "mm")
    not_negative("length of grooves", grooves_mm, "mm")
    larger("bonded length", length_mm, "the grooves", grooves_mm, "mm")
    return math.pi * d_mm * (length_mm - grooves_mm)


def bonded_force_n(
    d_mm: Values, length_mm: Values, strength_mpa: Values, factor: Values, grooves_mm: Values = 0.0
) -> Values:
    """Axial force that the bond holds.

        F = tau f pi d l

    Source: uniform shear on the bond cylinder, any text on strength of materials; tau by ISO 10123.
    Range: strength above 0; factor above 0 up to 1; short joints (over about 1.5 d the ends carry most of the load).
    Anchor: 15 x 20 mm, 20 MPa, factor 1: 18 850 N (row bond-0-axial).

    >>> round(bonded_force_n(15, 20, 20, 1))
    18850
    """
    positive("shear strength", strength_mpa, "MPa")
    positive("factor on the strength", factor, "")
    within("factor on the strength", factor, 0, 1, "")
    return strength_mpa * factor * bonded_area_mm2(d_mm, length_mm, grooves_mm)


def bonded_torque_nm(
    d_mm: Values, length_mm: Values, strength_mpa: Values, factor: Values, grooves_mm: Values = 0.0
) -> Values:
    """Torque that the bond holds, in N m.

        T = tau f pi d^2 l / 2

    Source: uniform shear on the bond cylinder, any text on strength of materials; tau by ISO 10123.
    Range: as ``bonded_force_n``.
    Anchor: 15 x 20 mm, 20 MPa, factor 1: 141.37 N m (row bond-0-slip).

    >>> round(bonded_torque_nm(15, 20, 20, 1), 2)
    141.37
    """
    return bonded_force_n(d_mm, length_mm, strength_mpa, factor, grooves_mm) * d_mm / 2000


GapVerdict = Literal["within the product's range", "too tight: no room for adhesive", "too wide for the product"]


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap on diameter against what a product is made for; ``margin_mm`` to the nearer limit, negative outside."""

    gap_mm: float
    verdict: GapVerdict
    margin_mm: float
    source: str


def gap_against(adhesive: Adhesive, hole_mm: float, shaft_mm: float) -> Gap:
    """Gap on diameter of two sizes as drawn, chosen or measured, against the product's range.

        gap = hole - shaft,   least <= gap <= most

    Source: the product's data sheet, as entered.
    Range: sizes above 0; a shaft larger than its hole is a press fit and is refused here.
    Anchor: 15.90 and 15.86: 0.04 mm, within 0.03 to 0.10 (by hand).

    >>> gap_against(PLACEHOLDER, 15.90, 15.86).verdict
    "within the product's range"
    """
    positive("hole", hole_mm, "mm")
    positive("shaft", shaft_mm, "mm")
    gap = round(hole_mm - shaft_mm, 9)  # sizes are decimals; their difference should be one too
    not_negative("gap on diameter", gap, "mm", "the shaft is larger than the hole: this is a press fit, see press")
    margin = round(min(gap - adhesive.gap_least_mm, adhesive.gap_most_mm - gap), 9)
    verdict: GapVerdict = "within the product's range"
    if gap < adhesive.gap_least_mm:
        verdict = "too tight: no room for adhesive"
    elif gap > adhesive.gap_most_mm:
        verdict = "too wide for the product"
    return Gap(gap, verdict, margin, adhesive.source)


def cure_time_factor(at_c: float, reference_c: float) -> float:
    """How many times longer (below 1: shorter) curing takes at a temperature than at the data sheet's.

        factor = 2.5^((t_ref - t)/10)

    Source: rule of the chemist (a reaction about 2 to 3 times slower per 10 K), set so that 24 h at 22 C become the
        72 h at 10 C of TM 5-3820-256-24-5; the product's own curve rules.
    Range: 5 to 40 C; colder it may not cure at all, warmer is not the data sheet's room.
    Anchor: 10 C against 22 C: 3.0 (72 h over 24 h).

    >>> round(cure_time_factor(10, 22), 2)
    3.0
    """
    for thing, value in (("temperature of the workshop", at_c), ("reference temperature", reference_c)):
        within(thing, value, 5, 40, "C", way_out="warm the parts to room temperature, or ask the data sheet")
    return float(2.5 ** ((reference_c - at_c) / 10))


def full_cure_hours(adhesive: Adhesive, at_c: float, *, gap_factor: float, metal_factor: float) -> float:
    """Time to full strength at a temperature; wide gaps and passive metals take longer by the factors given.

        t = t_sheet * 2.5^((t_ref - t)/10) * gap factor * metal factor

    Factors (1 or more) are read from the curves of the data sheet.

    Source: data sheet as entered; temperature by ``cure_time_factor``.
    Range: 5 to 40 C, factors 1 to 20.
    Anchor: 24 h at 22 C becomes 72 h at 10 C (TM 5-3820-256-24-5).

    >>> round(full_cure_hours(PLACEHOLDER, 10, gap_factor=1, metal_factor=1))
    72
    """
    within("factor for the gap", gap_factor, 1, 20, "")
    within("factor for the metal", metal_factor, 1, 20, "")
    return adhesive.full_cure_hours * cure_time_factor(at_c, adhesive.reference_c) * gap_factor * metal_factor


def working_minutes(adhesive: Adhesive, at_c: float) -> float:
    """Time until the joint can no longer be moved; warmth shortens it, a wide gap is not counted on to lengthen it.

        t = t_sheet * min(1, 2.5^((t_ref - t)/10))

    Cold is not counted on either: an active metal may grip early.

    Source: data sheet as entered; temperature by ``cure_time_factor``.
    Range: 5 to 40 C.
    Anchor: at the reference temperature it is the data sheet's own.

    >>> working_minutes(PLACEHOLDER, 22)
    3.0
    """
    return adhesive.working_minutes * min(1.0, cure_time_factor(at_c, adhesive.reference_c))


def gap_volume_mm3(hole_mm: float, shaft_mm: float, length_mm: float) -> float:
    """Adhesive that fills the gap of a joint.

        V = pi/4 (H^2 - S^2) l

    Source: geometry.
    Range: hole larger than shaft; length above 0.
    Anchor: 16.00 and 15.95, 14 long: 17.57 mm3 (by hand).

    >>> round(gap_volume_mm3(16.00, 15.95, 14), 2)
    17.57
    """
    larger("hole", hole_mm, "the shaft", shaft_mm, "mm")
    positive("shaft", shaft_mm, "mm")
    positive("bonded length", length_mm, "mm")
    return math.pi / 4 * (hole_mm**2 - shaft_mm**2) * length_mm


def groove_volume_mm3(d_mm: float, width_mm: float, depth_mm: float) -> float:
    """Adhesive held by a square groove turned into the shaft.

        V = pi h (d - h) w

    Source: geometry (ring of outside d and inside d - 2 h).
    Range: width above 0, depth above 0 and less than half the diameter.
    Anchor: d 16, groove 1 wide 0.2 deep: 9.93 mm3 (by hand).

    >>> round(groove_volume_mm3(16, 1, 0.2), 2)
    9.93
    """
    positive("groove width", width_mm, "mm")
    positive("groove depth", depth_mm, "mm")
    larger("joint diameter", d_mm, "twice the groove depth", 2 * depth_mm, "mm")
    return math.pi * depth_mm * (d_mm - depth_mm) * width_mm


def undo_advice(adhesive: Adhesive) -> str:
    """Say how hot to make a joint to undo it, or that the data sheet must be asked.

    Source: the product's data sheet, as entered.
    Range: any adhesive.
    Anchor: none needed, it repeats what was entered.
    """
    if adhesive.undo_c is None:
        return f"{adhesive.name}: how hot to undo it is not known; the data sheet says. {CAUTIONS[3]}"
    return f"{adhesive.name}: heat to {adhesive.undo_c:g} C and part it hot ({adhesive.source}). {CAUTIONS[3]}"


def temperature_allowed(adhesive: Adhesive, service_c: float) -> bool | None:
    """Whether a joint may run at a temperature; None where the data sheet's limit has not been entered.

    Source: the product's data sheet, as entered.
    Range: -60 to 400 C; an axlebox or wheel seat near a firebox or smokebox is warmer than it looks.
    Anchor: none needed, it compares two entered figures.
    """
    if not (math.isfinite(service_c) and -60 <= service_c <= 400):
        raise OutOfRange("working temperature", got=service_c, allowed="-60 to 400 C")
    return None if adhesive.service_most_c is None else service_c <= adhesive.service_most_c
