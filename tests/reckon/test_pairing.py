"""Pairing: against every permutation, and cases worked by hand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.reckon.pairing import assign, chance_within, pair


def names(pairing):
    return {(p.first, p.second) for p in pairing.pairs}


def test_straight_not_crosswise():
    found = pair([("H1", 10.02, 0.0), ("H2", 10.05, 0.0)], [("S1", 10.00, 0.0), ("S2", 10.03, 0.0)], 0.0, 0.05)
    assert names(found) == {("H1", "S1"), ("H2", "S2")}
    assert [p.gap for p in found.pairs] == pytest.approx([0.02, 0.02])
    assert [p.miss for p in found.pairs] == pytest.approx([-0.005, -0.005])
    assert found.total.least_margin == pytest.approx(0.02)
    assert found.total.squared_misses == pytest.approx(2 * 0.005**2)
    assert found.unpaired_first == found.unpaired_second == ()


def test_more_pairs_before_better_pairs():
    """H1 would suit S1 perfectly, but then H2 has no mate."""
    holes, shafts = [("H1", 10.05, 0.0), ("H2", 10.01, 0.0)], [("S1", 10.00, 0.0), ("S2", 10.02, 0.0)]
    found = pair(holes, shafts, 0.0, 0.05, target=0.05)
    assert names(found) == {("H1", "S2"), ("H2", "S1")}


def test_margin_of_the_poorest_before_sum_of_squares():
    """Straight: misses 0 and 4; crosswise: 3 and 3. The sum of squares says straight, the poorest pair says crosswise."""
    found = assign([[10.0, 13.0], [13.0, 14.0]], 5.0, 15.0, target=10.0)
    assert found.pairs == ((0, 1), (1, 0))
    assert found.total.least_margin == 2.0
    assert found.total.squared_misses == 18.0


def test_leftovers_are_told_what_they_need():
    """Three holes, two shafts, one of them too fat by 0.03 for the hole that is left."""
    holes = [("H1", 10.00, 0.0), ("H2", 10.10, 0.0), ("H3", 10.30, 0.0)]
    found = pair(holes, [("S1", 9.97, 0.0), ("S2", 10.11, 0.0)], 0.02, 0.04)
    assert names(found) == {("H1", "S1")}
    h2, h3 = found.unpaired_first
    assert (h2.name, h2.low, h2.wanted, h2.high) == (
        "H2",
        pytest.approx(10.06),
        pytest.approx(10.07),
        pytest.approx(10.08),
    )
    assert (h2.nearest, h2.take_off) == ("S2", pytest.approx(0.04))
    assert (h3.nearest, h3.take_off) == ("S2", pytest.approx(-0.16))
    (s2,) = found.unpaired_second
    assert (s2.low, s2.wanted, s2.high) == (pytest.approx(10.13), pytest.approx(10.14), pytest.approx(10.15))
    assert (s2.nearest, s2.take_off) == ("H2", pytest.approx(0.04))


def test_forbidden_pairs_and_nothing_left_to_come_nearest():
    found = pair([("H", 10.03, 0.0)], [("S", 10.0, 0.0)], 0.0, 0.05, forbidden={("H", "S")})
    assert found.pairs == ()
    assert found.total.least_margin is None
    assert found.unpaired_first[0].nearest is None
    assert found.unpaired_second[0].take_off is None


def test_one_limit_only():
    found = pair([("H", 10.5, 0.0)], [("S", 10.0, 0.0)], 0.1, None, target=0.2)
    assert found.pairs[0].margin == pytest.approx(0.4)
    assert pair([("H", 10.0, 0.0)], [("S", 10.0, 0.0)], 0.1, None, target=0.2).unpaired_first[0].low is None
    with pytest.raises(Refused, match="middle"):
        pair([("H", 10.5, 0.0)], [("S", 10.0, 0.0)], 0.1, None)


def test_a_gap_on_its_limit_is_within_it():
    assert len(pair([("H", 0.3, 0.0)], [("S", 0.1 + 0.2, 0.0)], 0.0, 0.01).pairs) == 1


def test_no_pieces():
    assert pair([], [("S", 1.0, 0.0)], 0.0, 1.0).unpaired_second[0].nearest is None
    assert pair([], [], 0.0, 1.0).total.pairs == 0
    assert pair([("H", 1.0, 0.0)], [], 0.0, 1.0).unpaired_first[0].name == "H"


def test_axleboxes_to_horns_with_a_window_for_each_pair():
    """General form: two-sided windows per pair; box 0 fits horn 0 or 1, box 1 only horn 0."""
    value = [[0.05, 0.06], [0.05, 0.20]]
    found = assign(value, [[0.04, 0.04], [0.04, 0.04]], [[0.10, 0.07], [0.10, 0.10]])
    assert found.pairs == ((0, 1), (1, 0))
    assert found.total.least_margin == pytest.approx(0.01)


def test_weights_settle_who_gets_the_better_mate():
    """By margin alone both ways are the same (the poorest is H1 or H2 with S2); the heavier one gets its wish."""
    holes, shafts = [("H1", 10.0, 0.0), ("H2", 10.0, 0.0)], [("S1", 9.9, 0.0), ("S2", 9.7, 0.0)]
    for heavy, light in (("H1", "H2"), ("H2", "H1")):
        found = pair(holes, shafts, 0.0, 1.0, target=0.1, weights={heavy: 5.0})
        assert names(found) == {(heavy, "S1"), (light, "S2")}


@pytest.mark.parametrize("u", [0.0, 0.002, 0.02])
@pytest.mark.parametrize(("least", "most"), [(0.0, 0.05), (None, 0.05), (0.0, None)])
def test_chance_against_scipy_stats(u, least, most):
    for gap in (-0.01, 0.01, 0.049):
        low, high = -math.inf if least is None else least, math.inf if most is None else most
        expected = float(low <= gap <= high) if u == 0.0 else stats.norm(gap, u).cdf(high) - stats.norm(gap, u).cdf(low)
        assert chance_within(gap, u, least, most) == pytest.approx(expected, abs=1e-12)


def test_uncertainties_of_both_pieces_count():
    found = pair([("H", 10.02, 0.003)], [("S", 10.0, 0.004)], 0.0, 0.05)
    assert found.pairs[0].chance == pytest.approx(stats.norm(0.02, 0.005).cdf(0.05) - stats.norm(0.02, 0.005).cdf(0.0))


def every_pairing(rows, columns):
    """All partial pairings, by permutations of the longer side padded with nothing."""
    slots = [*range(columns), *([None] * rows)]
    for chosen in set(itertools.permutations(slots, rows)):
        yield [(i, j) for i, j in enumerate(chosen) if j is not None]


@settings(deadline=None, max_examples=150)
@given(st.integers(1, 4), st.integers(1, 4), st.data())
def test_against_every_permutation(rows, columns, data):
    def table(figures):
        return np.array(data.draw(st.lists(figures, min_size=rows * columns, max_size=rows * columns)), float).reshape(
            rows, columns
        )

    value = table(st.integers(-8, 8))
    low = table(st.integers(-8, 0))
    high = low + table(st.integers(0, 10))
    goal = table(st.integers(-8, 8))
    weight = table(st.sampled_from([1, 1, 2, 5]))
    cells = st.tuples(st.integers(0, rows - 1), st.integers(0, columns - 1))
    forbidden = data.draw(st.frozensets(cells, max_size=4))
    margin = np.minimum(value - low, high - value)

    def merit(pairs):
        poorest = min((margin[i, j] for i, j in pairs), default=0.0)
        return -len(pairs), -poorest, sum(weight[i, j] * (value[i, j] - goal[i, j]) ** 2 for i, j in pairs)

    allowed = [
        p for p in every_pairing(rows, columns) if all(margin[i, j] >= 0 and (i, j) not in forbidden for i, j in p)
    ]
    best = min(map(merit, allowed))
    found = assign(value, low, high, goal, forbidden=forbidden, weights=weight)
    assert merit(found.pairs) == pytest.approx(best)
    assert all(margin[i, j] >= 0 and (i, j) not in forbidden for i, j in found.pairs)
    assert len({i for i, _ in found.pairs}) == len({j for _, j in found.pairs}) == len(found.pairs)
    assert (-found.total.pairs, -(found.total.least_margin or 0.0), found.total.squared_misses) == pytest.approx(best)


@settings(deadline=None, max_examples=30)
@given(st.permutations(range(5)), st.permutations(range(5)))
def test_the_order_of_the_pieces_does_not_matter(first, second):
    holes = [(f"H{k}", 10.0 + 0.01 * (k % 3), 0.001) for k in range(5)]
    shafts = [(f"S{k}", 9.98 + 0.01 * (k % 2), 0.001) for k in range(5)]
    found = pair([holes[k] for k in first], [shafts[k] for k in second], 0.0, 0.03)
    assert found == pair(holes, shafts, 0.0, 0.03)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: pair([("H", 1.0, 0.0), ("H", 2.0, 0.0)], [], 0.0, 1.0), Refused, "two pieces"),
        (lambda: pair([("H", math.nan, 0.0)], [], 0.0, 1.0), OutOfRange, "size of 'H'"),
        (lambda: pair([], [("S", 1.0, -0.1)], 0.0, 1.0), OutOfRange, "uncertainty of 'S'"),
        (lambda: pair([], [], 1.0, 0.0), OutOfRange, "least gap"),
        (lambda: pair([], [], 0.0, math.inf), OutOfRange, "greatest gap"),
        (lambda: pair([("H", 1.0, 0.0)], [], 0.0, 1.0, forbidden={("H", "S")}), Unknown, "H with S"),
        (lambda: pair([], [], 0.0, 1.0, weights={"H": 2.0}), Unknown, "'H'"),
        (lambda: assign([[math.nan]], 0.0, 1.0), OutOfRange, "values"),
        (lambda: assign([[0.0]], 2.0, 1.0), OutOfRange, "least value"),
        (lambda: assign([[0.0]], math.nan, 1.0), OutOfRange, "least values"),
        (lambda: assign([[0.0]], -math.inf, 1.0), Refused, "middle"),
        (lambda: assign([[0.0]], 0.0, 1.0, weights=[[0.0]]), OutOfRange, "weights"),
        (lambda: assign([[0.0]], [[0.0, 1.0]], 1.0), OutOfRange, "least values"),
        (lambda: assign([0.0], 0.0, 1.0), OutOfRange, "rows and columns"),
    ],
)
def test_nonsense_is_named(call, error, words):
    with pytest.raises(error, match=words):
        call()
