"""Change gears against brute force over every order of the gears owned; errors over the engaged length."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused
from asmade.work.change_gears import clears, pitch_cut_mm, trains

INCH = Fraction(254, 10)
OWNED = (20, 20, 25, 30, 40, 45, 63, 80)


def brute(gears, count):
    """Every ratio that any order of any gears makes, up to ``count`` pairs."""
    found = set()
    for pairs in range(1, count + 1):
        for order in permutations(gears, 2 * pairs):
            ratio = Fraction(1)
            for a, b in zip(order[::2], order[1::2], strict=True):
                ratio *= Fraction(a, b)
            found.add(ratio)
    return found


RATIOS = brute(OWNED, 2)


@settings(max_examples=60, deadline=None)
@given(
    screw=st.sampled_from([INCH / 8, Fraction(3), INCH / 6]),
    wanted=st.sampled_from(
        [Fraction(n, 20) for n in range(4, 61)] + [INCH / n for n in (12, 16, 20, 24, 26, 32, 40, 60)]
    ),
)
def test_the_search_finds_exact_trains_and_the_nearest_as_trying_all_does(screw, wanted):
    found = trains(wanted, screw, OWNED, only_fitting=False, most=50)
    ratio = wanted / screw
    assert bool(found.exact) == (ratio in RATIOS)
    for train in found.exact:
        assert train.exact
        assert train.ratio_error == 0
        assert pitch_cut_mm(screw, train.drivers, train.driven) == wanted
    others = sorted(abs(r / ratio - 1) for r in RATIOS if r != ratio and abs(r / ratio - 1) < Fraction(2, 100))
    assert [abs(t.pitch_mm / wanted - 1) for t in found.nearest] == others[: len(found.nearest)]
    assert len(found.nearest) == min(50, len(others))


@pytest.mark.parametrize("only_fitting", [True, False])
def test_every_gear_is_used_as_often_as_it_is_owned(only_fitting):
    found = trains(Fraction(1), INCH / 8, OWNED, only_fitting=only_fitting, most=100)
    for train in (*found.exact, *found.nearest):
        assert not Counter((*train.drivers, *train.driven)) - Counter(OWNED)
        assert train.fits == clears(train.drivers, train.driven)
        assert train.fits or not only_fitting


def test_near_trains_are_never_among_the_exact_and_carry_their_error():
    """80/63 for 1.27: 0.0125 per cent (published 8 tpi chart); over 10 mm 1.25 um."""
    found = trains(Fraction(1), INCH / 8, (30, 63, 75, 80), only_fitting=False)
    assert found.exact == ()
    best = found.nearest[0]
    assert not best.exact
    assert 100 * best.ratio_error == pytest.approx(0.0125, abs=2e-5)
    assert best.error_over_mm(10) == pytest.approx(0.00125, abs=2e-6)


def test_an_exact_metric_train_needs_the_127():
    assert trains(Fraction(3, 2), INCH / 8, (60, 127), pairs=1).exact[0].words == "60/127"


def test_the_pitch_of_the_screw_itself_goes_with_two_alike_gears():
    assert trains(Fraction(3), Fraction(3), (40, 40, 50), pairs=1).exact[0].words == "40/40"


def test_the_stud_that_turns_at_half_the_speed_is_taken_in():
    halved = trains(Fraction(3, 2), Fraction(3), (40, 40), pairs=1, first=Fraction(1, 2))
    assert halved.exact[0].words == "40/40"
    assert pitch_cut_mm(Fraction(3), [40], [40], Fraction(1, 2)) == Fraction(3, 2)


def test_three_pairs_reach_further_than_two():
    """20/60 x 20/80 x 20/50 = 1/30; no two pairs of these come below 1/12 (by hand)."""
    gears = (20, 20, 20, 50, 60, 80)
    assert not trains(Fraction(1, 10), Fraction(3), gears, pairs=2, only_fitting=False).exact
    (train,) = trains(Fraction(1, 10), Fraction(3), gears, pairs=3, only_fitting=False).exact
    assert sorted((*train.drivers, *train.driven)) == sorted(gears)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: trains(Fraction(0), Fraction(3), OWNED), OutOfRange, "pitch wanted"),
        (lambda: trains(Fraction(1), Fraction(3), [40]), Refused, "at least two"),
        (lambda: trains(Fraction(1), Fraction(3), [40, 4]), OutOfRange, "teeth"),
        (lambda: trains(Fraction(1), Fraction(3), OWNED, pairs=4), OutOfRange, "pairs"),
        (lambda: pitch_cut_mm(Fraction(3), [40], [40, 50]), Refused, "as many drivers"),
        (lambda: pitch_cut_mm(Fraction(-3), [40], [40]), OutOfRange, "leadscrew"),
    ],
)
def test_bad_input_is_named(call, error, words):
    with pytest.raises(error, match=words):
        call()
