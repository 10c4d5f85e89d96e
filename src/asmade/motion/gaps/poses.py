"""Where a moving body is at every crank angle: place of its own origin and how it is turned.

A point of the plane is a complex number, x forward, y up, mm. Crank angles are those of the side looked at, from its
front dead centre, positive in forward running: seen with the front to the right the wheels then turn clockwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange, Refused

Array: TypeAlias = NDArray[np.float64]
Complex: TypeAlias = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, eq=False)
class Poses:
    """Places (K) and unit vectors of the body's own x axis (K), one for every crank angle."""

    place: Complex
    along: Complex

    def __post_init__(self) -> None:
        """Refuse places that are not known and arrays that do not belong together."""
        if self.place.ndim != 1 or self.place.shape != self.along.shape:
            raise Refused("poses", got=(self.place.shape, self.along.shape),
                          reason="places and directions are one for every crank angle")  # fmt: skip
        for name, array in (("place", self.place), ("direction", self.along)):
            if not np.isfinite(array).all():
                raise Refused(f"poses, {name}", got=complex(array[~np.isfinite(array)][0]),
                              reason=f"it is not known at the crank angle number {int(np.argmax(~np.isfinite(array)))}",
                              way_out="give a place for every crank angle")  # fmt: skip

    @property
    def moves(self) -> bool:
        """Whether it moves at all."""
        return bool(np.ptp(self.place.real) + np.ptp(self.place.imag) + np.abs(self.along - self.along[:1]).max() > 0)

    def at(self, chosen: slice | Array | NDArray[np.intp]) -> Poses:
        """The poses at some of the crank angles, by index."""
        return Poses(self.place[chosen], self.along[chosen])


def given(x_mm: Array | float, y_mm: Array | float, angle_rad: Array | float, count: int) -> Poses:
    """Any motion: x, y and angle (anticlockwise, seen with the front to the right) over ``count`` crank angles."""
    x, y, angle = (np.broadcast_to(np.asarray(each, dtype=np.float64), (count,)) for each in (x_mm, y_mm, angle_rad))
    return Poses(x + 1j * y, np.exp(1j * angle))


def fixed(crank_rad: Array, x_mm: float = 0.0, y_mm: float = 0.0, angle_rad: float = 0.0) -> Poses:
    """A body that stays where it is."""
    return given(x_mm, y_mm, angle_rad, crank_rad.size)


def turning(crank_rad: Array, axle_x_mm: float, axle_y_mm: float, *, ahead_rad: float = 0.0) -> Poses:
    """A body on an axle, its own x axis along the crank, or ``ahead_rad`` of it in forward running."""
    return given(axle_x_mm, axle_y_mm, -(crank_rad + ahead_rad), crank_rad.size)


def pin(crank_rad: Array, axle_x_mm: float, axle_y_mm: float, radius_mm: float, *, ahead_rad: float = 0.0) -> Complex:
    """Places of a crank pin."""
    if not math.isfinite(radius_mm) or radius_mm <= 0:
        raise OutOfRange("crank radius", got=radius_mm, allowed="more than 0 mm")
    return np.asarray(axle_x_mm + 1j * axle_y_mm + radius_mm * np.exp(-1j * (crank_rad + ahead_rad)))


def carried(fore: Complex, aft: Complex) -> Poses:
    """A rod by the places of two of its pins: origin at the fore one, its own x axis from the aft to the fore.

    Coupling rods (two crank pins), connecting rods (gudgeon, crank pin), links of a valve gear.
    """
    span = fore - aft
    length = np.abs(span)
    if not (length > 1e-9).all():
        raise OutOfRange("distance of the pins of a rod", got=float(length.min()), allowed="more than 0 mm")
    return Poses(np.asarray(fore, dtype=np.complex128), np.asarray(span / length))


def sliding(places: Complex, incline_rad: float = 0.0) -> Poses:
    """A body that keeps its direction: a crosshead, a piston, a valve."""
    return Poses(np.asarray(places, dtype=np.complex128), np.full(places.shape, np.exp(1j * incline_rad)))


def gudgeon(crank_pin: Complex, rod_mm: float, *, line_y_mm: float = 0.0, incline_rad: float = 0.0) -> Complex:
    """Places of the gudgeon pin: ``rod_mm`` ahead of the crank pin, on the cylinder line.

    The line goes through (0, ``line_y_mm``) and rises forward by ``incline_rad``. Exact slider-crank:
    t = p + sqrt(L^2 - q^2), p and q the crank pin along and off the line. Raises ``OutOfRange`` where the rod does
    not reach the line, with the crank angle's number. Anchor: crank 30, rod 90, front dead centre: 120.
    """
    along = np.exp(1j * incline_rad)
    seen = np.conj(along) * (crank_pin - 1j * line_y_mm)
    short = np.abs(seen.imag) - rod_mm
    if not math.isfinite(rod_mm) or rod_mm <= 0 or (short >= 0).any():
        raise OutOfRange(
            "connecting rod",
            got=rod_mm,
            allowed=f"more than {float(np.abs(seen.imag).max()):.3f} mm, how far the crank pin gets from the cylinder "
            f"line (at the crank angle number {int(np.argmax(np.abs(seen.imag)))})",
            way_out="check connecting rod, crank radius and the height of the cylinder line",
        )
    return np.asarray(1j * line_y_mm + along * (seen.real + np.sqrt(rod_mm**2 - seen.imag**2)))
