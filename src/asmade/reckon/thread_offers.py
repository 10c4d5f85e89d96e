"""Threads for which the shop has no tap or die, and what it has that could stand for them.

The choice of sizes never moves a thread by itself: a screw and its hole, and every spanner and spare, go with it. What
could be done is offered with its reason, judged by strength, and is the builder's to take.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from asmade.book.model import Build, Dimension, Shop
from asmade.measure.errors import AsmadeError

if TYPE_CHECKING:
    from asmade.standards.threads import Thread
    from asmade.standards.threads.substitutes import Substitute

NEED: Final[Mapping[str, str]] = {"tapped": "tap", "die-cut": "die"}
LEAST_STRENGTH: Final = 0.9
"""As `kinds.thread_strength`: a substitute about as strong as the drawn one. Common practice, no source."""
NEAR: Final = 1.3
"""Ratio of diameters (of pitches its square) beyond which a thread is not near: common practice, no source."""
MOST: Final = 3


@dataclass(frozen=True, slots=True)
class Offer:
    """A thread that the shop's tools cut: strength, pitch and diameter against the drawn one, and what is amiss."""

    thread: str
    tools: tuple[str, ...]
    strength_ratio: float
    pitch_ratio: float
    major_change_mm: float
    strong_enough: bool
    lacks: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class ThreadOffer:
    """A thread in use (of some dimensions of parts), the tools it lacks, and what could stand for it, nearest first."""

    thread: str
    dimensions: tuple[str, ...]
    lacks: tuple[str, ...]
    offers: tuple[Offer, ...]


def thread_offers(build: Build) -> tuple[ThreadOffer, ...]:
    """Every thread in use that is tapped or die-cut and for which the shop has no tool.

    None where the shop lists no taps or dies at all. A thread whose size is locked is decided and not looked at.
    """
    from asmade.standards.threads import thread  # noqa: PLC0415  # only who asks reads the tables

    owned = _owned(build.shop)
    if not any(owned.values()):
        return ()
    used: dict[str, list[tuple[str, str]]] = {}
    for name, dimension, text in _in_use(build):
        tool = NEED.get(dimension.made_by)
        if tool is not None:
            used.setdefault(thread(text).designation, []).append((name, tool))
    found = []
    for designation, dimensions in used.items():
        wanted = thread(designation)
        needs = tuple(dict.fromkeys(tool for _, tool in dimensions))
        lacks = tuple(tool for tool in needs if not _cut_by(owned[tool], wanted))
        if lacks:
            names = tuple(dict.fromkeys(name for name, _ in dimensions))
            found.append(ThreadOffer(designation, names, lacks, _offers(wanted, needs, lacks, owned)))
    return tuple(found)


def _in_use(build: Build) -> Iterator[tuple[str, Dimension, str]]:
    """Threads as chosen, else drawn, by part and dimension; those that are locked are left out."""
    for part in build.design.parts.values():
        for dimension in part.dims.values():
            if not dimension.of_kind.thread:
                continue
            name = f"{part.name}.{dimension.name}"
            chosen = next((c for a, c in build.chosen.items() if str(a.of_part) == name), None)
            text = chosen.size if chosen is not None and chosen.size else dimension.drawn
            if text and not (chosen is not None and chosen.locked):
                yield name, dimension, text


def _owned(shop: Shop) -> dict[str, dict[str, Thread]]:
    """Threads that the shop's taps and dies cut, by the tool's name (``taps 2`` where one entry has several)."""
    from asmade.standards.threads import thread  # noqa: PLC0415

    owned: dict[str, dict[str, Thread]] = {"tap": {}, "die": {}}
    for tool in shop.tools.values():
        for kind, cuts in owned.items():
            if not re.search(rf"\b{kind}s?\b", tool.kind, re.IGNORECASE):
                continue
            for count, text in enumerate(filter(None, map(str.strip, (tool.size or tool.name).split(",")))):
                try:
                    cuts[f"{tool.name} {count + 1}" if "," in tool.size else tool.name] = thread(text)
                except AsmadeError:
                    continue  # a tap by another name cuts what nobody has said
    return owned


def _cut_by(tools: Mapping[str, Thread], wanted: Thread) -> str:
    return next((name for name, cuts in tools.items() if cuts.is_the_same_as(wanted)), "")


def _offers(
    wanted: Thread, needs: tuple[str, ...], lacks: tuple[str, ...], owned: Mapping[str, Mapping[str, Thread]]
) -> tuple[Offer, ...]:
    from asmade.standards.threads.substitutes import nearest_substitutes  # noqa: PLC0415

    there = [cuts for tool in lacks for cuts in owned[tool].values()]
    near = nearest_substitutes(wanted, have=there, most=2 * MOST)
    offers = [_offer(substitute, needs, owned) for substitute in near if _is_near(substitute)]
    return tuple(sorted(offers, key=lambda o: (not o.strong_enough, len(o.lacks)))[:MOST])


def _is_near(found: Substitute) -> bool:
    return 1 / NEAR <= found.major_ratio <= NEAR and 1 / NEAR**2 <= found.pitch_ratio <= NEAR**2


def _offer(found: Substitute, needs: tuple[str, ...], owned: Mapping[str, Mapping[str, Thread]]) -> Offer:
    tools = {tool: _cut_by(owned[tool], found.thread) for tool in needs}
    strong = found.strength_ratio >= LEAST_STRENGTH
    change = found.major_change_mm
    words = (
        f"{found.strength_ratio:.2f} of the strength, pitch {found.pitch_ratio:.2f} times, "
        f"{abs(change):.2f} mm {'larger' if change > 0 else 'smaller'}"
    )
    lacks = tuple(tool for tool, name in tools.items() if not name)
    words += "" if strong else f"; weaker than {LEAST_STRENGTH:g}: think twice where it holds anything"
    words += f"; there is no {' and no '.join(lacks)} for it either" if lacks else ""
    words += "" if found.fits_the_old_hole else "; opens the old hole out"
    return Offer(
        found.thread.designation, tuple(name for name in tools.values() if name), found.strength_ratio,
        found.pitch_ratio, change, strong, lacks, words,
    )  # fmt: skip
