"""What goes wrong: power cut, full disk, two writers, damage, strange files. Nothing acknowledged is ever lost."""

from __future__ import annotations

import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import textwrap
import time

import pytest

from asmade.book import ledger_file
from asmade.book.ledger import Entry, Ledger
from asmade.measure.errors import Damaged

AT = "2026-03-14T19:05:00+01:00"

PRELUDE = """
import json, os, signal, sys, time
from asmade.book.ledger import Conflict, Entry, Ledger
from asmade.measure.errors import Damaged
def note(text, **more):
    return Entry(0, "note", "2026-03-14T19:05:00+01:00", {"text": text}, **more)
def say(*words):
    print(*words, flush=True)
"""

# Root may write anywhere; a process that has lost these two capabilities (Linux: 1 DAC_OVERRIDE, 2 DAC_READ_SEARCH;
# PR_CAPBSET_DROP is 24) obeys permissions as an ordinary user does.
ORDINARY = """
import ctypes, os, sys
if os.geteuid() == 0:
    for capability in (1, 2):
        assert ctypes.CDLL(None).prctl(24, capability, 0, 0, 0) == 0
os.execv(sys.executable, [sys.executable, "-c", *sys.argv[1:]])
"""


def note(text, **more):
    return Entry(0, "note", AT, {"text": text}, **more)


def program(code):
    return PRELUDE + textwrap.dedent(code)


def child(code, *arguments):
    return subprocess.Popen(
        [sys.executable, "-c", program(code), *map(str, arguments)], stdout=subprocess.PIPE, text=True
    )


def run_as_ordinary_user(code, *arguments):
    command = [sys.executable, "-c", ORDINARY, program(code), *map(str, arguments)]
    return subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True).stdout


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "b.asmade"
    with Ledger.create(path, entries=[note(f"{turn} " + "x" * 200) for turn in range(60)]) as ledger:
        ledger.attach("picture", bytes(range(256)) * 30, "image/png")
    return path


def everything(folder):
    return {file.name: file.read_bytes() for file in folder.iterdir() if file.is_file()}


# ---------------------------------------------------------------- the power fails


def test_kill_at_any_moment_loses_no_acknowledged_entry(tmp_path):
    path = tmp_path / "b.asmade"
    Ledger.create(path).close()
    writer = """
    with Ledger.open(sys.argv[1]) as ledger:
        turn = 0
        while True:
            numbers = ledger.append([note(f"{sys.argv[2]} {turn} {part}") for part in range(3)])
            say(json.dumps([turn, numbers]))
            time.sleep(0.0005)  # or the other would hardly get a turn
            turn += 1
    """
    chance = random.Random(7)  # noqa: S311  # no secret
    acknowledged = {}
    for run in range(10):
        writers = [child(writer, path, f"{run}{name}") for name in "ab"]
        for process in writers:
            process.stdout.readline()  # it has begun
        time.sleep(chance.uniform(0.005, 0.06))
        for process in writers:
            process.send_signal(signal.SIGKILL)
        for name, process in zip("ab", writers, strict=True):
            rest, _ = process.communicate()
            for line in rest.splitlines():
                if line.endswith("]]"):
                    turn, numbers = json.loads(line)
                    acknowledged |= {number: f"{run}{name} {turn} {part}" for part, number in enumerate(numbers)}
        with Ledger.open(path) as ledger:
            entries = ledger.entries()
            ledger.verify()
        found = {entry.number: entry.body["text"] for entry in entries}
        assert acknowledged.items() <= found.items()
        assert list(found) == list(range(1, len(found) + 1))
        # a batch is there whole and together, or not at all
        texts = list(found.values())
        assert all(texts[at][:-1] == texts[at + 1][:-1] == texts[at + 2][:-1] for at in range(0, len(texts), 3))
    assert len(acknowledged) > 100


KILLED_AT_EVERY_STEP = """
    # Python tells an audit hook of every file opened, linked, renamed or removed and of every connection: a fork of
    # this process kills itself at the first of them, the next fork at the second, and so on to the end.
    def kill_at(step):
        left = [step]
        def hook(event, arguments):
            if event in ("open", "os.link", "os.rename", "os.remove", "sqlite3.connect", "sqlite3.connect/handle"):
                left[0] -= 1
                if left[0] < 0:
                    os.kill(os.getpid(), signal.SIGKILL)
        sys.addaudithook(hook)
    step = 0
    while True:
        prepare()
        process = os.fork()
        if process == 0:
            kill_at(step)
            work()
            os._exit(0)
        _, status = os.waitpid(process, 0)
        assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0
        check()
        if os.WIFEXITED(status):
            break
        step += 1
    say(step)
"""


def test_a_book_killed_while_it_is_made_is_there_whole_or_not_at_all(tmp_path):
    code = """
    path = sys.argv[1]
    def prepare():
        if os.path.exists(path):
            os.remove(path)
    def work():
        Ledger.create(path, entries=[note("a"), note("b")]).close()
    def check():
        if os.path.exists(path):
            with Ledger.open(path) as ledger:
                assert [entry.body["text"] for entry in ledger.entries()] == ["a", "b"]
    """
    process = child(code + KILLED_AT_EVERY_STEP, tmp_path / "b.asmade")
    out, _ = process.communicate()
    assert process.returncode == 0
    assert int(out) > 5


# ---------------------------------------------------------------- several writers


def test_four_writers_at_once_lose_and_mix_nothing(tmp_path):
    path = tmp_path / "b.asmade"
    Ledger.create(path).close()
    writer = """
    for turn in range(30):
        with Ledger.open(sys.argv[1]) as ledger:
            ledger.append([note(f"{sys.argv[2]} {turn} {part}", key=f"{sys.argv[2]}-{turn}-{part}") for part in range(3)])
            ledger.entries(after=ledger.last() - 3)
        with Ledger.open(sys.argv[1], write=False) as ledger:
            ledger.entries()
            ledger.verify()
    """
    writers = [child(writer, path, name) for name in "abcd"]
    for process in writers:
        process.communicate()
        assert process.returncode == 0
    with Ledger.open(path) as ledger:
        ledger.verify()
        texts = [entry.body["text"] for entry in ledger.entries()]
    assert sorted(texts) == sorted(
        f"{name} {turn} {part}" for name in "abcd" for turn in range(30) for part in range(3)
    )
    for at in range(0, len(texts), 3):
        assert [text[-1] for text in texts[at : at + 3]] == ["0", "1", "2"]
        assert len({text[:-1] for text in texts[at : at + 3]}) == 1
    for name in "abcd":
        mine = [int(text.split()[1]) for text in texts if text.startswith(name)]
        assert mine == sorted(mine)


def test_two_writers_with_an_expected_last_never_write_past_each_other(tmp_path):
    path = tmp_path / "b.asmade"
    Ledger.create(path).close()
    writer = """
    conflicts = 0
    with Ledger.open(sys.argv[1]) as ledger:
        for turn in range(25):
            while True:
                last = ledger.last()
                try:
                    ledger.append([note(f"after {last}")], expected_last=last)
                    break
                except Conflict:
                    conflicts += 1
    """
    writers = [child(writer, path) for _ in range(2)]
    for process in writers:
        process.communicate()
        assert process.returncode == 0
    with Ledger.open(path) as ledger:
        assert [entry.body["text"] for entry in ledger.entries()] == [f"after {last}" for last in range(50)]


def test_a_book_held_too_long_by_another_program_is_said_so(path, monkeypatch):
    monkeypatch.setattr(ledger_file, "PATIENCE_S", 0.05)
    with Ledger.open(path) as ledger:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Damaged, match=r"another program has kept it locked.*nothing of this was saved"):
            ledger.append([note("a")])
        with pytest.raises(Damaged, match="another program"):
            Ledger.open(path)
        with Ledger.open(path, write=False) as reader:
            assert reader.last() == 60
        other.execute("ROLLBACK")
        other.close()
        assert ledger.append([note("a")]) == (61,)


def test_a_reader_in_the_middle_of_reading_holds_up_no_writer(path):
    reader = sqlite3.connect(path, isolation_level=None)
    reader.execute("BEGIN")
    assert reader.execute("SELECT count(*) FROM entry").fetchone() == (60,)
    with Ledger.open(path) as ledger:
        assert ledger.append([note("a")]) == (61,)
        assert reader.execute("SELECT count(*) FROM entry").fetchone() == (60,)
    reader.close()
    with Ledger.open(path) as ledger:
        assert ledger.last() == 61


# ---------------------------------------------------------------- the disk is full

FILL = """
    folder = sys.argv[1]
    path = os.path.join(folder, "b.asmade")
    with Ledger.create(path) as ledger:
        saved = []
        limit()
        for turn in range(4000):
            try:
                saved += ledger.append([note(f"{turn} " + "x" * 2000), note("and")])
            except Damaged as error:
                say(error)
                break
        else:
            raise SystemExit("never full")
        try:
            ledger.attach("big", bytes(3 * 2**20), "image/png")
            raise SystemExit("not full for a picture")
        except Damaged:
            pass
        assert [entry.number for entry in ledger.entries()] == saved
        try:
            Ledger.create(os.path.join(folder, "c.asmade"), entries=[note("x" * 2**20)])
            raise SystemExit("not full for another book")
        except Damaged:
            pass
        assert {name for name in os.listdir(folder) if "b.asmade" not in name and name != "filler"} == set()
        free()
        saved += ledger.append([note("there is room again")])
    with Ledger.open(path) as ledger:
        ledger.verify()
        assert [entry.number for entry in ledger.entries()] == saved
        say("kept", len(saved))
"""


def test_a_file_that_may_not_grow_loses_nothing(tmp_path):
    code = """
    import resource
    def limit():
        resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, resource.getrlimit(resource.RLIMIT_FSIZE)[1]))
    def free():
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.getrlimit(resource.RLIMIT_FSIZE)[1],) * 2)
    """
    process = child(code + FILL, tmp_path)
    out, _ = process.communicate()
    assert process.returncode == 0
    assert "nothing of this was saved; everything saved before is safe" in out
    assert int(out.split()[-1]) > 100


def test_a_full_disk_loses_nothing(tmp_path):
    """On a disk of 1 MB where the system lets us have one, else on one that pretends to be full at 100 pages."""
    code = """
    filler = os.path.join(sys.argv[1], "filler")
    if os.path.ismount(sys.argv[1]):
        def limit():
            with open(filler, "wb") as file:
                file.write(bytes(400_000))
        def free():
            os.remove(filler)
    else:
        def limit():
            ledger._connection.execute("PRAGMA max_page_count = 100")
        def free():
            ledger._connection.execute("PRAGMA max_page_count = 100000")
    """
    code = program(code + FILL.replace('[note("x" * 2**20)]', '[note("x" * 2**20)] * 3'))
    mount = 'mount -t tmpfs -o size=1m small "$1" && exec "$2" -c "$3" "$1"'
    arguments = ["sh", "-c", mount, "sh", str(tmp_path), sys.executable, code]
    own_space = ["unshare", "--mount"] if os.geteuid() == 0 else ["unshare", "--map-root-user", "--mount"]
    try:
        possible = subprocess.run(
            [*own_space, *arguments[:3], "sh", str(tmp_path), "true"], capture_output=True, check=False
        )
        small_disk = possible.returncode == 0
    except FileNotFoundError:
        small_disk = False
    command = [*own_space, *arguments] if small_disk else [sys.executable, "-c", code, str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if not small_disk:  # another book on a real disk is not refused
        assert "not full for another book" in done.stderr
        assert "the disk is full" in done.stdout
        return
    assert done.returncode == 0, done.stderr
    assert "the disk is full; nothing of this was saved; everything saved before is safe" in done.stdout
    assert int(done.stdout.split()[-1]) > 100


# ---------------------------------------------------------------- it may only be read

LOOK = """
    path = sys.argv[1]
    try:
        Ledger.open(path)
    except Damaged as error:
        say(error)
    else:
        raise SystemExit("opened for writing")
    with Ledger.open(path, write=False) as ledger:
        say("read", ledger.last(), len(ledger.entries()), len(ledger.attachments()))
"""


@pytest.mark.parametrize("of_what", ["file", "folder", "both"])
def test_what_may_only_be_read_is_refused_for_writing_and_can_be_read(path, of_what):
    before = everything(path.parent)
    if of_what != "folder":
        path.chmod(0o444)
    if of_what != "file":
        path.parent.chmod(0o555)
    try:
        out = run_as_ordinary_user(LOOK, path)
    finally:
        path.parent.chmod(0o755)
    assert "may only be read; left untouched" in out
    assert out.endswith("read 60 60 1\n")
    assert everything(path.parent) == before


def test_a_file_that_may_not_even_be_read_is_refused(path):
    before = path.read_bytes()
    path.chmod(0)
    code = """
    for write in (True, False):
        try:
            Ledger.open(sys.argv[1], write=write)
        except Damaged as error:
            say(error)
    """
    out = run_as_ordinary_user(code, path)
    assert out.count("left untouched") == 2
    path.chmod(0o644)
    assert path.read_bytes() == before


def left_by_a_crash(path, folder):
    """Copy the book as a crash leaves it: the last entries in the write-ahead file only, as someone was reading."""
    reader = sqlite3.connect(path, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM entry").fetchone()
    folder.mkdir()
    with Ledger.open(path) as ledger:
        ledger.append([note("61")])
        ledger.append([note("62")])
        for file in path.parent.glob("b.asmade*"):
            if not file.name.endswith("-shm"):
                (folder / file.name).write_bytes(file.read_bytes())
    reader.close()
    assert (folder / "b.asmade-wal").stat().st_size > 0
    return folder / path.name


@pytest.mark.parametrize("write", [True, False])
def test_what_a_crash_left_in_the_write_ahead_file_is_taken_in(path, tmp_path, write):
    crashed = left_by_a_crash(path, tmp_path / "crashed")
    with Ledger.open(crashed, write=write) as ledger:
        assert ledger.last() == 62
        ledger.verify()


def test_what_a_crash_left_is_read_even_from_a_folder_that_may_only_be_read(path, tmp_path):
    crashed = left_by_a_crash(path, tmp_path / "crashed")
    before = everything(crashed.parent)
    crashed.parent.chmod(0o555)
    try:
        out = run_as_ordinary_user(LOOK, crashed)
    finally:
        crashed.parent.chmod(0o755)
    assert out.endswith("read 62 62 1\n")
    assert everything(crashed.parent) == before


# ---------------------------------------------------------------- strange files


def refused(path, *reasons):
    """Refuse in both ways of opening, naming the file and a way out, without a byte changed or a file left beside."""
    before = everything(path.parent)
    for write in (True, False):
        with pytest.raises(Damaged) as caught:
            Ledger.open(path, write=write)
        for reason in reasons:
            assert reason in caught.value.message
        assert path.name in caught.value.message
        assert caught.value.way_out
    assert everything(path.parent) == before


def test_what_is_no_book_is_refused_untouched(tmp_path):
    path = tmp_path / "b.asmade"
    refused(path, "no such file")
    path.mkdir()
    refused(path, "is a folder")
    path.rmdir()
    path.write_bytes(b"")
    refused(path, "is empty (0 bytes)", "left untouched")
    path.write_text("[book]\nformat = 1\n")
    refused(path, "is not a book", "left untouched")
    path.write_bytes(b"SQLite format 3\x00")
    refused(path, "left untouched")
    path.write_bytes(bytes(5000))
    refused(path, "is not a book", "left untouched")
    path.unlink()
    path.symlink_to(path)
    refused(path, "leads back to itself")
    path.unlink()
    path.symlink_to(tmp_path / "nowhere")
    refused(path, "link to a file that is not there")
    path.unlink()
    os.mkfifo(path)
    refused(path, "not a plain file")
    path.unlink()
    path.write_text("a file where a folder should be")
    with pytest.raises(Damaged, match="cannot be reached"):
        Ledger.open(path / "inside.asmade")


@pytest.mark.parametrize("mode", ["DELETE", "WAL"])
def test_another_programs_database_is_refused_untouched(tmp_path, mode):
    path = tmp_path / "b.asmade"
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA journal_mode = {mode}")
    connection.execute("CREATE TABLE entry (number INTEGER PRIMARY KEY, kind, at, body, by, key, chain)")
    connection.commit()
    connection.close()
    refused(path, "another program", "left untouched")


def test_a_database_that_only_wears_the_mark_is_refused_untouched(tmp_path):
    path = tmp_path / "b.asmade"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE other (number INTEGER PRIMARY KEY)")
    connection.execute("PRAGMA application_id = 0x61736D64")
    connection.execute("PRAGMA user_version = 1")
    connection.close()
    refused(path, "its tables are not those of format 1")
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA user_version = 0")
    connection.close()
    refused(path, "could not upgrade")


def test_a_newer_format_is_refused_untouched(path):
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA user_version = 2")
    connection.close()
    refused(path, "has format 2, newer than format 1", "left untouched")


# ---------------------------------------------------------------- damage


def look_at_everything(path):
    with Ledger.open(path) as ledger:
        ledger.verify()


def test_a_cut_book_is_refused_untouched(path):
    data = path.read_bytes()
    for length in [1, 15, 16, 50, 99, 100, 512, 4095, *range(4096, len(data), 3000), len(data) - 1]:
        path.write_bytes(data[:length])
        refused(path)


def test_flipped_bytes_never_lose_an_entry_silently(path):
    data = path.read_bytes()
    with Ledger.open(path) as ledger:
        entries, attachments = ledger.entries(), ledger.attachments()
    chance = random.Random(11)  # noqa: S311  # no secret
    places = [*range(100), *chance.sample(range(100, len(data)), 500)]
    intact = 0
    for place in places:
        damaged = bytearray(data)
        damaged[place] ^= chance.randrange(1, 256)
        path.write_bytes(damaged)
        opened = False
        try:
            with Ledger.open(path, write=place % 2 == 0) as ledger:
                opened = True
                assert ledger.entries() == entries
                assert ledger.attachments() == attachments
                intact += 1
        except Damaged:
            if not opened:  # found at opening: not a byte is touched
                assert path.read_bytes() == bytes(damaged)
        assert [file.name for file in path.parent.iterdir()] == ["b.asmade"]
    assert 0 < intact < len(places)


def test_a_lost_or_zeroed_page_is_never_passed_over(path):
    data = path.read_bytes()
    for page in range(len(data) // 4096):
        path.write_bytes(data[: page * 4096] + bytes(4096) + data[(page + 1) * 4096 :])
        with pytest.raises(Damaged):
            look_at_everything(path)


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE entry SET body = replace(body, '7 x', '8 x') WHERE number = 8",
        "DELETE FROM entry WHERE number = 60",
        "DELETE FROM entry WHERE number = 30",
        "UPDATE entry SET at = '2026-03-14T19:06:00+01:00' WHERE number = 60",
        "UPDATE entry SET key = 'stolen' WHERE number = 1",
        "UPDATE head SET last = 59",
        "DELETE FROM head",
        "UPDATE meta SET value = '3' WHERE name = 'format'",
        "DELETE FROM attachment",
        "UPDATE attachment SET name = 'another'",
    ],
)
def test_a_change_made_past_the_guards_is_noticed(path, damage):
    connection = sqlite3.connect(path, isolation_level=None)
    triggers = connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
    for name, _ in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    connection.execute(damage)
    for _, text in triggers:
        connection.execute(text)
    connection.close()
    with pytest.raises(Damaged, match="damaged"):
        look_at_everything(path)


def test_damage_done_while_the_book_is_open_is_noticed_and_placed(path):
    with Ledger.open(path) as ledger:
        other = sqlite3.connect(path, isolation_level=None)
        for (name,) in other.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
            other.execute(f"DROP TRIGGER {name}")
        body = other.execute("SELECT body FROM entry WHERE number = 8").fetchone()
        other.execute("UPDATE entry SET body = '{}' WHERE number = 8")
        with pytest.raises(Damaged, match="entry 8 is missing or changed"):
            ledger.entries()
        other.execute("UPDATE entry SET body = ? WHERE number = 8", body)
        assert len(ledger.entries()) == 60
        other.execute("DELETE FROM entry WHERE number > 58")
        with pytest.raises(Damaged, match="should end with entry 60 but ends with 58"):
            ledger.entries()
        with pytest.raises(Damaged, match="entry 60, the last one, is missing"):
            ledger.append([note("a")])
        other.close()


def test_damage_to_the_list_of_keys_is_noticed(tmp_path):
    path = tmp_path / "b.asmade"
    Ledger.create(path, entries=[note("a", key=f"needle-{turn}") for turn in range(3)]).close()
    data = path.read_bytes()
    first = data.index(b"needle-1")
    second = data.index(b"needle-1", first + 1)  # once in the entry, once in the index
    for place in (first, second):
        path.write_bytes(data[:place] + b"noodle-1" + data[place + 8 :])
        refused(path, "damaged")


def test_a_picture_that_changed_is_noticed(path):
    data = path.read_bytes()
    path.write_bytes(data.replace(bytes(range(100, 120)), bytes(range(101, 121))))
    with Ledger.open(path) as ledger:
        ((digest, *_),) = ledger.attachments()
        with pytest.raises(Damaged, match="picture is changed"):
            ledger.attachment(digest)
        with pytest.raises(Damaged, match="picture is changed"):
            ledger.verify()


def test_a_damaged_book_with_entries_in_its_write_ahead_file_is_left_untouched(path, tmp_path):
    crashed = left_by_a_crash(path, tmp_path / "crashed")
    data = bytearray(crashed.read_bytes())
    data[-4096 * 3 : -4096 * 2] = bytes(4096)
    crashed.write_bytes(data)
    before = {name: held for name, held in everything(crashed.parent).items() if not name.endswith("-shm")}
    with pytest.raises(Damaged, match="damaged"):
        Ledger.open(crashed)
    after = {name: held for name, held in everything(crashed.parent).items() if not name.endswith("-shm")}
    assert after == before


def test_a_write_ahead_file_older_than_the_book_is_refused(path, tmp_path):
    crashed = left_by_a_crash(path, tmp_path / "crashed")
    stale = (crashed.parent / "b.asmade-wal").read_bytes()
    with Ledger.open(crashed) as ledger:
        ledger.append([note("63")])
    (crashed.parent / "b.asmade-wal").write_bytes(stale)
    before = crashed.read_bytes()
    with pytest.raises(Damaged, match="ends with entry 62, before entry 63"):
        Ledger.open(crashed)
    assert crashed.read_bytes() == before
    (crashed.parent / "b.asmade-wal").unlink()
    with Ledger.open(crashed) as ledger:
        assert ledger.last() == 63


def test_a_damaged_write_ahead_file_loses_at_most_a_saving_that_looks_cut_short(path, tmp_path):
    reader = sqlite3.connect(path, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM entry").fetchone()
    with Ledger.open(path) as ledger:
        for turn in range(5):
            ledger.append([note(f"{turn}")])
        entries = ledger.entries()
        data, wal = path.read_bytes(), (tmp_path / "b.asmade-wal").read_bytes()
    reader.close()
    folder = tmp_path / "crashed"
    folder.mkdir()
    crashed = folder / "b.asmade"
    chance = random.Random(5)  # noqa: S311  # no secret
    refusals = 0
    for place in [*range(0, 32, 3), *chance.sample(range(32, len(wal)), 40)]:
        for file in folder.iterdir():
            file.unlink()
        damaged = bytearray(wal)
        damaged[place] ^= chance.randrange(1, 256)
        crashed.write_bytes(data)
        (folder / "b.asmade-wal").write_bytes(damaged)
        try:
            with Ledger.open(crashed, write=place % 2 == 0) as ledger:
                assert ledger.entries() in (entries, entries[:-1])
        except Damaged:
            refusals += 1
            assert crashed.read_bytes() == data
            assert (folder / "b.asmade-wal").read_bytes() == bytes(damaged)
    assert refusals > 15
