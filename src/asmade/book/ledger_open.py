"""Opening a book: what must hold before the first entry is read or written, and the ways round a locked folder."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from asmade.book import ledger_file, ledger_schema
from asmade.book.ledger_file import explaining
from asmade.book.ledger_schema import FORMAT, Unsound
from asmade.measure.errors import Damaged

_WHOLE_CHECK_LIMIT: Final = 64 * 2**20  # bytes of file up to which every page is looked at on opening (about 40 ms)


@dataclass(frozen=True, slots=True)
class Opened:
    """An open, verified book. ``private_folder`` holds a copy that is removed on closing, or is empty."""

    path: Path
    connection: sqlite3.Connection
    write: bool
    identity: tuple[int, int] | None
    private_folder: str = ""


def open_book(path: str | os.PathLike[str], *, write: bool) -> Opened:
    """Open the book at ``path``, upgraded if older; see `Ledger.open`."""
    real = ledger_file.locate(path)
    writable = os.access(real, os.W_OK) and os.access(real.parent, os.W_OK)
    if write and not writable:  # asked beforehand: SQLite would leave side files when it finds out later
        raise Damaged(
            f"{real}: the file or its folder may only be read; left untouched",
            way_out="give yourself permission to write there, copy the book to a folder of your own, or only read it",
        )
    for _ in range(3):  # an upgrade or a replacement by another program may come between two looks
        before = ledger_file.identity(real)
        found = ledger_file.recognise(real)
        if found is not None and found < FORMAT:
            if not write:
                return _open_copy(real)
            _upgrade(real)
            continue
        if writable:
            opened = _open_in_place(real, write=write)
        elif ledger_file.waiting(real):  # the last entries are in the side file, which needs a folder to write
            opened = _open_copy(real)
        else:
            opened = _open_alone(real)
        if opened.identity == before:
            return opened
        opened.connection.close()
    raise Damaged(f"{real}: is being replaced again and again by another program", way_out="try again later")


def _open_in_place(real: Path, *, write: bool) -> Opened:
    doing = "open the book" if write else "read the book"
    with explaining(real, doing):
        if ledger_file.waiting(real):
            # Looked at first by a connection that cannot fold the write-ahead file into a book found damaged.
            least = _last_alone(real)
            with closing(ledger_file.connect(real, "read")) as connection:
                _verify(connection, real, least=least)
                _refuse_broken_wal(real)
        connection = ledger_file.connect(real, "write")
        try:
            _verify(connection, real)
            if write:
                # What the permissions did not tell would otherwise show itself at the first saving.
                connection.execute("BEGIN IMMEDIATE")
                connection.execute("ROLLBACK")
                connection.execute("PRAGMA journal_mode = WAL")
            else:
                connection.execute("PRAGMA query_only = ON")
        except BaseException:
            connection.close()
            raise
    return Opened(real, connection, write, ledger_file.identity(real))


def _open_alone(real: Path) -> Opened:
    """Read a book in a folder this user may not write, where SQLite could not put its side files."""
    with explaining(real, "read the book"):
        connection = ledger_file.connect(real, "alone")
        try:
            _verify(connection, real)
        except BaseException:
            connection.close()
            raise
    return Opened(real, connection, write=False, identity=ledger_file.identity(real))


def _open_copy(real: Path) -> Opened:
    """Read a private copy of the book, upgraded if need be, in a folder that is removed on closing."""
    import shutil  # noqa: PLC0415  # seldom needed, and quick commands count milliseconds
    import tempfile  # noqa: PLC0415  # the same

    folder = tempfile.mkdtemp(prefix="asmade-")
    try:
        with explaining(real, "read the book"):
            copy = Path(folder, real.name)
            for ending in ("", "-wal"):
                with suppress(FileNotFoundError):
                    shutil.copyfile(ledger_file.beside(real, ending), ledger_file.beside(copy, ending))
            _refuse_broken_wal(copy)
            found = ledger_file.recognise(copy)
            if found is not None and found < FORMAT:
                _upgrade(copy)
            connection = ledger_file.connect(copy, "write")
            try:
                _verify(connection, copy)
                connection.execute("PRAGMA query_only = ON")
            except BaseException:
                connection.close()
                raise
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return Opened(real, connection, write=False, identity=ledger_file.identity(real), private_folder=folder)


def _refuse_broken_wal(path: Path) -> None:
    from asmade.book.ledger_wal import refuse_broken  # noqa: PLC0415  # needed after a crash only

    refuse_broken(ledger_file.beside(path, "-wal"))


def _upgrade(path: Path) -> None:
    from asmade.book.ledger_upgrade import upgrade  # noqa: PLC0415  # needed once in a book's years

    upgrade(path)


def _last_alone(path: Path) -> int:
    """Return the last number that the main file by itself states; 0 if it cannot be read just now."""
    try:
        with closing(ledger_file.connect(path, "alone")) as connection:
            last: int = connection.execute("SELECT last FROM head").fetchone()[0]
            return last
    except (sqlite3.Error, TypeError):
        return 0


def _verify(connection: sqlite3.Connection, path: Path, *, least: int = 0) -> None:
    page_size = connection.execute("PRAGMA page_size").fetchone()[0]
    # SQLite reads a cut last page as if zeros followed; while pages wait in the write-ahead file it may be cut
    if path.stat().st_size % page_size and not ledger_file.waiting(path) and path.stat().st_size % page_size:
        raise Unsound("its end is cut off")
    whole = path.stat().st_size <= _WHOLE_CHECK_LIMIT
    ledger_schema.verify(connection, whole=whole)
    last = connection.execute("SELECT last FROM head").fetchone()[0]
    if last < least:
        raise Unsound(f"its write-ahead file ends with entry {last}, before entry {least} in the book itself")
