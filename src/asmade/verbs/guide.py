"""guide: the main job in seven steps on a copy of the demo, and how far it has come by what stands in the book."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from asmade.book.fold import withdrawn
from asmade.book.ledger_entry import Entry
from asmade.book.text import read_text
from asmade.verbs.demo import demo_text
from asmade.verbs.store import Opened, Path_, start

STEM: Final = "first-steps"
STEPS: Final = ("drawing", "sizes", "measure", "moved", "joint", "wheels", "record")


@dataclass(frozen=True, slots=True)
class GuideStep:
    """One step: its name, and the number of the entry by which it was done (0: not yet)."""

    name: str
    entry: int


@cache
def _begins() -> tuple[str, int]:
    """The title of the demo, and how many entries it begins with."""
    drafts = read_text(demo_text())
    return str(drafts[0].body["set"]["book"]["title"]), len(drafts)


def is_copy(opened: Opened) -> bool:
    """Whether a book is a copy of the demo, in which the steps can be done."""
    title, count = _begins()
    return opened.build.design.title == title and len(opened.entries) >= count


def begin(folder: Path_) -> Path:
    """Make a fresh copy of the demo in a folder under a name that is free: no book that is there is touched."""
    number = 1
    while (path := Path(folder) / f"{STEM}{f'-{number}' if number > 1 else ''}.asmade").exists():
        number += 1
    start(path, read_text(demo_text()))
    return path


def progress(opened: Opened, *, drawing_fails: bool) -> tuple[GuideStep, ...]:
    """Which steps have been done since the demo began, by its entries; what was withdrawn does not count."""
    gone = withdrawn(opened.entries)
    new = [e for e in opened.entries[_begins()[1] :] if e.number not in gone]

    def first(wanted: Callable[[Entry], bool]) -> int:
        return next((e.number for e in new if wanted(e)), 0)

    drawn = first(lambda e: e.kind == "drawn")
    found: Mapping[str, int] = {
        "drawing": 0 if drawing_fails else drawn,
        "sizes": first(lambda e: e.kind == "chosen" and e.by == "choice"),
        "measure": first(lambda e: _is(e, "made", "wheel#W4", "bore")),
        "moved": first(lambda e: _is(e, "aimed", "axle#2", "seat_right.diameter")),
        "joint": first(lambda e: e.kind == "joined"),
        "wheels": first(lambda e: e.kind == "made" and str(e.body.get("piece", "")).startswith("wheelset#")),
        "record": first(lambda e: e.kind in ("note", "attachment") and "route" not in e.body),
    }
    return tuple(GuideStep(name, found[name]) for name in STEPS)


def _is(entry: Entry, kind: str, piece: str, dim: str) -> bool:
    body: Mapping[str, Any] = entry.body
    return entry.kind == kind and body.get("piece") == piece and body.get("dim") == dim
