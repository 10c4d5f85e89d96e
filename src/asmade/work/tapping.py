"""Tapping: whether a tap is likely to break. An estimate, and marked as one.

The torque is the simple single-point estimate M = p^2 D kc / 8000 for a full thread in a hole of the usual tapping
drill; a smaller hole, a deep blind one and a worn tap all add. The tap is taken as a solid round of its core, which
is stronger than it is: its flutes take a third away.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from asmade.measure.errors import OutOfRange
from asmade.work.checks import above_zero, within

FLUTED_SHARE: Final = 0.35
"""Torsional strength of a fluted tap to a solid round of its core: common practice, no source (an estimate)."""
TAP_SHEAR_MPA: Final = 900.0
"""Shear stress at which a hardened tap breaks: from memory, check before relying on it."""
FULL_PERCENT: Final = 75.0


@dataclass(frozen=True, slots=True)
class TapLoad:
    """Torque wanted against torque at which the tap breaks; both estimates."""

    torque_nm: float
    breaks_at_nm: float
    depth_diameters: float
    warnings: tuple[str, ...]
    estimate: bool = True

    @property
    def share(self) -> float:
        """The torque as a share of the breaking torque."""
        return self.torque_nm / self.breaks_at_nm


def tapping_torque_nm(pitch_mm: float, major_mm: float, kc_mpa: float) -> float:
    """Torque of a tap that cuts a full thread, N m: M = p^2 D kc / 8000. An estimate.

    Source: simple single-point estimate, from memory, not confirmed; published forms differ in the kc used.
    Range: above 0, pitch below half the diameter. Anchor: M4 x 0.7, kc 2000 N/mm2: 0.49 N m (from memory).
    """
    above_zero("pitch", pitch_mm)
    above_zero("major diameter", major_mm)
    if pitch_mm >= major_mm / 2:
        raise OutOfRange("pitch", got=f"{pitch_mm:g} mm", allowed=f"below half the diameter, {major_mm / 2:g} mm")
    return pitch_mm**2 * major_mm * above_zero("specific cutting force", kc_mpa, "N/mm2") / 8000


def breaking_torque_nm(core_mm: float, shear_mpa: float = TAP_SHEAR_MPA, fluted_share: float = FLUTED_SHARE) -> float:
    """Torque at which a tap breaks, N m: pi d^3 tau / 16, less what the flutes take. An estimate.

    Source: torsion of a round bar, Shigley; share and stress common practice and from memory.
    Range: above 0. Anchor: solid (share 1) 3.242 mm at 900 N/mm2: 6.02 N m (by hand).
    """
    above_zero("core diameter", core_mm)
    within("share of the flutes", fluted_share, 0.05, 1, "")
    return fluted_share * math.pi * core_mm**3 * above_zero("shear stress", shear_mpa, "MPa") / 16_000


def percent_factor(percent: float) -> float:
    """Torque of another percentage of thread against the full one of 75 per cent: (percent / 75)^2. An estimate.

    Area of metal cut goes with the square of the depth of thread.

    Source: geometry of the triangle cut, our estimate. Range: 30 to 100 per cent. Anchor: 75: 1; 60: 0.64.
    """
    return (within("percentage of thread", percent, 30, 100, "%") / FULL_PERCENT) ** 2


def tap_load(
    pitch_mm: float, major_mm: float, core_mm: float, kc_mpa: float, *, percent: float = FULL_PERCENT,
    depth_mm: float | None = None, through: bool = True,
) -> TapLoad:  # fmt: skip
    """Torque of a tap against its strength, and what speaks for care: an estimate.

    Example: 8 BA in stainless at 75 per cent is warned of, M8 in brass is not.
    """
    torque = tapping_torque_nm(pitch_mm, major_mm, kc_mpa) * percent_factor(percent)
    strength = breaking_torque_nm(core_mm)
    deep = 0.0 if depth_mm is None else above_zero("depth of thread", depth_mm) / major_mm
    warnings = []
    if torque > 0.5 * strength:
        warnings.append("the tap works at over half of what breaks it: drill larger, 60 per cent of thread is enough")
    if deep > 1.5:
        warnings.append("over one and a half diameters of thread adds no strength worth having, only risk to the tap")
    if not through:
        warnings.append("blind hole: clear the chips, mark the depth on the tap, stop before it bottoms")
    if major_mm < 3:
        warnings.append("small tap: square to the work by a guide, finger-tight wrench, back off every half turn, oil")
    return TapLoad(torque, strength, deep, tuple(warnings))
