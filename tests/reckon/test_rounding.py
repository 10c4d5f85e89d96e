from __future__ import annotations

import pytest

from asmade.reckon.rounding import lost_by_rounding
from asmade.reckon.values import compute

STACK = """
[book]
drawing_unit = "inch"
[part.bar]
places = ["engine"]
[part.bar.dim]
face = { kind = "width", drawn = "1 1/64", process = "milled" }
[part.pin]
places = ["engine"]
[part.pin.dim]
seat = { kind = "length", drawn = "9/16", process = "faced" }
cap = { kind = "thickness", drawn = "3/32", process = "faced" }
[[chain]]
name = "room behind the bar"
is = "bar.face - pin.seat - pin.cap"
least = "9 mm"
"""


def test_a_stack_that_rounding_closes_up_is_named_with_its_figures(fold_text):
    """25.797 - 14.2875 - 2.381 = 9.128 as drawn; 26 - 14.5 - 2.5 = 9.0 rounded: still 9; with 25.5 it is not (hand)."""
    build = fold_text(STACK)
    assert lost_by_rounding(build, compute(build)) == ()
    tighter = fold_text(STACK.replace('"9 mm"', '"9.1 mm"'))
    (lost,) = lost_by_rounding(tighter, compute(tighter))
    assert lost.subject == "room behind the bar"
    assert (lost.drawn, lost.rounded) == pytest.approx((9.128125, 9.0))
    assert lost.short_by == pytest.approx(0.1)


def test_what_is_decided_or_made_is_not_rounded(fold_text):
    text = STACK.replace('"9 mm"', '"9.1 mm"') + '[[chosen]]\nof = "pin.seat"\nsize = "14.3 mm"\n'
    build = fold_text(text)
    assert lost_by_rounding(build, compute(build)) == ()
