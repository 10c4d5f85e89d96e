"""Where every joint of a valve gear is over a turn and over the reverser, as plain arrays: for a page that moves it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import Member, gear
from asmade.motion.gears.picture import CENTRE
from asmade.motion.valves.engine import ENDS, End, Engine, Side, SideName, first_sample
from asmade.motion.valves.events import usual_positions
from asmade.motion.valves.piston import Piston
from asmade.reckon.values import Values
from asmade.verbs.plain import number
from asmade.verbs.valves import Gears, gears_at

Array = NDArray[np.float64]
Point = tuple[float, float]

CRANKS: Final = 72
"""Crank angles in a turn where none are asked for: every five degrees."""
MOST: Final = 3600
DIGITS: Final = 3
"""Places given are to a thousandth of a millimetre: far below what a screen can show."""


@dataclass(frozen=True, slots=True, eq=False)
class SideMotion:
    """One side in its own frame: axle centre at running height, x forward, y up, mm.

    ``joints``: by name, complex places x + iy of shape (1 or positions, 1 or crank angles): one row where the reverser
    does not move it, one column where the crank does not. NaN where the gear does not go together. ``valve_mm``: from
    the middle of the ports, forward positive, (positions, crank angles). ``opening_mm``: steam edge past the port's
    edge at each end, negative while closed, same shape; ``port_mm`` is the port's width. ``piston_per_cent``: of the
    stroke from the front dead centre, (crank angles,). ``crank_ahead_deg``: how far this side's crank stands ahead
    of the right one in forward running. ``slot_radius_mm``: of the link's or slide's slot, None without one.
    ``lines``: two points each of the cylinder's and the spindle's line.
    """

    side: SideName
    joints: Mapping[str, NDArray[np.complex128]]
    valve_mm: Array
    opening_mm: Mapping[End, Array]
    port_mm: Mapping[End, float]
    piston_per_cent: Array
    crank_ahead_deg: float
    slot_radius_mm: float | None
    lines: Mapping[str, tuple[Point, Point]]


@dataclass(frozen=True, slots=True, eq=False)
class ValveMotion:
    """Both sides at ``crank_deg`` (each side's own crank from straight ahead, as it turns in forward running)."""

    gears: Gears
    crank_deg: Array
    positions: Array
    members: tuple[Member, ...]
    sides: tuple[SideMotion, SideMotion]


def motion_of(
    values: Values, *, cranks: int = CRANKS, positions: tuple[float, ...] = (), gear_name: str = ""
) -> ValveMotion:
    """All joints of the gear of a book at its best known sizes, over a whole turn at each reverser position.

    ``cranks`` evenly spaced angles from 0 (3 to 3600); ``positions`` +1 full forward to -1 full backward, by quarters
    where none are named. Refuses a book without a gear, sizes that are not known, and positions the gear has not.
    """
    return motion_at(gears_at(values, gear_name), cranks=cranks, positions=positions)


def motion_at(gears: Gears, *, cranks: int = CRANKS, positions: tuple[float, ...] = ()) -> ValveMotion:
    """The same of gears at any kind of values."""
    if not 3 <= cranks <= MOST:
        raise OutOfRange("crank angles in a turn", got=cranks, allowed=f"3 to {MOST}")
    kind = gear(gears.bound[0].gear)
    crank: Array = np.asarray(np.arange(cranks) * (2 * math.pi / cranks), dtype=np.float64)
    reverser: Array = np.asarray(positions or usual_positions(gears.engine.right), dtype=np.float64)
    right, left = (_side(gears.engine, name, side, crank, reverser) for name, side in gears.engine.sides())
    members = kind.members
    return ValveMotion(gears, np.degrees(crank), reverser, members, (right, left))


def _side(engine: Engine, name: SideName, side: Side, crank: Array, reverser: Array) -> SideMotion:
    kind = gear(side.gear.gear)
    motion = kind.move(side.gear, crank, reverser)
    slotted = any(member.slot for member in kind.members)
    points = {point for member in kind.members for point in member.points} | ({CENTRE} if slotted else set())
    joints = {point: _least(motion.place(point)[..., 0]) for point in sorted(points)}
    valve = motion.place("valve")[..., 0] - first_sample(side.valve.mid)
    senses, laps, ports = side.valve.opening_senses(), side.valve.laps(), side.valve.ports()
    piston = Piston.of(side.gear)
    ahead = 0.0 if name == "R" else math.degrees(engine.quarter_rad) * (1.0 if engine.leads == "L" else -1.0)
    return SideMotion(
        side=name,
        joints=joints,
        valve_mm=valve,
        opening_mm={end: sense * valve - first_sample(lap) for end, sense, lap in zip(ENDS, senses, laps, strict=True)},
        port_mm={end: first_sample(port) for end, port in zip(ENDS, ports, strict=True)},
        piston_per_cent=100.0 * piston.from_front(crank[:, None])[:, 0] / piston.stroke[0],
        crank_ahead_deg=ahead,
        slot_radius_mm=first_sample(side.gear["slot_radius"]) if "slot_radius" in side.gear.sizes else None,
        lines=_lines(side),
    )


def _least(places: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """One row where all rows are alike, one column where all columns are."""
    if np.array_equal(places, np.broadcast_to(places[:1], places.shape), equal_nan=True):
        places = places[:1]
    if np.array_equal(places, np.broadcast_to(places[:, :1], places.shape), equal_nan=True):
        places = places[:, :1]
    return places


def _lines(side: Side) -> dict[str, tuple[Point, Point]]:
    """A stretch of the cylinder's line, from behind the axle, and of the spindle's line about its given point."""
    g = {n: first_sample(v) for n, v in side.gear.sizes.items()}
    radius, slope, height = g["crank_radius"], math.tan(g["cylinder_incline"]), g["cylinder_line_y"]
    back, front = -1.2 * radius, g["connecting_rod"] + 1.6 * radius
    x, y, rise = g["spindle_x"], g["spindle_y"], math.tan(g["spindle_incline"])
    reach = 1.3 * radius
    return {
        "cylinder": ((back, height + back * slope), (front, height + front * slope)),
        "spindle": ((x - reach, y - reach * rise), (x + reach, y + reach * rise)),
    }


# ---------------------------------------------------------------------- as plain data
def plain(found: ValveMotion) -> dict[str, Any]:
    """As lists and numbers, mm to a thousandth and degrees: see "The gear in motion" in docs/valves.md."""
    return {
        "gear": found.gears.name,
        "kind": found.gears.bound[0].gear,
        "values": found.gears.which,
        "set": found.gears.how_set,
        "crank_deg": _rounded(found.crank_deg),
        "positions": _rounded(found.positions),
        "members": [
            {"name": m.name, "joints": list(m.line), "slot": list(m.slot) if m.slot else None, "fixed": m.fixed}
            for m in found.members
        ],
        "sides": {side.side: _plain_side(side) for side in found.sides},
    }


def _plain_side(side: SideMotion) -> dict[str, Any]:
    return {
        "joints": {name: {"x": _rounded(j.real), "y": _rounded(j.imag)} for name, j in side.joints.items()},
        "valve_mm": _rounded(side.valve_mm),
        "opening_mm": {end: _rounded(opening) for end, opening in side.opening_mm.items()},
        "port_mm": {end: number(port) for end, port in side.port_mm.items()},
        "piston_per_cent": _rounded(side.piston_per_cent),
        "crank_ahead_deg": number(side.crank_ahead_deg),
        "slot_radius_mm": number(side.slot_radius_mm),
        "lines": {name: [list(point) for point in line] for name, line in side.lines.items()},
    }


def _rounded(values: Array) -> Any:
    """Nested lists; null where the gear does not go together."""
    tidy = np.round(values, DIGITS) + 0.0
    known = np.isfinite(tidy)
    return tidy.tolist() if known.all() else np.where(known, tidy, np.array(None)).tolist()


__all__ = ["CRANKS", "SideMotion", "ValveMotion", "motion_at", "motion_of", "plain"]
