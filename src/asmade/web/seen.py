"""What is seen of a book, worked out once for each state of it: the folded build, its values, its findings.

A page asks `Book.look`; as long as nothing was saved, by whichever program, the same `Look` comes back.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from threading import RLock
from typing import TYPE_CHECKING, Any, TypeVar

from asmade.verbs import check, show, store

if TYPE_CHECKING:
    from asmade.book.model import Build
    from asmade.reckon.aims import Aim
    from asmade.reckon.requirement import Finding
    from asmade.reckon.values import Values
    from asmade.verbs.cutlist import CutListResult
    from asmade.verbs.history import Line
    from asmade.verbs.parts import PartLine
    from asmade.verbs.record import Record
    from asmade.verbs.route import SetUpsResult
    from asmade.verbs.shop import ShopView
    from asmade.verbs.upnext import NextResult

Answer = TypeVar("Answer")


class Look:
    """A book as it stood at one entry; everything dear is made when first asked for, and once."""

    def __init__(self, opened: store.Opened) -> None:
        """Look at a book that was read."""
        self.opened = opened
        self._lock = RLock()
        self._held: dict[str, Any] = {}
        self._making: dict[str, RLock] = {}

    def once(self, name: str, make: Callable[[], Answer]) -> Answer:
        """What ``make`` gives, made when it is first asked for under ``name`` and kept as long as this look."""
        with self._lock:
            own = self._making.setdefault(name, RLock())
        with own:  # one that takes seconds keeps only those waiting that want it too
            if name not in self._held:
                self._held[name] = make()
            found: Answer = self._held[name]
            return found

    @property
    def build(self) -> Build:
        """The folded build."""
        return self.opened.build

    @property
    def values(self) -> Values:
        """Best known values."""
        return self.opened.values

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, worst first."""
        return self.once("findings", lambda: check.findings_of(self.values, self.opened.found))

    @property
    def board(self) -> show.Board:
        """The board."""
        return self.once("board", lambda: show.Board(self.opened, self.findings))

    @property
    def checked(self) -> check.CheckResult:
        """All findings, counted."""
        return self.once("check", lambda: check.check_values(self.values, self.findings))

    @property
    def drawing(self) -> check.DrawingResult:
        """The drawing check."""
        from asmade.reckon.drawing import check_drawing  # noqa: PLC0415

        return self.once("drawing", lambda: check.drawing_result(check_drawing(self.build, self.opened.system)))

    @property
    def parts(self) -> tuple[PartLine, ...]:
        """Every part at a glance."""
        from asmade.verbs.parts import parts_of  # noqa: PLC0415

        return self.once("parts", lambda: parts_of(self.build, self.values, self.findings))

    @property
    def next(self) -> NextResult:
        """What can be made now, and what waits."""
        from asmade.verbs.upnext import upnext_of  # noqa: PLC0415

        return self.once("next", lambda: upnext_of(self.build, self.values))

    @property
    def shop(self) -> ShopView:
        """The shop and what it has learned."""
        from asmade.verbs.shop import shop_of  # noqa: PLC0415

        return self.once("shop", lambda: shop_of(self.build))

    @property
    def lists(self) -> CutListResult:
        """The cutting and buying lists, with the usual allowances."""
        from asmade.verbs.cutlist import Asked, cutlist_of  # noqa: PLC0415

        return self.once("lists", lambda: cutlist_of(self.build, Asked()))

    @property
    def set_ups(self) -> SetUpsResult:
        """Set-ups of all pieces together."""
        from asmade.verbs.route import setups_of  # noqa: PLC0415

        return self.once("set-ups", lambda: setups_of(self.build, self.values))

    @property
    def record(self) -> Record:
        """The build record."""
        from asmade.verbs.record import record_of  # noqa: PLC0415

        return self.once("record", lambda: record_of(self.opened, self.values, self.findings))

    @property
    def history(self) -> tuple[Line, ...]:
        """Every entry in plain words."""
        from asmade.verbs.history import history_of  # noqa: PLC0415

        return self.once("history", lambda: history_of(self.opened))

    def part(self, name: str) -> show.PartView:
        """One part with all its pieces."""
        return self.once(f"part {name}", lambda: show.part_of(self.build, name, self.values, self.findings))

    def size(self, text: str) -> tuple[show.SizeRow, tuple[Finding, ...]]:
        """One size with the findings that read it."""
        return show.size_of(self.build, text, self.values, self.findings)

    def aim(self, text: str, instrument: str = "") -> Aim:
        """What a size may be made to now."""
        from asmade.verbs.aim import aim_in  # noqa: PLC0415

        return aim_in(self.build, self.values, text, instrument)


class Book:
    """One book by its file."""

    def __init__(self, path: store.Path_) -> None:
        """Name the file; it is opened at every look, and let go again."""
        self.path = Path(path)
        self._lock = RLock()
        self._held: Look | None = None

    def look(self) -> Look:
        """The book as it stands now; what was entered since the last look is folded on top of it."""
        with self._lock:
            opened = store.read(self.path)
            if self._held is None or self._held.opened is not opened:
                self._held = Look(opened)
            return self._held
