"""A reading or a done operation taken in from a form or from a phone's queue: saved, asked about, or refused.

Nothing here is worked out: `asmade.verbs` reads, judges and saves. Whatever comes under a key that is in the book
already is not taken again.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from asmade.book.address import Address
from asmade.measure.errors import Refused
from asmade.reckon.values import last_made
from asmade.verbs import at_bench, made
from asmade.verbs import done as operations

if TYPE_CHECKING:
    from asmade.verbs.done import DoneResult
    from asmade.verbs.made import MadeResult
    from asmade.web.desk import Desk

KEY: Final = re.compile(r"[A-Za-z0-9_-]{8,64}")
OWN: Final = 8
"""So many letters of a key are the device's own: what it sent itself came not from elsewhere."""
ASK: Final = "ask"
"""The stage of a form that leaves it to be asked for where it matters."""
ON_THE_WAY: Final = ("on the way", "On the way: more comes off")
FINISHED: Final = ("finished", "Finished as it is")
TAKES_PLACE: Final = ("finished", "It takes the place of the last")
A_CHECK: Final = ("check", "A check: the last one stands")
MOVED_MM: Final = 0.0005  # less than that the bench does not see


@dataclass(frozen=True, slots=True)
class Asked:
    """What is answered before a reading is saved: whether it is a slip, which stage it is; and how it was read."""

    slips: tuple[str, ...]
    stages: tuple[tuple[str, str], ...]
    read_as: str


@dataclass(frozen=True, slots=True)
class Kept:
    """What a reading changed; ``place`` is where its piece sits, ``note`` says what moved meanwhile."""

    result: MadeResult
    place: str
    note: str = ""


def checked(key: str) -> str:
    """A key that can be one."""
    if not KEY.fullmatch(key):
        raise Refused("form", got=key[:20], reason="it has lost its key", way_out="load the page and enter it again")
    return key


def entry_of(desk: Desk, key: str) -> int:
    """The entry under a key, 0 where there is none: what is in the book already."""
    return next((e.number for e in desk.look().opened.entries if e.key == key), 0)


def texts_of(reading: str, several: str) -> tuple[str, ...]:
    """Single readings of a field that may hold several, which must then be said to be of one spot or of several."""
    texts = tuple(filter(None, map(str.strip, re.split(r"[;\n]", reading))))
    if len(texts) > 1 and several not in ("repeats", "spots"):
        raise Refused("reading", got=reading, reason="there are several: at one spot or at different ones?",
                      way_out="say which below")  # fmt: skip
    return texts


def take_reading(desk: Desk, given: Mapping[str, str], key: str) -> Kept | Asked:
    """Save a reading under its key, or say what is asked first. Raises as `made.made` does."""
    texts = texts_of(given["reading"], given["several"])
    stage = given["stage"] or "finished"
    if not given["sure"] or stage == ASK:  # sure of the figure is not yet sure of the stage
        asked = _asked(desk, given, texts, stage)
        if asked is not None:
            return asked
    note = _moved(desk, given)
    result = made.made(
        desk.book.path, given["address"], texts, goes=given["goes"], stops=given["stops"],
        spots=given["several"] == "spots", instrument=given["instrument"],
        stage="finished" if stage == ASK else stage, note=given["note"], at=given["at"], key=key,
    )  # fmt: skip
    place = desk.look().build.pieces[result.piece.seat].place
    at = str(Address(result.piece.part, place, dim=result.piece.dim)) if place else str(result.piece)
    kept = Kept(result, at, note)
    desk.results.put(kept, key)
    return kept


def _asked(desk: Desk, given: Mapping[str, str], texts: tuple[str, ...], stage: str) -> Asked | None:
    look = desk.look()
    found, _ = made.tried(
        look.opened, look.values, given["address"], texts, goes=given["goes"], stops=given["stops"],
        spots=given["several"] == "spots", instrument=given["instrument"],
    )  # fmt: skip
    stages: tuple[tuple[str, str], ...] = ()
    if stage == ASK:
        if found.piece in last_made(look.build):
            stages = (TAKES_PLACE, A_CHECK)
        elif not (given["goes"] or given["stops"]):
            aim = at_bench.aim_for(look.build, look.values, str(found.piece), given["instrument"])
            if at_bench.stands(aim, found.reading.middle) == "metal to come off":
                stages = (ON_THE_WAY, FINISHED)
    slips = () if given["sure"] else found.slips
    return Asked(slips, stages, found.how) if slips or stages else None


def meanwhile(desk: Desk, given: Mapping[str, str], key: str) -> str:
    """What somebody else entered for the same size since the page was made; empty where nothing was."""
    seen = given["seen"]
    if not seen.isdigit():
        return ""
    look = desk.look()
    piece = str(made.address_of(look.build, given["address"]))
    own = {e.number for e in look.opened.entries if e.key and e.key[:OWN] == key[:OWN]}
    came = [r for r in look.build.readings if str(r.piece) == piece and r.entry > int(seen) and r.entry not in own]
    if not came:
        return ""
    last = came[-1]
    return f"entry {last.entry} says {last.text} ({last.stage}) for {piece}, entered since this page was made"


def _moved(desk: Desk, given: Mapping[str, str]) -> str:
    """How the aim moved since the page that the reading was taken from; empty where it did not."""
    was = given["aim"].split()
    if len(was) != 3:
        return ""
    look = desk.look()
    aim = at_bench.aim_for(look.build, look.values, given["address"], given["instrument"])
    if aim is None:
        return ""
    now = [aim.low, aim.target, aim.high]
    before = [None if text == "-" else float(text) for text in was]
    if all((a is None) == (b is None) and (a is None or b is None or abs(a - b) <= MOVED_MM)
           for a, b in zip(before, now, strict=True)):  # fmt: skip
        return ""
    old, new = (" to ".join("…" if x is None else f"{x:.3f}" for x in (ends[0], ends[2])) for ends in (before, now))
    return f"the aim has moved since this page was made: it was {old}, it is {new} now"


def take_done(desk: Desk, given: Mapping[str, str], key: str) -> DoneResult:
    """Enter that an operation was done."""
    return operations.done(
        desk.book.path, given["address"], given["operation"], note=given["note"], at=given["at"], key=key
    )
