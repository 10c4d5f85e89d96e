"""progress: how far each piece has come along its route, and which operation comes next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from asmade.book.address import Address
from asmade.book.model import Build
from asmade.measure.errors import AsmadeError
from asmade.reckon.values import Values, compute
from asmade.verbs.store import Path_, read_build
from asmade.work.recipes.model import Operation
from asmade.work.routes import Route, RoutePlanner


@dataclass(frozen=True, slots=True)
class PieceProgress:
    """One piece: operations done of all, when the last was, and the next (None where nothing is left)."""

    piece: str
    seat: str
    done: int
    operations: int
    last: str
    next: Operation | None

    @property
    def begun(self) -> bool:
        """Whether anything has been done and something is left."""
        return 0 < self.done < self.operations

    @property
    def finished(self) -> bool:
        """Whether nothing is left."""
        return self.next is None


def progress(path: Path_) -> tuple[PieceProgress, ...]:
    """Every piece that has a route: those begun first, the last worked on before others; finished ones at the end."""
    build = read_build(path)
    return progress_of(build, compute(build))


def progress_of(build: Build, values: Values) -> tuple[PieceProgress, ...]:
    """As `progress`, of a build; empty where nothing can be planned (no machine's speeds, an empty rack)."""
    try:
        routes, _ = RoutePlanner(build, values).every()
    except AsmadeError:
        return ()
    found = [of_route(build, route) for route in routes]
    latest = sorted(found, key=lambda p: p.last, reverse=True)
    return tuple(sorted(latest, key=lambda p: (p.finished, not p.begun)))


def of_route(build: Build, route: Route) -> PieceProgress:
    """How far the piece of one route has come."""
    last = max((op.done for op in route.operations), default="")
    seat = build.piece_at(Address(route.part, route.place)).seat
    return PieceProgress(seat, route.seat, route.done, len(route.operations), last, route.next)


def progress_data(found: tuple[PieceProgress, ...]) -> dict[str, Any]:
    """For ``--json``."""
    return {
        "pieces": [
            {
                "piece": p.piece,
                "place": p.seat,
                "done": p.done,
                "operations": p.operations,
                "last": p.last or None,
                "next": None
                if p.next is None
                else {"operation": p.next.key, "words": p.next.words, "set_up": p.next.setup.name},
            }
            for p in found
        ]
    }
