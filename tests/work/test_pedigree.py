"""Every formula of the bench names its source, range and anchor; no part of the room imports in a ring."""

from __future__ import annotations

import pytest

from asmade.standards import pedigree

MODULES = list(pedigree.modules("asmade.work"))


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_every_formula_has_its_pedigree(module):
    for function in pedigree.formula_functions(module):
        assert pedigree.pedigree(function).meaning


def test_the_room_has_formulas_to_list():
    listed = {one.name for one in pedigree.formulas("asmade.work")}
    assert {"packing_mm", "pitch_cut_mm", "tapping_torque_nm", "sine_packing_mm", "least_bars"} <= listed
