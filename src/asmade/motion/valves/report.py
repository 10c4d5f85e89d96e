"""Valve events of the whole engine as plain results: sides, ends, beats, and what to take note of."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asmade.motion.linkage import CannotMeet, Links
from asmade.motion.valves.engine import ENDS, End, Engine, Side, SideName, first_sample
from asmade.motion.valves.events import Events, Happening, events, usual_positions
from asmade.motion.valves.piston import Piston

SWING_LIMIT_RAD = math.radians(50.0)
"""Total swing of an expansion link; common practice, no source."""
ROUGH_MM = 1e-4
"""Uncertainty of the valve's curve worth telling: far below anything that can be set at the bench."""
TOGGLE_LIMIT_RAD = math.radians(25.0)
"""Least angle between links at a common pin, from in line; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Event:
    """When: per cent done of the stroke it falls in, and crank angle (deg) from that end's dead centre."""

    per_cent: float
    crank_deg: float


@dataclass(frozen=True, slots=True)
class EndEvents:
    """Events of one end; an event that does not happen is None."""

    end: End
    lead_mm: float
    admission: Event | None
    cutoff: Event | None
    release: Event | None
    compression: Event | None
    opening_mm: float
    port_opening_mm: float
    past_port_mm: float


@dataclass(frozen=True, slots=True)
class SideEvents:
    """One side at one reverser position; None where the gear has no link or does not assemble."""

    reverser: float
    side: SideName
    ends: tuple[EndEvents, EndEvents] | None
    travel_mm: float | None
    die_slip_mm: float | None
    die_farthest_mm: float | None
    link_swing_deg: float | None
    joint_angles_deg: dict[Links, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Beats:
    """The four exhausts of a turn: crank angle (deg) between one release and the next; 90 each is even."""

    reverser: float
    intervals_deg: tuple[float, float, float, float]

    @property
    def out_by_deg(self) -> float:
        """Greatest distance from a quarter turn."""
        return max(abs(interval - 90.0) for interval in self.intervals_deg)


@dataclass(frozen=True, slots=True)
class Differences:
    """At one reverser position: front less back of each side (right, left), right less left of each end (front, back).

    Leads in mm, cut-offs in per cent; None where an event does not happen or a side does not assemble.
    """

    reverser: float
    lead_between_ends_mm: tuple[float | None, float | None]
    cutoff_between_ends: tuple[float | None, float | None]
    lead_between_sides_mm: tuple[float | None, float | None]
    cutoff_between_sides: tuple[float | None, float | None]


@dataclass(frozen=True, slots=True)
class Notice:
    """Something to take note of: what, where, the figure, its limit and where the limit comes from."""

    code: str
    text: str
    side: SideName
    reverser: float | None = None
    end: End | None = None
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class EngineEvents:
    """All of it: positions (side by side), differences, beats, notices."""

    positions: tuple[SideEvents, ...]
    differences: tuple[Differences, ...]
    beats: tuple[Beats, ...]
    notices: tuple[Notice, ...]


def engine_events(engine: Engine, positions: tuple[float, ...] | None = None) -> EngineEvents:
    """Events of both sides at these reverser positions; figures of the first sample."""
    positions = usual_positions(engine.right) if positions is None else positions
    found = {name: events(side, positions) for name, side in engine.sides()}
    rows = tuple(
        _side_events(found[name], place, name) for place in range(len(positions)) for name, _ in engine.sides()
    )
    beats = tuple(beat for place in range(len(positions)) if (beat := _beats(engine, found, place)) is not None)
    notices = [notice for name, side in engine.sides() for notice in _notices(side, found[name], name)]
    differences = tuple(_differences(found, place) for place in range(len(positions)))
    return EngineEvents(rows, differences, beats, tuple(notices))


def _event(happening: Happening, place: int, end: int) -> Event | None:
    angle = float(happening.crank_rad[place, end, 0])
    if not math.isfinite(angle):
        return None
    return Event(float(happening.per_cent[place, end, 0]), math.degrees(angle))


def _side_events(found: Events, place: int, side: SideName) -> SideEvents:
    reverser = float(found.positions[place])
    if not found.assembled[place, 0]:
        return SideEvents(reverser, side, None, None, None, None, None, {})
    front, back = (
        EndEvents(
            name,
            float(found.lead[place, end, 0]),
            _event(found.admission, place, end),
            _event(found.cutoff, place, end),
            _event(found.release, place, end),
            _event(found.compression, place, end),
            float(found.opening[place, end, 0]),
            float(found.port_opening[place, end, 0]),
            float(found.past_port[place, end, 0]),
        )
        for end, name in enumerate(ENDS)
    )
    die, swing = found.die, found.link_swing
    return SideEvents(
        reverser,
        side,
        (front, back),
        float(found.travel[place, 0]),
        None if die is None else float(die.whole[place, 0]),
        None if die is None else float(die.farthest[place, 0]),
        None if swing is None else math.degrees(swing.whole[place, 0]),
        {
            links: (math.degrees(reach.least[place, 0]), math.degrees(reach.greatest[place, 0]))
            for links, reach in found.joints.items()
        },
    )


def _differences(found: dict[SideName, Events], place: int) -> Differences:
    lead = np.stack([found[name].lead[place, :, 0] for name in ("R", "L")])
    cutoff = 100.0 * np.stack([found[name].cutoff.cycle[place, :, 0] for name in ("R", "L")])

    def told(pair: NDArray[np.float64]) -> tuple[float | None, float | None]:
        first, second = (float(value) if math.isfinite(value) else None for value in pair)
        return first, second

    return Differences(
        float(found["R"].positions[place]),
        told(lead[:, 0] - lead[:, 1]),
        told(cutoff[:, 0] - cutoff[:, 1]),
        told(lead[0] - lead[1]),
        told(cutoff[0] - cutoff[1]),
    )


def _beats(engine: Engine, found: dict[SideName, Events], place: int) -> Beats | None:
    """Releases of both sides and ends in the turn of the right crank."""
    angles = []
    for name, side in engine.sides():
        sense = -1.0 if found[name].positions[place] < 0 else 1.0
        piston = Piston.of(side.gear)
        behind = 0.0 if name == "R" else (engine.quarter_rad if engine.leads == "R" else -engine.quarter_rad)
        for end, dead in enumerate((piston.front_dead_centre, piston.back_dead_centre)):
            release = found[name].release.crank_rad[place, end, 0]
            angles.append(float(dead[0]) + sense * float(release) + behind)
    if not np.isfinite(angles).all():
        return None
    turned = np.sort(np.degrees(angles) % 360.0)
    first, second, third, fourth = np.diff(np.append(turned, turned[0] + 360.0)).tolist()
    return Beats(float(found["R"].positions[place]), (first, second, third, fourth))


def _notices(side: Side, found: Events, name: SideName) -> list[Notice]:
    notices = [_does_not_meet(fault, name) for fault in found.faults]
    if found.curve_error > ROUGH_MM:
        text = f"the valve moves by jerks (links near to toggling): figures are only good to {found.curve_error:.1g} mm"
        notices.append(Notice("rough_motion", text, name, None, None, found.curve_error, ROUGH_MM, "mm"))
    for place, reverser in enumerate(found.positions.tolist()):
        if found.assembled[place, 0]:
            notices += [n for end in range(2) for n in _end_notices(side, found, name, place, end)]
            notices += _gear_notices(side, found, name, place, reverser)
    return notices


def _does_not_meet(fault: CannotMeet, name: SideName) -> Notice:
    return Notice("does_not_assemble", str(fault), name, fault.position, value=fault.short_mm, limit=0.0, unit="mm")


def _end_notices(side: Side, found: Events, name: SideName, place: int, end: int) -> list[Notice]:
    reverser, which, here = float(found.positions[place]), ENDS[end], (place, end, 0)
    at = f"{which} end, position {reverser:+.2f}"
    opening, lead = float(found.opening[here]), float(found.lead[here])
    lap = first_sample(side.valve.laps()[end])
    if not found.opens[here]:
        text = f"{at}: the port never opens; the valve moves {opening + lap:.2f} mm that way, the lap is {lap:.2f} mm"
        way = "lengthen the travel or shorten the lap"
        return [Notice("never_opens", f"{text}: {way}", name, reverser, which, opening, 0.0, "mm")]
    notices = []
    if not found.cuts_off[here]:
        notices.append(Notice("never_cuts_off", f"{at}: the port never closes to steam", name, reverser, which))
    if not found.exhausts[here]:
        text = f"{at}: the port never opens to exhaust: shorten the exhaust lap"
        notices.append(Notice("never_exhausts", text, name, reverser, which))
    if found.stretches[here] > 1:
        count = int(found.stretches[here])
        notices.append(Notice("opens_twice", f"{at}: opens to steam {count} times in a turn", name, reverser, which))
    if lead < 0:
        text = f"{at}: at the dead centre the port is still covered by {-lead:.2f} mm"
        notices.append(Notice("late_admission", text, name, reverser, which, lead, 0.0, "mm"))
    return notices


def _gear_notices(side: Side, found: Events, name: SideName, place: int, reverser: float) -> list[Notice]:
    notices = []
    if found.die is not None:
        half = first_sample(side.gear["link_half_slot"])
        farthest = float(found.die.farthest[place, 0])
        if farthest > half:
            text = (
                f"position {reverser:+.2f}: the die pin goes {farthest:.2f} mm from the middle, the slot has {half:.2f}"
            )
            notices.append(Notice("die_past_slot", text, name, reverser, value=farthest, limit=half, unit="mm"))
    if found.link_swing is not None:
        swing = float(found.link_swing.whole[place, 0])
        if swing > SWING_LIMIT_RAD:
            text = f"position {reverser:+.2f}: the link swings {math.degrees(swing):.1f} deg in all"
            limit = math.degrees(SWING_LIMIT_RAD)
            source = "common practice, no source"
            notices.append(Notice("link_swing", text, name, reverser, None, math.degrees(swing), limit, "deg", source))
    for links, reach in found.joints.items():
        from_line = min(float(reach.least[place, 0]), math.pi - float(reach.greatest[place, 0]))
        if from_line < TOGGLE_LIMIT_RAD:
            degrees, limit = math.degrees(from_line), math.degrees(TOGGLE_LIMIT_RAD)
            text = f"position {reverser:+.2f}: {links[0]} and {links[1]} come within {degrees:.1f} deg of a line"
            source = "common practice, no source"
            notices.append(Notice("near_toggle", text, name, reverser, None, degrees, limit, "deg", source))
    return notices
