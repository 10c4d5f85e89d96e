"""What a size may be chosen to be: enough to choose from, never too many, nothing that could not be made."""

from __future__ import annotations

import pytest

from asmade.book.address import read_address
from asmade.measure.errors import OutOfRange
from asmade.reckon.candidates import cost_of_round, drawn_mm, named_candidates
from asmade.reckon.capability import learn

PART = """
[part.p]
places = ["engine"]
[part.p.dim]
size = { kind = "length", drawn = "DRAWN", process = "milled", keep = "KEEP" }
"""


def sizes(fold_text, drawn, keep="free", more=""):
    build = fold_text(PART.replace("DRAWN", drawn).replace("KEEP", keep) + more)
    dimension = build.design.parts["p"].dims["size"]
    exact = drawn_mm(dimension, "engine", "mm")
    named = named_candidates(build, learn(build), read_address("p#engine.size"), dimension, exact)
    return [n.candidate.size_mm for n in named]


@pytest.mark.parametrize("drawn", ["3", "40", "203.2", "640", "4000"])
def test_a_size_that_may_go_anywhere_has_candidates_near_and_far_but_no_thousands(fold_text, drawn):
    found = sizes(fold_text, drawn)
    exact = float(drawn)
    assert 20 < len(found) < 150
    assert min(found) <= exact - min(3.0, 0.3 * exact) + 0.1, "it reaches the near end"
    room = min(max(3.0, 0.3 * exact), 0.5 * exact)
    assert max(found) >= exact + 0.8 * room, "and the far end"
    near = [mm for mm in found if abs(mm - exact) <= 1.0]
    assert len(near) >= 20, "every tenth of a millimetre close by"


def test_what_is_listed_far_off_is_round(fold_text):
    far = [mm for mm in sizes(fold_text, "203.2") if abs(mm - 203.2) > 16]
    assert far
    assert all(cost_of_round(mm) == 0 for mm in far)


@pytest.mark.parametrize("keep", ["near", "free"])
def test_a_thin_thing_never_becomes_nothing(fold_text, keep):
    """1/32 in is 0.794 mm (exact): half of it is the least that is listed."""
    assert min(sizes(fold_text, "1/32 in", keep)) >= 0.39


def test_a_rounding_step_of_nothing_is_refused(fold_text):
    with pytest.raises(OutOfRange, match="rounding"):
        sizes(fold_text, "10", more='[shop.rounding]\nmilled = "0 mm"\n')
