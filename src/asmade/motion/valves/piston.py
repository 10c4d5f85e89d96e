"""Where the piston is: dead centres, stroke, and the part of the stroke done, with the connecting rod's obliquity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import Sizes

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Piston:
    """Slider-crank of one side; every field has the shape (samples,) and is in mm or rad.

    ``off``: how far the axle lies to the left of (above, for a level line) the cylinder line.
    """

    crank_radius: Array
    connecting_rod: Array
    off: Array
    incline: Array

    @classmethod
    def of(cls, sizes: Sizes) -> Piston:
        """From the dimensions of a gear; refuses a rod that cannot pass its dead centre."""
        radius, rod, line, incline, rise = (
            np.atleast_1d(np.asarray(sizes[name], dtype=np.float64))
            for name in ("crank_radius", "connecting_rod", "cylinder_line_y", "cylinder_incline", "axle_rise")
        )
        off = (rise - line) * np.cos(incline)
        short = np.asarray(rod - radius - np.abs(off))
        if not (short > 0).all():
            raise OutOfRange(
                "connecting rod",
                got=float(np.min(np.broadcast_to(rod, short.shape)[short <= 0])),
                allowed="more than the crank radius and the height of the cylinder line together",
                way_out="check crank radius, connecting rod centres and cylinder line",
            )
        return cls(*np.broadcast_arrays(radius, rod, off, incline))

    @property
    def front_dead_centre(self) -> Array:
        """Crank angle from x at which crank and rod lie in one line, piston at the front."""
        return -self.incline + np.arcsin(self.off / (self.connecting_rod + self.crank_radius))

    @property
    def back_dead_centre(self) -> Array:
        """Crank angle from x at which the crank lies back over the rod, piston at the back."""
        return np.pi - self.incline + np.arcsin(self.off / (self.connecting_rod - self.crank_radius))

    @property
    def stroke(self) -> Array:
        """Stroke of the piston; twice the crank radius where the cylinder line passes through the axle."""
        far = np.sqrt((self.connecting_rod + self.crank_radius) ** 2 - self.off**2)
        near = np.sqrt((self.connecting_rod - self.crank_radius) ** 2 - self.off**2)
        return far - near

    def dead_centre_rates(self) -> dict[str, tuple[Array, Array]]:
        """Rates of the front and back dead centre (rad) to each dimension that moves them."""
        long, short = self.connecting_rod + self.crank_radius, self.connecting_rod - self.crank_radius
        front = 1.0 / np.sqrt(long**2 - self.off**2)
        back = 1.0 / np.sqrt(short**2 - self.off**2)
        level, slope = np.cos(self.incline), -self.off * np.tan(self.incline)
        return {
            "crank_radius": (-front * self.off / long, back * self.off / short),
            "connecting_rod": (-front * self.off / long, -back * self.off / short),
            "cylinder_line_y": (-front * level, -back * level),
            "axle_rise": (front * level, back * level),
            "cylinder_incline": (front * slope - 1.0, back * slope - 1.0),
        }

    def from_front(self, crank_rad: Array) -> Array:
        """Distance of the piston from its front dead centre at crank angles (from x) of shape (..., samples).

        Source: exact slider-crank. Anchor: rod 3 cranks, crank at 30 degrees: 0.08796735 of the stroke.
        """
        pin = self.crank_radius * np.exp(-1j * (crank_rad + self.incline)) + 1j * self.off
        place = pin.real + np.sqrt(self.connecting_rod**2 - pin.imag**2)
        far = np.sqrt((self.connecting_rod + self.crank_radius) ** 2 - self.off**2)
        return np.asarray(far - place)


def rod_angle(crank_radius: float, connecting_rod: float) -> float:
    """Greatest angle (rad) of the connecting rod to the cylinder line through the axle: sin = crank / rod."""
    if not 0 < crank_radius < connecting_rod:
        raise OutOfRange("crank radius", got=crank_radius, allowed=f"0 to {connecting_rod:g} mm, the connecting rod")
    return float(np.arcsin(crank_radius / connecting_rod))


def mid_stroke(crank_radius: float, connecting_rod: float) -> float:
    """Crank angle (rad) from the front dead centre with the piston at half stroke, line through the axle.

    ``cos = crank / (2 rod)`` exactly. Anchor: rod 4 cranks: 82.81924 degrees.
    """
    rod_angle(crank_radius, connecting_rod)
    return float(np.arccos(crank_radius / (2 * connecting_rod)))
