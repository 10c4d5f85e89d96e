"""joined and undone: a joint goes into the record, refused with reasons unless a reason is written; what is waited for.

Nothing here stops a builder who knows better: a written reason is kept with the entry for good.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from asmade.book.address import Address
from asmade.book.model import Build
from asmade.book.text import Draft
from asmade.measure.errors import AsmadeError, Contradiction, Refused
from asmade.reckon.cure_times import Time
from asmade.reckon.joining import Joints, standing
from asmade.reckon.values import compute
from asmade.verbs.last_look import LastLook, adhesive_for, last_look_of, read_workshop
from asmade.verbs.look_reasons import Reason
from asmade.verbs.store import Path_, Saved, now, read, save
from asmade.verbs.waiting import later, moment
from asmade.work.cautions import Caution
from asmade.work.joining_means import cautions_of, means_of


class Stopped(AsmadeError):
    """The last look says stop and no reason to go on was written."""

    code = "stop"

    def __init__(self, joint: str, reasons: tuple[Reason, ...]) -> None:
        """Refuse to enter ``joint``; the message holds every reason with its way out."""
        self.reasons = reasons
        lines = "".join(f"\n  - {r.words}" + (f"\n      {r.way_out}" if r.way_out else "") for r in reasons)
        super().__init__(
            f"{joint}: the last look says stop{lines}",
            way_out='see asmade last-look; to go all the same: --despite "the reason", which is kept',
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Until:
    """Until when one thing must wait: hours from joining and the moment (None = not known), and what that rests on."""

    what: str
    hours: float | None
    at: str
    words: str


@dataclass(frozen=True, slots=True)
class JoinedResult:
    """The entry, the look it was made on, until when to wait, what is frozen, what is not known until measured."""

    saved: Saved
    joint: str
    at: str
    look: LastLook
    until: tuple[Until, ...]
    frozen: tuple[Address, ...]
    unknown: tuple[Address, ...]
    measure: tuple[Address, ...]


@dataclass(frozen=True, slots=True)
class UndoneResult:
    """The entry, how the means is undone and with which cautions, what is free again, what to measure anew."""

    saved: Saved
    joint: str
    at: str
    how: str
    advice: str
    sheet: str
    cautions: tuple[Caution, ...]
    free: tuple[Address, ...]
    measure: tuple[Address, ...]
    also: tuple[str, ...]


def joined(
    path: Path_,
    name: str,
    *,
    despite: str = "",
    at: str = "",
    by: str = "",
    temperature: str = "",
    note: str = "",
    what_if: bool = False,
    key: str = "",
) -> JoinedResult:
    """Enter that a joint has been made. Raises `Stopped` with the reasons unless ``despite`` says why all the same.

    ``at`` is when (local time; now unless said), ``temperature`` the workshop's, ``by`` who did it.
    """
    opened = read(path)
    sent = next((e for e in opened.entries if key and e.key == key), None)
    if sent is not None:  # the same sent twice: what was saved the first time stands
        look = last_look_of(opened.build, name, temperature=temperature)
        return _result(Saved((sent.number,), what_if=False, build=opened.build), look, sent.at)
    look = last_look_of(opened.build, name, despite=despite, temperature=temperature)
    if look.stops and look.stops[0].code == "joined":
        raise Contradiction(f"{look.joint}: {look.stops[0].words}", way_out=look.stops[0].way_out)
    if look.verdict == "stop":
        raise Stopped(look.joint, look.stops)
    when = read_moment(at)
    draft = Draft("joined", _body(look, temperature, note), when, by)
    return _result(save(opened, [draft], what_if=what_if, key=key, stand_on_read=True), look, when)


def _result(saved: Saved, look: LastLook, when: str) -> JoinedResult:
    return JoinedResult(
        saved, look.joint, when, look, tuple(_until(look.times, look.means.sets, when)),
        frozen=tuple(known.address for known in look.sizes if known.role == "hidden"),
        unknown=look.disturbs, measure=look.measure_after,
    )  # fmt: skip


def _body(look: LastLook, temperature: str, note: str) -> dict[str, Any]:
    """What the record keeps of a joint: its pieces, gap, product, temperature, and the reasons that were overruled."""
    at_c = read_workshop(temperature)
    body: dict[str, Any] = {"joint": look.joint, "pieces": [p.piece for p in look.pieces if not p.trapped]}
    trapped = [p.piece for p in look.pieces if p.trapped]
    extra: dict[str, Any] = {
        "trapped": trapped,
        "means": look.by,
        "adhesive": look.adhesive,
        "gap_mm": None if look.gap is None else round(look.gap, 6),
        "temperature_c": at_c,
        "despite": look.despite,
        "overruled": [r.words for r in look.stops],
        "note": note.strip(),
    }
    return body | {k: v for k, v in extra.items() if v not in ("", None, [])}


def read_moment(text: str) -> str:
    """When something was done, as an ISO time; now where it is not said. Refuses what is no time and the future."""
    if not text.strip():
        return now()
    try:
        found = datetime.fromisoformat(text.strip())
        found = found.astimezone() if found.tzinfo is None else found
    except (ValueError, OverflowError) as fault:
        raise Refused("time", got=text, reason="it is no date and time",
                      way_out="write 2026-11-25T14:30, or 2026-11-25") from fault  # fmt: skip
    if found > datetime.now().astimezone() + timedelta(minutes=5):
        raise Refused("time", got=text, reason="it lies in the future", way_out="enter it when it is done")
    return found.isoformat(timespec="seconds")


def _until(times: tuple[Time, ...], sets: str, when: str) -> Iterator[Until]:
    """What must wait after joining: nothing where it is pressed or pinned; what was hot waits until it is cold."""
    if sets == "at once":
        yield Until("loaded", 0.0, when, "at once, when what it disturbs has been measured")
    elif sets == "cools":
        yield Until("handled", None, "", "when it has cooled of itself")
    elif sets != "cures":
        yield Until("handled", None, "", "by what means it is fixed is not known")
    for time in times:
        if time.what != "worked":
            moment = "" if time.hours is None else later(when, time.hours)
            yield Until(time.what, time.hours, moment, time.words)


def undone(
    path: Path_, name: str, *, how: str, at: str = "", by: str = "", note: str = "", what_if: bool = False
) -> UndoneResult:
    """Enter that a joint has been undone, and ``how``; its surfaces are to be measured again before it is made anew."""
    opened = read(path)
    values = compute(opened.build)
    joints = Joints(values.system)
    joint = joints.named(name)
    stands = standing(opened.build).get(joint.subject)
    if stands is None or not stands.joined:
        raise Contradiction(f"{joint.subject} is not joined: there is nothing to undo",
                            way_out="see asmade history BOOK for what was entered")  # fmt: skip
    if not how.strip():
        raise Refused(
            "how it was undone", got=how, reason="it is empty", way_out='--how "heated to ... and pressed out"'
        )
    when = read_moment(at)
    if datetime.fromisoformat(when) < moment(stands.at):
        raise Refused("time", got=at, reason=f"it lies before the joint was made ({stands.at})")
    means = means_of(joint.by)
    body = {"joint": joint.subject, "how": how.strip()} | ({"note": note.strip()} if note.strip() else {})
    saved = save(opened, [Draft("undone", body, when, by)], what_if=what_if, stand_on_read=True)
    return UndoneResult(
        saved, joint.subject, when, how.strip(), means.undo, _sheet_of_undoing(opened.build, joints, joint.subject),
        cautions_of(means, _materials(opened.build, joints, joint.subject), undoing=True),
        free=joints.hidden(joint),
        measure=tuple(dict.fromkeys((*joints.fits.get(joint.fit, ()), *joint.disturbs, *joint.fixes))),
        also=tuple(n for n in joints.later(joint) if (s := standing(opened.build).get(n)) and s.joined),
    )  # fmt: skip


def _materials(build: Build, joints: Joints, name: str) -> tuple[str, ...]:
    seats = joints.seats(joints.by_name[name])
    return tuple(dict.fromkeys(m for s in seats if (m := build.design.parts[s.partition("@")[0]].material)))


def _sheet_of_undoing(build: Build, joints: Joints, name: str) -> str:
    """How hot the data sheet says, where it has been typed in (``undo_c``); else that it must be asked."""
    joint = joints.by_name[name]
    if means_of(joint.by).sets != "cures":
        return ""
    product = adhesive_for(build, joint)
    hot = None if product is None else product.fields.get("undo_c")
    if product is None or isinstance(hot, bool) or not isinstance(hot, int | float):
        return "how hot to undo it is not known: see the product's data sheet"
    return f"{product.name}: {hot:g} C by its data sheet"
