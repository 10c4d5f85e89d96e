"""A book kept open is the same as one read anew: folded, valued, looked at and next, entry by entry.

Laws, held on small random books and random entries; and what a page and a command rest on when others write meanwhile.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from asmade.book.fold import fold
from asmade.book.text import Draft
from asmade.reckon.aims import _rows, aim_of, rows_of
from asmade.reckon.findings import look
from asmade.reckon.moved import State, aims_moved, verdicts_moved
from asmade.reckon.system import _compile
from asmade.reckon.values import _Compute
from asmade.verbs import store
from asmade.verbs.check import findings_of
from asmade.verbs.upnext import upnext_of

SIZES = ("wheel@1L.bore", "wheel@1R.bore", "axle@1.seat_l", "axle@1.seat_r", "axle@1.length", "box@1.width")


def design():
    dim = {"kind": "shaft", "drawn": "0.625", "process": "turned"}
    return {
        "book": {"title": "small", "drawing_unit": "inch"},
        "places": {"axles": ["1"], "sides": ["L", "R"]},
        "part": {
            "wheel": {"places": ["1L", "1R"], "material": "cast iron", "dim": {
                "bore": {"kind": "bore", "drawn": "0.625", "process": "reamed", "tool": "reamer"}}},
            "axle": {"places": ["1"], "material": "bright mild steel", "dim": {
                "seat_l": dict(dim), "seat_r": dict(dim), "length": {"kind": "length", "drawn": "4", "process": "faced"}}},
            "box": {"places": ["1"], "dim": {"width": {"kind": "width", "drawn": "1.75", "process": "milled"}}},
        },
        "fit": [
            {"name": "left", "hole": "wheel@1L.bore", "shaft": "axle.seat_l", "least": "0.01 mm", "most": "0.04 mm",
             "to_suit": "shaft"},
            {"name": "right", "hole": "wheel@1R.bore", "shaft": "axle.seat_r", "least": "0.01 mm", "most": "0.04 mm",
             "to_suit": "shaft"},
        ],
        "formula": [{"name": "room", "gives": "room", "is": "axle.length - 2 * box.width"}],
        "play": [{"name": "float", "each_way": "0.5 * (box.width - 44 mm)"}],
        "chain": [
            {"name": "gap", "is": "room - 12 mm", "least": "0.2 mm", "most": "1 mm"},
            {"name": "with float", "is": "axle.length - box.width", "against": ["float"], "least": "50 mm"},
        ],
        "wall": [{"name": "round", "is": "sqrt(wheel@1L.bore * axle.seat_l) - 0.5 * wheel@1R.bore", "least": "7 mm"}],
    }  # fmt: skip


SHOP = {"instrument": {"mic": {"unit": "mm", "zero": 0.003, "reads_to": 0.002}}, "tool": {"reamer": {"kind": "reamer"}}}
BEGIN = [Draft("design", {"set": design()}), Draft("shop", {"set": SHOP})]

about = st.floats(-0.05, 0.05).map(lambda x: round(x, 3))
base = {"bore": 15.9, "seat_l": 15.88, "seat_r": 15.88, "length": 101.6, "width": 44.45}


@st.composite
def an_entry(draw):
    kind = draw(
        st.sampled_from(("made",) * 5 + ("aimed", "chosen", "chosen piece", "moved", "scrapped", "note", "drawn"))
    )
    size = draw(st.sampled_from(SIZES))
    part, _, dim = size.partition(".")
    seat, (name, _, place) = part, part.partition("@")
    figure = f"{base[dim] + draw(about):.3f}"
    match kind:
        case "made":
            stage = draw(st.sampled_from(("finished", "finished", "check", "on the way")))
            mark = draw(st.sampled_from((seat, seat, f"{name}#X1")))
            instrument = draw(st.sampled_from(("", "mic")))
            return Draft("made", {"piece": mark, "dim": dim, "reading": figure, "instrument": instrument, "stage": stage,
                                  "unit": "mm"})  # fmt: skip
        case "aimed":
            return Draft("aimed", {"piece": seat, "dim": dim, "target": f"{figure} mm"})
        case "chosen":
            return Draft("chosen", {"of": f"{name}.{dim}", "size": f"{figure} mm"})
        case "chosen piece":
            return Draft("chosen", {"of": f"{name}#X1.{dim}", "size": f"{figure} mm"})
        case "moved":
            return Draft("moved", {"piece": f"{name}#X1", "place": draw(st.sampled_from((place, "")))})
        case "scrapped":
            return Draft("scrapped", {"piece": draw(st.sampled_from((seat, f"{name}#X1"))), "why": "dropped"})
        case "drawn":
            return Draft("drawn", {"of": f"{name}.{dim}", "drawn": f"{figure} mm"})
        case _:
            return Draft("note", {"text": "looked at"})


def anew(entries):
    """Everything from nothing: the whole fold, the whole system, all values, a look that knows no other."""
    build = fold(entries)
    values = _Compute(build, _compile(build)).run()
    return build, values, look(values)


def same(one, other):
    return np.array_equal(np.asarray(one, dtype=float), np.asarray(other, dtype=float), equal_nan=True)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(an_entry(), min_size=1, max_size=6))
def test_what_follows_is_what_the_whole_gives(drafts):
    entries = store.to_entries(BEGIN, by="test", first=1)
    opened = store.Opened("book", fold(entries), entries)
    _ = opened.found
    for draft in drafts:
        before, opened = opened, store.tried(opened, [draft])
        build, values, found = anew(opened.entries)
        assert opened.build == build
        held = opened.values
        assert same(held.best, values.best)
        assert same(held.source, values.source)
        assert held.why_unknown == values.why_unknown
        for at in range(len(values.best)):
            assert held.spread(at) == pytest.approx(values.spread(at))
        for name in ("value", "low", "high", "worst_low", "worst_high", "spread", "known", "chance", "verdict"):
            assert same(getattr(opened.found, name), getattr(found, name)), name
        assert findings_of(held, opened.found) == findings_of(values, found)
        assert upnext_of(opened.build, held) == upnext_of(build, values)
        if opened.system is before.system:
            told_as_worked_out(before, opened)


def told_as_worked_out(before, opened):
    """Rows carried on are the rows; aims told to have moved are those that differ; so are the verdicts."""
    old, new = before.values, opened.values
    rows, whole = rows_of(new, old), _rows(new)
    assert (rows.terms, rows.constants, rows.by_size) == (whole.terms, whole.constants, whole.by_size)
    for at, address in enumerate(new.system.names):
        told = {str(found[0]): found[2] for found in aims_moved(State(before.build, old), State(opened.build, new), at)}
        if new.system.dimensions[at] is None:
            continue
        for other in rows.by_size.get(at, ()):
            for tied in rows.terms[other]:
                name = new.system.names[tied]
                if (
                    tied == at
                    or new.source[tied] == 0
                    or tied in new.system.computed
                    or new.system.dimensions[tied] is None
                ):
                    continue
                one, two = aim_of(before.build, old, name), aim_of(opened.build, new, name)
                moved = one.state != two.state or any(
                    (a is None) != (b is None) or (a is not None and b is not None and abs(a - b) > 1e-6)
                    for a, b in ((one.low, two.low), (one.high, two.high), (one.target, two.target))
                )
                assert (str(name) in told) == moved, (address, name)
                if moved:
                    assert told[str(name)] == two
    said = {opened.found.requirements[m.at].subject for m in verdicts_moved(before.found, opened.found)}
    was = {f.subject: f.verdict for f in before.found}
    assert said == {f.subject for f in opened.found if was[f.subject] != f.verdict}


@pytest.fixture
def path(tmp_path):
    store.start(tmp_path / "small.asmade", BEGIN)
    return tmp_path / "small.asmade"


def reading(figure, of="wheel@1L"):
    return Draft("made", {"piece": of, "dim": "bore", "reading": figure, "unit": "mm"})


def test_a_book_read_again_is_the_one_that_was_saved(path):
    opened = store.read(path)
    assert store.read(path) is opened
    system = opened.system
    saved = store.save(opened, [reading("15.91")])
    assert store.read(path) is saved.after
    assert saved.after.system is system
    assert store.read(path).build == fold(store.read(path).entries)


def test_a_book_that_nobody_wrote_to_is_not_opened_again(path, monkeypatch):
    import os
    import time

    long_ago = time.time() - 10
    os.utime(path, (long_ago, long_ago))
    opened = store.read(path)
    with monkeypatch.context() as patched:
        patched.setattr(store.Ledger, "open", None)
        assert store.read(path) is opened
    store.save(opened, [reading("15.91")])
    assert [r.text for r in store.read(path).build.readings] == ["15.91"]


def test_what_another_program_saved_is_read_too(path):
    from asmade.book.ledger import Ledger
    from asmade.book.ledger_entry import Entry

    opened = store.read(path)
    with Ledger.open(path) as ledger:
        ledger.append([Entry(0, "made", store.now(), dict(reading("15.91").body), "phone")])
    saved = store.save(opened, [reading("15.92", "wheel@1R")])  # on top of what came, not beside it
    assert [r.text for r in saved.build.readings] == ["15.91", "15.92"]
    assert saved.build == fold(store.read(path).entries)


def test_another_book_in_its_place_is_seen_at_once(path, tmp_path):
    store.save(store.read(path), [reading("15.91")])
    other = tmp_path / "other.asmade"
    store.start(other, BEGIN)
    store.save(store.read(other), [reading("15.95")])
    path.unlink()
    other.rename(path)
    assert [r.text for r in store.read(path).build.readings] == ["15.95"]


def test_a_reading_sent_twice_leaves_the_book_as_it_was(path):
    first = store.save(store.read(path), [reading("15.91")], key="phone-1")
    again = store.save(store.read(path), [reading("15.91")], key="phone-1")
    assert again.entries == first.entries
    assert again.after is store.read(path)
    assert len(again.build.readings) == 1


def test_what_was_not_saved_is_nowhere(path):
    opened = store.read(path)
    tried = store.save(opened, [reading("15.91")], what_if=True)
    assert len(tried.build.readings) == 1
    assert store.read(path) is opened
    assert not opened.build.readings
