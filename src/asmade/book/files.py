"""Files beside the book (texts, lists): read whole within a limit, written whole or not at all, never over another."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

from asmade.book.ledger_file import discard, explaining, locate, put_in_place, scratch, settle
from asmade.measure.errors import Damaged, OutOfRange, Refused

LIMIT: Final = 10 * 2**20  # bytes: 100,000 rows of a dimension list
_BOOK: Final = b"SQLite format 3\0"


def ending_of(path: str | os.PathLike[str], endings: tuple[str, ...]) -> str:
    """Return the ending of ``path`` in small letters if it is one of ``endings``; raise `Refused` otherwise."""
    ending = Path(path).suffix.lower()
    if ending in endings:
        return ending
    old = "; save the sheet as .xlsx or .csv" if ending in (".xls", ".xlsm", ".ods", ".numbers") else ""
    raise Refused(
        "file",
        got=str(path),
        reason=f"its ending is {ending or 'missing'}",
        way_out=f"known here: {', '.join(endings)}{old}",
    )


def read_file(path: str | os.PathLike[str], *, limit: int = LIMIT) -> bytes:
    """Read a whole file; raises `Damaged` for one missing, empty or unreadable, `OutOfRange` above ``limit`` bytes."""
    try:
        real = locate(path)
    except Damaged as fault:
        raise Damaged(
            fault.message.removesuffix(" and so no book; left untouched").replace(", not a book", ""),
            way_out="check the name and the folder, and that the file was saved",
        ) from None
    with explaining(real, "read"):
        size = real.stat().st_size
        if size > limit:
            raise OutOfRange(
                str(path), got=f"{size / 2**20:.1f} MB", allowed=f"up to {limit // 2**20} MB",
                way_out="take out pictures and empty rows, or split it",
            )  # fmt: skip
        return real.read_bytes()


def refuse_taken(path: str | os.PathLike[str], *, replace: bool) -> None:
    """Refuse a name that cannot be written, or is taken (unless ``replace``); a book is never replaced."""
    target = Path(path)
    if target.is_dir():
        raise Damaged(f"{path}: is a folder", way_out="name a file inside it")
    if not target.absolute().parent.is_dir():
        raise Damaged(f"{path}: there is no folder {target.parent}", way_out="make the folder first")
    if not os.path.lexists(target):
        return
    if not replace:
        raise Damaged(f"{path}: is there already; left untouched", way_out="choose another name, or say --replace")
    with explaining(target, "read"):
        if not target.is_file():
            raise Damaged(f"{path}: is not a plain file; left untouched", way_out="choose another name")
        with target.open("rb") as file:
            if file.read(len(_BOOK)) == _BOOK:
                raise Damaged(f"{path}: is a book, not an export; left untouched", way_out="choose another name")


def write_file(path: str | os.PathLike[str], data: bytes, *, replace: bool = False) -> None:
    """Write ``data`` as ``path`` in one step, on the disk when this returns; an existing file only with ``replace``."""
    refuse_taken(path, replace=replace)
    target = Path(path).absolute()
    part = scratch(target)
    try:
        with explaining(target, "write it"):
            with part.open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            if replace:
                part.replace(target)
                settle(target.parent)
                return
            try:
                put_in_place(part, target)
            except FileExistsError:
                refuse_taken(path, replace=False)
                raise
    finally:
        discard(part)
