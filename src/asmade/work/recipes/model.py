"""What a route is made of: set-ups, features, operations. Plain frozen values; nothing here plans.

An operation *makes* things (a faced end, a bore) and *needs* things made before it; a set-up locates from one of them.
Order follows from that alone, and so does what may not be taken away.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from asmade.work.cautions import Caution
from asmade.work.passes import Passes

State = Literal["", "done", "measured", "gone by"]
RAW = ""
"""What a set-up locates from that has nothing made yet: the bar or casting as it came."""


@dataclass(frozen=True, slots=True)
class SetUp:
    """What is held in what, and from which datum.

    ``alike`` is what set-ups of several pieces have in common when they can be done together: the same holding, stop
    and datum. ``locates_from`` names the thing it needs made. ``traits`` are features that cautions know.
    """

    name: str
    order: int
    machine: str
    held: str
    datum: str
    alike: str
    locates_from: tuple[str, ...] = ()
    traits: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Feature:
    """One feature to be made, and the recipe that makes it.

    ``dims``: the dimensions that it sets, the first being the one the cuts lead to. ``figures``: what the recipe
    needs, in mm. ``needs`` and ``makes``: see this module's head.
    """

    name: str
    recipe: str
    setup: SetUp
    figures: Mapping[str, float] = field(default_factory=dict)
    dims: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    makes: tuple[str, ...] = ()
    words: str = ""
    callout: str = ""


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation at the bench. ``key`` is feature and process: it stays the same when sizes change.

    ``state``: "done" (entered, at ``done`` by ``entry``), "measured" (every size that it sets has been), "gone by"
    (something that rests on it is done or measured), or empty: still to be done.
    """

    key: str
    feature: str
    process: str
    setup: SetUp
    rank: int
    words: str
    recipe: str = ""
    tool: str = ""
    rev_min: float | None = None
    surface_m_min: float | None = None
    speed_words: str = ""
    feed_mm: float | None = None
    feed_words: str = ""
    passes: Passes | None = None
    face: bool = False
    dial: str = ""
    depths_mm: tuple[float, ...] = ()
    left: str = ""
    dims: tuple[str, ...] = ()
    check: str = ""
    instrument: str = ""
    cautions: tuple[Caution, ...] = ()
    warnings: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    makes: tuple[str, ...] = ()
    source: str = "common practice, no source"
    note: str = ""
    own: bool = False
    state: State = ""
    done: str = ""
    entry: int = 0

    @property
    def is_done(self) -> bool:
        """Whether it need not be done any more, for whatever reason."""
        return bool(self.state)

    @property
    def done_words(self) -> str:
        """``done 2026-11-07``, ``measured 2026-11-07``, ``gone by``; empty where it is still to be done."""
        return " ".join(filter(None, (self.state, self.done[:10])))


RANKS: Mapping[str, int] = {
    "look": 0,
    "saw": 5,
    "face": 10,
    "centre": 15,
    "rough": 20,
    "drill": 30,
    "bore": 40,
    "ream": 45,
    "tap": 50,
    "turn": 60,
    "recess": 65,
    "chamfer": 70,
    "thread": 75,
    "mill": 80,
    "cross": 85,
    "part": 95,
    "last": 99,
}
"""The trade's order inside one set-up: face, centre, drill, bore, ream, tap, turn, undercut, chamfer, thread, part."""
