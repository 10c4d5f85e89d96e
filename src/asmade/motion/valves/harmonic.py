"""The valve moved by a plain eccentric with long rods: the relations of the polar valve diagram in closed form.

Valve displacement ``h sin(angle + advance)``, h half the travel, crank angle from the dead centre of the end looked
at. The limit to which every gear tends with long rods, the start of a design, and the check of the general sums.
Source: polar valve diagram (Zeuner, Reuleaux), valve-gear textbooks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.measure.errors import OutOfRange

_SOURCE = "polar valve diagram (Zeuner, Reuleaux)"


@dataclass(frozen=True, slots=True)
class HarmonicEvents:
    """Crank angles (rad) from the dead centre; admission negative before it. ``opening``: greatest, unit of travel."""

    admission: float
    cutoff: float
    release: float
    compression: float
    opening: float
    lead: float


def _positive(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise OutOfRange(name, got=value, allowed="more than 0", source=_SOURCE)


def angle_of_advance(travel: float, lap: float, lead: float) -> float:
    """Angle (rad) by which the eccentric is ahead of square to the crank: sin = (lap + lead) / half travel.

    Anchor: travel 4.25, lap 1, lead 0.125: 31.96572 degrees.
    """
    _positive("valve travel", travel)
    sine = (lap + lead) / (0.5 * travel)
    if not -1.0 < sine < 1.0:
        raise OutOfRange(
            "lap and lead",
            got=lap + lead,
            allowed=f"less than half the travel, {0.5 * travel:g}",
            source=_SOURCE,
            way_out="a lap of half the travel never opens the port: lengthen the travel or shorten the lap",
        )
    return math.asin(sine)


def events_of_eccentric(travel: float, lap: float, exhaust_lap: float, advance_rad: float) -> HarmonicEvents:
    """Events of one end. Lap, exhaust lap (negative: clearance) and travel in one unit.

    Anchor: travel 4.5, lap 1.125, exhaust lap 0.25, advance 35 degrees: admission -5, cut-off 115,
    release 151.38, compression 318.62 degrees (Bevan, The Theory of Machines).
    """
    _positive("valve travel", travel)
    half = 0.5 * travel
    for name, value in (("lap", lap), ("exhaust lap", exhaust_lap)):
        if not -half < value < half:
            raise OutOfRange(
                name,
                got=value,
                allowed=f"-{half:g} to {half:g}, half the travel",
                source=_SOURCE,
                way_out="a lap of half the travel never opens the port: lengthen the travel or shorten the lap",
            )
    steam, exhaust = math.asin(lap / half), math.asin(exhaust_lap / half)
    return HarmonicEvents(
        admission=steam - advance_rad,
        cutoff=math.pi - steam - advance_rad,
        release=math.pi + exhaust - advance_rad,
        compression=2 * math.pi - exhaust - advance_rad,
        opening=half - lap,
        lead=half * math.sin(advance_rad) - lap,
    )


def lap_for_cutoff(travel: float, cutoff: float, lead: float) -> float:
    """Lap that cuts off at this part (0..1) of the stroke, connecting rod long.

    From ``lap + lead = h sin(a)`` and ``lap = h sin(c + a)`` with c the crank angle at cut-off:
    ``cos(a + c/2) = -lead / (2 h sin(c/2))``. Anchor: travel 4.25, cut-off 0.75, lead 0.125: 0.999387.
    """
    _positive("valve travel", travel)
    if not 0.0 < cutoff < 1.0:
        raise OutOfRange("cut-off", got=cutoff, allowed="0 to 1 of the stroke, both excluded", source=_SOURCE)
    half, angle = 0.5 * travel, math.acos(1.0 - 2.0 * cutoff)
    cosine = -lead / (2.0 * half * math.sin(0.5 * angle))
    if not -1.0 <= cosine <= 1.0:
        raise OutOfRange("lead", got=lead, allowed=f"within {2 * half * math.sin(0.5 * angle):g} for this cut-off")
    return half * math.sin(math.acos(cosine) - 0.5 * angle) - lead


def travel_for_cutoff(lap: float, cutoff: float, lead: float) -> float:
    """Travel with which this lap cuts off at this part (0..1) of the stroke, connecting rod long.

    Anchor: lap equal to the opening (travel four laps) without lead cuts off at 75 per cent.
    """
    _positive("lap", lap)
    if not 0.0 < cutoff < 1.0:
        raise OutOfRange("cut-off", got=cutoff, allowed="0 to 1 of the stroke, both excluded", source=_SOURCE)
    # on the valve circle: lap + lead = h sin(a), lap = h sin(c + a) => h e^(ia) from its two projections
    angle = math.acos(1.0 - 2.0 * cutoff)
    along = (lap - (lap + lead) * math.cos(angle)) / math.sin(angle)
    return 2.0 * math.hypot(lap + lead, along)


def lap_by_rule(travel: float, cutoff: float, lead: float) -> float:
    """Lap by the old rule: half travel times the root of the stroke left after cut-off, less half the lead.

    Source: Bourne, A Catechism of the Steam Engine (1865), question 190; exact without lead. Anchor: travel 18,
    cut-off 3/4, no lead: 4.5.
    """
    _positive("valve travel", travel)
    if not 0.0 <= cutoff <= 1.0:
        raise OutOfRange("cut-off", got=cutoff, allowed="0 to 1 of the stroke", source="Bourne (1865)")
    return 0.5 * travel * math.sqrt(1.0 - cutoff) - 0.5 * lead


def stroke_done(crank_rad: float, rod_over_crank: float = math.inf) -> float:
    """Part of the stroke from the dead centre away from the axle; ``inf`` for a rod so long that it has no slope.

    Source: exact slider-crank. Anchor: rod 3 cranks, 30 degrees: 0.08796735.
    """
    if math.isinf(rod_over_crank):
        return 0.5 * (1.0 - math.cos(crank_rad))
    if not rod_over_crank > 1.0:
        raise OutOfRange("rod over crank", got=rod_over_crank, allowed="more than 1")
    sine = math.sin(crank_rad) / rod_over_crank
    return 0.5 * (1.0 - math.cos(crank_rad) + rod_over_crank * (1.0 - math.sqrt(1.0 - sine * sine)))


def lever_ratio(piston_stroke: float, lap: float, lead: float) -> float:
    """Short over long arm of a combination lever, both from the radius-rod pin: (lap + lead) / half stroke.

    In mid gear the valve moves 2 (lap + lead) while the piston makes its stroke. Source: locomotive valve-gear
    textbooks. Anchor: stroke 2.5, lap 0.115, lead 0.01: 0.1.
    """
    _positive("stroke", piston_stroke)
    _positive("lap and lead together", lap + lead)
    return (lap + lead) / (0.5 * piston_stroke)
