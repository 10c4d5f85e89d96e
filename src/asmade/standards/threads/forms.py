"""Thread forms: three symmetrical profiles, each a few ratios of the pitch.

Every ratio is worked out from the angle and from how much of the sharp triangle is cut off, so that the printed
constants (0.640327, 0.137329, 0.1808346, 0.613434 ...) are checks and not inputs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.measure.errors import Unknown, near


@dataclass(frozen=True, slots=True)
class ThreadForm:
    """A symmetrical thread profile. All ratios are lengths per pitch; diameters differ by twice a height.

    ``triangle``: height H of the sharp triangle. ``crest_cut`` and ``root_cut``: what is taken off the triangle at the
    crest and root of the screw. ``nut_cut``: what is taken off at the crest of the nut. A radius of 0 means flat.
    """

    name: str
    angle_rad: float
    crest_cut: float
    root_cut: float
    nut_cut: float
    crest_radius: float
    root_radius: float
    source: str

    @property
    def half_angle_rad(self) -> float:
        """Half of the angle between the flanks."""
        return 0.5 * self.angle_rad

    @property
    def triangle(self) -> float:
        """H / p = 1 / (2 tan(angle / 2)). Anchor: 0.960491 for 55 degrees (BS 84)."""
        return 0.5 / math.tan(self.half_angle_rad)

    @property
    def depth(self) -> float:
        """Depth of the screw per pitch, H less both cuts. Anchors: 0.640327 (BS 84), 0.613434 (ISO 68-1)."""
        return self.triangle - self.crest_cut - self.root_cut

    @property
    def effective_below_major(self) -> float:
        """(major - effective) per pitch. Anchors: 0.640327 (BS 84), 0.649519 (ISO 724), 0.6 (BS 93)."""
        return self.triangle - 2 * self.crest_cut

    @property
    def core_below_major(self) -> float:
        """(major - core of the screw) per pitch. Anchors: 1.280654 (BS 84), 1.226869 (ISO 68-1), 1.2 (BS 93)."""
        return 2 * self.depth

    @property
    def nut_minor_below_major(self) -> float:
        """(major - minor of the nut) per pitch. Anchor: 1.082532 (ISO 724)."""
        return 2 * (self.triangle - self.crest_cut - self.nut_cut)


def _round_radius(cut: float, half_angle_rad: float) -> float:
    """Radius of the arc that touches both flanks and takes ``cut`` off the tip: r = cut / (1 / sin a - 1)."""
    return cut / (1 / math.sin(half_angle_rad) - 1)


def _whitworth() -> ThreadForm:
    half = math.radians(27.5)
    cut = 0.5 / math.tan(half) / 6  # one sixth of the triangle, top and bottom
    radius = _round_radius(cut, half)
    return ThreadForm("Whitworth", 2 * half, cut, cut, cut, radius, radius, "BS 84:1956, thread form")


def _british_association() -> ThreadForm:
    half = math.radians(23.75)
    cut = (0.5 / math.tan(half) - 0.6) / 2  # the depth is 0.6 p; the rest goes off in equal parts
    radius = _round_radius(cut, half)
    return ThreadForm("BA", 2 * half, cut, cut, cut, radius, radius, "BS 93:1951, thread form")


def _iso() -> ThreadForm:
    half = math.radians(30)
    triangle = 0.5 / math.tan(half)
    # flat crest p/8, root rounded inside the flat p/4 of the nut: root radius H/6 = 0.144338 p
    return ThreadForm("ISO", 2 * half, triangle / 8, triangle / 6, triangle / 4, 0.0, triangle / 6, "ISO 68-1:1998")


FORMS: dict[str, ThreadForm] = {form.name: form for form in (_british_association(), _whitworth(), _iso())}


def form(name: str) -> ThreadForm:
    """Return the form called ``name`` (BA, Whitworth, ISO); raises ``Unknown`` with near names."""
    try:
        return FORMS[name]
    except KeyError:
        raise Unknown("thread form", got=name, near=near(name, tuple(FORMS))) from None
