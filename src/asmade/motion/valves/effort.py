"""Tractive effort, mean pressure, crank effort and steam use: estimates from the valve events, without limits.

Pressures in MPa (1 MPa = 10 bar = 145 psi = 1 N/mm2), lengths in mm, forces in N. No strength of a boiler or of
any part under pressure is worked out here: for those the boiler code and the inspector that apply where the builder
lives decide.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from asmade.measure.errors import OutOfRange
from asmade.measure.tables import parse_table
from asmade.motion.valves.events import Events

Array: TypeAlias = NDArray[np.float64]

_HYPERBOLIC = "expansion along pressure x volume = constant (thermodynamics textbooks)"
ATMOSPHERE_MPA = 0.101325


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise OutOfRange(name.replace("_", " "), got=value, allowed="more than 0")


def tractive_effort(
    bore_mm: float, stroke_mm: float, wheel_mm: float, mean_pressure_mpa: float, cylinders: int = 2
) -> float:
    """Mean pull (N) at the tread of the driving wheels, without friction: d^2 s p / D for two cylinders.

    Source: rule of locomotive handbooks; equals the work of all double-acting pistons over the way rolled in a turn.
    Anchor: 17 x 24 in, wheels 68 in, mean pressure 80 psi: 8160 lbf.
    """
    _positive(bore=bore_mm, stroke=stroke_mm, wheel_diameter=wheel_mm, cylinders=cylinders)
    return 0.5 * cylinders * bore_mm**2 * stroke_mm * mean_pressure_mpa / wheel_mm


def starting_mean_pressure(boiler_mpa: float, factor: float = 0.85) -> float:
    """Mean pressure at starting in full gear: 85 per cent of the boiler's gauge pressure.

    Source: Encyclopaedia Britannica, 11th ed. (1911), Railways. Anchor: 175 psi: 149 psi.
    """
    _positive(boiler_pressure=boiler_mpa)
    if not 0 < factor <= 1:
        raise OutOfRange("factor of boiler pressure", got=factor, allowed="0 to 1")
    return factor * boiler_mpa


def mean_pressure_by_rule(initial_mpa: float, cutoff_per_cent: float) -> float:
    """Mean pressure of a locomotive by the admission: p (13.5 sqrt(c) - 28) / 100.

    Source: D. K. Clark's rule, agreeing with Vose, Handbook of Railroad Construction (1857), table 11, from 10 to 75
    per cent. Anchor: 100 psi, 50 per cent: 67 psi.
    """
    _positive(initial_pressure=initial_mpa)
    if not 10 <= cutoff_per_cent <= 75:
        raise OutOfRange(
            "cut-off",
            got=cutoff_per_cent,
            allowed="10 to 75 per cent",
            source="Vose (1857), table 11",
            way_out="use the mean pressure from the events themselves",
        )
    return initial_mpa * (13.5 * math.sqrt(cutoff_per_cent) - 28.0) / 100.0


def mean_pressure_of_expansion(supply_mpa: float, back_mpa: float, cutoff: float, clearance: float = 0.0) -> float:
    """Theoretical mean pressure: full pressure to cut-off (part of the stroke), hyperbolic expansion to the end.

    Absolute pressures; ``clearance`` as part of the swept volume. Source: thermodynamics textbooks (Joel, Basic
    Engineering Thermodynamics). Anchor: 1.25 MPa, back 0.13, cut-off 0.3: 0.6965 MPa.
    """
    _positive(supply_pressure=supply_mpa)
    if not 0 < cutoff <= 1:
        raise OutOfRange("cut-off", got=cutoff, allowed="0 to 1 of the stroke", source=_HYPERBOLIC)
    if not clearance >= 0:
        raise OutOfRange("clearance", got=clearance, allowed="0 or more of the swept volume", source=_HYPERBOLIC)
    full = cutoff + (cutoff + clearance) * math.log((1 + clearance) / (cutoff + clearance))
    return supply_mpa * full - back_mpa


def pressure_after_cutoff(supply_mpa: float, cutoff: float, done: float, clearance: float = 0.0) -> float:
    """Absolute pressure when this part of the stroke is done, hyperbolic expansion. Source: textbooks.

    Anchor: 9.03 bar cut off at 1/3, piston at 0.4421 of its stroke: 6.81 bar.
    """
    _positive(supply_pressure=supply_mpa)
    if not 0 < cutoff <= 1 or not 0 <= done <= 1:
        raise OutOfRange("cut-off and part of the stroke", got=(cutoff, done), allowed="0 to 1", source=_HYPERBOLIC)
    return supply_mpa if done <= cutoff else supply_mpa * (cutoff + clearance) / (done + clearance)


def mean_pressure(
    found: Events, supply_mpa: float, back_mpa: float, *, clearance: float, diagram_factor: float
) -> Array:
    """Mean effective pressure (MPa) of each end from its events: shape (positions, ends, samples).

    Absolute supply and back pressure. Full pressure from admission to cut-off, hyperbolic expansion to release, back
    pressure from there to compression, hyperbolic compression to admission; ``clearance`` as part of the swept
    volume; ``diagram_factor`` is what wiredrawing and rounded corners leave (0.7 to 0.9, common practice, no
    source). Ends that never open hold NaN.
    """
    _positive(supply_pressure=supply_mpa, back_pressure=back_mpa, clearance=clearance)
    if not 0 < diagram_factor <= 1:
        raise OutOfRange("diagram factor", got=diagram_factor, allowed="0 to 1", source="common practice, no source")
    cycles = (found.admission.cycle, found.cutoff.cycle, found.release.cycle, found.compression.cycle)
    return mean_pressure_of(*cycles, supply_mpa, back_mpa, clearance, diagram_factor)


def mean_pressure_of(
    admission: ArrayLike, cutoff: ArrayLike, release: ArrayLike, compression: ArrayLike,
    supply_mpa: ArrayLike, back_mpa: ArrayLike, clearance: ArrayLike, diagram_factor: ArrayLike,
) -> Array:  # fmt: skip
    """The sum of `mean_pressure` on events by their cycle (0..1 working, 1..2 return stroke), floats or arrays."""
    admission, cutoff, release, compression, supply_mpa, back_mpa, clearance, diagram_factor = (
        np.asarray(each, dtype=np.float64)
        for each in (admission, cutoff, release, compression, supply_mpa, back_mpa, clearance, diagram_factor)
    )
    # parts of the stroke on the way out (0..1) and, on the way back, still left to go
    early = np.where(admission >= 1, 2.0 - admission, 0.0)
    late = np.where(admission >= 1, 0.0, admission)
    cut = np.minimum(cutoff, 1.0)
    let = np.clip(release, cut, 1.0)
    closed = np.maximum(np.where(compression >= 1, 2.0 - compression, 1.0), early)
    out = (
        supply_mpa * (cut - late)
        + back_mpa * late
        + supply_mpa * (cut + clearance) * np.log((let + clearance) / (cut + clearance))
    )
    after = back_mpa * (1.0 - let)
    back = back_mpa * (1.0 - closed) + back_mpa * (closed + clearance) * np.log(
        (closed + clearance) / (early + clearance)
    )
    return np.asarray(diagram_factor * (out + after - back - supply_mpa * early))


@dataclass(frozen=True, slots=True)
class CrankEffort:
    """Forces (N) and turning moment (N mm) at one crank angle; guide force and tangential force with their sign."""

    rod_thrust: float
    guide_force: float
    tangential: float
    radial: float
    moment: float


def crank_effort(piston_force_n: float, crank_rad: float, crank_mm: float, rod_mm: float) -> CrankEffort:
    """From the force on the piston, line of stroke through the axle, crank angle from the front dead centre.

    Source: statics of the slider-crank (Khurmi and Gupta, Theory of Machines, ch. 15). Anchor: net 49.46 kN, crank
    300, rod 1200, 60 degrees: rod 50.65 kN, tangential 48.3 kN, moment 14.49 kN m.
    """
    _positive(crank_radius=crank_mm, connecting_rod=rod_mm)
    if crank_mm >= rod_mm:
        raise OutOfRange("crank radius", got=crank_mm, allowed=f"less than the rod, {rod_mm:g} mm")
    slope = math.asin(crank_mm * math.sin(crank_rad) / rod_mm)
    thrust = piston_force_n / math.cos(slope)
    tangential = thrust * math.sin(crank_rad + slope)
    return CrankEffort(
        thrust,
        piston_force_n * math.tan(slope),
        tangential,
        thrust * math.cos(crank_rad + slope),
        tangential * crank_mm,
    )


def indicated_power_w(mean_pressure_mpa: float, bore_mm: float, stroke_mm: float, rev_per_s: float) -> float:
    """Power (W) of one double-acting cylinder: p A 2 s n. Source: definition of mean effective pressure."""
    _positive(bore=bore_mm, stroke=stroke_mm)
    return mean_pressure_mpa * 0.25 * math.pi * bore_mm**2 * 2.0 * stroke_mm * rev_per_s * 1e-3


def weight_for_adhesion(effort_n: float, factor_of_adhesion: float) -> float:
    """Weight (N) on the coupled wheels that this pull asks for. Source: Vose (1857), factor 6 there."""
    _positive(tractive_effort=effort_n, factor_of_adhesion=factor_of_adhesion)
    return effort_n * factor_of_adhesion


@cache
def _steam() -> tuple[Array, Array]:
    text = files("asmade.motion.valves").joinpath("data", "saturated_steam.toml").read_text(encoding="utf-8")
    rows = np.array(parse_table("saturated_steam", tomllib.loads(text)).rows, dtype=np.float64)
    return rows[:, 0], rows[:, 1]


def steam_density(pressure_mpa: float) -> float:
    """Density (kg/m3) of dry saturated steam at an absolute pressure, 0.1 to 1.5 MPa.

    Source: steam tables recalled from memory, check before relying on it; between rows along the logarithms.
    """
    bar, density = _steam()
    if not bar[0] <= 10 * pressure_mpa <= bar[-1]:
        raise OutOfRange(
            "steam pressure (absolute)",
            got=f"{pressure_mpa:g} MPa",
            allowed=f"{bar[0] / 10:g} to {bar[-1] / 10:g} MPa",
            source="steam tables, recalled from memory",
        )
    return float(np.exp(np.interp(math.log(10 * pressure_mpa), np.log(bar), np.log(density))))


def steam_per_turn(
    found: Events, bore_mm: float, stroke_mm: float, supply_mpa: float, back_mpa: float, *, clearance: float
) -> Array:
    """Steam (g) taken by each end in a turn: shape (positions, ends, samples).

    What fills swept part and clearance at cut-off at supply pressure, less what was shut in at compression at back
    pressure; both dry and saturated. Condensation in small cylinders adds a third to as much again: common practice,
    no source.
    """
    _positive(bore=bore_mm, stroke=stroke_mm, clearance=clearance)
    swept = 0.25 * math.pi * bore_mm**2 * stroke_mm
    densities = steam_density(supply_mpa), steam_density(back_mpa)
    taken = steam_of(found.cutoff.cycle, found.compression.cycle, swept, *densities, clearance)
    return np.asarray(taken * np.where(found.opens, 1.0, np.nan))


def steam_of(
    cutoff: ArrayLike, compression: ArrayLike, swept_mm3: ArrayLike,
    supply_kg_m3: ArrayLike, back_kg_m3: ArrayLike, clearance: ArrayLike,
) -> Array:  # fmt: skip
    """The sum of `steam_per_turn` (g) on events by their cycle and densities of the steam, floats or arrays alike."""
    cutoff, compression, clearance = (np.asarray(each, dtype=np.float64) for each in (cutoff, compression, clearance))
    at_cutoff = np.minimum(cutoff, 1.0) + clearance
    kept = np.where(compression >= 1, 2.0 - compression, 1.0) + clearance
    taken = at_cutoff * np.asarray(supply_kg_m3) - kept * np.asarray(back_kg_m3)
    return np.asarray(np.asarray(swept_mm3) * 1e-6 * np.maximum(taken, 0.0))  # litres: kg/m3 x litres = grams


def steam_densities(pressure_mpa: ArrayLike) -> Array:
    """As `steam_density` for floats or arrays of pressures; NaN outside the table, for findings that must not raise."""
    bar, density = _steam()
    asked = 10 * np.asarray(pressure_mpa, dtype=np.float64)
    inside = (asked >= bar[0]) & (asked <= bar[-1])
    found = np.exp(np.interp(np.log(np.where(inside, asked, bar[0])), np.log(bar), np.log(density)))
    return np.asarray(np.where(inside, found, np.nan))
