"""Press, shrink, keyed, screwed and bonded joints against worked problems of textbooks and against first principles.

Problems are recalled from the books named and reworked by hand ("from memory + formula"): a printed copy was not compared.
"""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from asmade.measure.errors import OutOfRange
from asmade.reckon.joints import demand, grip, lame, pinned, thermal
from asmade.reckon.joints.bonded import bonded_force_n, bonded_torque_nm
from asmade.reckon.joints.press import Metal, PressJoint, chances, press
from asmade.standards.threads import thread

PSI = 0.006894757293168  # MPa
INCH = 25.4
LBF = 4.4482216152605
STEEL = Metal("steel", 210000, 0.3, proof_mpa=355)


def solved(
    interference: float, b: float, d: float, big: float, hub: tuple[float, float], shaft: tuple[float, float]
) -> tuple[float, float, float, float, float]:
    """Solve the two rings anew from u = A r + C / r with the boundary conditions, plane stress (Timoshenko, Part II).

    Returns pressure, hoop stress at the hub's bore, hoop stress at the shaft's bore (or middle), growth of the outside
    diameter, change of the bore of the shaft.
    """

    def radial(r: float, e: float, nu: float) -> tuple[float, float]:
        return e / (1 - nu), -e / (1 + nu) / r**2 if r else 0.0

    def hoop(r: float, e: float, nu: float, a: float, c: float) -> float:
        return e / (1 - nu) * a + (e / (1 + nu) * c / r**2 if c else 0.0)

    ri, rj, ro = b / 2, d / 2, big / 2
    # unknowns: A and C of the shaft, A and C of the hub
    rows, right = [], []
    rows.append([*(radial(ri, *shaft) if ri else (0.0, 1.0)), 0.0, 0.0])  # free bore, or no hole: C = 0
    right.append(0.0)
    rows.append([0.0, 0.0, *radial(ro, *hub)])
    right.append(0.0)
    rows.append([*radial(rj, *shaft), *(-value for value in radial(rj, *hub))])
    right.append(0.0)
    rows.append([-rj, -1 / rj, rj, 1 / rj])
    right.append(interference / 2)
    a_s, c_s, a_h, c_h = np.linalg.solve(np.array(rows), np.array(right))
    inner, slope = radial(rj, *hub)
    shaft_hoop = hoop(ri or rj, *shaft, a_s, c_s)
    closing = 2 * (a_s * ri + c_s / ri) if ri else 0.0
    return -(inner * a_h + slope * c_h), hoop(rj, *hub, a_h, c_h), shaft_hoop, 2 * (a_h * ro + c_h / ro), closing


@pytest.mark.parametrize(
    ("interference", "b", "d", "big", "hub", "shaft"),
    [
        (0.012, 0.0, 12.0, 30.0, (110500, 0.26), (210000, 0.29)),  # axle in an iron wheel
        (0.010, 6.0, 10.0, 22.0, (210000, 0.29), (100000, 0.34)),  # bronze bush in a steel rod
        (0.025, 0.0, 25.0, 40.0, (70000, 0.33), (210000, 0.29)),  # steel in aluminium
        (0.080, 90.0, 110.0, 125.0, (210000, 0.3), (110500, 0.26)),  # steel tyre on an iron rim
        (0.005, 3.0, 5.0, 7.0, (97000, 0.35), (97000, 0.35)),  # thin brass on thin brass
        (0.030, 1.0, 30.0, 300.0, (210000, 0.3), (210000, 0.3)),  # pin hole through the shaft, huge hub
    ],
)
def test_two_rings_solved_anew(
    interference: float, b: float, d: float, big: float, hub: tuple[float, float], shaft: tuple[float, float]
) -> None:
    """Lame, plane stress: boundary conditions solved as four equations, against the closed forms."""
    pressure, hoop, shaft_hoop, growth, closing = solved(interference, b, d, big, hub, shaft)
    moduli = {"e_hub_mpa": hub[0], "nu_hub": hub[1], "e_shaft_mpa": shaft[0], "nu_shaft": shaft[1]}
    found = lame.contact_pressure_mpa(interference, d, big, b, **moduli)
    assert found == pytest.approx(pressure, rel=1e-9)
    assert lame.hub_hoop_mpa(found, d, big) == pytest.approx(hoop, rel=1e-9)
    assert lame.shaft_hoop_mpa(found, d, b) == pytest.approx(shaft_hoop, rel=1e-9)
    assert lame.hub_growth_mm(found, d, big, hub[0]) == pytest.approx(growth, rel=1e-9)
    assert lame.bore_closing_mm(found, d, b, shaft[0]) == pytest.approx(-closing, rel=1e-9, abs=1e-15)


def test_bronze_bushing_in_a_steel_sleeve() -> None:
    """Mott, Machine Elements in Mechanical Design, example on interference fits: bushing 2.000 x 2.500 in sleeve 3.500 in.

    0.0032 in tight, E 30e6 and 17e6, nu 0.27: p 3518 psi, hoop 10 846 psi in the sleeve, 19 543 psi compression in the
    bushing. From memory + formula.
    """
    moduli = {"e_hub_mpa": 30e6, "nu_hub": 0.27, "e_shaft_mpa": 17e6, "nu_shaft": 0.27}
    pressure = lame.contact_pressure_mpa(0.0032, 2.5, 3.5, 2.0, **moduli)
    assert pressure == pytest.approx(3518, abs=1)
    assert lame.hub_hoop_mpa(pressure, 2.5, 3.5) == pytest.approx(10846, abs=2)
    assert lame.shaft_hoop_mpa(pressure, 2.5, 2.0) == pytest.approx(-19543, abs=3)


def test_one_metal_by_the_short_formula() -> None:
    """Shigley, press fits of one metal: p = E delta/(2 R^3) (ro^2 - R^2)(R^2 - ri^2)/(ro^2 - ri^2), delta on radius."""
    for ri, joint, ro, delta in ((0.0, 6.0, 15.0, 0.006), (3.0, 5.0, 11.0, 0.004), (20.0, 25.0, 40.0, 0.02)):
        by_hand = 207000 * delta / (2 * joint**3) * (ro**2 - joint**2) * (joint**2 - ri**2) / (ro**2 - ri**2)
        same = {"e_hub_mpa": 207000, "nu_hub": 0.292, "e_shaft_mpa": 207000, "nu_shaft": 0.292}
        found = lame.contact_pressure_mpa(2 * delta, 2 * joint, 2 * ro, 2 * ri, **same)
        assert found == pytest.approx(by_hand, rel=1e-9)


def test_compound_cylinder_of_timoshenko() -> None:
    """Timoshenko, Strength of Materials Part II: radii 4, 6, 8 in, 0.005 in on radius: -14 580 at 4 in, +14 460 at 6 in."""
    same = {"e_hub_mpa": 30e6, "nu_hub": 0.3, "e_shaft_mpa": 30e6, "nu_shaft": 0.3}
    pressure = lame.contact_pressure_mpa(0.010, 12, 16, 8, **same)
    assert lame.shaft_hoop_mpa(pressure, 12, 8) == pytest.approx(-14580, abs=10)
    assert lame.hub_hoop_mpa(pressure, 12, 16) == pytest.approx(14460, abs=10)
    # with 30 000 psi inside the whole wall adds 50 000 at 4 in, 27 800 at 6 in, 20 000 at 8 in
    for radius, hoop in ((4, 50000), (6, 27780), (8, 20000)):
        assert lame.hoop_at(radius, 4, 8, inside_mpa=30000) == pytest.approx(hoop, abs=10)


def test_thin_tyre() -> None:
    """Any text: a thin tyre on a stiff wheel, hoop stress = E delta/D; 1 mm in 1000 mm: 200 MPa with E 200 GPa."""
    stiff = {"e_hub_mpa": 200e3, "nu_hub": 0.3, "e_shaft_mpa": 1e12, "nu_shaft": 0.3}
    pressure = lame.contact_pressure_mpa(1.0, 1000, 1002, 0, **stiff)
    assert lame.hub_hoop_mpa(pressure, 1000, 1002) == pytest.approx(200, rel=0.005)


def test_force_to_shift_a_wheel() -> None:
    """Coulomb, in pounds and inches by hand: p 10 000 psi, 2 in dia, 3 in long, 0.15: 28 274 lbf and 28 274 lbf in."""
    p, d, length = 10000 * PSI, 2 * INCH, 3 * INCH
    assert grip.axial_force_n(p, d, length, 0.15) / LBF == pytest.approx(28274, abs=1)
    assert grip.slip_torque_nm(p, d, length, 0.15) * 1000 / INCH / LBF == pytest.approx(28274, abs=1)


def test_temperatures() -> None:
    """Linear expansion by hand: sleeve 2.500 in, 0.0032 tight and 0.002 in to spare, 6.5e-6 per F: 320 F above the room."""
    inches_um = INCH * 1000
    hot = grip.heat_hub_to_c(0.0032 * inches_um, 63.5, 11.7e-6, ambient_c=20, clearance_um=0.002 * inches_um)
    assert (hot - 20) * 9 / 5 == pytest.approx(320, abs=0.1)
    cold = grip.cool_shaft_to_c(0.0004 * inches_um, 63.5, 11.7e-6, ambient_c=20, clearance_um=0.001 * inches_um)
    assert (20 - cold) * 9 / 5 == pytest.approx(86.15, abs=0.05)
    # DIN 7190-1, from memory: steel 8.5e-6 when cooled, grey iron 8e-6 and aluminium 18e-6; ours is never more
    assert grip.expansion_when_cold_per_k(11e-6) == pytest.approx(8.5e-6)
    assert grip.expansion_when_cold_per_k(10e-6) <= 8e-6
    assert grip.expansion_when_cold_per_k(23e-6) <= 18e-6
    # a bronze bush (18e-6) in steel (11e-6), 20 mm, 14 um tight: loose 100 K below the room, never by warming
    assert grip.loose_at_c(14, 20, 11e-6, 18e-6, ambient_c=20) == pytest.approx(-80)
    both = {"hub_c": -80, "hub_expansion_per_k": 11e-6, "shaft_c": -80, "shaft_expansion_per_k": 18e-6}
    with pytest.raises(OutOfRange, match="temperature"):  # the working range ends at -60 C
        thermal.interference_at_mm(0.014, 20, **both)
    both |= {"hub_c": 120, "shaft_c": 120}
    assert thermal.interference_at_mm(0.014, 20, **both) == pytest.approx(0.028)


def test_square_key() -> None:
    """Shigley, Example 7-6: 1 7/16 in shaft, 40 hp at 600 rpm, 3/8 in key of 65 kpsi, n 2.80: 1.16 in by shear, 1.34 in by crushing.

    From memory + formula.
    """
    torque = 63025 * 40 / 600  # lbf in
    shaft, side = 1.4375 * INCH, 0.375 * INCH
    shear, crush = 0.577 * 65000 / 2.8 * PSI, 65000 / 2.8 * PSI
    for length, stresses in ((1.16, (shear, 1e6)), (1.34, (1e6, crush))):
        held = pinned.key_torque_nm(side, side, length * INCH, shaft, *stresses)
        assert held == pytest.approx(torque * LBF * INCH / 1000, rel=0.005)


@pytest.mark.parametrize(
    ("screw", "tensile", "load"),
    [("M3", 800, 4020), ("M4", 800, 7020), ("M5", 800, 11350), ("M6", 800, 16100), ("M8", 800, 29200), ("M10", 800, 46400),
     ("M12", 800, 67400), ("M5", 400, 5680), ("M8", 400, 14600), ("M10", 500, 29000)],
)  # fmt: skip
def test_screws_in_tension(screw: str, tensile: float, load: float) -> None:
    """ISO 898-1, least ultimate tensile loads of classes 4.6, 5.6 and 8.8, from memory."""
    assert pinned.thread_tension_n(thread(screw).stress_area_mm2, tensile) == pytest.approx(load, rel=0.006)


def test_shear_area_of_a_unified_thread() -> None:
    """FED-STD-H28/2 in inches by hand, 1/4-20, basic sizes, one inch engaged: screw 0.4615, nut 0.6873 sq in."""
    n, major, pitch_d, minor = 20, 0.25, 0.21752, 0.19587
    screw = math.pi * n * minor * (1 / (2 * n) + 0.57735 * (pitch_d - minor))
    nut = math.pi * n * major * (1 / (2 * n) + 0.57735 * (major - pitch_d))
    quarter = thread("1/4-20 UNC")
    sizes = (quarter.effective_mm, quarter.pitch_mm, INCH, 30.0, 1.0)
    assert (screw, nut) == pytest.approx((0.4615, 0.6873), abs=1e-4)
    assert pinned.screw_strip_n(quarter.nut_minor_mm, *sizes) / INCH**2 == pytest.approx(screw, rel=1e-4)
    assert pinned.nut_strip_n(quarter.major_mm, *sizes) / INCH**2 == pytest.approx(nut, rel=1e-4)


def test_pins_by_hand() -> None:
    """Mean shear: 5 mm pin through a 20 mm shaft, 100 MPa: 2 x 1963.5 N at 10 mm: 39.27 N m; end pin by half of each."""
    assert pinned.cross_pin_torque_nm(5, 20, 100) == pytest.approx(39.27, abs=0.01)
    assert pinned.joint_line_pin_torque_nm(4, 12, 20, 60, 500) == pytest.approx(60 * 4 * 12 * 10 / 1000)
    assert pinned.shear_yield_mpa(65) == pytest.approx(0.577 * 65, rel=0.001)


def test_bonded_by_hand() -> None:
    """Uniform shear, ISO 10123 strength: 12 mm, 15 long, 20 N/mm2, factor 0.5: 565.5 mm2, 5655 N, 33.93 N m."""
    assert bonded_force_n(12, 15, 20, 0.5) == pytest.approx(5654.9, abs=0.1)
    assert bonded_torque_nm(12, 15, 20, 0.5) == pytest.approx(33.93, abs=0.01)


def test_piston_and_pin_by_hand() -> None:
    """1 1/2 in bore at 80 psi: 141.4 lbf; on a 5/16 in pin, 3/8 in out: 17 694 psi; 5/16 x 3/8 in bearing: 1206 psi."""
    thrust = demand.piston_thrust(1.5 * INCH, 80 * PSI).value
    assert thrust is not None
    assert thrust / LBF == pytest.approx(141.37, abs=0.01)
    bending = demand.pin_bending(thrust, 0.375 * INCH, 0.3125 * INCH).value
    bearing = demand.bearing_pressure(thrust, 0.3125 * INCH, 0.375 * INCH).value
    assert bending is not None
    assert bearing is not None
    assert bending / PSI == pytest.approx(17694, abs=3)
    assert bearing / PSI == pytest.approx(1206.4, abs=0.2)


def test_chances_against_closed_forms() -> None:
    """Pressure is in proportion to interference, so with normal sizes each chance is one of the normal distribution."""
    iron = Metal("cast iron", 110000, 0.26, tensile_mpa=120, brittle=True)
    joint = PressJoint(12.0, 12.012, 30, 15, iron, STEEL, (0.1, 0.1))
    mean, sd, many = 0.012, math.hypot(0.004, 0.003), 400_000
    held = press(joint)
    hoop_per_mm, torque_per_mm = held.hoop_hub_mpa / mean, held.torque_nm / mean
    found = chances(joint, hole_sd_mm=0.004, shaft_sd_mm=0.003, seed=7, samples=many, torque_needed_nm=10.0)
    normal = NormalDist(mean, sd)
    close = pytest.approx
    assert found.hub_gives == close(1 - normal.cdf(120 / hoop_per_mm), abs=0.003)
    assert found.slips_turning == close(normal.cdf(10.0 / torque_per_mm), abs=0.003)
    assert found.no_interference == close(normal.cdf(0.0), abs=0.002)
    # strength of the iron spread as well: hoop less strength is normal wherever the shaft is the larger
    spread = chances(joint, hole_sd_mm=0.004, shaft_sd_mm=0.003, seed=8, samples=many, hub_strength_sd_mpa=20.0)
    difference = NormalDist(held.hoop_hub_mpa - 120, math.hypot(hoop_per_mm * sd, 20.0))
    assert spread.hub_gives == close(1 - difference.cdf(0.0), abs=0.003)
    # friction anywhere in its range: the mean of the chance over it
    loose = replace(joint, friction=(0.05, 0.15))
    uniform = chances(loose, hole_sd_mm=0.004, shaft_sd_mm=0.003, seed=9, samples=many, torque_needed_nm=10.0)
    share = np.mean([normal.cdf(10.0 / (torque_per_mm * mu / 0.1)) for mu in np.linspace(0.05, 0.15, 401)])
    assert uniform.slips_turning == close(float(share), abs=0.003)
