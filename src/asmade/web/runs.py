"""Choices of sizes at work in the background: one at a time, its progress to look at, its answer kept till applied."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from threading import Event, Lock, Thread
from typing import TYPE_CHECKING, Final

from asmade.measure.errors import AsmadeError, Refused

if TYPE_CHECKING:
    from asmade.reckon.choosing.problem import Progress
    from asmade.verbs.choose import ChooseResult
    from asmade.verbs.store import Opened

MOST_SECONDS: Final = 300.0


@dataclass(slots=True)
class Run:
    """One choice: what was asked, how far it is, what came of it."""

    name: str
    opened: Opened
    seconds: float
    lock: Mapping[str, str]
    loosen: tuple[str, ...]
    alternatives_for: str
    progress: Progress | None = None
    result: ChooseResult | None = None
    fault: AsmadeError | None = None
    broke: bool = False
    applied: bool = False
    stop: Event = field(default_factory=Event)
    ended: Event = field(default_factory=Event)

    def work(self) -> None:
        """Choose, and keep the answer or the refusal."""
        from asmade.verbs.choose import choose  # noqa: PLC0415  # the solver only where it is asked for

        try:
            self.result = choose(
                self.opened.path, lock=self.lock, loosen=self.loosen, alternatives_for=self.alternatives_for,
                time_limit_s=self.seconds, on_progress=self._tell, stop=self.stop.is_set, what_if=True,
            )  # fmt: skip
        except AsmadeError as fault:
            self.fault = fault
        except BaseException:
            self.broke = True
            raise
        finally:
            self.ended.set()

    def _tell(self, progress: Progress) -> None:
        self.progress = progress


class Runs:
    """The running choice and the last that ended."""

    def __init__(self) -> None:
        """None yet."""
        self._lock = Lock()
        self._last: Run | None = None

    def start(
        self, opened: Opened, *, seconds: float, lock: Mapping[str, str], loosen: tuple[str, ...], alternatives_for: str
    ) -> Run:
        """Start a choice; refused while another is at work."""
        with self._lock:
            if self._last is not None and not self._last.ended.is_set():
                raise Refused("choice", got="a second one", reason="one is at work already",
                              way_out="wait for it, or stop it")  # fmt: skip
            run = Run(secrets.token_urlsafe(9), opened, min(seconds, MOST_SECONDS), lock, loosen, alternatives_for)
            self._last = run
            Thread(target=run.work, name="choice of sizes", daemon=True).start()
            return run

    @property
    def last(self) -> Run | None:
        """The choice at work, or the last that ended."""
        return self._last
