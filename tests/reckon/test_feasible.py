"""Aims: closed form and linear programmes against scipy.optimize.linprog and scenarios, and hand-worked cases."""

from __future__ import annotations

import itertools
import math
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.reckon.feasible import Bound, Empty, Interval, Limit, interval

NEAR = 1e-6


def referee(limits, free, cost, movable=None):
    """linprog over the free names (and one relaxation per end if ``movable``): value, None infeasible, inf unbounded."""
    names = [b.name for b in free]
    rows, ends = [], []
    for limit in limits:
        row = np.array([limit.terms.get(n, 0.0) for n in names])
        if limit.high is not None:
            rows.append(row)
            ends.append(limit.high - limit.constant - limit.spread)
        if limit.low is not None:
            rows.append(-row)
            ends.append(-(limit.low - limit.constant + limit.spread))
    for k, bound in enumerate(free):
        unit = np.eye(len(names))[k]
        if bound.high is not None:
            rows.append(unit)
            ends.append(bound.high)
        if bound.low is not None:
            rows.append(-unit)
            ends.append(-bound.low)
    a = np.array(rows).reshape(-1, len(names))
    c = np.array([cost.get(n, 0.0) for n in names])
    bounds = [(None, None)] * len(names)
    if movable:
        a = np.hstack([a, -np.eye(len(rows))])
        c = np.concatenate([0 * c, np.ones(len(rows))])
        bounds += [(0, None)] * len(rows)
    answer = linprog(
        c, A_ub=a if rows else None, b_ub=ends or None, bounds=bounds, method="highs", options={"presolve": False}
    )
    return {0: answer.fun, 2: None, 3: -math.inf}[answer.status]


def touching(limits, free, of):
    """What hangs together with ``of``."""
    names = {of}
    while True:
        mine = [limit for limit in limits if names & {n for n, f in limit.terms.items() if f}]
        more = names.union(n for limit in mine for n, f in limit.terms.items() if f)
        if more == names:
            return mine, [b for b in free if b.name in names]
        names = more


def test_a_shaft_to_a_hole_that_is_made():
    fit = Limit("fit", {"shaft": -1.0}, constant=10.0, low=0.02, high=0.05)
    found = interval([fit], [Bound("shaft")], "shaft")
    assert (found.low, found.high) == pytest.approx((9.95, 9.98))
    assert (found.binding_low, found.binding_high) == (("fit",), ("fit",))


def test_a_hole_whose_shaft_is_made_later_within_its_reach():
    """Gap 0.02 to 0.05, shaft can be turned 9.90 to 10.00: the hole may be 9.92 to 10.05."""
    fit = Limit("fit", {"hole": 1.0, "shaft": -1.0}, low=0.02, high=0.05, to_suit="shaft")
    found = interval([fit], [Bound("hole", 9.0, 11.0), Bound("shaft", 9.90, 10.0)], "hole")
    assert (found.low, found.high) == pytest.approx((9.92, 10.05))
    assert found.binding_low == found.binding_high == ("fit", "shaft")


def test_own_reach_and_spread():
    stack = Limit("stack", {"flange": 1.0}, constant=-3.0, high=0.5, spread=0.1)
    found = interval([stack], [Bound("flange", 0.8)], "flange")
    assert (found.low, found.high) == pytest.approx((0.8, 3.4))
    assert (found.binding_low, found.binding_high) == (("flange",), ("stack",))


def test_no_end():
    found = interval([Limit("wall", {"a": -2.0}, low=-8.0)], [Bound("a")], "a")
    assert found == Interval(None, 4.0, (), ("wall",))
    assert interval([], [Bound("a")], "a") == Interval(None, None, (), ())


def test_all_limits_at_one_end_are_named_and_rounding_does_not_empty_a_point():
    limits = [
        Limit("one", {"a": 1.0}, high=0.3),
        Limit("two", {"a": 10.0}, high=3.0),
        Limit("far", {"a": 1.0}, high=9.0),
    ]
    assert interval(limits, [Bound("a")], "a").binding_high == ("one", "two")
    point = interval([Limit("one", {"a": 1.0}, high=0.3), Limit("two", {"a": 1.0}, low=0.1 + 0.2)], [Bound("a")], "a")
    assert point.low == point.high == pytest.approx(0.3)


def test_limits_elsewhere_have_no_say():
    hopeless = [Limit("x", {"b": 1.0}, low=1.0, high=2.0), Limit("y", {"b": 1.0}, low=3.0)]
    assert isinstance(interval(hopeless, [Bound("a", 0.0, 1.0), Bound("b")], "a"), Interval)
    assert isinstance(interval(hopeless, [Bound("a", 0.0, 1.0), Bound("b")], "b"), Empty)


def test_a_conflict_of_two_and_its_cures():
    """The wheel's bore asks 9.99 at most, the box 10.02 at least: 0.03 too much, cured on either side; one counts double."""
    limits = [
        Limit("wheel", {"seat": 1.0}, high=9.99),
        Limit("box", {"seat": 2.0}, low=20.04),
        Limit("idle", {"seat": 1.0}, low=9.0, high=11.0),
    ]
    found = interval(limits, [Bound("seat", 5.0, 15.0)], "seat")
    assert set(found.conflict) == {"wheel", "box"}
    assert [(c.name, c.end, round(c.amount, 9)) for c in found.cures] == [("wheel", "high", 0.03), ("box", "low", 0.06)]
    assert [(c.name, c.end, round(c.amount, 9)) for c in found.least] == [("wheel", "high", 0.03)]


def test_a_window_narrower_than_its_spread_is_its_own_conflict():
    limit = Limit("chain", {"a": 1.0}, low=-0.02, high=0.02, spread=0.05)
    found = interval([limit], [Bound("a")], "a")
    assert found.conflict == ("chain",)
    assert found.least[0].amount == pytest.approx(0.06)
    tied = Limit("chain", {"a": 1.0, "b": 1.0}, low=-0.02, high=0.02, spread=0.05)
    found = interval([tied], [Bound("a"), Bound("b")], "a")  # nobody takes the spread up
    assert found.conflict == ("chain",)
    assert math.fsum(r.amount for r in found.least) == pytest.approx(0.06)


def test_what_is_made_last_takes_the_spread_up():
    """Rod centres within 0.02 although the axles may yet come out 0.05 either way: the rod is bored last, reach +-0.5."""
    chain = Limit("centres", {"knuckle": 1.0, "rod": 1.0}, -100.0, low=-0.02, high=0.02, spread=0.05, to_suit="rod")
    free = [Bound("knuckle"), Bound("rod", 79.5, 80.5)]
    found = interval([chain], free, "knuckle")
    assert (found.low, found.high) == pytest.approx((100 - 80.5 + 0.05 - 0.02, 100 - 79.5 - 0.05 + 0.02))
    assert isinstance(interval([chain], free, "rod"), Empty)  # too early: the axles are not made
    short = interval([chain], [Bound("knuckle"), Bound("rod", 79.99, 80.01)], "knuckle")
    assert short.conflict == ("centres", "rod")  # its reach does not cover the scatter of what is made first
    assert min(c.amount for c in short.cures) == pytest.approx(2 * 0.05 - 0.04 - 0.02)


def test_a_ring_of_limits():
    """a + b and a - b both limited: only together they bound a."""
    limits = [
        Limit("sum", {"a": 1.0, "b": 1.0}, low=0.0, high=4.0),
        Limit("difference", {"a": 1.0, "b": -1.0}, low=0.0, high=2.0),
    ]
    found = interval(limits, [Bound("a"), Bound("b")], "a")
    assert (found.low, found.high) == pytest.approx((0.0, 3.0))
    assert set(found.binding_high) == {"sum", "difference"}
    third = Limit("too much", {"a": 1.0}, low=3.5)
    empty = interval([*limits, third], [Bound("a"), Bound("b")], "a")
    assert set(empty.conflict) == {"sum", "difference", "too much"}
    assert (empty.cures[0].name, empty.cures[0].end) == ("too much", "low")
    assert empty.cures[0].amount == pytest.approx(0.5)
    assert math.fsum(r.amount for r in empty.least) == pytest.approx(0.5)
    open_end = interval([replace(limits[0], high=None), limits[1]], [Bound("a"), Bound("b")], "a")
    assert open_end.high is None
    assert open_end.binding_high == ()


def figures(low=-4, high=4):
    return st.integers(low * 4, high * 4).map(lambda k: k / 4)


@st.composite
def books(draw, least_terms=1):
    names = [f"d{k}" for k in range(draw(st.integers(1, 5)))]
    free = []
    for name in names:
        low, high = draw(st.none() | figures()), draw(st.none() | figures())
        if low is not None and high is not None and low > high:
            low, high = high, low
        free.append(Bound(name, low, high))
    limits = []
    for k in range(draw(st.integers(0, 6))):
        factors = st.sampled_from([1.0, -1.0, 1.0, -1.0, 0.5, 2.0, -3.0, 0.0])
        terms = draw(
            st.dictionaries(
                st.sampled_from(names), factors, min_size=1, max_size=draw(st.sampled_from([1, 1, 2, 2, 3]))
            )
        )
        low, high = draw(st.none() | figures()), draw(figures())
        if low is not None and low > high:
            low, high = high, low
        limits.append(
            Limit(f"l{k}", terms, draw(figures(-1, 1)), low, high, draw(st.sampled_from([0.0, 0.0, 0.25, 1.0])))
        )
    return limits, free


@settings(deadline=None, max_examples=150)
@given(books())
def test_against_linprog(book):
    limits, free = book
    for of in (b.name for b in free):
        found = interval(limits, free, of)
        mine, mine_free = touching(limits, free, of)
        least, most = referee(mine, mine_free, {of: 1.0}), referee(mine, mine_free, {of: -1.0})
        if isinstance(found, Empty):
            assert least is None
            check_conflict(mine, mine_free, found)
            continue
        assert least is not None
        assert (-math.inf if found.low is None else found.low) == pytest.approx(least, abs=NEAR)
        assert (math.inf if found.high is None else found.high) == pytest.approx(-most, abs=NEAR)
        # those named as binding set the end by themselves
        for end, names, sign in ((found.low, found.binding_low, 1.0), (found.high, found.binding_high, -1.0)):
            if end is not None:
                kept = [limit for limit in mine if limit.name in names]
                reach = [b if b.name in names else Bound(b.name) for b in mine_free]
                assert sign * referee(kept, reach, {of: sign}) == pytest.approx(end, abs=NEAR)


def check_conflict(limits, free, found):
    def holds(limits, free):
        return referee(limits, free, {}) is not None

    def without(names):
        return (
            [limit for limit in limits if limit.name in names],
            [b if b.name in names else Bound(b.name) for b in free],
        )

    def moved(relaxations, share=1.0):
        new_limits, new_free = list(limits), list(free)
        for r in relaxations:
            for items in (new_limits, new_free):
                for k, item in enumerate(items):
                    if item.name == r.name:
                        change = -(r.amount + NEAR) if r.end == "low" else r.amount + NEAR
                        items[k] = replace(item, **{r.end: getattr(item, r.end) + share * change})
        return new_limits, new_free

    assert not holds(*without(found.conflict))
    for name in found.conflict:
        assert holds(*without([n for n in found.conflict if n != name]))
    assert holds(*moved(found.least))
    total = math.fsum(r.amount for r in found.least)
    assert total == pytest.approx(referee(limits, free, {}, movable=True), abs=NEAR)
    for cure in found.cures:
        assert holds(*moved([cure]))
        assert not holds(*moved([cure], share=0.9))
    assert list(found.cures) == sorted(found.cures, key=lambda c: c.amount)


def scenarios(limits, free, of):
    """Every limit's rest at both its ends, independently; what is made last is made anew in each scenario."""
    last = {limit.to_suit for limit in limits if limit.to_suit and limit.to_suit != of}
    first = [b for b in free if b.name not in last]
    spread = [limit for limit in limits if limit.spread]
    copies, reach = [], list(first)
    for number, signs in enumerate(itertools.product((-1.0, 1.0), repeat=len(spread))):
        rest = dict(zip((limit.name for limit in spread), signs, strict=True))
        reach += [replace(b, name=f"{b.name}/{number}") for b in free if b.name in last]
        for limit in limits:
            terms = {f"{n}/{number}" if n in last else n: f for n, f in limit.terms.items()}
            shift = rest.get(limit.name, 0.0) * limit.spread
            copies.append(Limit(f"{limit.name}/{number}", terms, limit.constant + shift, limit.low, limit.high))
    least, most = referee(copies, reach, {of: 1.0}), referee(copies, reach, {of: -1.0})
    return None if least is None else (least, -most)


@settings(deadline=None, max_examples=120)
@given(books(), st.data())
def test_what_is_made_last_against_scenarios(book, data):
    """Never more than what scenario by scenario is possible; just that, where each to-suit name answers one limit."""
    limits, free = book
    named = []
    for limit in limits:
        candidates = sorted(n for n, f in limit.terms.items() if f)
        named.append(replace(limit, to_suit=data.draw(st.sampled_from([None, *candidates]))) if candidates else limit)
    of = free[0].name
    mine, mine_free = touching(named, free, of)
    assume(sum(1 for limit in mine if limit.spread) <= 4)
    found, possible = interval(mine, mine_free, of), scenarios(mine, mine_free, of)
    if isinstance(found, Interval):
        assert possible is not None
        assert (-math.inf if found.low is None else found.low) >= possible[0] - NEAR
        assert (math.inf if found.high is None else found.high) <= possible[1] + NEAR
    star = all(limit.to_suit is None or set(limit.terms) <= {of, limit.to_suit} for limit in mine)
    if star and all(
        len({n for n, f in limit.terms.items() if f}) == 1 or limit.to_suit not in {None, of} for limit in mine
    ):
        assert (possible is None) == isinstance(found, Empty)
        if possible is not None:
            assert (-math.inf if found.low is None else found.low) == pytest.approx(possible[0], abs=NEAR)
            assert (math.inf if found.high is None else found.high) == pytest.approx(possible[1], abs=NEAR)


def test_nothing_is_printed_and_the_usual_case_needs_no_numpy():
    program = """
import sys
from asmade.reckon.feasible import Bound, Limit, interval
one = [Limit("sum", {"a": 1.0, "b": 1.0}, low=0.0, high=4.0)]
interval(one, [Bound("a"), Bound("b", 0.0, 1.0)], "a")
assert "numpy" not in sys.modules
interval([*one, Limit("less", {"a": 1.0, "b": -1.0}, high=2.0)], [Bound("a"), Bound("b")], "a")
assert "highspy" in sys.modules
"""
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, "", "")


def test_a_long_tree_goes_to_the_programme_with_the_same_answer():
    """300 widths in a row, each within 0 to 1 of the next; the last within 0 to 2."""
    free = [Bound(f"w{k}") for k in range(300)] + [Bound("w300", 0.0, 2.0)]
    limits = [Limit(f"step {k}", {f"w{k}": 1.0, f"w{k + 1}": -1.0}, low=0.0, high=1.0) for k in range(300)]
    found = interval(limits, free, "w0")
    assert (found.low, found.high) == pytest.approx((0.0, 302.0))
    near = interval(limits, free, "w200")
    assert (near.low, near.high) == pytest.approx((0.0, 102.0))


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: Bound("a", 2.0, 1.0), OutOfRange, "reach of 'a'"),
        (lambda: Bound("a", math.nan), OutOfRange, "reach of 'a'"),
        (lambda: Limit("l", {"a": 1.0}), Refused, "neither"),
        (lambda: Limit("l", {"a": math.inf}, low=0.0), OutOfRange, "limit 'l'"),
        (lambda: Limit("l", {"a": 1.0}, low=0.0, spread=-0.1), OutOfRange, "spread"),
        (lambda: Limit("l", {"a": 1.0}, low=0.0, to_suit="b"), Unknown, "to-suit"),
        (lambda: interval([], [Bound("a")], "b"), Unknown, "'b'"),
        (lambda: interval([Limit("l", {"b": 1.0}, low=0.0)], [Bound("a")], "a"), Unknown, "limit 'l'"),
        (lambda: interval([], [Bound("a"), Bound("a")], "a"), Refused, "twice"),
    ],
)
def test_nonsense_is_named(call, error, words):
    with pytest.raises(error, match=words):
        call()


def test_what_is_made_last_covers_the_spread_however_far_others_could_go():
    """b may be only 0, and the spread is 0.25: that c is not limited is no help, since c is made before b (by hand)."""
    limits = [
        Limit("b is fixed", {"b": 1.0}, low=0.0, high=0.0),
        Limit("sum", {"a": 1.0, "b": 1.0, "c": 1.0}, low=0.0, high=0.0, spread=0.25, to_suit="b"),
    ]
    found = interval(limits, [Bound("a"), Bound("b"), Bound("c")], "a")
    assert isinstance(found, Empty)
