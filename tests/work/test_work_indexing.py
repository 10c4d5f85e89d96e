"""Indexing against brute force; what is approximate is never called exact."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused
from asmade.work import indexing

PLATES = ((15, 16, 17, 18, 19, 20), (21, 23, 27, 29, 31, 33))
CIRCLES = sorted({circle for plate in PLATES for circle in plate})


@pytest.mark.parametrize("ratio", [40, 60, 90])
def test_plain_finds_every_circle_and_no_other(ratio):
    for divisions in range(1, 181):
        found = {move.circle: move for move in indexing.plain(ratio, divisions, CIRCLES)}
        for circle in CIRCLES:
            goes = ratio * circle % divisions == 0
            if ratio % divisions == 0:
                assert list(found) == [CIRCLES[0]]
                assert found[CIRCLES[0]].spaces == 0
            else:
                assert (circle in found) == goes
        for move in found.values():
            assert 0 <= move.spaces < move.circle
            assert move.crank_turns * divisions == ratio


@pytest.mark.parametrize("divisions", [51, 57, 63, 69, 77, 87, 91, 93, 99])
def test_compound_finds_all_that_brute_force_finds(divisions):
    turns = Fraction(40, divisions)
    brute = set()
    for plate in PLATES:
        for c1, c2 in combinations(plate, 2):
            for m1 in range(1 - c1, c1):
                for m2 in range(1 - c2, c2):
                    if m1 and m2 and Fraction(m1, c1) + Fraction(m2, c2) == turns:
                        brute.add(frozenset(((m1, c1), (m2, c2))))
    found = indexing.compound(40, divisions, PLATES, most=10_000)
    assert {frozenset((c.first, c.second)) for c in found} == brute
    assert len(found) == len(brute)
    for one in found:
        assert one.crank_turns == turns
        assert one.first[0] > 0


def test_compound_by_several_divisions_still_comes_to_all():
    for one in indexing.compound(40, 97, PLATES, most_every=12, most=50):
        assert math.gcd(one.every, 97) == 1
        assert one.crank_turns == Fraction(40 * one.every, 97)
    for one in indexing.compound(40, 51, PLATES, most_every=5, most=50):
        assert {k * one.every % 51 for k in range(51)} == set(range(51))


GEARS = (24, 24, 28, 32, 40, 44, 48, 56, 64, 72, 86, 100)


@pytest.mark.parametrize("divisions", [51, 53, 57, 59, 61, 67, 71, 73, 79, 107, 113, 127])
def test_differential_is_exact_and_as_complete_as_brute_force(divisions):
    found = indexing.differential(40, divisions, CIRCLES, GEARS, most=1000)
    ratios = {Fraction(a, b) for i, a in enumerate(GEARS) for j, b in enumerate(GEARS) if i != j}
    for four in combinations(range(len(GEARS)), 4):
        for up in combinations(four, 2):
            down = [k for k in four if k not in up]
            top, bottom = (math.prod(GEARS[k] for k in side) for side in (up, down))
            ratios.add(Fraction(top, bottom))
    reach = max(6, divisions // 10)
    brute = {
        x
        for x in range(divisions - reach, divisions + reach + 1)
        if x > 0
        and x != divisions
        and any(40 * c % x == 0 for c in CIRCLES)
        and abs(Fraction(40 * (x - divisions), x)) in ratios
    }
    assert {one.approximate for one in found} == brute
    for one in found:
        gears = Fraction(math.prod(one.drivers), math.prod(one.driven))
        assert abs(one.ratio) == gears
        # the crank goes 40/x against the plate, the plate turns the gears' ratio for a turn of the spindle
        assert one.move.crank_turns == Fraction(40, one.approximate)
        assert one.move.crank_turns + one.ratio / divisions == Fraction(40, divisions)


@settings(max_examples=40, deadline=None)
@given(divisions=st.integers(2, 200), ratio=st.sampled_from([40, 60, 90]))
def test_the_nearest_is_within_half_a_space_and_never_called_exact_unless_it_is(divisions, ratio):
    near = indexing.nearest_plain(ratio, divisions, CIRCLES)
    assert near.exact == bool(indexing.plain(ratio, divisions, CIRCLES))
    assert near.worst_rad <= math.pi / ratio / max(CIRCLES) * (1 + 1e-12) or near.exact
    for k, spaces in enumerate(near.spaces):
        got = Fraction(spaces, near.circle) / ratio
        assert abs(float(got - Fraction(k, divisions))) * 2 * math.pi <= near.worst_rad + 1e-15
    assert near.step_worst_rad <= 2 * near.worst_rad + 1e-15


@given(minutes=st.integers(1, 21_600))
def test_the_nearest_angle_is_the_best_of_all_circles(minutes):
    degrees = Fraction(minutes, 60)
    near = indexing.nearest_angle(40, degrees, CIRCLES)
    best = min(
        abs(Fraction(spaces * 360, circle * 40) - degrees)
        for circle in CIRCLES
        for spaces in (math.floor(degrees * 40 * circle / 360), math.ceil(degrees * 40 * circle / 360))
    )
    assert abs(near.error_deg) == best
    assert near.exact == (best == 0) == bool(indexing.angular(40, degrees, CIRCLES))


def test_direct_indexing():
    assert [indexing.direct(n, 24) for n in (2, 3, 4, 5, 6, 8, 24)] == [12, 8, 6, None, 4, 3, 1]


def test_error_along_the_rim():
    near = indexing.nearest_plain(40, 53, [20])
    assert near.worst_mm(100) == pytest.approx(50 * near.worst_rad)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: indexing.plain(40, 0, CIRCLES), OutOfRange, "divisions"),
        (lambda: indexing.plain(40, 7, []), Refused, "none to index on"),
        (lambda: indexing.plain(0, 7, CIRCLES), OutOfRange, "ratio of the head"),
        (lambda: indexing.plain(40, 7, [1]), OutOfRange, "hole circle"),
        (lambda: indexing.angular(40, Fraction(0), CIRCLES), OutOfRange, "angle"),
        (lambda: indexing.plain(40, 7.0, CIRCLES), Refused, "whole number"),
        (lambda: indexing.nearest_angle(40, Fraction(400), CIRCLES), OutOfRange, "360"),
    ],
)
def test_bad_input_is_named(call, error, words):
    with pytest.raises(error, match=words):
        call()
