"""One eye on the clock, the builder's stop and Ctrl-C for a whole choice, and the voice that reports progress."""

from __future__ import annotations

import signal
import threading
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

from asmade.reckon.choosing.problem import Progress, relative_gap

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from types import FrameType


class Watch:
    """Time left, stop asked for, progress told; `stopped` stays True once the builder wanted to stop."""

    def __init__(
        self,
        time_limit_s: float,
        on_progress: Callable[[Progress], None] | None = None,
        stop: Callable[[], bool] | None = None,
    ) -> None:
        """Start the clock."""
        self.started = time.monotonic()
        self.deadline = self.started + time_limit_s
        self.stopped = False
        self._on_progress = on_progress
        self._stop = stop
        self._last: tuple[float | None, float, str] | None = None
        self.settled = 0.0
        """Objective of what is already decided and will not change (components solved before)."""
        self.open_bound = 0.0
        """Bound on what comes later (components not yet begun)."""

    @property
    def seconds(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.started

    def left(self) -> float:
        """Seconds left, 0 when the builder stopped it."""
        return 0.0 if self.stopped else max(0.0, self.deadline - time.monotonic())

    def asked(self) -> bool:
        """Whether the builder asked to stop, by whichever way."""
        if not self.stopped and self._stop is not None and self._stop():
            self.stopped = True
        return self.stopped

    def over(self) -> bool:
        """Whether to end now: time is up or the builder asked."""
        return self.asked() or self.left() <= 0.0

    @contextmanager
    def heeding_ctrl_c(self) -> Iterator[None]:
        """Let a first Ctrl-C stop the work with the best found kept; a second one ends it as usual.

        Only the main thread of a process can heed it; elsewhere nothing is changed, and ``stop`` is the way.
        """
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = signal.getsignal(signal.SIGINT)

        def heed(number: int, frame: FrameType | None) -> None:
            self.stopped = True
            signal.signal(signal.SIGINT, before)
            if callable(before) and before is not signal.default_int_handler:
                before(number, frame)  # whoever runs several such steps must know not to begin the next

        if before in (None, signal.SIG_IGN):
            yield
            return
        signal.signal(signal.SIGINT, heed)
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)

    def quiet(self, time_limit_s: float = 10.0) -> Watch:
        """Return a watch of its own for a small step that must be finished even when time is up."""
        return Watch(time_limit_s)

    def tell(self, objective: float | None, bound: float, words: str) -> None:
        """Report progress of the component at hand, if anything changed since last time."""
        if self._on_progress is None or self._last == (objective, bound, words):
            return
        self._last = (objective, bound, words)
        whole_bound = self.settled + self.open_bound + bound
        whole = None if objective is None or self.open_bound else self.settled + objective
        gap = None if whole is None else relative_gap(whole, whole_bound)
        self._on_progress(Progress(self.seconds, whole, whole_bound, gap, words))
