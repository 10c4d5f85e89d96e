"""Threads without a tap: what the shop has that could stand for them.

Figures by hand from the tables of BS 93:2008 (BA) and ISO 261/ISO 898 (metric): 4 BA has major 3.6 mm and pitch 0.66 mm,
M3.5 x 0.6 3.5 mm; the area that carries tension of M4 is 8.78 mm2 (ISO 898-1), that of M3 5.03 mm2.
"""

from __future__ import annotations

import pytest

from asmade.reckon.thread_offers import thread_offers

PARTS = """
[part.frame]
places = ["L", "R"]
[part.frame.dim]
hole = { kind = "thread", drawn = "4 BA", process = "tapped", sex = "female" }
[part.screw]
places = ["L", "R"]
[part.screw.dim]
thread = { kind = "thread", drawn = "4 BA", process = "die-cut", sex = "male" }
cut = { kind = "thread", drawn = "1/2 x 32", process = "screw-cut", sex = "male" }
"""


def tools(*entries):
    return "".join(f'[shop.tool."{kind} {size}"]\nkind = "{kind}"\nsize = "{size}"\n' for kind, size in entries)


def test_a_shop_that_lists_no_taps_is_asked_nothing(fold_text):
    assert thread_offers(fold_text(PARTS)) == ()


def test_what_there_is_a_tap_and_a_die_for_is_not_offered_otherwise(fold_text):
    assert thread_offers(fold_text(PARTS + tools(("tap", "4 BA"), ("die", "4 BA"), ("tap", "M4")))) == ()


def test_taps_near_by_are_offered_with_their_strength(fold_text):
    (found,) = thread_offers(fold_text(PARTS + tools(("tap", "M4"), ("die", "M4"), ("tap", "M3"), ("tap", "M10"))))
    assert (found.thread, found.dimensions, found.lacks) == ("4 BA", ("frame.hole", "screw.thread"), ("tap", "die"))
    assert [o.thread for o in found.offers] == ["M4", "M3"]  # M10 is nowhere near
    m4, m3 = found.offers
    assert (m4.strong_enough, m4.lacks, m4.tools) == (True, (), ("tap M4", "die M4"))
    assert m4.major_change_mm == pytest.approx(0.4)
    assert (m3.strong_enough, m3.lacks) == (False, ("die",))
    assert "weaker than 0.9" in m3.words
    assert "there is no die for it either" in m3.words
    assert m4.strength_ratio / m3.strength_ratio == pytest.approx(8.78 / 5.03, rel=2e-3)


def test_a_die_alone_is_missed(fold_text):
    (found,) = thread_offers(fold_text(PARTS + tools(("tap", "4 BA"), ("die", "M4"))))
    assert found.lacks == ("die",)
    assert found.offers[0].lacks == ("tap",)


def test_a_thread_that_is_locked_is_decided(fold_text):
    locked = "".join(
        f'[[chosen]]\nof = "{of}"\nsize = "4 BA"\nlocked = true\n' for of in ("frame.hole", "screw.thread")
    )  # fmt: skip
    assert thread_offers(fold_text(PARTS + tools(("tap", "M4")) + locked)) == ()
