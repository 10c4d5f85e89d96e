"""choose: working sizes for the whole book at once; alternatives for one; applied as chosen entries."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from asmade.book.address import Address, read_address
from asmade.book.model import Build, Dimension
from asmade.book.sizes import check_written, read_size
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.choice import Choice
from asmade.reckon.choice import choose as choose_sizes
from asmade.reckon.choosing.problem import Progress
from asmade.reckon.thread_offers import ThreadOffer, thread_offers
from asmade.verbs.addresses import dimension_of
from asmade.verbs.store import Opened, Path_, Saved, read, save, trial


@dataclass(frozen=True, slots=True)
class Other:
    """Another candidate for one dimension: what it costs more, and what else moves (before, after; mm)."""

    size: str
    why: str
    extra_cost: float
    possible: bool
    proven: bool
    moves: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class ChooseResult:
    """The choice, what was saved of it, the alternatives asked for; threads for which the shop has no tool.

    Threads are never moved by the choice: what could stand for them is offered, and is the builder's to take.
    """

    choice: Choice
    saved: Saved | None
    alternatives: tuple[Other, ...] = ()
    threads: tuple[ThreadOffer, ...] = ()


def choose(
    path: Path_,
    *,
    lock: Mapping[str, str] | None = None,
    loosen: Sequence[str] = (),
    alternatives_for: str = "",
    count: int = 5,
    time_limit_s: float = 30.0,
    on_progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
    what_if: bool = False,
) -> ChooseResult:
    """Choose sizes; ``lock`` fixes some first (address: size), ``loosen`` lets locked ones go.

    With ``what_if`` or ``alternatives_for`` nothing is written. A conflict writes nothing either, locks included.
    """
    opened = read(path)
    build = opened.build
    drafts = _hand(build, lock, loosen)
    if drafts:
        build = trial(opened, drafts)
    choice = choose_sizes(build, time_limit_s=time_limit_s, on_progress=on_progress, stop=stop)
    if alternatives_for:
        return ChooseResult(choice, None, _alternatives(build, choice, alternatives_for, count, time_limit_s, stop))
    threads = thread_offers(build)
    if what_if or choice.status in ("conflict", "nothing_found"):
        return ChooseResult(choice, None, threads=threads)
    return ChooseResult(choice, _keep(opened, drafts, build, choice), threads=threads)


def apply(
    opened: Opened, choice: Choice, *, lock: Mapping[str, str] | None = None, loosen: Sequence[str] = ()
) -> Saved | None:
    """Write a choice that was shown with ``what_if``, as it was shown; None where the book says all of it already.

    ``opened`` is the book as it was chosen for: should it have moved on since, `Conflict` is raised.
    """
    if choice.status in ("conflict", "nothing_found"):
        raise Refused("choice", got=choice.status, reason="there is nothing to apply", way_out="run the choice again")
    drafts = _hand(opened.build, lock, loosen)
    return _keep(opened, drafts, trial(opened, drafts) if drafts else opened.build, choice)


def _hand(build: Build, lock: Mapping[str, str] | None, loosen: Sequence[str]) -> list[Draft]:
    drafts = [_lock_draft(build, text, size) for text, size in (lock or {}).items()]
    return drafts + [_loosen_draft(build, text) for text in loosen]


def _keep(opened: Opened, drafts: list[Draft], build: Build, choice: Choice) -> Saved | None:
    drafts = drafts + [_draft(change) for change in _fresh(build, choice)]
    return save(opened, drafts, by="choice", stand_on_read=True) if drafts else None


def _fresh(build: Build, choice: Choice) -> list[Mapping[str, str]]:
    """What the choice decides that does not stand in the book already."""
    found: list[Mapping[str, str]] = []
    for change in choice.changes:
        old = build.chosen.get(change.dimension)
        if old is None or (old.size, old.tool, old.stock) != (change.size, change.tool, change.stock):
            body = {"of": str(change.dimension), "size": change.size, "why": change.why,
                    "tool": change.tool, "stock": change.stock}  # fmt: skip
            found.append({k: v for k, v in body.items() if v})
    return found


def _draft(body: Mapping[str, str]) -> Draft:
    return Draft("chosen", body, by="choice")


def _lock_draft(build: Build, text: str, size: str) -> Draft:
    address = _known(build, text)
    dimension = build.design.parts[address.part].dims[address.dim]
    body: dict[str, object] = {"of": str(address), "size": size, "locked": True, "why": "locked by hand"}
    held = build.chosen_for(address) if address.place or address.mark else build.chosen.get(address)
    if not size and held is None:
        raise Refused("lock", got=text, reason="it has no chosen size to lock", way_out=f"--lock {text}=SIZE")
    check_written(size, dimension, "mm", f"{text} locked")
    if held is not None and (not size or _alike(size, held.size, dimension)):  # the tool it rests on stays with it
        kept = {"size": held.size, "tool": held.tool, "stock": held.stock}
        body |= {key: value for key, value in kept.items() if value}
    return Draft("chosen", body, by="hand")


def _alike(one: str, other: str, dimension: Dimension) -> bool:
    if dimension.of_kind.thread:
        return one == other
    read = [read_size(text, dimension, "mm") for text in (one, other)]
    return None not in read and len({r.exact for r in read if r is not None}) == 1


def _loosen_draft(build: Build, text: str) -> Draft:
    address = _known(build, text)
    held = build.chosen.get(address)
    if held is None:
        raise Refused("loosen", got=text, reason="it has no chosen size")
    body = {"of": str(address), "size": held.size, "tool": held.tool, "stock": held.stock, "locked": False,
            "why": "let go by hand"}  # fmt: skip
    return Draft("chosen", body, by="choice")


def _known(build: Build, text: str) -> Address:
    address = read_address(text)
    part, _ = dimension_of(build.design, address)
    if address.place and address.place not in part.places:
        raise Unknown(f"place of {part.name}", got=address.place, near=near(address.place, part.places),
                      way_out=f"it sits at {', '.join(part.places)}")  # fmt: skip
    if address.mark and address.seat not in build.pieces:
        raise Unknown("piece", got=address.seat, near=near(address.seat, build.pieces))
    return address


def _alternatives(
    build: Build, choice: Choice, text: str, count: int, time_limit_s: float, stop: Callable[[], bool] | None
) -> tuple[Other, ...]:
    from asmade.reckon.choosing.alternatives import alternatives  # noqa: PLC0415  # HiGHS only where it is asked for

    address = _known(build, text)
    if choice.problem is None or choice.solution is None or not choice.solution.sizes:
        raise Refused("alternatives", got=text, reason=f"there is no choice to start from: {choice.status}")
    name = str(address)
    if name not in choice.named and str(address.of_part) in choice.named:
        name = str(address.of_part)  # decided for the part, whichever of its places was named
    if name not in choice.named:
        raise Refused("alternatives", got=text, reason="it is not picked from a list: made to suit, "
                      "made already, locked, kept as drawn or not drawn yet",
                      way_out=f"there are alternatives for: {', '.join(list(choice.named)[:6])} ...")  # fmt: skip
    named = choice.named[name]
    found = alternatives(choice.problem, choice.solution, name, count, time_limit_s=time_limit_s, stop=stop)
    return tuple(
        Other(named[a.pick].size, a.candidate.why, a.extra_cost, a.possible, a.proven, a.moves) for a in found
    )  # fmt: skip


def set_chosen(
    path: Path_, text: str, size: str, *, tool: str = "", why: str = "", locked: bool = True, what_if: bool = False
) -> Saved:
    """Decide one size by hand."""
    opened = read(path)
    return save(opened, [_chosen(opened.build, text, size, tool, why, locked=locked)], what_if=what_if)


def set_chosen_many(path: Path_, sizes: Mapping[str, str], *, why: str = "", locked: bool = True) -> Saved:
    """Decide several sizes by hand (address: size), all or none."""
    opened = read(path)
    if not sizes:
        raise Refused("sizes", got="", reason="none is named", way_out="name one, with what it shall be")
    return save(opened, [_chosen(opened.build, text, size, "", why, locked=locked) for text, size in sizes.items()])


def _chosen(build: Build, text: str, size: str, tool: str, why: str, *, locked: bool) -> Draft:
    address = _known(build, text)
    dimension = build.design.parts[address.part].dims[address.dim]
    check_written(size, dimension, "mm", f"{text} chosen")
    body = {"of": str(address), "size": size, "tool": tool, "why": why or "by hand", "locked": locked}
    return Draft("chosen", {k: v for k, v in body.items() if v or k == "locked"})
