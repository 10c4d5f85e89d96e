"""demo: the book of the invented engine "Harrowgill No. 3", written into a folder from the text that comes along."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Final

from asmade.book.text import read_text
from asmade.measure.errors import Damaged
from asmade.verbs.store import Path_, start

NAME: Final = "harrowgill.asmade"


@dataclass(frozen=True, slots=True)
class DemoResult:
    """Where the demo book is, and whether it was made now (False: it was there and was left as it is)."""

    path: Path
    created: bool


def demo_text() -> str:
    """The demo book in its text form, as it comes with the package."""
    return files("asmade.book").joinpath("data", "demo", "harrowgill.toml").read_text(encoding="utf-8")


def demo(folder: Path_) -> DemoResult:
    """Write the demo book into ``folder`` (made if need be); a book that is there already is never overwritten."""
    path = Path(folder) / NAME
    if path.exists():
        return DemoResult(path, created=False)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise Damaged(f"{folder}: the folder cannot be made ({fault.strerror})",
                      way_out="name a folder that you may write to") from fault  # fmt: skip
    start(path, read_text(demo_text()))
    return DemoResult(path, created=True)
