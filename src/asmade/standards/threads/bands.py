"""What limits of a thread look like, whichever standard they come from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from asmade.standards.threads.sizes import Thread


@dataclass(frozen=True, slots=True)
class Band:
    """Limits of one diameter in mm; ``None`` where the standard sets no limit."""

    low_mm: float | None
    high_mm: float | None


@dataclass(frozen=True, slots=True)
class ThreadLimits:
    """Limits of size of a screw or nut of one tolerance class."""

    thread: Thread
    tolerance_class: str
    is_screw: bool
    major: Band
    effective: Band
    minor: Band  # of a screw: the root, at a rounding of p / 8 at least; of a nut: the hole to be tapped
    source: str
