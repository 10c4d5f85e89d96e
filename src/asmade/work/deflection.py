"""How far the work or the tool gives under the cut, and the taper or barrel shape that comes of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, get_args

from asmade.measure.errors import OutOfRange, Unknown, near
from asmade.work.checks import above_zero, finite, within

Holding = Literal["chuck only", "chuck and centre", "between centres"]
HOLDINGS: Final[tuple[Holding, ...]] = get_args(Holding)
RADIAL_SHARE: Final = 0.5
"""Radial force of a turning cut as a share of the main force, sharp tool: 0.3 to 0.5 is common practice, no source."""
LONGEST: Final[dict[Holding, float]] = {"chuck only": 4, "chuck and centre": 10, "between centres": 12}
"""Length to diameter past which work wants a steady: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Given:
    """How turned work comes out: diameters too large by so much near the chuck, at the free end, at the worst place."""

    holding: Holding
    worst_mm: float
    worst_at_mm: float
    near_mm: float
    far_mm: float
    slenderness: float
    too_slender: bool

    @property
    def shape(self) -> str:
        """The shape in words."""
        return "tapered, largest at the free end" if self.holding == "chuck only" else "barrel-shaped"


def holding(text: str) -> Holding:
    """One of the ways work is held, by its name."""
    wanted = text.strip().lower()
    for known in HOLDINGS:
        if known == wanted:
            return known
    raise Unknown("holding", got=text, near=near(wanted, HOLDINGS), way_out=", ".join(HOLDINGS))


def second_moment_mm4(diameter_mm: float, bore_mm: float = 0.0) -> float:
    """Second moment of area of a round section, mm4: I = pi (D^4 - d^4) / 64.

    Source: any strength of materials. Range: D above 0, bore below it.
    Anchor: 20 mm solid: 7853.98 mm4 (by hand).
    """
    above_zero("diameter", diameter_mm)
    if not 0 <= finite("bore", bore_mm) < diameter_mm:
        raise OutOfRange("bore", got=f"{bore_mm:g} mm", allowed=f"0 or more, below {diameter_mm:g} mm")
    return math.pi * (diameter_mm**4 - bore_mm**4) / 64


def deflection_mm(
    held: Holding, force_n: float, length_mm: float, at_mm: float, modulus_mpa: float, second_moment: float
) -> float:
    """How far a bar gives under a force square to it, at the place of the force, mm.

        chuck only:        F a^3 / (3 E I)
        chuck and centre:  F a^3 b^2 (3 L + b) / (12 E I L^3),   b = L - a
        between centres:   F a^2 b^2 / (3 E I L)

    a = distance from the chuck (or one centre); the chuck is taken as stiff, so the real figure is larger.

    Source: Shigley, Mechanical Engineering Design, table of beams (cantilever, propped, simply supported).
    Range: force 0 or more, 0 <= a <= L, a uniform round or other straight bar.
    Anchor: E 207,000 MPa, 10 mm round, 50 mm out, 100 N at the end: 0.0410 mm (by hand).
    """
    if finite("force", force_n) < 0:
        raise OutOfRange("force", got=f"{force_n:g} N", allowed="0 or more")
    above_zero("length", length_mm)
    within("place of the force", at_mm, 0, length_mm)
    stiff = above_zero("modulus", modulus_mpa, "MPa") * above_zero("second moment", second_moment, "mm4")
    rest = length_mm - at_mm
    if held == "chuck only":
        return force_n * at_mm**3 / (3 * stiff)
    if held == "chuck and centre":
        return force_n * at_mm**3 * rest**2 * (3 * length_mm + rest) / (12 * stiff * length_mm**3)
    return force_n * at_mm**2 * rest**2 / (3 * stiff * length_mm)


def softest_place(held: Holding) -> float:
    """Where along its length work gives most, as a share of the length from the chuck.

    Source: derivative of `deflection_mm` at the force; the propped bar gives most at 0.5858 L (2 - sqrt 2).
    Range: the three holdings. Anchor: between centres 0.5.
    """
    return {"chuck only": 1.0, "chuck and centre": 2 - math.sqrt(2), "between centres": 0.5}[held]


def turned_shape(
    held: Holding, force_n: float, length_mm: float, diameter_mm: float, modulus_mpa: float, *, bore_mm: float = 0.0
) -> Given:
    """How much too large a bar comes out, on diameter, where it gives under ``force_n`` (radial): twice the deflection.

    A force that does not change along the cut is assumed: a spring cut takes out most of it.

    Source: `deflection_mm`; on diameter it counts twice. Range: as there.
    Anchor: 100 N at the end of 10 mm round steel, 50 mm out: 0.082 mm taper (by hand).
    """
    inertia = second_moment_mm4(diameter_mm, bore_mm)

    def over(share: float) -> float:
        return 2 * deflection_mm(held, force_n, length_mm, share * length_mm, modulus_mpa, inertia)

    worst = softest_place(held)
    slender = length_mm / diameter_mm
    return Given(held, over(worst), worst * length_mm, over(0), over(1), slender, slender > LONGEST[held])


def longest_mm(held: Holding, force_n: float, diameter_mm: float, modulus_mpa: float, allowed_mm: float) -> float:
    """Greatest length that gives no more than ``allowed_mm`` on diameter under a radial force, mm.

    Deflection goes with the cube of the length, so one sum at unit length is enough.

    Source: `turned_shape`, solved for the length. Range: as there, force above 0.
    Anchor: the case of `turned_shape` turned round: 50 mm.
    """
    above_zero("force", force_n, "N")
    above_zero("taper allowed", allowed_mm)
    unit = turned_shape(held, force_n, 1.0, diameter_mm, modulus_mpa).worst_mm
    return float((allowed_mm / unit) ** (1 / 3))


def tool_deflection_mm(
    force_n: float, overhang_mm: float, width_mm: float, height_mm: float, modulus_mpa: float
) -> float:
    """How far the point of a square-shanked tool goes down under the main force, mm: 4 F L^3 / (E b h^3).

    Source: cantilever, Shigley. Range: above 0. Anchor: 400 N, 20 mm out, 10 x 10 mm, 210,000 MPa: 0.0061 mm (by hand).
    """
    for thing, value in (("overhang", overhang_mm), ("shank width", width_mm), ("shank height", height_mm)):
        above_zero(thing, value)
    above_zero("modulus", modulus_mpa, "MPa")
    if finite("force", force_n) < 0:
        raise OutOfRange("force", got=f"{force_n:g} N", allowed="0 or more")
    return 4 * force_n * overhang_mm**3 / (modulus_mpa * width_mm * height_mm**3)
