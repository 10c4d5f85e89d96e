"""A press or shrink joint as a whole: stresses against strength, what it holds, and the chance that it gives or slips.

Stresses are reckoned with the full interference and grip with what smoothing leaves of it, both on the safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.joints import grip, lame
from asmade.reckon.joints.checks import not_negative, positive, within
from asmade.reckon.joints.worked import Given, Worked
from asmade.standards import tables

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from asmade.reckon.joints.checks import Values

CAST_IRON_FACTOR = 2.5  # on tensile strength, common practice, no source: grey iron gives no warning and castings vary
DUCTILE_FACTOR = 1.1  # on proof strength, DIN 7190-1 (elastic design), from memory

CAUTIONS = (
    "A press or a screw under load throws what slips: stand aside, guard the work, wear eye protection.",
    "Press in one even push, square, with oil; a hammer cracks iron bosses.",
    "Heated hubs burn, and set fire to oil and solvent: gloves, tongs, a clear place to put it down.",
    "A cracked wheel cannot be mended to be trusted: try the fit on scrap of the same metal first.",
)


@dataclass(frozen=True, slots=True)
class Metal:
    """What a press joint must know of a metal; None = not known, and then said so in the results."""

    name: str
    e_mpa: float
    nu: float
    proof_mpa: float | None = None
    tensile_mpa: float | None = None
    brittle: bool = False  # grey cast iron: judged by tensile strength against the hoop stress

    def __post_init__(self) -> None:
        """Refuse what no metal is."""
        positive(f"modulus of elasticity of {self.name}", self.e_mpa, "MPa")
        within(f"Poisson's ratio of {self.name}", self.nu, 0, 0.4999, "")
        for words, value in (("proof strength", self.proof_mpa), ("tensile strength", self.tensile_mpa)):
            if value is not None:
                positive(f"{words} of {self.name}", value, "MPa")

    @property
    def strength_mpa(self) -> float | None:
        """The strength that rules: tensile for a brittle metal, proof for a ductile one."""
        return self.tensile_mpa if self.brittle else self.proof_mpa

    @property
    def strength_words(self) -> str:
        """Which strength that is."""
        return f"{'tensile' if self.brittle else 'proof'} strength of {self.name}"


@dataclass(frozen=True, slots=True)
class PressJoint:
    """Sizes, metals, friction and roughness of one press or shrink joint; sizes may be drawn, chosen or measured."""

    hole_mm: float
    shaft_mm: float
    hub_od_mm: float
    length_mm: float
    hub: Metal
    shaft: Metal
    friction: tuple[float, float]  # least and most; equal if one figure is meant
    shaft_bore_mm: float = 0.0
    rz_hub_um: float | None = None
    rz_shaft_um: float | None = None
    brittle_factor: float = CAST_IRON_FACTOR
    ductile_factor: float = DUCTILE_FACTOR

    def __post_init__(self) -> None:
        """Refuse a hub without metal, a joint without length, friction the wrong way round."""
        positive("hole", self.hole_mm, "mm")
        positive("shaft", self.shaft_mm, "mm")
        positive("joint length", self.length_mm, "mm")
        lame.hub_hoop_mpa(0.0, max(self.hole_mm, self.shaft_mm), self.hub_od_mm)
        lame.shaft_hoop_mpa(0.0, min(self.hole_mm, self.shaft_mm), self.shaft_bore_mm)
        low, high = self.friction
        grip.axial_force_n(0.0, self.hole_mm, self.length_mm, low)
        grip.axial_force_n(0.0, self.hole_mm, self.length_mm, high)
        if low > high:
            raise OutOfRange("friction", got=f"{low:g} to {high:g}", allowed="least before most")
        if (self.rz_hub_um is None) != (self.rz_shaft_um is None):
            raise Refused("roughness", got=(self.rz_shaft_um, self.rz_hub_um), reason="give both or neither")
        for words, factor in (("cast iron", self.brittle_factor), ("ductile metal", self.ductile_factor)):
            within(f"factor of safety for {words}", factor, 1, 20, "")

    def pressure_mpa(self, interference_mm: Values) -> Values:
        """Pressure at the joint for an interference on diameter (0 or more), by Lame."""
        return lame.contact_pressure_mpa(
            interference_mm,
            self.hole_mm,
            self.hub_od_mm,
            self.shaft_bore_mm,
            e_hub_mpa=self.hub.e_mpa,
            nu_hub=self.hub.nu,
            e_shaft_mpa=self.shaft.e_mpa,
            nu_shaft=self.shaft.nu,
        )

    def gripping_mm(self, interference_mm: Values) -> Values:
        """Interference left after smoothing, or all of it where the roughness is not known."""
        if self.rz_hub_um is None or self.rz_shaft_um is None:
            return interference_mm
        return grip.effective_interference_um(interference_mm * 1000, self.rz_shaft_um, self.rz_hub_um) / 1000

    def hub_stress_mpa(self, pressure_mpa: Values) -> Values:
        """Stress at the bore of the hub that is held against its strength: hoop if brittle, von Mises if ductile."""
        hoop = lame.hub_hoop_mpa(pressure_mpa, self.hole_mm, self.hub_od_mm)
        return hoop if self.hub.brittle else lame.von_mises_mpa(hoop, -pressure_mpa)

    def shaft_stress_mpa(self, pressure_mpa: Values) -> Values:
        """Greatest von Mises stress in the shaft: at its bore if hollow, anywhere (= p) if solid."""
        return -lame.shaft_hoop_mpa(pressure_mpa, self.hole_mm, self.shaft_bore_mm)


@dataclass(frozen=True, slots=True)
class Press:
    """What a press joint comes to. Pairs of grip are least and most, from the range of friction."""

    joint: PressJoint
    interference_mm: float
    gripping_mm: float
    pressure_mpa: float
    grip_pressure_mpa: float
    hoop_hub_mpa: float
    von_mises_hub_mpa: float
    hoop_shaft_mpa: float  # negative = compression
    von_mises_shaft_mpa: float
    hub_strength: Worked  # allowed stress over stress at the bore; above 1 holds
    shaft_strength: Worked
    torque_nm: float  # least that the joint holds turning
    torque_most_nm: float
    force_n: float  # least that the joint holds along the axle
    force_most_n: float
    press_in_n: float  # most that the press must manage, at full depth, nothing smoothed yet
    hub_growth_mm: float  # on the outside diameter
    bore_closing_mm: float  # of the shaft's own bore, on diameter
    notes: tuple[str, ...]


def press(joint: PressJoint) -> Press:
    """Work out a press or shrink joint from its sizes.

    Source: Lame (Shigley, Mechanical Engineering Design); smoothing by DIN 7190-1; factors: common practice, no source.
    Range: shaft not less than hole; elastic; hub a plain ring (for other shapes see ``hub_od_from_wall_mm``).
    Anchor: steel axle 12.012 in a cast iron wheel 12.000, boss 30, 15 long, mu 0.12: p 54.65 MPa, hoop 75.47 MPa,
        22.25 N m (formula rows of interference_fits.csv).

    >>> steel, iron = Metal("steel", 210000, 0.29), Metal("cast iron", 110000, 0.26, brittle=True)
    >>> found = press(PressJoint(12.0, 12.012, 30, 15, iron, steel, (0.12, 0.12)))
    >>> round(found.pressure_mpa, 2), round(found.hoop_hub_mpa, 2), round(found.torque_nm, 2)
    (54.65, 75.47, 22.25)
    """
    interference = round(joint.shaft_mm - joint.hole_mm, 9)  # sizes are decimals; their difference should be one too
    not_negative(
        "interference", interference, "mm", "the shaft is smaller than the hole: bond it, or make the shaft to suit"
    )
    gripping = float(joint.gripping_mm(interference))
    full, held = float(joint.pressure_mpa(interference)), float(joint.pressure_mpa(gripping))
    hoop = float(lame.hub_hoop_mpa(full, joint.hole_mm, joint.hub_od_mm))
    shaft_hoop = float(lame.shaft_hoop_mpa(full, joint.hole_mm, joint.shaft_bore_mm))
    d, length = joint.hole_mm, joint.length_mm
    torque = [float(grip.slip_torque_nm(held, d, length, mu)) for mu in joint.friction]
    force = [float(grip.axial_force_n(held, d, length, mu)) for mu in joint.friction]
    return Press(
        joint=joint,
        interference_mm=interference,
        gripping_mm=gripping,
        pressure_mpa=full,
        grip_pressure_mpa=held,
        hoop_hub_mpa=hoop,
        von_mises_hub_mpa=float(lame.von_mises_mpa(hoop, -full)),
        hoop_shaft_mpa=shaft_hoop,
        von_mises_shaft_mpa=float(joint.shaft_stress_mpa(full)),
        hub_strength=_strength("hub", joint.hub, float(joint.hub_stress_mpa(full)), joint),
        shaft_strength=_strength("shaft", joint.shaft, float(joint.shaft_stress_mpa(full)), joint),
        torque_nm=torque[0],
        torque_most_nm=torque[1],
        force_n=force[0],
        force_most_n=force[1],
        press_in_n=float(grip.axial_force_n(full, d, length, joint.friction[1])),
        hub_growth_mm=float(lame.hub_growth_mm(full, d, joint.hub_od_mm, joint.hub.e_mpa)),
        bore_closing_mm=float(lame.bore_closing_mm(full, d, joint.shaft_bore_mm, joint.shaft.e_mpa)),
        notes=_notes(joint, gripping),
    )


def friction_range(name: str) -> tuple[float, float]:
    """Least and most friction of a kind of joint, from table ``friction`` of this package.

    Source: ranges as handbooks and DIN 7190-1 give them, from memory: check before relying on it.
    Range: the kinds named in the table.
    Anchor: Shigley's examples use 0.12 for steel in steel, which lies within the dry range.

    >>> low, high = friction_range("pressed, dry, steel in steel")
    >>> low < 0.12 < high
    True
    """
    row = tables.load("friction", "asmade.reckon.joints").row(name)
    return float(tables.number(row["low"])), float(tables.number(row["high"]))


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances out of all joints with these spreads; None where strength or demand is not known."""

    hub_gives: float | None  # cracks if brittle, yields at the bore if ductile; no factor of safety in it
    shaft_gives: float | None
    slips_turning: float | None
    slips_along: float | None
    no_interference: float  # share in which the shaft came out no larger than the hole
    samples: int
    missing: tuple[str, ...]

    def doubt(self, chance: float) -> float:
        """Standard error of a chance found from so many samples (at least that of one case)."""
        return math.sqrt(max(chance * (1 - chance), 1 / self.samples) / self.samples)


def chances_of(
    joint: PressJoint,
    *,
    hole_mm: npt.NDArray[np.float64],
    shaft_mm: npt.NDArray[np.float64],
    friction: npt.NDArray[np.float64],
    hub_strength_mpa: npt.NDArray[np.float64] | None = None,
    torque_needed_nm: float | None = None,
    force_needed_n: float | None = None,
) -> Chances:
    """Chances from samples of sizes and friction, all of one length; other data from ``joint``.

    A sample whose shaft is no larger than its hole has no pressure and slips under any load. Strength of the hub may
    be sampled as well; otherwise the joint's own figures stand.

    Source: Lame and Coulomb for each sample; counting.
    Range: samples above 0 and finite.
    Anchor: with no spread each chance is 0 or 1 as ``press`` says (tested).
    """
    import numpy as np  # noqa: PLC0415  # one joint without spread needs no arrays

    positive("sampled hole", hole_mm, "mm")
    positive("sampled shaft", shaft_mm, "mm")
    if not hole_mm.shape == shaft_mm.shape == friction.shape or hole_mm.size == 0:
        shapes = (hole_mm.shape, shaft_mm.shape, friction.shape)
        raise Refused("samples", got=shapes, reason="hole, shaft and friction must be of one length, not empty")
    tight = np.round(shaft_mm - hole_mm, 9)
    interference = np.maximum(tight, 0.0)
    full = joint.pressure_mpa(interference)
    held = joint.pressure_mpa(joint.gripping_mm(interference))
    d, length = joint.hole_mm, joint.length_mm
    strength = joint.hub.strength_mpa if hub_strength_mpa is None else hub_strength_mpa
    missing = []

    def share(words: str, limit: Values | None, value: Values, *, above: bool) -> float | None:
        if limit is None:
            missing.append(words)
            return None
        return float(np.mean(value > limit if above else value < limit))

    return Chances(
        hub_gives=share(joint.hub.strength_words, strength, joint.hub_stress_mpa(full), above=True),
        shaft_gives=share(
            joint.shaft.strength_words, joint.shaft.strength_mpa, joint.shaft_stress_mpa(full), above=True
        ),
        slips_turning=share(
            "torque to be carried", torque_needed_nm, grip.slip_torque_nm(held, d, length, friction), above=False
        ),
        slips_along=share(
            "force along to be carried", force_needed_n, grip.axial_force_n(held, d, length, friction), above=False
        ),
        no_interference=float(np.mean(tight <= 0)),
        samples=hole_mm.size,
        missing=tuple(missing),
    )


def chances(
    joint: PressJoint,
    *,
    hole_sd_mm: float,
    shaft_sd_mm: float,
    seed: int,
    samples: int = 20_000,
    hub_strength_sd_mpa: float = 0.0,
    torque_needed_nm: float | None = None,
    force_needed_n: float | None = None,
) -> Chances:
    """Chances with normal spread of hole and shaft, friction anywhere in its range; the same ``seed``, the same result.

    Source: Lame and Coulomb for each sample; Monte Carlo as in JCGM 101.
    Range: standard deviations 0 or more (0 = known exactly), 100 to 2 000 000 samples.
    Anchor: interference 0.010 mm with standard deviation 0.010 mm: no interference in 15.87 % (normal distribution).

    >>> steel = Metal("steel", 210000, 0.3)
    >>> joint = PressJoint(12.0, 12.010, 30, 15, steel, steel, (0.12, 0.12))
    >>> abs(chances(joint, hole_sd_mm=0.006, shaft_sd_mm=0.008, seed=1).no_interference - 0.1587) < 0.01
    True
    """
    import numpy as np  # noqa: PLC0415  # one joint without spread needs no arrays

    not_negative("spread of the hole", hole_sd_mm, "mm")
    not_negative("spread of the shaft", shaft_sd_mm, "mm")
    not_negative("spread of the hub's strength", hub_strength_sd_mpa, "MPa")
    within("number of samples", samples, 100, 2_000_000, "")
    draw = np.random.default_rng(seed)
    hole, shaft, strength = draw.standard_normal((3, samples))
    base = joint.hub.strength_mpa
    if base is not None:
        base_or_none: npt.NDArray[np.float64] | None = np.maximum(base + hub_strength_sd_mpa * strength, 0.0)
    else:
        base_or_none = None
    return chances_of(
        joint,
        hole_mm=joint.hole_mm + hole_sd_mm * hole,
        shaft_mm=joint.shaft_mm + shaft_sd_mm * shaft,
        friction=draw.uniform(*joint.friction, samples),
        hub_strength_mpa=base_or_none,
        torque_needed_nm=torque_needed_nm,
        force_needed_n=force_needed_n,
    )


def _strength(part: str, metal: Metal, stress: float, joint: PressJoint) -> Worked:
    factor = joint.brittle_factor if metal.brittle else joint.ductile_factor
    strength = metal.strength_mpa
    kind = "hoop stress" if metal.brittle and part == "hub" else "von Mises stress"
    margin = None if strength is None else (math.inf if stress == 0 else strength / factor / stress)
    put_in = (
        Given("R", metal.strength_words, strength, "MPa"),
        Given("S", "factor of safety", factor, ""),
        Given("sigma", f"{kind} in the {part}", stress, "MPa"),
    )
    source = "Lame; factor common practice, no source" if metal.brittle else "Lame; von Mises; factor after DIN 7190-1"
    return Worked(f"strength over stress, {part}", margin, "", "(R / S) / sigma", put_in, source)


def _notes(joint: PressJoint, gripping_mm: float) -> tuple[str, ...]:
    notes = []
    if joint.rz_hub_um is None:
        notes.append("roughness not known: nothing taken off the grip for smoothing")
    elif gripping_mm == 0:
        notes.append("smoothing takes up all of the interference: the joint does not hold")
    if joint.hub.brittle:
        notes.append(
            f"{joint.hub.name}: a crack comes without warning; factor {joint.brittle_factor:g} on tensile strength"
        )
    if joint.shaft_bore_mm > 0:
        notes.append("the bore of the pressed-in part closes in: ream or measure it after pressing")
    return tuple(notes)
