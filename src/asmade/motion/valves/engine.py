"""What the valve events are worked out from: the gear, the valve and the ports of each side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gears import Sizes
from asmade.motion.gears.kind import Figure

Admission: TypeAlias = Literal["outside", "inside"]
End: TypeAlias = Literal["front", "back"]
SideName: TypeAlias = Literal["R", "L"]
ENDS: tuple[End, End] = ("front", "back")


@dataclass(frozen=True, slots=True, eq=False)
class Valve:
    """A slide or piston valve over its ports; mm, each a number or one number per sample.

    ``admission``: steam comes in past the valve's ``outside`` edges (the usual slide valve) or between its heads
    (``inside``). An exhaust lap may be negative: exhaust clearance. ``mid``: place of the spindle pin along its
    line at which the valve stands in the middle of its ports, the thing that setting the spindle changes.
    """

    admission: Admission
    lap_front: Figure
    lap_back: Figure
    exhaust_lap_front: Figure
    exhaust_lap_back: Figure
    port_front: Figure
    port_back: Figure
    mid: Figure = 0.0

    def __post_init__(self) -> None:
        if self.admission not in ("outside", "inside"):
            raise Unknown("admission", got=self.admission, near=("outside", "inside"))
        for name in (
            "lap_front",
            "lap_back",
            "exhaust_lap_front",
            "exhaust_lap_back",
            "port_front",
            "port_back",
            "mid",
        ):
            value = np.asarray(getattr(self, name), dtype=np.float64)
            if not np.isfinite(value).all():
                raise OutOfRange(f"{name} of the valve", got=getattr(self, name), allowed="finite numbers")
            if name.startswith("port") and not (value > 0).all():
                raise OutOfRange(f"{name} of the valve", got=float(value.min()), allowed="more than 0 mm")

    @classmethod
    def alike(cls, admission: Admission, *, lap: Figure, exhaust_lap: Figure, port: Figure, mid: Figure = 0.0) -> Valve:
        """A valve with the same lap, exhaust lap and port at both ends."""
        return cls(admission, lap, lap, exhaust_lap, exhaust_lap, port, port, mid)

    def laps(self) -> tuple[Figure, Figure]:
        """Steam laps, front and back."""
        return self.lap_front, self.lap_back

    def exhaust_laps(self) -> tuple[Figure, Figure]:
        """Exhaust laps, front and back."""
        return self.exhaust_lap_front, self.exhaust_lap_back

    def ports(self) -> tuple[Figure, Figure]:
        """Widths of the steam ports, front and back."""
        return self.port_front, self.port_back

    def opening_senses(self) -> tuple[int, int]:
        """Sense in which the valve moves to open the front and the back port to steam; +1 is forward."""
        return (-1, 1) if self.admission == "outside" else (1, -1)


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """Gear and valve of one side of the engine."""

    gear: Sizes
    valve: Valve

    def with_mid(self, mid: Figure) -> Side:
        """The same with the valve set elsewhere on its spindle."""
        return Side(self.gear, replace(self.valve, mid=mid))

    def with_sizes(self, changes: dict[str, Figure]) -> Side:
        """The same with other dimensions of the gear, the lap (``lap``: both ends) or other fields of the valve."""
        gear: dict[str, Figure] = {}
        valve: dict[str, Any] = {}
        for name, value in changes.items():
            if name in VALVE_SIZES:
                for field in VALVE_SIZES[name]:
                    valve[field] = value
            else:
                gear[name] = value
        return Side(
            self.gear.with_sizes(gear) if gear else self.gear, replace(self.valve, **valve) if valve else self.valve
        )

    def size(self, name: str) -> Figure:
        """A dimension of the gear or of the valve by its name."""
        if name in VALVE_SIZES:
            value: Figure = getattr(self.valve, VALVE_SIZES[name][0])
            return value
        if name not in self.gear.sizes:
            raise Unknown("dimension of the valve gear", got=name, way_out=f"it has {', '.join(self.gear.sizes)}")
        return self.gear[name]

    def names(self) -> tuple[str, ...]:
        """Names of all dimensions of gear and valve."""
        return (*self.gear.sizes, *VALVE_SIZES)


VALVE_SIZES: dict[str, tuple[str, ...]] = {
    "lap": ("lap_front", "lap_back"),
    "lap_front": ("lap_front",),
    "lap_back": ("lap_back",),
    "exhaust_lap": ("exhaust_lap_front", "exhaust_lap_back"),
    "exhaust_lap_front": ("exhaust_lap_front",),
    "exhaust_lap_back": ("exhaust_lap_back",),
    "port_front": ("port_front",),
    "port_back": ("port_back",),
    "mid": ("mid",),
}
"""Dimensions of the valve that may be changed by name; ``mid`` is the setting of the valve on its spindle."""


@dataclass(frozen=True, slots=True, eq=False)
class Engine:
    """Both sides; ``leads`` is the side whose crank is ``quarter_rad`` ahead of the other in forward running."""

    right: Side
    left: Side
    leads: SideName = "R"
    quarter_rad: float = 0.5 * np.pi

    def __post_init__(self) -> None:
        if self.leads not in ("R", "L"):
            raise Unknown("leading side", got=self.leads, near=("R", "L"))
        if not 0 < self.quarter_rad < np.pi:
            raise OutOfRange("quarter", got=self.quarter_rad, allowed="0 to 180 degrees")

    def sides(self) -> tuple[tuple[SideName, Side], tuple[SideName, Side]]:
        """Right, then left."""
        return ("R", self.right), ("L", self.left)


def as_samples(*figures: Figure) -> tuple[NDArray[np.float64], ...]:
    """Each as an array over samples."""
    return tuple(np.atleast_1d(np.asarray(figure, dtype=np.float64)) for figure in figures)


def first_sample(figure: Figure) -> float:
    """The number itself, or that of the first sample."""
    return float(np.asarray(figure, dtype=np.float64).reshape(-1)[0])
