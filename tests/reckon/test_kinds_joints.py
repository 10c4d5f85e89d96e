"""Joints of a book as findings: against the sums of the joints room, by hand, and what is said when something lacks."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.book.fold import fold
from asmade.book.ledger_entry import Entry
from asmade.book.text import read_text
from asmade.measure.errors import Refused, Unknown
from asmade.reckon.asked import LOADS, MOST, over
from asmade.reckon.findings import look
from asmade.reckon.joints import demand
from asmade.reckon.joints.bonded import PLACEHOLDER, bonded_torque_nm
from asmade.reckon.joints.pinned import cross_pin_torque_nm, key_torque_nm, shear_yield_mpa
from asmade.reckon.joints.press import PressJoint, press
from asmade.reckon.metals import adhesive_material, metal, usual_friction
from asmade.reckon.system import compile_system, kinds
from asmade.reckon.values import compute
from asmade.standards.threads import thread

BOOK = """
[book]
title = "joints"
drawing_unit = "mm"
[places]
axles = ["1"]
sides = ["L", "R"]
[figure]
working_pressure = { kind = "pressure", drawn = "PRESSURE" }
load = { kind = "force", drawn = "LOAD" }
rail = { kind = "friction", chosen = "0.25" }
bush = { kind = "friction", chosen = "0.2" }
[part.axle]
places = ["1L"]
material = "bright mild steel"
[part.axle.dim]
seat = { kind = "shaft", drawn = "SEAT", process = "turned" }
length = { kind = "length", drawn = "15" }
[part.wheel]
places = ["1L"]
material = "cast iron 250"
[part.wheel.dim]
bore = { kind = "bore", drawn = "12" }
boss = { kind = "diameter", drawn = "BOSS" }
crank_radius = { kind = "crank radius", drawn = "24" }
tread = { kind = "diameter", drawn = "100" }
[part.cylinder]
places = ["L"]
[part.cylinder.dim]
bore = { kind = "bore", drawn = "32" }
[part.pin]
places = ["1L"]
material = "silver steel"
[part.pin.dim]
journal = { kind = "shaft", drawn = "8" }
length = { kind = "length", drawn = "8" }
hole = { kind = "bore", drawn = "3" }
thread = { kind = "thread", drawn = "5 BA", sex = "male" }
"""
CYLINDER = (
    '{ by = "cylinder torque", pressure = "working_pressure", bore = "cylinder@{side}.bore", '
    'crank_radius = "wheel@{place}.crank_radius" }'
)
AXLE = (
    '{ by = "axle torque", pressure = "working_pressure", bore = "cylinder@{side}.bore", '
    'crank_radius = "wheel@{place}.crank_radius", friction = "rail", load = "load", '
    'wheel_diameter = "wheel@{place}.tread" }'
)
PRESSED = f"""
[[pressed]]
name = "wheel pressed on"
places = ["1L"]
hole = "wheel@{{place}}.bore"
shaft = "axle@{{place}}.seat"
hub_diameter = "wheel@{{place}}.boss"
length = "axle@{{place}}.length"
friction = "0.12"
turning = {CYLINDER}
"""


def build_of(extra, *, pressure="80 psi", load="120 N", seat="12.012", boss="30"):
    text = BOOK.replace("PRESSURE", pressure).replace("LOAD", load).replace("SEAT", seat).replace("BOSS", boss)
    drafts = read_text(text + extra)
    return fold(
        [Entry(k, d.kind, d.at or "2026-01-01T00:00:00+00:00", dict(d.body), d.by) for k, d in enumerate(drafts, 1)]
    )


def findings(extra, **sizes):
    return {f.subject: f for f in look(compute(build_of(extra, **sizes)), samples=2000)}


def steel_and_iron():
    return metal("cast iron 250")[0], metal("bright mild steel", size_mm=12)[0]


def thrust_n(pressure_psi=80):
    return pressure_psi * 4.4482216152605 / 25.4**2 * math.pi / 4 * 32**2


def test_kinds_are_found_by_name_and_say_what_they_take():
    for name in ("pressed", "bonded", "pinned", "loaded", "hot", "thread_strength"):
        module = kinds()[name]
        assert module.HELP
        assert f"[[{name}]]" in module.__doc__


# ---------------------------------------------------------------- figures


def test_figures_are_turned_into_their_units_inside():
    """80 psi is 0.551581 MPa (definition of the pound and the inch)."""
    system = compile_system(build_of(""))
    found = {str(a): (system.paper[i], system.units[i]) for i, a in enumerate(system.names)}
    assert found["working_pressure"] == (pytest.approx(0.5515806), "MPa")
    assert found["load"] == (120, "N")
    assert found["rail"] == (0.25, "")


def test_a_figure_that_cannot_be_read_is_refused_by_name():
    with pytest.raises(Refused, match="figure working_pressure") as fault:
        compile_system(build_of("", pressure="80"))
    assert "80 psi" in fault.value.way_out


def test_what_is_not_known_is_named_and_never_zero():
    found = findings(PRESSED, pressure="")["wheel pressed on@1L, turning"]
    assert found.verdict == "not known"
    assert found.value is None
    assert found.missing == ("working_pressure",)
    known = findings(PRESSED, pressure="")["wheel pressed on@1L, hub"]
    assert known.verdict != "not known"  # the stress does not ask for the steam


# ---------------------------------------------------------------- pressed


def test_pressed_agrees_with_the_press_joint_and_by_hand():
    """Steel 12.012 in iron 12.000, boss 30, 15 long, E 110500 for the iron; capacity over F r of an 80 psi cylinder."""
    found = findings(PRESSED)
    iron, steel = steel_and_iron()
    joint = press(PressJoint(12.0, 12.012, 30, 15, iron, steel, (0.12, 0.12)))
    turning = found["wheel pressed on@1L, turning"]
    assert turning.value == pytest.approx(joint.torque_nm * 1000 / (thrust_n() * 24), rel=1e-9)
    assert turning.low == 2
    hub = found["wheel pressed on@1L, hub"]
    assert hub.value == pytest.approx(joint.hoop_hub_mpa, rel=1e-9)
    assert (hub.unit, hub.high) == ("MPa", pytest.approx(250 / 2.5))
    shaft = found["wheel pressed on@1L, shaft"]
    assert shaft.value == pytest.approx(joint.von_mises_shaft_mpa, rel=1e-9)
    assert shaft.high == pytest.approx(440 / 1.1)


def test_a_wall_stands_for_a_boss_that_is_not_round():
    by_wall = PRESSED.replace('hub_diameter = "wheel@{place}.boss"', 'wall = "9 mm"')
    hub = "wheel pressed on@1L, hub"
    assert findings(by_wall)[hub].value == pytest.approx(findings(PRESSED)[hub].value)


def test_a_hub_without_metal_fails_and_says_so_in_figures():
    found = findings(PRESSED, boss="11")
    assert found["wheel pressed on@1L, turning"].verdict == "fails"
    assert found["wheel pressed on@1L, turning"].value == 0
    assert found["wheel pressed on@1L, hub"].verdict == "fails"


def test_a_clearance_holds_nothing():
    found = findings(PRESSED, seat="11.99")["wheel pressed on@1L, turning"]
    assert (found.value, found.verdict) == (pytest.approx(0, abs=1e-9), "fails")


def test_chance_and_shares_come_from_the_sizes():
    found = findings(PRESSED)["wheel pressed on@1L, hub"]
    assert 0 < found.chance < 1
    assert found.worst_low <= found.value <= found.worst_high
    assert {s.cause for s in found.shares} >= {"axle@1L.seat", "wheel@1L.bore"}


def test_rates_are_those_of_lame():
    """Stress is linear in the tightness: its rate with the seat is stress over tightness (plus that of none)."""
    build = build_of(PRESSED)
    values = compute(build)
    hub = next(r for r in values.system.requirements if r.subject == "wheel pressed on@1L, hub")
    row = hub.linear(values.of)
    seat = next(a for a in row.terms if a.dim == "seat")
    stress = hub.evaluate(values.of)
    assert row.terms[seat] == pytest.approx(stress / 0.012, rel=1e-6)
    back = row.constant + math.fsum(rate * values.of(a) for a, rate in row.terms.items())
    assert back == pytest.approx(stress, rel=1e-9)


def test_many_engines_at_once_are_each_as_one():
    values = compute(build_of(PRESSED))
    draws = np.random.default_rng(1)
    sampled = {a: float(values.of(a)) + draws.normal(0, 0.004, 50) for a in values.system.names}
    for requirement in values.system.requirements:
        if requirement.code == "pressed":
            many = np.asarray(requirement.evaluate(sampled.get))
            ones = [float(requirement.evaluate(lambda a, k=k: float(sampled[a][k]))) for k in range(50)]
            assert many == pytest.approx(ones)


def test_friction_by_figure_by_name_and_as_usual():
    def least(said):
        text = PRESSED.replace('friction = "0.12"', said)
        return findings(text)["wheel pressed on@1L, turning"].value

    assert least('friction = "0.24 to 0.3"') == pytest.approx(2 * least('friction = "0.12"'))
    assert least('friction = "bush"') == pytest.approx(least('friction = "0.2"'))
    usual = least('friction = "pressed, oiled, steel in cast iron"')
    assert usual == pytest.approx(least(""))
    assert usual == pytest.approx(least('friction = "0.05"'))


# ---------------------------------------------------------------- bonded

BONDED = f"""
[[bonded]]
name = "wheel bonded on"
places = ["1L"]
hole = "wheel@{{place}}.bore"
shaft = "axle@{{place}}.seat"
length = "axle@{{place}}.length"
turning = {AXLE}
"""
SHEET = '[shop.adhesive.retainer]\ngap_on_diameter = ["0.03 mm", "0.12 mm"]\nstrength = "20 MPa"\n'


def test_bonded_agrees_with_the_bonded_joint_and_by_hand():
    """Axle torque min(F r, mu W D/2) = min(.., 0.25 x 120 x 50) = 1500 N mm; 10 MPa x 0.7 (iron)/2 on 11.95 x 15."""
    found = findings(BONDED, seat="11.95")
    turning = found["wheel bonded on@1L, turning"]
    capacity = 1000 * bonded_torque_nm(11.95, 15, 10, 0.7 / 2)
    assert turning.value == pytest.approx(capacity / 1500)
    assert "placeholder" in turning.source
    gap = found["wheel bonded on@1L, gap"]
    assert (gap.value, gap.low, gap.high) == (pytest.approx(0.05), PLACEHOLDER.gap_least_mm, PLACEHOLDER.gap_most_mm)


def test_the_data_sheet_rules_where_it_is_entered():
    found = findings(BONDED + SHEET, seat="11.95")
    plain = findings(BONDED, seat="11.95")["wheel bonded on@1L, turning"].value
    turning = found["wheel bonded on@1L, turning"]
    assert turning.value == pytest.approx(2 * plain)
    assert "placeholder" not in turning.source
    assert found["wheel bonded on@1L, gap"].high == pytest.approx(0.12)


def test_a_load_not_weighed_yet_leaves_the_bond_not_known():
    found = findings(BONDED, seat="11.95", load="")["wheel bonded on@1L, turning"]
    assert (found.verdict, found.missing) == ("not known", ("load",))


def test_a_bonded_fit_already_asks_for_its_gap():
    fit = """
[[fit]]
name = "wheel on axle"
places = ["1L"]
hole = "wheel@{place}.bore"
shaft = "axle@{place}.seat"
want = "bonded"
"""
    joint = BONDED.replace('hole = "wheel@{place}.bore"\nshaft = "axle@{place}.seat"', 'fit = "wheel on axle@{place}"')
    found = findings(fit + joint, seat="11.95")
    assert "wheel bonded on@1L, gap" not in found
    assert found["wheel on axle@1L"].value == pytest.approx(0.05)


# ---------------------------------------------------------------- pinned, loaded

PINNED = """
[[pinned]]
name = "pinned"
places = ["1L"]
pin = "pin@{place}.hole"
shaft = "wheel@{place}.bore"
WAY
turning = { by = "bush torque", friction = "bush", force = "600", journal = "pin@{place}.journal" }
"""


def test_pins_agree_with_the_joints_room_and_by_hand():
    """Bush torque 0.2 x 600 x 8/2 = 480 N mm (by hand)."""
    silver = shear_yield_mpa(350)
    cross = findings(PINNED.replace("WAY", 'material = "silver steel"'))["pinned@1L"]
    assert cross.value == pytest.approx(1000 * cross_pin_torque_nm(3, 12, silver) / 480)
    way = 'by = "key"\nlength = "10"\nheight = "3"\nshear = "100 MPa"\ncrushing = "150 MPa"'
    key = findings(PINNED.replace("WAY", way))["pinned@1L"]
    assert key.value == pytest.approx(1000 * key_torque_nm(3, 3, 10, 12, 100, 150) / 480)
    along = findings(PINNED.replace("WAY", way.replace("key", "pin along the joint").replace('height = "3"\n', "")))
    assert along["pinned@1L"].value == pytest.approx(13_500 / 480)


def test_a_pin_too_thick_for_its_shaft_counts_for_nothing():
    found = findings(PINNED.replace("WAY", 'shear = "100 MPa"').replace("pin@{place}.hole", "2 * pin@{place}.hole"))
    assert (found["pinned@1L"].value, found["pinned@1L"].verdict) == (0, "fails")


LOADED = """
[[loaded]]
name = "crank pin"
places = ["1L"]
force = { by = "piston thrust", pressure = "working_pressure", bore = "cylinder@{side}.bore" }
diameter = "pin@{place}.journal"
overhang = "0.5 * pin@{place}.length"
length = "pin@{place}.length"
MOST
"""


def test_a_loaded_pin_agrees_with_the_statics():
    found = findings(LOADED.replace("MOST", 'bearing_most = "10 MPa"'))
    force = thrust_n()
    bending, shear, bearing = (found[f"crank pin@1L, {what}"] for what in ("bending", "shear", "bearing pressure"))
    assert bending.value == pytest.approx(demand.pin_bending(force, 4, 8).value)
    assert shear.value == pytest.approx(demand.pin_shear(force, 8).value)
    assert bearing.value == pytest.approx(demand.bearing_pressure(force, 8, 8).value)
    assert (bending.high, bearing.high) == (pytest.approx(350 / 3), 10)
    assert bearing.verdict == "holds"
    assert findings(LOADED.replace("MOST", ""))["crank pin@1L, bearing pressure"].verdict == "no limits"


# ---------------------------------------------------------------- what is asked

numbers = st.floats(0.01, 500)


@given(numbers, numbers, numbers, st.floats(0.01, 1), numbers, numbers)
def test_loads_are_those_of_the_joints_room(bore, radius, load, friction, wheel, arm):
    pressure = 0.5
    thrust = demand.piston_thrust(bore, pressure).value
    sums = {name: one.sum_ for name, one in LOADS.items()}
    assert sums["piston thrust"](pressure, bore) == pytest.approx(thrust)
    assert sums["adhesion"](friction, load) == pytest.approx(demand.adhesion_limit(load, friction).value)
    cylinder = demand.crank_torque(thrust, radius).value
    assert sums["cylinder torque"](pressure, bore, radius) == pytest.approx(1000 * cylinder)
    axle = demand.axle_torque(thrust, radius, load, friction, wheel).value
    assert sums["axle torque"](pressure, bore, radius, friction, load, wheel) == pytest.approx(1000 * axle)
    bush = demand.bush_friction_torque(load, wheel, friction).value
    assert sums["bush torque"](friction, load, wheel) == pytest.approx(1000 * bush)
    crank = demand.return_crank_torque(bore, arm, load, wheel, friction).value
    assert sums["return crank torque"](bore, arm, friction, load, wheel) == pytest.approx(1000 * crank)


def test_capacity_over_demand_has_an_end():
    assert over(10.0, 0.0) == MOST
    assert over(0.0, 5.0) == 0
    assert np.isnan(over(10.0, math.nan))


def test_a_torque_may_be_a_sum_of_the_book():
    """Pressure x area x radius comes out in N mm, for MPa are N per mm2."""
    said = '"working_pressure * 0.7853981634 * cylinder@{side}.bore ** 2 * wheel@{place}.crank_radius"'
    by_sum = findings(PRESSED.replace(CYLINDER, said))["wheel pressed on@1L, turning"].value
    assert by_sum == pytest.approx(findings(PRESSED)["wheel pressed on@1L, turning"].value, rel=1e-9)


# ---------------------------------------------------------------- threads

CHOSEN = '[[chosen]]\nof = "pin.thread"\nsize = "{}"\n'


def test_a_thread_in_place_of_the_drawn_one_carries_its_strength():
    """Section M3 5.03 mm2 (ISO 898-1) over that of 5 BA: 0.900; M2.5 3.39 mm2: 0.61."""
    subject = "pin@1L.thread, strength"
    assert subject not in findings("")
    assert subject not in findings(CHOSEN.format("5 BA"))
    ba = thread("5 BA").stress_area_mm2
    three, less = (findings(CHOSEN.format(size))[subject] for size in ("M3", "M2.5"))
    assert three.value == pytest.approx(5.03 / ba, abs=1e-3)
    assert (less.verdict, less.low) == ("fails", 0.9)
    assert less.value == pytest.approx(3.39 / ba, abs=1e-3)
    assert "M2.5" in less.working
    assert "5 BA" in less.working


def test_a_limit_of_its_own_stands_in_place_of_the_usual_one():
    own = '[[thread_strength]]\nname = "cap"\nplaces = ["1L"]\nof = "pin@{place}.thread"\nleast = 0.6\n'
    found = findings(own + CHOSEN.format("M2.5"))
    assert found["cap@1L"].verdict == "holds"
    assert "pin@1L.thread, strength" not in found
    assert findings(own)["cap@1L"].value == 1


# ---------------------------------------------------------------- refusals

BAD = {
    PRESSED.replace('length = "axle@{place}.length"', ""): (Refused, "length is missing"),
    PRESSED.replace('hub_diameter = "wheel@{place}.boss"', ""): (Refused, "hub_diameter and wall"),
    PRESSED.replace('hole = "wheel@{place}.bore"', 'fit = "nothing@{place}"'): (Unknown, "nothing@1L"),
    PRESSED.replace('friction = "0.12"', 'friction = "1.2"'): (Refused, "above 0 up to 1"),
    PRESSED.replace('friction = "0.12"', 'friction = "wet, soapy"'): (Unknown, "wet, soapy"),
    PRESSED.replace('friction = "0.12"', "factor = -1"): (Refused, "factor"),
    PRESSED.replace("cylinder torque", "steam torque"): (Unknown, "steam torque"),
    PRESSED.replace('pressure = "working_pressure", ', ""): (Refused, "pressure is missing"),
    PRESSED.replace("pressure = ", "presure = "): (Unknown, "presure"),
    PRESSED.replace('friction = "0.12"', 'hub_material = "cheese"'): (Unknown, "cheese"),
    PRESSED.replace('shaft = "axle@{place}.seat"', 'shaft = "cylinder@L.bore"'): (Refused, "material"),
    PRESSED.replace('friction = "0.12"', 'fricton = "0.12"'): (Unknown, "fricton"),
    BONDED + 'adhesive = "jam"\n': (Unknown, "jam"),
    BONDED + 'surface = "muddy"\n': (Unknown, "muddy"),
    PINNED.replace("WAY", ""): (Refused, "material"),
    PINNED.replace("WAY", 'by = "glue"'): (Unknown, "glue"),
    PINNED.replace("WAY", 'shear = "100"'): (Refused, "no unit"),
    LOADED.replace("MOST", "").replace("force", "forced"): (Unknown, "forced"),
    '[[thread_strength]]\nname = "cap"\nof = "pin.journal"\n': (Refused, "no thread"),
}


@pytest.mark.parametrize("extra", list(BAD), ids=[f"{k}-{v[1]}" for k, v in enumerate(BAD.values())])
def test_a_relation_that_cannot_be_read_is_refused(extra):
    error, words = BAD[extra]
    with pytest.raises(error) as fault:
        compile_system(build_of(extra))
    assert words in str(fault.value)
    assert fault.value.message


def test_metals_friction_and_factors_by_family():
    assert metal("gunmetal")[0].brittle is False
    assert metal("SG iron")[0].brittle is False
    assert metal("cast iron 200", wall_mm=15)[0].tensile_mpa == 180  # EN 1561 Table 1, wall over 10 to 20, from memory
    none, said = metal("EN1A", size_mm=500)
    assert none.proof_mpa is None
    assert "not held" in said[0]
    assert usual_friction("EN3B", "gunmetal") == "pressed, oiled, bronze in steel or iron"
    assert usual_friction("cast iron", "EN3B", shrunk=True) == "shrunk, clean, steel on cast iron"
    with pytest.raises(Unknown):
        usual_friction("aluminium", "EN3B")
    assert adhesive_material("nickel silver") == "brass or bronze"
    assert adhesive_material("1.4305") == "stainless steel"


@settings(max_examples=30, deadline=None)
@given(st.floats(12.0005, 12.03), st.floats(14, 60), st.floats(0.02, 0.3))
def test_more_tightness_grips_more_and_stresses_more(seat, boss, friction):
    def of(shaft):
        text = PRESSED.replace('"0.12"', f'"{friction:.4f}"')
        values = compute(build_of(text, seat=f"{shaft:.5f}", boss=f"{boss:.3f}"))
        return {r.subject.split(", ")[1]: float(r.evaluate(values.of)) for r in values.system.requirements}

    one, more = of(seat), of(seat + 0.002)
    assert more["turning"] > one["turning"]
    assert more["hub"] > one["hub"]
    assert more["shaft"] > one["shaft"]


# ---------------------------------------------------------------- hot

HOT = """
[[hot]]
name = "bush on its pin, hot"
hole = "wheel@1L.bore"
shaft = "axle@1L.seat"
hole_at = "warm"
hole_material = "gunmetal"
least = "0.02 mm"
"""


def test_a_fit_at_its_working_temperature():
    """Bronze 12.000 on steel 11.970 at 120 C (248 F): each by its own expansion from 20 C, as the thermal sum has it."""
    from asmade.reckon.joints.thermal import clearance_at_mm
    from asmade.standards.materials import material

    figure = 'rail = { kind = "friction", chosen = "0.25" }\nwarm = { kind = "temperature", drawn = "248 F" }'
    build = fold_of(HOT, figure)
    found = next(iter(f for f in look(compute(build), samples=500) if f.code == "hot"))
    bronze, steel = material("gunmetal").expansion_per_k, material("bright mild steel").expansion_per_k
    ends = {"hole_c": 120, "hole_expansion_per_k": bronze, "shaft_c": 120, "shaft_expansion_per_k": steel}
    assert found.value == pytest.approx(clearance_at_mm(12.0, 11.970, **ends))
    assert found.low == 0.02
    cold = figure.replace("248 F", "")
    unknown = next(iter(f for f in look(compute(fold_of(HOT, cold)), samples=500) if f.code == "hot"))
    assert (unknown.verdict, unknown.missing) == ("not known", ("warm",))


def fold_of(extra, figure):
    text = BOOK.replace('rail = { kind = "friction", chosen = "0.25" }', figure)
    text = text.replace("PRESSURE", "80 psi").replace("LOAD", "").replace("SEAT", "11.970").replace("BOSS", "30")
    drafts = read_text(text + extra)
    return fold(
        [Entry(k, d.kind, d.at or "2026-01-01T00:00:00+00:00", dict(d.body), d.by) for k, d in enumerate(drafts, 1)]
    )
