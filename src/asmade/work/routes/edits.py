"""The builder's own changes to a route: remove, add, put before, note. They name feature and process, never a size.

They are kept as notes of the book (entries of kind ``note`` with a table ``route``), so they carry their time and
writer and can be withdrawn:

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

DOES: Final = ("remove", "add", "before", "note")


@dataclass(frozen=True, slots=True)
class Edit:
    """One change: ``operation`` is the key it speaks of (or that of the added one), ``other`` what it is put before.

    An added operation stands in the set-up of ``other``, before it.
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


def edits_of(build: Build, part: str) -> tuple[Edit, ...]:
    """The builder's edits of the route of a part, in the order in which he made them."""
    found = []
    for remark in build.remarks:
        table = remark.body.get("route") if remark.kind == "note" else None
        if not isinstance(table, Mapping) or table.get("part") != part:
            continue
        taker = Taker(table, f"entry {remark.entry} (note).route")
        taker.text("part")
        found.append(
            Edit(
                part,
                taker.text("do", among=DOES, needed=True),
                taker.text("operation", needed=True),
                taker.text("other"),
                str(remark.body.get("text", "")),
                remark.entry,
            )
        )
        taker.done()
    return tuple(found)
