"""Opening a book, folding it, and saving to it: what every verb does first and last.

A change is folded and compiled before it is written: what would make the book unreadable is refused with its reason,
and nothing is saved. With ``what_if`` everything is done but the saving.
"""

from __future__ import annotations

import os
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from pathlib import Path
from threading import RLock
from typing import TYPE_CHECKING, Final

from asmade.book.fold import extend, fold, follows
from asmade.book.ledger import Conflict, Ledger
from asmade.book.ledger_entry import Entry
from asmade.book.ledger_file import Stamp, stamp_of
from asmade.book.model import Build
from asmade.book.text import Draft
from asmade.measure.errors import Damaged

if TYPE_CHECKING:
    from asmade.reckon.found import Findings
    from asmade.reckon.system import System
    from asmade.reckon.values import Values

Path_ = str | os.PathLike[str]
TRIES: Final = 20
BOOKS: Final = 2
"""Books kept as last read: who comes back to one needs only what was entered since."""
SEATS: Final = ("moved", "piece", "scrapped")


@dataclass(frozen=True, eq=False)
class Opened:
    """A book as read, or as it would stand with drafts added: its build, its live entries, the number of its last.

    What is worked out of it is worked out once, when first asked for; of a book that another was read or tried from,
    only as far as something has changed.
    """

    path: Path
    build: Build
    entries: tuple[Entry, ...]
    chain: str = ""
    """Checksum of the last entry; empty for a book that is only tried."""
    _held: dict[str, Opened] = field(default_factory=dict, repr=False)

    @property
    def last(self) -> int:
        """Number of the last entry."""
        return self.entries[-1].number if self.entries else 0

    @cached_property
    def system(self) -> System:
        """Its sizes and requirements; raises where a relation cannot be read."""
        from asmade.reckon.system import compile_system  # noqa: PLC0415  # numpy is wanted only where there are sums

        return compile_system(self.build)

    @cached_property
    def values(self) -> Values:
        """Best known values."""
        from asmade.reckon.values import compute  # noqa: PLC0415

        return compute(self.build, self.system)

    @cached_property
    def found(self) -> Findings:
        """All requirements looked at."""
        from asmade.reckon.findings import look  # noqa: PLC0415

        before = self._held.pop("before", None)
        return look(self.values, before=None if before is None else before.found)

    def followed_by(self, came: Sequence[Entry], *, chain: str = "") -> Opened:
        """The same book with entries that came after its last."""
        from asmade.reckon.system import remember  # noqa: PLC0415

        entries = (*self.entries, *came)
        build = extend(self.build, came) if follows(came) else fold(entries)
        after = Opened(self.path, build, entries, chain)
        if self._same_system(came) and "system" in self.__dict__:
            after.__dict__["system"] = self.system
            remember(build, self.system)
            before = self if "found" in self.__dict__ else self._held.get("before")
            if before is not None:
                after._held["before"] = before
        return after

    def _same_system(self, came: Sequence[Entry]) -> bool:
        """Whether sizes and requirements stay as they are: no drawing, no shop, no choice moves."""
        if not follows(came) or any(entry.kind == "chosen" for entry in came):
            return False
        return not (any(e.kind in SEATS for e in came) and any(address.mark for address in self.build.chosen))


@dataclass(frozen=True, slots=True)
class Saved:
    """What a writing verb did: the numbers of its entries (none with ``what_if``) and the build as it now stands.

    ``after`` is the book as it stands then (with ``what_if``: as it would).
    """

    entries: tuple[int, ...]
    what_if: bool
    build: Build
    after: Opened | None = field(default=None, repr=False, compare=False)


_READ: OrderedDict[Path, tuple[Opened, Stamp | None]] = OrderedDict()
_READING: Final = RLock()


def now() -> str:
    """Local time with offset, to the second."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def read(path: Path_) -> Opened:
    """Read a book without writing to it; of one read before in this process, only what was entered since."""
    named = Path(path)
    stamp = stamp_of(named)  # before it is read: what is written while it is read is seen the next time
    with _READING:
        held, then = _READ.get(named.absolute(), (None, None))
    if held is not None and stamp is not None and stamp == then:
        return held
    with Ledger.open(path, write=False) as ledger:
        return _read(ledger, named, stamp)


def _read(ledger: Ledger, named: Path, stamp: Stamp | None = None) -> Opened:
    at = named.absolute()
    with _READING:
        held, _ = _READ.get(at, (None, None))
    if held is not None and ledger.chain(held.last) == held.chain:
        came = ledger.entries(after=held.last)
        if came:
            held = held.followed_by(came, chain=ledger.chain(came[-1].number))
    else:
        entries = ledger.entries()
        held = Opened(named, fold(entries), entries, ledger.chain(entries[-1].number) if entries else "")
    _keep(at, held, stamp)
    return held


def _keep(at: Path, opened: Opened, stamp: Stamp | None = None) -> None:
    """Keep a book as last read; one without entries is read anew, as nothing tells it from another."""
    with _READING:
        _READ.pop(at, None)
        if opened.chain:
            _READ[at] = opened, stamp
        while len(_READ) > BOOKS:
            _READ.popitem(last=False)


def read_build(path: Path_) -> Build:
    """Read a book and fold it."""
    return read(path).build


def to_entries(drafts: Sequence[Draft], *, by: str, first: int = 0, key: str = "") -> tuple[Entry, ...]:
    """Make entries of drafts: a draft's own time and writer stand; ``first`` numbers them for a trial fold."""
    at = now()
    several = len(drafts) > 1
    return tuple(
        Entry(
            first + k if first else 0, draft.kind, _whole_time(draft.at) or at, dict(draft.body), draft.by or by,
            f"{key}.{k}" if key and several else key,
        )
        for k, draft in enumerate(drafts)
    )  # fmt: skip


def _whole_time(at: str) -> str:
    """A time as written in a text form, made whole: a date alone means its midnight, no offset means here."""
    if not at:
        return ""
    found = datetime.fromisoformat(at)
    return found.astimezone().isoformat(timespec="seconds") if found.tzinfo is None else found.isoformat()


def tried(opened: Opened, drafts: Sequence[Draft], *, by: str = "hand", key: str = "") -> Opened:
    """The book as it would stand with ``drafts`` added; raises if it could not be read."""
    ahead = opened.followed_by(to_entries(drafts, by=by, first=opened.last + 1, key=key))
    if any(draft.kind in ("design", "shop", "drawn", "chosen", "withdrawn") for draft in drafts):
        _ = ahead.system
    return ahead


def trial(opened: Opened, drafts: Sequence[Draft], *, by: str = "hand") -> Build:
    """The build as it would stand with ``drafts`` added; raises if it could not be read."""
    return tried(opened, drafts, by=by).build


def save(
    opened: Opened,
    drafts: Sequence[Draft],
    *,
    by: str = "hand",
    what_if: bool = False,
    key: str = "",
    stand_on_read: bool = False,
    ahead: Opened | None = None,
) -> Saved:
    """Add drafts to a book, all or none, after a trial of the whole (``ahead``, where `tried` has made it already).

    Should another program have saved meanwhile, the trial is made again on what is there now; with ``stand_on_read``
    (drafts that rest on all that was read, as a choice of sizes does) `Conflict` is raised instead.
    """
    ahead = ahead or tried(opened, drafts, by=by, key=key)
    if what_if:
        return Saved((), what_if, ahead.build, ahead)
    for _ in range(TRIES):
        try:
            return _append(opened, ahead)
        except Conflict:
            if stand_on_read:
                raise
            opened = read(opened.path)
            ahead = tried(opened, drafts, by=by, key=key)
    return _append(opened, ahead)


def _append(opened: Opened, ahead: Opened) -> Saved:
    entries = ahead.entries[len(opened.entries) :]
    with Ledger.open(opened.path) as ledger:
        numbers = ledger.append([replace(e, number=0) for e in entries], expected_last=opened.last)
        if numbers != tuple(e.number for e in entries):  # some were there already, under their keys
            there = _read(ledger, opened.path)
            return Saved(numbers, what_if=False, build=there.build, after=there)
        object.__setattr__(ahead, "chain", ledger.chain(ahead.last))
    _keep(opened.path.absolute(), ahead)
    return Saved(numbers, what_if=False, build=ahead.build, after=ahead)


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
