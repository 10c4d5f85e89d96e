"""Contradictions shown by narrowing alone: by hand, and against trying every set of listed sizes."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.reckon.choosing.conflict import members_of, only
from asmade.reckon.choosing.problem import Candidate, Group, Member, Problem, Variable, Window
from asmade.reckon.choosing.propagate import contradiction

sizes = st.lists(st.integers(0, 6).map(float), min_size=1, max_size=4, unique=True)
ends = st.tuples(st.integers(-4, 8), st.integers(0, 3)).map(lambda e: (float(e[0]), float(e[0] + e[1])))


@st.composite
def problems(draw):
    count = draw(st.integers(2, 4))
    variables = []
    for k in range(count):
        listed = draw(sizes)
        locked = draw(st.none() | st.sampled_from(listed))
        low, high = draw(st.none() | st.integers(0, 6).map(float)), draw(st.none() | st.integers(0, 6).map(float))
        if locked is not None:
            low = high = None
        if low is not None and high is not None and low > high:
            low, high = high, low
        candidates = tuple(Candidate(mm, 0.0, "") for mm in listed)
        variables.append(Variable(f"v{k}", None, 0.0, candidates, low, high, locked))
    windows = []
    for k in range(draw(st.integers(0, 4))):
        names = draw(st.lists(st.sampled_from([v.name for v in variables]), min_size=1, max_size=3, unique=True))
        terms = tuple((name, draw(st.sampled_from((1.0, -1.0, 0.5, 2.0)))) for name in names)
        low, high = draw(ends)
        windows.append(
            Window(f"w{k}", terms, draw(st.sampled_from((0.0, 1.0))), draw(st.sampled_from((low, None))), high)
        )
    groups = [Group("g", ("v0", "v1"), draw(st.sampled_from((0.0, 1.0))))] if draw(st.booleans()) else []
    return Problem(tuple(variables), tuple(windows), tuple(groups), {}, {})


def some_set_holds(problem):
    """Every set of listed sizes, tried."""
    names = [v.name for v in problem.variables]
    choices = [
        [v.locked_mm] if v.locked_mm is not None
        else [c.size_mm for c in v.candidates
              if (v.low_mm is None or c.size_mm >= v.low_mm) and (v.high_mm is None or c.size_mm <= v.high_mm)]
        for v in problem.variables
    ]  # fmt: skip
    for picked in product(*choices):
        at = dict(zip(names, picked, strict=True))
        sums = [(w.constant + sum(k * at[n] for n, k in w.terms), w) for w in problem.windows]
        windows = all((w.low is None or s >= w.low) and (w.high is None or s <= w.high) for s, w in sums)
        if windows and all(
            abs(at[a] - at[b]) <= g.within_mm for g in problem.groups for a in g.members for b in g.members
        ):
            return True
    return False


@settings(max_examples=300, deadline=None)
@given(problems())
def test_what_narrowing_says_cannot_hold_does_not(problem):
    found = contradiction(problem, members_of(problem))
    if found:
        assert not some_set_holds(only(problem, found))
        assert not some_set_holds(only(problem, found, all_sizes=False))


def test_a_lock_that_a_fit_cannot_follow_is_named_with_the_fit_and_nothing_else():
    """By hand: a shaft locked at 15.5 in a hole locked at 15.9 leaves 0.4 where 0.1 is the most."""
    locked = [Variable(n, None, 1.0, (), None, None, mm) for n, mm in (("hole", 15.9), ("shaft", 15.5))]
    free = [
        Variable(f"other {k}", None, 1.0, (Candidate(5.0, 0.0, ""), Candidate(6.0, 0.0, "")), 4.0, 7.0)
        for k in range(9)
    ]
    fit = Window("fit", (("hole", 1.0), ("shaft", -1.0)), 0.0, 0.02, 0.1)
    rest = [Window(f"chain {k}", ((f"other {k}", 1.0), (f"other {k + 1}", -1.0)), 0.0, -2.0, 2.0) for k in range(8)]
    problem = Problem((*locked, *free), (*rest, fit), (), {}, {})
    found = contradiction(problem, members_of(problem))
    assert set(found) == {Member("lock", "hole"), Member("lock", "shaft"), Member("window", "fit")}
    assert contradiction(only(problem, found[1:]), found[1:]) == ()
