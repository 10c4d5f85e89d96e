"""route: how a piece is made; setups: set-ups of all pieces put together; edits of a route."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from asmade.book.address import Address, read_address
from asmade.book.model import Build
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.aims import Aim, aim_of
from asmade.reckon.values import MADE, Values, compute
from asmade.verbs.plain import number
from asmade.verbs.store import Path_, Saved, read, read_build, save
from asmade.work.batches import Batches, Chain, batches
from asmade.work.cautions import standing
from asmade.work.recipes.model import Operation, SetUp
from asmade.work.routes import Edit, Route, RoutePlanner, edits_of


@dataclass(frozen=True, slots=True)
class RouteResult:
    """A route, the aims of the sizes it makes, and what was saved (an edit)."""

    route: Route
    aims: Mapping[str, Aim]
    saved: Saved | None = None


@dataclass(frozen=True, slots=True)
class SetUpsResult:
    """Routes by piece, their set-ups in batches, parts without a form."""

    routes: Mapping[str, Route]
    batches: Batches
    without: tuple[tuple[str, str], ...]

    @property
    def standing(self) -> str:
        """What goes before them: makers' instructions, local rules, licensed practice; pressure parts."""
        return standing()

    def setup(self, member: tuple[str, int]) -> tuple[SetUp, tuple[Operation, ...]]:
        """A set-up of a batch with its operations."""
        return self.routes[member[0]].set_ups[member[1]]


def seat_of(build: Build, text: str) -> tuple[str, str]:
    """Part and place that are meant: by place, by mark, or a part alone (its first place)."""
    address = read_address(text)
    parts = build.design.parts
    if address.part not in parts:
        raise Unknown("part", got=address.part, near=near(address.part, parts))
    part = parts[address.part]
    if address.dim:
        raise Refused("piece", got=text, reason="a route is of a whole piece", way_out=f"write {address.seat}")
    if address.mark:
        piece = build.pieces.get(address.seat)
        if piece is None:
            raise Unknown("piece", got=address.seat, near=near(address.seat, build.pieces))
        if not piece.place:
            raise Refused("piece", got=text, reason="it sits at no place", way_out="name a place")
        return part.name, piece.place
    if address.place and address.place not in part.places:
        raise Unknown(f"place of {part.name}", got=address.place, near=near(address.place, part.places),
                      way_out=f"its places: {', '.join(part.places)}")  # fmt: skip
    return part.name, address.place or part.places[0]


def aims_of(build: Build, values: Values, part: str, place: str) -> dict[str, Aim]:
    """Aims of every size of a piece that is cut and not made yet."""
    found = {}
    for name, dimension in build.design.parts[part].dims.items():
        if dimension.of_kind.thread:
            continue
        address = Address(part, place, dim=name)
        if values.source[values.system.at(address)] != MADE:
            found[name] = aim_of(build, values, address)
    return found


def planned(build: Build, values: Values, part: str, place: str, *, strict: bool = False) -> RouteResult:
    """The route of a piece, its cuts led to what is aimed at; ``strict``: an edit that does not fit is refused."""
    aims = aims_of(build, values, part, place) if part in build.design.parts else {}
    targets = {
        Address(part, place, dim=name): aim.target
        for name, aim in aims.items()
        if aim.target is not None and not aim.angle and math.isfinite(aim.target)
    }
    planner = RoutePlanner(build, values, targets, strict=part if strict else "")
    return RouteResult(planner.plan(part, place), aims)


def route(
    path: Path_, piece: str, *, edit: Edit | None = None, what_if: bool = False, key: str = "", by: str = ""
) -> RouteResult:
    """The route of a piece; ``edit`` is made first, and refused by name if the route cannot bear it."""
    opened = read(path)
    part, place = seat_of(opened.build, piece)
    if edit is None:
        return planned(opened.build, compute(opened.build), part, place)
    named = Edit(part, edit.do, edit.operation, edit.other, edit.text.strip())
    draft = Draft("note", named.body(), by=by)
    trial = save(opened, [draft], what_if=True)
    result = planned(trial.build, compute(trial.build), part, place, strict=True)
    saved = trial if what_if else save(opened, [draft], key=key)
    return replace(result, saved=saved)


def edit(path: Path_, piece: str, operation: str, text: str, **more: Any) -> RouteResult:
    """Say an operation in other words; its figures, checks and cautions stay.

    This and its fellows below change the route of every piece of the part, keyed by feature and process
    ("bore reamed"), and are entries of the ledger. ``more``: ``what_if``, ``key``, ``by``.
    """
    if not text.strip():
        raise Refused("words of an operation", got=text, reason="they are empty", way_out="say what is to be done")
    return route(path, piece, edit=Edit("", "words", operation, text=text), **more)


def add(
    path: Path_, piece: str, operation: str, *, before: str = "", after: str = "", text: str = "", **more: Any
) -> RouteResult:
    """Add an operation of one's own before or after another, in that one's set-up."""
    do, other = _beside(operation, before, after, ("add", "add after"))
    return route(path, piece, edit=Edit("", do, operation, other, text), **more)


def move(
    path: Path_, piece: str, operation: str, *, before: str = "", after: str = "", text: str = "", **more: Any
) -> RouteResult:
    """Put an operation before or after another; what it needs must still come first."""
    do, other = _beside(operation, before, after, ("before", "after"))
    return route(path, piece, edit=Edit("", do, operation, other, text), **more)


def note(path: Path_, piece: str, operation: str, text: str, **more: Any) -> RouteResult:
    """Put a note to an operation."""
    if not text.strip():
        raise Refused("note", got=text, reason="it is empty", way_out="say what is worth remembering")
    return route(path, piece, edit=Edit("", "note", operation, text=text), **more)


def remove(path: Path_, piece: str, operation: str, *, text: str = "", **more: Any) -> RouteResult:
    """Leave an operation out; refused where another needs what it makes, with that one's name."""
    return route(path, piece, edit=Edit("", "remove", operation, text=text), **more)


def _beside(operation: str, before: str, after: str, does: tuple[str, str]) -> tuple[str, str]:
    if not operation.strip():
        raise Refused("operation", got=operation, reason="it has no name", way_out='name it: "blued"')
    if bool(before) == bool(after):
        raise Refused("place of an operation", got=(before, after), reason="say before which other one, or after which",
                      way_out='before = "seat.diameter turned"')  # fmt: skip
    return (does[0], before) if before else (does[1], after)


def setups(path: Path_) -> SetUpsResult:
    """Set-ups of every piece still to be made, those alike put together."""
    build = read_build(path)
    return setups_of(build, compute(build))


def setups_of(build: Build, values: Values) -> SetUpsResult:
    """As `setups`, of a build. A size that is made to suit waits for the set-up in which its mate is made.

    Set-ups of which every operation is done are left out, and pieces that are finished.
    """
    routes, without = RoutePlanner(build, values).every()
    system = values.system
    open_ = {r.seat: r for r in routes if not _made(build, values, r)}
    left = {seat: _left(found) for seat, found in open_.items()}
    makes: dict[Address, tuple[str, int]] = {}
    for seat, found in open_.items():
        for at, k in enumerate(left[seat]):
            makes |= {
                Address(found.part, found.place, dim=d): (seat, at) for op in found.set_ups[k][1] for d in op.dims
            }
    after: dict[tuple[str, int], set[tuple[str, int]]] = {}
    for size, suits in system.suits.items():
        here = makes.get(system.names[size])
        for n in suits:
            for mate in system.requirements[n].reads:
                before = makes.get(mate)
                if here and before and before[0] != here[0]:
                    after.setdefault(here, set()).add(before)
    for seat, found in open_.items():  # what is put together waits until its pieces are finished
        for other in found.follows:
            if left.get(other) and left[seat]:
                after.setdefault((seat, 0), set()).add((other, len(left[other]) - 1))
    chains = [
        Chain(seat, tuple(found.set_ups[k][0].alike for k in left[seat]),
              {at: tuple(sorted(after[seat, at])) for at in range(len(left[seat])) if (seat, at) in after})
        for seat, found in open_.items() if left[seat]
    ]  # fmt: skip
    together = batches(chains)
    numbered = tuple(
        replace(batch, members=tuple((piece, left[piece][at]) for piece, at in batch.members))
        for batch in together.batches
    )
    return SetUpsResult(open_, replace(together, batches=numbered), without)


def _left(found: Route) -> tuple[int, ...]:
    """Set-ups of a route in which something is still to be done, by their number."""
    return tuple(k for k, (_, ops) in enumerate(found.set_ups) if not all(op.is_done for op in ops))


def _made(build: Build, values: Values, route_: Route) -> bool:
    """Whether every size that the route makes has been made."""
    dims = {
        d for op in route_.operations for d in op.dims if not build.design.parts[route_.part].dims[d].of_kind.thread
    }
    at = [values.system.at(Address(route_.part, route_.place, dim=d)) for d in dims]
    return bool(at) and all(values.source[a] == MADE for a in at)


# ---- as plain data
def route_data(result: RouteResult) -> dict[str, Any]:
    """A route for ``--json``."""
    r = result.route
    return {
        "piece": r.seat,
        "stock": None
        if r.stock is None
        else {"name": r.stock.name, "size_mm": number(r.stock.size_mm), "in_rack": r.stock.in_rack},
        "lacks": list(r.lacks),
        "warnings": list(r.warnings),
        "done": r.done,
        "operations": len(r.operations),
        "next": None if r.next is None else r.next.key,
        "edits": [{"entry": e.entry, "do": e.do, "operation": e.operation, "other": e.other or None, "text": e.text}
                  for e in r.edits],
        "not_planned": list(r.unplanned),
        "set_ups": [setup_data(setup) | {"operations": [operation_data(op) for op in ops]} for setup, ops in r.set_ups],
        "saved": list(result.saved.entries) if result.saved else None,
        "standing": r.standing,
    }  # fmt: skip


def setup_data(setup: SetUp) -> dict[str, Any]:
    """A set-up."""
    return {
        "set_up": setup.name,
        "machine": setup.machine,
        "held": setup.held,
        "datum": setup.datum,
        "words": list(setup.words),
    }


def operation_data(op: Operation) -> dict[str, Any]:
    """An operation."""
    cuts = () if op.passes is None else op.passes.cuts
    return {
        "operation": op.key, "words": op.words, "tool": op.tool, "rev_min": number(op.rev_min),
        "surface_m_min": number(op.surface_m_min), "speed": op.speed_words, "feed_mm": number(op.feed_mm),
        "feed": op.feed_words,
        "passes": [
            {"words": c.words, "size_mm": number(c.size_mm), "cut_mm": number(c.cut_mm),
             "dial": c.dial.words if c.dial else None, "measure": c.measure}
            for c in cuts
        ],
        "depths_mm": [number(d) for d in op.depths_mm], "dial": op.dial, "left": op.left, "check": op.check,
        "instrument": op.instrument, "dimensions": list(op.dims), "cautions": [c.text for c in op.cautions],
        "warnings": list(op.warnings), "note": op.note, "own": op.own, "source": op.source,
        "state": op.state or None, "done": op.done or None, "done_by_entry": op.entry or None,
    }  # fmt: skip


def setups_data(result: SetUpsResult) -> dict[str, Any]:
    """Set-ups put together, for ``--json``."""
    found = result.batches
    return {
        "set_ups": [
            setup_data(result.setup(batch.members[0])[0])
            | {
                "pieces": [
                    {"piece": piece, "operations": [op.key for op in result.setup((piece, k))[1]]}
                    for piece, k in batch.members
                ]
            }
            for batch in found.batches
        ],
        "count": len(found.batches), "at_least": found.least, "each_alone": found.each_alone, "words": found.words,
        "standing": result.standing,
        "without_form": [{"part": part, "why": why} for part, why in result.without],
    }  # fmt: skip


__all__ = ["Edit", "add", "edit", "edits_of", "move", "note", "remove", "route", "route_data", "setups", "setups_data"]
