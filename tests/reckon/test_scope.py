"""What a sum may add, and how a relation that cannot be meant is refused."""

from __future__ import annotations

import pytest

from asmade.measure.errors import AsmadeError
from asmade.reckon.findings import look
from asmade.reckon.system import compile_system
from asmade.reckon.values import compute

PARTS = """
[part.a]
places = ["L", "R"]
[part.a.dim]
bore = { kind = "bore", drawn = "10" }
shaft = { kind = "shaft", drawn = "9.9" }
turn = { kind = "angle", drawn = "90 deg" }
"""


@pytest.mark.parametrize(
    "text",
    [
        "a@L.bore + a@L.turn",
        "a@L.turn - 2 mm",
        "1 deg - a@L.bore",
        "2 * a@L.turn + a@L.bore / 2",
        "swing + a@L.bore",
    ],
)
def test_a_length_added_to_an_angle_is_refused(fold_text, text):
    formula = '[[formula]]\nname = "swing"\ngives = "swing"\nis = "a@L.turn - a@R.turn"\n'
    relation = f'{formula}[[wall]]\nname = "x"\nis = "{text}"\nleast = "1 mm"\n'
    with pytest.raises(AsmadeError, match="length and an angle"):
        compile_system(fold_text(PARTS + relation))


@pytest.mark.parametrize("text", ["a@L.bore * sin(a@L.turn) + a@L.shaft", "a@L.bore * a@L.turn + a@L.shaft"])
def test_an_arc_or_a_projection_is_a_length(fold_text, text):
    relation = f'[[wall]]\nname = "x"\nis = "{text}"\nleast = "1 mm"\n'
    assert look(compute(fold_text(PARTS + relation))).known.all()


def test_a_quantity_that_comes_out_an_angle_has_limits_in_degrees(fold_text):
    """90 deg less 90 deg is 0, within 1 deg either way (by hand)."""
    text = """
    [[formula]]
    name = "twist"
    gives = "twist"
    is = "a@L.turn - a@R.turn"
    [[chain]]
    name = "no twist"
    is = "twist"
    least = "-1 deg"
    most = "1 deg"
    """
    finding = look(compute(fold_text(PARTS + "".join(line.strip() + "\n" for line in text.splitlines())))).finding(0)
    assert finding.unit == "rad"
    assert finding.high == pytest.approx(0.0174533, abs=1e-6)


def test_a_fit_of_a_size_with_itself_is_refused(fold_text):
    text = '[[fit]]\nname = "x"\nhole = "a@L.bore"\nshaft = "a@L.bore"\nleast = "0 mm"\n'
    with pytest.raises(AsmadeError, match="one and the same"):
        compile_system(fold_text(PARTS + text))


def test_formulas_in_a_ring_are_not_called_sizes_made_to_suit(fold_text):
    text = '[[formula]]\nname = "x"\ngives = "u"\nis = "v"\n[[formula]]\nname = "y"\ngives = "v"\nis = "u"\n'
    with pytest.raises(AsmadeError, match="formulas that give one another in a ring"):
        compile_system(fold_text(PARTS + text))


def test_a_long_sum_that_is_refused_does_not_bury_the_reason(fold_text):
    text = '[[chain]]\nname = "x"\nis = "' + "(" * 900 + "a@L.bore" + ")" * 900 + '"\nleast = "1 mm"\n'
    with pytest.raises(AsmadeError, match="nested more than") as caught:
        compile_system(fold_text(PARTS + text))
    assert len(caught.value.message) < 300
    assert " at :" not in caught.value.message
