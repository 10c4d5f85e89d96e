"""A second look at the write-ahead file that a crash has left, as SQLite drops a damaged end of it without a word.

SQLite takes the frames up to the last commit before the first bad checksum and forgets the rest, since a saving cut
short by a power failure looks so. But savings are put on the disk one after the other: when two or more commits
follow the bad frame, all of them but the last had been acknowledged, and the file has been damaged since.
Layout and checksum: https://www.sqlite.org/fileformat2.html, section 4, "The Write-Ahead Log".
"""

from __future__ import annotations

import struct
import time
from typing import TYPE_CHECKING, Final

from asmade.book.ledger_schema import Unsound

if TYPE_CHECKING:
    from pathlib import Path

_HEADER: Final = 32
_FRAME_HEADER: Final = 24
_LITTLE, _BIG = 0x377F0682, 0x377F0683  # the header's mark also tells the byte order of the checksums


def refuse_broken(wal: Path) -> None:
    """Raise ``Unsound`` if acknowledged savings in the write-ahead file can no longer be read."""
    for _ in range(3):  # a program that has the book open may be writing the file just now
        try:
            lost = _savings_out_of_reach(wal.read_bytes())
        except FileNotFoundError:
            return
        if lost < 2:
            return
        time.sleep(0.02)
    raise Unsound(f"its write-ahead file is damaged before the last {lost} savings in it")


def _savings_out_of_reach(data: bytes) -> int:
    """Count the commits of this write-ahead file's own time that lie behind the first frame that does not add up."""
    if len(data) < _HEADER + _FRAME_HEADER:
        return 0
    mark, _, page_size, _ = struct.unpack(">4I", data[:16])
    sound = mark in (_LITTLE, _BIG) and 512 <= page_size <= 65536
    order = ">" if mark == _BIG else "<"
    sums = _add_up(order, (0, 0), data[:24])
    sound = sound and sums == struct.unpack(">2I", data[24:32])
    if not sound:  # nothing of it is read: go by what the first frame says
        page_size = 4096
    salts = data[16:24] if sound else data[_HEADER + 8 : _HEADER + 16]
    lost = 0
    for at in range(_HEADER, len(data) - _FRAME_HEADER - page_size + 1, _FRAME_HEADER + page_size):
        head, page = data[at : at + _FRAME_HEADER], data[at + _FRAME_HEADER : at + _FRAME_HEADER + page_size]
        if sound:
            sums = _add_up(order, _add_up(order, sums, head[:8]), page)
            sound = head[8:16] == salts and sums == struct.unpack(">2I", head[16:24])
        if not sound and head[8:16] == salts and head[4:8] != bytes(4):  # not zero: a commit
            lost += 1
    return lost


def _add_up(order: str, sums: tuple[int, int], data: bytes) -> tuple[int, int]:
    first, second = sums
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for even, odd in zip(words[::2], words[1::2], strict=True):
        first = (first + even + second) & 0xFFFFFFFF
        second = (second + odd + first) & 0xFFFFFFFF
    return first, second
