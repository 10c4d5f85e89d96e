"""Materials: names, conditions, sizes, the safe side, refusals, and plain physical sense of every value."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Unknown
from asmade.standards.materials import QUANTITIES, family_of, material, materials

every = st.sampled_from(materials())


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        ("bright mild steel", "070M20"),
        ("EN3B", "070M20"),
        ("en 1a", "11SMn30"),
        ("EN1A leaded", "11SMnPb30"),
        ("silver steel", "115CrV3"),
        ("EN8", "080M40"),
        ("EN24T", "817M40"),
        ("303", "1.4305"),
        ("cast iron", "EN-GJL-250"),
        ("gunmetal", "CC491K"),
        ("gunmetal LG2", "CC491K"),
        ("LG2", "CC491K"),
        ("PB1", "CC481K"),
        ("PB102", "CW451K"),
        ("cz 121", "CW614N"),
        ("CZ108", "CW508L"),
        ("C101", "CW004A"),
        ("c106", "CW024A"),
        ("HE15", "2014A-T6"),
        ("gauge plate", "O1"),
        ("nickel silver", "CW403J"),
        ("ptfe", "PTFE"),
    ],
)
def test_trade_names_lead_to_the_material(asked, name):
    """Names of the trade: common practice, no source."""
    assert material(asked).name == name


def test_a_name_that_is_not_there_is_refused_with_near_names():
    with pytest.raises(Unknown, match="did you mean gunmetal"):
        material("gunmetel")
    assert family_of("unobtainium") is None
    assert family_of("silver steel") == "tool steel"


@given(every)
def test_every_material_can_be_weighed_and_reckoned_with(m):
    assert 900 < m.density_kg_m3 < 9000
    assert 100 < m.youngs_modulus_mpa < 220_000
    assert 0.2 < m.poisson_ratio < 0.5
    assert 5e-6 < m.expansion_per_k < 2e-4
    assert m.tensile_mpa().value > 10
    assert m.machining


@given(every, st.sampled_from(sorted(QUANTITIES)))
def test_values_have_the_unit_of_their_quantity_and_a_source(m, quantity):
    for value in m.values:
        assert value.unit == QUANTITIES[value.quantity]
        assert value.source
    if not any(v.quantity == quantity for v in m.values):
        with pytest.raises(Unknown):
            m.value(quantity)


@given(every)
def test_proof_is_below_tensile_and_thick_bar_is_no_stronger_than_thin_for_drawn_steel(m):
    for condition in m.conditions:
        pairs = {}
        for v in m.values:
            if v.condition == condition and v.quantity in ("proof_least", "tensile_least"):
                pairs.setdefault((v.over_mm, v.upto_mm), {})[v.quantity] = v.value
        for both in pairs.values():
            assert both.get("proof_least", 0) < both.get("tensile_least", 1e9)
        if condition == "+C":
            strengths = [p["tensile_least"] for _, p in sorted(pairs.items())]
            assert strengths == sorted(strengths, reverse=True)


@given(every)
def test_sizes_of_one_condition_follow_one_another(m):
    for condition in m.conditions:
        for quantity in QUANTITIES:
            ranges = [(v.over_mm, v.upto_mm) for v in m.values if (v.condition, v.quantity) == (condition, quantity)]
            for (_, end), (start, _) in pairwise(ranges):
                assert end == start


def test_without_a_size_the_safe_side_is_taken():
    """EN 10277-3: 11SMn30 +C, proof stress from 440 down to 245 MPa."""
    steel = material("EN1A")
    assert steel.proof_mpa().value == 245
    assert steel.proof_mpa(12).value == 410
    assert steel.value("tensile_most").value == 810
    assert steel.proof_mpa(12).condition == "+C"


def test_upper_end_of_a_size_range_belongs_to_it():
    assert material("EN1A").proof_mpa(16).value == 410
    assert material("EN1A").proof_mpa(16.01).value == 375
    assert material("EN1A").proof_mpa(5).value == 440  # the table begins with 5 mm itself


def test_what_is_not_held_is_refused_with_a_way_out():
    with pytest.raises(OutOfRange, match=r"5 to 100 mm \(EN 10277"):
        material("EN1A").proof_mpa(120)
    with pytest.raises(Unknown, match="tensile strength and a factor of safety"):
        material("cast iron").proof_mpa()
    with pytest.raises(Unknown, match="held: sand cast GS"):
        material("LG2").tensile_mpa(condition="forged")
    with pytest.raises(OutOfRange, match="above 0 mm"):
        material("EN1A").proof_mpa(float("nan"))
    with pytest.raises(Unknown, match="did you mean density"):
        material("EN1A").value("densty")
