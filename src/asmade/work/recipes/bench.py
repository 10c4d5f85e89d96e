"""The bench a recipe works at: this shop's machines, tools and instruments, and the material in hand.

It turns the sums of ``asmade.work`` into the figures of one operation; what the shop does not say is not assumed but
said: no material, no speed; no motor, no check of power.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Final

from asmade.book.model import Dimension, Part, Shop
from asmade.measure.errors import AsmadeError, OutOfRange, Refused, Unknown
from asmade.measure.gauges import NamedSize
from asmade.measure.lengths import read_length
from asmade.measure.show import exact
from asmade.standards.cutting import CuttingForce, cutting_force_of, speed_range, spindle_speed
from asmade.standards.materials import Material, material
from asmade.work.cautions import Caution, cautions, operations
from asmade.work.deflection import RADIAL_SHARE, Holding, deflection_mm, second_moment_mm4, turned_shape
from asmade.work.force import deepest_cut_mm, drilling_cut, milling_cut, power_at_tool_w, turning_cut
from asmade.work.machines import Dial, Machine, machine
from asmade.work.passes import LEAST_CUT_MM, Passes, plan
from asmade.work.recipes.model import RANKS, Feature, Operation
from asmade.work.speeds import feed, machine_speed

CUT_BY_SIZE: Final = ((6.0, 0.25), (12.0, 0.5), (math.inf, 0.75))
"""Deepest roughing cut on the radius of a small lathe, by diameter up to: common practice, no source."""
FINISHING_MM: Final = 0.2
"""Left on the radius for the last two cuts, one before measuring and one after: common practice, no source."""
GIVES_MM: Final = 0.05
"""On diameter: a roughing cut under which the work gives more is made lighter (our limit)."""
TAPER_MM: Final = 0.01
"""On diameter: a finishing cut under which the work gives more is warned of (our limit)."""
BORING_BAR_SHARE: Final = 0.7
"""Thickness of a boring bar to its hole: common practice, no source."""
BORING_BAR_LONGEST: Final = 4.0
"""Steel boring bar, overhang to thickness, past which it chatters: common practice, no source."""
OILED: Final = frozenset(
    {"mild steel", "free-cutting steel", "carbon steel", "alloy steel", "stainless steel", "tool steel"}
)
"""Families that are cut with oil or coolant as a rule: common practice, no source."""
STEEL_MPA: Final = 210_000.0
"""Young's modulus of steel tools: general value, from memory."""
MILL_TEETH: Final = 4
CUTTER_CORE_SHARE: Final = 0.8
"""Thickness of a milling cutter as a beam to its diameter, flutes taken off: common practice, no source."""
CUTTER_BENDS_MM: Final = 0.05
"""A cutter that bends more under its usual cut is warned of (our limit)."""
_SPEEDS: Final = {"jig boring": "boring", "fly-cutting": "milling"}


@dataclass(frozen=True)
class Bench:
    """What stands round the work of one piece."""

    part: Part
    shop: Shop
    sizes: Mapping[str, float]
    stuff: Material | None
    wanted_tools: Mapping[str, str] = field(default_factory=dict)
    targets: Mapping[str, float] = field(default_factory=dict)
    after_joint: Mapping[str, str] = field(default_factory=dict)
    to_suit: Mapping[str, str] = field(default_factory=dict)
    callout_of: Callable[[str], str] = lambda _: ""

    # ---- sizes
    def size(self, name: str) -> float:
        """What a dimension is made to: the aim's target, else its best known size; NaN where nothing is known."""
        return self.targets.get(name, self.sizes.get(name, math.nan))

    def dim(self, name: str) -> Dimension | None:
        """A dimension of the part."""
        return self.part.dims.get(name)

    def made_by(self, name: str) -> str:
        """How a dimension is made, as said or as its kind assumes."""
        held = self.dim(name)
        return held.made_by if held else ""

    # ---- machines
    def machine(self, kind: str) -> Machine | None:
        """The shop's machine of a kind; None where it has none."""
        return _machine(_Keep(self.shop), kind)

    def needed(self, kind: str) -> Machine:
        """The shop's machine of a kind, refused by name where there is none."""
        return machine(self.shop, kind=kind)

    def dial(self, kind: str, name: str) -> Dial | None:
        """A dial; None where the machine's table does not give it."""
        held = self.machine(kind)
        return held.dials.get(name) if held else None

    # ---- tools and instruments
    @property
    def drills(self) -> tuple[NamedSize, ...] | None:
        """Twist drills owned, smallest first; None where the shop lists none."""
        return _drills(_Keep(self.shop))

    def reamer(self, size_mm: float, name: str = "") -> tuple[str, bool]:
        """The reamer for a hole and whether it is turned by hand; empty where the shop has none for it."""
        for tool in self.shop.tools.values():
            if "reamer" not in tool.kind or (name and tool.name != name):
                continue
            by_hand = "machine" not in tool.kind
            if tool.adjusts_to is not None:
                low, high = (_mm(text) for text in tool.adjusts_to)
                if low - 1e-9 <= size_mm <= high + 1e-9:
                    return f"{tool.name}, set to {size_mm:.2f}", by_hand
            elif tool.size and (name or abs(_mm(tool.size) - size_mm) <= 0.05):
                return tool.name, by_hand
        return "", False

    def instrument(self, measures: str, size_mm: float) -> str:
        """The finest instrument of the shop that measures such a thing of such a size; empty where there is none."""
        fits = [
            one
            for one in self.shop.instruments.values()
            if one.unit != "deg"
            and (not one.measures or measures in one.measures)
            and (one.range_mm[0] is None or one.range_mm[0] <= size_mm)
            and (one.range_mm[1] is None or size_mm <= one.range_mm[1])
        ]
        return min(fits, key=lambda one: math.hypot(one.reads_to_mm, one.zero_mm)).name if fits else ""

    # ---- figures of a cut
    def speed(self, kind: str, process: str, diameter_mm: float) -> dict[str, Any]:
        """Fields of an operation for its speed: the machine's step nearest below what suits the metal."""
        held = self.machine(kind)
        if held is None or not math.isfinite(diameter_mm) or diameter_mm <= 0:
            return {}
        if self.stuff is None:
            held.needed("speeds", "speeds = [60, 110, 190]") if held.speeds_between is None else None
            why = "material not known" if self.part.material else "material not said"
            return {"speed_words": f"{why}: no speed"}
        span = speed_range(self.stuff, _SPEEDS.get(process, process))
        wanted = spindle_speed(span.high_m_min, diameter_mm)
        found = machine_speed(held, wanted)
        slow = spindle_speed(span.low_m_min, diameter_mm)
        words = f"{found.rev_min:g} rev/min (up to {wanted:.0f} for {span.high_m_min:g} m/min)"
        warnings: tuple[str, ...] = ()
        if found.too_fast:
            warnings = (
                (
                    f"even the slowest speed of the {held.name}, {found.rev_min:g}, is above {wanted:.0f} rev/min: "
                    "light cuts, oil, or by hand"
                ),
            )
        elif found.rev_min < 0.5 * slow:
            words += "; slower than usual does no harm"
        return {
            "rev_min": found.rev_min,
            "surface_m_min": found.surface_m_min(diameter_mm),
            "speed_words": words,
            "warnings": warnings,
        }

    def feed(self, operation: str, size_mm: float) -> dict[str, Any]:
        """Fields of an operation for its feed."""
        try:
            found = feed(operation, size_mm)
        except (Refused, OutOfRange):
            return {}
        low, high = _three(found.low_mm), _three(found.high_mm)
        return {
            "feed_mm": found.low_mm if "finishing" in operation else (found.low_mm + found.high_mm) / 2,
            "feed_words": f"{low} to {high} mm a {found.per}",
        }

    @property
    def force(self) -> CuttingForce | None:
        """Figures of the force of a cut in this metal; None where the tables hold none."""
        if self.stuff is None:
            return None
        try:
            return cutting_force_of(self.stuff)
        except AsmadeError:
            return None

    def cuts(
        self,
        start_mm: float,
        target_mm: float,
        *,
        diameter_mm: float,
        kind: str = "lathe",
        dial: str = "cross_slide",
        face: bool = False,
        held: Holding | None = None,
        out_mm: float = 0.0,
        stiff_mm: float = 0.0,
        finish_mm: float = FINISHING_MM,
        bore_mm: float = 0.0,
    ) -> tuple[Passes | None, tuple[str, ...]]:
        """Passes from one size to another, no deeper than the motor, the tool and the work bear; with warnings.

        ``held``, ``out_mm``, ``stiff_mm``: how the work is held, how far it stands out, its thinnest diameter.
        """
        if not (math.isfinite(start_mm) and math.isfinite(target_mm)):
            return None, ()
        if abs(start_mm - target_mm) / (1 if face else 2) < LEAST_CUT_MM / 2:
            return None, ()
        rough, warnings = self._deepest(diameter_mm, kind)
        if held is not None and stiff_mm > 0 and out_mm > 0:
            rough, told = self._lighter(rough, diameter_mm, held, out_mm, stiff_mm, bore_mm)
            warnings += told
        made = plan(start_mm, target_mm, rough_mm=rough, finish_mm=finish_mm, dial=self.dial(kind, dial), face=face)
        return made, (*warnings, *made.warnings)

    def _deepest(self, diameter_mm: float, kind: str) -> tuple[float, tuple[str, ...]]:
        rough = next(cut for upto, cut in CUT_BY_SIZE if diameter_mm <= upto)
        held, force = self.machine(kind), self.force
        if held is None or held.motor_w is None or force is None or self.stuff is None:
            return rough, ()
        power = power_at_tool_w(held.motor_w, held.efficiency or 0.7)
        most = (self._milled if kind == "mill" else self._turned)(force, self.stuff, diameter_mm, rough, power)
        if most >= rough:
            return rough, ()
        return max(most, LEAST_CUT_MM), (
            f"{rough:g} mm is beyond the motor of the {held.name} at that speed: {most:.2f} mm deep at most",
        )

    @staticmethod
    def _turned(force: CuttingForce, stuff: Material, diameter_mm: float, _: float, power_w: float) -> float:
        """Depth on the radius that the motor bears in turning or boring."""
        usual = feed("turning, roughing", min(diameter_mm, 250.0))
        return deepest_cut_mm(
            force.kc11_mpa,
            force.mc,
            feed_mm=usual.high_mm,
            power_at_tool_w=power_w,
            speed_m_min=speed_range(stuff, "turning").high_m_min,
        )

    @staticmethod
    def _milled(force: CuttingForce, stuff: Material, cutter_mm: float, rough: float, power_w: float) -> float:
        """Depth that the motor bears in milling, the cutter in over its whole width: power goes with the depth."""
        usual = feed("milling", min(cutter_mm, 60.0))
        rev = spindle_speed(speed_range(stuff, "milling").high_m_min, cutter_mm)
        cut = milling_cut(
            force.kc11_mpa, force.mc, cutter_mm=cutter_mm, width_mm=cutter_mm, depth_mm=rough,
            feed_tooth_mm=usual.high_mm, teeth=MILL_TEETH, rev_min=rev,
        )  # fmt: skip
        return rough * power_w / cut.power_w

    def _lighter(
        self, rough: float, diameter_mm: float, held: Holding, out_mm: float, stiff_mm: float, bore_mm: float
    ) -> tuple[float, tuple[str, ...]]:
        force = self.force
        if force is None or self.stuff is None:
            return rough, ()
        stuff = self.stuff

        def gives(depth: float, feed_mm: float) -> float:
            cut = turning_cut(
                force.kc11_mpa,
                force.mc,
                depth_mm=depth,
                feed_mm=feed_mm,
                speed_m_min=20,
                diameter_mm=max(diameter_mm, 4 * depth),
            )
            shape = turned_shape(
                held,
                RADIAL_SHARE * cut.force_n,
                out_mm,
                stiff_mm,
                stuff.youngs_modulus_mpa,
                bore_mm=min(bore_mm, 0.9 * stiff_mm),
            )
            return shape.worst_mm

        usual = feed("turning, roughing", min(diameter_mm, 250.0))
        while rough > 0.1 and gives(rough, usual.low_mm) > GIVES_MM:
            rough /= 2
        warnings = []
        last = gives(0.1, feed("turning, finishing", min(diameter_mm, 250.0)).low_mm)
        if last > TAPER_MM:
            warnings.append(
                f"the work gives {last:.3f} mm on diameter under the last cut: {held}, {out_mm:.0f} out, "
                f"{stiff_mm:.1f} thick; support it, keen tool, spring cuts"
            )
        slender = turned_shape(held, 1.0, out_mm, stiff_mm, stuff.youngs_modulus_mpa)
        if slender.too_slender:
            warnings.append(
                f"{slender.slenderness:.1f} diameters out of the {held.replace(' only', '')} is too long "
                f"unsupported: {'bring up the centre, or a steady' if held == 'chuck only' else 'a steady'}"
            )
        return rough, tuple(warnings)

    def drilling_load(self, kind: str, drill_mm: float, pilot_mm: float, rev_min: float | None) -> tuple[str, ...]:
        """Warning of a drill that takes more than the motor has, even at the least usual feed."""
        held, force = self.machine(kind), self.force
        if held is None or held.motor_w is None or force is None or not rev_min:
            return ()
        usual = feed("drilling", min(drill_mm, 25.4))
        cut = drilling_cut(force.kc11_mpa, force.mc, drill_mm=drill_mm, feed_mm=usual.low_mm, rev_min=rev_min)
        wants = cut.power_w * (1 - (pilot_mm / drill_mm) ** 2)  # the pilot has taken the middle out
        has = power_at_tool_w(held.motor_w, held.efficiency or 0.7)
        if wants <= has:
            return ()
        return (
            (
                f"this drill wants about {wants:.0f} W at the least usual feed, the {held.name} has {has:.0f} at the "
                "tool: slower, or in more steps"
            ),
        )

    def boring_bar(self, hole_mm: float, depth_mm: float) -> tuple[str, ...]:
        """Warning of a boring bar too long for its thickness: by the rule, and by how far it gives as a beam."""
        bar = BORING_BAR_SHARE * hole_mm
        if not math.isfinite(depth_mm) or depth_mm / bar <= BORING_BAR_LONGEST:
            return ()
        gives = self._gives(bar, depth_mm)
        by = f", about {gives:.2f} mm on diameter under the last cut" if gives > 0 else ""
        return (
            (
                f"a {bar:.1f} mm bar {depth_mm:.0f} mm out is {depth_mm / bar:.1f} times its thickness: it "
                f"springs{by}; light cuts, several spring cuts, or ream"
            ),
        )

    def _gives(self, bar_mm: float, out_mm: float) -> float:
        """How far a round steel bar gives on diameter under a finishing cut; 0 where no force can be reckoned."""
        force = self.force
        if force is None:
            return 0.0
        cut = turning_cut(
            force.kc11_mpa, force.mc, depth_mm=0.1, feed_mm=feed("boring", min(bar_mm, 60.0)).low_mm, speed_m_min=20,
            diameter_mm=max(bar_mm, 1.0),
        )  # fmt: skip
        return 2 * deflection_mm(
            "chuck only", RADIAL_SHARE * cut.force_n, out_mm, out_mm, STEEL_MPA, second_moment_mm4(bar_mm)
        )

    def long_cutter(self, cutter_mm: float, out_mm: float, *, teeth: int = 2) -> tuple[str, ...]:
        """Warning of a milling cutter too long and thin: how far it bends as a beam under its usual cut."""
        force = self.force
        if force is None or self.stuff is None or not math.isfinite(out_mm) or out_mm <= 2 * cutter_mm:
            return ()
        usual = feed("milling", min(cutter_mm, 60.0))
        cut = milling_cut(
            force.kc11_mpa, force.mc, cutter_mm=cutter_mm, width_mm=cutter_mm, depth_mm=max(cutter_mm / 4, 0.2),
            feed_tooth_mm=usual.low_mm, teeth=teeth, rev_min=500,
        )  # fmt: skip
        bends = deflection_mm(
            "chuck only", cut.force_n, out_mm, out_mm, STEEL_MPA, second_moment_mm4(CUTTER_CORE_SHARE * cutter_mm)
        )
        if bends <= CUTTER_BENDS_MM:
            return ()
        return (
            (
                f"a {cutter_mm:g} mm cutter {out_mm:.0f} mm out bends about {bends:.2f} mm under its usual cut: "
                f"shorter, thicker, or go down {cutter_mm / 10:.1f} at a time"
            ),
        )

    def cautions(self, process: str, tool: str = "", traits: Iterable[str] = ()) -> tuple[Caution, ...]:
        """Cautions of an operation in this metal, those of every page left out."""
        wet = ("coolant",) if self.stuff is not None and self.stuff.family in OILED else ()
        return _cautions(process, self.part.material, tool, (*traits, *wet))

    # ---- an operation
    def operation(self, f: Feature, process: str, words: str, rank: str, **more: Any) -> Operation:
        """An operation of a feature; ``rank`` is its place in the trade's order inside a set-up."""
        asked = more.pop("caution", process)
        for name in dict.fromkeys((f.name, f.name.split(" ")[0])):
            words = words.replace(name, plain_name(name))
            more["check"] = more.get("check", "").replace(name, plain_name(name))
        tool_kind = more.pop("tool_kind", "")
        needs = tuple(dict.fromkeys((*more.pop("needs", f.needs), *f.setup.locates_from)))
        return Operation(
            key=f"{f.name} {process}",
            feature=f.name,
            process=process,
            setup=f.setup,
            rank=RANKS[rank],
            words=words,
            recipe=f.recipe,
            cautions=self.cautions(asked if asked in operations() else "", tool_kind, f.setup.traits),
            needs=needs,
            **{"makes": f.makes, **more},
        )

    def on(self, part: Part, sizes: Mapping[str, float]) -> Bench:
        """The same bench for another part."""
        return replace(self, part=part, sizes=sizes)


class _Keep:
    """A shop as a key by identity: it is frozen and lives as long as its build."""

    __slots__ = ("shop",)

    def __init__(self, shop: Shop) -> None:
        self.shop = shop

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Keep) and other.shop is self.shop

    def __hash__(self) -> int:
        return id(self.shop)


@lru_cache(maxsize=64)
def _machine(keep: _Keep, kind: str) -> Machine | None:
    try:
        return machine(keep.shop, kind=kind)
    except Unknown as fault:
        if fault.thing == "machine of the shop":
            return None
        raise


@lru_cache(maxsize=16)
def _drills(keep: _Keep) -> tuple[NamedSize, ...] | None:
    found: set[float] = set()
    for tool in keep.shop.tools.values():
        if "drill" not in tool.kind:
            continue
        for text in tool.size.split(","):
            span, by, step = text.partition(" by ")
            if by and " to " in span:
                start, _, end = span.partition(" to ")
                low, high, each = _mm(start), _mm(end), _mm(step)
                found |= {round(low + k * each, 4) for k in range(int((high - low) / each + 1e-6) + 1)}
            elif text.strip():
                found.add(_mm(text))
    return tuple(NamedSize(f"{mm:g} mm", "metric", exact(mm)) for mm in sorted(found)) if found else None


@lru_cache(maxsize=4096)
def _cautions(process: str, stuff: str, tool: str, traits: tuple[str, ...]) -> tuple[Caution, ...]:
    found = cautions(process, material_name=stuff, tool=tool, features=traits)
    return tuple(one for one in found if one.shown != ("page",))


def _mm(text: str) -> float:
    return float(read_length(text.strip(), unit="mm", thing="tool").mm)


def _three(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def material_or_none(name: str) -> Material | None:
    """A material of the tables; None for one that they do not hold."""
    try:
        return material(name) if name.strip() else None
    except Unknown:
        return None


def plain_name(name: str) -> str:
    """A dimension's name in words: ``seat_left.diameter`` is "seat left, diameter"; a callout is its thread."""
    return name.replace(".callout", " thread").replace(".", ", ").replace("_", " ")
