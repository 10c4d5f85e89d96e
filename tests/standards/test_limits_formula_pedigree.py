"""Every public formula names its source, range and anchor, and the examples in its docstring come out as printed."""

from __future__ import annotations

import doctest

import pytest

from asmade.measure.errors import Refused
from asmade.standards import pedigree, tables

ROOMS = ("asmade.standards", "asmade.reckon.joints")
MODULES = [module for room in ROOMS for module in pedigree.modules(room)]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_every_formula_has_its_pedigree(module) -> None:
    for function in pedigree.formula_functions(module):
        found = pedigree.pedigree(function)
        assert found.meaning


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_examples_come_out_as_printed(module) -> None:
    outcome = doctest.testmod(module)
    assert outcome.failed == 0


def test_a_formula_without_a_source_is_refused() -> None:
    def nameless() -> None:
        """Do a sum.

        Range: any.
        Anchor: none.
        """

    with pytest.raises(Refused, match="Source missing"):
        pedigree.pedigree(nameless)


def test_the_list_for_the_page_reads_formula_and_runs_of_lines() -> None:
    found = {one.name: one for one in pedigree.formulas("asmade.reckon.joints")}
    assert found["slip_torque_nm"].formula == "T = mu p pi d^2 L / 2"
    assert found["loose_at_c"].formula == "t = t0 + U/((alpha_hub - alpha_shaft) d)"
    assert found["contact_pressure_mpa"].anchor.endswith("(Timoshenko, Strength of Materials Part II).")
    assert len(tables.all_tables("asmade.reckon.joints")) >= 4
