"""Opening a book, folding it, and saving to it: what every verb does first and last.

A change is folded and compiled before it is written: what would make the book unreadable is refused with its reason,
and nothing is saved. With ``what_if`` everything is done but the saving.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

from asmade.book.fold import fold
from asmade.book.ledger import Conflict, Ledger
from asmade.book.ledger_entry import Entry
from asmade.book.model import Build
from asmade.book.text import Draft
from asmade.measure.errors import Damaged

Path_ = str | os.PathLike[str]
TRIES: Final = 20


@dataclass(frozen=True, slots=True)
class Opened:
    """A book as read: its build, its live entries, and the number of its last."""

    path: Path
    build: Build
    entries: tuple[Entry, ...]

    @property
    def last(self) -> int:
        """Number of the last entry."""
        return self.entries[-1].number if self.entries else 0


@dataclass(frozen=True, slots=True)
class Saved:
    """What a writing verb did: the numbers of its entries (none with ``what_if``) and the build as it now stands."""

    entries: tuple[int, ...]
    what_if: bool
    build: Build


def now() -> str:
    """Local time with offset, to the second."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def read(path: Path_) -> Opened:
    """Read a book without writing to it."""
    with Ledger.open(path, write=False) as ledger:
        entries = ledger.entries()
    return Opened(Path(path), fold(entries), entries)


def read_build(path: Path_) -> Build:
    """Read a book and fold it."""
    return read(path).build


def to_entries(drafts: Sequence[Draft], *, by: str, first: int = 0) -> tuple[Entry, ...]:
    """Make entries of drafts: a draft's own time and writer stand; ``first`` numbers them for a trial fold."""
    at = now()
    return tuple(
        Entry(first + k if first else 0, draft.kind, _whole_time(draft.at) or at, dict(draft.body), draft.by or by)
        for k, draft in enumerate(drafts)
    )


def _whole_time(at: str) -> str:
    """A time as written in a text form, made whole: a date alone means its midnight, no offset means here."""
    if not at:
        return ""
    found = datetime.fromisoformat(at)
    return found.astimezone().isoformat(timespec="seconds") if found.tzinfo is None else found.isoformat()


def trial(opened: Opened, drafts: Sequence[Draft], *, by: str = "hand") -> Build:
    """The build as it would stand with ``drafts`` added; raises if it could not be read."""
    from asmade.reckon.system import compile_system  # noqa: PLC0415  # numpy is wanted only once something is written

    build = fold((*opened.entries, *to_entries(drafts, by=by, first=opened.last + 1)))
    if any(draft.kind in ("design", "shop", "drawn", "chosen", "withdrawn") for draft in drafts):
        compile_system(build)
    return build


def save(
    opened: Opened,
    drafts: Sequence[Draft],
    *,
    by: str = "hand",
    what_if: bool = False,
    key: str = "",
    stand_on_read: bool = False,
) -> Saved:
    """Add drafts to a book, all or none, after a trial of the whole.

    Should another program have saved meanwhile, the trial is made again on what is there now; with ``stand_on_read``
    (drafts that rest on all that was read, as a choice of sizes does) `Conflict` is raised instead.
    """
    build = trial(opened, drafts, by=by)
    if what_if:
        return Saved((), what_if, build)
    for _ in range(TRIES):
        try:
            return _append(opened, drafts, build, by, key)
        except Conflict:
            if stand_on_read:
                raise
            opened = read(opened.path)
            build = trial(opened, drafts, by=by)
    return _append(opened, drafts, build, by, key)


def _append(opened: Opened, drafts: Sequence[Draft], build: Build, by: str, key: str) -> Saved:
    entries = to_entries(drafts, by=by)
    if key:
        entries = tuple(replace(e, key=f"{key}.{k}" if len(entries) > 1 else key) for k, e in enumerate(entries))
    with Ledger.open(opened.path) as ledger:
        numbers = ledger.append(entries, expected_last=opened.last)
    return Saved(numbers, what_if=False, build=build)


def start(path: Path_, drafts: Sequence[Draft], *, by: str = "hand", what_if: bool = False) -> Saved:
    """Start a new book with drafts in it; an existing file is refused untouched."""
    if Path(path).exists():
        raise Damaged(f"{path}: there is a file of that name already", way_out="choose another name, or open that one")
    numbered = to_entries(drafts, by=by, first=1)
    build = fold(numbered)
    from asmade.reckon.system import compile_system  # noqa: PLC0415

    compile_system(build)
    if what_if:
        return Saved((), what_if, build)
    with Ledger.create(path, entries=[replace(entry, number=0) for entry in numbered]) as ledger:
        return Saved(tuple(e.number for e in ledger.entries()), what_if, build)
