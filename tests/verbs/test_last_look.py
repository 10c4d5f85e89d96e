"""Last look, joined, undone, done, note and record on a small book where the right answer is known by hand."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from asmade.book.ledger import Ledger
from asmade.book.text import Draft, read_text, write_text
from asmade.measure.errors import Contradiction, Damaged, OutOfRange, Refused, Unknown
from asmade.reckon import choice, joining
from asmade.reckon.values import compute
from asmade.verbs import (
    demo,
    done,
    history,
    joined,
    last_look,
    made,
    piece,
    record,
    record_text,
    show,
    store,
    upnext,
    waiting,
)

BOOK = """
[book]
title = "one wheelset"
drawing_unit = "mm"
leads = "R"
leads_drawn = "sheet 2"
[part.wheel]
places = ["1L", "1R"]
material = "cast iron"
[part.wheel.dim]
bore = { kind = "bore", drawn = "16", process = "reamed" }
boss = { kind = "thickness", drawn = "14", process = "cast" }
crank_radius = { kind = "crank radius", drawn = "24" }
[part.axle]
places = ["1"]
[part.axle.dim]
seat_left = { kind = "shaft", drawn = "16" }
journal = { kind = "shaft", drawn = "18" }
seat_right = { kind = "shaft", drawn = "16" }
[part.axlebox]
places = ["1L", "1R"]
hand = "mirrored"
drawn_for = "R"
[part.axlebox.dim]
bore = { kind = "bore", drawn = "18" }
[part.pin]
places = ["1L"]
[part.pin.dim]
seat = { kind = "shaft", drawn = "6" }
[part.wheelset]
places = ["1"]
assembled_from = ["axle@1"]
[part.wheelset.dim]
quarter = { kind = "angle", drawn = "90 deg", signed = true }
[[fit]]
name = "wheel on axle"
places = ["1L", "1R"]
hole = "wheel@{place}.bore"
shaft = "axle@{axle}.seat_{side_word}"
least = "0.03 mm"
most = "0.10 mm"
to_suit = "shaft"
[[fit]]
name = "journal in axlebox"
places = ["1L", "1R"]
hole = "axlebox@{place}.bore"
shaft = "axle@{axle}.journal"
least = "0.03 mm"
most = "0.10 mm"
to_suit = "hole"
[[same]]
name = "crank radii alike"
of = ["wheel@1L.crank_radius", "wheel@1R.crank_radius"]
within = "0.05 mm"
[[joint]]
name = "first wheel"
places = ["1"]
fit = "wheel on axle@{axle}L"
by = "retaining adhesive"
[[joint]]
name = "second wheel"
places = ["1"]
fit = "wheel on axle@{axle}R"
by = "retaining adhesive"
after = ["first wheel@{axle}", "journal in axlebox@{axle}L", "journal in axlebox@{axle}R"]
fixes = ["wheelset@{axle}.quarter"]
disturbs = ["wheel@{axle}R.crank_radius"]
measure_after = ["wheelset@{axle}.quarter"]
caution = "leading side known"
[shop.instrument.mic]
unit = "mm"
reads_to = 0.002
[shop.adhesive."retaining adhesive"]
gap_on_diameter = ["0.03 mm", "0.10 mm"]
working_minutes = 5
handling_hours = 1
full_cure_hours = 24
reference_c = 22
undo_c = 250
"""
PNG = b"\x89PNG\r\n\x1a\n" + b"x" * 20


@pytest.fixture
def path(tmp_path):
    at = tmp_path / "one.asmade"
    store.start(at, read_text(BOOK))
    return at


def measure(path, **sizes):
    for name, reading in sizes.items():
        part, place, dim = name.split("__")
        made.made(path, f"{part}@{place}.{dim}", [reading], instrument="mic")


@pytest.fixture
def measured(path):
    measure(path, wheel__1L__bore="16.00", axle__1__seat_left="15.94", wheel__1R__bore="16.01",
            axle__1__seat_right="15.95", axle__1__journal="18.00", axlebox__1L__bore="18.06",
            axlebox__1R__bore="18.06", wheel__1R__crank_radius="24.00", wheel__1L__crank_radius="24.01")  # fmt: skip
    return path


def codes(look):
    return [r.code for r in look.stops]


def test_stop_until_both_surfaces_are_measured_then_go(path):
    assert codes(last_look.last_look(path, "first wheel@1")) == ["measure", "measure"]
    measure(path, wheel__1L__bore="16.00")
    look = last_look.last_look(path, "first wheel@1")
    assert [r.words for r in look.stops] == ["axle@1.seat_left is not measured: out of reach afterwards"]
    assert look.gap is None
    measure(path, axle__1__seat_left="15.94")
    look = last_look.last_look(path, "first wheel@1")
    assert (look.verdict, look.stops) == ("go", ())
    assert look.gap == pytest.approx(0.06)


def test_a_gap_outside_its_limits_stops(path):
    measure(path, wheel__1L__bore="16.00", axle__1__seat_left="15.98")
    look = last_look.last_look(path, "first wheel@1")
    assert codes(look) == ["fails"]
    assert "fails by 0.010 mm" in look.stops[0].words
    assert "all its sizes are measured" in look.stops[0].way_out


def test_the_second_wheel_waits_for_the_first_and_for_the_boxes(measured):
    look = last_look.last_look(measured, "second wheel@1")
    assert codes(look) == ["order"]
    assert [(s.name, s.state, s.this) for s in look.order] == [
        ("first wheel@1", "not joined", False),
        ("journal in axlebox@1L", "measured", False),
        ("journal in axlebox@1R", "measured", False),
        ("second wheel@1", "not joined", True),
    ]
    assert {p.seat for p in look.pieces if p.trapped} == {"axlebox@1L", "axlebox@1R"}
    hands = {p.seat: p.hand for p in look.pieces}
    assert hands["axlebox@1L"] == "handed: the mirror image of the drawing, which is for the right"
    assert hands["axlebox@1R"] == "handed: as drawn for the right"
    assert hands["wheel@1R"] == ""
    assert any("trapped, on now or never" in line for line in look.unreachable)


def test_which_side_leads_is_said_so_that_it_can_be_seen(measured):
    """x forward, y up, angle from front dead centre in forward running: 90 degrees behind is straight up."""
    look = last_look.last_look(measured, "second wheel@1")
    assert "the right side leads (sheet 2)" in look.facing[0]
    assert (
        "right crank pin at its front dead centre (straight forward), the left one stands straight up" in look.facing[1]
    )
    assert any("fingers" in c.text for c in look.cautions)
    assert "leading side known" in look.ticks


def test_without_a_leading_side_no_wheel_is_quartered(tmp_path):
    at = tmp_path / "b.asmade"
    store.start(at, read_text(BOOK.replace('leads = "R"\n', "")))
    look = last_look.last_look(at, "second wheel@1")
    assert "lead" in codes(look)
    assert look.facing == ()


def test_a_box_that_is_not_measured_stops_the_second_wheel_only(measured):
    history.withdraw(measured, next(line.number for line in history.history(measured) if "axlebox#1L" in line.words))
    joined.joined(measured, "first wheel@1")
    look = last_look.last_look(measured, "second wheel@1")
    assert [r.words for r in look.stops] == ["axlebox@1L.bore is not measured: out of reach afterwards"]


def test_joined_is_refused_with_the_reasons_unless_one_is_written(path):
    with pytest.raises(joined.Stopped, match="seat_left is not measured") as refused:
        joined.joined(path, "first wheel@1")
    assert [r.code for r in refused.value.reasons] == ["measure", "measure"]
    assert store.read(path).last == 2
    with pytest.raises(joined.Stopped):
        joined.joined(path, "first wheel@1", despite="   ")
    result = joined.joined(path, "first wheel@1", despite="bought so")
    assert result.look.verdict == "go with a written reason"
    body = store.read_build(path).remarks[-1].body
    assert body["despite"] == "bought so"
    assert len(body["overruled"]) == 2
    assert body["pieces"] == ["wheel#1L", "axle#1"]


def test_what_if_saves_nothing(measured):
    before = store.read(measured).last
    assert joined.joined(measured, "first wheel@1", what_if=True).saved.entries == ()
    assert store.read(measured).last == before


def test_after_joining_times_frozen_and_unknown_sizes(measured):
    """24 h at 22 C is 72 h at 10 C (TM 5-3820-256-24-5)."""
    at = (datetime.now().astimezone() - timedelta(hours=2)).isoformat(timespec="seconds")
    result = joined.joined(measured, "first wheel@1", temperature="10 C", at=at, by="H. G.")
    until = {u.what: u for u in result.until}
    assert until["loaded"].hours == pytest.approx(72, rel=0.01)
    assert until["machined"].hours is None
    assert until["machined"].at == ""
    assert {str(a) for a in result.frozen} == {"wheel@1L.bore", "axle@1.seat_left"}
    body = store.read_build(measured).remarks[-1].body
    assert (body["gap_mm"], body["temperature_c"]) == (pytest.approx(0.06), 10)
    waits = {w.what: w for w in show.board(measured).curing}
    assert waits["loaded"].hours == pytest.approx(70, abs=0.6)
    assert waits["handled"].hours == pytest.approx(1, abs=0.1)
    later = (datetime.now().astimezone() + timedelta(days=30)).isoformat(timespec="seconds")
    assert waiting.waiting(store.read_build(measured), at=later) == ()


def test_what_waits_for_cure_by_joint_with_its_pieces_and_hours_left(measured):
    """1 h to handle and 24 h to load at 22 C by the data sheet: 3 and 72 at 10 C (TM 5-3820-256-24-5)."""
    began = datetime(2026, 3, 1, 12).astimezone()

    def after(hours):
        return waiting.waiting_of(store.read_build(measured), (began + timedelta(hours=hours)).isoformat())

    joined.joined(measured, "first wheel@1", temperature="10 C", at=began.isoformat())
    (one,) = after(1)
    assert one.joint == "first wheel@1"
    assert one.pieces == ("wheel#1L", "axle#1")
    assert one.handled.hours == pytest.approx(2, abs=0.05)
    assert one.loaded.hours == pytest.approx(71, abs=0.8)
    assert one.machined is None  # the sheet does not say
    (one,) = after(4)
    assert one.handled is None
    assert after(80) == ()
    joined.undone(measured, "first wheel@1", how="heat")
    assert after(1) == ()


def test_what_the_joint_disturbs_is_not_known_until_measured(measured):
    joined.joined(measured, "first wheel@1")
    result = joined.joined(measured, "second wheel@1")
    assert [str(a) for a in result.unknown] == ["wheel@1R.crank_radius"]
    assert [str(a) for a in result.measure] == ["wheelset@1.quarter", "wheel@1R.crank_radius"]
    row, _ = show.size(measured, "wheel@1R.crank_radius")
    assert row.best is None
    assert "not known since second wheel@1 was joined" in row.note
    measure(measured, wheel__1R__crank_radius="24.02")
    assert show.size(measured, "wheel@1R.crank_radius")[0].best == pytest.approx(24.02)


def test_a_joint_is_made_once_and_the_look_says_so(measured):
    joined.joined(measured, "first wheel@1", key="bench-1")
    again = joined.joined(measured, "first wheel@1", key="bench-1")  # the same sent twice
    assert len(again.saved.entries) == 1
    assert sum(r.kind == "joined" for r in store.read_build(measured).remarks) == 1
    with pytest.raises(Contradiction, match="it was joined on"):
        joined.joined(measured, "first wheel@1", despite="really")
    assert codes(last_look.last_look(measured, "first wheel@1")) == ["joined"]


def test_undone_asks_for_the_surfaces_to_be_measured_anew(measured):
    joined.joined(measured, "first wheel@1")
    result = joined.undone(measured, "first wheel@1", how="heated to 250 C, drawn off")
    assert "250 C by its data sheet" in result.sheet
    assert any("fumes" in c.text for c in result.cautions)
    assert {str(a) for a in result.measure} == {"wheel@1L.bore", "axle@1.seat_left"}
    look = last_look.last_look(measured, "first wheel@1")
    assert codes(look) == ["measure", "measure"]
    assert "before the joint was undone" in look.stops[0].words
    measure(measured, wheel__1L__bore="16.01", axle__1__seat_left="15.95")
    assert last_look.last_look(measured, "first wheel@1").verdict == "go"
    assert waiting.waiting(store.read_build(measured)) == ()


def test_undoing_what_a_later_joint_rests_on_says_so(measured):
    joined.joined(measured, "first wheel@1")
    joined.joined(measured, "second wheel@1")
    assert joined.undone(measured, "first wheel@1", how="heat").also == ("second wheel@1",)


def test_what_is_out_of_reach_is_not_asked_for_any_more(path):
    """A bought wheel whose bore nobody has measured: next does not send anybody to bore it."""
    asked = {str(s.dimension) for p in upnext.upnext(path).pieces for s in p.sizes}
    assert "wheel@1L.bore" in asked
    joined.joined(path, "first wheel@1", despite="bought so")
    asked = {str(s.dimension) for p in upnext.upnext(path).pieces for s in p.sizes}
    assert "wheel@1L.bore" not in asked
    assert "wheel@1R.bore" in asked
    joined.undone(path, "first wheel@1", how="heat")
    assert "wheel@1L.bore" in {str(s.dimension) for p in upnext.upnext(path).pieces for s in p.sizes}


def test_a_joint_goes_with_its_pieces(measured):
    joined.joined(measured, "first wheel@1")
    piece.piece(measured, "wheel#W7", "1L")
    look = last_look.last_look(measured, "second wheel@1")
    assert codes(look) == ["order"]
    assert "was made with wheel#1L, which no longer sit there" in look.stops[0].words
    piece.piece(measured, "wheel#1L", "1L")
    assert codes(last_look.last_look(measured, "second wheel@1")) == []


def test_the_record_is_written_whatever_is_wrong_with_joints(measured):
    joined.joined(measured, "first wheel@1")
    wrong = {"gap_on_diameter": ["0.03 mm", "0.10 mm"], "full_cure_hours": -1}  # refused today; in a book of old
    store.save(store.read(measured), [Draft("shop", {"set": {"adhesive": {"retaining adhesive": wrong}}})])
    assert "full_cure_hours" in show.board(measured).curing[0].words  # the board opens, and says so
    found = record.record(measured)
    assert found.joints[1].verdict == "not known"
    assert "full_cure_hours" in found.joints[1].stops[0]
    text = (
        export_text(measured)
        .replace('name = "first wheel"', 'name = "wheel one"')
        .replace('after = ["first wheel@{axle}", ', 'after = ["wheel one@{axle}", ')
    )
    renamed = measured.with_name("renamed.asmade")
    store.start(renamed, read_text(text))
    names = {j.name: j.by for j in record.record(renamed).joints}
    assert names["first wheel@1"] == "no longer in the book under this name"


def export_text(path):
    return write_text(store.read_build(path))


def test_bad_input_of_joints(measured):
    with pytest.raises(Contradiction, match="not joined"):
        joined.undone(measured, "first wheel@1", how="heat")
    joined.joined(measured, "first wheel@1")
    with pytest.raises(Refused, match="empty"):
        joined.undone(measured, "first wheel@1", how=" ")
    with pytest.raises(Refused, match="before the joint was made"):
        joined.undone(measured, "first wheel@1", how="heat", at="2020-01-01")
    with pytest.raises(Unknown, match="did you mean second wheel@1"):
        joined.joined(measured, "secnd wheel@1")
    with pytest.raises(Refused, match="future"):
        joined.joined(measured, "second wheel@1", at="2999-01-01")
    with pytest.raises(Refused, match="no date and time"):
        joined.joined(measured, "second wheel@1", at="yesterday")
    with pytest.raises(OutOfRange, match="temperature of the workshop"):
        joined.joined(measured, "second wheel@1", temperature="300 C")


def test_without_a_data_sheet_no_time_is_invented(tmp_path):
    at = tmp_path / "b.asmade"
    store.start(at, read_text(BOOK[: BOOK.index("[shop.adhesive")]))
    look = last_look.last_look(at, "first wheel@1", temperature="20 C")
    assert {t.hours for t in look.times} == {None}
    assert all("see the product's data sheet" in t.words for t in look.times)
    assert "data sheet" in {r.code for r in look.minds}


def test_a_finding_that_only_a_disturbed_size_touches_stands_against_it_once_all_is_measured(measured):
    """Crank radii 24.00 and 24.20 are not alike within 0.05: the pin or wheel is put right before it is fixed."""
    measure(measured, wheel__1L__crank_radius="24.20")
    joined.joined(measured, "first wheel@1")
    look = last_look.last_look(measured, "second wheel@1")
    assert codes(look) == ["fails"]
    assert look.stops[0].words.startswith("crank radii alike fails by 0.150 mm")


def test_done_is_kept_by_piece_and_said_once(path):
    done.done(path, "wheel@1L", "back faced")
    result = done.done(path, "wheel#1L", "bored  and reamed", note="slow")
    assert [name for name, _ in result.done] == ["back faced", "bored and reamed"]
    with pytest.raises(Contradiction, match="already"):
        done.done(path, "wheel@1L", "Back faced")
    with pytest.raises(Unknown, match="did you mean wheel"):
        done.done(path, "whel@1L", "x")
    with pytest.raises(Unknown, match="place of wheel"):
        done.done(path, "wheel@2L", "x")
    with pytest.raises(Refused, match="which piece"):
        done.done(path, "wheel", "x")
    with pytest.raises(Refused, match="empty"):
        done.done(path, "wheel@1L", "  ")


def test_notes_find_what_they_are_about(path):
    for about in ("wheel", "wheel@1L", "wheel#1L.bore", "first wheel@1", "wheel on axle", "book"):
        assert done.note(path, about, "worth remembering").about == about
    with pytest.raises(Unknown, match="did you mean wheel"):
        done.note(path, "whel", "x")
    with pytest.raises(Unknown, match="dimension of wheel"):
        done.note(path, "wheel.bor", "x")
    with pytest.raises(Unknown, match="place of 'first wheel'"):
        done.note(path, "first wheel@9", "x")
    with pytest.raises(Refused, match="empty"):
        done.note(path, "wheel", " ")


def test_photographs_are_kept_in_the_book_by_what_they_hold(path, tmp_path):
    photo = tmp_path / "boss.png"
    photo.write_bytes(PNG)
    result = done.note(path, "wheel@1L", "chipped spoke", photos=(str(photo),))
    assert [(p.name, p.media_type, p.size) for p in result.photos] == [("boss.png", "image/png", len(PNG))]
    with Ledger.open(path, write=False) as ledger:
        assert ledger.attachment(result.photos[0].digest) == ("boss.png", "image/png", PNG)
    text = record_text.record_text(record.record(path))
    assert "boss.png" in text
    assert "chipped spoke" in text


def test_what_is_no_photograph_is_refused_and_nothing_is_saved(path, tmp_path, monkeypatch):
    wrong = tmp_path / "photo.jpg"
    wrong.write_text("hello")
    with pytest.raises(Refused, match="by what is in it"):
        done.note(path, "wheel", "x", photos=(str(wrong),))
    with pytest.raises(Damaged, match="cannot be read"):
        done.note(path, "wheel", "x", photos=(str(tmp_path / "none.jpg"),))
    with pytest.raises(Damaged, match="not a plain file"):
        done.note(path, "wheel", "x", photos=(str(tmp_path),))
    monkeypatch.setattr(done, "PHOTO_LIMIT", 10)
    wrong.write_bytes(PNG)
    with pytest.raises(OutOfRange, match="up to 10"):
        done.note(path, "wheel", "x", photos=(str(wrong),))
    assert store.read(path).last == 2
    with Ledger.open(path, write=False) as ledger:
        assert ledger.attachments() == ()


@pytest.mark.parametrize(
    ("data", "media_type"),
    [
        (b"\xff\xd8\xff\xe0", "image/jpeg"), (PNG, "image/png"), (b"RIFF\x00\x00\x00\x00WEBPVP8 ", "image/webp"),
        (b"\x00\x00\x00\x18ftypheic", "image/heif"), (b"%PDF-1.7", "application/pdf"),
    ],
)  # fmt: skip
def test_types_of_pictures(data, media_type):
    assert done.media_type_of(data, "a file") == media_type


def test_the_record_says_all_that_was_done(measured):
    joined.joined(measured, "first wheel@1", note="went on sweetly")
    done.done(measured, "wheel@1R", "back faced")
    done.note(measured, "book", "next: second wheel")
    found = record.record(measured)
    assert found.left_off.last_note.endswith("next: second wheel")
    assert found.left_off.ready_joints == ("second wheel@1",)
    assert [(j.name, j.joined) for j in found.joints] == [("first wheel@1", True), ("second wheel@1", False)]
    wheel = next(p for p in found.parts if p.name == "wheel")
    bore = wheel.dimensions[0]
    assert [(m.piece, m.text, m.instrument) for m in bore.made] == [
        ("wheel#1L", "16.00", "mic"),
        ("wheel#1R", "16.01", "mic"),
    ]
    text = record_text.record_text(found)
    for words in ("went on sweetly", "gap 0.060 mm on diameter", "wheel#1R: back faced", "9 readings by mic", "16.01"):
        assert words in text
    assert max(map(len, text.splitlines())) <= record_text.WIDTH


def test_the_record_is_written_whole_and_never_over_another_file(path, tmp_path):
    found, target = record.record(path), tmp_path / "record.txt"
    text = record_text.write_record(found, target)
    assert target.read_text(encoding="utf-8") == text
    with pytest.raises(Damaged, match="already"):
        record_text.write_record(found, target)
    record_text.write_record(found, target, replace=True)
    with pytest.raises(Damaged, match="there is no folder"):
        record_text.write_record(found, tmp_path / "nowhere" / "record.txt")
    assert sorted(p.name for p in tmp_path.iterdir() if "unfinished" in p.name) == []


@pytest.fixture(scope="module")
def harrowgill(tmp_path_factory):
    at = tmp_path_factory.mktemp("demo") / "demo.asmade"
    store.start(at, read_text(demo.demo_text()))
    return store.read_build(at)


def test_every_joint_of_the_demo_has_a_sensible_last_look(harrowgill):
    values = last_look.compute(harrowgill)
    look = last_look.Look(harrowgill, values, last_look.Joints(values.system), samples=0)
    assert len(values.system.joints) >= 24
    for joint in values.system.joints:
        found = look.at(joint.subject)
        assert found.means.name != "not said", joint.subject
        assert found.findings, joint.subject
        assert found.unreachable, joint.subject
        assert found.cautions, joint.subject
        assert len(found.ticks) > 4, joint.subject
        assert all(r.words and (r.way_out or r.code != "stop") for r in found.stops), joint.subject
        assert found.verdict == ("stop" if found.stops else "go")
        assert not {str(a) for a in found.measure_first} & {str(a) for a in joint.disturbs}, joint.subject


def test_the_demo_quarters_its_own_wheelsets_to_the_one_that_was_bought(harrowgill):
    """The bought wheelset was measured at 90.45 deg; quarters are alike within 0.20 deg."""
    look = last_look.last_look_of(harrowgill, "second wheel on axle, quartered@1")
    setting, words = look.settings[0]
    assert str(setting.address) == "wheelset@1.quarter"
    assert words == "90.45 deg (90.25 to 90.65, for quarters alike)"
    assert {p.piece for p in look.pieces if p.trapped} == {"axlebox#A1", "axlebox#A2"}
    assert "fails" not in codes(look)
    assert "order" in codes(look)
    assert codes(last_look.last_look_of(harrowgill, "second wheel on axle, quartered@3")) == ["joined"]


def test_a_trial_assembly_is_asked_for_and_entered_as_done(measured):
    """It is an operation of the wheelset; undoing the joint asks for another."""
    look = last_look.last_look(measured, "first wheel@1")
    (asked,) = [r for r in look.minds if r.code == "trial"]
    assert look.tried == ""
    assert '"first wheel tried dry"' in asked.way_out
    seat = asked.way_out.split("BOOK ")[1].split(' "')[0]
    done.done(measured, seat, "first wheel tried dry", at="2026-02-01")
    look = last_look.last_look(measured, "first wheel@1")
    assert look.tried.startswith("2026-02-01")
    assert "trial" not in {r.code for r in look.minds}
    joined.joined(measured, "first wheel@1")
    joined.undone(measured, "first wheel@1", how="heat")
    assert last_look.last_look(measured, "first wheel@1").tried == ""


def test_sizes_behind_a_joint_that_stands_are_frozen(path):
    """A wheel bought on its axle: nobody chooses its bore any more, though it was never measured."""
    before = {str(c.dimension) for c in choice.choose(store.read_build(path)).changes}
    assert {"wheel.bore", "axle.journal"} & before
    joined.joined(path, "first wheel@1", despite="bought so")
    build = store.read_build(path)
    gone = joining.frozen(build, compute(build).system)
    assert {str(a): j for a, j in gone.items()} == {
        "wheel@1L.bore": "first wheel@1", "axle@1.seat_left": "first wheel@1",
    }  # fmt: skip
    after = {str(c.dimension) for c in choice.choose(build).changes}
    assert not {name for name in after if name.startswith(("axle.seat_left", "wheel@1L.bore", "wheel#1L.bore"))}
    joined.undone(path, "first wheel@1", how="heat")
    build = store.read_build(path)
    assert joining.frozen(build, compute(build).system) == {}
