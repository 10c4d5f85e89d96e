"""Photographs out of a book again, into a folder: what a record names by name and digest."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from asmade.book.ledger import Ledger
from asmade.measure.errors import Damaged
from asmade.verbs.store import Path_

ENDINGS: Final = {
    "image/jpeg": ".jpg",
    "image/png": ".png",
    "image/webp": ".webp",
    "image/heif": ".heic",
    "application/pdf": ".pdf",
}


@dataclass(frozen=True, slots=True)
class Written:
    """One photograph as written: its file, the name it came with, and whether it was there already."""

    file: Path
    name: str
    digest: str
    was_there: bool


def write_photographs(path: Path_, folder: Path_) -> tuple[Written, ...]:
    """Write every photograph of a book into ``folder`` (made if need be); files that are there are left as they are.

    A file is called by the first twelve figures of its digest and by its own name, with nothing in it but letters,
    figures, dots, hyphens and underscores: a book from elsewhere may name its pictures as it likes.
    """
    target = Path(folder)
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise Damaged(f"{folder}: the folder cannot be made ({fault.strerror})",
                      way_out="name a folder that you may write to") from fault  # fmt: skip
    found = []
    with Ledger.open(path, write=False) as ledger:
        for digest, name, media_type, _ in ledger.attachments():
            file = target / f"{digest[:12]}-{_plain(name)}{ENDINGS.get(media_type, '')}"
            was_there = file.exists()
            if not was_there:
                _, _, data = ledger.attachment(digest)
                try:
                    file.write_bytes(data)
                except OSError as fault:
                    raise Damaged(f"{file}: cannot be written: {fault.strerror or fault}",
                                  way_out="check the folder and its free space") from fault  # fmt: skip
            found.append(Written(file, name, digest, was_there))
    return tuple(found)


def photographs(path: Path_) -> dict[str, tuple[str, bytes]]:
    """Every photograph of a book by its digest: media type and bytes."""
    with Ledger.open(path, write=False) as ledger:
        return {digest: (media_type, ledger.attachment(digest)[2]) for digest, _, media_type, _ in ledger.attachments()}


def _plain(name: str) -> str:
    stem = Path(name.replace("\\", "/")).stem
    return "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "_" for c in stem)[:60] or "picture"


def photograph(path: Path_, digest: str) -> tuple[str, str, bytes]:
    """One photograph by its digest: name, media type, data. One of no type known here is given as plain bytes."""
    with Ledger.open(path, write=False) as ledger:
        name, media_type, data = ledger.attachment(digest)
    return name, media_type if media_type in ENDINGS else "application/octet-stream", data
