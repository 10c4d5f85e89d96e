"""Books of older formats: upgraded on a copy, swapped in whole, the old one kept; or refused untouched."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from asmade.book import ledger_file, ledger_schema, ledger_upgrade
from asmade.book.ledger import Entry, Ledger
from asmade.measure.errors import Damaged

DUMP = Path(__file__).parent / "data" / "format_0.sql"
AT = "2026-03-14T19:05:00+01:00"


def build_old_book(path, *, mode="DELETE", spoil=""):
    connection = sqlite3.connect(path, isolation_level=None)
    connection.executescript(DUMP.read_text(encoding="utf-8"))
    connection.execute(f"PRAGMA journal_mode = {mode}")
    if spoil:
        connection.execute(spoil)
    connection.close()


@pytest.fixture(params=["DELETE", "WAL"])
def old(request, tmp_path):
    path = tmp_path / "old.asmade"
    build_old_book(path, mode=request.param)
    return path


def everything(folder):
    return {file.name: file.read_bytes() for file in folder.iterdir()}


def rows_of_format_0(path):
    connection = sqlite3.connect(path)
    rows = connection.execute("SELECT number, kind, at, by FROM entry ORDER BY number").fetchall()
    connection.close()
    return rows


def test_an_older_book_is_upgraded_and_the_old_one_kept(old):
    before = rows_of_format_0(old)
    with Ledger.open(old) as ledger:
        entries = ledger.entries()
        assert [(entry.number, entry.kind, entry.at, entry.by) for entry in entries] == before
        assert entries[2].body == {"dimension": "wheel.bore", "mm": 15.9, "tool": "reamer 15.9"}
        assert entries[4].body == {"entry": 4, "why": "misread the dial, 15.903 ± 0.002"}
        ((digest, name, media_type, size),) = ledger.attachments()
        assert (name, media_type, size) == ("abc.txt", "text/plain", 3)
        assert ledger.attachment(digest) == ("abc.txt", "text/plain", b"abc")
        ledger.verify()
        assert ledger.append([Entry(0, "note", AT, {"text": "on we go"})]) == (8,)
    assert {file.name for file in old.parent.iterdir()} == {"old.asmade", "old.asmade.before-format-1"}
    assert rows_of_format_0(old.with_name("old.asmade.before-format-1")) == before
    connection = sqlite3.connect(old)
    assert connection.execute("SELECT to_format FROM upgrade").fetchall() == [(1,)]
    meta = dict(connection.execute("SELECT name, value FROM meta"))
    connection.close()
    assert (meta["format"], meta["created"], meta["program"]) == ("1", "2026-01-10T10:00:00+00:00", "0.0.1")


def test_an_upgraded_book_and_a_new_one_have_the_same_tables(old, tmp_path):
    Ledger.open(old).close()
    Ledger.create(tmp_path / "new.asmade").close()
    tables = []
    for path in (old, tmp_path / "new.asmade"):
        connection = sqlite3.connect(path)
        tables.append(set(connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_schema")))
        connection.close()
    assert tables[0] == tables[1]


def test_reading_an_older_book_leaves_it_as_it_is(old):
    before = everything(old.parent)
    with Ledger.open(old, write=False) as ledger:
        assert ledger.last() == 7
        private = Path(ledger._folder)
        assert private.is_dir()
    assert not private.exists()
    assert everything(old.parent) == before


def test_a_kept_book_is_never_written_over(old):
    (old.parent / "old.asmade.before-format-1").write_text("of an earlier time")
    before = rows_of_format_0(old)
    Ledger.open(old).close()
    assert (old.parent / "old.asmade.before-format-1").read_text() == "of an earlier time"
    assert rows_of_format_0(old.parent / "old.asmade.before-format-1.2") == before


@pytest.mark.parametrize(
    "spoil",
    [
        "DELETE FROM entry WHERE number = 3",
        "DELETE FROM meta",
        "UPDATE entry SET body = '{\"half\": '",
        "UPDATE entry SET body = '{\"x\": NaN}' WHERE number = 2",
        "DROP TABLE attachment",
        "ALTER TABLE entry DROP COLUMN by",
        "CREATE TABLE another (x)",
    ],
)
@pytest.mark.parametrize("write", [True, False])
def test_an_older_book_that_is_not_whole_is_refused_untouched(tmp_path, spoil, write):
    path = tmp_path / "old.asmade"
    build_old_book(path, spoil=spoil)
    before = everything(tmp_path)
    with pytest.raises(Damaged, match="could not upgrade"):
        Ledger.open(path, write=write)
    assert everything(tmp_path) == before


def test_an_older_book_open_elsewhere_is_not_upgraded_under_its_writer(old, monkeypatch):
    monkeypatch.setattr(ledger_file, "PATIENCE_S", 0.05)
    other = sqlite3.connect(old, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(Damaged, match="another program has kept it locked"):
        Ledger.open(old)
    other.execute("INSERT INTO entry VALUES (8, ?, 'note', 'hand', '{}')", (AT,))
    other.execute("COMMIT")
    if other.execute("PRAGMA journal_mode").fetchone() == ("wal",):  # even at rest it is connected
        with pytest.raises(Damaged, match="another program has kept it locked"):
            Ledger.open(old)
    other.close()
    with Ledger.open(old) as ledger:
        assert ledger.last() == 8


def test_entries_that_a_crash_left_in_the_old_write_ahead_file_come_along(tmp_path):
    build_old_book(tmp_path / "live.asmade", mode="WAL")
    live = sqlite3.connect(tmp_path / "live.asmade", isolation_level=None)
    live.execute("INSERT INTO entry VALUES (8, ?, 'note', 'hand', '{}')", (AT,))
    for ending in ("", "-wal"):
        (tmp_path / f"old.asmade{ending}").write_bytes((tmp_path / f"live.asmade{ending}").read_bytes())
    live.close()
    with Ledger.open(tmp_path / "old.asmade", write=False) as ledger:
        assert ledger.last() == 8
    with Ledger.open(tmp_path / "old.asmade") as ledger:
        assert ledger.last() == 8
        assert ledger.entries()[-1].kind == "note"
    assert len(rows_of_format_0(tmp_path / "old.asmade.before-format-1")) == 8


def test_an_old_book_not_whole_and_its_write_ahead_file_are_refused_untouched(tmp_path):
    build_old_book(tmp_path / "live.asmade", mode="WAL")
    live = sqlite3.connect(tmp_path / "live.asmade", isolation_level=None)
    live.execute("INSERT INTO entry VALUES (9, ?, 'note', 'hand', '{}')", (AT,))  # 8 is missing
    folder = tmp_path / "crashed"
    folder.mkdir()
    for ending in ("", "-wal"):
        (folder / f"old.asmade{ending}").write_bytes((tmp_path / f"live.asmade{ending}").read_bytes())
    live.close()
    before = everything(folder)
    with pytest.raises(Damaged, match="some are missing"):
        Ledger.open(folder / "old.asmade")
    after = everything(folder)
    after.pop("old.asmade-shm", None)  # SQLite's index of the write-ahead file, made anew at each opening
    assert after == before


def test_where_links_cannot_be_made_the_old_book_is_copied(old, monkeypatch):
    def no_links(*_names):
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr("os.link", no_links)
    before = rows_of_format_0(old)
    with Ledger.open(old) as ledger:
        assert ledger.last() == 7
    assert rows_of_format_0(old.with_name("old.asmade.before-format-1")) == before
    with Ledger.create(old.with_name("new.asmade")) as ledger:
        assert ledger.last() == 0
    with pytest.raises(Damaged, match="there already"):
        Ledger.create(old)


def test_steps_lead_from_each_format_to_the_next(tmp_path):
    assert [step.to_format for step in ledger_upgrade.STEPS] == list(range(1, ledger_schema.FORMAT + 1))


def test_a_step_that_fails_half_way_leaves_no_trace(old, monkeypatch):
    real = ledger_upgrade.STEPS[0].apply

    def apply(connection):
        real(connection)
        raise sqlite3.OperationalError("disk I/O error")

    before = everything(old.parent)
    with monkeypatch.context() as patch:
        patch.setattr(ledger_upgrade, "STEPS", (ledger_upgrade.Step(1, "half", apply),))
        with pytest.raises(Damaged, match="could not upgrade"):
            Ledger.open(old)
    assert everything(old.parent) == before
    with Ledger.open(old) as ledger:
        assert ledger.last() == 7


def test_a_step_that_would_lose_an_entry_is_refused(old, monkeypatch):
    def apply(connection):
        connection.execute("DELETE FROM entry WHERE number = 7")
        real(connection)

    real = ledger_upgrade.STEPS[0].apply
    before = everything(old.parent)
    monkeypatch.setattr(ledger_upgrade, "STEPS", (ledger_upgrade.Step(1, "lossy", apply),))
    with pytest.raises(Damaged, match="does not hold all entries"):
        Ledger.open(old)
    assert everything(old.parent) == before


@pytest.mark.parametrize(("mode", "before"), [("DELETE", True), ("DELETE", False), ("WAL", True)])
def test_an_upgrade_that_comes_second_leaves_the_first_ones_book_alone(tmp_path, monkeypatch, mode, before):
    """The other program upgrades just before or just after this one has opened the file it looked at."""
    old = tmp_path / "old.asmade"
    build_old_book(old, mode=mode)
    real = ledger_file.connect
    turns = []

    def be_quicker():
        ledger_upgrade.upgrade(old)
        with Ledger.open(old) as ledger:
            ledger.append([Entry(0, "note", AT, {"text": "in the new book"})])

    def connect(path, mode):
        first = path == old and mode == "write" and not turns
        turns.extend([path] * first)
        if first and before:
            be_quicker()
        connection = real(path, mode)
        if first and not before:
            be_quicker()
        return connection

    monkeypatch.setattr(ledger_file, "connect", connect)
    with Ledger.open(old) as ledger:
        assert ledger.last() == 8
    assert {file.name for file in tmp_path.iterdir()} == {"old.asmade", "old.asmade.before-format-1"}


def test_several_programs_that_upgrade_at_once_all_write_into_the_same_book(old):
    code = """
import sys
from asmade.book.ledger import Entry, Ledger
with Ledger.open(sys.argv[1]) as ledger:
    ledger.append([Entry(0, "note", "2026-03-14T19:05:00+01:00", {"text": sys.argv[2]})])
"""
    writers = [subprocess.Popen([sys.executable, "-c", code, str(old), name]) for name in "abcd"]
    assert [process.wait() for process in writers] == [0] * 4
    with Ledger.open(old) as ledger:
        assert sorted(entry.body["text"] for entry in ledger.entries(after=7)) == list("abcd")


def test_an_upgrade_killed_at_any_step_loses_nothing(tmp_path):
    code = """
import os, shutil, signal, sqlite3, sys
from asmade.book import ledger_upgrade
from asmade.book.ledger import Ledger
folder, dump, mode = sys.argv[1:]
path = os.path.join(folder, "old.asmade")

def prepare():
    shutil.rmtree(folder, ignore_errors=True)
    os.mkdir(folder)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.executescript(open(dump, encoding="utf-8").read())
    connection.execute(f"PRAGMA journal_mode = {mode}")
    connection.close()

def kill_at(step):
    left = [step]
    def hook(event, arguments):
        if event in ("open", "os.link", "os.rename", "os.remove", "sqlite3.connect", "sqlite3.connect/handle"):
            left[0] -= 1
            if left[0] < 0:
                os.kill(os.getpid(), signal.SIGKILL)
    sys.addaudithook(hook)

step = 0
seen = set()
while True:
    prepare()
    process = os.fork()
    if process == 0:
        kill_at(step)
        Ledger.open(path).close()
        os._exit(0)
    _, status = os.waitpid(process, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0
    seen.add("old.asmade.before-format-1" in os.listdir(folder))
    with Ledger.open(path) as ledger:
        assert len(ledger.entries()) == 7
        ledger.verify()
    if os.WIFEXITED(status):
        break
    step += 1
assert seen == {True, False}
print(step)
"""
    for mode in ("DELETE", "WAL"):
        command = [sys.executable, "-W", "ignore", "-c", code, str(tmp_path / "work"), str(DUMP), mode]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        assert int(done.stdout) > 10
