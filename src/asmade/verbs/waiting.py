"""What waits for cure: joints not to be handled, machined or loaded yet, their pieces, and how long still."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from asmade.book.model import Build
from asmade.measure.errors import Refused
from asmade.reckon.cure_times import Time, What, cure_times
from asmade.reckon.joining import Joints, Standing, standing
from asmade.reckon.values import Values, compute
from asmade.verbs.last_look import adhesive_for
from asmade.verbs.store import now
from asmade.work.joining_means import means_of

UNKNOWN_FOR: Final = timedelta(days=7)
"""For so long after joining a time that is not known is still told; later nobody can say that it waits."""


@dataclass(frozen=True, slots=True)
class Left:
    """One thing that must wait: until when, and how many hours still; None and an empty moment = not known."""

    what: What
    hours: float | None
    at: str
    words: str


@dataclass(frozen=True, slots=True)
class WaitingJoint:
    """A joint that still waits: its pieces (those it traps included), product, when it was made, and what waits.

    ``left`` has only what is not over yet, soonest first: handled, machined, loaded.
    """

    joint: str
    by: str
    adhesive: str
    joined: str
    pieces: tuple[str, ...]
    left: tuple[Left, ...]

    @property
    def handled(self) -> Left | None:
        """Until when it may not be handled; None where it may."""
        return self._of("handled")

    @property
    def machined(self) -> Left | None:
        """Until when it may not be machined; None where it may, or where nobody has said."""
        return self._of("machined")

    @property
    def loaded(self) -> Left | None:
        """Until when it may not be loaded; None where it may."""
        return self._of("loaded")

    def _of(self, what: What) -> Left | None:
        return next((each for each in self.left if each.what == what), None)


@dataclass(frozen=True, slots=True)
class Waiting:
    """One thing of one joint that must wait; ``hours`` left, None = not known."""

    joint: str
    what: str
    at: str
    hours: float | None
    words: str


def waiting_of(build: Build, at: str = "", *, values: Values | None = None) -> tuple[WaitingJoint, ...]:
    """Joints of a build that wait for cure at a moment (an ISO time; now unless said), the last made first.

    Times are those of the data sheet as typed in, at the temperature and gap that were entered with the joint. One
    that is not known is told for a week after joining; one for machining only if the sheet gives it. A pure function
    of the build and the moment.
    """
    curing = {name: stands for name, stands in standing(build).items() if stands.joined and "pieces" in stands.body}
    if not curing:
        return ()
    here = moment(at or now())
    joints = Joints((values or compute(build)).system)
    found = []
    for name, stands in curing.items():
        joint = joints.by_name.get(name)
        if joint is None or means_of(joint.by).sets != "cures":
            continue
        product = build.shop.adhesives.get(str(stands.body.get("adhesive", ""))) or adhesive_for(build, joint)
        try:
            times = cure_times(
                product, at_c=_number(stands.body, "temperature_c"), gap_mm=_number(stands.body, "gap_mm")
            )
        except Refused as fault:  # a data sheet typed in wrongly does not shut the board
            times = (Time("loaded", None, f"not known: {fault.message}"),)
        left = tuple(_left(times, stands, here))
        if left:
            pieces = tuple(map(str, (*stands.body["pieces"], *stands.body.get("trapped", ()))))
            found.append(
                WaitingJoint(name, joint.by, product.name if product else "", stands.at, pieces, left)
            )  # fmt: skip
    return tuple(sorted(found, key=lambda each: moment(each.joined), reverse=True))


def waiting(build: Build, values: Values | None = None, *, at: str = "") -> tuple[Waiting, ...]:
    """What waits, one line for each thing of each joint, in the order of joining; see `waiting_of`."""
    return tuple(
        Waiting(joint.joint, left.what, left.at, left.hours, left.words)
        for joint in reversed(waiting_of(build, at, values=values))
        for left in joint.left
    )


def _left(times: tuple[Time, ...], stands: Standing, here: datetime) -> Iterator[Left]:
    since = here - moment(stands.at)
    for time in times:
        if time.what == "worked":
            continue
        if time.hours is None:
            if time.what != "machined" and since <= UNKNOWN_FOR:
                yield Left(time.what, None, "", time.words)
            continue
        left = time.hours - since.total_seconds() / 3600
        if left > 0:
            yield Left(time.what, left, later(stands.at, time.hours), time.words)


def later(when: str, hours: float) -> str:
    """The moment so many hours after another, to the minute."""
    return (moment(when) + timedelta(hours=hours)).isoformat(timespec="minutes")


def moment(text: str) -> datetime:
    """An entry's time; one without an offset is local."""
    found = datetime.fromisoformat(text)
    return found.astimezone() if found.tzinfo is None else found


def _number(body: Mapping[str, Any], key: str) -> float | None:
    value = body.get(key)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
