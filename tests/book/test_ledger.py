"""The ledger in ordinary use: what goes in comes out, in order, once, and is never changed."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
import threading
from fractions import Fraction
from hashlib import sha256

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from asmade.book.ledger import ATTACHMENT_LIMIT, KINDS, Conflict, Entry, Ledger
from asmade.measure.errors import Contradiction, Damaged, OutOfRange, Refused, Unknown

AT = "2026-03-14T19:05:00+01:00"


def note(text, **more):
    return Entry(0, "note", AT, {"text": text}, **more)


@pytest.fixture
def book(tmp_path):
    with Ledger.create(tmp_path / "harrowgill.asmade") as ledger:
        yield ledger


def test_entries_come_back_as_written_with_ascending_numbers(book):
    written = [
        Entry(0, "drawn", AT, {"dimension": "wheel.bore", "drawn": "5/8"}, by="hand"),
        Entry(0, "made", AT, {"piece": "wheel#W3", "reading": "15,903", "spots": [15.9, None, True, 3]}, key="phone-1"),
    ]
    assert book.append(written) == (1, 2)
    assert book.append([note("Ø 5/8 ± ½ thou")]) == (3,)
    first, second, third = book.entries()
    assert [first.number, second.number, third.number] == [1, 2, 3]
    assert (first.kind, first.at, first.body, first.by, first.key) == ("drawn", AT, written[0].body, "hand", "")
    assert (second.body, second.key) == (written[1].body, "phone-1")
    assert third.body == {"text": "Ø 5/8 ± ½ thou"}
    assert book.last() == 3
    assert book.entries(after=1) == (second, third)
    assert book.entries(after=3) == book.entries(after=99) == ()
    with pytest.raises(OutOfRange):
        book.entries(after=-1)


def test_a_new_book_is_empty_marked_and_one_file(tmp_path):
    path = tmp_path / "new.asmade"
    with Ledger.create(path) as ledger:
        assert ledger.last() == 0
        assert ledger.entries() == ()
        assert ledger.append([]) == ()
    assert [file.name for file in tmp_path.iterdir()] == ["new.asmade"]
    # offsets of the SQLite file format, https://www.sqlite.org/fileformat2.html: user_version 60, application_id 68
    data = path.read_bytes()
    assert data[60:64] == (1).to_bytes(4, "big")
    assert data[68:72] == b"asmd"
    assert data[18:20] == b"\x02\x02"  # write-ahead logging
    connection = sqlite3.connect(path)
    meta = dict(connection.execute("SELECT name, value FROM meta"))
    connection.close()
    assert meta.keys() == {"format", "created", "program"}


def test_a_book_is_created_with_entries_and_survives_reopening(tmp_path):
    path = tmp_path / "b.asmade"
    with Ledger.create(path, entries=[note("a"), note("b", key="k")]) as ledger:
        before = ledger.entries()
    with Ledger.open(path) as ledger:
        assert ledger.entries() == before
        assert ledger.append([note("c")]) == (3,)
    with Ledger.open(path, write=False) as ledger:
        assert ledger.last() == 3
        with pytest.raises(Damaged, match="reading only"):
            ledger.append([note("d")])
        with pytest.raises(Damaged, match="reading only"):
            ledger.attach("a", b"a", "text/plain")
    with Ledger.create(tmp_path / "again.asmade", entries=before) as again:  # as read from a text form, with numbers
        assert again.entries() == before
        again.verify()


def test_creating_refuses_a_name_that_is_taken(tmp_path):
    path = tmp_path / "b.asmade"
    path.write_text("mine")
    with pytest.raises(Damaged, match="is there already"):
        Ledger.create(path)
    assert path.read_text() == "mine"
    with pytest.raises(Damaged, match="is there already"):
        Ledger.create(tmp_path)
    dangling = tmp_path / "link.asmade"
    dangling.symlink_to(tmp_path / "nowhere")
    with pytest.raises(Damaged, match="is there already"):
        Ledger.create(dangling)
    with pytest.raises(Damaged, match="could not start the book"):
        Ledger.create(tmp_path / "no folder" / "b.asmade")
    with pytest.raises(Refused):
        Ledger.create(tmp_path / "c.asmade", entries=[note("a"), Entry(7, "note", AT, {})])
    assert {file.name for file in tmp_path.iterdir()} == {"b.asmade", "link.asmade"}


@pytest.mark.parametrize("ending", ["-wal", "-journal"])
def test_creating_refuses_side_files_of_an_earlier_book(tmp_path, ending):
    (tmp_path / f"b.asmade{ending}").write_bytes(b"of another book")
    with pytest.raises(Damaged, match="earlier book"):
        Ledger.create(tmp_path / "b.asmade")
    assert [file.name for file in tmp_path.iterdir()] == [f"b.asmade{ending}"]


def test_all_or_none_of_a_batch_is_saved(book):
    book.append([note("a")])
    for bad in (
        Entry(0, "guessed", AT, {}),
        Entry(0, "withdrawn", AT, {"entry": 99, "why": "x"}),
        Entry(9, "note", AT, {}),
    ):
        with pytest.raises((Refused, Unknown)):
            book.append([note("b"), bad, note("c")])
    assert [entry.body["text"] for entry in book.entries()] == ["a"]
    assert book.append([note("d")]) == (2,)


@pytest.mark.parametrize(
    ("entry", "reason"),
    [
        (Entry(0, "made", "2026-03-14 19:05:00+01:00", {}), "not a local time"),
        (Entry(0, "made", "2026-03-14T19:05:00", {}), "not a local time"),
        (Entry(0, "made", "2026-03-14T19:05+01:00", {}), "not a local time"),
        (Entry(0, "made", "2026-02-30T19:05:00+01:00", {}), "not a local time"),
        (Entry(0, "made", AT, {}, by="ha\nnd"), "control characters"),
        (Entry(0, "made", AT, {}, key="k\x00"), "control characters"),
        (Entry(0, "made", AT, {"x": float("nan")}), "body.x.*not a finite number"),
        (Entry(0, "made", AT, {"x": [1, {"y": float("inf")}]}), r"body.x\[1\].y.*not a finite number"),
        (Entry(0, "made", AT, {"x": {3: "a"}}), "not text"),
        (Entry(0, "made", AT, {"x": Fraction(5, 8)}), "Fraction cannot be written"),
        (Entry(0, "made", AT, {"x": "\ud800"}), "half a character"),
        (Entry(0, "made", AT, {"x": 2**63}), "beyond 64 bits"),
        (Entry(0, "made", AT, ["x"]), "not a mapping"),
        (Entry(0, "withdrawn", AT, {"entry": 1}), "say why"),
        (Entry(0, "withdrawn", AT, {"entry": True, "why": ""}), "say why"),
        (Entry(0, "withdrawn", AT, {"entry": 0, "why": "misread"}), "must name an entry"),
    ],
)
def test_an_entry_that_cannot_be_kept_exactly_is_refused(book, entry, reason):
    book.append([note("a")])
    with pytest.raises(Refused, match=reason):
        book.append([entry])
    assert book.last() == 1


def test_a_ring_in_a_body_is_refused(book):
    ring = {}
    ring["x"] = ring
    with pytest.raises(Refused, match="nested"):
        book.append([Entry(0, "note", AT, ring)])


def test_a_withdrawal_names_an_earlier_entry_and_may_itself_be_withdrawn(book):
    book.append([note("a"), Entry(0, "withdrawn", AT, {"entry": 1, "why": "misread"})])
    assert book.append([Entry(0, "withdrawn", AT, {"entry": 2, "why": "was right after all"})]) == (3,)


def test_the_same_key_is_saved_once(book):
    assert book.append([note("a", key="phone-1"), note("b")]) == (1, 2)
    assert book.append([note("a", key="phone-1"), note("c", key="phone-2")]) == (1, 3)
    assert book.append([Entry(0, "note", "2026-03-15T08:00:00+01:00", {"text": "a"}, key="phone-1")]) == (1,)
    assert book.append([note("d", key="phone-3"), note("d", key="phone-3")]) == (4, 4)
    with pytest.raises(Contradiction, match="'phone-1' belongs to entry 1"):
        book.append([note("e"), note("another", key="phone-1")])
    assert book.last() == 4
    # the answer was lost on the way and the client sends again, with what was the last entry for it then
    assert book.append([note("c", key="phone-2")], expected_last=1) == (3,)


def test_a_writer_who_has_not_read_the_latest_is_told_what_came(book):
    assert book.append([note("a")], expected_last=0) == (1,)
    book.append([note("b", by="page"), note("c")])
    with pytest.raises(Conflict, match="since entry 1: 2 note by page, 3 note; nothing was saved") as caught:
        book.append([note("d")], expected_last=1)
    assert caught.value.last == 3
    assert [entry.body["text"] for entry in caught.value.came] == ["b", "c"]
    with pytest.raises(Conflict, match="ends with 3"):
        book.append([note("d")], expected_last=7)
    assert book.append([note("d")], expected_last=3) == (4,)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET body = '{}' WHERE number = 1",
        "DELETE FROM entry",
        "REPLACE INTO entry VALUES (1, 'note', '', '{}', '', NULL, '')",
        "INSERT INTO entry VALUES (5, 'note', '', '{}', '', NULL, '')",
        "UPDATE head SET last = 0",
        "DELETE FROM head",
        "DELETE FROM attachment",
        "UPDATE attachment SET name = 'x'",
        "UPDATE meta SET value = 'x' WHERE name = 'created'",
        "DELETE FROM meta",
    ],
)
def test_even_another_program_cannot_change_what_was_entered(tmp_path, statement):
    path = tmp_path / "b.asmade"
    with Ledger.create(path, entries=[note("a"), note("b")]) as ledger:
        ledger.attach("a", b"a", "text/plain")
    connection = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError):
        connection.execute(statement)
    connection.close()


def test_attachments_are_kept_once_and_checked(book):
    picture = bytes(range(256)) * 40
    digest = book.attach("wheel.jpg", picture, "image/jpeg")
    assert digest == sha256(picture).hexdigest()
    assert book.attach("the same.jpg", picture, "image/jpeg") == digest
    assert book.attachment(digest) == ("wheel.jpg", "image/jpeg", picture)
    assert book.attachments() == ((digest, "wheel.jpg", "image/jpeg", len(picture)),)
    # FIPS 180-4, the published example of SHA-256 for the three letters abc
    assert book.attach("abc", b"abc", "text/plain").startswith("ba7816bf8f01cfea414140de5dae2223")
    with pytest.raises(Unknown):
        book.attachment("0" * 64)
    with pytest.raises(OutOfRange):
        book.attach("film", bytes(ATTACHMENT_LIMIT + 1), "video/mp4")
    with pytest.raises(OutOfRange):
        book.attach("nothing", b"", "text/plain")
    with pytest.raises(Refused):
        book.attach("", b"a", "text/plain")
    with pytest.raises(Refused):
        book.attach("a", b"a", "picture")
    assert book.last() == 0
    book.verify()


def test_threads_may_share_a_ledger(book):
    def work(name):
        for turn in range(20):
            book.append([note(f"{name}{turn}"), note(f"{name}{turn} too")])
            book.entries(after=max(0, book.last() - 3))

    threads = [threading.Thread(target=work, args=(name,)) for name in "abc"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    texts = [entry.body["text"] for entry in book.entries()]
    assert len(texts) == 120
    assert all(later == f"{first} too" for first, later in zip(texts[::2], texts[1::2], strict=True))


def test_a_moved_or_removed_book_takes_no_more_entries(tmp_path):
    path = tmp_path / "b.asmade"
    with Ledger.create(path) as ledger:
        ledger.append([note("a")])
        path.rename(tmp_path / "c.asmade")
        with pytest.raises(Damaged, match="moved, removed or replaced"):
            ledger.append([note("b")])
    with Ledger.open(tmp_path / "c.asmade") as ledger:
        assert ledger.last() == 1


def test_a_link_opens_the_book_behind_it(tmp_path):
    path = tmp_path / "b.asmade"
    Ledger.create(path, entries=[note("a")]).close()
    (tmp_path / "link.asmade").symlink_to(path)
    with Ledger.open(tmp_path / "link.asmade") as ledger:
        ledger.append([note("b")])
        assert ledger.path == path
    with Ledger.open(path) as ledger:
        assert ledger.last() == 2


def test_the_book_file_alone_is_complete_while_it_is_open(tmp_path):
    with Ledger.create(tmp_path / "b.asmade") as ledger:
        for turn in range(5):
            ledger.append([note(f"{turn}")])
            (tmp_path / f"copy{turn}.asmade").write_bytes((tmp_path / "b.asmade").read_bytes())
    for turn in range(5):
        with Ledger.open(tmp_path / f"copy{turn}.asmade") as copy:
            assert copy.last() == turn + 1


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**63) + 1, 2**63 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(body=st.dictionaries(st.text(), JSON, max_size=5), kind=st.sampled_from(sorted(KINDS - {"withdrawn"})))
def test_any_json_body_comes_back_equal(book, body, kind):
    (number,) = book.append([Entry(0, kind, AT, body)])
    (entry,) = book.entries(after=number - 1)
    assert entry.body == body
    assert json.dumps(entry.body, sort_keys=True) == json.dumps(body, sort_keys=True)


def test_a_body_keeps_the_order_it_was_written_in_and_equality_does_not_ask_for_it(book):
    book.append([Entry(0, "note", AT, {"b": (2, 3), "a": {"y": 1, "x": 2}}, key="phone-1")])
    (entry,) = book.entries()
    assert json.dumps(entry.body) == '{"b": [2, 3], "a": {"y": 1, "x": 2}}'
    assert book.append([Entry(0, "note", AT, {"a": {"x": 2, "y": 1}, "b": [2, 3]}, key="phone-1")]) == (1,)
    with pytest.raises(Contradiction):
        book.append([Entry(0, "note", AT, {"a": {"x": 2, "y": True}, "b": [2, 3]}, key="phone-1")])


def test_importing_the_ledger_brings_in_nothing_heavy():
    code = "import sys, asmade.book.ledger; print(*sorted({name.partition('.')[0] for name in sys.modules}))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert not {"numpy", "scipy", "pydantic", "rich", "click", "tomlkit", "openpyxl", "tempfile", "asyncio"} & set(
        loaded
    )
