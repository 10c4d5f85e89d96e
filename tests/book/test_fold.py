from __future__ import annotations

from dataclasses import replace

import pytest

from asmade.book.address import read_address
from asmade.book.fold import fold, withdrawn
from asmade.book.text import Draft, read_text
from asmade.measure.errors import AsmadeError, Refused, Unknown

TEXT = """
[book]
drawing_unit = "inch"
[part.wheel]
places = ["1L", "1R"]
[part.wheel.dim]
bore = { kind = "bore", drawn = "5/8" }
[shop.instrument.inch_mic]
unit = "inch"
reads_to = 0.002
"""


def folded(*drafts: Draft):
    whole = [*read_text(TEXT), *drafts]
    return fold([replace(d, number=n) for n, d in enumerate(whole, start=1)])


def made(piece: str, reading: str, **more: str) -> Draft:
    return Draft("made", {"piece": piece, "dim": "bore", "reading": reading, **more}, "2026-01-01T10:00:00+00:00")


def test_a_bare_reading_takes_its_instruments_unit():
    assert folded(made("wheel#1L", "0.626", instrument="inch_mic")).readings[0].middle == pytest.approx(15.9004)
    assert folded(made("wheel#1L", "15.90")).readings[0].middle == pytest.approx(15.9)


def test_a_reading_keeps_its_unit_when_the_instrument_changes():
    before = made("wheel#1L", "0.626", instrument="inch_mic", unit="inch")
    change = Draft("shop", {"set": {"instrument": {"inch_mic": {"unit": "mm", "reads_to": 0.002}}}})
    assert folded(before, change).readings[0].middle == pytest.approx(15.9004)


def test_readings_go_with_the_piece():
    build = folded(made("wheel#W3", "15.92"), Draft("moved", {"piece": "wheel#W3", "place": "1R"}))
    assert build.piece_at(read_address("wheel@1R.bore")) == read_address("wheel#W3.bore")
    assert "wheel#1R" not in build.pieces, "nothing had been done to the piece that was to be made there"
    moved = folded(
        made("wheel#W3", "15.92"), Draft("moved", {"piece": "wheel#W3", "place": "1R"}),
        Draft("moved", {"piece": "wheel#W3", "place": "1L"}),
    )  # fmt: skip
    assert moved.piece_at(read_address("wheel@1L.bore")).mark == "W3"
    assert moved.piece_at(read_address("wheel@1R.bore")).mark == "1R"


def test_a_scrapped_piece_leaves_its_place_to_one_yet_to_be_made():
    build = folded(made("wheel#1L", "15.92"), Draft("scrapped", {"piece": "wheel#1L", "why": "bored too large"}))
    assert build.pieces["wheel#1L"].scrapped
    fresh = build.piece_at(read_address("wheel@1L.bore"))
    assert fresh.mark not in ("1L", "1R")
    assert build.readings, "what was scrapped still teaches"


def test_a_displaced_piece_with_readings_becomes_a_spare():
    build = folded(made("wheel#1R", "15.92"), Draft("moved", {"piece": "wheel#W3", "place": "1R"}))
    assert build.pieces["wheel#1R"].place == ""
    assert not build.pieces["wheel#1R"].scrapped


def test_withdrawing_leaves_no_trace_in_the_build():
    without = folded()
    drafts = [*read_text(TEXT), made("wheel#1L", "15.92")]
    entries = [replace(d, number=n) for n, d in enumerate(drafts, start=1)]
    entries.append(Draft("withdrawn", {"entry": entries[-1].number, "why": "slip"}, number=len(entries) + 1))
    build = fold(entries)
    assert build.readings == without.readings
    assert build.pieces == without.pieces


def test_a_piece_the_builder_named_is_never_lost_though_nothing_is_read_of_it_yet():
    build = folded(
        Draft("moved", {"piece": "wheel#W9", "place": "1R"}), Draft("moved", {"piece": "wheel#W10", "place": "1R"})
    )
    assert build.pieces["wheel#W10"].place == "1R"
    assert build.pieces["wheel#W9"].place == ""
    assert "wheel#1R" not in build.pieces, "it only filled the place"


def test_a_withdrawal_withdrawn_puts_the_entry_back_in_its_old_place():
    """An older choice restored does not take the place of a younger one."""
    rows = [
        *read_text(TEXT),
        Draft("chosen", {"of": "wheel.bore", "size": "15.8 mm"}),
        Draft("chosen", {"of": "wheel.bore", "size": "15.9 mm"}),
    ]
    older, last = len(rows) - 1, len(rows)
    rows += [Draft("withdrawn", {"entry": older, "why": "x"}), Draft("withdrawn", {"entry": last + 1, "why": "no"})]
    entries = [replace(d, number=n) for n, d in enumerate(rows, start=1)]
    of = read_address("wheel.bore")
    assert fold(entries).chosen[of].size == "15.9 mm"
    assert list(withdrawn(entries)) == [last + 1]
    entries.append(Draft("withdrawn", {"entry": last, "why": "y"}, number=last + 3))
    assert fold(entries).chosen[of].size == "15.8 mm"


@pytest.mark.parametrize(
    ("draft", "word"),
    [
        (Draft("made", {"piece": "whel#1L", "dim": "bore", "reading": "1"}), "wheel"),
        (Draft("made", {"piece": "wheel#1L", "dim": "boor", "reading": "1"}), "bore"),
        (Draft("made", {"piece": "wheel#1L", "dim": "bore", "reading": "1,234"}), "1,234"),
        (Draft("made", {"piece": "wheel#1L", "dim": "bore"}), "reading"),
        (Draft("made", {"piece": "wheel#1L", "dim": "bore", "goes": "15.9"}), "stops"),
        (Draft("made", {"piece": "wheel#1L", "dim": "bore", "goes": "15.9", "stops": "15.8"}), "smaller plug"),
        (Draft("made", {"piece": "wheel#1L", "dim": "bore", "reading": "1", "stage": "done"}), "stage"),
        (Draft("moved", {"piece": "wheel#W3", "place": "3L"}), "3L"),
        (Draft("chosen", {"of": "wheel.boor", "size": "1 mm"}), "bore"),
        (Draft("drawn", {"of": "wheel.boor", "drawn": "1"}), "boor"),
        (Draft("polished", {"x": 1}), "polished"),
        (Draft("design", {"set": {"part": {"wheel": {"colour": "red"}}}}), "colour"),
        (Draft("design", {"remove": ["part.cylinder"]}), "cylinder"),
    ],
)
def test_an_entry_that_makes_no_sense_is_refused_by_name(draft, word):
    with pytest.raises(AsmadeError, match=word):
        folded(draft)


def test_a_text_with_a_fault_names_the_line():
    with pytest.raises(Refused) as caught:
        read_text('[book]\ntitle = "x\n')
    assert "title" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ('[book]\ndrawing_unit = "furlong"', "furlong"),
        ('[book]\ndrawing_unit = "inch"\n[part.wheel]\nplaces = []', "places"),
        ('[book]\ndrawing_unit = "inch"\n[part.wheel]\nplaces=["1L"]\n[part.wheel.dim]\nbore = "5/8"', "kind"),
        ('[book]\ndrawing_unit = "inch"\n[part.wheel]\nplaces=["1L"]\n[part.wheel.dim]\nbore={kind="boor"}', "bore"),
        ('[book]\ndrawing_unit = "inch"\n[[fit]]\nhole = "x"', "name"),
        ('[book]\ndrawing_unit = "inch"\nformat = 99', "format"),
    ],
)
def test_bad_tables_are_refused_by_name(text, word):
    with pytest.raises((Refused, Unknown), match=word):
        fold([replace(d, number=n) for n, d in enumerate(read_text(text), start=1)])


def test_a_name_with_dots_in_it_is_taken_out():
    from asmade.book.tables import merge

    tables = {"shop": {"tool": {"reamer 15.4-16.5": {"kind": "reamer", "note": "old"}, "reamer 15": {"4-16": 1}}}}
    merge(tables, {}, ("shop.tool.reamer 15.4-16.5.note",))
    assert tables["shop"]["tool"]["reamer 15.4-16.5"] == {"kind": "reamer"}
    merge(tables, {}, ("shop.tool.reamer 15.4-16.5",))
    assert tables["shop"]["tool"] == {"reamer 15": {"4-16": 1}}
