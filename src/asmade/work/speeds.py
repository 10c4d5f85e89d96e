"""The spindle speed that this machine really has, feeds, and the life of a tool."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from asmade.measure.errors import Refused, Unknown, near
from asmade.standards.cutting import surface_speed
from asmade.standards.materials import Material, material
from asmade.standards.tables import load, number
from asmade.work.checks import above_zero, between, whole
from asmade.work.machines import Machine

_PACKAGE: Final = "asmade.work"


@dataclass(frozen=True, slots=True)
class SpindleSpeed:
    """A speed the machine has for a speed that was wanted; ``too_fast`` where even its slowest is above."""

    rev_min: float
    wanted_rev_min: float
    too_fast: bool
    stepless: bool

    @property
    def share(self) -> float:
        """The speed as a share of what was wanted."""
        return self.rev_min / self.wanted_rev_min

    def surface_m_min(self, diameter_mm: float) -> float:
        """Cutting speed it gives on a diameter, m/min."""
        return surface_speed(diameter_mm, self.rev_min)


@dataclass(frozen=True, slots=True)
class Feed:
    """Feed for an operation: per turn, or per tooth for a milling cutter, in mm."""

    operation: str
    per: str
    low_mm: float
    high_mm: float
    source: str


@dataclass(frozen=True, slots=True)
class PublishedSpeed:
    """Cutting speeds as a publication prints them for a class of metal, in its own unit."""

    name: str
    tool: str
    operation: str
    low_ft_min: float
    high_ft_min: float
    source: str


def machine_speed(machine: Machine, wanted_rev_min: float) -> SpindleSpeed:
    """The step nearest below what is wanted; the slowest there is, marked, where all are faster.

    Raises ``Refused`` for a machine whose table gives no speeds. Example: steps 60, 110, 190 and 150 wanted: 110.
    """
    above_zero("spindle speed", wanted_rev_min, "rev/min")
    if machine.speeds_between is not None:
        slow, fast = machine.speeds_between
        return SpindleSpeed(min(max(wanted_rev_min, slow), fast), wanted_rev_min, wanted_rev_min < slow, stepless=True)
    steps = machine.needed("speeds", "speeds = [60, 110, 190]")
    below = [step for step in steps if step <= wanted_rev_min * (1 + 1e-9)]
    return SpindleSpeed(below[-1] if below else steps[0], wanted_rev_min, not below, stepless=False)


def speed_series(slowest_rev_min: float, fastest_rev_min: float, count: int) -> tuple[float, ...]:
    """Spindle speeds that rise by one ratio from slowest to fastest, rev/min.

        r = (n_z / n_1)^(1 / (z - 1))

    Source: Sharma, A Textbook of Production Engineering (speeds in geometric progression).
    Range: above 0, slowest below fastest, 2 to 60 steps.
    Anchor: 30 m/min on 10 to 60 mm in six steps: 159, 227, 325, 466, 667, 954 (Sharma).
    """
    above_zero("slowest speed", slowest_rev_min, "rev/min")
    whole("number of speeds", count, 2, 60)
    if fastest_rev_min <= slowest_rev_min or not math.isfinite(fastest_rev_min):
        raise Refused("speeds", got=(slowest_rev_min, fastest_rev_min), reason="the slowest stands before the fastest")
    ratio = float((fastest_rev_min / slowest_rev_min) ** (1 / (count - 1)))
    return tuple(slowest_rev_min * ratio**step for step in range(count))


def feed(operation: str, size_mm: float) -> Feed:
    """Usual feed of an operation on a small machine; ``size_mm`` is the diameter of the work, drill or cutter.

    Raises ``Unknown`` for an operation without figures.

    Source: drilling: Machinery's Handbook, from memory; all else common practice, no source.
    Range: sizes up to those of the table; high-speed steel.
    Anchor: drill 1/4 to 1/2 in, 0.004 to 0.007 in a turn (Machinery's Handbook, from memory).
    """
    above_zero("diameter", size_mm)
    wanted = operation.strip().lower()
    rows = [row for row in load("feeds", _PACKAGE).rows if row["operation"] == wanted]
    if not rows:
        known = tuple(dict.fromkeys(str(row["operation"]) for row in load("feeds", _PACKAGE).rows))
        raise Unknown("operation with a feed", got=operation, near=near(wanted, known), way_out=", ".join(known))
    for row in rows:
        if number(row["over"]) < size_mm <= number(row["upto"]):
            return Feed(wanted, str(row["per"]), number(row["low"]), number(row["high"]), str(row["source"]))
    raise Refused(f"feed for {wanted}", got=f"{size_mm:g} mm", reason=f"figures go up to {rows[-1]['upto']} mm",
                  way_out="take the maker's figure")  # fmt: skip


def table_feed_mm_min(feed_per_tooth_mm: float, teeth: int, rev_min: float) -> float:
    """Table feed of a milling cutter in mm/min: v = f_z z n.

    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology (milling).
    Range: above 0.
    Anchor: 0.6 mm, 10 teeth, 100 rev/min: 600 mm/min (Kalpakjian and Schmid).
    """
    above_zero("feed per tooth", feed_per_tooth_mm)
    above_zero("spindle speed", rev_min, "rev/min")
    return feed_per_tooth_mm * whole("teeth", teeth, 1, 200) * rev_min


def feed_per_tooth_mm(table_feed: float, teeth: int, rev_min: float) -> float:
    """Feed per tooth in mm: f_z = v / (z n).

    Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology. Range: above 0.
    Anchor: 600 mm/min, 10 inserts, 100 rev/min: 0.6 mm (Kalpakjian and Schmid).
    """
    above_zero("table feed", table_feed, "mm/min")
    above_zero("spindle speed", rev_min, "rev/min")
    return table_feed / (whole("teeth", teeth, 1, 200) * rev_min)


def ridge_height_mm(feed_mm: float, nose_radius_mm: float) -> float:
    """Height of the ridges that a round-nosed tool leaves in turning, mm; real work is rougher.

        R = r - sqrt(r^2 - f^2 / 4), about f^2 / (8 r)

    Source: geometry; Kalpakjian and Schmid give f^2 / 8r.
    Range: feed above 0 and below the nose's width 2 r.
    Anchor: feed 0.1, nose 0.4 mm: 0.00314 mm (by hand).
    """
    above_zero("nose radius", nose_radius_mm)
    between("feed", feed_mm, 0, 2 * nose_radius_mm, way_out="a feed of a nose's width cuts a screw: feed slower")
    return nose_radius_mm - math.sqrt(nose_radius_mm**2 - feed_mm**2 / 4)


def tool_life_min(life_min: float, speed_m_min: float, at_m_min: float, exponent: float) -> float:
    """Life of a tool at another speed, minutes.

        V T^n = C,    T2 = T1 (V1 / V2)^(1/n)

    Source: Taylor; Sharma, A Textbook of Production Engineering.
    Range: above 0; n over 0 and under 1; near the speeds it was tried at.
    Anchor: 180 min at 18 m/min, n 0.125, at 24 m/min: 18 min (Sharma).
    """
    above_zero("tool life", life_min, "min")
    above_zero("cutting speed", speed_m_min, "m/min")
    above_zero("cutting speed", at_m_min, "m/min")
    between("exponent", exponent, 0, 1, "")
    return float(life_min * (speed_m_min / at_m_min) ** (1 / exponent))


def life_exponent(life_min: float, speed_m_min: float, other_life_min: float, other_m_min: float) -> float:
    """Taylor's exponent from two lives at two speeds: n = ln(V2/V1) / ln(T1/T2).

    Source: Sharma, A Textbook of Production Engineering. Range: above 0, both different, slower lasts longer.
    Anchor: 90 min at 25 and 20 min at 35 m/min: 0.224 (Sharma).
    """
    for thing, value in (("tool life", life_min), ("tool life", other_life_min)):
        above_zero(thing, value, "min")
    for thing, value in (("cutting speed", speed_m_min), ("cutting speed", other_m_min)):
        above_zero(thing, value, "m/min")
    if (speed_m_min - other_m_min) * (life_min - other_life_min) >= 0:
        raise Refused("two tool lives", got=(life_min, other_life_min), reason="the slower tool must last longer")
    return math.log(other_m_min / speed_m_min) / math.log(life_min / other_life_min)


def speed_for_life(life_min: float, speed_m_min: float, wanted_min: float, exponent: float) -> float:
    """Cutting speed in m/min at which a tool lasts so long: V2 = V1 (T1 / T2)^n.

    Source: Sharma, A Textbook of Production Engineering. Range: as `tool_life_min`.
    Anchor: 90 min at 25 m/min, n 0.224: 60 min at 27.37 m/min; the constant, 1 min, 68.4 m/min (Sharma).
    """
    above_zero("tool life", life_min, "min")
    above_zero("tool life", wanted_min, "min")
    above_zero("cutting speed", speed_m_min, "m/min")
    between("exponent", exponent, 0, 1, "")
    return float(speed_m_min * (life_min / wanted_min) ** exponent)


def published_speeds(of: Material | str = "", tool: str = "") -> tuple[PublishedSpeed, ...]:
    """Cutting speeds as older and official books print them, to hold one's own against; of one metal, or all.

    Source: each row's own. Range: the rows of the table. Anchor: stainless 303, HSS, rough, 25 to 55 ft/min (US Air
    Force T.O. 1-1A-9, table 2-8).
    """
    stuff = (material(of) if isinstance(of, str) else of) if of else None
    found = []
    for row in load("published_speeds", _PACKAGE).rows:
        groups = row["groups"]
        if stuff is not None and not (isinstance(groups, tuple) and stuff.cutting in groups):
            continue
        if tool and str(row["tool"]).lower() != tool.lower():
            continue
        found.append(
            PublishedSpeed(
                str(row["name"]),
                str(row["tool"]),
                str(row["operation"]),
                number(row["low"]),
                number(row["high"]),
                str(row["source"]),
            )
        )
    return tuple(found)
