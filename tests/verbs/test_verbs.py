from __future__ import annotations

import subprocess
import sys
import tomllib
from dataclasses import replace

import pytest

from asmade.book.address import read_address
from asmade.book.fold import fold
from asmade.book.ledger import Conflict
from asmade.book.text import Draft, read_text, write_text
from asmade.measure.errors import AsmadeError, Damaged, Refused, Unknown
from asmade.verbs import aim, check, choose, drawn, history, made, new, pair, piece, shop, show, store, upnext

BOOK = """
[book]
title = "two wheels"
drawing_unit = "inch"
[part.wheel]
places = ["1L", "1R"]
[part.wheel.dim]
bore = { kind = "bore", drawn = "5/8", process = "reamed" }
face = { kind = "thickness", drawn = "9/16" }
[part.axle]
places = ["1"]
[part.axle.dim]
seat_left.diameter = { kind = "shaft", drawn = "5/8", process = "turned" }
seat_right.diameter = { kind = "shaft", drawn = "5/8", process = "turned" }
[[fit]]
name = "wheel on axle"
places = ["1L", "1R"]
hole = "wheel@{place}.bore"
shaft = "axle@{axle}.seat_{side_word}.diameter"
least = "0.03 mm"
most = "0.10 mm"
to_suit = "shaft"
[shop.instrument.mic]
unit = "mm"
reads_to = 0.002
[shop.tool.reamer]
kind = "reamer"
size = "15.9 mm"
"""


@pytest.fixture
def path(tmp_path):
    at = tmp_path / "two.asmade"
    store.start(at, read_text(BOOK))
    return at


def test_a_reading_changes_the_aim_of_its_mate_and_only_what_depends_on_it(path):
    result = made.made(path, "wheel@1R.bore", ["15.90"], instrument="mic")
    assert [str(c.dimension) for c in result.aims] == ["axle@1.seat_right.diameter"]
    assert result.aims[0].after.low == pytest.approx(15.80, abs=0.006)
    assert result.aims[0].after.high == pytest.approx(15.87, abs=0.006)
    assert result.saved.entries == (3,)
    assert "15.9" in result.how


@pytest.mark.parametrize(
    ("reading", "word"), [("1.59", "a tenth"), ("159", "ten times"), ("0.626", "1/25.4"), ("14.9", "under")]
)  # fmt: skip
def test_a_slip_is_warned_of_never_refused(path, reading, word):
    result = made.made(path, "wheel@1R.bore", [reading], instrument="mic")
    assert any(word in w for w in result.warnings)
    assert result.saved.entries


def test_an_aim_written_down_teaches_and_one_that_was_not_never_does(path):
    aim.aim(path, "wheel@1L.bore", to_bench=True)
    made.made(path, "wheel@1L.bore", ["15.93"], instrument="mic", tool="reamer")
    made.made(path, "wheel@1R.bore", ["15.99"], instrument="mic", tool="reamer")
    learned = shop.shop(path).learned
    assert [len(x.departures) for x in learned] == [1]
    assert "reamer" in learned[0].words


def test_withdrawing_restores_what_was(path):
    before = check.check(path)
    result = made.made(path, "wheel@1R.bore", ["15.90"], instrument="mic")
    assert check.check(path).findings != before.findings
    history.withdraw(path, result.saved.entries[0], why="wrong wheel")
    assert check.check(path).findings == before.findings
    lines = history.history(path)
    assert lines[2].withdrawn == "wrong wheel"
    with pytest.raises(Refused, match="withdrawn already, by entry 4"):
        history.withdraw(path, 3)
    history.withdraw(path, lines[-1].number)
    assert [line.withdrawn for line in history.history(path)[2:]] == ["", "no reason given", ""]
    assert any(r.text == "15.90" for r in store.read_build(path).readings)
    with pytest.raises(Unknown, match="99"):
        history.withdraw(path, 99)


def test_export_then_import_gives_the_same_findings(path):
    made.made(path, "wheel@1R.bore", ["15.90"], instrument="mic")
    choose.choose(path)
    build = store.read_build(path)
    again = fold([replace(d, number=n) for n, d in enumerate(read_text(write_text(build)), start=1)])
    assert check.check_build(again).findings == check.check_build(build).findings


def test_what_if_writes_nothing(path):
    before = path.read_bytes(), store.read(path).last
    made.made(path, "wheel@1R.bore", ["15.90"], what_if=True)
    drawn.drawn(path, "wheel.bore", "11/16", what_if=True)
    choose.choose(path, what_if=True)
    piece.piece(path, "wheel#W3", "1R", what_if=True)
    aim.aim(path, "wheel@1L.bore", to_bench=True, what_if=True)
    shop.change(path, '[tool.x]\nkind = "drill"', what_if=True)
    assert (path.read_bytes(), store.read(path).last) == before


def test_choosing_writes_chosen_sizes_once(path):
    first = choose.choose(path)
    assert first.choice.status == "proven"
    assert first.saved is not None
    again = choose.choose(path)
    assert again.saved is None, "the book says it all already"
    locked = choose.choose(path, lock={"wheel.face": "14.5 mm"})
    assert locked.choice.status == "proven"
    assert store.read_build(path).chosen_for(store.read_build(path).chosen.keys().__iter__().__next__()) is not None


def test_alternatives_cost_more_and_write_nothing(path):
    last = store.read(path).last
    result = choose.choose(path, alternatives_for="wheel.face", count=3)
    assert len(result.alternatives) == 3
    assert all(a.extra_cost >= -1e-9 for a in result.alternatives if a.possible)
    assert store.read(path).last == last


def test_pairing_names_pairs_and_what_the_left_over_need(path):
    for mark, size in (("W1", "15.90"), ("W2", "15.95"), ("W3", "16.10")):
        piece.piece(path, f"wheel#{mark}", "spare")
        made.made(path, f"wheel#{mark}.bore", [size], instrument="mic")
    made.made(path, "axle@1.seat_left.diameter", ["15.88"], instrument="mic")
    made.made(path, "axle@1.seat_right.diameter", ["15.84"], instrument="mic")
    result = pair.pair(path, "wheel on axle")
    assert {(p.first, p.second) for p in result.pairing.pairs} == {
        ("wheel#W1.bore", "axle#1.seat_right.diameter"), ("wheel#W2.bore", "axle#1.seat_left.diameter")
    }  # fmt: skip
    assert [x.name for x in result.pairing.unpaired_first] == ["wheel#W3.bore"]
    assert result.pairing.unpaired_first[0].low == pytest.approx(16.0)
    with pytest.raises(Unknown, match="wheel on axle"):
        pair.pair(path, "whel on axle")


def test_next_lists_what_can_be_made_now_and_what_waits(path):
    result = upnext.upnext(path)
    now = {p.piece: [str(s.dimension) for s in p.sizes] for p in result.pieces}
    assert "axle@1.seat_left.diameter" not in now.get("axle#1", [])
    assert {str(s.dimension) for s in result.waiting} == {"axle@1.seat_left.diameter", "axle@1.seat_right.diameter"}
    made.made(path, "wheel@1R.bore", ["15.90"], instrument="mic")
    now = {p.piece: [str(s.dimension) for s in p.sizes] for p in upnext.upnext(path).pieces}
    assert now["axle#1"] == ["axle@1.seat_right.diameter"]


def test_the_board_a_part_and_a_size(path):
    made.made(path, "wheel@1R.bore", ["15.90"], instrument="mic")
    board = show.board(path)
    assert (board.sizes, board.made) == (6, 1)
    view = show.part(path, "wheel")
    assert len(view.rows) == 4
    row, found = show.size(path, "wheel@1R.bore")
    assert (row.made, row.source) == ("15.90", "made")
    assert [f.subject for f in found] == ["wheel on axle@1R"]
    with pytest.raises(Unknown, match="wheel"):
        show.part(path, "whel")


def test_a_new_dimension_needs_its_kind(path):
    with pytest.raises(Unknown, match="tread"):
        drawn.drawn(path, "wheel.tread", "4 1/8")
    result = drawn.drawn(path, "wheel.tread", "4 1/8", kind="diameter")
    assert "104.775" in result.how
    assert store.read_build(path).design.parts["wheel"].dims["tread"].drawn == "4 1/8"


@pytest.mark.parametrize(
    ("work", "word"),
    [
        (lambda p: made.made(p, "wheel@1R.bore", ["1,234"]), "1,234"),
        (lambda p: made.made(p, "wheel@1R.bore", []), "none"),
        (lambda p: made.made(p, "wheel@1R.bore", ["15.9"], instrument="ruler"), "ruler"),
        (lambda p: made.made(p, "wheel.bore", ["15.9"]), "which piece"),
        (lambda p: made.made(p, "wheel#W9.bore", ["15.9"]), "W9"),
        (lambda p: made.made(p, "wheel@1R.bore", ["-3"]), "-3"),
        (lambda p: made.made(p, "wheel@1R.bore", ["15.9"], stage="done"), "stage"),
        (lambda p: made.made(p, "wheel@1R.bore", ["15.9"], goes="15"), "two readings"),
        (lambda p: drawn.drawn(p, "wheel.bore", "3/0"), "3/0"),
        (lambda p: aim.aim(p, "wheel@9R.bore"), "9R"),
        (lambda p: choose.choose(p, lock={"wheel.boor": "3 mm"}), "boor"),
        (lambda p: choose.choose(p, lock={"wheel.bore": "3 miles"}), "miles"),
        (lambda p: piece.piece(p, "wheel", "1R"), "MARK"),
        (lambda p: piece.piece(p, "wheel#W1", "7R"), "7R"),
        (lambda p: shop.change(p, "[instrument.x]\nunit = 'mm'"), "reads_to"),
        (lambda p: shop.change(p, "[instrument"), "shop"),
        (lambda p: history.withdraw(p, 0), "0"),
    ],
)
def test_bad_input_names_the_thing_and_writes_nothing(path, work, word):
    last = store.read(path).last
    with pytest.raises(AsmadeError, match=word):
        work(path)
    assert store.read(path).last == last


def test_an_edit_that_would_break_the_book_is_refused(path):
    opened = store.read(path)
    with pytest.raises(Unknown, match="bore"):
        store.save(opened, [Draft("design", {"remove": ["part.wheel.dim.bore"]})])
    assert store.read(path).last == opened.last


def test_readings_by_two_programs_at_once_are_both_kept(path):
    """Each sees the other's entry in between and saves on top of it."""
    opened = store.read(path)
    made.made(path, "wheel@1L.bore", ["15.91"], instrument="mic")
    saved = store.save(opened, [Draft("note", {"about": "wheel", "text": "from the other window"})])
    assert saved.entries == (4,)
    assert len(store.read_build(path).readings) == 1
    with pytest.raises(Conflict):
        store.save(opened, [Draft("note", {"text": "x"})], stand_on_read=True)


def test_a_reading_sent_twice_is_saved_once(path):
    one = made.made(path, "wheel@1L.bore", ["15.91"], instrument="mic", key="phone-1")
    two = made.made(path, "wheel@1L.bore", ["15.91"], instrument="mic", key="phone-1")
    assert one.saved.entries == two.saved.entries
    assert len(store.read_build(path).readings) == 1


def test_a_missing_or_foreign_book_is_refused_with_a_clear_line(tmp_path):
    with pytest.raises(Damaged):
        store.read(tmp_path / "none.asmade")
    foreign = tmp_path / "letter.asmade"
    foreign.write_text("Dear Sir")
    with pytest.raises(Damaged):
        store.read(foreign)
    with pytest.raises(Damaged):
        store.start(foreign, read_text(BOOK))
    assert foreign.read_text() == "Dear Sir"


def test_a_killed_program_loses_no_acknowledged_reading(path):
    """A child enters readings and says each aloud; it is killed in the midst; every one said aloud is in the book."""
    code = (
        "import sys; from asmade.verbs.made import made\n"
        "for k in range(1000):\n"
        "    r = made(sys.argv[1], 'wheel@1L.bore', [f'{15.9 + k / 1000:.3f}'], instrument='mic')\n"
        "    print(r.saved.entries[0], flush=True)\n"
    )
    child = subprocess.Popen([sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE, text=True)
    said = [int(child.stdout.readline()) for _ in range(8)]
    child.kill()
    rest = child.communicate()[0].split()
    said += [int(line) for line in rest if line.isdigit()]
    numbers = {e.number for e in store.read(path).entries}
    assert set(said) <= numbers


def test_a_lock_keeps_the_tool_the_size_rests_on(path):
    choose.choose(path)
    assert store.read_build(path).chosen[read_address("wheel.bore")].tool == "reamer"
    choose.choose(path, lock={"wheel.bore": ""})
    held = store.read_build(path).chosen[read_address("wheel.bore")]
    assert (held.locked, held.tool, held.size) == (True, "reamer", "15.9 mm")
    choose.choose(path, lock={"wheel.bore": "16"})
    assert store.read_build(path).chosen[read_address("wheel.bore")].tool == "", "another size, another tool"


def test_alternatives_may_be_asked_for_by_place(path):
    by_place = choose.choose(path, alternatives_for="wheel@1R.face").alternatives
    assert by_place
    assert by_place == choose.choose(path, alternatives_for="wheel.face").alternatives


def test_a_chosen_size_that_cannot_be_read_never_gets_into_a_book(path):
    before = store.read(path).last
    with pytest.raises(AsmadeError, match="abc"):
        store.save(store.read(path), [Draft("chosen", {"of": "wheel.bore", "size": "abc"})])
    assert store.read(path).last == before


def test_a_size_drawn_for_one_place_of_a_new_dimension_is_of_that_place_only(path):
    drawn.drawn(path, "wheel@1L.counterbore", "3/4", kind="bore", process="bored")
    new = store.read_build(path).design.parts["wheel"].dims["counterbore"]
    assert (new.drawn, dict(new.drawn_at)) == ("", {"1L": "3/4"})


def test_a_process_said_with_a_drawn_size_is_not_dropped(path):
    drawn.drawn(path, "wheel.bore", "11/16", process="bored")
    bore = store.read_build(path).design.parts["wheel"].dims["bore"]
    assert (bore.drawn, bore.process) == ("11/16", "bored")


@pytest.mark.parametrize(
    ("text", "word"),
    [("axle", "no size of it"), ("axle@1.seat_left", "seat_left.diameter"), ("whel@1L.bore", "wheel")],
)
def test_an_address_that_is_not_whole_is_answered_with_what_is_missing(path, text, word):
    for ask in (lambda: aim.aim(path, text), lambda: made.made(path, text, ["1"])):
        with pytest.raises(AsmadeError, match=word):
            ask()


def test_an_aim_for_a_spare_says_how_to_seat_it(path):
    piece.piece(path, "wheel#W7", "spare")
    with pytest.raises(AsmadeError, match="asmade piece BOOK wheel#W7 --to PLACE"):
        aim.aim(path, "wheel#W7.bore")


def test_one_plug_alone_is_refused_with_what_is_wanted(path):
    with pytest.raises(AsmadeError, match="give --stops too"):
        made.made(path, "wheel@1L.bore", goes="15.90")


def test_an_aim_with_an_open_end_is_remembered_open(path):
    drawn.drawn(path, "wheel.lug", "5.1 mm", kind="thickness", process="milled")
    rows = '[[wall]]\nname = "lug"\nis = "wheel@1L.lug"\nleast = "5 mm"\n'
    wall = tomllib.loads(rows)
    store.save(store.read(path), [Draft("design", {"set": wall})])
    aim.aim(path, "wheel@1L.lug", to_bench=True)
    written = store.read_build(path).aimed[-1]
    assert (written.low, written.high) == (pytest.approx(5, abs=0.05), None)
    assert not [w for w in made.made(path, "wheel@1L.lug", ["5.25"], instrument="mic").warnings if "aimed at" in w]
    under = made.made(path, "wheel@1L.lug", ["4.98"], instrument="mic", what_if=True).warnings
    assert under[0].startswith("it is 0.0")
    assert under[0].endswith("to ...)")


def test_a_size_without_a_figure_is_not_called_decided_and_is_not_to_be_made_next(path):
    lug = {"part": {"wheel": {"dim": {"lug": {"kind": "thickness"}}}}}
    store.save(store.read(path), [Draft("design", {"set": lug})])
    board = show.board(path)
    assert (board.sizes, board.made, board.decided, board.undecided, board.not_drawn) == (8, 0, 0, 6, 2)
    coming = upnext.upnext(path)
    assert [str(s.dimension) for s in coming.not_drawn] == ["wheel@1L.lug", "wheel@1R.lug"]
    assert not [s for p in coming.pieces for s in p.sizes if s.dimension.dim == "lug"]


def test_a_choice_says_of_how_much_it_says_nothing(path):
    lug = {
        "part": {"wheel": {"dim": {"lug": {"kind": "thickness"}}}},
        "wall": [{"name": "lug", "places": ["1L", "1R"], "is": "wheel@{place}.lug", "least": "2 mm"}],
    }
    store.save(store.read(path), [Draft("design", {"set": lug})])
    found = choose.choose(path, what_if=True).choice
    assert found.left_out == ("lug@1L", "lug@1R")
    assert "of 2 requirements nothing is said" in found.words


def test_an_entry_that_others_rest_on_is_not_withdrawn_and_the_reason_is_given(path):
    with pytest.raises(Refused, match="without it the book would not stand") as caught:
        history.withdraw(path, 1)
    assert "rests on it" in caught.value.way_out
    assert store.read(path).last == 2


def test_a_check_reading_that_disagrees_is_warned_of(path):
    """Two readings of one micrometer, each known to 0.002: their difference to 1.96 x 0.002 x sqrt 2 = 0.0055."""
    made.made(path, "axle@1.seat_left.diameter", ["15.850"], instrument="mic")
    near_by = made.made(path, "axle@1.seat_left.diameter", ["15.854"], instrument="mic", stage="check", what_if=True)
    assert not [w for w in near_by.warnings if "differs" in w]
    far = made.made(path, "axle@1.seat_left.diameter", ["15.870"], instrument="mic", stage="check", what_if=True)
    assert any("differs by 0.020" in w and "explain 0.006" in w for w in far.warnings)


def test_how_several_readings_were_taken_is_said(path):
    several = ["15.85", "15.86", "15.87"]
    repeats = made.made(path, "axle@1.seat_left.diameter", several, instrument="mic", what_if=True)
    assert repeats.how.endswith("the mean of 3 repeats")
    spots = made.made(path, "axle@1.seat_left.diameter", several, spots=True, instrument="mic", what_if=True)
    assert spots.how.endswith("at 3 spots")


@pytest.mark.parametrize("size", ["1e999", "six", "1 to x by 0.1", "1 to 2 by 0"])
def test_a_reamer_of_no_size_is_refused(path, size):
    with pytest.raises(AsmadeError, match="no size in it can be read"):
        shop.change(path, f'[tool.x]\nkind = "hand reamer"\nsize = "{size}"')


def test_what_is_taken_from_the_shop_must_be_in_it(path):
    with pytest.raises(Unknown, match=r"did you mean tool\.reamer"):
        shop.change(path, "", remove=["tool.reemer"])
    assert "reamer" not in shop.change(path, "", remove=["tool.reamer"]).shop.tools


def test_a_title_is_plain_letters(tmp_path):
    with pytest.raises(Refused, match="control characters"):
        new.new(tmp_path / "x.asmade", title="a\x1b[31m")
    assert not (tmp_path / "x.asmade").exists()
