"""From mm along a part to px across the page: one scale, and long plain stretches broken where they make it tiny."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

BREAK_PX: Final = 7.0
"""Gap of a break."""
_LEAST_LEFT_PX: Final = 44.0
"""A stretch is not broken to less than this."""
_LONGER: Final = 1.1
_WORTH: Final = 1.25
"""A break that does not make the rest larger by this much is not worth it."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Part of the way along: from mm to mm, and where it lies in px; ``broken`` in its middle."""

    start_mm: float
    end_mm: float
    start_px: float
    end_px: float
    broken: bool


@dataclass(frozen=True, slots=True)
class Along:
    """The whole way, with its scale in px per mm outside what is broken."""

    stretches: tuple[Stretch, ...]
    scale: float

    def px(self, mm: float) -> float:
        """Where a place along the part lies. In a broken stretch both ends keep the scale, the middle is left out."""
        for stretch in self.stretches:
            if mm <= stretch.end_mm or stretch is self.stretches[-1]:
                if not stretch.broken:
                    return stretch.start_px + (mm - stretch.start_mm) * self.scale
                half = (stretch.end_px - stretch.start_px - BREAK_PX) / 2
                from_start, from_end = (mm - stretch.start_mm) * self.scale, (stretch.end_mm - mm) * self.scale
                if from_start <= half:
                    return stretch.start_px + from_start
                if from_end <= half:
                    return stretch.end_px - from_end
                share = (mm - stretch.start_mm) / (stretch.end_mm - stretch.start_mm)
                return stretch.start_px + share * (stretch.end_px - stretch.start_px)
        raise AssertionError  # pragma: no cover  # a way has a stretch

    @property
    def breaks(self) -> tuple[tuple[float, float], ...]:
        """Where the gaps are, px."""
        found = []
        for stretch in self.stretches:
            if stretch.broken:
                middle = (stretch.start_px + stretch.end_px) / 2
                found.append((middle - BREAK_PX / 2, middle + BREAK_PX / 2))
        return tuple(found)

    @property
    def length_px(self) -> float:
        """From end to end."""
        return self.stretches[-1].end_px - self.stretches[0].start_px


def set_out(
    lengths: Sequence[float],
    *,
    room_px: float,
    high_mm: float,
    wanted_high_px: float,
    most_high_px: float,
    plain: Sequence[bool],
) -> Along:
    """Set stretches of ``lengths`` mm out in ``room_px``; those that are ``plain`` may be broken, longest first.

    The part comes out ``wanted_high_px`` high where breaking makes that possible, and never more than ``most_high_px``.
    """  # fmt: skip
    whole = sum(lengths)
    scale = min(room_px / whole, most_high_px / high_mm)
    wanted = wanted_high_px / high_mm
    broken: set[int] = set()
    if scale < wanted:
        for at in sorted((at for at, may in enumerate(plain) if may), key=lambda at: -lengths[at]):
            rest = whole - sum(lengths[each] for each in (*broken, at))
            left = _LEAST_LEFT_PX * (len(broken) + 1)
            better = wanted if rest <= 0 else min(wanted, (room_px - left) / rest)
            if lengths[at] * better <= _LEAST_LEFT_PX * 1.5 or better < scale * _WORTH:
                break
            broken.add(at)
            scale = better
            if scale >= wanted:
                break
    straight_mm = sum(length for at, length in enumerate(lengths) if at not in broken)
    longest = max((length for at, length in enumerate(lengths) if at not in broken), default=0.0)
    while broken and (room_px - straight_mm * scale) / len(broken) < _LONGER * longest * scale:
        scale *= 0.96  # a stretch that is broken still is the longest to see
    if broken and scale <= min(room_px / whole, most_high_px / high_mm):
        broken, scale = set(), min(room_px / whole, most_high_px / high_mm)
    straight = sum(length for at, length in enumerate(lengths) if at not in broken) * scale
    each = max(_LEAST_LEFT_PX, (room_px - straight) / len(broken)) if broken else 0.0
    found, mm, px = [], 0.0, 0.0
    for at, length in enumerate(lengths):
        cut = at in broken and length * scale > each
        wide = each if cut else length * scale
        found.append(Stretch(mm, mm + length, px, px + wide, cut))
        mm, px = mm + length, px + wide
    return Along(tuple(found), scale)
