"""The ledger: everything ever entered into a book, in order, never overwritten, never lost once acknowledged."""

from __future__ import annotations

import json
import os
import re
import sqlite3
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from threading import RLock
from typing import TYPE_CHECKING, Any, Final, Self

from asmade import __version__
from asmade.book import ledger_file, ledger_schema
from asmade.book.ledger_entry import KINDS, Entry, Prepared, prepare, same_body
from asmade.book.ledger_file import explaining
from asmade.book.ledger_open import Opened, open_book
from asmade.book.ledger_schema import Unsound
from asmade.measure.errors import AsmadeError, Contradiction, Damaged, OutOfRange, Refused, Unknown

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from asmade.book.ledger_schema import Fields

__all__ = ["ATTACHMENT_LIMIT", "KINDS", "Conflict", "Entry", "Ledger"]

ATTACHMENT_LIMIT: Final = 64 * 2**20  # bytes: a photograph or a scanned sheet, not a film
_MEDIA_TYPE: Final = re.compile(r"[a-z0-9][a-z0-9.+-]*/[A-Za-z0-9][A-Za-z0-9.+-]*(; ?[a-z-]+=[A-Za-z0-9.-]+)*")


class Conflict(AsmadeError):
    """The book has moved on since the writer last read it; nothing was saved. ``came`` is what came meanwhile."""

    code = "conflict"

    def __init__(self, message: str, *, last: int, came: tuple[Entry, ...] = (), way_out: str = "") -> None:
        """State the conflict; ``last`` is the number of the book's last entry now."""
        self.last = last
        self.came = came
        super().__init__(message, way_out=way_out)


class Ledger:
    """An open book. Safe to share among threads; any number of programs may have the same book open.

    ``append`` and ``attach`` return only when what they wrote is on the disk. See ``docs/data-safety.md``.
    """

    def __init__(self, opened: Opened) -> None:
        """Take over an open, verified book; use `Ledger.open` or `Ledger.create`."""
        self.path = opened.path
        self.write = opened.write
        self._connection = opened.connection
        self._identity = opened.identity
        self._folder = opened.private_folder
        self._lock = RLock()

    @classmethod
    def create(cls, path: str | os.PathLike[str], *, entries: Iterable[Entry] = ()) -> Self:
        """Start a book at ``path`` with ``entries`` in it and open it.

        The book appears whole or not at all. Raises ``Damaged`` if anything has that name already or the folder
        cannot be written, ``Refused`` for an entry that cannot be kept.
        """
        named = Path(path).absolute()
        prepared = [prepare(entry) for entry in entries]
        _refuse_taken(named)
        part = ledger_file.scratch(named)
        try:
            with explaining(named, "start the book"):
                with closing(ledger_file.connect(part, "new")) as connection:
                    connection.execute(f"PRAGMA application_id = {ledger_schema.APPLICATION_ID}")
                    connection.execute("BEGIN IMMEDIATE")
                    now = datetime.now().astimezone().isoformat(timespec="seconds")
                    ledger_schema.lay_out(connection, created=now, program=__version__)
                    _save(connection, prepared)
                    connection.execute(f"PRAGMA user_version = {ledger_schema.FORMAT}")
                    connection.execute("COMMIT")
                    connection.execute("PRAGMA journal_mode = WAL")
                _refuse_taken(named)
                try:
                    ledger_file.put_in_place(part, named)
                except FileExistsError:
                    _refuse_taken(named)
                    raise
        finally:
            ledger_file.discard(part)
        return cls.open(named)

    @classmethod
    def open(cls, path: str | os.PathLike[str], *, write: bool = True) -> Self:
        """Open the book at ``path``; an older format is upgraded first (``write``) or read through a private copy.

        Raises ``Damaged`` and leaves the file as it is when it is missing, empty, foreign, damaged, of a newer
        format, or (``write``) may only be read. With ``write=False`` nothing is ever written to the book, and one
        in a folder that may only be read opens too.
        """
        return cls(open_book(path, write=write))

    def append(self, entries: Sequence[Entry], *, expected_last: int | None = None) -> tuple[int, ...]:
        """Save ``entries`` after the last one, all or none, and return their numbers once they are on the disk.

        An entry whose key is in the book already is not saved again: the first one's number is returned. With
        ``expected_last``, the number of the last entry the writer has read, anything new raises ``Conflict``
        unless all of the entries are in the book already. Raises ``Refused`` for an entry that cannot be kept,
        ``Contradiction`` for a key that belongs to an entry which says otherwise,
        ``Damaged`` when the disk is full, the file may not be written, or another program holds it too long.
        """
        prepared = [prepare(entry) for entry in entries]
        with self._saving() as connection:
            last = self._last()
            known = [_known(connection, fields) for _, fields in prepared]
            if expected_last is not None and expected_last != last and not (known and all(known)):
                raise self._conflict(expected_last, last)
            return _save(connection, prepared)

    def entries(self, *, after: int = 0) -> tuple[Entry, ...]:
        """Return the entries numbered above ``after``, in order; raise ``Damaged`` if one is missing or changed."""
        if after < 0:
            raise OutOfRange("the number of an entry", got=after, allowed="0 or more")
        with self._lock, explaining(self.path, "read"):
            rows = ledger_schema.read(self._connection, after=after)
        bodies = json.loads(f"[{','.join([row[3] for row in rows])}]")  # one call: half the time of one per entry
        return tuple(
            [
                Entry(number, kind, at, body, by, key or "")
                for (number, kind, at, _, by, key, _), body in zip(rows, bodies, strict=True)
            ]
        )

    def last(self) -> int:
        """Return the number of the last entry, 0 for a book without entries."""
        with self._lock, explaining(self.path, "read"):
            return self._last()

    def chain(self, number: int) -> str:
        """Return the checksum of entry ``number``, which covers all entries before it; empty for one not there.

        Two books whose entries of one number have one checksum are the same book up to there.
        """
        with self._lock, explaining(self.path, "read"):
            found = self._connection.execute("SELECT chain FROM entry WHERE number = ?", (number,)).fetchone()
        return "" if found is None else str(found[0])

    def attach(self, name: str, data: bytes, media_type: str) -> str:
        """Keep ``data`` and return its SHA-256 in hexadecimal, by which an attachment entry then names it.

        The same data is kept once, under its first name. Raises ``OutOfRange`` above `ATTACHMENT_LIMIT` bytes.
        """
        from hashlib import sha256  # noqa: PLC0415  # only attachments need it

        if not name or not name.isprintable():
            raise Refused("the name of an attachment", got=name, reason="it is empty or holds control characters")
        if not _MEDIA_TYPE.fullmatch(media_type):
            raise Refused("the media type of an attachment", got=media_type, reason="it is not like image/jpeg")
        if not 0 < len(data) <= ATTACHMENT_LIMIT:
            raise OutOfRange(
                f"attachment {name}, bytes",
                got=len(data),
                allowed=f"1 to {ATTACHMENT_LIMIT}",
                way_out="attach a smaller picture, or keep the file elsewhere and note where",
            )
        digest = sha256(data).hexdigest()
        with self._saving() as connection:
            if not connection.execute("SELECT 1 FROM attachment WHERE digest = ?", (digest,)).fetchone():
                ledger_schema.keep(connection, digest, name, media_type, data)
        return digest

    def attachment(self, digest: str) -> tuple[str, str, bytes]:
        """Return (name, media type, data) of the attachment with this digest, checked against it."""
        from hashlib import sha256  # noqa: PLC0415  # only attachments need it

        with self._lock, explaining(self.path, "read"):
            found = self._connection.execute(
                "SELECT name, media_type, seal, bytes FROM attachment WHERE digest = ?", (digest,)
            ).fetchone()
            if found is None:
                raise Unknown("attachment", got=digest)
            name, media_type, sealed, data = found
            if sha256(data).hexdigest() != digest or ledger_schema.seal(digest, name, media_type) != sealed:
                raise Unsound(f"the attachment {name} is changed")
        return name, media_type, data

    def attachments(self) -> tuple[tuple[str, str, str, int], ...]:
        """Return (digest, name, media type, bytes) of every attachment, by digest, without reading the data."""
        with self._lock, explaining(self.path, "read"):
            found = self._connection.execute(
                "SELECT digest, name, media_type, seal, length(bytes) FROM attachment ORDER BY digest"
            ).fetchall()
            for digest, name, media_type, sealed, _ in found:
                if ledger_schema.seal(digest, name, media_type) != sealed:
                    raise Unsound(f"what is said of the attachment {name} is changed")
        return tuple((digest, name, media_type, size) for digest, name, media_type, _, size in found)

    def verify(self) -> None:
        """Look at every page, entry and attachment; raise ``Damaged`` at the first that is not as it was written."""
        with self._lock, explaining(self.path, "verify"):
            ledger_schema.verify(self._connection, whole=True)
            ledger_schema.read(self._connection)
        for digest, *_ in self.attachments():
            self.attachment(digest)

    def close(self) -> None:
        """Close the book; a second call does nothing."""
        with self._lock:
            self._connection.close()
            if self._folder:
                from shutil import rmtree  # noqa: PLC0415  # only a private copy needs it

                rmtree(self._folder, ignore_errors=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _last(self) -> int:
        last: int = self._connection.execute("SELECT last FROM head").fetchone()[0]
        return last

    @contextmanager
    def _saving(self) -> Iterator[sqlite3.Connection]:
        """Hold the book's one writing lock; commit at the end, or undo everything if anything goes wrong."""
        if not self.write:
            raise Damaged(f"{self.path}: was opened for reading only; nothing was saved", way_out="open it for writing")
        connection = self._connection
        with self._lock, explaining(self.path, "save"):
            try:
                connection.execute("BEGIN IMMEDIATE")
                self._refuse_replaced()
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):
                    if connection.in_transaction:
                        connection.execute("ROLLBACK")
                raise
            self._fold_in()

    def _refuse_replaced(self) -> None:
        """Refuse to write into a file that no longer has the book's name: nobody would find it again."""
        if ledger_file.identity(self.path) != self._identity:
            raise Damaged(
                f"{self.path}: was moved, removed or replaced since it was opened; nothing was saved",
                way_out="open the book again and enter it again",
            )

    def _fold_in(self) -> None:
        """Move what was just saved from the write-ahead file into the book itself, if no one is reading just now.

        It is safe either way; but so the book alone, copied to a stick while a program has it open, is complete, and
        nothing acknowledged depends on the write-ahead file, whose damaged end SQLite would drop without a word.
        """
        connection = self._connection
        with suppress(sqlite3.Error):  # a full disk here takes nothing away
            connection.execute("PRAGMA busy_timeout = 0")
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
        connection.execute(f"PRAGMA busy_timeout = {ledger_file.PATIENCE_S * 1000:.0f}")

    def _conflict(self, expected: int, last: int) -> Conflict:
        if expected > last:
            return Conflict(
                f"{self.path}: entry {expected} should be the last, but the book ends with {last}; nothing was saved",
                last=last,
                way_out="this is perhaps an older copy of the book: see which copy was used last",
            )
        rows = self._connection.execute(
            "SELECT number, kind, at, body, by, key FROM entry WHERE number > ? ORDER BY number", (expected,)
        )
        came = tuple(Entry(n, kind, at, json.loads(body), by, key or "") for n, kind, at, body, by, key in rows)
        shown = ", ".join(
            f"{entry.number} {entry.kind}" + (f" by {entry.by}" if entry.by else "") for entry in came[:5]
        )
        more = f" and {len(came) - 5} more" if len(came) > 5 else ""
        return Conflict(
            f"{self.path}: the book has moved on since entry {expected}: {shown}{more}; nothing was saved",
            last=last,
            came=came,
            way_out="look at what came meanwhile, then enter it again",
        )


def _refuse_taken(path: Path) -> None:
    """Refuse a name that is taken, or beside which an older book's side files would be taken for the new book's."""
    if os.path.lexists(path):
        raise Damaged(f"{path}: is there already; left untouched", way_out="choose another name, or open it")
    for ending in ("-wal", "-journal"):
        stale = ledger_file.beside(path, ending)
        if os.path.lexists(stale):
            raise Damaged(
                f"{stale}: is left from an earlier book of this name and may hold its last entries; left untouched",
                way_out="bring back the book it belongs to, or move it away",
            )


def _save(connection: sqlite3.Connection, prepared: list[Prepared]) -> tuple[int, ...]:
    """Write what is not known yet, in the caller's transaction; return the number of each, known or new."""
    numbers: list[int] = []
    for wanted, fields in prepared:
        number = _known(connection, fields)
        if not number:
            number = ledger_schema.add(connection, fields)
            if wanted not in (0, number):
                raise Refused(
                    "an entry",
                    got=f"number {wanted}",
                    reason=f"the next number is {number}",
                    way_out="leave the number 0: the book gives it",
                )
            if fields[0] == "withdrawn":
                _refuse_bad_withdrawal(json.loads(fields[2]), number)
        numbers.append(number)
    return tuple(numbers)


def _known(connection: sqlite3.Connection, fields: Fields) -> int:
    """Return the number under which the entry's key is in the book, 0 if it is not; refuse a key used for another.

    The time and the writer may differ: a client that got no answer sends again, perhaps later.
    """
    kind, _, body, _, key = fields
    if key is None:
        return 0
    found = connection.execute("SELECT number, kind, body FROM entry WHERE key = ?", (key,)).fetchone()
    if found is None:
        return 0
    number: int = found[0]
    if found[1] != kind or not same_body(found[2], body):
        raise Contradiction(
            f"the key {key!r} belongs to entry {number}, which says otherwise; nothing was saved",
            way_out="give the new entry a key of its own",
        )
    return number


def _refuse_bad_withdrawal(body: dict[str, Any], number: int) -> None:
    entry, why = body.get("entry"), body.get("why")
    if type(entry) is not int or not 0 < entry < number or not isinstance(why, str):
        raise Refused(
            "a withdrawal",
            got=body,
            reason=f"it must name an entry from 1 to {number - 1} and say why",
            way_out='{"entry": 12, "why": "misread the dial"}',
        )
