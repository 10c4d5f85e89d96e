"""Set-ups put together: against every order tried, and as laws."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import Contradiction, Refused, Unknown
from asmade.work.batches import Chain, batches


def chain(piece, kinds, after=None):
    return Chain(piece, tuple(kinds), after or {})


def fewest(chains):
    """Least number of batches by trying every choice of kind in turn (breadth first)."""
    states = {(0,) * len(chains)}
    goal = tuple(len(c.kinds) for c in chains)
    at = {c.piece: n for n, c in enumerate(chains)}
    done = 0
    while goal not in states:
        done += 1
        new = set()
        for state in states:
            ready = [
                n for n, c in enumerate(chains)
                if state[n] < len(c.kinds) and all(state[at[p]] > k for p, k in c.after.get(state[n], ()))
            ]  # fmt: skip
            for kind in {chains[n].kinds[state[n]] for n in ready}:
                new.add(tuple(s + (n in ready and chains[n].kinds[s] == kind) for n, s in enumerate(state)))
        states = new
    return done


def holds(chains, found):
    come = dict.fromkeys((c.piece for c in chains), 0)
    by = {c.piece: c for c in chains}
    for batch in found.batches:
        before = dict(come)
        for piece, k in batch.members:
            assert come[piece] == k
            assert by[piece].kinds[k] == batch.kind
            assert all(before[p] > n for p, n in by[piece].after.get(k, ()))
            come[piece] += 1
    assert come == {c.piece: len(c.kinds) for c in chains}


def test_six_wheels_are_three_set_ups():
    found = batches([chain(f"wheel {k}", ["back", "front", "jig"]) for k in range(6)])
    assert [b.kind for b in found.batches] == ["back", "front", "jig"]
    assert found.proven
    assert found.each_alone == 18
    assert all(len(b.members) == 6 for b in found.batches)


def test_a_seat_to_suit_waits_for_its_wheel():
    chains = [chain("wheel", ["back"]), chain("axle", ["end", "other end"], {1: (("wheel", 0),)})]
    found = batches(chains)
    holds(chains, found)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.text("abc", min_size=1, max_size=4), min_size=1, max_size=4), st.data())
def test_no_order_has_fewer(words, data):
    chains = []
    for n, word in enumerate(words):
        after = {}
        if n and data.draw(st.booleans()):
            other = data.draw(st.integers(0, n - 1))
            after = {
                data.draw(st.integers(0, len(word) - 1)): (
                    (f"p{other}", data.draw(st.integers(0, len(words[other]) - 1))),
                )
            }
        chains.append(chain(f"p{n}", word, after))
    found = batches(chains)
    holds(chains, found)
    assert found.proven
    assert len(found.batches) == fewest(chains)


def test_a_search_cut_short_says_what_it_does_not_know():
    words = ["abcab", "bcabc", "cabca", "acbac", "cbacb"]
    chains = [chain(f"p{n}", word) for n, word in enumerate(words)]
    found = batches(chains, most_states=2)
    holds(chains, found)
    assert not found.proven
    assert found.least <= fewest(chains) <= len(found.batches)
    assert "no order has fewer than" in found.words


def test_what_cannot_be_is_named():
    with pytest.raises(Refused, match="twice"):
        batches([chain("a", "x"), chain("a", "y")])
    with pytest.raises(Unknown, match="before one of a"):
        batches([chain("a", "x", {0: (("b", 0),)})])
    with pytest.raises(Contradiction, match="ring"):
        batches([chain("a", "x", {0: (("b", 0),)}), chain("b", "y", {0: (("a", 0),)})])
