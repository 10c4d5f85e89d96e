"""The book as a file: found, told apart from other files, opened, and put in place whole or not at all."""

from __future__ import annotations

import errno
import os
import sqlite3
import time
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from asmade.book.ledger_schema import APPLICATION_ID, FORMAT, Unsound
from asmade.measure.errors import Damaged

if TYPE_CHECKING:
    from collections.abc import Iterator

PATIENCE_S: Final = 10.0  # how long to wait while another program writes
_OLDEST_SQLITE: Final = (3, 37, 0)  # strict tables

Mode = Literal["new", "write", "read", "alone"]
_MODES: Final = {
    "new": "mode=rwc",
    "write": "mode=rw",
    "read": "mode=ro",
    "alone": "mode=ro&immutable=1",
}


def locate(path: str | os.PathLike[str]) -> Path:
    """Return the real file behind ``path`` (links followed); raise ``Damaged`` if there is no such file to open."""
    named = Path(path)
    try:
        real = Path(os.path.realpath(named, strict=True))
        size = real.stat().st_size
    except FileNotFoundError:
        what = "is a link to a file that is not there" if named.is_symlink() else "there is no such file"
        raise Damaged(f"{named}: {what}", way_out="check the name and the folder, or start a new book") from None
    except OSError as error:
        if error.errno == errno.ELOOP:
            raise Damaged(
                f"{named}: is a link that leads back to itself", way_out="remove the link, name the book's real file"
            ) from None
        raise Damaged(
            f"{named}: cannot be reached: {error.strerror}", way_out="check the path and its permissions"
        ) from None
    if real.is_dir():
        raise Damaged(f"{named}: is a folder, not a book", way_out="name the file inside it that ends in .asmade")
    if not real.is_file():
        raise Damaged(f"{named}: is not a plain file", way_out="name a book's own file")
    if size == 0:
        raise Damaged(
            f"{named}: is empty (0 bytes) and so no book; left untouched",
            way_out="restore the last good copy, or move the empty file away and start a new book",
        )
    return real


def connect(path: Path, mode: Mode) -> sqlite3.Connection:
    """Open ``path`` with the settings every connection to a book has.

    ``alone`` reads the main file by itself, without locks and without looking at the write-ahead file.
    """
    if sqlite3.sqlite_version_info < _OLDEST_SQLITE:
        raise Damaged(
            f"the SQLite {sqlite3.sqlite_version} of this Python is too old for a book (3.37 or later is needed)",
            way_out="install a newer Python",
        )
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?{_MODES[mode]}",
        uri=True,
        timeout=PATIENCE_S,
        isolation_level=None,  # transactions are begun and ended by name
        check_same_thread=False,  # Ledger has its own lock
    )
    try:
        for setting in ("synchronous = FULL", "foreign_keys = ON", "trusted_schema = OFF", "cell_size_check = ON"):
            connection.execute(f"PRAGMA {setting}")
    except BaseException:
        connection.close()
        raise
    return connection


def lock_out_others(path: Path) -> sqlite3.Connection:
    """Open ``path`` so that nobody else can, until the connection is closed; wait `PATIENCE_S` for them to leave.

    Two programs that do this at once would each keep the other from going further; so each lets go again after a
    moment, unlike the other's, and tries anew.
    """
    until = time.monotonic() + PATIENCE_S
    while True:
        connection = connect(path, "write")
        try:
            connection.execute("PRAGMA locking_mode = EXCLUSIVE")
            connection.execute(f"PRAGMA busy_timeout = {5 + os.urandom(1)[0] // 4}")  # milliseconds
            connection.execute("BEGIN EXCLUSIVE")
            connection.execute("COMMIT")  # the lock itself stays
        except sqlite3.OperationalError as error:
            connection.close()
            if _primary(error) != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(os.urandom(1)[0] / 5000)
        except BaseException:
            connection.close()
            raise
        else:
            return connection


def recognise(path: Path) -> int | None:
    """Return the format of the book at ``path`` from its main file alone, touching nothing; None if unclear now.

    The marks at the start of the file never change, so a foreign or newer file is refused before SQLite has put
    any lock or side file beside it. Read through SQLite and not by ``open``: closing a second handle on a file
    would drop the locks this process holds on it (POSIX advisory locks).
    """
    try:
        with closing(connect(path, "alone")) as connection:
            mark = connection.execute("PRAGMA application_id").fetchone()[0]
            stated: int = connection.execute("PRAGMA user_version").fetchone()[0]
    except UnicodeDecodeError:
        return None  # the damage reaches into SQLite's own message: see `explaining`
    except sqlite3.DatabaseError as error:
        if _primary(error) in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CANTOPEN):
            raise explained(error, path, "open") from error
        return None  # cut short, or being written by another program at this moment: the locked look will tell
    if mark != APPLICATION_ID:
        raise Damaged(
            f"{path}: is a database of another program, not a book of asmade; left untouched",
            way_out="name a file that asmade made",
        )
    if stated > FORMAT:
        raise Damaged(
            f"{path}: has format {stated}, newer than format {FORMAT} which this asmade knows; left untouched",
            way_out="open it with a newer asmade",
        )
    if stated < 0:
        raise Damaged(f"{path}: has the impossible format {stated}: its first page is damaged", way_out=_RESTORE)
    return stated


def waiting(path: Path) -> bool:
    """Tell whether a write-ahead file with something in it lies beside the book (open elsewhere, or after a crash)."""
    try:
        return beside(path, "-wal").stat().st_size > 0
    except OSError:
        return False


def beside(path: Path, ending: str) -> Path:
    """Return the path of a file that SQLite keeps beside the book, such as its write-ahead file (``-wal``)."""
    return path.with_name(path.name + ending)


def scratch(path: Path) -> Path:
    """Return a new name in the folder of ``path`` for a file that is not yet, or never, the book itself."""
    return path.with_name(f".{path.name}.{os.getpid()}-{os.urandom(4).hex()}.unfinished")


def discard(path: Path) -> None:
    """Remove an unfinished file and whatever SQLite kept beside it."""
    for ending in ("", "-wal", "-shm", "-journal"):
        with suppress(OSError):
            beside(path, ending).unlink()


def put_in_place(finished: Path, path: Path) -> None:
    """Give ``finished`` the name ``path`` in one step; raise ``FileExistsError`` if something has that name."""
    try:
        os.link(finished, path)  # refuses an existing name, which a rename on POSIX does not
    except FileExistsError:
        raise
    except OSError:  # a file system without links, such as a memory stick's
        if os.path.lexists(path):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
        finished.rename(path)
    else:
        finished.unlink()
    settle(path.parent)


def settle(folder: Path) -> None:
    """Have the disk keep the names in ``folder`` as they are now (a no-op where folders cannot be synced)."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def identity(path: Path) -> tuple[int, int] | None:
    """Return what tells the file at ``path`` from any other (device, file number); None if it is not there."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


@contextmanager
def explaining(path: Path, doing: str) -> Iterator[None]:
    """Turn any error of SQLite or of the file system inside into a ``Damaged`` that says what it means here."""
    try:
        yield
    except sqlite3.ProgrammingError:
        raise  # a closed ledger or the like: a mistake of the program, not of the file
    except sqlite3.Error as error:
        raise explained(error, path, doing) from error
    except (Unsound, UnicodeDecodeError) as error:  # SQLite's message on a damaged table quotes it as it is
        raise Damaged(f"{path}: could not {doing}: the file is damaged: {error}", way_out=_RESTORE) from error
    except OSError as error:
        raise Damaged(
            f"{path}: could not {doing}: {error.strerror or error}; nothing was changed",
            way_out="check the folder's permissions and its free space",
        ) from error


def explained(error: sqlite3.Error, path: Path, doing: str) -> Damaged:
    """Say in words what ``error`` means for the book at ``path`` while ``doing`` something with it."""
    kept = "nothing of this was saved; everything saved before is safe" if doing == "save" else "left untouched"
    words = {
        sqlite3.SQLITE_FULL: ("the disk is full", "free some space and enter it again"),
        sqlite3.SQLITE_IOERR: (
            "the disk refused to read or write",
            "check the disk, its free space and any size limit; copy the book to another disk",
        ),
        sqlite3.SQLITE_READONLY: (
            "the file or its folder may only be read",
            "give yourself permission to write there, or copy the book to a folder of your own",
        ),
        sqlite3.SQLITE_CANTOPEN: (
            "the file or its folder may not be opened",
            "give yourself permission to read and write there, or copy the book to a folder of your own",
        ),
        sqlite3.SQLITE_PERM: ("the file may not be opened", "check its permissions"),
        sqlite3.SQLITE_BUSY: (
            f"another program has kept it locked for {PATIENCE_S:g} seconds",
            "close it there, or wait, and enter it again",
        ),
        sqlite3.SQLITE_LOCKED: ("it is locked", "wait, and enter it again"),
        sqlite3.SQLITE_NOTADB: (
            "is not a book of asmade, or its first page is damaged",
            "name a file that asmade made, or restore the last good copy",
        ),
        sqlite3.SQLITE_CORRUPT: ("the file is damaged", _RESTORE),
    }
    what, way_out = words.get(_primary(error), (f"SQLite says: {error}", _RESTORE))
    moved = getattr(error, "sqlite_errorcode", 0) == sqlite3.SQLITE_READONLY_DBMOVED
    if moved:
        what, way_out = "the file was moved or replaced while it was open", "open it again and enter it again"
    return Damaged(f"{path}: could not {doing}: {what}; {kept}", way_out=way_out)


def _primary(error: sqlite3.Error) -> int:
    """Return SQLite's primary result code (the low byte), 0 if the error has none."""
    code: int = getattr(error, "sqlite_errorcode", 0)
    return code & 0xFF


_RESTORE: Final = "restore the last good copy of the book; keep this file as it is until then"


Stamp = tuple[tuple[int, int, int], ...]
"""Which files a book is in, how long they are, when they were last written."""
SETTLED_NS: Final = 200_000_000
"""Younger than this, a time of writing may still stand for two writings: clocks of files tick some milliseconds."""


def stamp_of(path: Path) -> Stamp | None:
    """Return what tells, without opening it, that nothing was written to a book; None where it cannot be told yet.

    Equal stamps of one path mean that no entry came between: every saving writes the book or its write-ahead file.
    """
    found = []
    now = time.time_ns()
    real = Path(os.path.realpath(path))
    for ending in ("", "-wal"):
        try:
            at = beside(real, ending).stat() if ending else real.stat()
        except OSError:
            if not ending:
                return None
            continue
        if now - at.st_mtime_ns < SETTLED_NS:
            return None
        found.append((at.st_ino, at.st_size, at.st_mtime_ns))
    return tuple(found)
