"""Press and shrink joints: laws that any right sum keeps, an independent solution, chances, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.reckon.joints import grip, lame, rules
from asmade.reckon.joints.press import Metal, PressJoint, chances, chances_of, friction_range, press
from asmade.standards import tables

STEEL = Metal("steel", 210_000, 0.3, proof_mpa=350, tensile_mpa=500)
IRON = Metal("cast iron", 110_000, 0.26, tensile_mpa=200, brittle=True)
BRONZE = Metal("bronze", 110_000, 0.34, proof_mpa=150)
SAME = {"e_hub_mpa": 210_000, "nu_hub": 0.3, "e_shaft_mpa": 210_000, "nu_shaft": 0.3}
AXLE = PressJoint(15.9, 15.912, 32, 14, IRON, STEEL, (0.05, 0.12))

diameters = st.floats(2, 100)
ratios = st.floats(1.05, 20)
pressures = st.floats(0.1, 500)


def test_lame_agrees_with_the_differential_equation() -> None:
    """Independent check: u'' + u'/r - u/r^2 = 0 in both rings by finite differences, joined by the interference."""
    a, b, c, delta = 3.0, 5.0, 8.0, 0.0075  # radii, interference on the radius
    hub, shaft = (210_000, 0.3), (110_000, 0.34)
    n = 400

    def ring(r: np.ndarray, e: float, nu: float, at: str) -> float:
        """Displacement at the interface for 1 MPa there."""
        h = r[1] - r[0]
        m = np.zeros((n, n))
        rhs = np.zeros(n)
        for i in range(1, n - 1):
            m[i, i - 1 : i + 2] = (
                1 / h**2 - 1 / (2 * h * r[i]),
                -2 / h**2 - 1 / r[i] ** 2,
                1 / h**2 + 1 / (2 * h * r[i]),
            )
        k = e / (1 - nu**2)
        m[0, :3] = k * np.array([-1.5, 2.0, -0.5]) / h
        m[0, 0] += k * nu / r[0]
        m[-1, -3:] = k * np.array([0.5, -2.0, 1.5]) / h
        m[-1, -1] += k * nu / r[-1]
        rhs[0 if at == "inner" else -1] = -1.0
        u = np.linalg.solve(m, rhs)
        return float(u[0] if at == "inner" else u[-1])

    opening = ring(np.linspace(b, c, n), *hub, "inner")
    closing = ring(np.linspace(a, b, n), *shaft, "outer")
    expected = delta / (opening - closing)
    found = lame.contact_pressure_mpa(
        2 * delta, 2 * b, 2 * c, 2 * a, e_hub_mpa=hub[0], nu_hub=hub[1], e_shaft_mpa=shaft[0], nu_shaft=shaft[1]
    )
    assert found == pytest.approx(expected, rel=2e-4)


@given(p=pressures, d=diameters, ratio=st.floats(1.0005, 1.01))
def test_thin_ring(p: float, d: float, ratio: float) -> None:
    """Lame reduces to the thin-ring formula sigma = p d/(2 t)."""
    wall = d * (ratio - 1) / 2
    assert lame.hub_hoop_mpa(p, d, d * ratio) == pytest.approx(p * d / (2 * wall), rel=ratio - 1 + 1e-3)


@given(p=pressures, d=diameters, ratio=ratios)
def test_equilibrium_of_half_a_ring(p: float, d: float, ratio: float) -> None:
    """Hoop stress over the wall balances the pressure on the bore, whatever the thickness."""
    inner, outer = d / 2, d * ratio / 2
    r = np.linspace(inner, outer, 2001)
    stress = np.asarray(lame.hoop_at(r, inner, outer, inside_mpa=p))
    assert np.trapezoid(stress, r) == pytest.approx(p * inner, rel=2e-3)
    assert lame.hub_hoop_mpa(p, d, d * ratio) == pytest.approx(float(stress[0]), rel=1e-6)
    assert lame.radial_at(inner, inner, outer, inside_mpa=p) == pytest.approx(-p)


@given(delta=st.floats(0.001, 0.1), d=diameters, ratio=ratios, bore=st.floats(0, 0.9))
def test_interference_and_pressure_are_each_others_reverse(delta: float, d: float, ratio: float, bore: float) -> None:
    p = lame.contact_pressure_mpa(delta, d, d * ratio, d * bore, **SAME)
    assert lame.interference_for_pressure_mm(p, d, d * ratio, d * bore, **SAME) == pytest.approx(delta)
    # what the hub's bore grows and the shaft shrinks makes up the interference
    opens = p * d / 210_000 * ((ratio**2 + 1) / (ratio**2 - 1) + 0.3)
    closes = p * d / 210_000 * ((1 + bore**2) / (1 - bore**2) - 0.3)
    assert opens + closes == pytest.approx(delta)


@given(d=diameters, ratio=ratios, thicker=st.floats(1.01, 5))
def test_a_thicker_hub_presses_harder(d: float, ratio: float, thicker: float) -> None:
    thin = lame.contact_pressure_mpa(0.01, d, d * ratio, 0, **SAME)
    assert lame.contact_pressure_mpa(0.01, d, d * ratio * thicker, 0, **SAME) > thin


@given(length=st.floats(1, 200), times=st.floats(1.1, 10), p=pressures, d=diameters)
def test_capacity_scales_with_length(length: float, times: float, p: float, d: float) -> None:
    assert grip.axial_force_n(p, d, length * times, 0.1) == pytest.approx(times * grip.axial_force_n(p, d, length, 0.1))
    torque = grip.slip_torque_nm(p, d, length, 0.1)
    assert grip.slip_torque_nm(p, d, length * times, 0.1) == pytest.approx(times * torque)
    assert torque == pytest.approx(grip.axial_force_n(p, d, length, 0.1) * d / 2000)


def test_formulas_take_many_values_at_once() -> None:
    delta = np.array([0.0, 0.005, 0.010])
    many = lame.contact_pressure_mpa(delta, 12.0, 30.0, 0.0, **SAME)
    one = [lame.contact_pressure_mpa(float(x), 12.0, 30.0, 0.0, **SAME) for x in delta]
    assert np.asarray(many).tolist() == pytest.approx(one)
    bores = np.array([0.0, 6.0])
    assert np.asarray(lame.shaft_hoop_mpa(10.0, 12.0, bores)).tolist() == pytest.approx([-10.0, -20 * 144 / 108])


def test_stress_takes_all_the_interference_and_grip_what_smoothing_leaves() -> None:
    rough = replace(AXLE, rz_hub_um=4.0, rz_shaft_um=4.0)
    smooth = press(AXLE)
    found = press(rough)
    assert found.hoop_hub_mpa == smooth.hoop_hub_mpa
    assert found.torque_nm == pytest.approx(smooth.torque_nm * (12 - 6.4) / 12)
    assert any("roughness not known" in note for note in smooth.notes)
    gone = press(replace(AXLE, shaft_mm=15.904, rz_hub_um=4.0, rz_shaft_um=4.0))
    assert gone.torque_nm == 0
    assert any("does not hold" in note for note in gone.notes)


def test_cast_iron_is_judged_by_its_tensile_strength_and_steel_by_proof() -> None:
    found = press(AXLE)
    assert found.hub_strength.value == pytest.approx(200 / 2.5 / found.hoop_hub_mpa)
    assert found.shaft_strength.value == pytest.approx(350 / 1.1 / found.von_mises_shaft_mpa)
    assert "tensile strength of cast iron" in found.hub_strength.working
    ductile = press(replace(AXLE, hub=STEEL))
    assert ductile.hub_strength.value == pytest.approx(350 / 1.1 / ductile.von_mises_hub_mpa)


def test_strength_not_known_is_said_and_not_guessed() -> None:
    found = press(replace(AXLE, hub=Metal("cast iron", 110_000, 0.26, brittle=True)))
    assert found.hub_strength.value is None
    assert found.hub_strength.missing == ("tensile strength of cast iron",)
    assert "not known" in found.hub_strength.working


def test_a_bush_closes_in() -> None:
    bush = PressJoint(10, 10.015, 16, 12, STEEL, BRONZE, (0.1, 0.1), shaft_bore_mm=6)
    found = press(bush)
    assert 0.3 * 0.015 < found.bore_closing_mm < 0.015
    assert any("closes in" in note for note in found.notes)


def test_chance_of_no_interference_is_that_of_the_normal_distribution() -> None:
    found = chances(AXLE, hole_sd_mm=0.006, shaft_sd_mm=0.008, seed=7, samples=50_000, torque_needed_nm=0.001)
    expected = norm.cdf(-0.012 / 0.010)
    assert found.no_interference == pytest.approx(expected, abs=4 * math.sqrt(expected / 50_000))
    assert found.slips_turning == pytest.approx(found.no_interference, abs=0.002)  # any load slips without interference
    assert found.missing == ("force along to be carried",)
    assert found.slips_along is None


def test_chance_that_the_boss_cracks_is_the_share_of_interference_above_the_limit() -> None:
    """Hoop stress is proportional to interference, so the normal distribution gives the answer."""
    per_mm = press(AXLE).hoop_hub_mpa / 0.012
    limit = 200 / per_mm
    sd = 0.02
    found = chances(AXLE, hole_sd_mm=0, shaft_sd_mm=sd, seed=3, samples=40_000)
    expected = norm.sf((limit - 0.012) / sd)
    assert found.hub_gives is not None
    assert abs(found.hub_gives - expected) < 4 * found.doubt(expected)


def test_same_seed_same_result_and_no_spread_is_certain() -> None:
    once = chances(AXLE, hole_sd_mm=0.004, shaft_sd_mm=0.004, seed=11, torque_needed_nm=9.0)
    again = chances(AXLE, hole_sd_mm=0.004, shaft_sd_mm=0.004, seed=11, torque_needed_nm=9.0)
    assert once == again
    exact = replace(AXLE, friction=(0.1, 0.1))
    torque = press(exact).torque_nm
    for needed, chance in ((torque * 0.99, 0.0), (torque * 1.01, 1.0)):
        found = chances(exact, hole_sd_mm=0, shaft_sd_mm=0, seed=1, torque_needed_nm=needed, force_needed_n=1)
        assert found.slips_turning == chance
        assert (found.hub_gives, found.shaft_gives, found.slips_along) == (0.0, 0.0, 0.0)


def test_the_strength_of_castings_may_vary_too() -> None:
    stiff = chances(AXLE, hole_sd_mm=0.002, shaft_sd_mm=0.002, seed=5)
    varied = chances(AXLE, hole_sd_mm=0.002, shaft_sd_mm=0.002, seed=5, hub_strength_sd_mpa=60)
    assert stiff.hub_gives is not None
    assert varied.hub_gives is not None
    assert varied.hub_gives > stiff.hub_gives
    unknown = chances(
        replace(AXLE, hub=Metal("iron", 110_000, 0.26, brittle=True)), hole_sd_mm=0, shaft_sd_mm=0, seed=1
    )
    assert unknown.hub_gives is None
    assert "tensile strength of iron" in unknown.missing


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"hub_od_mm": 15.0}, "outside diameter of the hub"),
        ({"length_mm": 0.0}, "joint length"),
        ({"length_mm": math.nan}, "joint length"),
        ({"shaft_bore_mm": 16.0}, "above the bore of the shaft"),
        ({"shaft_bore_mm": -1.0}, "bore of the shaft"),
        ({"friction": (0.12, 0.05)}, "least before most"),
        ({"friction": (0.0, 0.1)}, "friction"),
        ({"friction": (0.1, 1.2)}, "friction"),
        ({"hole_mm": math.inf}, "hole"),
        ({"brittle_factor": 0.5}, "factor of safety"),
    ],
)
def test_impossible_joints_are_refused(changed: dict[str, object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        replace(AXLE, **changed)


def test_other_refusals() -> None:
    with pytest.raises(OutOfRange, match="the shaft is smaller than the hole"):
        press(replace(AXLE, shaft_mm=15.85))
    with pytest.raises(Refused, match="both or neither"):
        replace(AXLE, rz_hub_um=4.0)
    with pytest.raises(OutOfRange, match="Poisson"):
        Metal("jelly", 1.0, 0.6)
    with pytest.raises(OutOfRange, match="proof strength"):
        Metal("jelly", 1.0, 0.3, proof_mpa=-1)
    with pytest.raises(OutOfRange, match="pressure"):
        grip.axial_force_n(-1.0, 10, 10, 0.1)
    with pytest.raises(OutOfRange, match="pressure"):
        lame.hub_hoop_mpa(np.array([1.0, -2.0]), 10, 20)
    with pytest.raises(OutOfRange, match="hub: 9 mm"):
        lame.hub_hoop_mpa(1.0, np.array([8.0, 10.0]), np.array([20.0, 9.0]))
    with pytest.raises(OutOfRange, match="samples"):
        chances(AXLE, hole_sd_mm=0, shaft_sd_mm=0, seed=1, samples=5)
    ones = np.ones(3)
    with pytest.raises(Refused, match="one length"):
        chances_of(AXLE, hole_mm=ones * 15.9, shaft_mm=np.ones(2) * 15.9, friction=ones * 0.1)
    with pytest.raises(Unknown, match="pressed, dry"):
        friction_range("pressed dry steel in steel")


def test_heating_and_cooling() -> None:
    hot = grip.heat_hub_to_c(24, 16, 11e-6, ambient_c=20)
    assert hot == pytest.approx(20 + (24 + 16) / 1000 / (11e-6 * 16))
    with pytest.raises(OutOfRange, match="temperature of the hub"):
        grip.heat_hub_to_c(24, 16, 11e-6, ambient_c=20, top_c=200)
    with pytest.raises(OutOfRange, match="heat the hub as well"):
        grip.cool_shaft_to_c(40, 10, 11e-6, ambient_c=20)
    assert grip.loose_at_c(10, 20, 18e-6, 11e-6, ambient_c=20) > 20
    assert grip.loose_at_c(10, 20, 11e-6, 18e-6, ambient_c=20) < 20  # bronze in steel comes loose in the cold
    assert grip.loose_at_c(1000, 20, 11e-6, 11.1e-6, ambient_c=20) is None
    with pytest.raises(OutOfRange, match="expansion"):
        grip.heat_hub_to_c(24, 16, 11.0, ambient_c=20)


def test_friction_ranges_hold_the_usual_textbook_figure() -> None:
    """Shigley's press-fit examples use 0.12 for steel in steel, dry."""
    low, high = friction_range("pressed, dry, steel in steel")
    assert low <= 0.12 <= high
    for row in tables.load("friction", "asmade.reckon.joints").rows:
        low, high = friction_range(str(row["name"]))
        assert 0 < low < high < 0.3


def test_old_rules_keep_to_their_range() -> None:
    with pytest.raises(OutOfRange, match="wheel centre"):
        rules.full_size_rule("tyre shrinkage", 4)
    with pytest.raises(Unknown, match="did you mean"):
        rules.full_size_rule("tire shrinkage", 40)
    with pytest.raises(OutOfRange, match=r"work the joint out by Lame"):
        rules.forced_fit_factor(2.1)
    # F x D is nearly constant: a slip in the table would show
    table = tables.load("forced_fit_factors", "asmade.reckon.joints")
    products = [tables.number(row["diameter_in"]) * tables.number(row["factor"]) for row in table.rows]
    assert all(abs(b / a - 0.99) < 0.025 for a, b in pairwise(products))
