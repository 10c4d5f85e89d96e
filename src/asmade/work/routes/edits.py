"""The builder's own changes to a route: leave out, add, put before or after, other words, a note.

They name feature and process, never a size, so they outlive a change of sizes. They are kept as notes of the book
(entries of kind ``note`` with a table ``route``), so they carry their time and writer and can be withdrawn:

    [[note]]
    text = "my die holder reaches no shoulder"
    route = { part = "crank_pin_leading", do = "before", operation = "seat turned", other = "seat faced" }
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from asmade.book.model import Build
from asmade.book.schema import Taker

DOES: Final = ("remove", "add", "add after", "before", "after", "words", "note")
WANTS_OTHER: Final = ("add", "add after", "before", "after")
_SHOWN: Final[Mapping[str, str]] = {
    "remove": "{0!r} left out",
    "add": "{0!r} added before {1!r}",
    "add after": "{0!r} added after {1!r}",
    "before": "{0!r} put before {1!r}",
    "after": "{0!r} put after {1!r}",
    "words": "{0!r} in other words",
    "note": "a note to {0!r}",
}


@dataclass(frozen=True, slots=True)
class Edit:
    """One change: ``operation`` is the key it speaks of (or that of the added one), ``other`` what it is put beside.

    An added operation stands in the set-up of ``other``. ``entry``: 0 where it is not saved yet.
    """

    part: str
    do: str
    operation: str
    other: str = ""
    text: str = ""
    entry: int = 0

    def body(self) -> dict[str, Any]:
        """As the body of a note."""
        table = {"part": self.part, "do": self.do, "operation": self.operation}
        return {"text": self.text, "route": table | ({"other": self.other} if self.other else {})}

    @property
    def shown(self) -> str:
        """The change in words: ``'seat turned' put before 'seat faced': my die holder reaches no shoulder``."""
        words = _SHOWN[self.do].format(self.operation, self.other)
        return f"{words}: {self.text}" if self.text else words


def edits_of(build: Build, part: str) -> tuple[Edit, ...]:
    """The builder's edits of the route of a part, in the order in which he made them."""
    found = []
    for remark in build.remarks:
        table = remark.body.get("route") if remark.kind == "note" else None
        if not isinstance(table, Mapping) or table.get("part") != part:
            continue
        taker = Taker(table, f"entry {remark.entry} (note).route")
        taker.text("part")
        do = taker.text("do", among=DOES, needed=True)
        found.append(
            Edit(
                part,
                do,
                taker.text("operation", needed=True),
                taker.text("other", needed=do in WANTS_OTHER),
                str(remark.body.get("text", "")),
                remark.entry,
            )
        )
        taker.done()
    return tuple(found)
