"""What a book file holds inside: its tables, its marks, and the checksum that chains one entry to the next."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager, suppress
from hashlib import blake2b
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

APPLICATION_ID: Final = 0x61736D64  # "asmd" in ASCII; offset 68 of the file, where `file` and others look
FORMAT: Final = 1  # kept as PRAGMA user_version, offset 60 of the file, and again in the table meta

# Rows are never changed or removed; the triggers hold even against another program that opens the file.
# `head` says how many entries and attachments there must be, so that lost rows at the end are noticed too.
# A book whose tables read otherwise, to the letter, is refused as damaged. A blank line parts the statements.
SCHEMA: Final = tuple(
    """
CREATE TABLE meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT

CREATE TABLE entry (
    number INTEGER PRIMARY KEY, kind TEXT NOT NULL, at TEXT NOT NULL, body TEXT NOT NULL,
    by TEXT NOT NULL, key TEXT UNIQUE, chain TEXT NOT NULL
) STRICT

CREATE TABLE attachment (
    digest TEXT PRIMARY KEY, name TEXT NOT NULL, media_type TEXT NOT NULL, seal TEXT NOT NULL, bytes BLOB NOT NULL
) STRICT

CREATE TABLE head (
    one INTEGER PRIMARY KEY CHECK (one = 1), last INTEGER NOT NULL, chain TEXT NOT NULL, attachments INTEGER NOT NULL
) STRICT

CREATE TABLE upgrade (
    to_format INTEGER PRIMARY KEY, at TEXT NOT NULL, program TEXT NOT NULL, what TEXT NOT NULL
) STRICT

CREATE TRIGGER entry_in_order BEFORE INSERT ON entry WHEN NEW.number <> (SELECT last + 1 FROM head)
BEGIN SELECT RAISE(ABORT, 'entries are numbered in order'); END

CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'an entry is never changed: withdraw it'); END

CREATE TRIGGER entry_kept BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'an entry is never removed: withdraw it'); END

CREATE TRIGGER attachment_stays BEFORE UPDATE ON attachment
BEGIN SELECT RAISE(ABORT, 'an attachment is never changed'); END

CREATE TRIGGER attachment_kept BEFORE DELETE ON attachment
BEGIN SELECT RAISE(ABORT, 'an attachment is never removed'); END

CREATE TRIGGER head_ascends BEFORE UPDATE ON head
WHEN NEW.last < OLD.last OR NEW.attachments < OLD.attachments
BEGIN SELECT RAISE(ABORT, 'the count of entries never falls'); END

CREATE TRIGGER head_kept BEFORE DELETE ON head
BEGIN SELECT RAISE(ABORT, 'the count of entries stays'); END

CREATE TRIGGER meta_stays BEFORE UPDATE ON meta WHEN OLD.name <> 'format' OR NEW.name <> 'format'
BEGIN SELECT RAISE(ABORT, 'only the format moves, by an upgrade'); END

CREATE TRIGGER meta_kept BEFORE DELETE ON meta
BEGIN SELECT RAISE(ABORT, 'what the book is stays'); END
""".strip().split("\n\n")
)

Fields = tuple[str, str, str, str, str | None]  # kind, at, body (JSON text), by, key
Row = tuple[int, str, str, str, str, str | None, str]  # number, kind, at, body (JSON text), by, key, chain


class Unsound(Exception):
    """The inside of a book is not as it was written; `ledger_file.explaining` adds the path and the way out."""


def link(previous: str, number: int, kind: str, at: str, body: str, by: str, key: str | None) -> str:
    """Return the checksum of an entry, which covers the checksum of the entry before it (BLAKE2b, 128 bits).

    The separator is a control character that none of the fields may hold, so no two entries run together.
    """
    text = f"{previous}\x1f{number}\x1f{kind}\x1f{at}\x1f{body}\x1f{by}\x1f{key or ''}"
    return blake2b(text.encode(), digest_size=16).hexdigest()


def seal(digest: str, name: str, media_type: str) -> str:
    """Return the checksum of what is said of an attachment; the data has its own, the digest."""
    return blake2b(f"{digest}\x1f{name}\x1f{media_type}".encode(), digest_size=16).hexdigest()


def keep(connection: sqlite3.Connection, digest: str, name: str, media_type: str, data: bytes) -> None:
    """Store an attachment that is not there yet, in the caller's transaction."""
    sealed = seal(digest, name, media_type)
    connection.execute("INSERT INTO attachment VALUES (?, ?, ?, ?, ?)", (digest, name, media_type, sealed, data))
    connection.execute("UPDATE head SET attachments = attachments + 1")


def lay_out(connection: sqlite3.Connection, *, created: str, program: str) -> None:
    """Make the tables of an empty book inside the caller's transaction."""
    for statement in SCHEMA:
        connection.execute(statement)
    connection.execute("INSERT INTO head VALUES (1, 0, '', 0)")
    connection.executemany(
        "INSERT INTO meta VALUES (?, ?)", [("format", str(FORMAT)), ("created", created), ("program", program)]
    )


def add(connection: sqlite3.Connection, fields: Fields) -> int:
    """Write an entry after the last one, in the caller's transaction; return its number."""
    last, chain, stored = connection.execute(
        "SELECT last, head.chain, entry.chain FROM head LEFT JOIN entry ON number = last"
    ).fetchone()
    if last and stored != chain:
        raise Unsound(f"entry {last}, the last one, is missing or changed")
    number: int = last + 1
    chain = link(chain, number, *fields)
    connection.execute("INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?, ?)", (number, *fields, chain))
    connection.execute("UPDATE head SET last = ?, chain = ?", (number, chain))
    return number


@contextmanager
def snapshot(connection: sqlite3.Connection) -> Iterator[None]:
    """See the book inside as it was at the first look, whatever others write meanwhile."""
    connection.execute("BEGIN")
    try:
        yield
    finally:
        with suppress(sqlite3.Error):  # SQLite may have ended it on an error, which is the one to tell of
            connection.execute("ROLLBACK")


def read(connection: sqlite3.Connection, *, after: int = 0) -> list[Row]:
    """Read the entries after number ``after`` in one snapshot; raise ``Unsound`` if one is missing or changed."""
    with snapshot(connection):
        last, final = connection.execute("SELECT last, chain FROM head").fetchone()
        start = connection.execute("SELECT chain FROM entry WHERE number = ?", (after,)).fetchone()
        rows: list[Row] = connection.execute(
            "SELECT * FROM entry WHERE number > ? ORDER BY number", (after,)
        ).fetchall()
    if after > last:
        return []
    chain = "" if start is None else start[0]
    for expected, (number, kind, at, body, by, key, stored) in enumerate(rows, after + 1):
        chain = link(chain, number, kind, at, body, by, key)
        if number != expected or chain != stored:
            raise Unsound(f"entry {expected} is missing or changed: its checksum does not follow from the one before")
    if after + len(rows) != last or chain != final:
        raise Unsound(f"the book should end with entry {last} but ends with {after + len(rows)}")
    return rows


def verify(connection: sqlite3.Connection, *, whole: bool) -> None:
    """Raise ``Unsound`` unless the tables are those of this format and their pages are sound, in one snapshot.

    ``whole`` looks at every page of the file; otherwise the pages of attachments are left out.
    """
    with snapshot(connection):
        _verify(connection, whole=whole)


def _verify(connection: sqlite3.Connection, *, whole: bool) -> None:
    here = dict(connection.execute("SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL"))
    wanted = {statement.split()[2]: statement for statement in SCHEMA}
    if here != wanted:
        odd = sorted(name for name in here.keys() | wanted.keys() if here.get(name) != wanted.get(name))
        raise Unsound(f"its tables are not those of format {FORMAT}: {', '.join(odd)}")
    for table in ("",) if whole else ("(meta)", "(entry)", "(head)", "(upgrade)"):
        report = [text for (text,) in connection.execute(f"PRAGMA integrity_check{table}")]
        if report != ["ok"]:
            raise Unsound(f"its pages are damaged: {report[0]}")
    stated = connection.execute("SELECT value FROM meta WHERE name = 'format'").fetchone()
    if stated != (str(FORMAT),):
        raise Unsound(f"it says format {FORMAT} at its start and {stated} inside")
    head = connection.execute("SELECT last, chain, attachments FROM head").fetchone()
    if head is None:
        raise Unsound("the count of its entries is missing")
    count, last = connection.execute("SELECT count(*), ifnull(max(number), 0) FROM entry").fetchone()
    chain = connection.execute("SELECT chain FROM entry WHERE number = ?", (last,)).fetchone() or ("",)
    attached = connection.execute("SELECT count(*) FROM attachment").fetchone()[0]
    if (count, last, chain[0], attached) != (head[0], head[0], head[1], head[2]):
        raise Unsound(
            f"it should hold {head[0]} entries and {head[2]} attachments but holds {count} and {attached},"
            " or the last entry is changed"
        )
