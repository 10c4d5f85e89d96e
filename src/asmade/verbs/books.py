"""books: the books that lie in one folder, and a name in it for a new one. Nothing outside the folder is touched."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from asmade.measure.errors import AsmadeError, Contradiction, Refused, Unknown, near
from asmade.verbs.store import Path_, read

ENDING: Final = ".asmade"
MOST: Final = 200  # books of a folder that are looked into
LONGEST: Final = 80
_RESERVED: Final = frozenset({"con", "prn", "aux", "nul", *(f"{p}{n}" for p in ("com", "lpt") for n in range(1, 10))})


@dataclass(frozen=True, slots=True)
class BookLine:
    """One book of a folder: its file, what it says of itself, when it was last written; or why it cannot be read."""

    name: str
    title: str
    arrangement: str
    parts: int
    readings: int
    last: str
    fault: str = ""


def books_in(folder: Path_) -> tuple[BookLine, ...]:
    """Every book of a folder by name; those that cannot be read say why."""
    return tuple(_line(path) for path in _files(Path(folder))[:MOST])


def _files(folder: Path) -> list[Path]:
    return sorted(each for each in folder.glob(f"*{ENDING}") if each.is_file() and not each.name.startswith("."))


def _line(path: Path) -> BookLine:
    try:
        opened = read(path)
    except AsmadeError as fault:
        return BookLine(path.name, "", "", 0, 0, "", fault.message)
    design = opened.build.design
    last = opened.entries[-1].at if opened.entries else ""
    return BookLine(
        path.name, design.title, design.arrangement, len(design.parts), len(opened.build.readings), last
    )  # fmt: skip


def book_in(folder: Path_, name: str) -> Path:
    """The file of a book by its name in the folder; a name that leads elsewhere is no book of it."""
    found = {each.name: each for each in _files(Path(folder))}
    if name not in found:
        raise Unknown("book", got=name, near=near(name, found), way_out="choose one of the list")
    return found[name]


def name_for(folder: Path_, text: str) -> Path:
    """The file that a new book called ``text`` has in the folder: plain letters, digits and hyphens.

    ``Harrowgill No. 3`` is ``harrowgill-no-3.asmade``. Raises where there is a file of that name, or no name is left.
    """
    path = Path(folder) / file_of(text)
    if path.exists():
        raise Contradiction(f"there is a book {path.name} already", way_out="choose another name, or open that one")
    return path


def file_of(text: str) -> str:
    """The name of the file of a book called ``text``; refuses one of which no plain name can be made."""
    stem = re.sub(r"[^a-z0-9]+", "-", text.removesuffix(ENDING).lower()).strip("-")[:LONGEST]
    if not stem or stem in _RESERVED:
        raise Refused("name of the file", got=text, reason="no name of a file can be made of it",
                      way_out="write letters and digits, such as my-engine")  # fmt: skip
    return f"{stem}{ENDING}"
