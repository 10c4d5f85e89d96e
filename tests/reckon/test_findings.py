from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import AsmadeError, Contradiction, Refused, Unknown
from asmade.reckon.findings import in_order, look
from asmade.reckon.system import compile_system, kinds
from asmade.reckon.values import compute

BOOK = """
[part.plate]
places = ["1L", "1R"]
[part.plate.dim]
hole = { kind = "bore", drawn = "6" }
edge = { kind = "length", drawn = "10" }
tapped = { kind = "thread", drawn = "5 BA", sex = "female" }
[part.pin]
places = ["1L", "1R"]
[part.pin.dim]
seat = { kind = "shaft", drawn = "6" }
thread = { kind = "thread", drawn = "5 BA", sex = "male" }
"""
FIT = """
[[fit]]
name = "pin in plate"
places = ["1L", "1R"]
hole = "plate@{place}.hole"
shaft = "pin@{place}.seat"
least = "0.01 mm"
most = "0.05 mm"
"""


def reads(hole: float, pin: float) -> str:
    return "".join(
        f'[[made]]\npiece = "{piece}"\ndim = "{dim}"\nreading = "{value:.4f}"\ninstrument = "mic"\n'
        for piece, dim, value in (("plate#1L", "hole", hole), ("pin#1L", "seat", pin))
    )


@pytest.mark.parametrize(
    ("hole", "pin", "verdict"),
    [(6.03, 6.00, "holds"), (6.012, 6.00, "close"), (6.00, 6.00, "fails"), (6.06, 6.00, "fails")],
)
def test_verdicts(hole, pin, verdict, fold_text):
    """holds: the worst case is within; close: only the best value is; fails: the best value is outside."""
    found = {f.subject: f for f in look(compute(fold_text(BOOK + FIT + reads(hole, pin))))}
    finding = found["pin in plate@1L"]
    assert finding.verdict == verdict
    assert finding.value == pytest.approx(hole - pin)
    assert finding.margin == pytest.approx(min(hole - pin - 0.01, 0.05 - (hole - pin)))
    assert found["pin in plate@1R"].drawn_only


def test_what_is_not_known_is_a_state_of_its_own(fold_text):
    build = fold_text((BOOK + FIT).replace('hole = { kind = "bore", drawn = "6" }', 'hole = { kind = "bore" }').replace(
        'seat = { kind = "shaft", drawn = "6" }', 'seat = { kind = "shaft" }'))  # fmt: skip
    finding = next(iter(look(compute(build))))
    assert (finding.verdict, finding.value, finding.margin, finding.chance) == ("not known", None, None, None)
    assert finding.missing == ("plate@1L.hole", "pin@1L.seat")


@settings(max_examples=40, deadline=None)
@given(hole=st.floats(5.9, 6.1), more=st.floats(0.001, 0.1))
def test_a_bigger_hole_never_lessens_clearance(hole, more, fold_text):
    def gap(size):
        return next(iter(look(compute(fold_text(BOOK + FIT + reads(size, 6.0))), samples=0))).value

    assert gap(hole + more) >= gap(hole)


@settings(max_examples=20, deadline=None)
@given(order=st.permutations(range(4)))
def test_the_order_of_readings_does_not_matter(order, fold_text):
    blocks = [
        f'[[made]]\npiece = "{p}"\ndim = "{d}"\nreading = "{r}"\ninstrument = "mic"\nat = 2026-01-0{n}T10:00:00\n'
        for n, (p, d, r) in enumerate(
            [("plate#1L", "hole", "6.03"), ("pin#1L", "seat", "6.00"), ("plate#1R", "hole", "6.02"),
             ("plate#1L", "hole", "6.04")], start=1)
    ]  # fmt: skip

    def all_of(text):
        return [(f.subject, f.verdict, f.value, f.chance) for f in look(compute(fold_text(text)), samples=0)]

    assert all_of(BOOK + FIT + "".join(blocks[k] for k in order)) == all_of(BOOK + FIT + "".join(blocks))


def test_sames_are_one_finding_that_of_the_worst_pair(fold_text):
    text = (
        BOOK
        + '[[same]]\nname = "holes alike"\nof = ["plate@1L.hole", "plate@1R.hole", "pin@1L.seat"]\nwithin = "0.02 mm"\n'
    )
    read = "".join(
        f'[[made]]\npiece = "{p}"\ndim = "{d}"\nreading = "{r}"\ninstrument = "mic"\n'
        for p, d, r in (("plate#1L", "hole", "6.00"), ("plate#1R", "hole", "6.01"), ("pin#1L", "seat", "6.05"))
    )
    found = list(look(compute(fold_text(text + read))))
    assert len(found) == 1
    assert abs(found[0].value) == pytest.approx(0.05)
    assert found[0].verdict == "fails"


def test_threads_of_one_callout(fold_text):
    text = (
        BOOK + '[[same]]\nname = "cap thread"\nplaces = ["1L"]\nof = ["plate@{place}.tapped", "pin@{place}.thread"]\n'
    )
    assert next(iter(look(compute(fold_text(text))))).verdict == "holds"
    other = text.replace('thread = { kind = "thread", drawn = "5 BA"', 'thread = { kind = "thread", drawn = "6 BA"')
    assert next(iter(look(compute(fold_text(other))))).verdict == "fails"


def test_a_threads_diameters_come_from_its_table(fold_text):
    """5 BA: major 3.2 mm, BS 93 (see the thread anchors)."""
    text = BOOK + '[[wall]]\nname = "round the thread"\nis = "plate@1L.edge - plate@1L.tapped.major"\nleast = "1 mm"\n'
    assert next(iter(look(compute(fold_text(text))))).value == pytest.approx(10 - 3.2)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ('[[fit]]\nname = "x"\nhole = "plat@1L.hole"\nshaft = "pin@1L.seat"\nleast = "0 mm"', "plate"),
        ('[[fit]]\nname = "x"\nhole = "plate@1L.hol"\nshaft = "pin@1L.seat"\nleast = "0 mm"', "hole"),
        ('[[fit]]\nname = "x"\nhole = "plate@2L.hole"\nshaft = "pin@1L.seat"\nleast = "0 mm"', "1L"),
        ('[[fit]]\nname = "x"\nhole = "plate.hole"\nshaft = "pin@1L.seat"\nleast = "0 mm"', "which"),
        ('[[fit]]\nname = "x"\nhole = "plate@1L.hole"\nshaft = "pin@1L.seat"', "want"),
        ('[[fit]]\nname = "x"\nhole = "plate@1L.hole"\nshaft = "pin@1L.seat"\nwant = "wobbly"', "wobbly"),
        ('[[fit]]\nname = "x"\nhole = "plate@1L.hole"\nshaft = "pin@1L.seat"\nleast = "1 mm"\nmost = "0 mm"', "more"),
        ('[[fit]]\nname = "x"\nholle = "plate@1L.hole"\nshaft = "pin@1L.seat"\nleast = "0 mm"', "holle"),
        ('[[chain]]\nname = "x"\nis = "plate@1L.hole * pin@1L.seat"\nleast = "0 mm"', "linear"),
        ('[[chain]]\nname = "x"\nis = "plate@1L.hole"\nleast = "0 mm"\nagainst = ["side play@1"]', "side play@1"),
        ('[[chain]]\nname = "x"\nplaces = ["1L"]\nis = "plate@{fore}.hole"\nleast = "0 mm"', "fore"),
        ('[[chain]]\nname = "x"\nis = "plate@1L.hole"\nleast = "0 mm"\nto_suit = "pin@1L.seat"', "not in its sum"),
        ('[[same]]\nname = "x"\nof = ["plate@1L.hole"]', "two addresses"),
        ('[[wobble]]\nname = "x"', "wobble"),
        ('[[formula]]\nname = "x"\ngives = "plate@1L.hol"\nis = "1 mm"', "hol"),
        ('[[joint]]\nname = "x"\nfit = "pin in plat@1L"\nby = "press"', "pin in plat"),
    ],
)  # fmt: skip
def test_relations_that_make_no_sense_are_refused_by_name(text, word, fold_text):
    with pytest.raises(AsmadeError, match=word):
        compile_system(fold_text(BOOK + FIT + text))


def test_two_relations_of_one_name_are_refused(fold_text):
    text = (
        FIT.replace("pin in plate", "x")
        + '[[chain]]\nname = "x"\nplaces = ["1L"]\nis = "plate@1L.hole"\nleast = "0 mm"'
    )
    with pytest.raises(Contradiction, match="two relations"):
        compile_system(fold_text(BOOK + text))


def test_a_formula_given_twice_is_refused(fold_text):
    text = '[[formula]]\nname = "a"\ngives = "q"\nis = "plate@1L.hole"\n[[formula]]\nname = "b"\ngives = "q"\nis = "pin@1L.seat"\n'
    with pytest.raises(Contradiction, match="two formulas"):
        compile_system(fold_text(BOOK + text))


def test_findings_come_worst_first(fold_text):
    found = in_order(list(look(compute(fold_text(BOOK + FIT + reads(6.0, 6.0))))))
    assert [f.verdict for f in found] == sorted(
        (f.verdict for f in found), key=["fails", "close", "not known", "holds"].index
    )


@pytest.mark.parametrize("name", sorted(kinds()))
def test_every_kind_says_what_it_is_for(name):
    module = kinds()[name]
    assert name == module.KIND
    assert len(module.HELP) > 20
    assert module.__doc__


@pytest.mark.parametrize("kind", [Refused, Unknown])
def test_refusals_are_of_one_family(kind):
    assert issubclass(kind, AsmadeError)
