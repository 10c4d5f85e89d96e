"""One thread: its sizes, worked from the table of its series and its form."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction

    from asmade.standards.threads.forms import ThreadForm


@dataclass(frozen=True, slots=True)
class Thread:
    """Basic sizes of one thread in mm. ``major`` and ``pitch`` are exact; what the form makes irrational is a float.

    ``core_mm`` is the minor diameter of the screw, ``nut_minor_mm`` that of the nut; in the British forms both are
    the same. ``full_depth_mm`` is twice the depth that counts as 100 per cent when a tapping drill is chosen.
    """

    designation: str  # as the trade writes it: "2 BA", "1/4 x 40", "M5", "M5 x 0.5", "1/4 BSF"
    series: str
    form: ThreadForm = field(repr=False)
    native: str  # "metric" or "inch": in which system major and pitch are authoritative
    major: Fraction
    pitch: Fraction
    effective_mm: float
    core_mm: float
    nut_minor_mm: float
    depth_mm: float
    full_depth_mm: float
    printed_drill_mm: float | None  # tapping drill printed in the source; None = none known
    printed_clearance_mm: float | None
    listed: bool  # in the table of its series; False = another diameter or pitch on the same form
    source: str
    note: str = ""

    @property
    def major_mm(self) -> float:
        """Major diameter (over the crests of the screw)."""
        return float(self.major)

    @property
    def pitch_mm(self) -> float:
        """Pitch."""
        return float(self.pitch)

    @property
    def tpi(self) -> float:
        """Threads per inch, 25.4 / p: exact for inch threads, approximate for metric ones."""
        return 25.4 / float(self.pitch)

    @property
    def angle_rad(self) -> float:
        """Angle between the flanks."""
        return self.form.angle_rad

    @property
    def crest_radius_mm(self) -> float:
        """Radius at the crest of the screw; 0 = flat."""
        return self.form.crest_radius * self.pitch_mm

    @property
    def root_radius_mm(self) -> float:
        """Radius at the root of the screw. Anchor: 2 BA 0.1465 mm (BS 93)."""
        return self.form.root_radius * self.pitch_mm

    @property
    def lead_angle_rad(self) -> float:
        """Lead angle at the effective diameter of a single-start thread: tan(angle) = p / (pi E)."""
        return math.atan(self.pitch_mm / (math.pi * self.effective_mm))

    @property
    def root_area_mm2(self) -> float:
        """Area of the core, pi / 4 core squared: the least section of the screw."""
        return 0.25 * math.pi * self.core_mm**2

    @property
    def stress_area_mm2(self) -> float:
        """Area that carries tension.

        ISO 898-1 for ISO threads: As = pi / 4 ((d2 + d3) / 2)^2. ASME B1.1 for Unified threads:
        As = pi / 4 (D - 0.9743 / n)^2. For the British forms the same mean of effective and core is taken
        (common practice, no source). Anchors: M6 20.1, M10 58.0 mm2 (ISO 898-1); 1/4 UNC 0.0318 in2 (ASME B1.1).
        """
        if self.series.startswith("UN"):
            return 0.25 * math.pi * (self.major_mm - 0.9743 * self.pitch_mm) ** 2
        return 0.25 * math.pi * (0.5 * (self.effective_mm + self.core_mm)) ** 2

    def is_the_same_as(self, other: Thread) -> bool:
        """Whether both fit each other: same form, major diameter and pitch, whatever the series is called."""
        return (self.form.name, self.major, self.pitch) == (other.form.name, other.major, other.pitch)
