"""Books of older formats: one step per format, done on a copy, put in the book's place only when all is well."""

from __future__ import annotations

import json
import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

from asmade import __version__
from asmade.book import ledger_schema
from asmade.book.ledger_entry import json_text
from asmade.book.ledger_file import (
    beside,
    connect,
    discard,
    explaining,
    identity,
    lock_out_others,
    scratch,
    settle,
    waiting,
)
from asmade.book.ledger_schema import FORMAT, Unsound
from asmade.measure.errors import Damaged

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class Step:
    """The way from the format before ``to_format`` to it; ``apply`` runs inside one transaction on a copy."""

    to_format: int
    what: str
    apply: Callable[[sqlite3.Connection], None]


def _chain_the_entries(connection: sqlite3.Connection) -> None:
    """Format 0, the trial form, had no checksums, no keys, no counts and no triggers; bodies were any JSON text."""
    for table in ("meta", "entry", "attachment"):
        connection.execute(f"ALTER TABLE {table} RENAME TO old_{table}")
    try:
        created = connection.execute("SELECT value FROM old_meta WHERE name = 'created'").fetchone()[0]
        program = connection.execute("SELECT value FROM old_meta WHERE name = 'program'").fetchone()[0]
        old = connection.execute("SELECT number, kind, at, body, by FROM old_entry ORDER BY number").fetchall()
        rows: list[ledger_schema.Fields] = [
            (kind, at, json_text(json.loads(body)), by, None) for _, kind, at, body, by in old
        ]
    except (TypeError, ValueError) as error:
        raise Unsound(f"an entry of the older book cannot be read: {error}") from error
    ledger_schema.lay_out(connection, created=created, program=program)
    # Withdrawals name entries by number, so a gap cannot be closed up.
    if [number for number, *_ in old] != [ledger_schema.add(connection, row) for row in rows]:
        raise Unsound("the entries of the older book are not numbered 1, 2, 3...: some are missing")
    for attached in connection.execute("SELECT digest, name, media_type, bytes FROM old_attachment"):
        ledger_schema.keep(connection, *attached)
    for table in ("meta", "entry", "attachment"):
        connection.execute(f"DROP TABLE old_{table}")


# A step keeps working on books of its own time: when the tables change again, the step above keeps a copy of the
# tables it leads to, and the new step makes the new ones. After the last step the tables must be those of `SCHEMA`.
STEPS: Final[tuple[Step, ...]] = (
    Step(1, "entries chained by checksum, counted, and guarded against change", _chain_the_entries),
)


def upgraded_copy(source: sqlite3.Connection, path: Path, copy: Path) -> None:
    """Write to ``copy`` what ``source`` (the book at ``path``) holds, in the newest format, and verify it."""
    with explaining(path, "upgrade"), closing(connect(copy, "new")) as made:
        source.backup(made)
        if (report := made.execute("PRAGMA integrity_check").fetchone()[0]) != "ok":
            raise Unsound(report)
        made.execute("PRAGMA journal_mode = DELETE")
        began = made.execute("PRAGMA user_version").fetchone()[0]
        count = made.execute("SELECT count(*) FROM entry").fetchone()
        for step in STEPS:
            if step.to_format > began:
                _take(made, step)
        ledger_schema.verify(made, whole=True)
        ledger_schema.read(made)
        if made.execute("SELECT count(*) FROM entry").fetchone() != count:
            raise Unsound("the upgraded copy does not hold all entries")
        made.execute("PRAGMA journal_mode = WAL")


def _take(connection: sqlite3.Connection, step: Step) -> None:
    connection.execute("BEGIN IMMEDIATE")
    try:
        step.apply(connection)
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        connection.execute("UPDATE meta SET value = ? WHERE name = 'format'", (str(step.to_format),))
        connection.execute("INSERT INTO upgrade VALUES (?, ?, ?, ?)", (step.to_format, now, __version__, step.what))
        connection.execute(f"PRAGMA user_version = {step.to_format:d}")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def upgrade(path: Path) -> Path | None:
    """Bring the book at ``path`` to the newest format and return where the old one is kept.

    None means that another program has upgraded it meanwhile. Nothing is touched unless the whole upgrade has
    gone well on a copy. While it runs nobody else may have the book open: what they wrote would go to the old one.
    """
    copy = scratch(path)
    try:
        if waiting(path):  # a rehearsal that cannot fold the write-ahead file into a book that turns out damaged
            with explaining(path, "upgrade"), closing(connect(path, "read")) as source:
                upgraded_copy(source, path, copy)
            discard(copy)
        was = identity(path)
        with explaining(path, "upgrade"), closing(lock_out_others(path)) as source:
            if identity(path) != was or source.execute("PRAGMA user_version").fetchone()[0] >= FORMAT:
                return None  # what is locked here may be the old book, which another program has just put aside
            upgraded_copy(source, path, copy)
            # the old book must rest in one file: a write-ahead file left here would be taken for the new book's
            if source.execute("PRAGMA journal_mode").fetchone()[0] == "wal" and (
                source.execute("PRAGMA journal_mode = DELETE").fetchone()[0] != "delete"
            ):
                raise Damaged(f"{path}: is open elsewhere and cannot be upgraded now", way_out="close it there first")
            if identity(path) != was:
                raise Damaged(f"{path}: was moved or replaced meanwhile; left untouched", way_out="open it again")
            kept = _keep(source, path)
            copy.replace(path)
            settle(path.parent)
            return kept
    finally:
        discard(copy)


def _keep(source: sqlite3.Connection, path: Path) -> Path:
    """Give the old book a second name beside the first; the first is then free to be taken over."""
    first = kept = beside(path, f".before-format-{FORMAT}")
    turn = 1
    while os.path.lexists(kept):
        if identity(kept) == identity(path):
            return kept  # an earlier upgrade was cut short just here
        turn += 1
        kept = beside(first, f".{turn}")
    try:
        os.link(path, kept)
    except OSError:  # a file system without links, such as a memory stick's
        part = scratch(kept)
        try:
            with closing(connect(part, "new")) as made:
                source.backup(made)
            part.rename(kept)
        finally:
            discard(part)
    settle(kept.parent)
    return kept
