"""What all gears share: axle, crank, connecting rod and crosshead."""

from __future__ import annotations

from dataclasses import dataclass

from asmade.motion.gears.kind import Member, Size
from asmade.motion.linkage import Assembly, Dual, Lengths, turn

SIZES = (
    Size("crank_radius", "crank pin centre from axle centre", "driving wheel"),
    Size("connecting_rod", "connecting rod, centre to centre", "connecting rod"),
    Size("cylinder_line_y", "height of the cylinder line above the axle, at the axle", "frame", "place", 0.0),
    Size("cylinder_incline", "slope of the cylinder line, positive rising forward", "frame", "angle", 0.0),
    Size("axle_rise", "axle above its running height", "axlebox", "place", 0.0),
)

MEMBERS = (
    Member("crank", ("axle", "crank pin")),
    Member("connecting rod", ("crank pin", "gudgeon")),
)


@dataclass(frozen=True, slots=True)
class Drive:
    """Places of the driving parts."""

    forward: Dual
    axle: Dual
    crank_pin: Dual
    gudgeon: Dual
    piston: Dual
    along: Dual

    def places(self) -> dict[str, Dual]:
        """For the outputs of a gear."""
        return {
            "piston": self.piston,
            "axle": self.axle,
            "crank pin": self.crank_pin,
            "gudgeon": self.gudgeon,
        }


def drive(d: Lengths, crank: Dual, assembly: Assembly) -> Drive:
    """Slider-crank: the gudgeon runs on the cylinder line, ahead of the axle."""
    forward = turn(-crank)
    axle = 1j * d["axle_rise"]
    crank_pin = axle + d["crank_radius"] * forward
    line = 1j * d["cylinder_line_y"]
    along = turn(d["cylinder_incline"])
    piston = assembly.on_line(
        crank_pin, d["connecting_rod"], line, along, ahead=True, links=("connecting rod", "crosshead")
    )
    return Drive(forward, axle, crank_pin, line + piston * along, piston, along)
