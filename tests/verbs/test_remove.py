"""Taking a mistaken thing out of a book, and putting it back."""

from __future__ import annotations

import pytest

from asmade.book.text import read_text
from asmade.measure.errors import Contradiction, Refused, Unknown
from asmade.verbs import history, made, store
from asmade.verbs.remove import remove

BOOK = """
[book]
title = "small"
drawing_unit = "mm"
[places]
axles = ["1"]
sides = ["L", "R"]
[figure.pressure]
kind = "pressure"
drawn = "0.6 MPa"
[part.wheel]
places = ["1L", "1R"]
[part.wheel.dim]
bore = { kind = "bore", drawn = "16" }
rim = { kind = "thickness", drawn = "12" }
[part.wheel_nut]
places = ["1L"]
[part.wheel_nut.dim]
bore = { kind = "bore", drawn = "6" }
[part.axle]
places = ["1"]
[part.axle.dim]
seat = { kind = "shaft", drawn = "16" }
length = { kind = "length", drawn = "100" }
[[fit]]
name = "wheel on axle"
places = ["1L", "1R"]
hole = "wheel@{place}.bore"
shaft = "axle.seat"
least = "0.01 mm"
most = "0.03 mm"
[[joint]]
name = "wheel fixed"
places = ["1L"]
fit = "wheel on axle@{place}"
by = "press"
[[formula]]
name = "how wide"
gives = "width"
is = "axle.length + 2 * wheel@1L.rim"
[[chain]]
name = "room"
is = "width - 90 mm"
least = "1 mm"
[[chain]]
name = "nut"
is = "wheel_nut.bore - 5 mm"
least = "0 mm"
"""


@pytest.fixture
def path(tmp_path):
    store.start(tmp_path / "small.asmade", read_text(BOOK))
    return tmp_path / "small.asmade"


def names(path):
    design = store.read(path).build.design
    return set(design.parts), {r.name for r in design.relations}, set(design.figures)


def test_a_relation_goes_and_comes_back(path):
    before = store.read(path).build.design
    taken = remove(path, ["room"])
    assert taken.paths == ("chain.room",)
    assert "room" not in names(path)[1]
    history.withdraw(path, taken.saved.entries[0], why="it was right after all")
    assert store.read(path).build.design == before


def test_what_rests_on_a_thing_is_named_or_goes_with_it(path):
    with pytest.raises(Contradiction) as refused:
        remove(path, ["wheel"])
    assert all(word in refused.value.message for word in ("fit.wheel on axle", "joint.wheel fixed", "formula.how wide"))
    assert "nut" not in refused.value.message
    taken = remove(path, ["wheel"], with_what_needs_it=True)
    assert set(taken.paths) == {
        "part.wheel", "fit.wheel on axle", "joint.wheel fixed", "formula.how wide", "chain.room"
    }  # fmt: skip
    assert names(path) == ({"wheel_nut", "axle"}, {"nut"}, {"pressure"})


def test_a_dimension_and_a_figure_go(path):
    remove(path, ["pressure"])
    with pytest.raises(Contradiction, match="wheel on axle"):
        remove(path, ["axle.seat"])
    remove(path, ["axle.seat"], with_what_needs_it=True)
    assert set(store.read(path).build.design.parts["axle"].dims) == {"length"}
    assert names(path)[2] == set()


def test_readings_are_withdrawn_first(path):
    entry = made.made(path, "wheel@1L.bore", ["16.02"]).saved.entries[0]
    with pytest.raises(Contradiction, match=f"entries {entry} "):
        remove(path, ["wheel.bore"], with_what_needs_it=True)
    with pytest.raises(Contradiction, match=f"entries {entry} "):
        remove(path, ["wheel"], with_what_needs_it=True)
    history.withdraw(path, entry, why="another part")
    remove(path, ["wheel"], with_what_needs_it=True)
    assert "wheel" not in names(path)[0]


def test_what_if_takes_nothing_out(path):
    assert remove(path, ["room"], what_if=True).saved.entries == ()
    assert "room" in names(path)[1]


@pytest.mark.parametrize(("asked", "word", "kind"), [
    ("whel", "wheel", Unknown), ("wheel@1L.bore", "all its places", Refused), ("wheel.hub", "there is no", Unknown),
    ("", "there is no", Unknown),
])  # fmt: skip
def test_what_is_not_there_is_refused(path, asked, word, kind):
    with pytest.raises(kind) as refused:
        remove(path, [asked])
    assert word in refused.value.message


def test_a_book_from_a_text_is_mended_by_a_text(path, tmp_path):
    """A wrong limit is put right by bringing in the relation again; the other statements stand."""
    from asmade.verbs.exchange import import_

    file = tmp_path / "mend.toml"
    file.write_text(
        '[[chain]]\nname = "room"\nis = "width - 90 mm"\nleast = "2 mm"\n[part.wheel.dim.rim]\ndrawn = "13"\n'
    )
    import_(path, file)
    design = store.read(path).build.design
    assert next(r for r in design.relations if r.name == "room").fields["least"] == "2 mm"
    assert design.parts["wheel"].dims["rim"].drawn == "13"
    assert design.parts["wheel"].dims["rim"].kind == "thickness"
