"""The drawing check's algebra: hand-made cases, and numpy's rank on floats as an independent referee."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import Refused
from asmade.reckon.exact import Check, Equation, Statement, check

F = Fraction


def drawn(**figures):
    return {name: (Statement(F(value)),) for name, value in figures.items()}


def test_a_stack_that_does_not_add_up():
    """Two widths and their sum on three views: 5/8 + 3/16 = 13/16, drawn 7/8."""
    found = check(
        [Equation("over both", {"boss": F(1), "rod": F(1), "over all": F(-1)})],
        {
            "boss": (Statement(F("5/8"), "sheet 1"),),
            "rod": (Statement(F("3/16")),),
            "over all": (Statement(F("7/8"), "sheet 2"),),
        },
    )
    (one,) = found.disagreements
    assert one.amount == F("-1/16")
    assert one.equations == ("over both",)
    assert one.names == ("boss", "rod", "over all")
    assert one.through == ()
    assert [(c.name, c.would_be, c.reference) for c in one.cures] == [
        ("boss", F("11/16"), "sheet 1"),
        ("rod", F("1/4"), ""),
        ("over all", F("13/16"), "sheet 2"),
    ]
    assert found.in_words() == (
        (
            "over both: out by -1/16 (boss 5/8 would have to be 11/16; rod 3/16 would have to be 1/4; "
            "over all 7/8 would have to be 13/16)"
        ),
    )
    assert found.missing == found.supplied == found.agreements == ()


def test_rod_centres_against_axle_centres_through_a_figure_not_drawn():
    """Two equations disagree only by way of a distance that no view states."""
    found = check(
        [
            Equation("axles", {"horn 1": F(1), "horn 2": F(-1), "between axles": F(-1)}),
            Equation("rods", {"rod": F(1), "between axles": F(-1)}),
            Equation("elsewhere", {"p": F(1), "q": F(1)}, F(-1)),
        ],
        drawn(**{"horn 1": "23/4", "horn 2": 0, "rod": "365/64", "p": "1/2", "q": "1/2"}),
    )
    (one,) = found.disagreements
    assert one.amount == F("3/64")  # 5 3/4 less 5 45/64
    assert one.equations == ("axles", "rods")
    assert set(one.names) == {"horn 1", "horn 2", "rod"}
    assert one.through == ("between axles",)
    assert {c.name: c.would_be for c in one.cures}["rod"] == F("23/4")
    assert [a.equations for a in found.agreements] == [("elsewhere",)]
    assert found.supplied[0].name == "between axles"


def test_one_wrong_figure_in_two_chains_is_the_suspect():
    found = check(
        [
            Equation("frame", {"a": F(1), "b": F(1)}, F(-10)),
            Equation("rod", {"a": F(1), "c": F(2)}, F(-10)),
            Equation("good", {"b": F(1), "d": F(1)}, F(-8)),
        ],
        drawn(a=5, b=4, c=2, d=4),
    )
    assert {d.equations: d.amount for d in found.disagreements} == {("frame",): -1, ("rod",): -1}
    best = found.suspects[0]
    assert (best.cure.name, best.cure.would_be, best.settles) == ("a", 6, 2)
    assert "b" not in {s.cure.name for s in found.suspects}  # it would spoil the good chain
    assert any("a would settle 2 disagreements at once if it were 6 instead of 5" in w for w in found.in_words())


def test_stated_twice():
    found = check(
        [Equation("sum", {"a": F(1), "b": F(-1)})],
        {
            "a": (Statement(F("1/4"), "sheet 1"), Statement(F("5/16"), "sheet 3"), Statement(F("1/4"), "sheet 4")),
            "b": (Statement(F("5/16")),),
        },
    )
    twice, chain = found.disagreements
    assert (twice.amount, twice.equations, twice.names) == (F("1/16"), (), ("a",))
    assert chain.equations == ("sum",)
    assert found.repeated[0].references == ("sheet 1", "sheet 4")
    assert found.suspects[0].cure.would_be == F("5/16")  # the chain sides with sheet 3
    assert found.suspects[0].settles == 2
    assert found.in_words()[0] == "a: drawn 1/4 (sheet 1) and 5/16 (sheet 3)"


def test_supplied_step_by_step():
    found = check(
        [
            Equation("second", {"q": F(1), "p": F(-2)}),
            Equation("first", {"p": F(2), "a": F(1)}, F(-4)),
        ],
        drawn(a="1/3"),
    )
    assert [(s.name, s.value, s.equations, s.names) for s in found.supplied] == [
        ("p", F("11/6"), ("first",), ("a",)),
        ("q", F("11/3"), ("second",), ("p",)),
    ]
    assert found.missing == ()


def test_known_only_together_and_supplied_by_nothing():
    found = check(
        [
            Equation("pair", {"a": F(1), "b": F(1), "c": F(-1)}),
            Equation("free", {"x": F(1), "y": F(1), "z": F(1)}, F(-1)),
            Equation("idle", {"w": F(0), "c": F(1)}, F(-3)),
        ],
        drawn(c=3),
        names=("lonely", "c"),
    )
    groups = {g.names: g for g in found.missing}
    assert set(groups) == {("a", "b"), ("x", "y", "z"), ("lonely",)}
    pair = groups["a", "b"]
    assert pair.needs == 1
    assert dict(pair.together[0].terms) == {"a": 1, "b": 1}
    assert pair.together[0].value == 3
    assert pair.together[0].names == ("c",)
    assert groups["x", "y", "z"].needs == 2
    assert groups["lonely",].together == ()
    words = "\n".join(found.in_words())
    assert "lonely: nothing supplies it" in words
    assert "known only together (a + b = 3); one more figure settles them" in words or "(b + a = 3)" in words
    assert "2 more figures settle them" in words


def test_a_figure_found_although_its_neighbours_are_not():
    """a + b + c = 10 and b + c + d = 7 with b + c free: a - d = 3, and d stated gives a."""
    found = check(
        [
            Equation("one", {"a": F(1), "b": F(1), "c": F(1)}, F(-10)),
            Equation("two", {"b": F(1), "c": F(1), "d": F(1)}, F(-7)),
        ],
        drawn(d=2),
    )
    assert {s.name: s.value for s in found.supplied} == {"a": 5}
    assert set(found.supplied[0].equations) == {"one", "two"}
    assert [set(m.names) for m in found.missing] == [{"b", "c"}]


def test_a_false_equation_of_constants():
    (one,) = check([Equation("nonsense", {}, F(2))], {}).disagreements
    assert (one.amount, one.names, one.cures) == (2, (), ())
    assert "no stated figure takes part" in check([Equation("nonsense", {}, F(2))], {}).in_words()[0]


def test_nothing_to_say():
    assert check([], {}) == Check((), (), (), (), (), ())
    assert check([Equation("whole", {"a": F(1)}, F(-1))], {"a": ()}).supplied[0].value == 1


@pytest.mark.parametrize(
    ("equations", "stated"),
    [
        ([Equation("e", {"a": 0.5})], {}),
        ([Equation("e", {"a": F(1)}, 0.1)], {}),
        ([], {"a": (Statement(0.25),)}),
        ([Equation("e", {}), Equation("e", {})], {}),
    ],
)
def test_only_exact_figures_and_one_name_each(equations, stated):
    with pytest.raises(Refused):
        check(equations, stated)


@st.composite
def systems(draw):
    n = draw(st.integers(2, 8))
    names = [f"n{k}" for k in range(n)]
    truth = {name: F(draw(st.integers(-40, 40)), 8) for name in names}
    factor = st.sampled_from([F(1), F(-1), F(1), F(-1), F(1, 2), F(2), F(-3, 2)])
    equations = []
    for k in range(draw(st.integers(0, 8))):
        terms = draw(st.dictionaries(st.sampled_from(names), factor, min_size=1, max_size=4))
        constant = -sum(f * truth[name] for name, f in terms.items())
        equations.append(Equation(f"e{k}", terms, constant))
    stated = draw(st.sets(st.sampled_from(names)))
    return names, truth, equations, stated


def matrix(names, equations, stated):
    """Rows: equations, then one statement per stated name."""
    rows = [[float(e.terms.get(n, 0)) for n in names] for e in equations]
    rows += [[float(n == m) for n in names] for m in stated]
    return np.array(rows).reshape(-1, len(names))


def rank(rows):
    return int(np.linalg.matrix_rank(rows)) if rows.size else 0


@settings(deadline=None, max_examples=300)
@given(systems())
def test_consistent_drawings(system):
    """Nothing disagrees, what is supplied is the truth, and supplied or missing is as numpy's rank says."""
    names, truth, equations, stated = system
    found = check(equations, {n: (Statement(truth[n]),) for n in stated}, names)
    assert found.disagreements == found.suspects == ()
    whole = matrix(names, equations, stated)
    assert len(found.agreements) == len(whole) - rank(whole)
    supplied = {s.name: s.value for s in found.supplied}
    missing = [n for group in found.missing for n in group.names]
    assert sorted([*supplied, *missing, *stated]) == sorted(names)
    for name, value in supplied.items():
        assert value == truth[name]
    for name in names:
        settled = rank(np.vstack([whole, [[float(n == name) for n in names]]])) == rank(whole)
        assert settled == (name not in missing)
    assert sum(g.needs for g in found.missing) == len(names) - rank(whole)
    for group in found.missing:
        for tie in group.together:
            assert sum(f * truth[n] for n, f in tie.terms.items()) == tie.value
            assert set(tie.terms) <= set(group.names)
    position = {s.name: k for k, s in enumerate(found.supplied)}
    for step in found.supplied:  # each step uses what is stated or was found before it
        assert all(n in stated or position[n] < position[step.name] for n in step.names)


@settings(deadline=None, max_examples=300)
@given(systems(), st.data())
def test_one_wrong_figure(system, data):
    """The disagreements are minimal (brute force by rank), each cure cures, and they span all that can be wrong."""
    names, truth, equations, stated = system
    values = {n: truth[n] for n in stated}
    for wrong in data.draw(st.sets(st.sampled_from(sorted(stated)), max_size=2)) if stated else ():
        values[wrong] += F(data.draw(st.sampled_from([-3, 1, 5])), 16)
    found = check(equations, {n: (Statement(v),) for n, v in values.items()}, names)
    by_name = {e.name: e for e in equations}
    whole = matrix(names, equations, stated)
    right = np.array([-float(e.constant) for e in equations] + [float(values[n]) for n in stated])
    contradiction = rank(np.column_stack([whole, right])) > rank(whole) if len(whole) else False
    assert bool(found.disagreements) == contradiction
    assert len(found.agreements) + len(found.disagreements) == len(whole) - rank(whole)
    for one in found.disagreements:
        rows = matrix(names, [by_name[e] for e in one.equations], one.names)
        assert rank(rows) == len(rows) - 1  # together they say one thing too many ...
        for k in range(len(rows)):
            assert rank(np.delete(rows, k, axis=0)) == len(rows) - 1  # ... and none can be left out
        for cure in one.cures:
            better = {n: (Statement(cure.would_be if n == cure.name else values[n]),) for n in one.names}
            assert not check([by_name[e] for e in one.equations], better).disagreements
    for suspect in found.suspects:
        better = {n: (Statement(suspect.cure.would_be if n == suspect.cure.name else v),) for n, v in values.items()}
        after = check(equations, better, names)
        assert len(found.disagreements) - len(after.disagreements) == suspect.settles


def test_amount_is_counted_in_the_first_equation_as_written():
    equations = [Equation("halved", {"a": F(1, 2), "u": F(1, 3)}), Equation("next", {"u": F(5), "b": F(1)})]
    (one,) = check(equations, drawn(a=2, b=30)).disagreements
    # u = -6 from the second; 1/2 * 2 + 1/3 * -6 = -1
    assert one.amount == -1
    assert one.equations == ("halved", "next")


def test_a_big_book_keeps_its_figures_apart():
    """Many stacks side by side: each finding names its own stack only."""
    equations, figures = [], {}
    for k in range(300):
        equations.append(Equation(f"s{k}", {f"a{k}": F(1), f"b{k}": F(1), f"c{k}": F(-1)}))
        equations.append(Equation(f"t{k}", {f"c{k}": F(1), f"d{k}": F(-1)}))
        figures |= {f"a{k}": (Statement(F(k, 64)),), f"b{k}": (Statement(F(1, 8)),)}
        if k % 3 == 0:
            figures[f"d{k}"] = (Statement(F(k + 8 + (k % 2), 64)),)
    found = check(equations, figures)
    assert [d.equations for d in found.disagreements] == [(f"s{k}", f"t{k}") for k in range(0, 300, 3) if k % 2]
    assert all(abs(d.amount) == F(1, 64) for d in found.disagreements)
    assert len(found.supplied) == 300 + 200


def test_a_tangle_in_which_hardly_anything_is_known():
    """200 figures, 120 equations at random, few stated: supplied and missing still as numpy's rank says."""
    rng = np.random.default_rng(4)
    names = [f"n{k}" for k in range(200)]
    truth = {name: F(int(rng.integers(1, 400)), 64) for name in names}
    for stated_share in (0.02, 0.3):
        equations = []
        for k in range(120):
            terms = {str(n): F(int(rng.choice([-1, 1]))) for n in rng.choice(names, rng.integers(2, 6), replace=False)}
            equations.append(Equation(f"e{k}", terms, -sum(f * truth[n] for n, f in terms.items())))
        stated = [name for name in names if rng.random() < stated_share]
        found = check(equations, {n: (Statement(truth[n]),) for n in stated}, names)
        whole = matrix(names, equations, stated)
        assert found.disagreements == ()
        assert {s.name: s.value for s in found.supplied} == {s.name: truth[s.name] for s in found.supplied}
        assert sum(g.needs for g in found.missing) == len(names) - rank(whole)
        missing = {n for g in found.missing for n in g.names}
        null = np.linalg.svd(whole)[2][rank(whole) :]
        assert missing == {n for n, column in zip(names, null.T, strict=True) if np.abs(column).max() > 1e-9}
        for group in found.missing:
            for tie in group.together:
                assert sum(f * truth[n] for n, f in tie.terms.items()) == tie.value
